"""Treating: courses chosen, placed and checked; supers, quiet days, breaks. In: small yards, shipped labels.

Days and waits come from the shipped labels (``rules/treatments``), whose sources stand there; the rest is common
practice: a caged queen is let out when the last drone is out, 25 days after caging, and her hive is treated then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.course_invariants import courses_of
from planning.yards import (
    SAT,
    SUN,
    YEAR,
    colony,
    kept_as_planned,
    line,
    lines,
    on,
    outfit,
    own_task,
    plan,
    shipped,
    told,
    yard,
)
from sweeps import some_of

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.planning.choose.asked import END_SOON
from ipmcal.planning.choose.held import as_placed
from ipmcal.planning.choose.treat import treat
from ipmcal.planning.choose.wants import Want, begin_days, paid_by_breaks
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.plan import make_plan
from ipmcal.planning.ready import by_subject, ready
from ipmcal.planning.rounds import by_mites
from ipmcal.planning.unfold.quiet import Quiet
from ipmcal.planning.unfold.quiet import _waiting as compiled_anew
from ipmcal.publishing.memory.assumed import with_assumed
from ipmcal.publishing.memory.ledger import Ledger, remember

OFF_BY = "1/supers_off_by/2027/off_by/1"
REGIONS = {
    "uk": "england_south_midlands",
    "de": "germany_central_europe",
    "fr": "mediterranean_spain_italy",
    "us": "us_northeast",
    "ca": "canada_ontario",
    "nz": "nz_north_island",
    "au": "au_nsw",
}


def there(
    jurisdiction: str = "us",
    program: str = "full",
    hives: int = 1,
    *,
    treatments: Sequence[str] | None = None,
    weekdays: tuple[int, ...] | None = (SAT,),
    supers: int = 0,
    added: tuple[str, ...] = (),
) -> Yard:
    """A yard of overwintered colonies at its region's reference place."""
    made = yard(
        *(colony(str(i), supers=supers) for i in range(1, hives + 1)),
        region=REGIONS[jurisdiction],
        program=program,
        weekdays=weekdays,
        added=added,
    )
    return replace(made, jurisdiction=jurisdiction, treatments=None if treatments is None else tuple(treatments))


def planned(of: Outfit | Yard, as_of: str = "01-01") -> Plan:
    return plan(of, as_of, book=shipped())


def steps(made: Plan, *logs: str, colony: str = "1") -> list[str]:
    """The planned tasks that log any of these words, such as ``08-07 formic_strips_pair/apply``, by day."""
    return [
        f"{told(t.planned)} {t.method}/{t.step}"
        for t in made.tasks
        if t.planned is not None and t.colony == colony and t.logs in logs
    ]


def first_doses(made: Plan, colony: str = "1") -> list[str]:
    """The days and treatments given."""
    given_ = (t for t in made.tasks if t.product and t.colony == colony and t.planned is not None)
    return [f"{told(t.planned or 0)} {t.method}" for t in given_]


# What is planned at all -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("jurisdiction", sorted(REGIONS))
def test_a_year_of_courses_has_a_late_summer_and_takes_out_what_it_puts_in(jurisdiction: str) -> None:
    made = planned(there(jurisdiction), as_of="2027-07-01" if jurisdiction in ("au", "nz") else "01-01")
    (chosen,) = made.choosing
    assert any("late summer round" in words for words in (*chosen.chosen, *chosen.left))
    into = {t.method for t in made.tasks if t.logs == "strips_in"}
    assert into == {t.method for t in made.tasks if t.logs == "strips_out"}
    assert bool(chosen.supplies) == bool(chosen.chosen)


def test_where_no_product_is_named_nothing_is_planned() -> None:
    made = planned(there(treatments=()))
    assert not made.choosing
    assert not any(t.product for t in made.tasks)


