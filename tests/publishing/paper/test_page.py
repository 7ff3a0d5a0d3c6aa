"""The sheet and the season page, read back from the PDF as a keeper would read them."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from publishing import sample_plan as sample
from publishing.pdf_reading import MM, page_count, pages, squares, texts, writing_lines

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.values.words import plain
from ipmcal.publishing.paper.page import season_html, sheet_html, sheet_lines
from ipmcal.publishing.paper.pdf import render

CODE = "K7"


def sheet(plan: Plan, **changes: object) -> str:
    """The HTML of the plan's first sheet, with the visit changed."""
    visit = replace(plan.visits[0], **changes)  # type: ignore[arg-type]
    return sheet_html(plan, visit, CODE)


def with_yard(plan: Plan, **changes: object) -> Plan:
    return replace(plan, yards=(replace(plan.yards[0], **changes),))  # type: ignore[arg-type]


def with_tasks(plan: Plan, **changes: object) -> Plan:
    """The plan with every trap task of its first visit changed."""
    ids = set(plan.visits[0].tasks)
    return replace(
        plan,
        tasks=tuple(replace(t, **changes) if t.id in ids and t.answers else t for t in plan.tasks),  # type: ignore[arg-type]
    )


def words_of(html: str) -> str:
    """The text of a page, tags left out, blanks joined."""
    text: list[str] = []

    class Reader(HTMLParser):
        inside = ""

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.inside = tag
            text.append("" if tag in ("b", "i", "span", "small") else " ")

        def handle_endtag(self, tag: str) -> None:
            text.append(" " if tag in ("p", "td", "th", "h1", "text") else "")

        def handle_data(self, data: str) -> None:
            if self.inside not in ("style", "title"):
                text.append(data)

    Reader().feed(html)
    return " ".join("".join(text).split())


def named(plan: Plan) -> Plan:
    """The plan with a word of its own in each task, and without the head's lists, which repeat tasks."""
    tasks = tuple(
        replace(t, do=f"task-{i:03}-of-many", notes=(f"end-{i:03}",), how=()) for i, t in enumerate(plan.tasks)
    )
    visits = tuple(replace(v, must=(), short=(), forced_by="") for v in plan.visits)
    return replace(plan, tasks=tasks, visits=visits)


# Completeness --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hives", [1, 12, 40])
def test_every_task_stands_once_and_no_row_is_cut(hives: int) -> None:
    plan = named(sample.yard_of(hives))
    printed = texts(render(sheet(plan)))
    whole = " ".join(printed)
    for i, task in enumerate(plan.tasks):
        assert whole.count(f"end-{i:03}") == 1
        (page,) = [text for text in printed if f"end-{i:03}" in text]
        assert task.do in page, "a row went over two pages"


@pytest.mark.parametrize("plan", [sample.four_hives(), sample.yard_of(12, stages=2)], ids=["four", "stages"])
def test_lines_are_numbered_in_printed_order(plan: Plan) -> None:
    plan = named(plan)
    visit = plan.visits[0]
    whole = " ".join(texts(render(sheet_html(plan, visit, CODE))))
    ids = sheet_lines(plan, visit)
    assert sorted(ids) == sorted(visit.tasks)
    places = [whole.index(plan.task(task_id).do) for task_id in ids]
    assert places == sorted(places)
    numbers = [int(n) for n in re.findall(r'<td class="ln"[^>]*>(\d+)</td>', sheet_html(plan, visit, CODE))]
    assert numbers == list(range(1, len(ids) + 1))


def test_walking_order_is_the_yards_whatever_the_plans() -> None:
    plan = sample.four_hives()
    visit = replace(plan.visits[0], tasks=tuple(reversed(plan.visits[0].tasks)))
    hives = [plan.task(task_id).colony for task_id in sheet_lines(plan, visit)]
    assert list(dict.fromkeys(hives)) == [None, "3", "5", "8"]


def test_a_hive_that_left_the_yard_is_still_on_the_sheet() -> None:
    plan = sample.four_hives()
    plan = with_yard(plan, colonies=plan.yards[0].colonies[1:])
    assert '<h2 class="number">3</h2>' in sheet(plan)


