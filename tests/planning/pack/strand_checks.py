"""What a placing is worth, worked out anew from its paths. For the tests of packing."""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.model.plan.strand import Stop, Strand
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.pack.pack import Drives, Placing
from ipmcal.planning.pack.weave import Yard

Worth = tuple[int, int, tuple[int, ...]]
"""Visits, deviation, and the visits."""


def worth(strands: Sequence[Strand], days: KeeperDays, placing: Placing) -> Worth:
    """Visits, deviation and days of a placing, after walking every path: each step on a stop's node, on a visit."""
    total, used = 0, set()
    for strand in strands:
        stop: Stop | None = strand.first
        for n in placing.paths[strand.key]:
            assert stop is not None
            assert n in stop.nodes
            total += abs(days.ordinals[strand.nodes[n].at] - stop.best_day)
            used.add(strand.nodes[n].at)
            stop = strand.nodes[n].then
        assert stop is None
    assert placing.paths.keys() == {strand.key for strand in strands}
    assert placing.visits == tuple(sorted(used))
    return len(used), total, placing.visits


def least_deviation(strand: Strand, days: KeeperDays, visits: set[int]) -> float:
    """The least deviation of a strand on these visits; infinite where they don't carry it."""
    seen: dict[int, float] = {}

    def after(n: int) -> float:
        if n not in seen:
            then = strand.nodes[n].then
            seen[n] = least(then) if then else 0
        return seen[n]

    def least(stop: Stop) -> float:
        nodes = [n for n in stop.nodes if strand.nodes[n].at in visits]
        return min(
            (abs(days.ordinals[strand.nodes[n].at] - stop.best_day) + after(n) for n in nodes), default=float("inf")
        )

    return least(strand.first)


DrivesWorth = tuple[int, int, int, tuple[bool, ...]]
"""Drives, visits, deviation, and for each day and yard in order, whether there is no visit."""


def drives_worth(yards: Sequence[Yard], placed: Drives) -> DrivesWorth:
    """What a placing of several yards is worth, after walking every path."""
    total, visits = 0, []
    for (strands, days), placing in zip(yards, placed.placings, strict=True):
        total += worth(strands, days, placing)[1]
        visits.append({days.ordinals[at] for at in placing.visits})
    assert placed.days == tuple(sorted(set().union(*visits)))
    assert placed.visits == sum(map(len, visits))
    return len(placed.days), placed.visits, total, missed(yards, visits)


def missed(yards: Sequence[Yard], visits: Sequence[set[int]]) -> tuple[bool, ...]:
    every = sorted({day for _, days in yards for day in days})
    return tuple(day not in here for day in every for here in visits)