def test_a_product_without_a_label_in_the_country_is_never_planned_and_the_need_is_told() -> None:
    made = planned(there("de", treatments=("hop_acid_strip",)))
    assert not any(t.product for t in made.tasks)
    assert any(words.startswith("not enough") for words in made.choosing[0].left)


def test_courses_of_a_product_are_numbered_by_day() -> None:
    made = planned(there("uk", treatments=("formic_strips_pair",)))
    doses = [t for t in made.tasks if t.logs == "strips_in"]
    numbered = ["formic_strips_pair", "formic_strips_pair_2"]
    assert [t.method for t in sorted(doses, key=lambda t: t.planned or 0)] == numbered


def treatment_files(made: Plan) -> set[str]:
    """The rule files of treatments that a plan says it rests on."""
    return {key.partition("treatments/")[2] for key in made.rules_checked if "treatments/" in key}


@pytest.mark.parametrize("product", ["amitraz_strip", "formic_strips_7_day", "formic_pads_65"])
def test_a_plan_rests_on_the_rule_files_of_the_treatments_in_it_and_of_no_others(product: str) -> None:
    made = planned(there("ca", treatments=(product, "oxalic_vapour"), weekdays=None))
    assert treatment_files(made) == {t.method for t in made.tasks} & set(shipped().treatments)
    assert treatment_files(made)


# Supers ---------------------------------------------------------------------------------------------------------------


def test_supers_that_are_not_on_yet_come_off_in_time_for_a_course_that_forbids_them() -> None:
    """Amitraz in the US: no supers during the course. Supers go on in May, and come off before it begins in July."""
    made = planned(there("us", "few_drives", treatments=("amitraz_strip",)))
    (begins,) = [t.planned for t in made.tasks if t.logs == "strips_in"]
    (off,) = [t for t in made.tasks if t.logs == "supers_off"]
    (up,) = [t for t in made.tasks if t.logs == "supers_on"]
    assert begins is not None
    assert off.planned is not None
    assert up.planned is not None
    assert up.planned < off.planned <= begins
    assert off.window.hard_stop == begins
    assert off.id == "1/supers/2027/take_off/1"


@pytest.mark.parametrize(("declined", "task"), [((), "1/supers/2027/take_off/1"), (("supers",), OFF_BY)])
def test_supers_that_are_on_come_off_once_for_a_course(declined: tuple[str, ...], task: str) -> None:
    """As the task that they had before they went on; where no method takes them off, as one of its own."""
    kept = there("us", "few_drives", treatments=("amitraz_strip",), supers=1)
    made = planned(outfit(replace(kept, declined=declined), journal=()), "06-15")
    (off,) = [t for t in made.tasks if t.logs == "supers_off" and t.planned is not None]
    begins = min(t.planned for t in made.tasks if t.logs == "strips_in" and t.planned is not None)
    assert off.id == task
    assert off.planned is not None
    assert off.planned <= begins
    assert any(note.startswith("Why: ") for note in off.notes)


def test_supers_wait_until_the_wait_after_a_course_under_way_is_over() -> None:
    """Amitraz in the US: 42 to 56 days, and 14 days' wait; put in on 3 April, it is over on 12 June at the latest."""
    journal = lines("04-03 strips_in amitraz_strip 4 lot K by AB")
    made = planned(outfit(there("us", treatments=()), journal=journal), "04-04")
    out = next(t for t in made.tasks if t.logs == "strips_out")
    up = next(t for t in made.tasks if t.logs == "supers_on")
    assert out.planned is not None
    assert up.planned is not None
    assert up.window.closes == on("05-31")
    assert up.planned >= out.planned + 14
    assert any(up.id in c.tasks for c in made.conflicts)  # late, and said so


def test_a_course_ends_sooner_where_a_label_would_be_broken_by_its_last_days() -> None:
    """Amitraz in France: not in the main flow, nor in the autumn flow, which begins after it could be out."""
    made = planned(there("fr", "few_drives", treatments=("amitraz_strip",), weekdays=(SAT, SUN)))
    assert any(t.logs == "strips_in" for t in made.tasks)
    assert not made.conflicts


