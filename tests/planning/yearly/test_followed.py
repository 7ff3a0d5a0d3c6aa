"""The year's courses from one day of planning to the next. Invented yards; rules as shipped."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.invariants import check_plan
from planning.mites.year_yards import the_yard
from planning.yards import YEAR, kept_as_planned, line, on, outfit, season_begins, shipped

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.plan.plan import Plan
from ipmcal.planning.plan import make_plan
from ipmcal.planning.yearly.answered import Apart, kept_apart_by

PROGRAM = "few_drives"
REGIONS = ("us_northeast", "england_south_midlands", "us_california_central_valley")
CAGING = "acids_and_handwork"
"""A program whose own method has the queen caged."""


def courses(plan: Plan) -> list[tuple[str, int]]:
    """The courses of the year, done and to come, each with its first day."""
    book, found = shipped(), dict[str, int]()
    for task in plan.tasks:
        name = task.method if task.method in book.treatments else task.method.rpartition("_")[0]
        day = task.done if task.done is not None else task.planned
        if name in book.treatments and task.season == YEAR and day is not None:
            found[task.method] = min(day, found.get(task.method, day))
    return sorted(found.items(), key=lambda item: item[1])


def uncounted(event: Event) -> bool:
    """Whether a line is not of a count: what a count says may excuse a course."""
    return shipped().events[event.word].value != "count"


@pytest.mark.parametrize(("region", "program"), [*((region, PROGRAM) for region in REGIONS), (REGIONS[0], CAGING)])
def test_a_year_done_as_planned_stays_the_year_that_was_chosen(region: str, program: str) -> None:
    """On twenty days of the year, the keeper doing all but the counts, the same courses in the same order; a caging of
    the plan's own is part of the year before it is written and after.

    A day within a course's window may move while it lies ahead: packing puts it where it spares a drive.
    """
    first, journal = season_begins(region), list[Event]()
    kept = replace(outfit(the_yard(region, program)), since=first)
    was: Plan | None = None
    chosen: list[str] = []
    for as_of in range(first, first + 20 * 17, 17):
        if was is not None:
            journal += [_out(event) for event in kept_as_planned(was, as_of) if uncounted(event)]
        now = make_plan(replace(kept, journal=tuple(journal)), shipped(), as_of, YEAR)
        check_plan(now, replace(kept, journal=tuple(journal)), shipped())
        chosen = chosen or [name for name, _ in courses(now)]
        assert [name for name, _ in courses(now)] == chosen
        was = now
    caged = [t for t in was.tasks if t.logs == "caged" and t.done is not None] if was is not None else []
    assert bool(caged) == (program == CAGING), "a queen is caged where the program has it, and nowhere else"
    assert len(chosen) >= 2, "late summer and winter at least"


def _out(event: Event) -> Event:
    """Taking out takes out all that one course puts in."""
    if event.word != "strips_out":
        return event
    product = event.value.split()[0]
    return replace(event, value=f"{product} 2 by AB")


def test_what_was_given_unasked_is_part_of_the_year_from_then_on() -> None:
    first = season_begins("us_northeast")
    kept = replace(outfit(the_yard("us_northeast", PROGRAM)), since=first)
    before = [name for name, _ in courses(make_plan(kept, shipped(), first, YEAR))]
    assert "amitraz_strip" in before
    given = (line("06-05 strips_in amitraz_strip 2 lot K by AB"), line("07-31 strips_out amitraz_strip 2 by AB"))
    for as_of in ("08-02", "08-20"):
        now = make_plan(replace(kept, journal=given), shipped(), on(as_of), YEAR)
        ahead = [task for task in now.tasks if task.planned is not None and task.logs == "strips_in"]
        ahead = [task for task in ahead if task.method.startswith("amitraz")]
        assert not ahead, "a synthetic class is given once in a year"


def test_packing_may_not_put_two_courses_nearer_than_a_count_between_them() -> None:
    one = YearCourse("late_summer", "a", 70, 56, 84, 14, 14, supers_off=False)
    then = YearCourse("", "b", 119, 105, 133, 14, 14, supers_off=False)
    first, second = kept_apart_by([one, then], Apart(28, 21))
    assert (first, second) == (replace(one, last=74), replace(then, first=116)), "both give way"
    (first, second) = kept_apart_by([replace(one, last=76), replace(then, first=119)], Apart(28, 21))
    assert (first.last, second.first) == (76, 119), "as it is, where it is far enough"


@pytest.mark.parametrize(
    ("region", "washed", "spared"),
    [("scotland_north_england", "0/2400", True), ("scotland_north_england", "0/300", False),
     ("us_northeast", "0/300", False)],
)  # fmt: skip
def test_below_the_line_in_its_time_excuses_late_summers_course_where_the_year_holds_without_it(
    region: str, washed: str, spared: bool
) -> None:
    """No mite in one wash says little of a month later; none in eight hives' worth of bees, in a short season, does."""
    first = season_begins(region)
    kept = replace(outfit(the_yard(region, PROGRAM)), since=first)
    (name, day), *others = courses(make_plan(kept, shipped(), first, YEAR))
    counted = (replace(line(f"07-17 count {washed}"), day=day - 1),)
    now = courses(make_plan(replace(kept, journal=counted), shipped(), day, YEAR))
    assert (name not in dict(now)) is spared
    assert {other for other, _ in others} <= set(dict(now)), "and no other course"


@pytest.mark.parametrize("program", ["trap_combs", "few_drives", "full"])
def test_a_count_over_the_line_in_june_leaves_late_summer_and_winter_their_courses(program: str) -> None:
    """What the count asks for comes out again, so the year goes on behind it."""
    kept = replace(outfit(the_yard("us_northeast", program)), since=on("03-20"))
    counted = (line("06-02 count 12/300"),)
    now = courses(make_plan(replace(kept, journal=counted), shipped(), on("06-03"), YEAR))
    begun = [day for _, day in now]
    assert min(begun) < on("06-20"), "the count is answered"
    assert any(on("07-10") < day < on("09-10") for day in begun), "and so is late summer"
    assert any(day > on("10-15") for day in begun), "and winter"


def test_a_year_that_is_short_of_something_else_does_not_blame_the_hives_over_the_line() -> None:
    """In Spain, where the queen is caged, nothing begins by the day that advisers ask for; of ten hives none is over
    the line."""
    there = replace(the_yard("mediterranean_spain_italy", CAGING), weekdays=(1, 4), latitude=41.3, longitude=0.1)
    there = replace(there, elevation=210.0)
    hives = tuple(replace(one, comb_honey=True) for one in there.colonies)
    made = make_plan(outfit(replace(there, colonies=hives)), shipped(), season_begins(there.region), YEAR)
    check_plan(made, outfit(there), shipped())
    assert [words for one in made.choosing for words in one.left if words.startswith("not enough: nothing on its list")]
