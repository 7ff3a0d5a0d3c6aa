"""How warm the days are: highs on any day from monthly normals, runs of days within limits, degree days.

In: twelve monthly normals of the daily high with their standard deviations (degrees Celsius), days as ordinals.
Out: mean and spread of the high on a day, and the chance that a run of days keeps within limits; for daily highs and
lows in any one unit, their degree days.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import accumulate

MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
YEAR = sum(MONTH_LENGTHS)
FEBRUARY_29 = 59  # days of the year before it
TAIL = 6.5  # standard deviations: a Gaussian holds 8e-11 of its mass beyond
STEEPEST = 0.95  # lag correlation up to which the quadrature below was measured
NODES = 8  # nodes of the quadrature, and how many more for each innovation's width of the interval
NODES_PER_WIDTH = 1.5


@dataclass(frozen=True, slots=True)
class Climate:
    """Monthly normals of the daily high, January first: means and standard deviations in degrees Celsius.

    The deviations are those about the mean of the *day*. A deviation taken over a whole month also holds the season's
    own change and is a few percent too large in spring and autumn (James & Arguez 2015, "On the estimation of daily
    climatological temperature variance", J. Atmos. Oceanic Technol. 32:2297).

    Raises ValueError unless there are twelve finite numbers of each and every deviation is above 0.
    """

    highs: tuple[float, ...]
    spreads: tuple[float, ...]

    def __post_init__(self) -> None:
        for name, values in (("highs", self.highs), ("spreads", self.spreads)):
            if len(values) != len(MONTH_LENGTHS) or not all(map(math.isfinite, values)):
                raise ValueError(f"{name} must be twelve numbers, January first, not {values}")
        if min(self.spreads) <= 0:
            raise ValueError(f"a standard deviation is above 0, which {min(self.spreads)} is not")

    def mean(self, day: int) -> float:
        """The mean high on a day (ordinal), degrees Celsius."""
        return _on(_smooth(self.highs), day)

    def spread(self, day: int) -> float:
        """The standard deviation of the high on a day (ordinal), degrees Celsius. Its logarithm follows the curve."""
        return math.exp(_on(_smooth_logarithms(self.spreads), day))


def chance_of_run(
    climate: Climate,
    first_day: int,
    days: int,
    low: float | None,
    high: float | None,
    lag_correlation: float,
) -> float:
    """The chance that on each of ``days`` days from ``first_day`` (ordinal) the high is within ``[low, high]``.

    Limits in degrees Celsius; None is no limit. The highs are taken as Gaussian about the day's mean, each day's
    departure (in standard deviations) correlated with the day before by ``lag_correlation``, in [0, 0.95]: the
    first-order autoregression of Richardson 1981, "Stochastic simulation of daily precipitation, temperature, and
    solar radiation", Water Resour. Res. 17:182-190. The density of "within limits so far" is carried from day to day
    by Gauss-Legendre quadrature. The sum is deterministic and right to 1e-7 for runs of up to 60 days.

    Raises ValueError for fewer than one day, ``low`` above ``high``, or a correlation out of range.
    """
    if days < 1:
        raise ValueError(f"a run has at least one day, not {days}")
    if low is not None and high is not None and low > high:
        raise ValueError(f"low {low} is above high {high}")
    if not 0.0 <= lag_correlation <= STEEPEST:
        raise ValueError(f"a lag correlation lies in 0..{STEEPEST}, which {lag_correlation} does not")
    innovation = math.sqrt(1.0 - lag_correlation**2)
    nodes: list[tuple[float, float]] = []
    for day in range(first_day, first_day + days):
        floor, ceiling = _standard_limits(climate, day, low, high)
        if floor >= ceiling:
            return 0.0
        where, weights = _quadrature(floor, ceiling, innovation)
        density = [_carried(z, nodes, lag_correlation, innovation) for z in where] if nodes else map(_gaussian, where)
        nodes = [(z, f * w) for z, f, w in zip(where, density, weights, strict=True)]
    return min(1.0, math.fsum(mass for _, mass in nodes))


def degree_days(
    highs: Iterable[float],
    lows: Iterable[float],
    base: float,
    upper: float | None = None,
    *,
    clip: bool,
) -> tuple[float, ...]:
    """Degree days of each day, from its high and low, in the unit of all the arguments.

    ``clip=False``: the mean of high and low is held within ``[base, upper]``; ``clip=True``: high and low are, each,
    before the mean is taken. They differ where the low is below the base and the high is not: McMaster & Wilhelm 1997,
    "Growing degree-days: one equation, two interpretations", Agric. For. Meteorol. 87:291-300 (methods 1 and 2).

    >>> degree_days([70.0, 56.0], [54.0, 44.0], 50.0, 86.0, clip=True)
    (12.0, 3.0)

    Raises ValueError where there are more highs than lows or the reverse, or ``upper`` is below ``base``.
    """
    most = math.inf if upper is None else upper
    if most < base:
        raise ValueError(f"upper {upper} is below base {base}")

    def held(value: float) -> float:
        return min(max(value, base), most)

    pairs = zip(highs, lows, strict=True)
    if clip:
        return tuple((held(high) + held(low)) / 2 - base for high, low in pairs)
    return tuple(held((high + low) / 2) - base for high, low in pairs)


def first_reaching(daily: Iterable[float], total: float) -> int | None:
    """Position (from 0) of the first day on which the running sum is ``total`` or more; None where it never is."""
    return next((i for i, so_far in enumerate(accumulate(daily)) if so_far >= total), None)


def _on(year: Sequence[float], day: int) -> float:
    """A day's value in a year of 365; 29 February takes the mean of its neighbours."""
    place = _place(day)
    return (year[FEBRUARY_29 - 1] + year[FEBRUARY_29]) / 2 if place is None else year[place]


@lru_cache(maxsize=8192)
def _place(day: int) -> int | None:
    """Where a day (ordinal) stands in a year of 365; None for 29 February."""
    when = date.fromordinal(day)
    return None if (when.month, when.day) == (2, 29) else when.replace(year=1901).timetuple().tm_yday - 1


@lru_cache(maxsize=64)
def _smooth_logarithms(monthly: tuple[float, ...]) -> tuple[float, ...]:
    return _smooth(tuple(math.log(one) for one in monthly))


@lru_cache(maxsize=64)
def _smooth(monthly: tuple[float, ...]) -> tuple[float, ...]:
    """Daily values of a year of 365 days whose mean over each month is the month's normal.

    Harmonics of the year with as many terms as there are months, solved so that the mean over the days of a month,
    not the middle of it, meets the normal: Epstein 1991, "On obtaining daily climatological values from monthly
    means", J. Climate 4:365-368; constrained harmonics are what NOAA makes daily normals with (Arguez & Applequist
    2013, J. Atmos. Oceanic Technol. 30:1458).
    """
    terms = [_harmonics(day) for day in range(YEAR)]
    starts = [0, *accumulate(MONTH_LENGTHS)]
    rows = [
        [math.fsum(column) / length for column in zip(*terms[start : start + length], strict=True)]
        for start, length in zip(starts, MONTH_LENGTHS, strict=False)
    ]
    weights = _solved(rows, monthly)
    return tuple(math.fsum(w * term for w, term in zip(weights, day, strict=True)) for day in terms)


def _harmonics(day: int) -> list[float]:
    """The mean, five pairs of harmonics and one of the sixth (its crests in mid month) at the middle of a day."""
    angle = math.tau * (day + 0.5) / YEAR
    pairs = [wave(k * angle) for k in range(1, 6) for wave in (math.cos, math.sin)]
    return [1.0, *pairs, math.cos(6 * (angle - math.tau / 24))]


def _solved(rows: list[list[float]], right: Sequence[float]) -> list[float]:
    """The solution of a square linear system: Gauss with row pivots."""
    system = [[*row, value] for row, value in zip(rows, right, strict=True)]
    size = len(system)
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(system[r][i]))
        system[i], system[pivot] = system[pivot], system[i]
        for r in range(i + 1, size):
            factor = system[r][i] / system[i][i]
            system[r] = [below - factor * above for below, above in zip(system[r], system[i], strict=True)]
    solution = [0.0] * size
    for i in reversed(range(size)):
        known = math.fsum(system[i][k] * solution[k] for k in range(i + 1, size))
        solution[i] = (system[i][size] - known) / system[i][i]
    return solution


