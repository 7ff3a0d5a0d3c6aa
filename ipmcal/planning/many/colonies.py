"""Colonies: the bees and cells of many draws of one history at once, the same to the bit as one by one.

In: marks, a history, figures, draws, the days asked for. Out: ``ColonyColumns``. Pure; numpy, draw by draw in the order
of ``biology/mites/colony.py``, which says what a day is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ipmcal.biology.mites.colony import FIRST_GUESS, LEAD, History, Leaving, colony
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures, Nest
from ipmcal.biology.mites.year import YEAR_DAYS, Knots, Marks, dearth_knots, laying_knots, place_curves, year_of
from ipmcal.planning.many.columns import BY_DRAW, Array, ColonyColumns


def colonies(
    marks: Marks, history: History, figures: MiteFigures, draws: Sequence[Draw], days: tuple[int, int]
) -> ColonyColumns:
    """Colonies of one history, a draw each, over the same days (ordinals). Raises ValueError as ``colony``."""
    began = history.began
    if began and began.day > days[1]:
        colony(marks, history, figures, draws[0], days)  # it says what is amiss
    of, runs_from = _laying(marks, figures, draws), max(days[0], began.day) if began else days[0]
    first, count = runs_from - LEAD, days[1] - runs_from + LEAD + 1
    laid = _begun(of, history, figures, days[1]) if began else _overwintered(of, history, figures, days)
    bees, workers, drones = (column[-count:] for column in laid)
    entering = _entering(figures.nest, bees, workers, drones)
    arrays = (bees, workers, drones, *entering, _capped(workers, figures.nest).astype(float))
    place = year_of(marks, figures, draws[0].brood)
    winter = [bool(cell) for cell in place.spread([float(cell) for cell in place.winter_cells], first, count)]
    is_open = place.spread(place.open_to_others, first, count)
    named = dict(zip(BY_DRAW, arrays, strict=True))
    return ColonyColumns(first, runs_from, named, winter, is_open, history.left)


@dataclass(frozen=True)
class _Laying:
    """Eggs a day and the share of them that are drones, a row for each day of a year from ``origin`` and a column for
    each draw; the share of workers that live to be capped; by day, bees that turn to winter bees, and those that die.
    """

    origin: int
    eggs: Array
    drones: Array
    survive: Array
    turning: list[float]
    dying: list[float]

    def rows(self, first: int, days: int) -> list[int]:
        """The rows of so many days from an ordinal on."""
        return [(first + t - self.origin) % YEAR_DAYS for t in range(days)]


def _laying(marks: Marks, figures: MiteFigures, draws: Sequence[Draw]) -> _Laying:
    broods = [draw.brood for draw in draws]
    of_place, turning, dying, _, _ = place_curves(marks, figures.seasonal, figures.bees)
    laying = _curves([laying_knots(marks, figures.shape, one.least) for one in broods], marks.origin)
    dearth = _curves([dearth_knots(marks, figures.seasonal, one.less_in_dearth) for one in broods], marks.origin)
    eggs = np.array([one.peak for one in broods]) * laying * dearth
    drones = np.array([one.drones for one in broods]) * np.array(of_place)[:, None]
    return _Laying(marks.origin, eggs, drones, np.array([one.worker_survive for one in broods]), turning, dying)


def _curves(many: Sequence[Knots], origin: int) -> Array:
    """The curves of many draws whose knots have the same days, a column each: as ``biology.mites.year.curve``."""
    days, values = [many[0][0][0]], np.array([[value for _, value in knots] for knots in many]).T
    if len(values) == 1:
        return np.repeat(values, YEAR_DAYS, axis=0)
    for day, _ in many[0][1:]:
        days.append(max(day, days[-1] + 1))
    days.append(max(days[0] + YEAR_DAYS, days[-1] + 1))
    values = np.concatenate([values, values[:1]])
    made = np.zeros((YEAR_DAYS, len(many)))
    for left, right, low, high in zip(days, days[1:], values, values[1:], strict=False):
        on = np.arange(left, min(right, days[0] + YEAR_DAYS))
        made[(on - origin) % YEAR_DAYS] = low + (high - low) * (on - left)[:, None] / (right - left)
    return made


def _overwintered(
    of: _Laying, history: History, figures: MiteFigures, days: tuple[int, int]
) -> tuple[Array, Array, Array]:
    """Bees, and cells of workers and drones capped, a row a day, up to the last day."""
    nest, bees = figures.nest, figures.bees
    early, first = max(nest.worker_open + nest.worker_capped, nest.drone_open), days[0] - LEAD - YEAR_DAYS
    count = days[1] - first + 1
    rows = of.rows(first - early, count + early)
    eggs, share = of.eggs[rows], of.drones[rows]
    for begins, ends in history.pauses:
        eggs[_rows(begins - first + early, ends - first + early)] = 0.0
    workers = eggs * (1 - share) * of.survive
    drones = eggs * share * nest.drone_survive
    for one in history.left:
        _leave(workers, one.day - first + early - nest.worker_open, nest.worker_open, one)
        _leave(drones, one.day - first + early - nest.drone_open, nest.drone_open, one)
    emerging = workers[early - nest.worker_open - nest.worker_capped :][:count].copy()
    for one in history.left:
        _leave(emerging, one.day - first, nest.worker_capped, one)
    stays = {one.day - first: 1 - one.bees for one in history.left}
    heads, live = np.zeros(emerging.shape), 1 - bees.summer_die
    summer, winter = np.full(emerging.shape[1], FIRST_GUESS), np.zeros(emerging.shape[1])
    for t, row in enumerate(rows[early:]):
        turned, die = of.turning[row], of.dying[row]
        summer = summer * live + emerging[t] * (1 - turned)
        winter = winter * (1 - die) + emerging[t] * turned
        if t in stays:
            summer, winter = summer * stays[t], winter * stays[t]
        heads[t] = np.maximum(summer + winter, bees.never_below)
    return heads, workers[early - nest.worker_open :][:count], drones[early - nest.drone_open :][:count]


def _begun(of: _Laying, history: History, figures: MiteFigures, last: int) -> tuple[Array, Array, Array]:
    """As ``_overwintered``, for colonies that begin ``LEAD`` days after the first row; laying goes by the bees too."""
    began, nest, bees = history.began, figures.nest, figures.bees
    assert began is not None
    first = began.day - LEAD
    rows = of.rows(first, last - first + 1)
    wanted, share = of.eggs[rows], of.drones[rows]
    early = wanted[:LEAD] * began.brood
    for begins, ends in history.pauses:
        wanted[_rows(begins - first, ends - first)] = 0.0
    going, shape = {one.day - first: one for one in history.left}, wanted.shape
    workers, drones, heads = np.zeros(shape), np.zeros(shape), np.full(shape, began.bees)
    emerging, out = np.zeros((len(rows) + LEAD, shape[1])), nest.worker_open + nest.worker_capped
    turned = of.turning[rows[LEAD]]
    summer, winter = np.full(shape[1], began.bees * (1 - turned)), np.full(shape[1], began.bees * turned)
    for t, row in enumerate(rows):
        eggs, drone = (early[t], share[t]) if t < LEAD else (np.zeros(shape[1]), np.zeros(shape[1]))
        if t >= LEAD:
            summer = summer * (1 - bees.summer_die) + emerging[t] * (1 - of.turning[row])
            winter = winter * (1 - of.dying[row]) + emerging[t] * of.turning[row]
            if t in going:
                summer, winter = summer * (1 - going[t].bees), winter * (1 - going[t].bees)
                _leave(workers, t - nest.worker_open, nest.worker_open, going[t])
                _leave(drones, t - nest.drone_open, nest.drone_open, going[t])
                _leave(emerging, t, out, going[t])
            heads[t] = np.maximum(summer + winter, bees.never_below)
            if t + first >= began.lays:
                eggs = np.minimum(wanted[t], bees.eggs_a_bee * heads[t])
            drone = np.where(heads[t] >= bees.drones_from, share[t], 0.0)
        workers[t] = eggs * (1 - drone) * of.survive
        drones[t] = eggs * drone * nest.drone_survive
        if t + out < len(emerging):
            emerging[t + out] = workers[t]
    return heads, _later(workers, nest.worker_open), _later(drones, nest.drone_open)


def _leave(rows: Array, first: int, days: int, one: Leaving) -> None:
    """Takes out the share of brood that leaves, of so many days from one on."""
    rows[_rows(first, first + days)] *= 1 - one.brood


def _later(laid: Array, days: int) -> Array:
    """By day of capping what is listed by day of laying."""
    return np.concatenate([np.zeros((days, laid.shape[1])), laid])[: len(laid)]


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