HIVES = (1, 3, 6, 12, 40)
PAGES = {
    "checks": ((1, 1, 2, 3, 7), (1, 1, 1, 2, 5)),
    "traps": ((1, 2, 3, 4, 9), (1, 2, 2, 3, 9)),
    "usual": ((2, 2, 3, 5, 15), (1, 2, 2, 3, 7)),
    "strips in": ((1, 2, 2, 4, 11), (1, 1, 2, 2, 6)),
    "strips out": ((1, 2, 3, 5, 14), (1, 1, 2, 3, 7)),
}
"""Pages of five kinds of visit, by number of hives: while each hive said everything anew, and since it is said once."""


@pytest.mark.parametrize(("hives", "place"), [(hives, place) for place, hives in enumerate(HIVES)])
@pytest.mark.parametrize("kind", PAGES)
def test_pages_of_a_visit(kind: str, hives: int, place: int) -> None:
    was, most = (numbers[place] for numbers in PAGES[kind])
    made = page_count(render(sheet(sample.visit_of(kind, hives))))
    assert made <= most <= was


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("kind", PAGES)
def test_a_usual_visit_is_one_leaf_within_its_margins_and_begins_with_its_first_hive(kind: str, paper: str) -> None:
    document = render(sheet(with_yard(sample.visit_of(kind, 4), paper=paper)))
    with pages(document) as all_pages:
        assert len(all_pages) <= len(("front", "back"))
        assert any(c["size"] > 30 and c["text"] == "1" for c in all_pages[0].chars)
        for page in all_pages:
            drawn = [*(c for c in page.chars if c["text"].strip()), *page.rects, *page.curves]
            assert min(thing["x0"] for thing in drawn) >= 8.9 * MM
            assert max(thing["x1"] for thing in drawn) <= page.width - 8.9 * MM
            assert max(thing["bottom"] for thing in drawn) <= page.height


def test_what_is_the_same_in_all_hives_is_said_once_and_stands_behind_them() -> None:
    html = sheet(sample.visit_of("usual", 6))
    text = words_of(html)
    for once in ("Treat the yard at 6 or more in 300 bees.", "Queen safe first", "Last: strong, count 2."):
        assert text.count(once) == 1
    assert html.index("All 6:") < html.index('class="number') < html.index("Treat the yard at 6")


def test_what_the_queen_needs_is_said_at_each_hive() -> None:
    plan = sample.visit_of("usual", 4)
    caution = "Queen safe first: look for her before the cup goes in."
    assert words_of(sheet(with_yard(plan, each_hive=(caution,)))).count(caution) == 4


def test_a_warning_of_what_is_in_a_hive_is_in_words() -> None:
    plan = sample.four_hives()
    said = Because(Code.FULL_TOO_LATE, ("strips", sample.ordinal(5, 1), sample.ordinal(5, 2)))
    colonies = tuple(replace(colony, warnings=(said,)) for colony in plan.yards[0].colonies)
    text = words_of(sheet(with_yard(plan, colonies=colonies)))
    assert "Because(" not in text
    assert because_words(said) in text


def test_a_hive_with_very_many_tasks_goes_on_over_pages() -> None:
    plan = sample.four_hives()
    first = plan.task(plan.visits[0].tasks[-1])
    more = tuple(replace(first, id=f"3/more/{i}", colony="3", do=f"one-more-{i:02}", cautions=()) for i in range(60))
    plan = replace(plan, tasks=plan.tasks + more)
    printed = texts(render(sheet(plan, tasks=plan.visits[0].tasks + tuple(t.id for t in more))))
    assert [sum(t.do in text for text in printed) for t in more] == [1] * 60
    assert sum("more of it" in text for text in printed) > 2


def test_what_is_late_is_said_to_be_so_once() -> None:
    plan = sample.four_hives()
    day = plan.visits[0].day
    late = because_words(Because(Code.WAS_DUE, (day - 3,)))
    for stop, times in ((day - 3, 0), (day + 1, 1), (None, 1)):
        window = replace(plan.tasks[0].window, best=day - 9, opens=day - 9, closes=day - 3, hard_stop=stop)
        text = words_of(sheet(with_tasks(plan, window=window, notes=(late,), how=(), planned=day), must=()))
        assert bool(text.count(late)) is bool(times), stop
        assert ("LATE, was due" in text) is (stop == day - 3)


# Sizes, measured in the PDF ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def four() -> bytes:
    return render(sheet(sample.four_hives()))


