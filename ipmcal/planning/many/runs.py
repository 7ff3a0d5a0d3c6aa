"""Runs: colonies of many draws, and the daily run of mites in them, at once, the same to the bit as one by one.

In: marks, a history, draws; colonies with their draws' lives, mites to begin with, what comes in, what is done. Out:
``ColonyDays``, and a ``Trace`` a draw. Pure; numpy, draw by draw in the order of ``biology/mites/colony.py`` and
``run.py``, which say what a day is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ipmcal.biology.mites.colony import FIRST_GUESS, LEAD, ColonyDays, History, colony
from ipmcal.biology.mites.draws import Draw, Lives
from ipmcal.biology.mites.figures import MiteFigures, Nest
from ipmcal.biology.mites.handling import Handling
from ipmcal.biology.mites.run import Books, Trace, cuts_of, open_combs
from ipmcal.biology.mites.year import YEAR_DAYS, Marks, Year, year_of
from ipmcal.planning.mites.maps import Array


def colonies(
    marks: Marks, history: History, figures: MiteFigures, draws: Sequence[Draw], days: tuple[int, int]
) -> list[ColonyDays]:
    """Colonies of one history, a draw each, over the same days (ordinals). Raises ValueError as ``colony``."""
    if history.began is not None or not draws:
        return [colony(marks, history, figures, draw, days) for draw in draws]
    years = [year_of(marks, figures, draw.brood) for draw in draws]
    laid = _laid(years, history, figures, draws, days)
    arrays = (*laid, *_entering(figures.nest, *laid), _capped(laid[1], figures.nest))
    place, first, count = years[0], days[0] - LEAD, days[1] - days[0] + LEAD + 1
    winter = [bool(cell) for cell in place.spread([float(cell) for cell in place.winter_cells], first, count)]
    is_open = place.spread(place.open_to_others, first, count)
    rows = zip(*(one.T.tolist() for one in arrays), strict=True)
    return [
        ColonyDays(first, days[0], bees, workers, drones, into_worker, into_drone, brood, winter, is_open, history.left)
        for bees, workers, drones, into_worker, into_drone, brood in rows
    ]


def _laid(
    years: Sequence[Year], history: History, figures: MiteFigures, draws: Sequence[Draw], days: tuple[int, int]
) -> tuple[Array, Array, Array]:
    """Bees, and cells of workers and drones capped, a row a day, from ``LEAD`` days before the first on."""
    nest, bees, place = figures.nest, figures.bees, years[0]
    first = days[0] - LEAD - YEAR_DAYS
    early, count = max(nest.worker_open + nest.worker_capped, nest.drone_open), days[1] - first + 1
    of_year = (np.arange(count + early) + first - early - place.origin) % YEAR_DAYS
    eggs, share = (np.array([getattr(one, name) for one in years]).T[of_year] for name in ("eggs", "drones"))
    for begins, ends in history.pauses:
        eggs[_rows(begins - first + early, ends - first + early)] = 0.0
    workers = eggs * (1 - share) * np.array([draw.brood.worker_survive for draw in draws])
    drones = eggs * share * nest.drone_survive
    for one in history.left:
        at = one.day - first + early
        workers[_rows(at - nest.worker_open, at)] *= 1 - one.brood
        drones[_rows(at - nest.drone_open, at)] *= 1 - one.brood
    emerging = workers[early - nest.worker_open - nest.worker_capped :][:count].copy()
    for one in history.left:
        emerging[_rows(one.day - first, one.day - first + nest.worker_capped)] *= 1 - one.brood
    turning, dying = place.spread(place.turning, first, count), place.spread(place.winter_die, first, count)
    stays = {one.day - first: 1 - one.bees for one in history.left}
    heads, live = np.zeros(emerging.shape), 1 - bees.summer_die
    summer, winter = np.full(len(draws), FIRST_GUESS), np.zeros(len(draws))
    for t, (turned, die) in enumerate(zip(turning, dying, strict=True)):
        summer = summer * live + emerging[t] * (1 - turned)
        winter = winter * (1 - die) + emerging[t] * turned
        if t in stays:
            summer, winter = summer * stays[t], winter * stays[t]
        heads[t] = np.maximum(summer + winter, bees.never_below)
    capped = workers[early - nest.worker_open :], drones[early - nest.drone_open :]
    return heads[YEAR_DAYS:], capped[0][YEAR_DAYS:count], capped[1][YEAR_DAYS:count]


def _rows(first: int, end: int) -> slice:
    """The rows of an array from one to before another, as far as there are any."""
    return slice(max(first, 0), max(end, 0))


def _entering(nest: Nest, heads: Array, workers: Array, drones: Array) -> tuple[Array, Array]:
    """The shares of mites on bees that enter cells of workers and of drones."""
    by_worker, by_drone = nest.enters_worker * workers, nest.enters_drone * drones
    total = by_worker + by_drone
    some = total > 0.0
    # by the library of C, as one by one: numpy's own differs in the last place from one processor to the next
    stay = np.array([math.exp(one) for one in (-total[some] / (heads[some] * nest.bee_weight)).tolist()])
    share = np.zeros(total.shape)
    share[some] = (1 - stay) / total[some]
    return share * by_worker, share * by_drone


def _capped(workers: Array, nest: Nest) -> Array:
    """Whether any worker cell is capped at noon: one that was capped on the day before or some days before."""
    full = workers >= 1.0
    found = np.zeros(full.shape, dtype=bool)
    for days in range(1, nest.worker_capped + 1):
        found[days:] |= full[:-days]
    return found


@dataclass(frozen=True)
class ManyColonies:
    """Colonies of one history over the same days, a draw each, as arrays by day and draw: they lose bees alike.

    ``known`` are arrays that were made before, by what they are of (``which``) and their name.
    """

    nest: Nest
    colonies: Sequence[ColonyDays]
    lives: Sequence[Lives]
    known: dict[tuple[object, ...], Array] = field(default_factory=dict)
    which: tuple[object, ...] = ()

    def __post_init__(self) -> None:
        assert len({(one.first, len(one.bees), one.left) for one in self.colonies}) == 1

    @property
    def first(self) -> int:
        """The day (ordinal) of the arrays' first row."""
        return self.colonies[0].first

    def by_day(self, name: str) -> Array:
        """One of the colonies' lists, a row a day."""
        key = (*self.which, name)
        if key not in self.known:
            self.known[key] = np.array([getattr(one, name) for one in self.colonies], dtype=float).T.copy()
        return self.known[key]

    def of_lives(self, name: str) -> Array:
        """One figure of the draws' lives."""
        return np.array([getattr(one, name) for one in self.lives])


