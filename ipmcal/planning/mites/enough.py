"""Enough: the authority's line, the days on which a year is judged by it, and what to say where courses do not do.

In: a season, thresholds, figures. Out: days, a line, words. Pure.
"""

from __future__ import annotations

import math

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.count import Sample, Unit
from ipmcal.place.season import Season
from ipmcal.planning.decide.tally import Count, Yardstick, ruling, yardstick
from ipmcal.planning.mites.walls import whole_days

SAMPLE = 300
"""Bees of a wash that lines are asked for: a line is a rate, so that any number gives the same."""


def judged_days(season: Season, region: Region, book: Rulebook) -> tuple[int, ...]:
    """The days (ordinals, in the year from the season's first day) on whose worst a year is judged."""
    figures = book.planning.year_plans.enough
    step = whole_days(figures.judged_each)
    if region.rarely_broodless:
        return tuple(range(season.first, season.first + YEAR_DAYS, step))
    begins = season.marks["winter_bee_rearing_start"].begins.usual
    first, last = figures.judged.value.low, figures.judged.value.high
    days = range(begins + round(first or 0), begins + round(last or 0) + 1, step)
    return tuple(sorted(season.first + (day - season.first) % YEAR_DAYS for day in days))


def lines_of(
    season: Season, jurisdiction: str, book: Rulebook, days: tuple[int, ...], region: Region | None = None
) -> tuple[float, ...]:
    """The line at which the authority treats on each of some days, in mites a bee; the lowest where it has none.

    Each day by its own: an authority that bears more in autumn than in spring says so of autumn alone.

    Where no authority gives a line for mites a bee, nothing is ever over it.
    """
    stick = yardstick(season, jurisdiction, book, region)
    found = [_line(stick, day) for day in days]
    lowest = min((line for line in found if line is not None), default=math.inf)
    return tuple(lowest if line is None else line for line in found)


def _line(stick: Yardstick, day: int) -> float | None:
    found = ruling(Count("", day, Sample(0, SAMPLE, Unit.BEES), "overwintered"), stick)
    if found is None or found.rule.line is None:
        return None
    threshold = found.rule.line.value
    return float(threshold.mites / threshold.of)
