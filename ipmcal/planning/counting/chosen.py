"""Chosen: on which of the keeper's days mites are counted in a hive: in time, then on as few drives as can be.

In: a ``CountQuestion``. Out: days. Pure and exact: the shortest way through the days, from one count to the next.

In this order: no window without a count, and no stretch of brood longer without one than the rhythm has it; each with a
day to spare for rain; the fewest drives, then visits, then counts; then evenly. Most hives are counted in time on
visits that are made anyway, of which there are few; else sets of days, as bits, tell on which days a best way can lie.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from ipmcal.planning.counting.question import NOTHING_COUNTED, CountQuestion, CountsWorth, step_worth, sum_of


def days_chosen(asked: CountQuestion) -> tuple[int, ...]:
    """The free days on which mites are counted, ascending."""
    days = sorted({*asked.free, *asked.planned})
    forced = set(asked.planned)
    worth, found = _shortest(asked, [day for day in days if day in forced or not any(asked.costs[day])])
    # what is in time without a visit more can't be bettered by one
    if any(worth[:3]):
        best = _InTime(asked, days).fewest_drives()
        worth, found = _shortest(asked, days, worth) if best is None else _shortest(asked, *best)
    return tuple([day for day in found if day >= asked.since and day not in forced])


def _shortest(
    asked: CountQuestion, days: Sequence[int], most: tuple[int, ...] | None = None
) -> tuple[CountsWorth, list[int]]:
    """The least worth of a way from the last count to the season's end over some days, and its days, ascending.

    ``most``: what is worth more, as far as that says, is left out. Of equal ways, the earlier one.
    """
    forced, free, end = set(asked.planned), set(asked.free), asked.setting.season.last + 1
    nodes = [asked.last, *days, end]
    ways: dict[int, tuple[CountsWorth, int]] = {asked.last: (NOTHING_COUNTED, end)}
    for i, at in enumerate(nodes[:-1], 1):
        if at not in ways:
            continue
        so_far = ways[at][0]
        for day in nodes[i:]:
            worth = sum_of(so_far, step_worth(asked, at, day, free))
            if most is not None and worth[:2] > most[:2]:
                break  # the longer without a count, the more is missed
            if (most is None or worth[: len(most)] <= most) and (day not in ways or worth < ways[day][0]):
                ways[day] = worth, at
            if day in forced:
                break
    found = [end]
    while found[-1] != asked.last:
        found.append(ways[found[-1]][1])
    return ways[end][0], found[-2:0:-1]


class _InTime:
    """The days of a question as bits, from the last count to the season's end: which may follow which in time.

    In time: no window is missed, no stretch is too long, and a count that is chosen leaves a day to spare for rain.
    """

    def __init__(self, asked: CountQuestion, days: Sequence[int]) -> None:
        self._asked = asked
        self._days = [asked.last, *days, asked.setting.season.last + 1]
        forced = set(asked.planned)
        self._chosen = 0
        self._by_drives: dict[int, int] = {0: 1 << len(days) + 1}
        for i, day in enumerate(days, 1):
            drives = 0 if day in forced else asked.costs[day][0]
            self._by_drives[drives] = self._by_drives.get(drives, 0) | 1 << i
            self._chosen |= (day not in forced) << i
        self._windows = sorted(asked.windows)
        self._firsts = [first for first, *_ in self._windows]
        self._ahead: dict[int, tuple[int, int]] = {}
        self._after: dict[int, int] = {}

    def fewest_drives(self) -> tuple[list[int], tuple[int, ...]] | None:
        """The days on the ways that are in time with the fewest drives, and what such a way is worth at most; None
        where none is in time.
        """
        levels, known, end = self._levels()
        if not known >> end & 1:
            return None
        on = 1 << end
        for drives in sorted(levels, reverse=True):
            left = levels[drives]
            best = sum([days & levels.get(drives + more, 0) for more, days in self._by_drives.items()])
            while left:
                i = left.bit_length() - 1
                left ^= 1 << i
                if i != end and self._after[i] & best & on:
                    on |= 1 << i
        inside = [self._days[i] for i in range(1, end) if on >> i & 1]
        return inside, (0, 0, 0, max(levels))

    def _levels(self) -> tuple[dict[int, int], int, int]:
        """The days that are reached in time, by the fewest drives to each, as far as the end's; all; and the end."""
        end, known = len(self._days) - 1, 0
        levels: dict[int, int] = {}
        waiting = {0: 1}
        while waiting and not known >> end & 1:
            drives = min(waiting)
            fresh, level = waiting.pop(drives) & ~known, 0
            while fresh:
                bit = fresh & -fresh
                level |= bit
                after = self._follow(bit.bit_length() - 1) & ~known
                for more, days in self._by_drives.items():
                    if more and after & days:
                        waiting[drives + more] = waiting.get(drives + more, 0) | after & days
                fresh = (fresh | after & self._by_drives[0]) & ~level
            levels[drives] = level
            known |= level
        return levels, known, end

    def _follow(self, i: int) -> int:
        """The days that may follow one in time."""
        if i not in self._after:
            at, asked = self._days[i], self._asked
            last, spared = self._window(bisect_right(self._firsts, at))
            forced = bisect_right(asked.planned, at)
            last = min(last, asked.planned[forced]) if forced < len(asked.planned) else last
            for due, spare, until in asked.reaches(at):
                # what is due behind the end of its stretch is never late
                last = min(last, due) if due < until else last
                spared |= self._between(spare, due) & self._chosen
            self._after[i] = self._between(at, last) & ~spared
        return self._after[i]

    def _window(self, n: int) -> tuple[int, int]:
        """The last day that misses no window from the n-th on, and the days that leave none to spare in one."""
        if n not in self._ahead:
            ahead = self._windows[n:]
            spared = 0
            for _, last, spare in ahead:
                spared |= self._between(spare, last) & self._chosen
            self._ahead[n] = min([last for _, last, _ in ahead], default=self._days[-1]), spared
        return self._ahead[n]

    def _between(self, after: int, last: int) -> int:
        """The days after one and up to a last one."""
        low, high = bisect_right(self._days, after), bisect_right(self._days, last)
        return (1 << high) - (1 << low) if low < high else 0


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


def _kept(asked: CountQuestion, day: int, near: tuple[int, int]) -> tuple[int, int]:
    before, after = near
    one, two = step_worth(asked, before, day, {day}), step_worth(asked, day, after, set())
    return one[0] + two[0], one[1] + two[1]
