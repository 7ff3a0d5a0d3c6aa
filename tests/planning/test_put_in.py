"""The day on which bought bees come: they are put in on it, whatever its weekday. In: packages and nuclei to come."""

from __future__ import annotations

from datetime import date

import pytest
from planning.invariants import check_plan
from planning.yards import colony, days, lines, on, outfit, plan, season_begins, shipped, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.planning.plan import make_plan

WEDNESDAY, SATURDAY = "05-05", "05-08"
"""The day on which the bees come, and the next of a keeper who comes on Saturdays."""
SETTLED = 3
"""Days until bees that were put in hang between their combs: common practice."""


def bought(kind: str = "package", as_of: str = "04-10", *written: str) -> Plan:
    """The plan of a keeper of Saturdays whose bees come on a Wednesday."""
    one = colony("1", WEDNESDAY, kind, boxes=["deep"])
    there = outfit(yard(one, program="first_year"), journal=lines(*written) if written else None)
    return plan(there, as_of, book=shipped())


def put_in(made: Plan) -> Task:
    """The task of putting the bees in."""
    (task,) = (one for one in made.tasks if one.step == "hive")
    return task


@pytest.mark.parametrize("kind", ["package", "nucleus"])
def test_bees_are_put_in_on_their_day_whatever_its_weekday(kind: str) -> None:
    made = bought(kind)
    task = put_in(made)
    assert (task.planned, task.rain_date, task.value) == (on(WEDNESDAY), None, kind)
    visit = next(one for one in made.visits if one.day == on(WEDNESDAY))
    assert task.id in visit.must
    assert visit.rain_date is None


def test_an_overwintered_hive_and_a_caught_swarm_have_no_such_task() -> None:
    for one in (colony("1"), colony("1", WEDNESDAY, "swarm")):
        assert not [t for t in plan(yard(one, program="first_year"), "04-10", book=shipped()).tasks if t.step == "hive"]


def test_once_their_day_is_over_they_are_in_though_nobody_wrote_so() -> None:
    task = put_in(bought("package", SATURDAY))
    assert (task.status, task.done) == (Status.DONE, on(WEDNESDAY))
    assert days(bought("package", SATURDAY), "new_package")[0] == "05-15 queen_out/1"


def test_on_their_day_they_are_still_to_be_put_in() -> None:
    assert put_in(bought("package", WEDNESDAY)).status is Status.PLANNED


def test_bees_that_came_later_by_the_journal_move_what_counts_from_their_day() -> None:
    late = bought("package", "05-13", "05-12 began package")
    assert put_in(late).done == on("05-12")
    (look,) = (one for one in late.tasks if one.step == "queen_out")
    assert look.window.opens == on("05-16")


def test_bees_that_did_not_come_are_still_to_be_put_in() -> None:
    task = put_in(bought("package", "05-07", "05-05 skipped new_package/hive/1"))
    assert (task.status, task.planned) == (Status.PLANNED, on(SATURDAY))


def test_nothing_is_trickled_over_bees_that_are_not_settled() -> None:
    given = [t for t in bought().tasks if t.product and t.planned is not None]
    assert given
    assert min(t.planned for t in given if t.planned is not None) >= on(WEDNESDAY) + SETTLED


@pytest.mark.parametrize("region", ["au_nsw", "mediterranean_spain_italy", "us_texas_central", "nz_north_island"])
def test_where_spring_begins_in_midwinter_one_lift_tells_the_stores(region: str) -> None:
    """Held by the invariants of every plan: winter's lifts end where the looks of spring begin."""
    first = season_begins(region)
    kept = outfit(yard(colony("1", date.fromordinal(first - 400).isoformat()), region=region, program="few_drives"))
    made = make_plan(kept, shipped(), first)
    check_plan(made, kept, shipped())
    assert [t for t in made.tasks if t.logs == "stores_look" and t.planned is not None]


def test_a_long_winter_has_a_lift_each_month_to_its_end() -> None:
    """In Alberta, lifted on four Saturdays from mid November on, a hive that rears brood again is lifted in March: from
    February to the look of April it may starve."""
    lifts = [f"{day} hefted" for day in ("2027-11-13", "2027-12-11", "2028-01-08", "2028-02-05")]
    there = yard(colony("1", "2025-06-01"), region="canada_prairies_alberta", program="few_drives")
    made = make_plan(outfit(there, journal=lines(*lifts)), shipped(), on("2028-02-10"))
    looks = sorted(t.planned for t in made.tasks if t.logs in ("hefted", "stores_look") and t.planned is not None)
    assert looks[0] - on("2028-02-05") <= 35


def test_bees_that_come_while_their_keeper_is_away_are_told() -> None:
    there = yard(colony("1", "2027-08-23", "nucleus", strength=3.0), weekdays=None, away=[("08-11", "09-04")])
    found = make_plan(outfit(there), shipped(), on("02-11"), 2027)
    check_plan(found, outfit(there), shipped())
    assert [c.tasks for c in found.conflicts if "1/new_nucleus/2027/hive/1" in c.tasks]


def test_bees_that_came_on_a_season_s_first_day_came_in_it_alone() -> None:
    """In New South Wales a season begins on 1 July: what was put in that day was not put in the season before, too."""
    there = outfit(yard(colony("1", "2027-07-01", "package"), region="au_nsw", weekdays=None), journal=())
    found = make_plan(there, shipped(), on("07-02"))
    check_plan(found, there, shipped())
    assert [t.id for t in found.tasks if t.logs == "began"] == ["1/new_package/2027/hive/1"]
