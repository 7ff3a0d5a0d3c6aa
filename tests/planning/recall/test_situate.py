"""The keeper's days: holidays are used only where something with a hard stop has no other day, and it is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from planning.yards import colony, line, on, outfit, own_task, plan, short, told, yard

from ipmcal.model.outfit.outfit import PublicDays
from ipmcal.model.plan.plan import Plan

NOTHING_ELSE = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def holidays(*days: str) -> PublicDays:
    chosen = frozenset(map(on, days))
    return PublicDays("here", lambda year: frozenset(d for d in chosen if date.fromordinal(d).year == year))


def trapping(*rest: str, weekdays: tuple[int, ...] = (5,)) -> Plan:
    """A trap cut on 1 May, to be cut from 18 to 25 May; and mowing, from 15 May to 5 June, which may be late."""
    hive = colony(traps=(short(),), history=[line("02-13 trap_hung T1 2"), line("05-01 trap_cut T1")])
    there = yard(hive, declined=NOTHING_ELSE, weekdays=weekdays, tasks=[own_task("mow", "05-15", "06-05")])
    return plan(outfit(replace(there, holidays=holidays(*rest)), journal=()), "05-02")


def on_days(made: Plan, step: str) -> list[str]:
    return [told(t.planned) for t in made.tasks if t.step == step and t.planned is not None]


def test_what_may_be_late_leaves_a_holiday_alone() -> None:
    made = trapping("05-15", "05-22", "05-29")
    assert on_days(made, "mow") == ["06-05"]


def test_a_hard_stop_without_another_day_takes_the_holiday_and_says_so() -> None:
    made = trapping("05-22")
    cut = next(t for t in made.tasks if t.step == "cut" and t.planned is not None)
    assert told(cut.planned or 0) == "05-22"
    assert cut.notes[0] == "A holiday: no other day of yours is in time for this."
    assert on_days(made, "mow") != ["05-22"]


def test_a_hard_stop_with_another_day_takes_that_and_no_rain_date_is_a_holiday() -> None:
    made = trapping("05-22", weekdays=(5, 6))
    assert on_days(made, "cut")[0] == "05-23"
    made = trapping("05-23", weekdays=(5, 6))
    first = next(v for v in made.visits if told(v.day) == "05-22")
    assert first.rain_date is None


@pytest.mark.parametrize("day", ["05-22", "12-25"])
def test_the_season_page_names_the_days(day: str) -> None:
    (view,) = trapping("05-22").yards
    assert any("Holidays are no visits" in note and f"{int(day[3:])} " in note for note in view.notes)