@dataclass(frozen=True)
class ManyBegin:
    """The first and last day (ordinals); by draw, mites to begin with, and those that come in a day."""

    days: tuple[int, int]
    mites: Sequence[float]
    coming: Sequence[float]


def runs(many: ManyColonies, begin: ManyBegin, handlings: Sequence[Handling]) -> list[Trace]:
    """The mites of each draw. All have the same trap combs, and no count is among what is done."""
    assert not any(one.anchors for one in handlings)
    assert len({one.traps for one in handlings}) == 1
    return _Runs(many, begin).go(np.array(begin.coming), handlings)


class _Runs:
    """As ``biology.mites.run._Run``, a place for each draw in every number."""

    def __init__(self, many: ManyColonies, begin: ManyBegin) -> None:
        self.many, self.nest, draws = many, many.nest, len(many.colonies)
        self.first, last = begin.days
        self.at, self.days = self.first - many.first, last - self.first + 1
        self.start = np.array(begin.mites)
        self.into_worker, self.into_drone = many.by_day("into_worker"), many.by_day("into_drone")
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
        cells = _total(self.workers, nest.worker_capped) + _total(self.drones, nest.drone_capped)
        waiting = _total(self.ready, nest.young_wait + 1)
        each = self.start / (1.0 + cells + waiting)
        self.ready[: nest.young_wait + 1] *= each
        self.workers[: nest.drone_capped] *= each
        self.drones[: nest.drone_capped] *= each
        self.free, self.waiting, self.in_cells = each.copy(), each * waiting, each * cells

    def go(self, coming: Array, handlings: Sequence[Handling]) -> list[Trace]:
        """Day by day."""
        at, nest, traps = self.at, self.nest, handlings[0]
        arrivals = coming * self.many.by_day("open_to_others")[at : at + self.days]
        brood = self.many.by_day("brood")[at : at + self.days]
        die = np.where(brood > 0.0, self.many.of_lives("die_with_brood"), self.many.of_lives("die_broodless"))
        on, inside = _kept_by_day(handlings, "on_bees"), _kept_by_day(handlings, "in_cells")
        cuts, laid = cuts_of(traps), open_combs(nest, traps)
        share = self.many.of_lives("in_trap_comb")
        left = {one.day: one for one in self.many.colonies[0].left}
        shape = (self.days, len(self.lived))
        everything, loose, entered, cut = (np.zeros(shape) for _ in range(4))
        for t in range(self.days):
            day = t + self.first
            if t:
                self._morning(t, die[t])
                self.free = self.free + arrivals[t]
            loose[t] = self.free + self.waiting
            everything[t] = loose[t] + self.in_cells
            if day in left:
                self._keep(t, 1 - left[day].bees, 1 - left[day].brood)
            if day in on or day in inside:
                self._keep(t, on.get(day, 1.0), inside.get(day, 1.0))
            worker, drone = self.free * self.into_worker[at + t], self.free * self.into_drone[at + t]
            self.free = self.free - (worker + drone)
            self.in_cells = self.in_cells + (worker + drone)
            self.workers[t + nest.worker_capped], self.drones[t + nest.drone_capped] = worker, drone
            entered[t] = worker
            for comb in laid.get(day, ()):
                self.held.setdefault(comb, {})[t + nest.drone_capped] = drone * (share / len(laid[day]))
            for comb in cuts.get(day, ()):
                cut[t] = cut[t] + self._cut(comb, t)
        rows = zip(*(one.T.tolist() for one in (everything, loose, entered, cut)), strict=True)
        return [Trace(self.first, a, b, c, d, NO_BOOKS) for a, b, c, d in rows]

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


def _total(rows: Array, many: int) -> Array:
    """The sum of the first rows, one after the other."""
    total: Array = np.zeros(rows.shape[1])
    for row in rows[:many]:
        total = total + row
    return total


def _kept_by_day(handlings: Sequence[Handling], name: str) -> Mapping[int, Array]:
    """Shares kept, by day, a place for each draw."""
    rows = [getattr(one, name) for one in handlings]
    days = sorted({day for row in rows for day in row})
    return {day: np.array([row.get(day, 1.0) for row in rows]) for day in days}
