"""The smooth year against daily weather: monthly means of the high, and the curve against each day's own average."""

from __future__ import annotations

import math
from collections import defaultdict
from datetime import date
from statistics import fmean, stdev

import pytest

from ipmcal.place.climate import Climate

Daily = dict[int, tuple[float, float]]
STATIONS = ["seattle", "clemson", "champion", "brussels", "cordoba"]


def monthly(series: Daily) -> list[list[float]]:
    """The highs of the series by month, January first."""
    months: list[list[float]] = [[] for _ in range(12)]
    for day, (high, _) in series.items():
        months[date.fromordinal(day).month - 1].append(high)
    return months


@pytest.mark.parametrize(
    ("series", "normals", "within"),
    [
        # NOAA U.S. Climate Normals 1991-2020, Seattle-Tacoma (decimals from memory). Single months there differ from
        # year to year by up to 3 degrees (standard deviation, this series), so four years settle a mean to 1.5.
        ("seattle", (8.9, 10.2, 12.3, 15.2, 19.1, 21.7, 25.2, 25.3, 22.0, 15.8, 11.2, 8.3), 1.5),
        # Royal Meteorological Institute of Belgium, normals 1981-2010, Uccle (from memory). Thirty years each, but five
        # years apart in a warming city, and a tenth of a degree of rounding: 1 degree.
        ("brussels", (5.7, 6.6, 10.4, 14.2, 18.1, 20.6, 23.0, 22.6, 19.0, 14.7, 9.5, 6.1), 1.0),
    ],
    indirect=["series"],
)
def test_monthly_means_meet_the_published_normals(series: Daily, normals: tuple[float, ...], within: float) -> None:
    for observed, normal in zip(map(fmean, monthly(series)), normals, strict=True):
        assert observed == pytest.approx(normal, abs=within)


@pytest.mark.parametrize("series", STATIONS, indirect=True)
def test_the_curve_meets_each_day_as_well_as_the_years_allow(series: Daily) -> None:
    """Drawn from twelve numbers, it misses the average of a calendar day by no more than that average's own error.

    The error of an average over n years is its standard deviation / sqrt(n); 15 % are left for its own chance.
    """
    climate = Climate(tuple(map(fmean, monthly(series))), (1.0,) * 12)
    by_day: dict[tuple[int, int], list[float]] = defaultdict(list)
    for day, (high, _) in series.items():
        when = date.fromordinal(day)
        by_day[when.month, when.day].append(high)
    del by_day[2, 29]
    misses = [fmean(highs) - climate.mean(date(2027, *key).toordinal()) for key, highs in by_day.items()]
    errors = [stdev(highs) / math.sqrt(len(highs)) for highs in by_day.values()]
    assert math.sqrt(fmean(m * m for m in misses)) < 1.15 * math.sqrt(fmean(e * e for e in errors))


@pytest.mark.parametrize("series", ["clemson", "champion", "brussels", "cordoba"], indirect=True)
def test_the_curve_is_nearer_to_the_days_than_monthly_steps(series: Daily) -> None:
    climate = Climate(tuple(map(fmean, monthly(series))), (1.0,) * 12)
    curve, steps = [], []
    for day, (high, _) in series.items():
        curve.append((high - climate.mean(day)) ** 2)
        steps.append((high - climate.highs[date.fromordinal(day).month - 1]) ** 2)
    assert fmean(curve) < 0.99 * fmean(steps)


def test_the_southern_year_is_warm_at_new_year(cordoba: Daily) -> None:
    """Cordoba, Argentina: the curve's warmest days lie in December or January, its coldest in June or July."""
    climate = Climate(tuple(map(fmean, monthly(cordoba))), (1.0,) * 12)
    year = range(date(2027, 1, 1).toordinal(), date(2028, 1, 1).toordinal())
    assert date.fromordinal(max(year, key=climate.mean)).month in (12, 1)
    assert date.fromordinal(min(year, key=climate.mean)).month in (6, 7)
