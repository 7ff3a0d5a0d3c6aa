"""The smooth year from monthly normals, the chance of a run of days, degree days. Real years: tests/open_data."""

from __future__ import annotations

import math
from datetime import date, timedelta
from statistics import NormalDist, fmean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.place.climate import Climate, chance_of_run, degree_days, first_reaching

FLAT = Climate((20.0,) * 12, (4.0,) * 12)
# NOAA 1991-2020 normals of the daily high, Seattle-Tacoma (decimals from memory); deviations invented, all different.
SEATTLE = Climate(
    (8.9, 10.2, 12.3, 15.2, 19.1, 21.7, 25.2, 25.3, 22.0, 15.8, 11.2, 8.3),
    (3.2, 3.3, 3.4, 3.7, 4.2, 4.3, 4.1, 3.6, 3.9, 3.3, 2.9, 3.1),
)
FIRST = date(2026, 7, 1).toordinal()
twelve = st.lists(st.floats(-20, 45), min_size=12, max_size=12).map(tuple)
spreads = st.lists(st.floats(1, 10), min_size=12, max_size=12).map(tuple)


def days_of(year: int) -> list[date]:
    first = date(year, 1, 1)
    return [first + timedelta(n) for n in range((date(year + 1, 1, 1) - first).days)]


# The smooth year ------------------------------------------------------------------------------------------------------


@given(twelve)
@settings(max_examples=40)
def test_the_days_of_a_month_average_to_its_normal(normals: tuple[float, ...]) -> None:
    """What makes the curve mean-preserving: Epstein 1991, J. Climate 4:365-368."""
    climate = Climate(normals, (1.0,) * 12)
    for month in range(1, 13):
        highs = [climate.mean(d.toordinal()) for d in days_of(2027) if d.month == month]
        assert fmean(highs) == pytest.approx(normals[month - 1], abs=1e-9)


@given(spreads)
@settings(max_examples=40)
def test_a_spread_is_above_0_and_averages_to_its_month(given_spreads: tuple[float, ...]) -> None:
    """In the logarithm: the geometric mean over a month is the month's deviation."""
    climate = Climate((10.0,) * 12, given_spreads)
    for month in range(1, 13):
        logs = [math.log(climate.spread(d.toordinal())) for d in days_of(2027) if d.month == month]
        assert math.exp(fmean(logs)) == pytest.approx(given_spreads[month - 1], rel=1e-9)


def test_the_curve_is_smooth_over_new_year_and_peaks_above_its_warmest_month() -> None:
    year = [SEATTLE.mean(d.toordinal()) for d in days_of(2026)]
    steps = [b - a for a, b in zip(year, [*year[1:], year[0]], strict=True)]
    assert max(map(abs, steps)) < 0.25
    assert abs(steps[-1]) < 0.1
    assert max(year) > max(SEATTLE.highs)


def test_29_february_lies_between_its_neighbours_and_moves_no_other_day() -> None:
    leap = [SEATTLE.mean(date(2028, 2, d).toordinal()) for d in (28, 29)] + [SEATTLE.mean(date(2028, 3, 1).toordinal())]
    assert leap[1] == pytest.approx((leap[0] + leap[2]) / 2)
    for month, day in ((1, 1), (2, 28), (3, 1), (12, 31)):
        in_leap, in_common = date(2028, month, day), date(2027, month, day)
        assert SEATTLE.mean(in_leap.toordinal()) == SEATTLE.mean(in_common.toordinal())
        assert SEATTLE.spread(in_leap.toordinal()) == SEATTLE.spread(in_common.toordinal())


