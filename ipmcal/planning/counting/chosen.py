"""Chosen: on which of the keeper's days mites are counted in a hive: in time, then on as few drives as can be.

In: what asks for counts, the counts that are made or planned anyway, the days that are free, what each costs. Out:
days. Pure and exact: the shortest way through the days, from one count to the next.

In this order: no window without a count; none so soon after another that it tells nothing new; no stretch of brood
longer without one than the rhythm has it; each with a day to spare for rain; the fewest drives, then visits, then
counts; then evenly.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

from ipmcal.planning.decide.rhythm import (
    AskedCount,
    CountSetting,
    CountWindow,
    all_year,
    apart_on,
    grace,
    new_after,
)

CountCost = tuple[int, int]
"""What a day costs: drives, and visits."""
_Worth = tuple[int, int, int, int, int, int, int, int]
"""Windows missed, counts too soon, days too far apart, without a day to spare, drives, visits, counts, unevenness: the
less the better.
"""
_NOTHING: _Worth = (0, 0, 0, 0, 0, 0, 0, 0)


@dataclass(frozen=True)
class _InTime:
    """After a count on a day: up to which day the next leaves nothing missed, far or tight.

    ``chosen``: where it is chosen; ``planned``: where it is made anyway, or the season ends. ``holes``: days after one
    up to another on which it would be tight all the same. ``even``: up to which day what is uneven is measured.
    """

    chosen: float
    planned: float
    holes: tuple[tuple[int, int], ...]
    even: int | None


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

    def earliest(self, at: int) -> int:
        """After a count on a day: the first day on which another tells anything new."""
        return at + 1 if at == self.last and at not in self.had else at + new_after(self.setting)

    @cached_property
    def planned(self) -> tuple[int, ...]:
        """The days to come on which mites are counted anyway."""
        return tuple(sorted({day for day in self.had if day >= self.since}))

    @cached_property
    def windows(self) -> tuple[tuple[int, int, int], ...]:
        """Windows as first day, last day, and the last one that leaves another for rain.

        Where none of it was counted yet, one that opened before the season is open from its first day.
        """
        soonest = self.last + 1 if self.last < self.setting.season.first and self.last not in self.had else 0
        opened = ((max(one.first, soonest), one.last) for one in self.asked)
        return tuple((first, last, self._spared(first - 1, last)) for first, last in opened)

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

    @cached_property
    def _in_time(self) -> dict[int, _InTime]:
        return {}

    def in_time(self, at: int) -> _InTime:
        """After a count on a day: up to which day the next leaves nothing missed, far or tight."""
        if at not in self._in_time:
            self._in_time[at] = self._bounds(at)
        return self._in_time[at]

    def _bounds(self, at: int) -> _InTime:
        reaches = self.reaches(at)
        ends = [(spare, due) for due, spare, last in reaches if due < last]
        ends += [(spare, last) for first, last, spare in self.windows if first > at]
        return _InTime(
            min([spare for spare, _ in ends], default=inf),
            min([last for _, last in ends], default=inf),
            tuple((spare, due) for due, spare, last in reaches if due >= last),
            reaches[-1][2] if reaches else None,
        )

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


def days_chosen(asked: CountQuestion) -> tuple[int, ...]:
    """The free days on which mites are counted, ascending.

    From one count that is made anyway to the next, each stretch for itself: by visits that are made anyway, where they
    leave nothing missed, soon, far or tight; else by any free days, where these do; else as little as can be.
    """
    found: list[int] = []
    start = asked.last
    for stop in (*asked.planned, asked.setting.season.last + 1):
        nodes = asked.free[bisect_right(asked.free, start) : bisect_left(asked.free, stop)]
        anyway = [day for day in nodes if asked.costs[day] == (0, 0)]
        way = _way_in_time(asked, start, stop, anyway)
        way = _way_in_time(asked, start, stop, nodes) if way is None else way
        found += _way(asked, start, stop, nodes) if way is None else way
        start = stop
    return tuple(day for day in found if day >= asked.since)


def _way_in_time(asked: CountQuestion, start: int, stop: int, nodes: Sequence[int]) -> list[int] | None:
    """The best way from a count to another by some days that leaves nothing missed, soon, far or tight; None: there is
    none.

    What a way comes to is drives, visits, counts, and unevenness. Of equals the earlier day before leads.
    """
    ways: dict[int, tuple[tuple[int, int, int, int], int]] = {start: ((0, 0, 0, 0), start)}
    for index, at in enumerate((start, *nodes)):
        if at not in ways:
            continue
        (drives, visits, counts, uneven), _ = ways[at]
        bounds = asked.in_time(at)
        even = bounds.even
        first = max(index, bisect_left(nodes, asked.earliest(at)))
        holes = bounds.holes
        for day in nodes[first : bisect_right(nodes, bounds.chosen)]:
            if holes and any(spare < day <= due for spare, due in holes):
                continue
            cost, gap = asked.costs[day], 0 if even is None else (day if day < even else even) - at
            worth = (drives + cost[0], visits + cost[1], counts + 1, uneven + gap * gap)
            if day not in ways or worth < ways[day][0]:
                ways[day] = worth, at
        if stop <= bounds.planned and not (at != start and _soon(asked, at, stop)):
            gap = 0 if even is None else min(stop, even) - at
            worth = (drives, visits, counts, uneven + gap * gap)
            if stop not in ways or worth < ways[stop][0]:
                ways[stop] = worth, at
    return _back(ways, start, stop) if stop in ways else None


def _way(asked: CountQuestion, start: int, stop: int, nodes: Sequence[int]) -> list[int]:
    """The best way from a count to another by some days, where something is missed, soon, far or tight on every way."""
    free = set(nodes)
    ways: dict[int, tuple[_Worth, int]] = {start: (_NOTHING, start)}
    for day in (*nodes, stop):
        ways[day] = min((_sum(worth, _step(asked, at, day, free)), at) for at, (worth, _) in ways.items())
    return _back(ways, start, stop)


def _back(ways: Mapping[int, tuple[object, int]], start: int, stop: int) -> list[int]:
    """The days between a first and a last one, by which one comes before which."""
    found: list[int] = []
    at = ways[stop][1]
    while at != start:
        found.append(at)
        at = ways[at][1]
    return found[::-1]


def between(asked: CountQuestion, day: int, near: tuple[int, int]) -> tuple[int, int]:
    """The first and the last free day on which the count of a ``day`` is in time too, with those before and after."""
    least = _kept(asked, day, near)
    at = asked.free.index(day)
    first = last = at
    while first > 0 and asked.free[first - 1] > near[0] and _kept(asked, asked.free[first - 1], near) <= least:
        first -= 1
    while last + 1 < len(asked.free) and asked.free[last + 1] < near[1]:
        if _kept(asked, asked.free[last + 1], near) > least:
            break
        last += 1
    return asked.free[first], asked.free[last]


def _kept(asked: CountQuestion, day: int, near: tuple[int, int]) -> tuple[int, int, int]:
    before, after = near
    one, two = _step(asked, before, day, {day}), _step(asked, day, after, set())
    return one[0] + two[0], one[1] + two[1], one[2] + two[2]


def _soon(asked: CountQuestion, at: int, day: int) -> bool:
    """Whether a count on a day tells nothing new after one on another; the season's end is none."""
    return day < asked.earliest(at) and day <= asked.setting.season.last


def _step(asked: CountQuestion, at: int, day: int, free: set[int]) -> _Worth:
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
    return missed, int(_soon(asked, at, day)), far, tight, drives, visits, int(chosen), uneven


def _sum(one: _Worth, other: _Worth) -> _Worth:
    a, b = one, other
    first = a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]
    return *first, a[4] + b[4], a[5] + b[5], a[6] + b[6], a[7] + b[7]
