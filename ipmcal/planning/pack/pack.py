"""Packing: the fewest visits that do every step in its window. In: strands and the keeper's days. Out: a Placing.

What counts, in this order: the number of drives (days on which any yard is visited), the number of visits, the days
between steps and their best days, early visits. Equal strands and equal nodes are joined first (``pack_weave``), so
that forty colonies in step cost like one; then sweeps look for the visits (``pack_search``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.strand import Strand
from ipmcal.model.rules.files import Planning
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.pack.deviation import assign
from ipmcal.planning.pack.search import Packed, search
from ipmcal.planning.pack.weave import Weave, Woven, YardStrands, nodes_on, weave

Memo = dict[tuple[Weave, int, int], Packed]
"""What was found by what was packed, how wide, in how many steps: yards equal but for names are packed once."""

MILLION = 10**6


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the steps fall. Only days that some path uses are visits.

    ``visits`` are positions of the keeper's days, ascending; ``paths`` has each strand's nodes from first to last;
    ``lower_bound`` is a proven least number of visits: where it equals their number, no fewer are possible.
    """

    visits: tuple[int, ...]
    paths: Mapping[str, tuple[int, ...]]
    lower_bound: int

    @property
    def proved(self) -> bool:
        """True where fewer visits are proved to be impossible."""
        return self.lower_bound == len(self.visits)


@dataclass(frozen=True, slots=True)
class Drives:
    """Where the steps of several yards fall that are visited on the same drives.

    ``days`` are the ordinals on which any yard is visited, ascending; ``placings`` one for each yard, in the order
    given. No fewer than ``least_drives`` are possible, and no fewer than ``least_visits`` in all yards together; a
    placing's ``lower_bound`` speaks of its yard alone, which might do with less if it were not for the others.
    """

    days: tuple[int, ...]
    placings: tuple[Placing, ...]
    least_drives: int
    least_visits: int

    @property
    def visits(self) -> int:
        """Visits in all yards together."""
        return sum(len(placing.visits) for placing in self.placings)

    @property
    def proved(self) -> bool:
        """True where neither fewer drives, nor fewer visits on so many, are proved to be impossible."""
        return self.least_drives == len(self.days) and self.least_visits == self.visits


def most_steps(planning: Planning) -> int:
    """How many steps the rules let packing spend."""
    return int(planning.packing_millions.value.middle * MILLION)


def pack(
    strands: Sequence[Strand], days: KeeperDays, *, most: int, width: int = 4, memo: Memo | None = None
) -> Placing:
    """The fewest visits that carry all strands, then the least deviation from the best days, then the earliest visits.

    Exact where the states fit (small yards always do), close to it elsewhere: each sweep is repeated with more states
    kept, from ``width`` (at least 1) to what ``EFFORT`` allows, until its result is proved. Of two sets of as many
    visits, the earlier is the one with the earlier day where they first differ. The order of the strands and their keys
    don't matter. Sets of yards are gone through and drives moved by trial for ``most`` steps (``steps.Steps``), then
    what is found stands. ``memo`` spares packing again what was packed before; it changes no result. Raises ValueError
    with the strand's key where a key comes twice or a strand can't be done by itself.
    """
    return pack_drives([(strands, days)], most=most, width=width, memo=memo).placings[0]


def pack_drives(yards: Sequence[YardStrands], *, most: int, width: int = 4, memo: Memo | None = None) -> Drives:
    """The fewest drives that carry the strands of all yards, then the fewest visits, then as ``pack``.

    A drive is a day on which any of the yards is visited, a visit a day at one yard. Each yard has its own days; keys
    need only differ within a yard. Exact where the states fit and the steps suffice. Of equally good sets of visits,
    the earlier is the one with a visit where they first differ, day by day, and in a day in the order of the yards
    given. Raises as ``pack``.
    """
    if width < 1:
        raise ValueError(f"width must be at least 1, not {width}")
    busy = [yard for yard in yards if yard[0]]
    if not busy:
        return Drives((), tuple([Placing((), {}, 0) for _ in yards]), 0, 0)
    woven = weave(busy)
    found = memo.get((woven.weave, width, most)) if memo is not None else None
    if found is None:
        found = search(woven.weave, width, most)
        if memo is not None:
            memo[woven.weave, width, most] = found
    return _placed(yards, woven, found)


def _placed(yards: Sequence[YardStrands], woven: Woven, found: Packed) -> Drives:
    """The visits and the strands' paths on them, for each yard as it counts its days."""
    days: list[dict[str, tuple[int, ...]]] = [{} for _ in found.least_alone]
    for bundle, members, (_, on) in zip(
        woven.weave.bundles, woven.members, assign(woven.weave, found.visits), strict=True
    ):
        ordinals = woven.days.ordinals
        days[bundle.yard].update({strand.key: tuple([ordinals[day] for day in on]) for strand in members})
    rest = iter(zip(days, found.least_alone, strict=True))
    placings = tuple([_placing(strands, here, *(next(rest) if strands else ({}, 0))) for strands, here in yards])
    driven = {here.ordinals[i] for (_, here), one in zip(yards, placings, strict=True) for i in one.visits}
    visits = sum(len(one.visits) for one in placings)
    return Drives(
        tuple(sorted(driven)), placings, min(found.least_drives, len(driven)), min(found.least_visits, visits)
    )


def _placing(strands: Sequence[Strand], here: KeeperDays, days: Mapping[str, tuple[int, ...]], least: int) -> Placing:
    """The placing of one yard, whose strands are done on these ordinals."""
    stands = {day: i for i, day in enumerate(here)}
    on = {strand.key: [stands[day] for day in days[strand.key]] for strand in strands}
    visits = tuple(sorted({i for one in on.values() for i in one}))
    return Placing(
        visits, {strand.key: nodes_on(strand, on[strand.key]) for strand in strands}, min(least, len(visits))
    )
