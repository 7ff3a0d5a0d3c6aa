"""Degree days to date: the day on which a mark's sum of warmth is reached, from the keeper's thermometer and normals.

In: a region's sums and monthly normals, the keeper's highs and lows (degrees Celsius) by day (ordinal). Out: that day,
and how much of it was measured. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ipmcal.model.rules.files import Region
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.place.climate import Climate, degree_days

Readings = Mapping[int, tuple[float, float]]
"""High and low by day (ordinal), degrees Celsius."""


@dataclass(frozen=True, slots=True)
class Reached:
    """The day (ordinal) on which a sum is reached; ``measured`` of the days up to it were read, ``usual`` were not."""

    day: int
    measured: int
    usual: int


def reached(region: Region, mark: str, first: int, last: int, readings: Readings, later: float) -> Reached | None:
    """When the sum of a mark is reached, counted from ``first`` to ``last``; None where it is not, or has no sum.

    A day that was read gives the mean of its high and low above the base, if any (simple average). Any other gives what
    its normals let expect, ``later`` days behind the reference, as spring is there. Where nothing was read before that
    day, the region's own day is as good: None.
    """
    if region.degree_days is None or mark not in region.degree_days.sums or not readings:
        return None
    base = _celsius(region.degree_days.base)
    wanted = _celsius_days(region.degree_days.sums[mark])
    usual = _Normals.of(region, base, later)
    total, measured = 0.0, 0
    for day in range(first, last + 1):
        if day in readings:
            high, low = readings[day]
            total += degree_days([high], [low], base, clip=False)[0]
            measured += 1
        else:
            total += usual.expected(day)
        if total >= wanted:
            return Reached(day, measured, day - first + 1 - measured) if measured else None
    return None


@dataclass(frozen=True, slots=True)
class _Normals:
    """What the normals let expect of a day."""

    highs: Climate
    lows: Climate
    base: float
    shift: int

    @classmethod
    def of(cls, region: Region, base: float, later: float) -> _Normals:
        highs, lows, spreads = (tuple(v.value for v in row) for row in _rows(region))
        return cls(Climate(highs, spreads), Climate(lows, spreads), base, math.floor(later + 0.5))

    def expected(self, day: int) -> float:
        """The mean of the degree days of a day that varies from year to year, degrees Celsius.

        Days below the base do not make up for those above it, so this is more than the mean day above the base: for a
        Gaussian daily mean, the truncated mean of Thom 1954, "The rational relationship between heating degree days and
        temperature", Mon. Weather Rev. 82:1-6 (from memory). The spread of the high stands in for that of the mean.
        """
        there = day - self.shift
        spread = self.highs.spread(there)
        above = (self.highs.mean(there) + self.lows.mean(there)) / 2 - self.base
        z = above / spread
        share = 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
        return above * share + spread * math.exp(-0.5 * z * z) / math.sqrt(math.tau)


def _rows(region: Region) -> tuple[tuple[Cited[float], ...], ...]:
    return region.normals.high, region.normals.low, region.normals.sd


def _celsius(base: Cited[Amount]) -> float:
    value = base.value.middle
    return (value - 32.0) / 1.8 if base.value.unit == "°F" else value


def _celsius_days(wanted: Cited[Amount]) -> float:
    value = wanted.value.middle
    return value / 1.8 if wanted.value.unit == "°Fd" else value