@pytest.mark.parametrize("away", ["07-03", "07-10", "07-17", "08-01", "08-14"])
def test_no_strips_go_in_that_nobody_could_take_out(away: str) -> None:
    """Away for the rest of the year: a course whose strips would stay in is not planned, and the need is left open.

    Its middle step is soft and has no day either; that is no end of what is owed.
    """
    base = replace(there("us", "few_drives", treatments=("amitraz_strip",)), away=((on(away), on("12-31")),))
    made = planned(outfit(base, journal=()), "06-15")
    assert len(steps(made, "strips_in")) == len(steps(made, "strips_out"))


def test_without_a_course_supers_go_on_in_their_time() -> None:
    assert steps(planned(there("us", treatments=())), "supers_on") == ["05-15 supers/put_on"]


# Quiet days -----------------------------------------------------------------------------------------------------------


def quiet_yard(opens: str, closes: str) -> Yard:
    """Formic acid on any day; drives on 25 and 26 July for the yard's sake, and a task at the hive between two days."""
    base = there("de", treatments=("formic_strips_pair",), weekdays=None)
    fences = [own_task(f"fence_{day}", f"07-{day}", f"07-{day}") for day in (25, 26)]
    return replace(base, tasks=(*fences, own_task("look", opens, closes, per_colony=True)))


def test_work_that_can_wait_keeps_out_of_the_quiet_days_of_formic_acid() -> None:
    """German and Austrian texts: nobody opens the hive the day before, nor while the strips are in, seven days."""
    made = planned(quiet_yard("07-26", "08-02"), "07-01")
    begins = min(t.planned or 0 for t in made.tasks if t.logs == "strips_in")
    (look,) = [t.planned or 0 for t in made.tasks if t.step == "look"]
    assert not begins - 1 <= look <= begins + 7
    assert not any("quiet days" in because_words(c.what) for c in made.conflicts)


def test_work_that_can_not_wait_is_told_with_its_task() -> None:
    """A look each week, on its day: wherever the strips go in, one falls into their seven days."""
    base = there("de", treatments=("formic_strips_pair",), weekdays=None)
    days = ("05", "12", "19", "26")
    looks = [own_task(f"look_{day}", f"07-{day}", f"07-{day}", per_colony=True) for day in days]
    made = planned(replace(base, tasks=tuple(looks)), "07-01")
    told_ = [c for c in made.conflicts if "quiet days" in because_words(c.what)]
    assert told_
    assert {c.subject for c in told_} == {"1"}
    assert all(t.startswith("1/own/2027/look_") for c in told_ for t in c.tasks)
    begins = min(t.planned or 0 for t in made.tasks if t.logs == "strips_in")
    assert all(
        f"on {date.fromordinal(begins):%a} {date.fromordinal(begins).day} July" in because_words(c.what) for c in told_
    )
    looked = [t.planned or 0 for t in made.tasks if t.id in {name for c in told_ for name in c.tasks}]
    assert looked
    assert all(begins - 1 <= day <= begins + 7 for day in looked)
    assert all(c.helps for c in told_)


def looking(opens: str, closes: str, *drives: int) -> tuple[str, str, list[str]]:
    """The day of formic acid, the day of a task at the hive between two days, and what is told; with such drives."""
    base = there("de", treatments=("formic_strips_pair",), weekdays=None)
    fences = [own_task(f"fence_{day}", f"07-{day}", f"07-{day}") for day in drives]
    look = own_task("look", f"07-{opens}", f"07-{closes}", per_colony=True)
    made = planned(replace(base, tasks=(*fences, look)), "07-01")
    dose, *_ = steps(made, "strips_in")
    (when,) = [told(t.planned or 0) for t in made.tasks if t.step == "look"]
    return dose[:5], when, [because_words(c.what) for c in made.conflicts if "quiet days" in because_words(c.what)]


