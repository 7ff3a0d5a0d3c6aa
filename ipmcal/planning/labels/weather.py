"""Weather: whether the days of a course keep within a label's warmth, by thermometer and forecast, else by normals.

In: readings by day (°C, which may reach into the future: a forecast), monthly normals. Out: breaches, chances. Pure.
Normals plan the month; only a forecast releases the day.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.verdict import Limited
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.climate import Climate, chance_of_run

TEMPERATURES = ("high", "low", "mean")
NEAR = 4
"""Days about the hardest one that are tried before all of a long course: a matter of speed."""


@dataclass(frozen=True, slots=True)
class Weather:
    """What is known of the days: ``readings`` (high, low) °C by ordinal; normals of high, low and mean; or nothing.

    ``lag`` is the correlation from day to day, ``enough`` the chance from which normals plan a course; they
    plan it too where each of its days is usually within the limits, whatever the chance: the forecast decides.
    ``told`` keeps what was said of a limit on some days: every hive of a yard asks it.
    """

    readings: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    normals: Mapping[str, Climate] | None = None
    lag: float = 0.0
    enough: float = 1.0
    told: dict[tuple[object, ...], tuple[object, tuple[Limited, ...]]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def on(self, day: int, kind: str) -> float | None:
        """The ``high``, ``low`` or ``mean`` of a day, °C, where it was read or is forecast."""
        if day not in self.readings:
            return None
        high, low = self.readings[day]
        return {"high": high, "low": low, "mean": (high + low) / 2}[kind]


@dataclass(frozen=True, slots=True)
class WarmDays:
    """What the weather says of some days: those out of the limits (day, °C), how many are open, and their chance.

    ``chance`` is of all the days that nobody has read or forecast, from normals; 1.0 where there are none; None where
    there are no normals. ``at_most``: one day alone has no more than that, and the run was not worked out. ``days`` are
    the first and last day asked about. ``usual``: those that nobody has read are within the limits in a usual year.
    """

    out: tuple[tuple[int, float], ...]
    open_days: int
    chance: float | None
    at_most: bool
    days: tuple[int, int]
    usual: bool = False


def weather_of(yard: Yard, book: Rulebook) -> Weather:
    """The weather of a yard: its own readings and forecast, and the normals of its region's station, unmoved."""
    normals, figures = book.regions[yard.region].normals, book.planning
    climates = _climates(*(tuple([v.value for v in row]) for row in (normals.high, normals.low, normals.sd)))
    lag, enough = figures.lag_correlation.value.middle, figures.enough_chance.value.middle
    return Weather(yard.readings, climates, lag, enough)


@lru_cache(maxsize=64)
def _climates(high: tuple[float, ...], low: tuple[float, ...], sd: tuple[float, ...]) -> Mapping[str, Climate]:
    """The normals of a station by kind: the same objects each time, since chances are kept by them."""
    mean = tuple((a + b) / 2 for a, b in zip(high, low, strict=True))
    # The spread of the high stands in for that of the low and of the mean, which rule files don't hold.
    return MappingProxyType({"high": Climate(high, sd), "low": Climate(low, sd), "mean": Climate(mean, sd)})


def warm_days(weather: Weather, kind: str, low: float | None, high: float | None, days: Iterable[int]) -> WarmDays:
    """Whether the ``kind`` of temperature lies within ``[low, high]`` °C (None: open) on all of ``days`` (ordinals).

    Runs of days with others between them are taken as independent. Raises ValueError for no days.
    """
    wanted = sorted(set(days))
    if not wanted:
        raise ValueError("a limit of warmth is about one day at least")
    told = {day: value for day in wanted if (value := weather.on(day, kind)) is not None}
    out = tuple((day, value) for day, value in told.items() if not _within(value, low, high))
    unread = [day for day in wanted if day not in told]
    chance, at_most, usual = 1.0, False, True
    if unread and weather.normals is None:
        return WarmDays(out, len(unread), None, False, (wanted[0], wanted[-1]))
    if unread and weather.normals is not None:
        climate = weather.normals[kind]
        chance, at_most = _chance(weather, climate, unread, low, high)
        usual = all(_within(climate.mean(day), low, high) for day in unread)
    return WarmDays(out, len(unread), chance, at_most, (wanted[0], wanted[-1]), usual)


def _within(value: float, low: float | None, high: float | None) -> bool:
    """Readings in °F come as °C: a hundred-millionth of a degree is rounding, not weather."""
    return (low is None or value >= low - 1e-8) and (high is None or value <= high + 1e-8)


def _chance(
    weather: Weather, climate: Climate, days: list[int], low: float | None, high: float | None
) -> tuple[float, bool]:
    """The chance by normals; where a day, or the days about it, have less than is enough, theirs: all have no more."""
    chances = {day: _one_day(climate, day, low, high) for day in days}
    hardest = min(days, key=chances.__getitem__)
    if chances[hardest] < weather.enough:
        return chances[hardest], len(days) > 1
    near = [day for day in days if abs(day - hardest) <= NEAR]
    if len(near) < len(days):  # cheaper than the whole, and enough to refuse most
        least, _ = _chance(weather, climate, near, low, high)
        if least < weather.enough:
            return least, True
    runs = _runs(days)
    return math.prod(_run(climate, first, length, low, high, weather.lag) for first, length in runs), False


@lru_cache(maxsize=65536)
def _one_day(climate: Climate, day: int, low: float | None, high: float | None) -> float:
    mean, spread = climate.mean(day), climate.spread(day)
    below = 0.0 if low is None else _share((low - mean) / spread)
    return (1.0 if high is None else _share((high - mean) / spread)) - below


def _share(z: float) -> float:
    """The share of a Gaussian below ``z`` standard deviations."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _runs(days: list[int]) -> Iterator[tuple[int, int]]:
    """First day and length of each unbroken run."""
    first = before = days[0]
    for day in (*days[1:], None):
        if day != before + 1:
            yield first, before - first + 1
            first = day if day is not None else first
        before = day if day is not None else before


@lru_cache(maxsize=16384)
def _run(climate: Climate, first: int, length: int, low: float | None, high: float | None, lag: float) -> float:
    return chance_of_run(climate, first, length, low, high, lag)