@pytest.mark.parametrize(
    ("highs", "deviations", "words"),
    [
        ((1.0,) * 11, (1.0,) * 12, "highs must be twelve numbers"),
        ((1.0,) * 12, (math.inf,) * 12, "spreads must be twelve numbers"),
        ((1.0,) * 12, (0.0,) + (1.0,) * 11, "above 0, which 0.0 is not"),
    ],
)
def test_normals_that_are_none(highs: tuple[float, ...], deviations: tuple[float, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Climate(highs, deviations)


# Runs of days ---------------------------------------------------------------------------------------------------------


def test_one_day_is_the_gaussian_of_that_day() -> None:
    expected = NormalDist(SEATTLE.mean(FIRST), SEATTLE.spread(FIRST)).cdf(26.0)
    assert chance_of_run(SEATTLE, FIRST, 1, None, 26.0, 0.7) == pytest.approx(expected, abs=1e-8)


def test_days_without_correlation_multiply() -> None:
    one_by_one = math.prod(
        NormalDist(SEATTLE.mean(day), SEATTLE.spread(day)).cdf(29.0) for day in range(FIRST, FIRST + 10)
    )
    assert chance_of_run(SEATTLE, FIRST, 10, None, 29.0, 0.0) == pytest.approx(one_by_one, abs=1e-7)


@pytest.mark.parametrize("correlation", [0.0, 0.3, 0.67, 0.9, 0.95])
def test_two_and_three_days_above_the_mean(correlation: float) -> None:
    """Sheppard 1899, Phil. Trans. R. Soc. A 192:101-167: 1/4 + asin(r) / 2 pi; for three 1/8 + sum of asin / 4 pi."""
    two = 1 / 4 + math.asin(correlation) / math.tau
    three = 1 / 8 + (2 * math.asin(correlation) + math.asin(correlation**2)) / (2 * math.tau)
    assert chance_of_run(FLAT, FIRST, 2, 20.0, None, correlation) == pytest.approx(two, abs=1e-7)
    assert chance_of_run(FLAT, FIRST, 3, 20.0, None, correlation) == pytest.approx(three, abs=1e-7)


def test_limits_out_of_reach_and_no_limits() -> None:
    assert chance_of_run(FLAT, FIRST, 10, 60.0, None, 0.6) == 0.0
    assert chance_of_run(FLAT, FIRST, 30, None, None, 0.95) == pytest.approx(1.0, abs=1e-7)
    assert chance_of_run(FLAT, FIRST, 3, 20.0, 20.0, 0.6) == 0.0


@given(
    st.integers(0, 364), st.integers(1, 12), st.floats(5, 30), st.floats(1, 20), st.floats(0, 0.9), st.floats(0, 0.05)
)
@settings(max_examples=60, deadline=None)
def test_chances_run_the_right_way(
    start: int, days: int, low: float, width: float, correlation: float, more: float
) -> None:
    first = FIRST + start
    chance = chance_of_run(SEATTLE, first, days, low, low + width, correlation)
    assert 0.0 <= chance <= 1.0
    assert chance_of_run(SEATTLE, first, days + 1, low, low + width, correlation) <= chance + 1e-7
    assert chance_of_run(SEATTLE, first, days, low, low + width + 1.0, correlation) >= chance - 1e-7
    # Slepian 1962, Bell Syst. Tech. J. 41:463-501: with one limit, more correlation makes the run likelier.
    under = chance_of_run(SEATTLE, first, days, None, low, correlation)
    assert chance_of_run(SEATTLE, first, days, None, low, correlation + more) >= under - 1e-7


@pytest.mark.parametrize(
    ("days", "low", "high", "correlation", "words"),
    [
        (0, None, 20.0, 0.5, "at least one day, not 0"),
        (3, 21.0, 20.0, 0.5, "low 21.0 is above high 20.0"),
        (3, None, 20.0, 1.0, r"lies in 0\.\.0\.95, which 1\.0 does not"),
        (3, None, 20.0, -0.1, "does not"),
    ],
)
def test_runs_that_are_none(days: int, low: float | None, high: float | None, correlation: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        chance_of_run(FLAT, FIRST, days, low, high, correlation)


# Degree days ----------------------------------------------------------------------------------------------------------

temperatures = st.tuples(st.floats(-20, 120), st.floats(-20, 120)).map(lambda pair: (max(pair), min(pair)))


@given(temperatures)
def test_clipping_first_never_gives_less(day: tuple[float, float]) -> None:
    """McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291-300: without an upper limit method 1 gives the fewer."""
    high, low = day
    (plain,), (clipped,) = (degree_days([high], [low], 50.0, clip=clip) for clip in (False, True))
    assert 0.0 <= plain <= clipped + 1e-9


@given(st.floats(50, 86), st.floats(-20, 50))
def test_the_shortcut_of_the_field_is_the_clipped_form(high: float, low: float) -> None:
    """Ohio State University's field shortcut (high - 50) / 2 holds where the low is below 50 degrees F."""
    assert degree_days([high], [low], 50.0, 86.0, clip=True)[0] == pytest.approx((high - 50.0) / 2)


def test_the_upper_limit_holds_both_forms() -> None:
    assert degree_days([100.0], [80.0], 50.0, 86.0, clip=False) == (36.0,)
    assert degree_days([100.0], [80.0], 50.0, 86.0, clip=True) == (33.0,)
    with pytest.raises(ValueError, match=r"upper 40\.0 is below base 50\.0"):
        degree_days([], [], 50.0, 40.0, clip=True)
    with pytest.raises(ValueError, match="shorter"):
        degree_days([60.0, 61.0], [50.0], 50.0, clip=True)


def test_first_reaching() -> None:
    assert first_reaching([0.0, 2.0, 3.0, 4.0], 5.0) == 2
    assert first_reaching([0.0, 2.0], 5.0) is None
    assert first_reaching([1.0], 0.0) == 0
