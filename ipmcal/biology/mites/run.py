"""The daily run of mites in one colony: on bees, waiting, in cells of workers and drones, in trap combs.

In: a colony, a draw's lives, mites to begin with, what comes in, what is done. Out: a ``Trace``.

A day goes: bees emerge, and with them what mothers live and their daughters; mites die on bees; others come in; *noon*,
when counts are read; what leaves; treatments; mites enter cells; combs are cut. Linear: twice the mites at the start
and coming in are twice the mites on every day. After Fries, Camazine & Sneyd 1994, Bee World 75:5-28 and Calis, Fries &
Ryrie 1999, Apidologie 30:111-124, with the rates of entry of Boot, Schoenmaker, Calis & Beetsma 1995, Apidologie 26.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.draws import Lives
from ipmcal.biology.mites.figures import Nest
from ipmcal.biology.mites.handling import UNHANDLED, Handling


@dataclass(frozen=True, slots=True)
class Books:
    """Where mites came from and went, over a whole run: ``start + born + came + anchored`` is all the rest.

    ``born`` are daughters that live to leave the cell; ``anchored`` what counts added (below 0: took away).
    """

    start: float
    born: float
    came: float
    anchored: float
    died: float
    killed: float
    cut: float
    left: float
    alive: float

    @property
    def amiss(self) -> float:
        """What does not add up: 0 but for rounding."""
        into = self.start + self.born + self.came + self.anchored
        return into - (self.died + self.killed + self.cut + self.left + self.alive)


@dataclass(frozen=True, slots=True)
class Trace:
    """Mites by day, index 0 being ordinal ``first``: all of them at noon; those on bees; mothers that then enter
    worker cells; mites cut out. ``books`` at the end of the last day.
    """

    first: int
    all: list[float]
    on_bees: list[float]
    entered: list[float]
    cut: list[float]
    books: Books

    def at(self, day: int) -> float:
        """All mites at noon of an ordinal."""
        return self.all[day - self.first]


@dataclass(frozen=True, slots=True)
class Begin:
    """``mites`` to begin with at noon of ``day`` (ordinal), settled over bees and cells; ``last`` is the last day."""

    day: int
    mites: float
    last: int


def run(
    nest: Nest, colony: ColonyDays, lives: Lives, begin: Begin, coming: float = 0.0, handling: Handling = UNHANDLED
) -> Trace:
    """The mites of a colony from ``begin.day`` to ``begin.last``; ``coming`` mites a day while others can come in.

    Raises ValueError where the colony has no such days.
    """
    if not colony.runs_from <= begin.day <= begin.last <= colony.last:
        raise ValueError(f"the colony has days {colony.runs_from} to {colony.last}, not {begin.day} to {begin.last}")
    return _Run(nest, colony, lives, begin).go(coming, handling)


class _Run:
    """One run. What comes out of cells, or has waited, is listed by the day (0 the first) on which it does."""

    def __init__(self, nest: Nest, colony: ColonyDays, lives: Lives, begin: Begin) -> None:
        self.nest, self.colony, self.lives = nest, colony, lives
        self.at, self.days = begin.day - colony.first, begin.last - begin.day + 1
        self.first, self.start = begin.day, begin.mites
        room = self.days + nest.drone_capped + nest.worker_capped + nest.young_wait
        self.workers, self.drones, self.ready = [0.0] * room, [0.0] * room, [0.0] * room
        self.free = self.waiting = self.in_cells = 0.0
        self.lived = 1.0  # of a mite on bees on the first day, but for what is done
        self.held: dict[int, dict[int, float]] = {}  # mites in each trap comb
        self.killed = self.cut = self.left = self.anchored = 0.0
        self._settle()

    def _settle(self) -> None:
        """Spreads the mites at noon: each day before, as many went into cells as would have with those on bees now."""
        nest, colony, at = self.nest, self.colony, self.at
        for out in range(1, nest.worker_capped):
            self.workers[out] = colony.into_worker[at + out - nest.worker_capped]
        for out in range(1, nest.drone_capped):
            self.drones[out] = colony.into_drone[at + out - nest.drone_capped]
        for out in range(1, nest.young_wait + 1):
            emerged = at + out - nest.young_wait
            self.ready[out] = (
                colony.into_worker[emerged - nest.worker_capped] * self.lives.daughters_of_worker
                + colony.into_drone[emerged - nest.drone_capped] * self.lives.daughters_of_drone
            )
        cells, waiting = sum(self.workers) + sum(self.drones), sum(self.ready)
        each = self.start / (1.0 + cells + waiting)
        self._scale_on_bees(0, each)
        self._scale_in_cells(0, each)
        self.free, self.waiting, self.in_cells = each, each * waiting, each * cells

    def go(self, coming: float, handling: Handling) -> Trace:
        """Day by day; what happens on few days is looked up, so that the rest is quick."""
        at, nest, colony = self.at, self.nest, self.colony
        into_worker, into_drone = colony.into_worker, colony.into_drone
        arrivals = [coming * is_open for is_open in colony.open_to_others[at : at + self.days]]
        noons, cuts, laid = _noons(colony, handling), cuts_of(handling), open_combs(nest, handling)
        born = died = came = 0.0
        everything, on_bees, entered, cut = [], [], [], [0.0] * self.days
        for t in range(self.days):
            day = t + self.first
            if t:
                new, lost = self._morning(t)
                born, died, came = born + new, died + lost, came + arrivals[t]
                self.free += arrivals[t]
            loose = self.free + self.waiting
            everything.append(loose + self.in_cells)
            on_bees.append(loose)
            if day in noons:
                self._noon(day, t, handling)
            worker, drone = self.free * into_worker[at + t], self.free * into_drone[at + t]
            self.free -= worker + drone
            self.in_cells += worker + drone
            self.workers[t + nest.worker_capped] = worker
            self.drones[t + nest.drone_capped] = drone
            entered.append(worker)
            for comb in laid.get(day, ()):
                share = self.lives.in_trap_comb / len(laid[day])
                self.held.setdefault(comb, {})[t + nest.drone_capped] = drone * share
            for comb in cuts.get(day, ()):
                cut[t] += self._cut(comb, t)
        alive = self.free + self.waiting + self.in_cells
        books = Books(self.start, born, came, self.anchored, died, self.killed, self.cut, self.left, alive)
        return Trace(self.first, everything, on_bees, entered, cut, books)

    def _morning(self, t: int) -> tuple[float, float]:
        """Deaths on bees, then what comes out of cells; the daughters born, and the dead."""
        lives = self.lives
        die = lives.die_with_brood if self.colony.brood[self.at + t] else lives.die_broodless
        live, from_worker, from_drone = 1.0 - die, self.workers[t], self.drones[t]
        out = from_worker + from_drone
        young = from_worker * lives.daughters_of_worker + from_drone * lives.daughters_of_drone
        dead = (self.free + self.waiting) * die + out * (1.0 - lives.mothers_survive)
        self.lived *= live
        grown = self.ready[t] * self.lived
        self.free = self.free * live + grown + out * lives.mothers_survive
        self.waiting = max(self.waiting * live - grown, 0.0) + young  # rounding must not leave less than none
        self.ready[t + self.nest.young_wait] = young / self.lived
        self.in_cells = max(self.in_cells - out, 0.0)
        return young, dead

    def _noon(self, day: int, t: int, handling: Handling) -> None:
        """A count, then what leaves, then treatments."""
        before = self.free + self.waiting + self.in_cells
        self._keep(t, handling.anchors.get(day, 1.0), handling.anchors.get(day, 1.0))
        counted = self.free + self.waiting + self.in_cells
        for one in self.colony.left:
            if one.day == day:
                self._keep(t, 1 - one.bees, 1 - one.brood)
        stayed = self.free + self.waiting + self.in_cells
        self._keep(t, handling.on_bees.get(day, 1.0), handling.in_cells.get(day, 1.0))
        self.anchored += counted - before
        self.left += counted - stayed
        self.killed += stayed - (self.free + self.waiting + self.in_cells)

    def _keep(self, t: int, on_bees: float, in_cells: float) -> None:
        if on_bees != 1.0:
            self.free *= on_bees
            self.waiting *= on_bees
            self._scale_on_bees(t + 1, on_bees)
        if in_cells != 1.0:
            self.in_cells *= in_cells
            self._scale_in_cells(t + 1, in_cells)

    def _scale_on_bees(self, t: int, kept: float) -> None:
        for out in range(t, t + self.nest.young_wait + 1):
            self.ready[out] *= kept

    def _scale_in_cells(self, t: int, kept: float) -> None:
        for out in range(t, t + self.nest.drone_capped):
            self.workers[out] *= kept
            self.drones[out] *= kept
        for inside in self.held.values():
            for out in inside:
                inside[out] *= kept

    def _cut(self, comb: int, t: int) -> float:
        """Takes out what sits in a comb and is not out yet."""
        gone = 0.0
        for out, mites in self.held.pop(comb, {}).items():
            if out > t:
                self.drones[out] -= mites
                gone += mites
        self.in_cells = max(self.in_cells - gone, 0.0)
        self.cut += gone
        return gone


def _noons(colony: ColonyDays, handling: Handling) -> set[int]:
    """The days on which something happens at noon."""
    return {*handling.on_bees, *handling.in_cells, *handling.anchors, *(one.day for one in colony.left)}


def cuts_of(handling: Handling) -> dict[int, list[int]]:
    """Trap combs, by their place in the handling, by the day on which they are cut."""
    found: dict[int, list[int]] = {}
    for comb, trap in enumerate(handling.traps):
        if trap.cut is not None:
            found.setdefault(trap.cut, []).append(comb)
    return found


def open_combs(nest: Nest, handling: Handling) -> dict[int, list[int]]:
    """The trap combs in which cells are capped, by day: those laid before the first drone of the comb is out."""
    found: dict[int, list[int]] = {}
    for comb, trap in enumerate(handling.traps):
        first = trap.laid + nest.drone_open
        last = first + nest.drone_capped - 1
        for day in range(first, last + 1 if trap.cut is None else min(last, trap.cut) + 1):
            found.setdefault(day, []).append(comb)
    return found
