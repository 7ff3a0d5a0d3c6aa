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


def re_anchored(before: MiteYear, after: MiteYear, day: str, found: str, *, far: str = "") -> None:
    """The picture after a count has its point; the days before it are as they were; from the day after it the band is
    narrower than it was, and no further from the point. ``far``: the point stands out of what was expected.
    """
    mites, bees = map(int, found.split("/"))
    (point,) = [one for one in after.counts if one not in before.counts]
    assert (point.day, point.load) == (on(day), 100 * mites / bees)
    assert len(after.counts) == len(before.counts) + 1
    at = on(day) - before.first
    assert after.days[:at] == before.days[:at], "what is past stays as it was drawn"
    was, now = before.days[at + 1], after.days[at + 1]
    assert (now.high + 0.01) / (now.low + 0.01) < (was.high + 0.01) / (was.low + 0.01), "a count tells"
    assert abs(now.median - point.load) <= abs(was.median - point.load), "and the picture follows it"
    assert point.far == far
    assert far or (point.low <= now.high and now.low <= point.high)


def test_below_in_july_and_over_in_september_is_counted_within_28_days_and_leads_on_to_a_course() -> None:
    """Nothing is given: below in July, below in August, over in September. Each count is the one that the plan asked
    for; each moves the picture; the third leads on to a course within a fortnight.
    """
    told: list[str] = []
    before = replayed(as_of="07-10", program="full")[1]
    for day, found, morning in (("07-10", "2/300", "07-11"), ("08-07", "1/300", "08-08"), ("09-04", "15/300", "09-05")):
        told.append(f"{day} count {found}")
        unmoved = replayed(*told[:-1], as_of=morning, program="full")[1]
        plan, after = replayed(*told, as_of=morning, program="full")
        re_anchored(before if len(told) == 1 else unmoved, after, day, found, far="fewer" if day == "08-07" else "")
        assert [call.call for call in plan.calls] == ["treat" if day == "09-04" else "below"]
        if day != "09-04":
            assert counts_ahead(plan)[0] <= on(day) + 28, "what is below now may be over in four weeks"
    answer = [day for day in courses_ahead(plan) if on("09-04") < day <= on("09-18")]
    assert answer, "over the line in September: a course within a fortnight"
    assert any(bar.planned and bar.first == answer[0] for bar in after.courses), "and it is drawn"
    assert any(day > answer[0] for day in counts_ahead(plan)), "and a count tells of it"


def test_below_in_july_is_counted_again_and_the_course_of_late_summer_stands() -> None:
    """One wash below the line in July says little of September: the course is given, and a count tells of it."""
    plan, before = replayed(as_of="07-10")
    again, after = replayed("07-10 count 2/300", as_of="07-11")
    assert median(after, "07-12") < median(before, "07-12"), "the picture falls with the count"
    re_anchored(before, after, "07-10", "2/300")
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
    re_anchored(before, after, "09-18", "15/300")
    assert any(call.call == "treat" for call in plan.calls)
    within = [day for day in courses_ahead(plan) if day <= on("10-02")]
    assert within or any("no course fits" in left for one in plan.choosing for left in one.left) or plan.conflicts


def test_treat_at_the_end_of_october_leads_to_winters_dose_and_no_strips_in_the_cold() -> None:
    """No contact product works in the cold; the dose at least brood stands, and nothing is begun over brood."""
    _, before = replayed(GIVEN, OUT, as_of="10-31")
    plan, after = replayed(GIVEN, OUT, "10-30 count 20/300", as_of="10-31")
    re_anchored(before, after, "10-30", "20/300")
    slow = [t for t in plan.tasks if t.logs == "strips_in" and t.planned is not None and t.season == YEAR]
    assert not slow
    assert any(day > on("10-31") for day in courses_ahead(plan)), "winter's dose"


def test_a_course_that_did_not_work_is_seen_in_the_picture_and_answered() -> None:
    """Counted before and after: as many mites as before."""
    told = ("07-10 count 9/300", GIVEN, OUT)
    _, hoped = replayed(*told, as_of="09-20")
    plan, found = replayed(*told, "09-19 count 18/300", as_of="09-20")
    assert median(found, "09-21") > 2 * median(hoped, "09-21")
    re_anchored(hoped, found, "09-19", "18/300")
    assert any(call.call == "treat" for call in plan.calls)


def test_a_count_to_watch_is_followed_by_another_within_four_weeks() -> None:
    """Four in 300 at midsummer: below the guide's line, in its band to watch."""
    _, before = replayed(as_of="07-04")
    plan, after = replayed("07-03 count 5/300", as_of="07-04")
    re_anchored(before, after, "07-03", "5/300")
    ahead = counts_ahead(plan)
    assert ahead
    assert ahead[0] <= on("07-03") + 28


def test_who_never_counts_has_every_course_and_no_point_in_the_picture() -> None:
    plan, picture = replayed(as_of="03-20")
    later, same = replayed("05-15 inspected no cells", as_of="07-01")
    assert picture.counts == () == same.counts
    until = min(courses_ahead(later)) - picture.first
    assert picture.days[:until] == same.days[:until], "and nothing moves the band"
    assert courses_ahead(later) == courses_ahead(plan), "silence excuses nothing, and adds nothing"


@pytest.mark.parametrize("program", ["few_drives", "full"])
def test_a_swarm_leaves_bees_without_brood_and_the_years_later_courses(program: str) -> None:
    plan, before = replayed(as_of="05-29", program=program)
    after_it, after = replayed("05-29 swarmed", as_of="05-30", program=program)
    assert after.counts == before.counts == (), "a swarm is no count"
    at = on("05-29") - before.first
    assert after.days[:at] == before.days[:at], "what is past stays as it was drawn"
    assert after.days[at + 21 :] != before.days[at + 21 :], "the picture knows of the break in the brood"
    assert any(day > on("07-10") for day in courses_ahead(after_it))
    assert any(day > on("07-10") for day in courses_ahead(plan))
