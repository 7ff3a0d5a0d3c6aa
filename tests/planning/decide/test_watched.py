"""A count in the band to watch leads to another one soon. In: journals of a small yard under the coalition's lines.

Those lines are from memory (rules/thresholds/us_guide.yaml): from 1 in 100 to watch while colonies grow, above 2 to
treat; from 2 and above 3 at their peak and after.
"""

from __future__ import annotations

import pytest
from planning.yards import colony, lines, on, outfit, plan, shipped, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task

HIVE = colony("1", "2025-06-01")


def after(*told: str, as_of: str, hives: tuple[str, ...] = ("1",)) -> Plan:
    """The plan of a yard on the day after what was counted."""
    there = yard(*(colony(key, "2025-06-01") for key in hives), program="few_drives")
    journal = [event for text in told for event in lines(text.partition(":")[2], colony=text.partition(":")[0])]
    return plan(outfit(there, journal=journal), as_of, book=shipped())


def asked(made: Plan, colony_: str = "1") -> list[Task]:
    return [t for t in made.tasks if t.method == "count_asked" and t.colony == colony_ and t.planned is not None]


def counts(made: Plan, colony_: str = "1") -> list[int]:
    rules = shipped().events
    own = [t for t in made.tasks if t.colony == colony_ and t.planned is not None and rules[t.logs].value == "count"]
    return sorted(t.planned for t in own if t.planned is not None)


@pytest.mark.parametrize("day", ["05-01", "06-05", "07-03", "07-17", "07-31"])
def test_a_count_to_watch_ends_in_another_within_five_weeks(day: str) -> None:
    """Eight in 300 in July is below the line, and mites double in a month: 63 days later it is over (the issue's own
    case). Saturdays: two weeks from then on, another two to fit visits, and a week at most to the keeper's day."""
    many = 5 if day < "06-01" else 8
    made = after(f"1:{day} count {many}/300", as_of=f"{day[:3]}{int(day[3:]) + 1:02d}" if day != "07-31" else "08-01")
    assert counts(made)[0] - on(day) <= 35


@pytest.mark.parametrize(("day", "next_day"), [("07-17", "07-18"), ("07-31", "08-01")])
def test_between_midsummer_and_winter_bees_it_or_a_course_comes_within_two_weeks(day: str, next_day: str) -> None:
    made = after(f"1:{day} count 8/300", as_of=next_day)
    courses = [t.planned for t in made.tasks if t.product and t.planned is not None]
    assert 7 <= min(counts(made)[0], *courses) - on(day) <= 14


def test_there_the_choice_is_the_keepers() -> None:
    """Where the season's own count comes on that day anyway, it is the answer, and no second wash is asked for."""
    (one,) = asked(after("1:07-31 count 8/300", as_of="08-01"))
    assert any("treat, or count again now" in note for note in one.notes)


def test_before_midsummer_it_comes_in_two_to_four_weeks() -> None:
    made = after("1:05-15 count 5/300", as_of="05-16")
    found = asked(made)
    assert all(14 <= (t.planned or 0) - on("05-15") <= 35 for t in found)


def test_a_count_below_the_band_asks_for_nothing_more() -> None:
    assert asked(after("1:07-17 count 2/300", as_of="07-18")) == []


def test_where_the_yard_is_to_be_treated_watching_is_over() -> None:
    made = after("1:07-17 count 8/300", "2:07-17 count 20/300", as_of="07-18", hives=("1", "2"))
    assert not [t for t in asked(made) if any("to watch" in note for note in t.notes)]


def test_it_is_answered_by_the_next_count() -> None:
    made = after("1:07-17 count 8/300", "1:07-31 count 2/300", as_of="08-01")
    assert asked(made) == []


def test_a_second_count_in_the_band_gives_the_next_one_time() -> None:
    """Who counts until it fits learns nothing."""
    made = after("1:07-17 count 8/300", "1:07-31 count 8/300", as_of="08-01")
    assert 14 <= counts(made)[0] - on("07-31") <= 35
