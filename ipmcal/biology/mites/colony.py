"""A colony day by day, without its mites: bees, cells capped, and the share of mites on bees that go into them.

In: marks, what happened to the colony, figures, a draw, the days asked for. Out: a ``ColonyDays``. Made once for each
history and draw; every run of mites (``run.py``) uses it. No damage by mites or treatments is fed back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures, Nest
from ipmcal.biology.mites.year import YEAR_DAYS, Marks, Year, year_of

LEAD = 25
"""Days before the first on which mites may run: cells that are capped then have been entered since."""
FIRST_GUESS = 10000.0
"""Bees a year before the first day; a year later nothing is left of the guess."""


@dataclass(frozen=True, slots=True)
class Founded:
    """A colony made this season, on ``day`` (ordinal), of ``bees`` bees.

    ``brood`` is the share of a full colony's brood of that day that it begins with (0 for a package or a swarm);
    ``lays`` the first day with eggs of its own.
    """

    day: int
    bees: float
    brood: float
    lays: int


@dataclass(frozen=True, slots=True)
class Leaving:
    """Bees that leave on ``day`` with a swarm or a split: a share of the bees, and of the brood (0 to below 1)."""

    day: int
    bees: float
    brood: float


@dataclass(frozen=True, slots=True)
class History:
    """What a colony's brood knows of: how it began (None: overwintered), pauses in laying, and what left it.

    ``pauses`` are (first day without eggs, first day with eggs again): a cage, a lost queen, a swarm or split that
    raises its own. Hives of equal history share one colony and one run a draw.
    """

    began: Founded | None = None
    pauses: tuple[tuple[int, int], ...] = ()
    left: tuple[Leaving, ...] = ()


OVERWINTERED = History()


@dataclass(frozen=True, slots=True)
class ColonyDays:
    """Lists by day, index 0 being ordinal ``first``; mites may run from ``runs_from`` on.

    ``bees`` on that day; ``worker_cells`` and ``drone_cells`` capped on it; ``into_worker`` and ``into_drone`` the
    shares of mites on bees that enter them; ``brood``: anything of workers capped; ``winter_cells``: cells capped that
    day hold winter bees; ``open_to_others``: 1.0 on days on which mites may come in, else 0.0.
    """

    first: int
    runs_from: int
    bees: list[float]
    worker_cells: list[float]
    drone_cells: list[float]
    into_worker: list[float]
    into_drone: list[float]
    brood: list[bool]
    winter_cells: list[bool]
    open_to_others: list[float]
    left: tuple[Leaving, ...]

    @property
    def last(self) -> int:
        """The last day (ordinal)."""
        return self.first + len(self.bees) - 1


def colony(marks: Marks, history: History, figures: MiteFigures, draw: Draw, days: tuple[int, int]) -> ColonyDays:
    """A colony from the first of ``days`` to the last (ordinals), or from its beginning if that is later.

    Raises ValueError where it begins after the last day.
    """
    began = history.began
    runs_from = max(days[0], began.day) if began else days[0]
    if runs_from > days[1]:
        raise ValueError(f"a colony that begins on {runs_from} has no days until {days[1]}")
    year = year_of(marks, figures, draw.brood)
    if began:
        first = began.day - LEAD
        grown = _begun(year, history, figures, draw, first, days[1] - first + 1)
    else:
        first = days[0] - LEAD - YEAR_DAYS
        grown = _overwintered(year, history, figures, draw, first, days[1] - first + 1)
    cut = runs_from - LEAD - first
    bees, workers, drones = (column[cut:] for column in grown)
    return _entered(figures.nest, year, history, (runs_from, bees, workers, drones))


def _entered(
    nest: Nest, year: Year, history: History, grown: tuple[int, list[float], list[float], list[float]]
) -> ColonyDays:
    runs_from, bees, workers, drones = grown
    first, into_worker, into_drone = runs_from - LEAD, [], []
    for heads, w, d in zip(bees, workers, drones, strict=True):
        by_worker, by_drone = nest.enters_worker * w, nest.enters_drone * d
        total = by_worker + by_drone
        if total > 0.0:
            share = (1 - math.exp(-total / (heads * nest.bee_weight))) / total
            into_worker.append(share * by_worker)
            into_drone.append(share * by_drone)
        else:
            into_worker.append(0.0)
            into_drone.append(0.0)
    return ColonyDays(
        first=first,
        runs_from=runs_from,
        bees=bees,
        worker_cells=workers,
        drone_cells=drones,
        into_worker=into_worker,
        into_drone=into_drone,
        brood=_brood(workers, nest.worker_capped),
        winter_cells=[bool(cell) for cell in year.spread([float(c) for c in year.winter_cells], first, len(bees))],
        open_to_others=year.spread(year.open_to_others, first, len(bees)),
        left=history.left,
    )


def _brood(workers: list[float], capped: int) -> list[bool]:
    """Whether any worker cell is capped at noon: one that was capped on the day before or up to ``capped`` before."""
    found, last = [], -capped - 1
    for t, cells in enumerate(workers):
        found.append(t - last <= capped)
        if cells >= 1.0:
            last = t
    return found


def _paused(eggs: list[float], history: History, first: int) -> None:
    for begins, ends in history.pauses:
        for t in range(max(begins - first, 0), min(ends - first, len(eggs))):
            eggs[t] = 0.0


def _overwintered(
    year: Year, history: History, figures: MiteFigures, draw: Draw, first: int, days: int
) -> tuple[list[float], list[float], list[float]]:
    """Bees, and cells of workers and drones capped, by day. What was laid earlier is taken from the year."""
    nest, bees = figures.nest, figures.bees
    early = max(nest.worker_open + nest.worker_capped, nest.drone_open)
    eggs = year.spread(year.eggs, first - early, days + early)
    share = year.spread(year.drones, first - early, days + early)
    _paused(eggs, history, first - early)
    workers = [e * (1 - s) * draw.brood.worker_survive for e, s in zip(eggs, share, strict=True)]
    drones = [e * s * nest.drone_survive for e, s in zip(eggs, share, strict=True)]
    for one in history.left:
        _take_open(one, first - early, (workers, nest.worker_open), (drones, nest.drone_open))
    emerging = workers[early - nest.worker_open - nest.worker_capped :][:days]
    for one in history.left:
        _take_capped(one, emerging, first, nest.worker_capped)
    turning, dying = year.spread(year.turning, first, days), year.spread(year.winter_die, first, days)
    stays = {one.day - first: 1 - one.bees for one in history.left}
    heads, summer, winter, live = [], FIRST_GUESS, 0.0, 1 - bees.summer_die
    for t, (out, turned, die) in enumerate(zip(emerging, turning, dying, strict=True)):
        summer = summer * live + out * (1 - turned)
        winter = winter * (1 - die) + out * turned
        if t in stays:
            summer, winter = summer * stays[t], winter * stays[t]
        heads.append(max(summer + winter, bees.never_below))
    return heads, workers[early - nest.worker_open :][:days], drones[early - nest.drone_open :][:days]


def _begun(
    year: Year, history: History, figures: MiteFigures, draw: Draw, first: int, days: int
) -> tuple[list[float], list[float], list[float]]:
    """As ``_overwintered``, for a colony that begins ``LEAD`` days after ``first``; laying goes by the bees too."""
    began, nest, bees = history.began, figures.nest, figures.bees
    assert began is not None
    wanted, share = year.spread(year.eggs, first, days), year.spread(year.drones, first, days)
    early = [eggs * began.brood for eggs in wanted[:LEAD]]
    _paused(wanted, history, first)
    turning, dying = year.spread(year.turning, first, days), year.spread(year.winter_die, first, days)
    going = {one.day - first: one for one in history.left}
    workers, drones, heads, emerging = [0.0] * days, [0.0] * days, [began.bees] * days, [0.0] * (days + LEAD)
    summer, winter = began.bees * (1 - turning[LEAD]), began.bees * turning[LEAD]
    for t in range(days):
        if t < LEAD:
            eggs, drone = early[t], share[t]
        else:
            summer = summer * (1 - bees.summer_die) + emerging[t] * (1 - turning[t])
            winter = winter * (1 - dying[t]) + emerging[t] * turning[t]
            if t in going:
                summer, winter = summer * (1 - going[t].bees), winter * (1 - going[t].bees)
                _take_open(going[t], first, (workers, nest.worker_open), (drones, nest.drone_open))
                _take_capped(going[t], emerging, first, nest.worker_open + nest.worker_capped)
            heads[t] = max(summer + winter, bees.never_below)
            eggs = min(wanted[t], bees.eggs_a_bee * heads[t]) if t + first >= began.lays else 0.0
            drone = share[t] if heads[t] >= bees.drones_from else 0.0
        workers[t] = eggs * (1 - drone) * draw.brood.worker_survive
        drones[t] = eggs * drone * nest.drone_survive
        if t + nest.worker_open + nest.worker_capped < len(emerging):
            emerging[t + nest.worker_open + nest.worker_capped] = workers[t]
    return heads, _later(workers, nest.worker_open), _later(drones, nest.drone_open)


def _take_open(one: Leaving, first: int, *castes: tuple[list[float], int]) -> None:
    """Takes out what leaves of eggs and open brood, listed by day of laying, each caste with its days open."""
    at = one.day - first
    for laid, days in castes:
        for t in range(max(at - days, 0), min(at, len(laid))):
            laid[t] *= 1 - one.brood


def _take_capped(one: Leaving, emerging: list[float], first: int, days: int) -> None:
    """Takes out what leaves of brood that emerges within ``days`` from that day on."""
    at = one.day - first
    for t in range(max(at, 0), min(at + days, len(emerging))):
        emerging[t] *= 1 - one.brood


def _later(laid: list[float], days: int) -> list[float]:
    """By day of capping what is listed by day of laying."""
    return ([0.0] * days + laid)[: len(laid)]