def test_nothing_is_printed_under_the_clip(four: bytes) -> None:
    with pages(four) as all_pages:
        for page in all_pages:
            drawn = [*page.chars, *page.rects, *page.lines, *page.curves]
            assert min(thing["top"] for thing in drawn) >= 25 * MM


def test_letters_are_large_enough_and_black(four: bytes) -> None:
    with pages(four) as all_pages:
        for page in all_pages:
            body = [c for c in page.chars if 33 * MM < c["top"] < page.height - 17 * MM]
            assert min(c["size"] for c in page.chars) > 9.95
            assert min(c["size"] for c in body) > 10.95
            assert {c["non_stroking_color"] for c in page.chars} <= {(0,), (0.0,), (0.0, 0.0, 0.0)}


@pytest.mark.parametrize(
    ("words", "points"),
    [
        ("look, cut the comb", 13),
        ("WORKER", 12),
        ("cut into the bucket", 12),
        ("be back", 12),
        ("CUT BY", 11),
        ("Queen safe first", 12),
        ("Find the queen", 12),
        ("Close up", 12),
        ("mites", 12),
        ("hangs in slot 3", 12),
        ("Saturday 22 May", 26),
        ("you stand here", 11),
        ("call emergency services", 10),
        ("42.11 N, 76.06 W", 10),
    ],
)
def test_smallest_letters_by_role(four: bytes, words: str, points: float) -> None:
    with pages(four) as all_pages:
        loose = r"\s?".join(map(re.escape, words.replace(" ", "")))  # the engine sets SVG words letter by letter
        hits = [hit for page in all_pages for hit in page.search(loose, case=False)]
        assert hits
        assert min(c["size"] for hit in hits for c in hit["chars"] if c["text"].strip()) > points - 0.05


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("kind", PAGES)
def test_large_print_has_no_letter_below_16_pt_and_keeps_its_margins(kind: str, paper: str) -> None:
    plan = with_yard(sample.visit_of(kind, 4), paper=paper, large_print=True)
    with pages(render(sheet(plan))) as all_pages:
        for page in all_pages:
            printed = [c for c in page.chars if c["text"].strip()]
            assert min(c["size"] for c in printed) > 15.95
            assert max(c["x1"] for c in printed) <= page.width - 8 * MM
            assert max(c["bottom"] for c in printed) <= page.height - 3 * MM
        first = [c["text"] for c in all_pages[0].chars if c["size"] > 30]
        assert "1" in first, "the first hive is on the first page"


def test_hive_numbers_are_huge(four: bytes) -> None:
    with pages(four) as all_pages:
        huge = "".join(c["text"] for page in all_pages for c in page.chars if c["size"] > 30)
    assert huge == "358"


def test_boxes_to_tick_are_empty_and_fit_a_glove(four: bytes) -> None:
    plan = sample.four_hives()
    with pages(four) as all_pages:
        boxes = [box for page in all_pages for box in squares(page)]
    assert len(boxes) == len(plan.visits[0].tasks) + 2, "a box a task, and two for the unforeseen"
    assert min(min(box) for box in boxes) >= 7
    assert not set("☑✓✔✗☒") & set(sheet(plan))


def test_places_to_write_are_high_enough_and_free(four: bytes) -> None:
    with pages(four) as all_pages:
        count = 0
        for page in all_pages:
            for x0, x1, top, bottom in writing_lines(page):
                count += 1
                assert bottom - top >= 11 * MM - 0.05
                assert x1 - x0 >= 14 * MM - 0.05
                inside = [c for c in page.chars if x0 < c["x0"] < x1 and top + 2 < c["bottom"] < bottom]
                assert not [c for c in inside if c["text"].strip()], "something is printed where one should write"
        assert count >= 15


def test_a4_and_letter() -> None:
    for paper, size in (("letter", (612, 792)), ("a4", (595, 842))):
        with pages(render(sheet(with_yard(sample.yard_of(1), paper=paper)))) as all_pages:
            assert [(round(p.width), round(p.height)) for p in all_pages] == [size]


# What stands on it ---------------------------------------------------------------------------------------------------


def test_every_page_says_which_sheet_it_is(four: bytes) -> None:
    printed = texts(four)
    for i, text in enumerate(printed, 1):
        assert CODE in text
        assert f"page {i} of {len(printed)}" in text
        assert "Planned and printed Wed 19 May 2027" in text
        assert "call emergency services" in text
        assert "42.11 N, 76.06 W" in text
        assert "Gate on the mill lane" in text
    assert sum(text.count("done by") for text in printed) == 1


