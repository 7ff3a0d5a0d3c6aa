"""Courses: what they do to mites in many draws of one colony, the same to the bit as one by one.

In: what is done, courses, colonies of one history, a draw each. Out: ``ManyHandlings``. Pure; numpy, in the order of
``biology/mites/courses.py``, which says what a course does. The searches for the hazards of a contact product go on
side by side, a step at a time.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ipmcal.biology.mites.courses import kept_of_dose, solving
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import MiteCourse, MiteReach
from ipmcal.planning.many.columns import Array
from ipmcal.planning.many.hazards import solved_at_once
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, runs


def handled_by_draw(
    done: ManyHandlings, courses: Sequence[MiteCourse], figures: MiteFigures, many: ManyColonies, draws: Sequence[Draw]
) -> ManyHandlings:
    """What is done, with courses added, each with its kill in each draw."""
    made = done.repeated(1)
    for course in courses:
        kills = [draw.kill(course.low, course.high, course.luck) for draw in draws]
        if course.reach is MiteReach.CELLS:
            rows = [kept_of_dose(course.first, kill, figures.acting.in_cells_by_day) for kill in kills]
            for day in rows[0]:
                kept = np.array([row[day] for row in rows])
                made.keep(day, kept, kept)
        elif course.reach is MiteReach.DOSE:
            made.keep(course.first, 1.0 - np.array(kills))
        else:
            kept = 1.0 - np.array(hazards(course, kills, figures, many))
            for day in range(course.first, course.first + course.days):
                made.keep(day, kept)
    return made


def hazards(course: MiteCourse, kills: Sequence[float], figures: MiteFigures, many: ManyColonies) -> list[float]:
    """The daily hazard of a contact product in each draw, as ``biology.mites.courses.hazard``."""
    last, columns = course.first + course.days, many.columns
    if not columns.runs_from <= course.first <= last < columns.first + len(columns.arrays["bees"]):
        return [0.0] * len(kills)
    felt = [n for n, kill in enumerate(kills) if kill > 0]
    searches = [solving(1 - kills[n], figures.acting.most_a_day, course.days) for n in felt]
    found = dict(zip(felt, solved_at_once(searches, lambda daily: _left(course, daily, felt, many)), strict=True))
    return [found.get(n, 0.0) for n in range(len(kills))]


def _left(course: MiteCourse, daily: Array, felt: Sequence[int], many: ManyColonies) -> Array:
    """The share of the mites of some draws that a hazard on each of a course's days leaves."""
    draws = len(many.lives)
    each = np.zeros(draws)
    each[felt] = daily
    done = ManyHandlings((), dict.fromkeys(range(course.first, course.first + course.days), 1.0 - each))
    begin = ManyBegin((course.first, course.first + course.days), [1.0] * draws, [0.0] * draws)
    made = runs(many, begin, done)
    left: Array = (made.all[-1] / (made.all[-1] + made.killed))[felt]
    return left
