"""Packing: the fewest visits that do every step in its window. In: strands and the keeper's days. Out: a Placing.

What counts, in this order: the number of visits, the days between steps and their best days, early visits. Equal
strands and equal nodes are joined first (``weave``), so that forty colonies in step cost like one; then one sweep finds
how few visits will do (``sweep.Fewest``), and another the best days for so many (``_Nearest``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isqrt

from ipmcal.model.days import KeeperDays
from ipmcal.model.strand import Stop, Strand
from ipmcal.planning.sweep import END, Bundle, Fewest, Weave

EFFORT = 15000
"""How much a sweep may handle for each unit of width: states, times days, times bundles. It bounds the time."""

PARTS = 6
"""Parts of the season at whose beginnings the bound on the rest is tightened: more prove more, but take longer."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the steps fall. Only days that some path uses are visits.

    ``visits`` are positions of the keeper's days, ascending; ``paths`` has each strand's nodes from first to last;
    ``lower_bound`` is a proven least number of visits: where it equals their number, no fewer are possible.
    """

    visits: tuple[int, ...]
    paths: Mapping[str, tuple[int, ...]]
    lower_bound: int


def pack(strands: Sequence[Strand], days: KeeperDays, *, width: int = 4) -> Placing:
    """The fewest visits that carry all strands, then the least deviation from the best days, then the earliest visits.

    Exact where the states fit (small yards always do), close to it elsewhere: each sweep is repeated with more states
    kept, from ``width`` (at least 1) to what ``EFFORT`` allows, until its result is proved. Of two sets of as many
    visits, the earlier is the one with the earlier day where they first differ. The order of the strands and their keys
    don't matter. Raises ValueError with the strand's key where a key comes twice or a strand can't be done by itself.
    """
    if width < 1:
        raise ValueError(f"width must be at least 1, not {width}")
    keys = [strand.key for strand in strands]
    if twice := [key for key, count in Counter(keys).items() if count > 1]:
        raise ValueError(f"strand {twice[0]!r} is given twice")
    woven, members = weave(strands, days)
    fewest = Fewest(woven)
    visits, bound = _fewest(fewest, width)
    visits = _nearest(woven, fewest.rest, visits, width)
    paths: dict[str, tuple[int, ...]] = {}
    used: set[int] = set()
    for (_, on), equal in zip(_assign(woven, visits), members, strict=True):
        used.update(on)
        paths.update({strands[s].key: _nodes(strands[s], on) for s in equal})
    return Placing(tuple(sorted(used)), {key: paths[key] for key in keys}, min(bound, len(used)))


_Future = tuple[int, tuple[int, ...]]
"""What is owed next: the best day and the knots, ascending by day. Nodes of one day with equal futures are one knot."""

_OVER: _Future = (0, (END,))


def weave(strands: Sequence[Strand], days: KeeperDays) -> tuple[Weave, list[list[int]]]:
    """The distinct strands, and for each the positions of the strands equal to it. Raises ValueError as ``pack``."""
    knots, at, futures = _tie(strands, len(days))
    equal: dict[_Future, list[int]] = {}
    for s, strand in enumerate(strands):
        equal.setdefault(_future(strand, strand.first, knots[s]), []).append(s)
    costs = [_costs(future, at, days) for future in futures]
    bundles = [Bundle(root[1], _costs(root, at, days), len(equal[root])) for root in sorted(equal)]
    woven = Weave(len(days), tuple(at), tuple([then for _, then in futures]), tuple(costs), tuple(bundles))
    members = [equal[root] for root in sorted(equal)]
    for bundle, same in zip(bundles, members, strict=True):
        if not bundle.first or not all(woven.then[knot] for knot in woven.reached(bundle)):
            raise ValueError(f"strand {strands[same[0]].key!r} can't be done: a step is owed that no day is left for")
    return woven, members


def _tie(strands: Sequence[Strand], length: int) -> tuple[list[dict[int, int]], list[int], list[_Future]]:
    """For each strand the knots of its nodes, and for each knot its day and future.

    Knots get their numbers from the last day back, on each day in order of their futures: no order of strands or nodes
    and no name has a part in it.
    """
    today: list[list[tuple[int, int]]] = [[] for _ in range(length)]
    for s, strand in enumerate(strands):
        for n, node in enumerate(strand.nodes):
            today[node.at].append((s, n))
    knots: list[dict[int, int]] = [{} for _ in strands]
    at, futures = [length], [_OVER]
    for day in reversed(range(length)):
        found: dict[_Future, list[tuple[int, int]]] = {}
        for s, n in today[day]:
            found.setdefault(_future(strands[s], strands[s].nodes[n].then, knots[s]), []).append((s, n))
        for future in sorted(found):
            for s, n in found[future]:
                knots[s][n] = len(at)
            at.append(day)
            futures.append(future)
    return knots, at, futures


def _future(strand: Strand, stop: Stop | None, knots: Mapping[int, int]) -> _Future:
    """A stop in terms of knots. Raises ValueError where it leads to a node that has no knot yet."""
    if stop is None:
        return _OVER
    try:
        return stop.best_day, tuple([knots[n] for n in stop.nodes])
    except KeyError:
        raise ValueError(f"strand {strand.key!r} leads back: a step must be owed on a later day") from None


def _costs(future: _Future, at: Sequence[int], days: KeeperDays) -> tuple[int, ...]:
    """The days between the best day and each knot's."""
    best, knots = future
    return (0,) if knots == (END,) else tuple([abs(days.ordinals[at[knot]] - best) for knot in knots])


