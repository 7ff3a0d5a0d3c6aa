"""What a count over the line asks for stands from day to day, and with it what the rest of the year comes to.

A yard in Lower Franconia whose supers went on in early April and that was counted over the line a week later: the label
of the strips wants supers off (Germany, medicines authority: formic acid 68.2 g strips), so that they come off twice,
and go back on between. The findings are invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.invariants import check_plan
from planning.yards import colony, kept_as_planned, lines, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.planning.plan import make_plan

OVER = lines("04-10 supers_on 1", "04-10 count 30/300")


def there(weekdays: tuple[int, ...] | None = (5,)) -> Yard:
    made = yard(colony(), region="germany_central_europe", program="acids_and_handwork", weekdays=weekdays)
    return replace(made, jurisdiction="de")


def courses(kept: Outfit, as_of: str) -> list[tuple[str, int]]:
    """What is given on which day, from April on."""
    made = make_plan(kept, shipped(), on(as_of), 2027)
    given = [t for t in made.tasks if t.logs in ("strips_in", "treated")]
    days = ((t.method, t.planned if t.planned is not None else t.done) for t in given)
    return sorted((name, day) for name, day in days if day is not None)


@pytest.mark.parametrize("weekdays", [(5,), None])
def test_its_day_is_no_later_for_a_plan_that_is_made_later(weekdays: tuple[int, ...] | None) -> None:
    """No day of the week is better because it is still seven days off: who plans daily treats all the same."""
    kept = outfit(there(weekdays), journal=OVER)
    first = courses(kept, "04-11")
    begun = min(day for name, day in first if name.startswith("formic"))
    assert begun <= on("04-17")
    assert [courses(kept, f"04-{day}") for day in range(12, 18) if on(f"04-{day}") <= begun] == [first] * (
        begun - on("04-11")
    )


def test_given_as_planned_it_changes_nothing_of_the_year_behind_it() -> None:
    """Supers that are back on come off for the next course too: nothing is chosen otherwise for want of that."""
    kept = outfit(there(), journal=OVER)
    first = courses(kept, "04-11")
    made = make_plan(kept, shipped(), on("04-11"), 2027)
    done = replace(kept, journal=(*OVER, *(e for e in kept_as_planned(made, on("04-18")) if e.day > on("04-10"))))
    assert courses(done, "04-18") == first
    assert any(task.logs == "supers_on" and (task.planned or 0) > on("04-24") for task in made.tasks)


@pytest.mark.parametrize("program", ["acids_and_handwork", "trap_combs"])
def test_on_the_morning_after_a_missed_day_the_next_one_is_planned(program: str) -> None:
    """Who comes on Saturdays and did not on the day of a caging or a course waits for no end of its week."""
    kept = outfit(replace(there(), program=program), journal=lines("05-08 supers_on 1", "06-12 inspected no cells"))
    for text in ("06-20", "06-22", "07-11", "07-18", "07-21", "07-25", "08-01"):
        made = make_plan(kept, shipped(), on(text), 2027)
        check_plan(made, kept, shipped())
        late_summer = [day for name, day in courses(kept, text) if day < on("10-01")]
        assert late_summer, f"{text}: nothing is left of late summer: {[c.left for c in made.choosing]}"
        assert min(late_summer) <= on("08-14")


def test_a_count_over_the_line_does_not_lapse_because_nobody_came() -> None:
    """Three weeks on, nothing was given: the course is still planned, on the next of the keeper's days."""
    kept = outfit(there(), journal=lines("04-10 count 30/300"))
    for text in ("04-12", "04-26", "05-03"):
        made = make_plan(kept, shipped(), on(text), 2027)
        check_plan(made, kept, shipped())
        assert min(day for _, day in courses(kept, text)) <= on(text) + 7
