"""Colonies: the bees and cells of many draws of one history at once, the same to the bit as one by one.

In: marks, a history, figures, draws, the days asked for. Out: a ``ColonyDays`` a draw. Pure; numpy, draw by draw in the
order of ``biology/mites/colony.py``, which says what a day is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ipmcal.biology.mites.colony import FIRST_GUESS, LEAD, ColonyDays, History, colony
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures, Nest
from ipmcal.biology.mites.year import YEAR_DAYS, Knots, Marks, dearth_knots, laying_knots, of_place, year_of

Array: TypeAlias = npt.NDArray[np.float64]


def colonies(
    marks: Marks, history: History, figures: MiteFigures, draws: Sequence[Draw], days: tuple[int, int]
) -> list[ColonyDays]:
    """Colonies of one history, a draw each, over the same days (ordinals). Raises ValueError as ``colony``."""
    if history.began is not None or not draws:
        return [colony(marks, history, figures, draw, days) for draw in draws]
    place = year_of(marks, figures, draws[0].brood)
    laid = _laid(marks, history, figures, draws, days)
    arrays = (*laid, *_entering(figures.nest, *laid), _capped(laid[1], figures.nest))
    first, count = days[0] - LEAD, days[1] - days[0] + LEAD + 1
    winter = [bool(cell) for cell in place.spread([float(cell) for cell in place.winter_cells], first, count)]
    is_open = place.spread(place.open_to_others, first, count)
    rows = zip(*(one.T.tolist() for one in arrays), strict=True)
    return [
        ColonyDays(first, days[0], bees, workers, drones, into_worker, into_drone, brood, winter, is_open, history.left)
        for bees, workers, drones, into_worker, into_drone, brood in rows
    ]


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


def _laid(
    marks: Marks, history: History, figures: MiteFigures, draws: Sequence[Draw], days: tuple[int, int]
) -> tuple[Array, Array, Array]:
    """Bees, and cells of workers and drones capped, a row a day, from ``LEAD`` days before the first on."""
    nest, bees, broods = figures.nest, figures.bees, [draw.brood for draw in draws]
    first, origin = days[0] - LEAD - YEAR_DAYS, marks.origin
    early, count = max(nest.worker_open + nest.worker_capped, nest.drone_open), days[1] - first + 1
    of_year = (np.arange(count + early) + first - early - origin) % YEAR_DAYS
    drones_of_place, turning, dying, _, _ = of_place(marks, figures.seasonal, figures.bees)
    laying = _curves([laying_knots(marks, figures.shape, one.least) for one in broods], origin)
    dearth = _curves([dearth_knots(marks, figures.seasonal, one.less_in_dearth) for one in broods], origin)
    eggs = (np.array([one.peak for one in broods]) * laying * dearth)[of_year]
    share = (np.array([one.drones for one in broods]) * np.array(drones_of_place)[:, None])[of_year]
    for begins, ends in history.pauses:
        eggs[_rows(begins - first + early, ends - first + early)] = 0.0
    workers = eggs * (1 - share) * np.array([one.worker_survive for one in broods])
    drones = eggs * share * nest.drone_survive
    for one in history.left:
        at = one.day - first + early
        workers[_rows(at - nest.worker_open, at)] *= 1 - one.brood
        drones[_rows(at - nest.drone_open, at)] *= 1 - one.brood
    emerging = workers[early - nest.worker_open - nest.worker_capped :][:count].copy()
    for one in history.left:
        emerging[_rows(one.day - first, one.day - first + nest.worker_capped)] *= 1 - one.brood
    stays = {one.day - first: 1 - one.bees for one in history.left}
    heads, live = np.zeros(emerging.shape), 1 - bees.summer_die
    summer, winter = np.full(len(draws), FIRST_GUESS), np.zeros(len(draws))
    for t, at in enumerate(of_year[early:].tolist()):
        turned, die = turning[at], dying[at]
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
