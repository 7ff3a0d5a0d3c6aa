"""Runs: the daily run of mites in many draws of one colony at once, the same to the bit as one by one.

In: colonies of one history with their draws' lives, mites to begin with, what comes in, what is done. Out:
``ManyTraces``. Pure; numpy, draw by draw in the order of ``biology/mites/run.py``, which says what a day is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ipmcal.biology.mites.draws import Lives
from ipmcal.biology.mites.figures import Nest
from ipmcal.biology.mites.handling import UNHANDLED, Handling, SharesKept, Trap
from ipmcal.biology.mites.run import Books, Trace, cuts_of, open_combs
from ipmcal.planning.many.columns import Array, ColonyColumns


@dataclass(frozen=True)
class ManyColonies:
    """Colonies of one history over the same days, with the lives of their mites, a draw each."""

    nest: Nest
    columns: ColonyColumns
    lives: Sequence[Lives]

    def repeated(self, times: int) -> ManyColonies:
        """The same so many times over: hives that go through the same, each with all draws."""
        return ManyColonies(self.nest, self.columns.repeated(times), [*self.lives] * times)

    def of_lives(self, name: str) -> Array:
        """One figure of the draws' lives."""
        return np.array([getattr(one, name) for one in self.lives])


@dataclass(frozen=True)
class ManyBegin:
    """The first and last day (ordinals); by draw, mites to begin with, and those that come in a day."""

    days: tuple[int, int]
    mites: Sequence[float]
    coming: Sequence[float]


@dataclass
class ManyHandlings:
    """What is done to all draws: the same trap combs; by day (ordinal) shares kept on bees and in cells, by draw.

    ``anchors``: factors by which a count scales all mites of that day, by draw.
    """

    traps: tuple[Trap, ...]
    on_bees: dict[int, Array] = field(default_factory=dict)
    in_cells: dict[int, Array] = field(default_factory=dict)
    anchors: dict[int, Array] = field(default_factory=dict)

    def keep(self, day: int, on_bees: Array, in_cells: Array | None = None) -> None:
        """What is done on one day multiplies."""
        self.on_bees[day] = self.on_bees.get(day, 1.0) * on_bees
        if in_cells is not None:
            self.in_cells[day] = self.in_cells.get(day, 1.0) * in_cells

    def twice(self) -> ManyHandlings:
        """The same for as many draws again."""
        return self.repeated(2)

    def repeated(self, times: int) -> ManyHandlings:
        """The same for so many times as many draws."""
        whole = (self.on_bees, self.in_cells, self.anchors)
        return ManyHandlings(self.traps, *({day: np.tile(kept, times) for day, kept in one.items()} for one in whole))

    def with_anchors(self, factors: Sequence[SharesKept]) -> ManyHandlings:
        """The same with counts, a draw each."""
        return ManyHandlings(self.traps, dict(self.on_bees), dict(self.in_cells), _by_day(factors))


def stacked(handlings: Sequence[Handling]) -> ManyHandlings:
    """Handlings of many draws. All have the same trap combs."""
    assert len({one.traps for one in handlings}) == 1
    kept = ([getattr(one, name) for one in handlings] for name in ("on_bees", "in_cells", "anchors"))
    return ManyHandlings(handlings[0].traps, *map(_by_day, kept))


@dataclass(frozen=True)
class ManyTraces:
    """The mites of many draws, as ``Trace``: a row a day, the first of them ordinal ``first``, and a column a draw.

    ``killed`` by treatments until the end, by draw.
    """

    first: int
    all: Array
    on_bees: Array
    entered: Array
    cut: Array
    killed: Array

    def trace(self, draw: int) -> Trace:
        """The mites of one draw."""
        a, b, c, d = (one[:, draw].tolist() for one in (self.all, self.on_bees, self.entered, self.cut))
        return Trace(self.first, a, b, c, d, NO_BOOKS)

    def traces(self) -> list[Trace]:
        """The mites of each draw."""
        rows = zip(*(one.T.tolist() for one in (self.all, self.on_bees, self.entered, self.cut)), strict=True)
        return [Trace(self.first, a, b, c, d, NO_BOOKS) for a, b, c, d in rows]


def runs(many: ManyColonies, begin: ManyBegin, handlings: ManyHandlings) -> ManyTraces:
    """The mites of all draws."""
    return _Runs(many, begin).go(np.array(begin.coming), handlings)


