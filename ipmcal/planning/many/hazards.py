"""Hazards: the daily hazards of many contact products in one colony at once, the same to the bit as one by one.

In: courses with their kills, a colony and its draw. Out: shares of mites on bees, by course. Pure; numpy. Each course
is a column whose first row is its own first day, so that all are run together.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence

import numpy as np

from ipmcal.biology.mites.colony import LEAD, ColonyDays
from ipmcal.biology.mites.courses import hazard, is_felt, solving
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.planning.many.columns import Array, ColonyColumns
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, runs


def hazards_at_once(
    asked: Sequence[tuple[MiteCourse, float]], figures: MiteFigures, colony: ColonyDays, draw: Draw
) -> list[float]:
    """The daily hazard of each course at which it kills its share: as ``biology.mites.courses.hazard``."""
    if colony.left:  # bees leave on a day of the year, and columns have none
        return [hazard(course, kill, figures, colony, draw) for course, kill in asked]
    felt = [(course, kill) for course, kill in asked if is_felt(course, kill, colony)]
    if not felt:
        return [0.0] * len(asked)
    many = ManyColonies(figures.nest, _columns([course for course, _ in felt], colony), [draw.lives] * len(felt))
    searches = [solving(1 - kill, figures.acting.most_a_day, course.days) for course, kill in felt]
    days = [course.days for course, _ in felt]
    solved = dict(zip(felt, solved_at_once(searches, lambda tried: _left(many, days, tried)), strict=True))
    return [solved.get(one, 0.0) for one in asked]


def solved_at_once(searches: Sequence[Generator[float, float, float]], left: Callable[[Array], Array]) -> list[float]:
    """What searches for hazards find, each told what its own leaves: ``left`` of all that are tried, found ones too."""
    tried, going = np.array([next(search) for search in searches]), set(range(len(searches)))
    while going:
        rest = left(tried).tolist()
        for n in sorted(going):
            try:
                tried[n] = searches[n].send(rest[n])
            except StopIteration as found:
                tried[n] = found.value
                going.discard(n)
    found_: list[float] = tried.tolist()
    return found_


def _columns(courses: Sequence[MiteCourse], colony: ColonyDays) -> ColonyColumns:
    """The colony from so long before each course's first day on as its brood is asked for, nothing behind its end."""
    rows = LEAD + max(course.days for course in courses) + 1

    def column(days: Sequence[float], course: MiteCourse) -> list[float]:
        at = course.first - LEAD - colony.first
        mine = days[at : at + rows]
        return [*mine, *[0.0] * (rows - len(mine))]

    lists = {name: getattr(colony, name) for name in ("bees", "into_worker", "into_drone", "brood")}
    arrays = {name: np.array([column(days, one) for one in courses], float).T.copy() for name, days in lists.items()}
    return ColonyColumns(-LEAD, 0, arrays, [False] * rows, [0.0] * rows, ())


def _left(many: ManyColonies, days: Sequence[int], daily: Array) -> Array:
    """Of all that each course meets, what is left the day after its last."""
    draws, last = len(days), max(days)
    lies = np.array(days)
    kept = {day: np.where(day < lies, 1 - daily, 1.0) for day in range(last)}
    done = runs(many, ManyBegin((0, last), [1.0] * draws, [0.0] * draws), ManyHandlings((), kept))
    there = done.all[lies, np.arange(draws)]
    left: Array = there / (there + done.killed)
    return left