def test_printed_on_another_day_than_planned() -> None:
    plan = sample.four_hives()
    text = words_of(sheet_html(plan, plan.visits[0], CODE, printed=sample.AS_OF + 2))
    assert "Planned Wed 19 May, printed Fri 21 May 2027." in text


def test_the_head() -> None:
    text = words_of(sheet(sample.four_hives()))
    assert "Saturday 22 May 2027 Rain date: Sunday 23 May" in text
    assert "start finish weather high °C" in text
    assert "Close up and go home if: below 13 °C · rain · robbing." in text
    assert "Comb kit: lidded bucket · uncapping fork · 2 × short frames." in text
    assert "Nothing planned today: 11." in text
    assert "Clear the freezer: room for 3 combs." in text


def test_what_short_time_is_for_is_said_where_it_is_not_just_what_must_be_done() -> None:
    plan = sample.four_hives()
    must = plan.visits[0].must
    assert "Only 30 minutes? Hives 3, 5: lines 2 and 5." in words_of(sheet(plan, short=must[:2]))
    assert "Only 30 minutes?" not in words_of(sheet(plan, short=must)), "it stands a line above"


def test_must_lines_name_hive_trap_and_last_good_day() -> None:
    text = words_of(sheet(sample.four_hives()))
    assert "3 T1: look, cut the comb. CUT BY Mon 24 May" in text
    assert "8: take 2 strips out. OUT BY Tue 25 May" in text


def test_must_lines_are_four_at_most_and_none_is_lost() -> None:
    plan = sample.yard_of(12)
    day = plan.visits[0].day
    ids = [t.id for t in plan.tasks if t.answers]
    later = {task_id: sample.window(day, day, day + i, day + i) for i, task_id in enumerate(ids)}
    plan = replace(plan, tasks=tuple(replace(t, window=later.get(t.id, t.window)) for t in plan.tasks))
    html = sheet(plan, must=tuple(ids))
    box = html[html.index('<section class="must">') : html.index("</section>")]
    lines = re.findall(r"<p>(.*?)</p>", box, re.S)
    assert len(lines) == 4
    numbers = {line: i for i, line in enumerate(sheet_lines(plan, plan.visits[0]), 1)}
    assert words_of(lines[3]) == f"And lines {', '.join(str(numbers[i]) for i in ids[3:-1])} and {numbers[ids[-1]]}."


def test_hives_in_a_must_line_are_counted_where_all_are_meant() -> None:
    assert "all 40: look, cut the comb. CUT BY Mon 24 May" in words_of(sheet(sample.yard_of(40)))


def test_any_day_yards_get_the_range() -> None:
    plan = with_yard(sample.four_hives(), any_day=True)
    assert "any day Sat 22 to Mon 24 May" in words_of(sheet(plan))
    assert "any day" not in words_of(sheet(plan, latest=plan.visits[0].earliest))
    assert "any day" not in words_of(sheet(sample.four_hives()))


def test_no_rain_date_says_which_task_is_to_blame() -> None:
    plan = sample.four_hives()
    text = words_of(sheet(plan, rain_date=None, unwaiting=plan.visits[0].must[:1], because="because of rain"))
    assert "No rain date: hive 3 T1 can't wait" in text
    assert "Why this day? Because of rain." in text


def test_hives_that_cannot_wait_are_called_hives() -> None:
    plan = sample.yard_of(4)
    for number, who in (
        (1, "hive 1 T1"),
        (2, "hives 1 T1, 2 T1"),
        (4, "all 4 hives"),
    ):
        ids = tuple(t.id for t in plan.tasks if t.answers)[:number]
        assert f"No rain date: {who} can't wait" in words_of(sheet(plan, rain_date=None, unwaiting=ids))


def test_a_last_day_that_is_over_says_so() -> None:
    plan = sample.four_hives()
    first = plan.visits[0]
    by = plan.task(first.must[0]).window.by
    assert "LATE, was due" not in words_of(sheet(plan))
    assert "LATE, was due" in words_of(sheet(plan, day=by + 1))


def test_long_directions_stand_in_full() -> None:
    way = "By the mill and over the bridge, " * 6
    printed = texts(render(sheet(with_yard(sample.four_hives(), directions=way))))
    assert sum(way.strip().rstrip(",") in text for text in printed) == 1
    assert all("By the mill" in text for text in printed)


