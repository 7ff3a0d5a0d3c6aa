"""`options`, the plan, the sheet, the season page and `why` say the same of the same day, on sixty days of a year."""

from __future__ import annotations

import pytest
from planning.mites.year_yards import the_yard
from planning.voice.sixty_days import Day, days
from planning.voice.voice_checks import differences
from planning.yards import on, outfit, shipped
from sweeps import some

from ipmcal.planning.plan import Scope, make_plan


@pytest.mark.parametrize("day", some(days()), ids=lambda day: day.name)
def test_all_say_the_same_of_the_same_day(day: Day) -> None:
    made = make_plan(day.kept, shipped(), day.as_of, scope=Scope(explain=True))
    assert [f"{one.kind}: {one.words}" for one in differences(made, day.kept, shipped())] == []


def test_supers_that_were_due_and_nobody_wrote_of_are_looked_for() -> None:
    """A keeper begins in April, after the time in which the region's supers go on: a label wants them off in May."""
    kept = outfit(the_yard("us_california_central_valley", "few_drives"))
    made = make_plan(kept, shipped(), on("04-21"), scope=Scope(explain=True))
    (first,) = [task for task in made.tasks if task.method == "thymol_gel" and task.step == "tray_1"]
    assert any("nobody wrote of any: look" in note for note in first.notes)
    assert list(differences(made, kept, shipped())) == []


def test_no_second_choice_is_of_a_day_that_is_over() -> None:
    (day,) = [one for one in days() if one.name == "quarry_end on 2027-11-28"]
    made = make_plan(day.kept, shipped(), day.as_of, scope=Scope(explain=True))
    assert any("or instead" in words for one in made.choosing for words in one.second)
    assert list(differences(made, day.kept, shipped())) == []
