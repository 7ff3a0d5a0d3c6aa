"""Days as integers: uncertain days (Span) and sets of the keeper's days (DaySet).

In: proleptic Gregorian ordinals (``date.toordinal``) or counts of days. Out: the same.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """An uncertain day, or an uncertain number of days: ``low <= usual <= high``, inclusive.

    Adding two spans adds them edge by edge, so that the result holds every day that may be meant:

    >>> Span(10, 12, 14) + Span(1, 3, 7)
    Span(low=11, usual=15, high=21)
    """

    low: int
    usual: int
    high: int

    def __post_init__(self) -> None:
        if not self.low <= self.usual <= self.high:
            raise ValueError(f"a span needs low <= usual <= high, not {self.low}, {self.usual}, {self.high}")

    @classmethod
    def exact(cls, day: int) -> Span:
        """A day that is known."""
        return _exact(day)

    def __add__(self, other: Span | int) -> Span:
        if isinstance(other, int):
            return Span(self.low + other, self.usual + other, self.high + other)
        return Span(self.low + other.low, self.usual + other.usual, self.high + other.high)

    def __sub__(self, days: int) -> Span:
        return self + -days

    def narrow(self, low: int | None = None, high: int | None = None) -> Span | None:
        """The days of this span in ``[low, high]``; None where there are none (a contradiction)."""
        lower = self.low if low is None else max(self.low, low)
        upper = self.high if high is None else min(self.high, high)
        if lower > upper:
            return None
        return Span(lower, min(max(self.usual, lower), upper), upper)

    @property
    def certain(self) -> bool:
        """True where there is one day only."""
        return self.low == self.high


@lru_cache(maxsize=8192, typed=True)
def _exact(day: int) -> Span:
    """A known day: most days of a plan are, and are asked for again and again."""
    return Span(day, day, day)


def latest(spans: Iterable[Span]) -> Span:
    """The latest of several uncertain days, edge by edge. Raises ValueError for none."""
    items = list(spans)
    return Span(max(s.low for s in items), max(s.usual for s in items), max(s.high for s in items))


def earliest(spans: Iterable[Span]) -> Span:
    """The earliest of several uncertain days, edge by edge. Raises ValueError for none."""
    items = list(spans)
    return Span(min(s.low for s in items), min(s.usual for s in items), min(s.high for s in items))


@dataclass(frozen=True, slots=True)
class KeeperDays:
    """The days on which the keeper can drive, ascending and each once. A DaySet is a mask over their positions.

    ``resting`` (a DaySet) are holidays among them: no visits, unless a hard stop has no other day.

    >>> days = KeeperDays((10, 17, 24))
    >>> bin(days.between(11, 24)), days.of(0b110)
    ('0b110', (17, 24))
    """

    ordinals: tuple[int, ...]
    resting: int = 0

    def __len__(self) -> int:
        return len(self.ordinals)

    def __iter__(self) -> Iterator[int]:
        return iter(self.ordinals)

    def between(self, first: int, last: int) -> int:
        """DaySet (bit i = day i) of the days in ``[first, last]`` that are no holidays; 0 where there are none."""
        return self.every(first, last) & ~self.resting

    def at_need(self, first: int, last: int) -> int:
        """DaySet of the days in ``[first, last]`` for what has a hard stop: holidays where there are no others."""
        return self.between(first, last) or self.every(first, last)

    def every(self, first: int, last: int) -> int:
        """DaySet of the days in ``[first, last]``, holidays too."""
        lower = bisect_left(self.ordinals, first)
        upper = bisect_right(self.ordinals, last)
        return ((1 << upper) - 1) & ~((1 << lower) - 1) if upper > lower else 0

    def of(self, mask: int) -> tuple[int, ...]:
        """The ordinals in a DaySet, ascending."""
        return tuple([self.ordinals[i] for i in positions(mask)])

    def position(self, day: int) -> int | None:
        """Where a day stands, or None where it is not one of the keeper's."""
        i = bisect_left(self.ordinals, day)
        return i if i < len(self.ordinals) and self.ordinals[i] == day else None

    def rests(self, day: int) -> bool:
        """True for a holiday among the days."""
        at = self.position(day)
        return at is not None and bool(self.resting >> at & 1)

    def next_after(self, day: int, last: int | None = None) -> int | None:
        """The first of the days after ``day`` and not after ``last`` that is no holiday; None where there is none."""
        i = bisect_right(self.ordinals, day)
        while self.resting >> i & 1:
            i += 1
        if i == len(self.ordinals) or (last is not None and self.ordinals[i] > last):
            return None
        return self.ordinals[i]


def positions(mask: int) -> Iterator[int]:
    """The positions of the bits set in a DaySet, ascending."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def day(ordinal: int) -> date:
    """The date of an ordinal."""
    return date.fromordinal(ordinal)