@pytest.mark.parametrize(("opens", "closes", "when"), [("17", "19", "07-17"), ("18", "20", "07-19")])
def test_work_that_can_be_done_on_another_day_keeps_out_of_the_day_before(opens: str, closes: str, when: str) -> None:
    """Drives on 18 and 19 July, the course on the 19th: not on the 18th, though it would spare a drive."""
    assert looking(opens, closes, 18, 19) == ("07-19", when, [])


def test_work_that_has_to_be_done_on_the_day_before_is_told() -> None:
    dose, when, (conflict,) = looking("18", "18", 18, 19)
    assert (dose, when) == ("07-19", "07-18")
    assert "Mon 19 July" in conflict
    assert "Sun 18 July" in conflict


def test_the_days_after_a_dose_that_was_given_are_quiet_too() -> None:
    base = replace(there("de", treatments=(), weekdays=None), tasks=quiet_yard("07-25", "08-02").tasks)
    journal = lines("07-24 strips_in formic_strips_pair 2 lot K by AB")
    made = planned(outfit(base, journal=journal), "07-25")
    (look,) = [told(t.planned or 0) for t in made.tasks if t.step == "look"]
    assert look > "07-27"


# A brood break --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("weekdays", [(SAT,), (SAT, SUN), (2,), (1, 4), None])
@pytest.mark.parametrize(
    ("jurisdiction", "program"), [("us", "drones_spared"), ("uk", "acids_and_handwork"), ("de", "full")]
)
def test_release_and_oxalic_acid_fall_on_one_visit(
    jurisdiction: str, program: str, weekdays: tuple[int, ...] | None
) -> None:
    """The last drone is out 25 days after caging; the queen is let out then, and nothing is capped."""
    base = there(jurisdiction, program, treatments=("oxalic_trickle",), weekdays=weekdays)
    made = planned(outfit(base, journal=lines("06-26 caged")), "06-27")
    (let_out,) = steps(made, "released")
    inside = on("07-21") <= on(let_out[:5]) <= on("07-26")
    if inside:
        assert let_out[:5] in [dose[:5] for dose in first_doses(made)]


def test_release_waits_for_the_day_of_the_dose_where_both_may_be_then() -> None:
    """In the UK supers come off for oxalic acid, the later the better; drives for other work tempt to two visits."""
    base = there("uk", "acids_and_handwork", treatments=("oxalic_trickle",), weekdays=None)
    drives = [own_task(f"drive_{day}", f"07-{day}", f"07-{day}") for day in range(21, 26)]
    made = planned(outfit(replace(base, tasks=tuple(drives)), journal=lines("06-26 caged")), "06-27")
    (let_out,) = steps(made, "released")
    assert first_doses(made)[0] == f"{let_out[:5]} oxalic_trickle"
    assert "07-21" <= let_out[:5] <= "07-25"


@pytest.mark.parametrize("cage", range(7))
def test_a_break_serves_what_falls_into_its_time_too(cage: int) -> None:
    """No hive gets a dose for its break, and another course a few days later, before a count could tell of the dose."""
    journal = [line(f"07-{1 + cage:02} caged")]
    made = planned(outfit(there("us", "drones_spared", 2), journal=journal), f"07-{2 + cage:02}")
    summer = [dose for dose in first_doses(made) if dose[:5] < "09-30"]
    assert summer[0][6:] == "oxalic_trickle"
    apart = int(shipped().planning.year_plans.walls.between_packed.value.middle)
    assert all(on(dose[:5]) - on(summer[0][:5]) >= apart for dose in summer[1:])


def test_two_hives_caged_on_different_days_are_two_needs() -> None:
    journal = [line("06-19 caged", "1"), line("07-10 caged", "2")]
    made = planned(outfit(there("us", "drones_spared", 2), journal=journal), "07-11")
    for key in ("1", "2"):
        day = next(t.planned for t in made.tasks if t.logs == "released" and t.colony == key)
        assert day is not None
        assert f"{told(day)} oxalic_trickle" in first_doses(made, key)
    assert not [words for words in made.choosing[0].left if not words.startswith("not enough: ")]


