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
        self._weights = [bundle.weight for bundle in weave.bundles]
        self._known: list[dict[int, int | None]] = [{} for _ in weave.bundles]
        self._here, self._total = -1, 0
        self._each: list[int] = []

    def of(self, visits: int) -> int | None:
        """The least deviation of all strands on these visits, in days; None where they don't carry them."""
        each: list[int] = []
        for number, days in enumerate(self._mine):
            found = self._least_on(number, visits & days)
            if found is None:
                return None
            each.append(self._weights[number] * found)
        self._here, self._each, self._total = visits, each, sum(each)
        return self._total

    def beside(self, visits: int, most: int) -> int | None:
        """The same of visits that differ little from the last for which ``of`` had an answer; None too above ``most``.

        Only who has work on the days that differ is asked: who was asked the same before goes first, and nobody is
        asked once it is too much.
        """
        differ = visits ^ self._here
        asked = [(number, visits & days) for number, days in enumerate(self._mine) if days & differ]
        total, fresh = self._total, []
        for number, mine in asked:
            total -= self._each[number]
            known = self._known[number]
            if mine not in known:
                fresh.append((number, mine))
            elif (found := known[mine]) is not None:
                total += self._weights[number] * found
            else:
                return None
        for number, mine in fresh:
            if total > most or (found := self._learn(number, mine)) is None:
                return None
            total += self._weights[number] * found
        return total if total <= most else None

    def _least_on(self, number: int, mine: int) -> int | None:
        """The least that a bundle deviates on visits to its days; None where they don't carry it."""
        known = self._known[number]
        return known[mine] if mine in known else self._learn(number, mine)

    def _learn(self, number: int, mine: int) -> int | None:
        """The least that a bundle deviates on visits to its days, from now on known."""
        weave, opened, knots = self._weave, self._open, self._knots[number]
        least, on, left, last = {END: 0}, self._end, mine, weave.length * weave.yards - 1
        while left:
            # the lowest bit is the last visit
            bit = left & -left
            left ^= bit
            day = (last - bit.bit_length() + 1) // weave.yards
            for knot in knots[day]:
                if hits := opened[knot] & on:
                    found = _least_of(hits, opened[knot], weave.then[knot], weave.costs[knot], least)
                    if found is not None:
                        least[knot] = found
            on |= 1 << day
        bundle, first = weave.bundles[number], self._first[number]
        known = self._known[number][mine] = _least_of(first & on, first, bundle.first, bundle.costs, least)
        return known


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