def _standard_limits(climate: Climate, day: int, low: float | None, high: float | None) -> tuple[float, float]:
    """The limits of a day in standard deviations from its mean, cut where a Gaussian has no mass left."""
    mean, spread = climate.mean(day), climate.spread(day)
    floor = -TAIL if low is None else (low - mean) / spread
    ceiling = TAIL if high is None else (high - mean) / spread
    return max(floor, -TAIL), min(ceiling, TAIL)


def _gaussian(z: float) -> float:
    """The standard Gaussian density."""
    return math.exp(-0.5 * z * z) / math.sqrt(math.tau)


def _carried(z: float, nodes: list[tuple[float, float]], correlation: float, innovation: float) -> float:
    """The density at ``z`` today, having been at yesterday's nodes with yesterday's masses."""
    steepness = -0.5 / innovation**2
    total = sum([mass * math.exp(steepness * (z - correlation * y) ** 2) for y, mass in nodes])
    return total / (innovation * math.sqrt(math.tau))


def _quadrature(floor: float, ceiling: float, innovation: float) -> tuple[list[float], list[float]]:
    """Gauss-Legendre nodes and weights on an interval, close enough for a Gaussian as narrow as the innovation."""
    points, weights = _legendre(NODES + math.ceil(NODES_PER_WIDTH * (ceiling - floor) / innovation))
    half, middle = (ceiling - floor) / 2, (ceiling + floor) / 2
    return [middle + half * x for x in points], [half * w for w in weights]


@lru_cache(maxsize=256)
def _legendre(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Nodes and weights of Gauss-Legendre quadrature on [-1, 1]: Newton's method on the Legendre polynomial."""
    points, weights = [], []
    for i in range(count):
        x = math.cos(math.pi * (i + 0.75) / (count + 0.5))
        slope = 1.0
        for _ in range(8):
            before, value = 1.0, x
            for k in range(2, count + 1):
                before, value = value, ((2 * k - 1) * x * value - (k - 1) * before) / k
            slope = count * (x * value - before) / (x * x - 1)
            x -= value / slope
        points.append(x)
        weights.append(2 / ((1 - x * x) * slope * slope))
    return tuple(points), tuple(weights)