def need(name: str, first: str, last: str, **more: object) -> Want:
    return replace(Want(name, on(first), on(last), on(first)), **more)  # type: ignore[arg-type]


def test_a_sure_break_takes_its_hive_out_of_other_needs_of_its_time_and_may_take_supers() -> None:
    """A break that has to be looked for, or lies in another time, does not."""
    winter = need("counted", "07-14", "07-28", takes_supers=True)
    sure = need("brood_break", "07-26", "08-04", colonies=("1",), broodless=True)
    assert paid_by_breaks((winter, sure), ("1", "2")) == (
        replace(winter, colonies=("2",)),
        replace(sure, takes_supers=True),
    )
    assert paid_by_breaks((winter, sure), ("1",)) == (replace(sure, takes_supers=True),)
    for other in (replace(sure, sure=False), replace(sure, first=on("09-01"), last=on("09-09"))):
        assert paid_by_breaks((winter, other), ("1", "2")) == (winter, other)


def test_a_break_is_tried_on_each_day() -> None:
    brood_break = need("brood_break", "07-26", "07-30", colonies=("1",), broodless=True)
    assert begin_days(range(on("07-20"), on("08-30")), (brood_break,)) == tuple(range(on("07-26"), on("07-31")))


# Any yard -------------------------------------------------------------------------------------------------------------

PRODUCTS = sorted(shipped().treatments)
PAST = (
    "04-03 strips_in amitraz_strip 2 lot K by AB",
    "04-10 supers_on 1",
    "05-01 caged",
    "05-27 released",
    "06-05 count 20/300",
    "06-12 caged",
    "06-19 strips_in formic_strips_pair 2 lot K by AB",
    "07-03 supers_off",
    "07-08 treated oxalic_trickle 30 mL lot K by AB",
)


@st.composite
def treated(draw: st.DrawFn) -> tuple[Outfit, str]:
    """A yard with products in the keeper's order, and a past: supers, a cage, a count, a course."""
    jurisdiction = draw(st.sampled_from(sorted(REGIONS)))
    products = draw(st.lists(st.sampled_from(PRODUCTS), min_size=1, max_size=4, unique=True))
    weekdays = draw(st.sampled_from([(SAT,), (SAT, SUN), (1, 4), None]))
    base = there(
        jurisdiction,
        draw(st.sampled_from(["first_year", "few_drives", "drones_spared"])),
        draw(st.integers(1, 2)),
        treatments=products,
        weekdays=weekdays,
        supers=draw(st.integers(0, 1)),
    )
    past = draw(st.lists(st.sampled_from(PAST), max_size=4, unique=True))
    as_of = draw(st.sampled_from(["03-01", "04-20", "06-20", "07-10", "08-15"]))
    journal = [line(text) for text in sorted(past) if text[:5] < as_of]
    return outfit(base, journal=draw(st.sampled_from([journal, None]))), as_of


@settings(max_examples=some_of(30), deadline=None)
@given(treated())
def test_any_plan_with_treatments_holds(case: tuple[Outfit, str]) -> None:
    """The invariants: labels, supers and their wait, quiet days, strips out, steps in order."""
    kept, as_of = case
    made = make_plan(kept, shipped(), on(as_of))
    plan(kept, as_of, season=made.yards[0].season, book=shipped())
    for colony_tasks in _by_colony(made):
        for course in courses_of(colony_tasks, kept.yards[0], shipped()):
            days = [t.planned for t in course.tasks if t.planned is not None]
            assert days == sorted(days)


def _by_colony(made: Plan) -> list[list[Task]]:
    keys = dict.fromkeys(t.colony for t in made.tasks)
    return [[t for t in made.tasks if t.colony == key] for key in keys]


