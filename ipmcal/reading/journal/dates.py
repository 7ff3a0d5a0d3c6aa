"""Dates as keepers and their spreadsheets write them: ``22.05.2027``, ``5/22/2027``, ``22-May-27``, ``2027/05/22``.

In: the cells of a column. Out: days (ordinals), or what is wrong. A date that can be read in two ways is not guessed:
the other lines of its column decide it, where they all agree; else it is a complaint with both readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache

from ipmcal.model.values.forms import YEARS, iso_date
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import MONTHS

CENTURY = 2000
"""A year of two digits lies in this century."""
SHORTEST = 3
"""A month's name has at least so many letters."""
EPOCH = date(1899, 12, 30)
"""Day 0 of the day numbers by which spreadsheets keep dates."""

_ISO = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_DOTS = re.compile(r"([0-9]{1,2})\. ?([0-9]{1,2})\. ?([0-9]{4}|[0-9]{2})")
_SLASHES = re.compile(r"([0-9]{1,2})([-/])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})")
_DAY_FIRST = re.compile(r"([0-9]{1,2})[. -]+([A-Za-z]+)[., -]+([0-9]{4}|[0-9]{2})")
_MONTH_FIRST = re.compile(r"([A-Za-z]+)[. -]+([0-9]{1,2})[, -]+([0-9]{4}|[0-9]{2})")
_MIDNIGHT = re.compile(r"[T ]0?0:00(?::00(?:\.0+)?)?$")
_NUMBER = re.compile(r"[0-9]{5}")


def column_order(cells: Iterable[str]) -> str | None:
    """The order ("dmy" or "mdy") that the dates with slashes in a column all have.

    None where none of them tells, or where they disagree.
    """
    told = set()
    for cell in set(cells):
        readings = _readings(_MIDNIGHT.sub("", cell.strip()))
        if len(readings) == 1:
            told |= set(readings)
    return told.pop() if len(told) == 1 else None


@lru_cache(maxsize=4096)
def read_day(text: str, order: str | None = None) -> int:
    """A date as an ordinal; ``order`` decides one with slashes that can be read in two ways. Raises ValueError."""
    plain = _MIDNIGHT.sub("", text.strip())
    readings = _readings(plain)
    days = set(readings.values())
    if len(days) == 1 or order in readings:
        return (days.pop() if len(days) == 1 else readings[order or ""]).toordinal()
    if days:
        both = " or ".join(one.isoformat() for one in dict.fromkeys(readings.values()))
        raise ValueError(f"{quoted(text)} can be {both}; write it as the one that is meant")
    return _only_way(plain, text).toordinal()


def _readings(text: str) -> dict[str, date]:
    """The dates that a text with slashes (or dashes) and the year at its end may stand for, by their order."""
    match = _SLASHES.fullmatch(text)
    if not match:
        return {}
    a, b, c = int(match[1]), int(match[3]), _year(match[4])
    ways = {"dmy": (c, b, a), "mdy": (c, a, b)}
    found = {order: _date(*way) for order, way in ways.items()}
    return {order: one for order, one in found.items() if one is not None}


def _only_way(plain: str, text: str) -> date:
    """A date of which only one reading can be. Raises ValueError."""
    if match := _ISO.fullmatch(plain):
        return iso_date(f"{match[1]}-{match[3]:0>2}-{match[4]:0>2}")
    if match := _DOTS.fullmatch(plain):
        return iso_date(f"{_year(match[3])}-{match[2]:0>2}-{match[1]:0>2}")
    named = _DAY_FIRST.fullmatch(plain), _MONTH_FIRST.fullmatch(plain)
    for match, day, name in ((named[0], 1, 2), (named[1], 2, 1)):
        if match and (month := _month(match[name])):
            return iso_date(f"{_year(match[3])}-{month:02}-{match[day]:0>2}")
    if _NUMBER.fullmatch(plain):
        meant = EPOCH + timedelta(days=int(plain))
        raise ValueError(f"{quoted(text)} is a spreadsheet's number of a day ({meant}?); write it as a date")
    return iso_date(text)


def _year(text: str) -> int:
    return CENTURY + int(text) if len(text) < len("2027") else int(text)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day) if YEARS[0] <= year <= YEARS[1] else None
    except ValueError:
        return None


def _month(name: str) -> int:
    """1 to 12 for a month's English name, or the beginning of it; 0 for any other word."""
    if len(name) < SHORTEST:
        return 0
    return next((i for i, month in enumerate(MONTHS, 1) if month.lower().startswith(name.lower())), 0)
