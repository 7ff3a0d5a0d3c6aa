"""Degree days of real years, base 50 degrees F from 1 January, mean of high and low: the dates on which sums are met.

The dates were reckoned before with other code on the same data (derived).
"""

from __future__ import annotations

from datetime import date, timedelta
from statistics import fmean, stdev

import pytest

from ipmcal.place.climate import degree_days, first_reaching

Daily = dict[int, tuple[float, float]]
# 50, 238 and 502 are about the first dandelion, the first lilac and black locust (Ohio; Herms, from memory).
SUMS = (50, 238, 502)


def heat(series: Daily, year: int) -> tuple[float, ...]:
    """Degree days (F) of each day of a year, 1 January first; a day without readings gives none."""
    days = [day for day in range(date(year, 1, 1).toordinal(), date(year + 1, 1, 1).toordinal()) if day in series]
    fahrenheit = [(series[day][0] * 1.8 + 32, series[day][1] * 1.8 + 32) for day in days]
    return degree_days((high for high, _ in fahrenheit), (low for _, low in fahrenheit), 50.0, clip=False)


@pytest.mark.parametrize(
    ("year", "dates", "total"),
    [
        (2012, ("04-23", "05-31", "07-02"), 2040.1),
        (2013, ("04-04", "05-12", "06-10"), 2464.6),
        (2014, ("04-11", "05-17", "06-10"), 2682.4),
        (2015, ("03-13", "05-11", "06-05"), 2773.9),
    ],
)
def test_seattle(seattle: Daily, year: int, dates: tuple[str, ...], total: float) -> None:
    daily = heat(seattle, year)
    assert sum(daily) == pytest.approx(total, abs=0.1)
    for expected, day_sum in zip(dates, SUMS, strict=True):
        position = first_reaching(daily, day_sum)
        assert position is not None
        assert (date(year, 1, 1) + timedelta(position)).strftime("%m-%d") == expected


@pytest.mark.parametrize(
    ("series", "years", "means"),
    [
        ("champion", range(1982, 2019), {100: ("05-02", 11), 300: ("05-26", 8), 502: ("06-09", 7), 1117: ("07-08", 7)}),
        (
            "brussels",
            range(1976, 2006),
            {100: ("05-04", 11), 300: ("06-02", 10), 502: ("06-22", 10), 1117: ("08-05", 11)},
        ),
    ],
    indirect=["series"],
)
def test_thirty_years(series: Daily, years: range, means: dict[int, tuple[str, int]]) -> None:
    for day_sum, (mean, deviation) in means.items():
        positions = [first_reaching(heat(series, year), day_sum) for year in years]
        met = [position + 1 for position in positions if position is not None]
        assert fmean(met) == pytest.approx(date.fromisoformat(f"2027-{mean}").timetuple().tm_yday, abs=1.0)
        assert stdev(met) == pytest.approx(deviation, abs=1.0)
