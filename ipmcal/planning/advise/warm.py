"""Warm: whether the usual warmth of a course's days lies inside what its label says, advice too.

In: a candidate, usual weather. Out: yes or no. Pure. The planner's own check asks for chances by normals; this one is
for what is only named beside a plan, and is never to be crossed out by the line of its label below.
"""

from __future__ import annotations

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.treatments import TemperatureLimit
from ipmcal.planning.labels.of_day import days_of
from ipmcal.planning.labels.weather import TEMPERATURES, Weather
from ipmcal.planning.mites.walls import Candidate, WallSetting

ROUNDING = 0.05
"""Degrees: normals are read to the tenth."""


def inside_warmth(setting: WallSetting, weather: Weather, one: Candidate) -> bool:
    """Whether usual highs, lows and means are inside each limit of the label on the limit's days.

    A lowest warmth on all days has the usual spread about the mean above it, but for what is only advice.
    """
    label = label_for(setting.book.treatments[one.answer.product], setting.jurisdiction, setting.book)
    assert label is not None  # a candidate has one
    return all(_holds(setting, weather, one, limit) for limit in label.limits.temperature)


def _holds(setting: WallSetting, weather: Weather, one: Candidate, limit: TemperatureLimit) -> bool:
    all_days = limit.days.value is None and not limit.advice
    spread = (setting.book.planning.year_plans.offered.spread.value.middle) if all_days else 0.0
    for kind in TEMPERATURES:
        value = getattr(limit, kind)
        if value is None:
            continue
        low, high = value.value.low, value.value.high
        for day in days_of(limit.days, one.answer.use):
            degrees = weather.on(day, kind)
            if degrees is None:
                continue
            if low is not None and degrees < low + spread - ROUNDING:
                return False
            if high is not None and degrees > high + ROUNDING:
                return False
    return True
