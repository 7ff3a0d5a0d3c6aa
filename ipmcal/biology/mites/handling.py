"""What a keeper does about mites, as the daily run takes it: courses, trap combs, counts.

In: plain days and shares. Out: a ``Handling``: by day, the share of mites kept on bees and in cells; the traps and
anchors as they are. A contact product's daily hazard is solved for (``solve.py``) before it comes here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class MiteReach(StrEnum):
    """How a product acts: on bees and in cells over a few days, on bees while it lies, on bees on one day."""

    CELLS = "cells"
    CONTACT = "contact"
    DOSE = "dose"


@dataclass(frozen=True, slots=True)
class MiteCourse:
    """One application of a product, from ``first`` (ordinal) on.

    ``low`` and ``high``: its efficacy, 0 to below 1: for CELLS the share of all mites killed, for CONTACT those killed
    in its ``days``, as a share of them and of those that live on the day after the last, for DOSE the share of mites on
    bees. ``luck`` names the quantile of a draw that its efficacy takes (``Draw.kill``). ``days`` matters for CONTACT
    only. Applications that act one by one (three trickles) are as many courses.
    """

    reach: MiteReach
    first: int
    days: int
    low: float
    high: float
    luck: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high < 1:
            raise ValueError(f"a course kills a share of 0 to below 1, not {self.low} to {self.high}")
        if self.days < 1:
            raise ValueError(f"a course acts for a day at least, not {self.days}")


@dataclass(frozen=True, slots=True)
class Trap:
    """A drone comb that is laid in from ``laid`` on, and cut on ``cut`` (ordinals; None: never).

    Cells laid before its first drone is out count; what is laid in it again later is not thought to be caught. A cut on
    the day of the first drone or later has let out what sat in the oldest cells.
    """

    laid: int
    cut: int | None


SharesKept = Mapping[int, float]
"""Shares of mites kept, by day (ordinal); a day that is not in it keeps all."""


@dataclass(frozen=True, slots=True)
class Handling:
    """What is done, by day (ordinal). ``anchors``: factors by which a count scales all mites of that day."""

    on_bees: SharesKept = field(default_factory=dict)
    in_cells: SharesKept = field(default_factory=dict)
    traps: tuple[Trap, ...] = ()
    anchors: SharesKept = field(default_factory=dict)

    def with_kept(self, on_bees: SharesKept, in_cells: SharesKept | None = None) -> Handling:
        """This and another course: shares kept on one day multiply."""
        return Handling(_times(self.on_bees, on_bees), _times(self.in_cells, in_cells or {}), self.traps, self.anchors)

    def with_traps(self, traps: Iterable[Trap]) -> Handling:
        """This and other trap combs."""
        return Handling(self.on_bees, self.in_cells, (*self.traps, *traps), self.anchors)


UNHANDLED = Handling()


def _times(one: SharesKept, other: SharesKept) -> dict[int, float]:
    made = dict(one)
    for day, kept in other.items():
        made[day] = made.get(day, 1.0) * kept
    return made
