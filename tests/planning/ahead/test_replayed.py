"""Journals replayed: what a count or a finding changes in plan and picture. Invented yards; rules as shipped.

A yard of one hive in upstate New York, program ``few_drives``, Saturdays. Each case is planned on the morning before
something was written and on the morning after it.
"""

from __future__ import annotations

import pytest
from planning.ahead.mites_checks import check_mites
from planning.invariants import check_plan
from planning.yards import YEAR, colony, lines, on, outfit, shipped, yard

from ipmcal.model.plan.mites import MiteYear
from ipmcal.model.plan.plan import Plan
from ipmcal.planning.ahead.drawn import mite_years
from ipmcal.planning.plan import make_plan

GIVEN = "07-17 strips_in amitraz_strip 2 lot K by AB"
OUT = "09-04 strips_out amitraz_strip 2 by AB"


def replayed(*told: str, as_of: str, program: str = "few_drives") -> tuple[Plan, MiteYear]:
    """Plan and picture on a morning, by what the journal tells."""
    mine = outfit(yard(colony("1", "2025-06-01"), program=program), journal=lines(*told))
    made = make_plan(mine, shipped(), on(as_of), YEAR)
    check_plan(made, mine, shipped())
    pictures = mite_years(mine, shipped(), made)
    check_mites(made, pictures, shipped())
    return made, pictures[0]


def counts_ahead(plan: Plan) -> list[int]:
    return sorted(t.planned for t in plan.tasks if t.planned is not None and shipped().events[t.logs].value == "count")


def courses_ahead(plan: Plan) -> list[int]:
    return sorted(t.planned for t in plan.tasks if t.product and t.planned is not None and t.logs != "strips_out")


def median(picture: MiteYear, day: str) -> float:
    return picture.days[on(day) - picture.first].median


def test_below_in_july_is_counted_again_and_the_course_of_late_summer_stands() -> None:
    """One wash below the line in July says little of September: the course is given, and a count tells of it."""
    plan, before = replayed(as_of="07-10")
    again, after = replayed("07-10 count 2/300", as_of="07-11")
    assert median(after, "07-12") < median(before, "07-12"), "the picture falls with the count"
    assert [day for day in courses_ahead(again) if day < on("09-01")] == [
        day for day in courses_ahead(plan) if day < on("09-01")
    ], "and the course stands"
    assert any(day > max(d for d in courses_ahead(again) if d < on("09-01")) for day in counts_ahead(again))
    assert counts_ahead(again)[0] <= on("07-10") + 28, "what is below in July may be over in September"


def test_over_in_september_is_answered_within_a_fortnight_or_told() -> None:
    """After the strips: the class may not be given again, another product answers, or nothing, which is told."""
    _, before = replayed(GIVEN, OUT, as_of="09-19")
    plan, after = replayed(GIVEN, OUT, "09-18 count 15/300", as_of="09-19")
    assert median(after, "09-20") > median(before, "09-20")
    assert any(call.call == "treat" for call in plan.calls)
    within = [day for day in courses_ahead(plan) if day <= on("10-02")]
    assert within or any("no course fits" in left for one in plan.choosing for left in one.left) or plan.conflicts


def test_treat_at_the_end_of_october_leads_to_winters_dose_and_no_strips_in_the_cold() -> None:
    """No contact product works in the cold; the dose at least brood stands, and nothing is begun over brood."""
    plan, _ = replayed(GIVEN, OUT, "10-30 count 20/300", as_of="10-31")
    slow = [t for t in plan.tasks if t.logs == "strips_in" and t.planned is not None and t.season == YEAR]
    assert not slow
    assert any(day > on("10-31") for day in courses_ahead(plan)), "winter's dose"


def test_a_course_that_did_not_work_is_seen_in_the_picture_and_answered() -> None:
    """Counted before and after: as many mites as before."""
    told = ("07-10 count 9/300", GIVEN, OUT)
    _, hoped = replayed(*told, as_of="09-20")
    plan, found = replayed(*told, "09-19 count 18/300", as_of="09-20")
    assert median(found, "09-21") > 2 * median(hoped, "09-21")
    assert any(call.call == "treat" for call in plan.calls)


def test_a_count_to_watch_is_followed_by_another_within_four_weeks() -> None:
    """Four in 300 at midsummer: below the guide's line, in its band to watch."""
    plan, _ = replayed("07-03 count 5/300", as_of="07-04")
    ahead = counts_ahead(plan)
    assert ahead
    assert ahead[0] <= on("07-03") + 28


def test_who_never_counts_has_every_course_and_no_point_in_the_picture() -> None:
    plan, picture = replayed(as_of="03-20")
    later, _ = replayed("05-15 inspected no cells", as_of="07-01")
    assert picture.counts == ()
    assert courses_ahead(later) == courses_ahead(plan), "silence excuses nothing, and adds nothing"


@pytest.mark.parametrize("program", ["few_drives", "full"])
def test_a_swarm_leaves_bees_without_brood_and_the_years_later_courses(program: str) -> None:
    plan, before = replayed(as_of="05-29", program=program)
    after_it, after = replayed("05-29 swarmed", as_of="05-30", program=program)
    assert after.days != before.days, "the picture knows of the break in the brood"
    assert any(day > on("07-10") for day in courses_ahead(after_it))
    assert any(day > on("07-10") for day in courses_ahead(plan))
