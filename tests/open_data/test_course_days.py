"""A label's own days of warmth, by month: what the normals foresee beside what thirty years at Clemson showed.

The label: formic acid strips, highs of 50 to 85 °F on the day of application and the three after it; thymol gel, 15 to
40 °C while it is in, six weeks. A window belongs to the month in which it begins.
"""

from __future__ import annotations

from datetime import date
from statistics import fmean

import pytest
from open_data.test_runs import Daily, fitted, root_mean_square
from planning.yards import shipped

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.treatments import TemperatureLimit
from ipmcal.planning.labels.of_day import days_of
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.labels.weather import Weather, warmth


def limit(treatment: str, place: str) -> tuple[TemperatureLimit, list[int]]:
    """The label's first limit of warmth, and its days counted from the first application."""
    label = label_for(shipped().treatments[treatment], place, shipped())
    assert label is not None
    found = label.limits.temperature[0]
    return found, sorted(days_of(found.days, use_of(label, 1000, shipped())))


def by_begin(values: dict[int, float]) -> list[float]:
    return [fmean(v for day, v in values.items() if date.fromordinal(day).month == month) for month in range(1, 13)]


@pytest.mark.parametrize(
    ("treatment", "place", "length", "most"), [("formic_strips_pair", "us", 4, 0.12), ("thymol_gel", "uk", 43, 0.20)]
)
def test_a_course_at_clemson_by_month(clemson: Daily, treatment: str, place: str, length: int, most: float) -> None:
    """Foreseen and seen. Formic acid: April 0.76 and 0.84, July 0.01 and 0.01, September 0.30 and 0.34, October 0.81,
    0.91. Thymol: April 0.63 and 0.45, July 0.89 and 1.0, September 0.63 and 0.51.
    """
    rule, days = limit(treatment, place)
    assert rule.high is not None
    assert len(days) == length
    low, high = rule.high.value.low, rule.high.value.high
    climate, lag = fitted(clemson)
    normals = Weather({}, dict.fromkeys(("high", "low", "mean"), climate), lag, 0.0)
    read = Weather(clemson)
    seen: dict[int, float] = {}
    for begin in range(min(clemson), max(clemson) - length, 3):
        window = [begin + day - 1000 for day in days]
        if all(day in clemson for day in window):
            seen[begin] = float(not warmth(read, "high", low, high, window).out)
    year = range(date(2027, 1, 1).toordinal(), date(2028, 1, 1).toordinal(), 5)
    foreseen = {b: warmth(normals, "high", low, high, [b + d - 1000 for d in days]).chance or 0.0 for b in year}
    told, found = by_begin(foreseen), by_begin(seen)
    assert all(abs(a - b) < most for a, b in zip(told, found, strict=True)), (told, found)
    assert root_mean_square(told, found) < most / 2