@pytest.mark.parametrize(("jurisdiction", "weekdays"), [("uk", (SAT,)), ("us", (SAT, SUN)), ("us", (2,))])
def test_who_does_as_planned_finds_the_rest_of_the_courses_unchanged(
    jurisdiction: str, weekdays: tuple[int, ...]
) -> None:
    """Before a count of its time frees a course, and once it has begun; a count never lies on the day of the acid.

    What was printed for a course is known, as to whoever has a ledger.
    """
    there_ = there(jurisdiction, "first_year", 2, weekdays=weekdays)
    first = planned(outfit(there_, journal=()), "03-01")
    ledger = remember(Ledger("outfit"), first)
    for day in ("07-05", "08-10", "11-10"):
        kept = outfit(there_, journal=kept_as_planned(first, on(day)))
        again = planned(with_assumed(kept, ledger, shipped(), on(day)), day)
        ahead = _of_courses(first, on(day))
        assert ahead
        assert _of_courses(again, on(day)) == ahead


def _of_courses(made: Plan, since: int) -> set[tuple[str, int]]:
    """What is given from a day on; what follows on it (taking out, looks) may go along with the visits of the rest."""
    chosen = (t for t in made.tasks if t.product)
    return {(t.id, t.planned) for t in chosen if t.planned is not None and t.planned >= since}


@settings(max_examples=some_of(8), deadline=None)
@given(treated())
def test_the_same_input_gives_an_equal_plan(case: tuple[Outfit, str]) -> None:
    kept, as_of = case
    assert make_plan(kept, shipped(), on(as_of)) == make_plan(kept, shipped(), on(as_of))


# On the days that packing chose ---------------------------------------------------------------------------------------


def test_a_course_of_which_any_end_is_missing_is_none() -> None:
    """Strips go in and come out: cut short before they come out, or with nothing given, it is no course to check."""
    kept = outfit(there(treatments=["amitraz_strip"]))
    one = ready(kept.yards[0], by_subject(()), kept, shipped(), on("06-01"), YEAR)[0]
    treated = treat(one, kept, by_mites(kept))
    errand = treated.errands["1"][0]
    path: list[int] = []
    stop = errand.chain.first
    while stop is not None:
        path.append(stop.nodes[0])
        stop = errand.chain.nodes[path[-1]].then
    assert len(path) > 1

    def use(*nodes: int) -> object:
        (laid,) = as_placed(one, treated, [errand], {errand.key: nodes})
        return laid.use

    assert use(*path) is not None
    assert use(path[0]) is None
    assert use(path[-1]) is None


def test_a_course_that_ends_soon_does_so_however_its_chain_is_compiled() -> None:
    """A shut day has the chain compiled anew, of which the strips still come out on the first day on which they may."""
    kept = outfit(there(treatments=["amitraz_strip"], weekdays=(SAT, SUN)))
    one = ready(kept.yards[0], by_subject(()), kept, shipped(), on("06-01"), YEAR)[0]
    soon = treat(one, kept, by_mites(kept), {("amitraz_strip", END_SOON): "flow"}).errands["1"][0]
    late = treat(one, kept, by_mites(kept)).errands["1"][0]
    assert soon.soon == "take_out"
    anew = compiled_anew(one.ground, soon, Quiet(shut=frozenset({on("06-05")})))
    for errand in (soon, anew):
        assert _outs(errand) < _outs(late), "fewer days, and the first of them"
        assert min(_outs(errand)) == min(_outs(late))
    assert _outs(anew) == _outs(soon)


def _outs(errand: Errand) -> set[int]:
    """The days on which strips that went in on the first day may come out."""
    chain, days = errand.chain, errand.frame.days.ordinals
    found: set[int] = set()
    todo = [chain.first.nodes[0]]
    while todo:
        node = todo.pop()
        if chain.steps[node][0] == "take_out":
            found.add(days[chain.nodes[node].at])
        then = chain.nodes[node].then
        todo += [] if then is None else then.nodes
    return found