def test_no_celsius_stands_on_a_sheet_in_fahrenheit() -> None:
    plan = sample.visit_of("strips in", 1)
    text = words_of(sheet(with_yard(plan, fahrenheit=True)))
    assert "°C" not in text
    assert "The day's high 50 to 84 °F" in text, "by hand: 10 and 29 °C are 50 and 84.2 °F"
    assert "The day's high 10 to 29 °C" in words_of(sheet(plan))


def test_fahrenheit() -> None:
    assert "high °F" in words_of(sheet(with_yard(sample.four_hives(), fahrenheit=True)))


def test_a_trap_in_the_wrong_slot_is_drawn_and_said() -> None:
    html = sheet(sample.four_hives())
    assert "T2 hangs in slot 3, belongs in slot 9." in words_of(html)
    assert html.count("T2 in slot 3, belongs in slot 9") == 1
    assert html.count("<svg") == 2, "drawn where traps are handled, and only there"


def test_cautions_stand_with_how_it_is_done() -> None:
    text = words_of(sheet(sample.four_hives()))
    how = "count mites: nurse bees, from a brood frame. Treat the yard at 6 or more in 300 bees. Mind: Queen safe first"
    assert how in text


def test_no_decimals_but_coordinates_and_no_percentages() -> None:
    text = words_of(sheet(sample.four_hives()))
    assert "%" not in text
    assert re.findall(r"\d+[.,]\d+", text) == ["42.11", "76.06"]


# Keys ----------------------------------------------------------------------------------------------------------------


def test_one_key_where_all_traps_are_at_one_stage() -> None:
    html = sheet(sample.yard_of(12))
    assert html.count('<section class="key">') == 1
    assert html.index('<section class="key">') > html.rindex('<h2 class="number')
    text = words_of(html)
    assert "ALL OPEN leave it be back Sat 29 May CUT BY Sun 30 May be back Sun 30 May CUT BY Mon 31 May" in text
    assert "WORKER or NOTHING no catch: leave it, circle what you saw" in text


def test_several_stages_at_once_are_named_in_one_table() -> None:
    html = sheet(sample.four_hives())
    text = words_of(html)
    assert html.count('<section class="key">') == 1
    assert "3 T1, due 19 to 24 May today, Sat 22 May if rain, Sun 23 May ALL OPEN leave it be back Sat 29 May" in text
    assert "3 T2, due 19 May to 5 June ALL OPEN leave it be back Sat 12 June" in text
    assert text.index("any trap frame") > text.index("5 T1, due")


def test_trap_frames_at_one_stage_share_their_rows() -> None:
    text = words_of(sheet(sample.yard_of(12, stages=2)))
    assert text.count("ALL OPEN") == 2
    assert "1 T1, 3 T1, 5 T1, 7 T1, 9 T1, 11 T1, due 19 to 24 May today, Sat 22 May" in text
    assert text.count("11 T1, due 19 to 24 May") == 1


def test_every_answer_of_every_trap_is_on_the_sheet() -> None:
    for plan in (sample.four_hives(), sample.yard_of(12, stages=3)):
        text = words_of(sheet(plan))
        for task_id in plan.visits[0].tasks:
            for answer in plan.task(task_id).answers:
                assert answer.title in text
                assert answer.do in text


def test_a_forced_answer_says_so() -> None:
    text = words_of(sheet(sample.four_hives()))
    assert "5 T1, due 19 to 25 May ALL OPEN Your last day in time: cut now" in text


def test_without_keepers_days_the_range_is_printed() -> None:
    day = sample.SATURDAY
    plan = with_tasks(sample.four_hives(), answers=sample.answers(day, None, 1, back_on=False))
    assert "leave it back Sun 23 to Sun 30 May CUT BY Sun 30 May" in words_of(sheet(plan))


def test_an_act_that_depends_on_the_day_stands_under_the_day() -> None:
    day = sample.SATURDAY
    early = list(sample.answers(day, None, 1))
    late = list(sample.answers(day + 1, None, 1, forced=True))
    plan = with_tasks(sample.four_hives(), answers=tuple(early + late))
    assert (
        "ALL OPEN leave it be back Sat 29 May CUT BY Sun 30 May "
        "Your last day in time: cut now be back Sun 13 June CUT BY Tue 15 June"
    ) in words_of(sheet(plan))