def _widths(width: int, woven: Weave) -> list[int]:
    """How many states the sweeps keep, one after the other: the width asked for, the most, and one between them."""
    most = max(width, width * EFFORT // max(1, woven.length * len(woven.bundles)))
    return sorted({width, isqrt(width * most), most})


def _fewest(fewest: Fewest, width: int) -> tuple[int, int]:
    """The fewest visits found, and a proven bound."""
    fewest.tighten(PARTS, 2 * width)
    visits, below, bound = 0, fewest.weave.length + 1, fewest.rest[0]
    for kept in _widths(width, fewest.weave):
        found, proved = fewest.run(kept, below)
        if found is not None:
            visits, below = found, found.bit_count()
        bound = max(bound, proved)
        if bound == below:
            return visits, bound
    return fewest.thinned(visits), bound


def _nearest(woven: Weave, rest: list[int], visits: int, width: int) -> int:
    """Visits, no more than those given, with the least deviation found."""
    nearest = _Nearest(woven, rest)
    cap = sum(bundle.weight * days for bundle, (days, _) in zip(woven.bundles, _assign(woven, visits), strict=True))
    for kept in _widths(width, woven):
        (_, cap, minus), whole = nearest.run(kept, visits, cap)
        visits = -minus
        if whole:
            break
    return visits


def _assign(woven: Weave, visits: int) -> list[tuple[int, tuple[int, ...]]]:
    """For each bundle the least deviation in days on these visits, and its days; of equals, the earliest."""
    ways: dict[int, tuple[int, tuple[int, ...]]] = {END: (0, ())}

    def way(knots: tuple[int, ...], costs: tuple[int, ...]) -> tuple[int, tuple[int, ...]] | None:
        found = [(cost + ways[knot][0], ways[knot][1]) for knot, cost in zip(knots, costs, strict=True) if knot in ways]
        return min(found, default=None)

    on = set(woven.days(visits))
    for knot, day in enumerate(woven.at):
        if day in on and (after := way(woven.then[knot], woven.costs[knot])):
            ways[knot] = after[0], (day, *after[1])
    placed = [way(bundle.first, bundle.costs) for bundle in woven.bundles]
    return [one for one in placed if one is not None]


def _nodes(strand: Strand, days: Iterable[int]) -> tuple[int, ...]:
    """The nodes of a strand on its days, first to last."""
    stop: Stop | None = strand.first
    path = []
    for day in days:
        assert stop is not None
        path.append(stop.nodes[(stop.days & ((1 << day) - 1)).bit_count()])
        stop = strand.nodes[path[-1]].then
    return tuple(path)


_Open = tuple[tuple[int, int], ...]
"""The knots open to a bundle, from the last day back, each with the days it costs more than the cheapest of them."""

_Step = tuple[int, int, int]
"""Numbers of what is open after skipping a day and after visiting it; between them, the days that skipping adds."""

_Key = tuple[int, ...]
"""For each bundle, the number of what is open to it."""

_Worth = tuple[int, int, int]
"""Visits, the least deviation that can still be reached, and minus the visits as bits: the less the better."""

_LOST = 0
"""The number of a bundle to which nothing is open."""


class _Nearest:
    """The sweep for the least deviation in no more than a given number of visits; ``rest`` as in ``Fewest``.

    What is open to a bundle is known by a number, so that a step of the sweep is looked up and seldom worked out. Costs
    count from the least that is possible with every day visited: what a state costs is a bound on what it will.
    """

    def __init__(self, woven: Weave, rest: list[int]) -> None:
        self._woven, self._rest = woven, rest
        self._opens: list[_Open] = [()]
        self._number: dict[_Open, int] = {(): _LOST}
        self._next_day, self._last_day = [-1], [-1]
        self._steps: list[_Step | None] = [None]
        least, self._excess = _least(woven)
        start, self._ideal = [], 0
        for bundle in woven.bundles:
            costs = {knot: cost + least[knot] for knot, cost in zip(bundle.first, bundle.costs, strict=True)}
            cheapest = min(costs.values())
            start.append(self._known(tuple(sorted((knot, cost - cheapest) for knot, cost in costs.items()))))
            self._ideal += bundle.weight * cheapest
        self._start = tuple(start)
        self._due: list[list[int]] = [[] for _ in range(woven.length + 1)]
        for c, bundle in enumerate(woven.bundles):
            for day in {woven.at[knot] for knot in woven.reached(bundle)}:
                self._due[day].append(c)

    def run(self, width: int, guide: int, cap: int) -> tuple[_Worth, bool]:
        """The best visits found, and whether they are proved to be the best for their number.

        ``guide`` are visits that carry all bundles with a deviation of ``cap``: one state always follows them, so that
        the outcome is never worse. Where it joins a state that got there with fewer visits, so many are not needed.
        """
        states: dict[_Key, _Worth] = {self._start: (0, self._ideal, 0)}
        on_guide, whole = self._start, True
        for day in range(self._woven.length):
            if self._due[day]:
                states, on_guide = self._branch(day, states, on_guide, guide, cap)
                if len(states) > width:
                    states, kept_all = _best(states, width, on_guide)
                    whole = whole and kept_all
        return min(states.values()), whole

    def _branch(
        self, day: int, states: dict[_Key, _Worth], on_guide: _Key, guide: int, cap: int
    ) -> tuple[dict[_Key, _Worth], _Key]:
        """Each state with the day visited and skipped, and the state that follows the guide."""
        most, visited = guide.bit_count(), self._woven.bit(day)
        out: dict[_Key, _Worth] = {}
        followed = on_guide
        for key, (visits, cost, made) in states.items():
            stay, go, lag = self._moves(day, key)
            if key == on_guide:
                followed = go if guide & visited else stay
            for after, worth in ((stay, (visits, cost + lag, made)), (go, (visits + 1, cost, made - visited))):
                fits = self._within(after, worth, most, cap) or (key == on_guide and after == followed)
                if fits and (after not in out or worth < out[after]):
                    out[after] = worth
                if go == stay:
                    break
        return out, followed

    def _within(self, key: _Key, worth: _Worth, most: int, cap: int) -> bool:
        """Whether a state may still end in so many visits and days of deviation."""
        if worth[1] > cap:
            return False
        last_day = self._last_day
        last = min([last_day[number] for number in key])
        return last >= 0 and (worth[0] if last == self._woven.length else worth[0] + 1 + self._rest[last + 1]) <= most

    def _moves(self, day: int, key: _Key) -> tuple[_Key, _Key, int]:
        """What is open after skipping a day, after visiting it, and the days that skipping adds."""
        stay, go, lag = list(key), list(key), 0
        for c in self._due[day]:
            number = key[c]
            if self._next_day[number] == day:
                stay[c], more, go[c] = self._steps[number] or self._step(number)
                lag += self._woven.bundles[c].weight * more
        return tuple(stay), tuple(go), lag

    def _step(self, number: int) -> _Step:
        """The step of a bundle on the next day that matters to it."""
        opens, at = self._opens[number], self._woven.at
        kept = len(opens)
        while kept and at[opens[kept - 1][0]] == self._next_day[number]:
            kept -= 1
        lag = min([cost for _, cost in opens[:kept]], default=0)
        skip = self._known(tuple([(knot, cost - lag) for knot, cost in opens[:kept]]) if lag else opens[:kept])
        costs = dict(opens[:kept])
        for knot, cost in opens[kept:]:
            for after, excess in self._excess[knot]:
                if after not in costs or cost + excess < costs[after]:
                    costs[after] = cost + excess
        if END in costs:
            over = costs[END]
            costs = {knot: cost for knot, cost in costs.items() if cost < over or knot == END}
        step = self._steps[number] = skip, lag, self._known(tuple(sorted(costs.items())))
        return step

    def _known(self, opens: _Open) -> int:
        """The number of what is open."""
        number = self._number.get(opens)
        if number is None:
            number = self._number[opens] = len(self._opens)
            self._opens.append(opens)
            self._next_day.append(self._woven.at[opens[-1][0]])
            self._last_day.append(self._woven.at[opens[0][0]])
            self._steps.append(None)
        return number


def _least(woven: Weave) -> tuple[list[int], list[tuple[tuple[int, int], ...]]]:
    """For each knot the least deviation of all that follows it, and its next knots with what they cost beyond that."""
    least: list[int] = [0]
    excess: list[tuple[tuple[int, int], ...]] = [()]
    for then, costs in zip(woven.then[1:], woven.costs[1:], strict=True):
        sums = [cost + least[knot] for knot, cost in zip(then, costs, strict=True)]
        least.append(min(sums, default=0))
        excess.append(tuple([(knot, total - least[-1]) for knot, total in zip(then, sums, strict=True)]))
    return least, excess


def _best(states: dict[_Key, _Worth], width: int, on_guide: _Key) -> tuple[dict[_Key, _Worth], bool]:
    """The best states, as many for each number of visits, and the one on the guide; and whether these are all."""
    by_visits: dict[int, list[tuple[_Worth, _Key]]] = {}
    for key, worth in states.items():
        by_visits.setdefault(worth[0], []).append((worth, key))
    each = max(1, width // len(by_visits))
    out = {on_guide: states[on_guide]}
    for ranked in by_visits.values():
        ranked.sort()
        out.update({key: worth for worth, key in ranked[:each]})
    return out, all(len(ranked) <= each for ranked in by_visits.values())
