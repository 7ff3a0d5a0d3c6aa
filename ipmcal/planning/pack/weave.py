"""Weaving: strands of one yard or several become knots and bundles. In: strands, keeper's days. Out: a Weave.

Nodes of one day that owe the same are one knot, strands that owe the same in one yard are one bundle, so that forty
colonies in step cost packing like one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.strand import Stop, Strand
from ipmcal.model.values.days import KeeperDays

END = 0
"""The knot that stands for "finished": on a day after the last, open once a bundle's last step is done."""

YardStrands = tuple[Sequence[Strand], KeeperDays]
"""The strands of a yard, and the keeper's days there."""


@dataclass(frozen=True, slots=True)
class Bundle:
    """Equal strands as one: the knots of the first stop, ascending by day, what each deviates, how many they are."""

    first: tuple[int, ...]
    costs: tuple[int, ...]
    weight: int
    yard: int = 0


@dataclass(frozen=True, slots=True)
class Weave:
    """Distinct strands over ``length`` days. Nodes on one day and with one future are one knot.

    Knots are numbered from the last day back, ``END`` first: ``at`` is a knot's day (a position), ``then`` the knots of
    which one is owed next, ascending by day (``(END,)`` after the last step), ``costs`` what each deviates, in days.
    Bundles come in order of their yards; ``reached`` has the knots on each one's paths, ``END`` included. A visit costs
    a toll of 1; the first of a day costs ``drive`` more, which outweighs all visits, and is nothing where there is one
    yard.
    """

    length: int
    at: tuple[int, ...]
    then: tuple[tuple[int, ...], ...]
    costs: tuple[tuple[int, ...], ...]
    bundles: tuple[Bundle, ...]
    yards: int = 1
    reached: tuple[frozenset[int], ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Follow each bundle's paths once."""
        object.__setattr__(self, "reached", tuple([self._reached(bundle) for bundle in self.bundles]))

    @property
    def drive(self) -> int:
        """What the drive of a day costs on top of its visits."""
        return self.yards * self.length + 1 if self.yards > 1 else 0

    @property
    def ways(self) -> int:
        """How many ways lead from a knot to the next: what it takes to look at all of the weave once."""
        return sum(map(len, self.then))

    def bit(self, day: int, yard: int = 0) -> int:
        """A visit in a set of visits. Earlier ones are higher bits: of two sets of one size, the greater is earlier."""
        return 1 << ((self.length - day) * self.yards - 1 - yard)

    def days(self, visits: int, yard: int = 0) -> tuple[int, ...]:
        """The positions of a yard in a set of visits, ascending."""
        found, last = [], self.length * self.yards - 1
        while visits:
            day, here = divmod(last - visits.bit_length() + 1, self.yards)
            visits ^= 1 << last - day * self.yards - here
            if here == yard:
                found.append(day)
        return tuple(found)

    def toll(self, visits: int) -> int:
        """What a set of visits costs."""
        whole = (1 << self.yards) - 1
        drives = sum([1 for day in range(self.length) if visits >> day * self.yards & whole]) if self.drive else 0
        return visits.bit_count() + self.drive * drives

    def _reached(self, bundle: Bundle) -> frozenset[int]:
        seen = fresh = set(bundle.first)
        while fresh:
            fresh = set().union(*[self.then[knot] for knot in fresh if knot != END]) - seen
            seen = seen | fresh
        return frozenset(seen)

    def alone(self, yard: int) -> Weave:
        """One yard of the weave by itself, on the same days."""
        mine = tuple([replace(bundle, yard=0) for bundle in self.bundles if bundle.yard == yard])
        return replace(self, bundles=mine, yards=1)

    def together(self) -> Weave:
        """All yards as if they were one: its visits are the drives."""
        return replace(self, bundles=tuple([replace(bundle, yard=0) for bundle in self.bundles]), yards=1)


@dataclass(frozen=True, slots=True)
class Woven:
    """A weave, the days that it counts in, and for each bundle the strands in it, as given."""

    weave: Weave
    days: KeeperDays
    members: tuple[tuple[Strand, ...], ...]


_Future = tuple[int, tuple[int, ...]]
"""What is owed next: the best day and the knots, ascending by day. Nodes of one day with equal futures are one knot."""

_OVER: _Future = (0, (END,))


def weave(yards: Sequence[YardStrands]) -> Woven:
    """The yards' strands woven over all their days. Raises ValueError with a strand's key, as ``pack``."""
    for strands, _ in yards:
        if twice := [key for key, count in Counter(strand.key for strand in strands).items() if count > 1]:
            raise ValueError(f"strand {twice[0]!r} is given twice")
    days = yards[0][1] if len(yards) == 1 else KeeperDays(tuple(sorted({day for _, here in yards for day in here})))
    where = [_positions(here, days) for _, here in yards]
    distinct = [_distinct(strands) for strands, _ in yards]
    knots, at, futures = _tie([(same[0], where[y]) for y, alike in enumerate(distinct) for same in alike], len(days))
    equal: dict[tuple[int, _Future], list[Strand]] = {}
    heads = iter(knots)
    for y, alike in enumerate(distinct):
        for same in alike:
            equal.setdefault((y, _future(same[0], same[0].first, next(heads))), []).extend(same)
    costs = [_costs(future, at, days) for future in futures]
    roots = sorted(equal)
    bundles = [Bundle(root[1], _costs(root, at, days), len(equal[y, root]), y) for y, root in roots]
    made = Weave(len(days), tuple(at), tuple([t for _, t in futures]), tuple(costs), tuple(bundles), len(yards))
    woven = Woven(made, days, tuple([tuple(equal[root]) for root in roots]))
    for bundle, members, reached in zip(bundles, woven.members, made.reached, strict=True):
        if not bundle.first or not all(made.then[knot] for knot in reached):
            raise ValueError(f"strand {members[0].key!r} can't be done: a step is owed that no day is left for")
    return woven


def _positions(here: KeeperDays, days: KeeperDays) -> Sequence[int]:
    """Where each of a yard's days stands among all days."""
    if here == days:
        return range(len(days))
    stands = {day: i for i, day in enumerate(days)}
    return [stands[day] for day in here]


def _distinct(strands: Iterable[Strand]) -> list[list[Strand]]:
    """Strands that share one chain, as colonies in one state do, together."""
    alike: dict[tuple[int, int], list[Strand]] = {}
    for strand in strands:
        # by identity, which is quick: equal chains of other objects meet again by their futures
        alike.setdefault((id(strand.first), id(strand.nodes)), []).append(strand)
    return list(alike.values())


def _tie(
    strands: Sequence[tuple[Strand, Sequence[int]]], length: int
) -> tuple[list[dict[int, int]], list[int], list[_Future]]:
    """For each strand the knots of its nodes, and for each knot its day and future.

    Knots get their numbers from the last day back, on each day in order of their futures: no order of strands or nodes
    and no name has a part in it.
    """
    today: list[list[tuple[int, int]]] = [[] for _ in range(length)]
    for s, (strand, where) in enumerate(strands):
        for n, node in enumerate(strand.nodes):
            today[where[node.at]].append((s, n))
    knots: list[dict[int, int]] = [{} for _ in strands]
    at, futures = [length], [_OVER]
    for day in reversed(range(length)):
        found: dict[_Future, list[tuple[int, int]]] = {}
        for s, n in today[day]:
            strand = strands[s][0]
            found.setdefault(_future(strand, strand.nodes[n].then, knots[s]), []).append((s, n))
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


def nodes_on(strand: Strand, here: Iterable[int]) -> tuple[int, ...]:
    """The nodes of a strand on its days (positions among its yard's days), first to last."""
    stop: Stop | None = strand.first
    path = []
    for day in here:
        assert stop is not None
        path.append(stop.nodes[(stop.days & ((1 << day) - 1)).bit_count()])
        stop = strand.nodes[path[-1]].then
    return tuple(path)
