"""What brings a sheet to one leaf and a season to two pages: said once, side by side, in the column that it needs.

The plans are invented; what is asked of them is the project's own (a sheet is a leaf, and says things once).
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from publishing import sample_plan as sample
from publishing.pdf_reading import MM, pages, texts

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Choice, Choices, Task
from ipmcal.model.plan.views import Choosing, CountView, Lying, TrapView, YardCall
from ipmcal.publishing.paper.page import season_html, sheet_html
from ipmcal.publishing.paper.pdf import render
from ipmcal.publishing.paper.season import make_season

PLAN = sample.four_hives()
YARD = PLAN.yards[0]
VISIT = PLAN.visits[0]
TODAY = VISIT.day


def words_of(html: str) -> str:
    body = re.sub(r"(?s)<style.*?</style>|<svg.*?</svg>", "", html)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def lying(amounts: dict[str, str], title: str = "Strips") -> tuple[Lying, ...]:
    return tuple(
        Lying(YARD.key, key, title, number, TODAY - 30, TODAY + 5, TODAY + 5) for key, number in amounts.items()
    )


def sheet(plan: Plan) -> str:
    return sheet_html(plan, plan.visits[0], "K7")


# What lies in hives --------------------------------------------------------------------------------------------------


def test_what_lies_in_hives_is_said_once_and_how_much_at_each() -> None:
    text = words_of(sheet(replace(PLAN, lying=lying({"3": "8 strips", "5": "4 strips"}))))
    assert text.count("In it: strips, since") == 1
    assert "8 strips in it." in text
    assert "4 strips in it." in text


def test_the_same_amount_in_each_is_said_once_with_it() -> None:
    text = words_of(sheet(replace(PLAN, lying=lying({"3": "8 strips", "5": "8 strips"}))))
    assert text.count("In it: 8 strips of strips") == 1
    assert "8 strips in it." not in text


def test_how_much_of_what_is_said_where_two_things_lie_in_hives() -> None:
    both = (*lying({"3": "8 strips", "5": "4 strips"}), *lying({"3": "1 tray", "5": "2 trays"}, "Gel"))
    text = words_of(sheet(replace(PLAN, lying=both)))
    for words in ("8 strips of strips in it.", "1 tray of gel in it.", "2 trays of gel in it."):
        assert words in text


def test_what_lies_in_one_hive_stands_there() -> None:
    text = words_of(sheet(replace(PLAN, lying=lying({"5": "8 strips"}))))
    assert text.index("In it: 8 strips of strips") > text.index("read the board")


# Much to do in each hive ---------------------------------------------------------------------------------------------


def heavy(*, large: bool = False, paper: str = "a4") -> Plan:
    """Three hives, in each of them cells, a trap, a count, supers and strips with much to say of them."""
    names, day = ("1", "2", "3"), TODAY
    long = tuple(
        f"{n}: keep it cool, shut, dark, away from food and from all who have no need of it." for n in range(13)
    )
    tasks: list[Task] = []
    for name in names:
        tasks += [sample.plain_task("orchard", name, "swarm_check", day, None)]
        tasks += [sample.trap_task("orchard", name, "T1", day, None, day + 2)]
        tasks += [sample.plain_task("orchard", name, what, day, None) for what in ("mite_wash", "supers")]
        strips = sample.plain_task("orchard", name, "strips_in", day, None)
        tasks += [replace(strips, cautions=(*strips.cautions, *long))]
    shown = tuple(sample.colony(name, "stand 1", (TrapView("T1", 2, 2, 2),)) for name in names)
    yard = replace(sample.yard(shown), paper=paper, large_print=large)
    return sample.plan(tuple(tasks), (sample.visit(tuple(tasks), day, None),), (yard,))


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_first_hive_of_a_heavy_visit_is_on_the_first_page(paper: str, *, large: bool) -> None:
    """In the order of work: what is given comes last in a hive, and so do its gear and cautions."""
    with pages(render(sheet(heavy(large=large, paper=paper)))) as all_pages:
        assert any(c["size"] > 30 and c["text"] == "1" for c in all_pages[0].chars)
        assert large or len(all_pages) == {"a4": 2, "letter": 3}[paper]
    html = sheet(heavy(large=large, paper=paper))
    text = words_of(html)
    assert text.index("supers on") < text.index("Invented strips: 1, 2, 3") < text.rindex("more of it")
    assert text.count("Stand upwind.") == 1


def test_of_little_work_in_a_hive_the_cautions_stand_first() -> None:
    text = words_of(sheet(sample.visit_of("strips in", 3)))
    assert text.index("Stand upwind.") < text.index("For this hive: 2 strips.")
    assert "more of it" not in text


# Columns -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("days", [(TODAY + 4, TODAY + 4), (TODAY + 4, TODAY + 11), (TODAY + 4, TODAY + 40)])
def test_days_to_be_back_stay_in_their_column(days: tuple[int, int], *, large: bool) -> None:
    rows = (Choice("an egg in a cup", "give room", days), Choice("dry cups", "nothing"))
    one = next(task for task in PLAN.tasks if task.id in VISIT.tasks)
    plan = replace(
        PLAN, tasks=tuple(replace(t, choices=Choices("Cells", "", rows)) if t is one else t for t in PLAN.tasks)
    )
    plan = replace(plan, yards=(replace(YARD, paper="a4", large_print=large),))
    with pages(render(sheet(plan))) as all_pages:
        printed = [c for page in all_pages for c in page.chars if c["text"].strip()]
        assert max(c["x1"] for c in printed) <= all_pages[0].width - 9 * MM + 1


# The season ----------------------------------------------------------------------------------------------------------


def works(do: str, *, again: str = "look_seen") -> list[list[str]]:
    """What the rows of a season say, with some work on two days, and on a third ``again``, which is of another kind."""
    boards = [next(task for task in PLAN.tasks if task.id in visit.tasks and task.trap) for visit in PLAN.visits[1:4]]
    names = {task.id: (do, "board") for task in boards[:2]} | {boards[2].id: (again, "other")}
    tasks: tuple[Task, ...] = tuple(
        replace(t, do=names[t.id][0], logs=names[t.id][1], trap=None) if t.id in names else t for t in PLAN.tasks
    )
    page = make_season(replace(PLAN, tasks=tasks), YARD)
    return [[work.do for work in row.works] for row in page.visits]


def test_work_that_comes_back_is_named_in_full_once() -> None:
    rows = works("Board: read it, write it down")
    said = [do for row in rows for do in row if do.startswith("Board")]
    assert said[:2] == ["Board: read it, write it down", "Board"]


def test_words_that_could_mean_other_work_are_said_in_full() -> None:
    rows = works("Board: read it, write it down", again="Board: take it out")
    said = [do for row in rows for do in row if do.startswith("Board")]
    assert said[:2] == ["Board: read it, write it down"] * 2


def test_last_good_days_stand_by_what_has_to_be_done() -> None:
    page = make_season(PLAN, YARD)
    acts = [stop.do for stop in page.stops]
    assert len(acts) == len(set(acts))
    asked = {t.window.hard_stop for t in PLAN.tasks if t.window.hard_stop and t.planned and t.season == YARD.season}
    assert {day.by for stop in page.stops for day in stop.days} == asked
    text = words_of(season_html(PLAN, YARD.key))
    for harm in {stop.harm for stop in page.stops if stop.harm}:
        assert text.count(harm) == 1


def test_counts_stand_by_what_they_say_those_over_the_line_first() -> None:
    counts = (
        CountView("1", TODAY - 9, "1 in 300 bees", "likely 0.1 to 1.8", "below", "", "a line"),
        CountView("2", TODAY - 9, "12 in 300 bees", "likely 2 to 7", "treat", "", "a line"),
        CountView("3", TODAY - 8, "2 in 300 bees", "", "below", "", "a line"),
    )
    call = YardCall(YARD.key, None, "treat", "Treat the yard.", counts=counts)
    text = words_of(season_html(replace(PLAN, calls=(call,)), YARD.key))
    assert text.index("12 in 300 bees") < text.index("1 in 300 bees (likely 0.1") < text.index("2 in 300 bees, ")
    assert text.count("A line.") == 1


def test_a_second_choice_stands_behind_its_course() -> None:
    chosen = ("Strips (1) from 1 July: late summer", "Acid (1) from 1 Dec: winter")
    one = Choosing(
        YARD.key, chosen, ("Acid: still good on 9 Dec", "Strips: still good on 9 July"), (), (), (), YARD.season
    )
    text = words_of(season_html(replace(PLAN, choosing=(one,)), YARD.key))
    assert "Strips (1) from 1 July: late summer. Still good on 9 July." in text
    assert "Acid (1) from 1 Dec: winter. Still good on 9 Dec." in text


def test_a_second_choice_that_could_be_of_either_course_names_its_product() -> None:
    chosen = ("Acid (1) from 12 May: a break", "Acid (1) from 1 Dec: winter", "Gel (1) from 1 July: late summer")
    one = Choosing(YARD.key, chosen, ("Acid: still good on 9 Dec",), (), (), (), YARD.season)
    text = words_of(season_html(replace(PLAN, choosing=(one,)), YARD.key))
    assert "Acid (1) from 1 Dec: winter. Acid: still good on 9 Dec." in text
    assert text.count("still good") == 1


def test_a_season_of_forty_visits_with_a_count_on_each_grows_by_a_line_a_visit() -> None:
    """A count that goes with other work is a word on that day's line: no page more than without counts."""
    swarm = next(task for task in PLAN.tasks if task.id in VISIT.tasks and task.colony)
    free = replace(swarm.window, hard_stop=None)

    def season(*acts: str) -> Plan:
        bare = replace(swarm, answers=(), trap=None, blanks=(), window=free)
        tasks = [replace(bare, id=f"{act}/{n}", do=act, logs=act, planned=TODAY + n) for n in range(40) for act in acts]
        visits = [
            replace(
                VISIT, id=f"v{n}", day=TODAY + n, rain_date=None, tasks=tuple(f"{act}/{n}" for act in acts), must=()
            )
            for n in range(40)
        ]
        return replace(PLAN, tasks=tuple(tasks), visits=tuple(visits), refusals=(), conflicts=())

    bare = len(texts(render(season_html(season("Swarm check: every brood frame"), YARD.key))))
    both = season("Swarm check: every brood frame", "Mite count: nurse bees from a brood frame")
    assert len(texts(render(season_html(both, YARD.key)))) == bare
