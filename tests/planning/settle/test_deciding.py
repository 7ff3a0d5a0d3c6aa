"""What the last count before a course decides, as it stands on the sheet.

Lines: the coalition guide's for the United States (``rules/thresholds/us_guide.yaml``), whose whole mites in a half-cup
of 300 bees are worked out here by hand: at the peak and while colonies shrink 2 in 100 are watched (6), over 3 in 100
treated (10).
"""

from __future__ import annotations

from dataclasses import replace

from planning.invariants import check_plan
from planning.yards import YEAR, colony, line, on, outfit, season_begins, shipped, told, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.values.words import short_day
from ipmcal.planning.plan import make_plan

REGION = "us_northeast"


def plan(*journal: str) -> Plan:
    """A yard of two hives and a keeper who comes on Saturdays, planned as its season begins or behind its journal."""
    hives = [colony(key, f"{YEAR - 2}-06-01", "overwintered") for key in ("1", "2")]
    law = shipped().regions[REGION].jurisdiction
    assert law is not None
    one = replace(yard(*hives, region=REGION, program="full", weekdays=(5,)), jurisdiction=law)
    mine = outfit(one)
    written = tuple(line(text, key) for key in ("1", "2") for text in journal)
    as_of = max((event.day for event in written), default=season_begins(REGION) - 1) + 1
    return make_plan(replace(mine, journal=written or None), shipped(), as_of, YEAR)


def washes(made: Plan) -> list[Task]:
    return [t for t in made.tasks if t.logs == "count" and t.colony == "1" and t.planned is not None]


def late_summer(made: Plan) -> Task:
    """The first course that is planned for the time before winter bees."""
    return next(t for t in made.tasks if t.product and t.colony == "1" and t.planned is not None)


def test_the_last_count_before_a_course_says_what_it_decides() -> None:
    made = plan()
    course = late_summer(made)
    assert course.planned is not None
    *_, last = [t for t in washes(made) if t.planned is not None and t.planned <= course.planned]
    (words,) = [note for note in last.notes if "300" in note]
    assert words.startswith("10 or more mites in 300 bees, in any hive: treat every hive. 6 to 9: ")
    day = short_day(course.planned)
    on_its_day = "today's treatment may wait; write it down and plan anew. NOT COUNTED: TREAT."
    before_it = f"a new plan may drop the treatment of {day}, till then it stands. NOT COUNTED by {day}: TREAT."
    assert (on_its_day if last.planned == course.planned else before_it) in words
    assert words in last.how, "said once, on the back"


def test_other_counts_say_their_line_alone() -> None:
    made = plan()
    others = [t for t in washes(made) if not any("NOT COUNTED" in note for note in t.notes)]
    assert len(others) >= 2
    for one in others:
        (words,) = [note for note in one.notes if "300" in note]
        assert words.startswith("Treat every hive at "), told(one.planned or 0)


def test_whether_to_count_again_hangs_on_the_days_that_are_left() -> None:
    """No second count is offered that would come behind the treatment."""
    made = plan()
    course = late_summer(made)
    for one in washes(made):
        for note in (note for note in one.notes if "NOT COUNTED" in note):
            assert one.planned is not None
            assert course.planned is not None
            assert ("count again by" in note) == (course.planned - one.planned > 7), note


def test_a_course_that_a_count_asked_for_waits_for_no_count() -> None:
    """Ten mites and more on 24 July: what is planned then is given whatever is counted next."""
    made = plan("07-24 count 15/300")
    course = late_summer(made)
    assert course.planned is not None
    before = [t for t in washes(made) if (t.planned or 0) <= course.planned]
    assert not any("NOT COUNTED" in note for t in before for note in t.notes)


def test_in_january_the_counts_of_the_season_to_come_name_its_own_lines() -> None:
    """The season that ends is planned beside it, and its line for winter, above 2 in 100 (7), is of no matter there."""
    one = replace(yard(colony(began=f"{YEAR - 2}-06-01"), region=REGION, program="full"), jurisdiction="us")
    made = make_plan(outfit(one), shipped(), on("01-10"))
    check_plan(made, outfit(one), shipped())
    assert [view.season for view in made.yards] == [YEAR - 1, YEAR]
    late = [t for t in washes(made) if on("07-15") < (t.planned or 0) < on("09-15")]
    assert late
    lines = [note for t in late for note in t.notes if " in 300" in note]
    assert len(lines) == len(late)
    assert all("10 or more mites in 300" in note for note in lines), lines
