"""Hopkins' law on frosts that thermometers saw: a day's low of 0 degrees or less, last in spring and first in autumn.

Years of 360 days and more. A frost is weather and no plant, but it moves with place as the law says of spring.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from statistics import fmean, stdev

import pytest

from ipmcal.place.hopkins import Rates, Site, reach, shift_days

Daily = dict[int, tuple[float, float]]
LAW = Rates(poleward=4.0, east=4.0 / 5, up=4.0 / 121.92)  # Hopkins 1918, Mon. Wea. Rev. Suppl. 9
CLEMSON = Site(34.68, -82.82, 251.0)
CHAMPION = Site(40.40, -101.73, 1072.0)
ATHENS_GEORGIA = Site(33.95, -83.33, 244.0)


def frosts(series: Daily) -> tuple[list[int], list[int]]:
    """Day of the year of the last frost before July and of the first from July on, year by year."""
    years: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for day, (_, low) in series.items():
        when = date.fromordinal(day)
        years[when.year].append((when.timetuple().tm_yday, low))
    cold = [[n for n, low in year if low <= 0.0] for year in years.values() if len(year) >= 360]
    return [max(n for n in year if n <= 181) for year in cold], [min(n for n in year if n > 181) for year in cold]


def day_of_year(month: int, day: int) -> int:
    return date(2027, month, day).timetuple().tm_yday


@pytest.mark.parametrize(
    ("series", "last", "last_sd", "first", "first_sd"),
    [
        ("clemson", (3, 30), 12.7, (11, 4), 11.2),
        ("champion", (5, 9), 12.5, (9, 27), 9.7),
        ("brussels", (4, 7), 17.7, (11, 15), 16.1),
        ("seattle", (3, 2), 16.0, (11, 16), 6.1),
    ],
    indirect=["series"],
)
def test_the_series_are_read_aright(
    series: Daily, last: tuple[int, int], last_sd: float, first: tuple[int, int], first_sd: float
) -> None:
    """The same four tables, reckoned before with other code (derived): to the day, and half a day of deviation."""
    spring, autumn = frosts(series)
    assert fmean(spring) == pytest.approx(day_of_year(*last), abs=1.0)
    assert stdev(spring) == pytest.approx(last_sd, abs=0.5)
    assert fmean(autumn) == pytest.approx(day_of_year(*first), abs=1.0)
    assert stdev(autumn) == pytest.approx(first_sd, abs=0.5)


def test_a_short_way_athens_to_clemson(clemson: Daily) -> None:
    """Athens, Georgia, 28 March and 8 November (median light freeze, a table after NCDC, second-hand), moved 0.7
    degrees north, meet Clemson's own 28 years. Their mean has a standard error of 2.4 days: within 5.
    """
    shift = shift_days(ATHENS_GEORGIA, CLEMSON, LAW, longitude_counts=True)
    spring, autumn = frosts(clemson)
    assert shift == pytest.approx(3.6, abs=0.2)
    assert fmean(spring) == pytest.approx(day_of_year(3, 28) + shift, abs=5.0)
    assert fmean(autumn) == pytest.approx(day_of_year(11, 8) - shift, abs=5.0)


def test_a_long_way_clemson_to_champion(clemson: Daily, champion: Daily) -> None:
    """5.7 degrees and 821 m: 34.7 days by the law; seen, 41 in spring and 37 in autumn.

    Two means of about 30 years differ by chance with a standard error of 3.2 days; over such a way we ask no better
    than one standard deviation between years, 12 days.
    """
    shift = shift_days(CLEMSON, CHAMPION, LAW, longitude_counts=True)
    (spring_a, autumn_a), (spring_b, autumn_b) = frosts(clemson), frosts(champion)
    assert reach(CLEMSON, CHAMPION).beyond(3.0, 450.0)
    assert shift == pytest.approx(34.7, abs=0.1)
    assert fmean(spring_b) - fmean(spring_a) == pytest.approx(shift, abs=12.0)
    assert fmean(autumn_a) - fmean(autumn_b) == pytest.approx(shift, abs=12.0)