class _Runs:
    """As ``biology.mites.run._Run``, a place for each draw in every number."""

    def __init__(self, many: ManyColonies, begin: ManyBegin) -> None:
        self.many, self.nest, draws = many, many.nest, len(many.columns)
        self.first, last = begin.days
        self.at, self.days = self.first - many.columns.first, last - self.first + 1
        self.start = np.array(begin.mites)
        arrays = many.columns.arrays
        self.into_worker, self.into_drone = arrays["into_worker"], arrays["into_drone"]
        self.of_worker, self.of_drone = many.of_lives("daughters_of_worker"), many.of_lives("daughters_of_drone")
        self.survive = many.of_lives("mothers_survive")
        room = self.days + self.nest.drone_capped + self.nest.worker_capped + self.nest.young_wait
        self.workers, self.drones, self.ready = (np.zeros((room, draws)) for _ in range(3))
        self.lived, self.none = np.ones(draws), np.zeros(draws)
        self.held: dict[int, dict[int, Array]] = {}
        self._settle()

    def _settle(self) -> None:
        nest, at = self.nest, self.at
        for out in range(1, nest.worker_capped):
            self.workers[out] = self.into_worker[at + out - nest.worker_capped]
        for out in range(1, nest.drone_capped):
            self.drones[out] = self.into_drone[at + out - nest.drone_capped]
        for out in range(1, nest.young_wait + 1):
            emerged = at + out - nest.young_wait
            self.ready[out] = (
                self.into_worker[emerged - nest.worker_capped] * self.of_worker
                + self.into_drone[emerged - nest.drone_capped] * self.of_drone
            )
        cells = total(self.workers, nest.worker_capped) + total(self.drones, nest.drone_capped)
        waiting = total(self.ready, nest.young_wait + 1)
        each = self.start / (1.0 + cells + waiting)
        self.ready[: nest.young_wait + 1] *= each
        self.workers[: nest.drone_capped] *= each
        self.drones[: nest.drone_capped] *= each
        self.free, self.waiting, self.in_cells = each.copy(), each * waiting, each * cells

    def go(self, coming: Array, done: ManyHandlings) -> ManyTraces:
        """Day by day."""
        at, nest, traps = self.at, self.nest, UNHANDLED.with_traps(done.traps)
        arrivals = coming * self.many.columns.is_open[at : at + self.days]
        brood = self.many.columns.arrays["brood"][at : at + self.days]
        die = np.where(brood > 0.0, self.many.of_lives("die_with_brood"), self.many.of_lives("die_broodless"))
        on, inside = done.on_bees, done.in_cells
        cuts, laid = cuts_of(traps), open_combs(nest, traps)
        share = self.many.of_lives("in_trap_comb")
        left = {one.day: one for one in self.many.columns.left}
        shape, killed = (self.days, len(self.lived)), self.none
        everything, loose, entered, cut = (np.zeros(shape) for _ in range(4))
        for t in range(self.days):
            day = t + self.first
            if t:
                self._morning(t, die[t])
                self.free = self.free + arrivals[t]
            loose[t] = self.free + self.waiting
            everything[t] = loose[t] + self.in_cells
            if day in done.anchors:
                self._keep(t, done.anchors[day], done.anchors[day])
            if day in left:
                self._keep(t, 1 - left[day].bees, 1 - left[day].brood)
            if day in on or day in inside:
                stayed = self._alive()
                self._keep(t, on.get(day, 1.0), inside.get(day, 1.0))
                killed = killed + (stayed - self._alive())
            worker, drone = self.free * self.into_worker[at + t], self.free * self.into_drone[at + t]
            self.free = self.free - (worker + drone)
            self.in_cells = self.in_cells + (worker + drone)
            self.workers[t + nest.worker_capped], self.drones[t + nest.drone_capped] = worker, drone
            entered[t] = worker
            for comb in laid.get(day, ()):
                self.held.setdefault(comb, {})[t + nest.drone_capped] = drone * (share / len(laid[day]))
            for comb in cuts.get(day, ()):
                cut[t] = cut[t] + self._cut(comb, t)
        return ManyTraces(self.first, everything, loose, entered, cut, killed)

    def _alive(self) -> Array:
        return self.free + self.waiting + self.in_cells

    def _morning(self, t: int, die: Array) -> None:
        live, from_worker, from_drone = 1.0 - die, self.workers[t], self.drones[t]
        out = from_worker + from_drone
        young = from_worker * self.of_worker + from_drone * self.of_drone
        self.lived = self.lived * live
        grown = self.ready[t] * self.lived
        self.free = self.free * live + grown + out * self.survive
        self.waiting = np.maximum(self.waiting * live - grown, 0.0) + young
        self.ready[t + self.nest.young_wait] = young / self.lived
        self.in_cells = np.maximum(self.in_cells - out, 0.0)

    def _keep(self, t: int, on_bees: Array | float, in_cells: Array | float) -> None:
        self.free, self.waiting = self.free * on_bees, self.waiting * on_bees
        self.ready[t + 1 : t + 2 + self.nest.young_wait] *= on_bees
        self.in_cells = self.in_cells * in_cells
        self.workers[t + 1 : t + 1 + self.nest.drone_capped] *= in_cells
        self.drones[t + 1 : t + 1 + self.nest.drone_capped] *= in_cells
        for comb in self.held.values():
            for out in comb:
                comb[out] = comb[out] * in_cells

    def _cut(self, comb: int, t: int) -> Array:
        gone = self.none
        for out, mites in self.held.pop(comb, {}).items():
            if out > t:
                self.drones[out] -= mites
                gone = gone + mites
        self.in_cells = np.maximum(self.in_cells - gone, 0.0)
        return gone


NO_BOOKS = Books(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
"""Nobody keeps books of many runs."""


def total(rows: Array, many: int) -> Array:
    """The sum of the first rows, one after the other."""
    total: Array = np.zeros(rows.shape[1])
    for row in rows[:many]:
        total = total + row
    return total


def _by_day(rows: Sequence[SharesKept]) -> dict[int, Array]:
    """Shares by day, a place for each draw."""
    days = sorted({day for row in rows for day in row})
    return {day: np.array([row.get(day, 1.0) for row in rows]) for day in days}
