"""Enough: a year after whose courses too many hives would be over the line is never called enough. In: a plan.

The full model lives the courses on the days that packing chose, kept up year after year, by draws that did not choose
them. One in five is the bound that the rules set (``planning.yaml``, ``enough.over``: an assumption); draws are few, so
that twice their standard error is let pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.ahead import settled
from ipmcal.planning.ahead.drawn import (
    OLD,
    DrawnYear,
    YardSeason,
    line_on,
    lines_between,
    load_is_over,
    pictures_of,
    seasons_of,
)
from ipmcal.planning.ahead.given import courses_given
from ipmcal.planning.mites.enough import judged_days

SHORT = because_words(Because(Code.YEAR_NOT_ENOUGH, (0,))).partition(":")[0]
"""How a year that is not enough is told."""
A_MONTH = 31
EXCUSED = 14
"""Days in which a course just begun has had no time to work: a count over the line asks for no other (practice)."""


def called_enough(plan: Plan, outfit: Outfit, book: Rulebook) -> Iterator[str]:
    """The yards whose year is too little for hives that came through winter, and is not told to be.

    Asked of yards for which courses are chosen, of seasons that begin: of one that ends, what was given before the
    first plan is not known.
    """
    for one in seasons_of(outfit, book, plan):
        if not 0 <= plan.as_of - one.ground.season.first < A_MONTH:
            continue
        yard = one.ground.yard
        if not (book.programs[yard.program].treatments if yard.treatments is None else yard.treatments):
            continue  # who counts alone is promised nothing
        said = any(words.startswith(SHORT) for c in plan.choosing if c.yard == yard.key for words in c.left)
        for drawn in () if said else (made for made in pictures_of(one) if made.picture.kind == OLD):
            share, draws = share_over(one, drawn)
            figures = book.planning.year_plans.enough
            most = (figures.over.value.middle + figures.error.value.middle) / 100
            if share > most + 2 * sqrt(most * (1 - most) / draws):
                yield f"{yard.key}: {share:.0%} of hives over the line, and it is called enough"


def share_over(one: YardSeason, drawn: DrawnYear) -> tuple[float, int]:
    """The share of hives and draws over the line on the worst day of the settled year, and how many they are."""
    lines = tuple(lines_between(one.ground, one.days))
    excused = EXCUSED if one.region.rarely_broodless else -1
    over: dict[int, int] = {}
    many = 0
    for state in drawn.states:
        begun = [course.use.first for course in courses_given(one.work[state.colony.key])]
        judged = (day for day in judged_days(one.ground.season, one.region, one.ground.book) if day <= one.days[1])
        days = [day for day in judged if line_on(lines, day) is not None]
        days = [day for day in days if not any((first - day) % YEAR_DAYS <= excused for first in begun)]
        for year in settled._years(one, state, drawn.place.draws):
            many += 1
            loads = year.loads(year.settled(one.ground.book.planning.year_plans.enough.settled_most.value.middle), days)
            for day, load in zip(days, loads, strict=True):
                over[day] = over.get(day, 0) + load_is_over(settled.EACH * load, line_on(lines, day))
    return (max(over.values(), default=0) / many if many else 0.0), max(many, 1)
