"""Enough: the authority's line, the days on which a year is judged by it, and what to say where courses do not do.

In: a season, thresholds, figures. Out: days, a line, words. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.count import Sample, Unit
from ipmcal.model.rules import Region, Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.mites.answers import YEAR
from ipmcal.planning.mites.walls import days_of
from ipmcal.planning.tally import Count, Yardstick, ruling, yardstick

SAMPLE = 300
"""Bees of a wash that lines are asked for: a line is a rate, so that any number gives the same."""


def judged_days(season: Season, region: Region, book: Rulebook) -> tuple[int, ...]:
    """The days (ordinals, in the year from the season's first day) on whose worst a year is judged."""
    figures = book.planning.year_plans.enough
    step = days_of(figures.judged_each)
    if region.rarely_broodless:
        return tuple(range(season.first, season.first + YEAR, step))
    begins = season.marks["winter_bee_rearing_start"].begins.usual
    first, last = figures.judged.value.low, figures.judged.value.high
    days = range(begins + round(first or 0), begins + round(last or 0) + 1, step)
    return tuple(sorted(season.first + (day - season.first) % YEAR for day in days))


def line_of(season: Season, jurisdiction: str, book: Rulebook, days: tuple[int, ...]) -> float | None:
    """The lowest line at which an authority treats on any of some days, in mites a bee; None where none is known."""
    stick = yardstick(season, jurisdiction, book)
    return min(_lines(stick, days), default=None)


def _lines(stick: Yardstick, days: tuple[int, ...]) -> Iterator[float]:
    for day in days:
        found = ruling(Count("", day, Sample(0, SAMPLE, Unit.BEES), "overwintered"), stick)
        if found is not None and found.rule.line is not None:
            threshold = found.rule.line.value
            yield float(threshold.mites / threshold.of)