def test_findings_with_the_same_days_share_them() -> None:
    day = sample.SATURDAY
    said = [replace(a, back_on=day + 21, cut_by=day + 23) for a in sample.answers(day, None, 1)]
    html = sheet(with_tasks(sample.four_hives(), answers=tuple(said)))
    key = html[html.index('<section class="key">') : html.index("</section>", html.index('<section class="key">'))]
    assert key.count("CUT BY") == 1
    assert key.count(". Days as above") == 4


def test_the_lid_names_the_trap() -> None:
    text = words_of(sheet(sample.four_hives()))
    assert "on the lid: T1 CUT BY" in text
    assert "on the lid: T2 CUT BY" in text


def test_a_task_that_names_its_trap_is_not_named_twice() -> None:
    plan = with_tasks(sample.four_hives(), do="Trap T1: look, then cut or leave", lid="OUT BY", logs="trap_swapped")
    html = sheet(plan)
    text = words_of(html)
    assert "T1: Trap T1" not in text
    assert "3 T1: Trap: look, then cut or leave. OUT BY Mon 24 May" in text
    assert "on the lid: T1 OUT BY" in text
    assert "leave it be back Sat 29 May OUT BY Sun 30 May" in text
    assert "CUT BY" not in text
    assert "Trap: look, then cut or leave: 3 T1, 5 T1. OUT BY Mon 24 May" in words_of(season_html(plan, "orchard"))


def test_a_task_that_says_where_the_trap_belongs_is_enough() -> None:
    plan = with_tasks(sample.four_hives(), notes=("It hangs in slot 3: hang it in slot 9.",))
    assert "belongs in slot 9." not in words_of(sheet(plan))


def test_the_rules_words_for_an_emergency_stand_on_every_foot_and_once_a_page() -> None:
    caution = "Stung and unwell: call emergency services at once."
    plan = with_yard(sample.four_hives(), cautions=("Sick-looking brood: stop.", caution))
    printed = texts(render(sheet(plan)))
    assert [text.count(caution) for text in printed] == [1] * len(printed)
    assert sum(text.count("At every hive: Sick-looking brood: stop.") for text in printed) == 1


def test_nothing_was_noted_last_time() -> None:
    plan = sample.four_hives()
    plan = with_yard(plan, colonies=tuple(replace(c, last="") for c in plan.yards[0].colonies))
    assert "Last:" not in words_of(sheet(plan))


# Safety --------------------------------------------------------------------------------------------------------------

