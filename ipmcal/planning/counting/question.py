"""Question: what the choice of a hive's counts has to know, and what a day after another is worth to it.

In: what asks for counts, the counts that are made or planned anyway, the days that are free, what each costs. Out:
worths, compared from left to right. Pure.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Container, Mapping
from dataclasses import dataclass
from functools import cached_property

from ipmcal.planning.decide.rhythm import AskedCount, CountSetting, CountWindow, all_year, apart_on, grace

CountCost = tuple[int, int]
"""What a day costs: drives, and visits."""
CountsWorth = tuple[int, int, int, int, int, int, int]
"""Windows missed, days too far apart, without a day to spare, drives, visits, counts, unevenness: the less the better.
"""
NOTHING_COUNTED: CountsWorth = (0, 0, 0, 0, 0, 0, 0)


@dataclass(frozen=True)
class CountQuestion:
    """Counts of a hive, from ``since`` on. ``asked``: windows; ``stretches``: of the season of brood.

    ``had`` are the days of counts that were made, or are planned by what else asks, ``free`` those that may be chosen,
    each with what it ``costs``. ``soon``: what is overdue is counted within so many days.
    """

    setting: CountSetting
    asked: tuple[AskedCount, ...]
    stretches: tuple[CountWindow, ...]
    had: tuple[int, ...]
    free: tuple[int, ...]
    costs: Mapping[int, CountCost]
    since: int
    soon: int

    @cached_property
    def last(self) -> int:
        """The last day before which any of it was counted; the day before the season where none was."""
        return max((day for day in self.had if day < self.since), default=self.setting.season.first - 1)

    @cached_property
    def planned(self) -> tuple[int, ...]:
        """The days to come on which mites are counted anyway."""
        return tuple(sorted({day for day in self.had if day >= self.since}))

    @cached_property
    def windows(self) -> tuple[tuple[int, int, int], ...]:
        """Windows as first day, last day, and the last one that leaves another for rain."""
        return tuple((one.first, one.last, self._spared(one.first - 1, one.last)) for one in self.asked)

    def _spared(self, after: int, last: int) -> int:
        """The last free day but one that lies after a day, and up to a last one; the last day where there is one."""
        end = bisect_right(self.free, last)
        return self.free[end - 2] if end - bisect_right(self.free, after) > 1 else last

    @cached_property
    def _reaches(self) -> dict[int, tuple[tuple[int, int, int], ...]]:
        return {}

    def reaches(self, at: int) -> tuple[tuple[int, int, int], ...]:
        """After a count on a day: by when the next has to be made, in each stretch that goes on behind it; by when
        with a day to spare; and the last day of the stretch.
        """
        if at not in self._reaches:
            self._reaches[at] = tuple(self._reach(at, *one) for one in self._due(at))
        return self._reaches[at]

    def _due(self, at: int) -> list[tuple[int, int]]:
        found = []
        for first, last in self.stretches:
            due = first + grace(self.setting) if at < first else at + apart_on(self.setting, at)
            if due < last:
                found.append((due, last))
        whole = all_year(self.setting)
        if whole is not None and at + whole < self.setting.season.last:
            found.append((at + whole, self.setting.season.last))
        return found

    def _reach(self, at: int, due: int, last: int) -> tuple[int, int, int]:
        due = max(due, self.since + self.soon) if at < self.since else due
        return due, self._spared(max(at, self.since - 1), due), last


def step_worth(asked: CountQuestion, at: int, day: int, free: Container[int]) -> CountsWorth:
    """What it comes to where the count after one on a day is made on another."""
    chosen = day in free and day not in asked.planned
    missed = sum(first > at and last < day for first, last, _ in asked.windows)
    tight = sum(first > at and spare < day <= last for first, last, spare in asked.windows) if chosen else 0
    far = uneven = 0
    for due, spare, last in asked.reaches(at):
        far += max(0, min(day, last) - due)
        tight += chosen and spare < day <= due
        uneven = (min(day, last) - at) ** 2
    drives, visits = asked.costs[day] if chosen else (0, 0)
    return missed, far, tight, drives, visits, int(chosen), uneven


def sum_of(one: CountsWorth, other: CountsWorth) -> CountsWorth:
    a, b = one, other
    return a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4], a[5] + b[5], a[6] + b[6]
