"""`options`, the plan, the sheet, the season page and `why` say the same of the same day, on sixty days of a year."""

from __future__ import annotations

import pytest
from planning.voice.sixty_days import Day, days
from planning.voice.voice_checks import differences
from planning.yards import shipped
from sweeps import some

from ipmcal.planning.plan import Scope, make_plan


@pytest.mark.parametrize("day", some(days()), ids=lambda day: day.name)
def test_all_say_the_same_of_the_same_day(day: Day) -> None:
    made = make_plan(day.kept, shipped(), day.as_of, scope=Scope(explain=True))
    assert [f"{one.kind}: {one.words}" for one in differences(made, day.kept, shipped())] == []