HOSTILE = {
    "html": "</title></style><script>alert(1)</script>",
    "entities": "a & b <b>\"c\" 'd' &amp; {{ 7 * 7 }} {% raw %}",
    "lines": "one\ntwo\r\n\tthree\x00\x0b",
    "emoji": "Hive \N{HONEYBEE}\N{VARIATION SELECTOR-16}\N{ZERO WIDTH JOINER} 7 \N{RIGHT-TO-LEFT OVERRIDE}x",
    "long": "W" * 150,
    "lone surrogate": "a\ud800b",
    "empty": "",
    "blank": "   ",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_whatever_is_written_comes_out_safe(text: str) -> None:
    plan = sample.hostile(text)
    for html in (sheet(plan), season_html(plan, "orchard")):
        assert "<script" not in html
        assert "<b>&#34;" not in html
        assert "49" not in re.findall(r"\b49\b", words_of(html))
        shown = plain(text)
        if shown != HOSTILE["long"]:
            assert shown.strip() in words_of(html)
        with pages(render(html)) as all_pages:
            for page in all_pages:
                assert max(c["x1"] for c in page.chars) <= page.width - 8 * MM


def test_a_name_stands_at_its_hive_and_lists_use_the_key_that_is_painted_on_it() -> None:
    plan = sample.yard_of(1)
    name = "Grandmother's hive by the old pear tree"
    plan = with_yard(plan, colonies=(replace(plan.yards[0].colonies[0], name=name),))
    text = words_of(sheet(plan))
    key = plan.yards[0].colonies[0].key
    assert f"{key} T1: " in text
    assert f"{key} {name}" in text


@pytest.mark.parametrize("make", [sheet, lambda plan: season_html(plan, "orchard")], ids=["sheet", "season"])
def test_pages_need_nothing_else(make: object) -> None:
    html = make(sample.four_hives())  # type: ignore[operator]
    assert "url(" not in html
    assert "@import" not in html
    assert not re.search(r"<(?:link|img|script|iframe|object)\b", html)
    assert not re.search(r"\b(?:src|href)=", html)


def test_what_the_plan_lacks_is_an_error() -> None:
    plan = sample.four_hives()
    with pytest.raises(KeyError, match="elsewhere"):
        sheet(plan, yard="elsewhere")
    with pytest.raises(KeyError, match="no such task"):
        sheet(plan, tasks=("no such task",))
    with pytest.raises(KeyError, match="elsewhere"):
        season_html(plan, "elsewhere")


# The season page -----------------------------------------------------------------------------------------------------


def test_the_season_page_counts_and_lists() -> None:
    plan = sample.four_hives()
    html = season_html(plan, "orchard")
    text = words_of(html)
    assert "Orchard yard, season 2027" in text
    assert "14 visits about 11 h 55 min in the yard, 46 tasks on 4 hives" in text
    assert html.count('<span class="tick">') == 14
    first = "Sat 22 May or Sun 23 May read the board under every hive look, cut the comb: 3 T1, 3 T2, 5 T1."
    assert f"{first} CUT BY Mon 24 May" in text
    assert "look, cut the comb 13 times on 6 visits" in text
    refused = "Trap comb, cut (11): 4 frames of brood, and 6 are needed; the queen is missing."
    assert f"{refused} What would help: strengthen it, or wait; write it down" in text
    early = "hive 5: Trap comb, cut: done early, on Sat 12 June: no day of yours lies in its time."
    assert f"{early} What would help: a day in Wed 16 June." in text
    assert "trap_comb_cut, checked 24 November 2026; mite_wash" in text
    assert "Region: invented region" in text


def test_the_season_page_of_fourteen_visits_prints_in_one_page_with_its_chart() -> None:
    document = render(season_html(sample.four_hives(), "orchard"))
    printed = texts(document)
    assert len(printed) == 1
    for mark in sample.marks():
        assert mark.title.replace(" ", "") in printed[0].replace(" ", ""), "the engine sets SVG words letter by letter"
    with pages(document) as all_pages:
        assert min(c["size"] for page in all_pages for c in page.chars) > 9.9


def test_a_season_across_the_new_year_is_named_by_both() -> None:
    plan = with_yard(sample.four_hives(), begins=sample.ordinal(7, 1), ends=sample.ordinal(6, 30, 2028))
    assert "season 2027/28" in words_of(season_html(plan, "orchard"))


def test_tasks_that_are_not_settled_are_said() -> None:
    plan = sample.four_hives()
    lost = [replace(plan.tasks[1], id=f"x/{status}", status=status, planned=None) for status in Status]
    text = words_of(season_html(replace(plan, tasks=plan.tasks + tuple(lost)), "orchard"))
    assert "Missed: look, cut the comb (3 T1)." in text
    assert "Not written down: done or not?: look" not in text
    assert "Not written down, done or not: look, cut the comb (3 T1)." in text
    assert "No day of yours fits: look, cut the comb (3 T1)." in text


def test_refusals_with_the_same_reasons_are_one() -> None:
    plan = sample.four_hives()
    one = plan.refusals[0]
    text = words_of(season_html(replace(plan, refusals=(one, replace(one, subject="12"))), "orchard"))
    assert text.count("4 frames of brood, and 6 are needed") == 1
    assert "(11, 12)" in text


def test_an_empty_yard() -> None:
    plan = with_yard(sample.four_hives(), colonies=(), marks=(), highs=(), notes=())
    plan = replace(plan, tasks=(), visits=(), refusals=(), conflicts=(), notes=(), rules_checked=())
    html = season_html(plan, "orchard")
    assert "No visit is planned." in words_of(html)
    assert len(texts(render(html))) == 1


def test_other_yards_are_left_out() -> None:
    plan = sample.four_hives()
    other = replace(plan.yards[0], key="hill", name="Hill yard")
    stray: Task = replace(plan.tasks[0], id="hill-task", yard="hill", do="paint the fence")
    plan = replace(plan, yards=(*plan.yards, other), tasks=(*plan.tasks, stray))
    assert "paint the fence" not in season_html(plan, "orchard")
