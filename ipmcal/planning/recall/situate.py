"""Situate: the region's season at a yard, and the days on which its keeper can come.

In: a yard, the rulebook, what was seen there. Out: ``Season``, ``KeeperDays``. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ipmcal.model.outfit.outfit import Event, Yard
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import KeeperDays
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, season_at, season_year


def season_of(yard: Yard, book: Rulebook, as_of: int, year: int | None, lines: Sequence[Event] = ()) -> Season:
    """Situate: the region's season, moved to the yard, and by what ``lines`` say was seen there up to ``as_of``."""
    region = book.regions[yard.region]
    site = Site(yard.latitude, yard.longitude, yard.elevation)
    if year is None:
        year = season_year(region, as_of, int(book.planning.next_season_within.value.middle))
    observed = _observed(yard, book, as_of, year, lines)
    readings = {day: pair for day, pair in yard.readings.items() if day < as_of}
    return season_at(region, book.marks, book.planning, site, year, observed, readings)


def _observed(yard: Yard, book: Rulebook, as_of: int, year: int, lines: Sequence[Event]) -> dict[str, int]:
    """The first day on which each mark was seen in a season, from the yard's file and from lines."""
    first = book.regions[yard.region].season[0].in_year(year)
    seen = [(event.value, event.day) for event in lines if book.events[event.word].effect == "marks_season"]
    days: dict[str, int] = {}
    for mark, day in (*yard.observed.items(), *seen):
        if first <= day <= as_of:
            days[mark] = min(day, days.get(mark, day))
    return days


def keeper_days(yard: Yard, first: int, last: int) -> KeeperDays:
    """The days from ``first`` to ``last`` on which the keeper can come."""
    away = {day for begin, end in yard.away for day in range(max(begin, first), min(end, last) + 1)}
    days = (d for d in range(first, last + 1) if d not in away)
    return KeeperDays(tuple(d for d in days if yard.weekdays is None or date.fromordinal(d).weekday() in yard.weekdays))
