"""Deviation: how near to the best days strands come on visits that are given. In: a Weave, visits. Out: days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ipmcal.planning.pack.weave import END, Weave


def assign(weave: Weave, visits: int) -> list[tuple[int, tuple[int, ...]]]:
    """For each bundle the least deviation in days on these visits, and its days; of equals, the earliest."""
    return [found for yard in range(weave.yards) for found in _assign(weave, yard, set(weave.days(visits, yard)))]


def _assign(weave: Weave, yard: int, on: set[int]) -> list[tuple[int, tuple[int, ...]]]:
    ways: dict[int, tuple[int, tuple[int, ...]]] = {END: (0, ())}

    def way(knots: tuple[int, ...], costs: tuple[int, ...]) -> tuple[int, tuple[int, ...]] | None:
        found = [(cost + ways[knot][0], ways[knot][1]) for knot, cost in zip(knots, costs, strict=True) if knot in ways]
        return min(found, default=None)

    for knot, day in enumerate(weave.at):
        if day in on and (after := way(weave.then[knot], weave.costs[knot])):
            ways[knot] = after[0], (day, *after[1])
    placed = [way(bundle.first, bundle.costs) for bundle in weave.bundles if bundle.yard == yard]
    return [one for one in placed if one is not None]


class Deviation:
    """The least deviation that visits allow, asked of many visits that differ little.

    What a bundle's paths come to hangs on the visits among its own days alone, and is kept by those: a drive that moves
    in May asks nothing of work in November. What may follow each knot, and each bundle's first, is kept as days.
    """

    def __init__(self, weave: Weave) -> None:
        self._weave = weave
        self._end = 1 << weave.length
        self._open = [_days_of(weave, then) for then in weave.then]
        self._first = [_days_of(weave, bundle.first) for bundle in weave.bundles]
        self._knots: list[dict[int, list[int]]] = []
        self._mine: list[int] = []
        for bundle, reached in zip(weave.bundles, weave.reached, strict=True):
            by_day: dict[int, list[int]] = {}
            for knot in sorted(reached - {END}):
                by_day.setdefault(weave.at[knot], []).append(knot)
            self._knots.append(by_day)
            self._mine.append(sum([weave.bit(day, bundle.yard) for day in by_day]))
        self._known: list[dict[int, int | None]] = [{} for _ in weave.bundles]

    def of(self, visits: int) -> int | None:
        """The least deviation of all strands on these visits, in days; None where they don't carry them."""
        total = 0
        for number, (bundle, days, known) in enumerate(zip(self._weave.bundles, self._mine, self._known, strict=True)):
            mine = visits & days
            found = known[mine] if mine in known else self._learn(number, mine)
            if found is None:
                return None
            total += bundle.weight * found
        return total

    def _learn(self, number: int, mine: int) -> int | None:
        """The least that a bundle deviates on visits to its days, from now on known."""
        days = self._weave.days(mine, self._weave.bundles[number].yard)
        found = self._known[number][mine] = self._least(number, sum([1 << day for day in days]))
        return found

    def _least(self, number: int, visited: int) -> int | None:
        """The least that a bundle deviates on visits to its days (as bits)."""
        weave, opened, knots = self._weave, self._open, self._knots[number]
        least, on, left = {END: 0}, self._end, visited
        while left:
            day = left.bit_length() - 1
            for knot in knots[day]:
                if hits := opened[knot] & on:
                    found = _least_of(hits, opened[knot], weave.then[knot], weave.costs[knot], least)
                    if found is not None:
                        least[knot] = found
            on |= 1 << day
            left ^= 1 << day
        bundle, first = weave.bundles[number], self._first[number]
        return _least_of(first & on, first, bundle.first, bundle.costs, least)


def _days_of(weave: Weave, knots: Sequence[int]) -> int:
    """The days of knots, one a day, as bits; of ``END``, the day after the last."""
    if not knots:
        return 0
    first, last = weave.at[knots[0]], weave.at[knots[-1]]
    if last - first + 1 == len(knots):
        return (1 << len(knots)) - 1 << first
    return sum([1 << weave.at[knot] for knot in knots])


def _least_of(hits: int, days: int, knots: Sequence[int], costs: Sequence[int], least: Mapping[int, int]) -> int | None:
    """The least that one of these knots costs, with what follows, on days that are visited (``hits`` of ``days``)."""
    found: int | None = None
    while hits:
        bit = hits & -hits
        hits ^= bit
        i = (days & bit - 1).bit_count()
        if (after := least.get(knots[i])) is not None and (found is None or costs[i] + after < found):
            found = costs[i] + after
    return found
