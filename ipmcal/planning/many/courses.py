"""Courses: what they do to mites in many draws of one colony, the same to the bit as one by one.

In: handlings, courses, colonies of one history, a draw each. Out: handlings. Pure; in the order of
``biology/mites/courses.py``, which says what a course does. The searches for the hazards of a contact product go on
side by side, a step at a time.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import replace

from ipmcal.biology.mites.courses import handled, solving
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import UNHANDLED, Handling, MiteCourse, MiteReach
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, shares_left, stacked

_Search = Generator[float, float, float]


def handled_by_draw(
    handlings: Sequence[Handling],
    courses: Sequence[MiteCourse],
    figures: MiteFigures,
    many: ManyColonies,
    draws: Sequence[Draw],
) -> list[Handling]:
    """A handling a draw, with courses added, each with its kill in that draw."""
    found = list(handlings)
    for course in courses:
        if course.reach is MiteReach.CONTACT:
            daily = hazards(course, figures, many, draws)
            days = range(course.first, course.first + course.days)
            found = [one.with_kept(dict.fromkeys(days, 1 - kill)) for one, kill in zip(found, daily, strict=True)]
        else:
            rows = zip(found, many.colonies, draws, strict=True)
            found = [handled(one, [course], figures, colony, draw) for one, colony, draw in rows]
    return found


def hazards(course: MiteCourse, figures: MiteFigures, many: ManyColonies, draws: Sequence[Draw]) -> list[float]:
    """The daily hazard of a contact product in each draw, as ``biology.mites.courses.hazard``."""
    last, colony = course.first + course.days, many.colonies[0]
    kills = [draw.kill(course.low, course.high, course.luck) for draw in draws]
    if not colony.runs_from <= course.first <= last <= colony.last:
        return [0.0] * len(kills)
    begin = ManyBegin((course.first, last), [1.0] * len(kills), [0.0] * len(kills))
    most = figures.acting.most_a_day
    found = [0.0] * len(kills)
    searches = {n: solving(1 - kill, most, course.days) for n, kill in enumerate(kills) if kill > 0}
    asked = {n: next(search) for n, search in searches.items()}
    while asked:
        found = [asked.get(n, daily) for n, daily in enumerate(found)]
        left = shares_left(many, begin, stacked([_each_day(course, daily) for daily in found]))
        for n in list(asked):
            _ask_on(n, searches[n], left[n], asked, found)
    return found


def _ask_on(n: int, search: _Search, left: float, asked: dict[int, float], found: list[float]) -> None:
    """Tell a search what its hazard leaves; it asks for another, or has found it."""
    try:
        asked[n] = search.send(left)
    except StopIteration as end:
        found[n] = float(end.value)
        del asked[n]


def _each_day(course: MiteCourse, daily: float) -> Handling:
    return replace(UNHANDLED, on_bees=dict.fromkeys(range(course.first, course.first + course.days), 1 - daily))
