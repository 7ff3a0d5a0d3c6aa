"""A sum of warmth foretold: a thermometer's days up to some date, continued with the region's normals.

Clemson, 1991-2020, whose region's normals are those of these years. The sum is Ohio's for black locust, 467 degree days
above 50 °F: here only as a sum of that size, since it is not said to hold in Carolina.
"""

from __future__ import annotations

import math
from datetime import date
from statistics import fmean, stdev

import pytest

from ipmcal.model.rules.files import DegreeDays, Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis
from ipmcal.place.warmth import reached

Daily = dict[int, tuple[float, float]]
WRITTEN = {"base": "50 °F @practice", "sums": {"flow_main": "467 °Fd @practice"}}


@pytest.fixture(scope="module")
def piedmont(book: Rulebook) -> Region:
    heat = DegreeDays.model_validate(WRITTEN, context={"sources": {"practice": Basis.PRACTICE}})
    return book.regions["us_southeast_piedmont"].model_copy(update={"degree_days": heat})


def days(region: Region, series: Daily, until: str) -> dict[int, int]:
    """The day of the year on which the sum is reached, by year, for a keeper who reads from 1 January ``until``."""
    found = {}
    for year in sorted({date.fromordinal(day).year for day in series}):
        first, last = date(year, 1, 1).toordinal(), date(year, 12, 31).toordinal()
        stop = date.fromisoformat(f"{year}-{until}").toordinal()
        known = {day: series[day] for day in range(first, stop + 1) if day in series}
        made = reached(region, "flow_main", first, last, known, 0.0)
        assert made is not None
        found[year] = made.day - first + 1
    return found


def test_the_normals_alone_meet_the_mean_of_the_years(piedmont: Region, clemson: Daily) -> None:
    """The mean day above the base would be 12 days late (3 May): days below the base don't make up for warm ones."""
    seen, foreseen = days(piedmont, clemson, "12-31"), days(piedmont, clemson, "01-01")
    assert stdev(seen.values()) == pytest.approx(8, abs=1.0)  # derived before, with other code: 8 for 502
    assert fmean(foreseen.values()) == pytest.approx(fmean(seen.values()), abs=4.0)


def test_the_longer_the_thermometer_was_read_the_nearer(piedmont: Region, clemson: Daily) -> None:
    """Root mean square of the miss falls month by month, to less than half of the calendar's own by 1 April."""
    seen = days(piedmont, clemson, "12-31")
    off = []
    for until in ("01-01", "03-01", "04-01", "04-15"):
        foreseen = days(piedmont, clemson, until)
        off.append(math.sqrt(fmean((foreseen[year] - day) ** 2 for year, day in seen.items())))
    assert off == sorted(off, reverse=True)
    assert off[2] < 0.5 * off[0]
