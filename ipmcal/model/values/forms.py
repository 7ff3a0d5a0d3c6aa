"""The forms of values and bounds: from a scalar's text to a cited value, or to an error that teaches.

In: ``Text`` from a YAML file. Out: ``Cited`` values, ``Bound`` and ``ClockDay``. Every ValueError raised here says
what is wrong and shows an example; the reader adds file, line and column.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil, floor
from typing import Literal, TypeVar

from ipmcal.model.values.cited import Basis, Citation, Cited
from ipmcal.model.values.count import Threshold, Unit
from ipmcal.model.values.days import Span
from ipmcal.model.values.text import NOWHERE, Text, nearest, quoted

T = TypeVar("T")
Sources = Mapping[str, Basis]
"""What the forms need to know of ``sources.yaml``: the basis that a source has unless a citation says otherwise."""

UNITS = [
    *("d", "h", "min", "d/degree", "d/m"),
    *("°C", "°F", "°Cd", "°Fd"),
    *("mm", "cm", "m", "g", "kg", "mL", "L", "%", "1"),
    *("cells", "cells/cm2", "g/kcell", "g/cell", "frames", "brood_frames", "bee_frames", "years"),
    *("bees", "eggs/d", "mites", "mites/d"),
    *("strips", "trays", "wafers", "tablets", "pads", "pouches", "evaporators"),
]
_UNIT_SPELLINGS = {
    "C": "°C",
    "F": "°F",
    "Cd": "°Cd",
    "Fd": "°Fd",
    "ml": "mL",
    "l": "L",
    "days": "d",
    "day": "d",
    "year": "years",
    "strip": "strips",
    "tray": "trays",
    "wafer": "wafers",
    "tablet": "tablets",
    "pad": "pads",
    "pouch": "pouches",
    "evaporator": "evaporators",
}
YEARS = (1900, 2199)
"""The first and the last year that a date may lie in: dates beyond are slips of the pen."""
LEAP_YEAR = 2024

# Numbers are kept short, so that no day falls out of the calendar and no sum overflows.
NUMBER = r"-?[0-9]{1,7}(?:\.[0-9]{1,7})?"
_AMOUNT = re.compile(
    rf"(?:(?P<one>{NUMBER})|(?P<low>{NUMBER})?\.\.(?:(?P<usual>{NUMBER})\.\.)?(?P<high>{NUMBER})?)(?:\s+(?P<unit>\S+))?"
)
_CITE = re.compile(r"@?(?P<source>[a-z][a-z0-9_]*)(?::(?P<locus>[^\s/@]+))?(?:/(?P<basis>[a-z]+))?")
_MONTH_DAY = re.compile(r"([0-9]{2})-([0-9]{2})")
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_SPREAD = re.compile(r"(?P<days>[^\s±+]+)(?:\s*(?:±|\+-)\s*(?P<sd>[0-9]{1,3}(?:\.[0-9]{1,3})?)\s*d)?")
_COUNTED = r"[0-9]{1,7}(?:\.[0-9]{1,7})?"
_THRESHOLD = re.compile(rf"(?P<sign>at|above) (?P<mites>{_COUNTED}) in (?P<of>{_COUNTED}) (?P<unit>\S+)")
_ANCHOR = r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*){0,2}|[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{2}-[0-9]{2}"
_BOUND = re.compile(
    rf"(?:(?P<pick>earliest|usually|latest)\s+)?(?P<anchor>{_ANCHOR})(?:\s+(?P<sign>[+-])\s+(?P<days>[0-9]{{1,4}})\s+d)?"
)
_CLOCK = re.compile(rf"(?P<anchor>{_ANCHOR})(?:\s+\+\s+(?:(?P<range>[0-9][0-9.]*)\s+d|(?P<lag>[a-z_]+\.[a-z_]+)))?")

# Citations -----------------------------------------------------------------------------------------------------------


def citations(words: list[str], sources: Sources) -> tuple[Citation, ...]:
    """Citations as written (``@oba_leaflet:p2/memory``). Raises ValueError for a source or basis that is not known."""
    return tuple(_citation(word, sources) for word in words)


def _citation(word: str, sources: Sources) -> Citation:
    match = _CITE.fullmatch(word)
    if not match:
        raise ValueError(f"{quoted(word)} is not a citation; write @source, @source:place or @source:place/basis")
    source, basis = match["source"], match["basis"]
    if source not in sources:
        raise ValueError(f"the source {quoted(source)} is not in sources.yaml{nearest(source, sorted(sources))}")
    if basis and basis not in set(Basis):
        raise ValueError(f"{quoted(basis)} is not a basis{nearest(basis, list(Basis))}")
    return Citation(source, match["locus"] or "", Basis(basis) if basis else sources[source])


def split_citations(text: str, sources: Sources) -> tuple[str, tuple[Citation, ...]]:
    """The value's own words, and its citations: those behind it, else those of the nearest ``cite:`` above it.

    Raises ValueError where there are none. A ``cite:`` that can't be read is complained of where it stands, once.
    """
    body, at, rest = text.partition("@")
    own = ("@" + rest).split() if at else []
    above = getattr(text, "cite", "").split()
    if not own and not above:
        raise ValueError(f"{quoted(text)} has no source; write '@source' behind it, or 'cite: source' above it")
    if own:
        return " ".join(body.split()), citations(own, sources)
    try:
        return " ".join(body.split()), citations(above, sources)
    except ValueError:
        return " ".join(body.split()), ()


def _cited(text: str, value: T, cites: tuple[Citation, ...]) -> Cited[T]:
    return Cited(value, cites, getattr(text, "place", NOWHERE), getattr(text, "key", ""), str(text))


# Amounts -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Amount:
    """A number, a range or a limit with its unit; an open end is None. ``usual`` is None unless three were given."""

    low: float | None
    usual: float | None
    high: float | None
    unit: str

    @property
    def middle(self) -> float:
        """The usual value, else the middle of the range. Raises ValueError for an open range."""
        if self.usual is not None:
            return self.usual
        if self.low is None or self.high is None:
            raise ValueError(f"an open range has no middle: {self}")
        return (self.low + self.high) / 2

    @property
    def closed(self) -> bool:
        """True where both ends are given."""
        return self.low is not None and self.high is not None

    def __str__(self) -> str:
        low, high = ("" if end is None else f"{end:.14g}" for end in (self.low, self.high))
        usual = "" if self.usual is None else f"{self.usual:.14g}.."
        number = low if self.low == self.usual == self.high else f"{low}..{usual}{high}"
        return number if self.unit == "1" else f"{number} {self.unit}"


def parse_amount(text: str) -> Amount:
    """``5 mm``, ``2.3..2.6 cells/cm2``, ``1..3..7 d``, ``4.. frames``, ``..30 °C``; raises ValueError."""
    match = _AMOUNT.fullmatch(text)
    if not match or not (match["one"] or match["low"] or match["high"]) or (match["usual"] and not match["low"]):
        example = "a number or a range with its unit, such as '5 min', '15..40 °C', '1..3..7 d' or '4.. frames'"
        comma = "; decimals take a point" if re.search(r"[0-9],[0-9]", text) else ""
        raise ValueError(f"{quoted(text)} is not a quantity; write {example}{comma}")
    if match["usual"] and not match["high"]:
        raise ValueError(f"{quoted(text)} lacks its end; write three numbers as earliest..usual..latest")
    unit = _unit(match["unit"] or "1")
    low, usual, high = (None if match[k] is None else float(match[k]) for k in ("low", "usual", "high"))
    if match["one"]:
        low = usual = high = float(match["one"])
    given = [x for x in (low, usual, high) if x is not None]
    if given != sorted(given):
        raise ValueError(f"{quoted(text)} runs backwards: the earliest or smallest comes first")
    return Amount(low, usual, high, unit)


def _unit(word: str) -> str:
    unit = _UNIT_SPELLINGS.get(word, word)
    if unit not in UNITS:
        raise ValueError(f"{quoted(unit)} is not a unit{nearest(unit, UNITS)}")
    return unit


def amount(text: str, sources: Sources, unit: str | None = None) -> Cited[Amount]:
    """A cited amount, in ``unit`` where one is asked for (written in another: ValueError)."""
    body, cites = split_citations(text, sources)
    value = parse_amount(body)
    if unit is not None and value.unit != unit:
        if value.unit == "1":
            raise ValueError(f"{quoted(body)} has no unit; write '{body} {unit}'")
        asked = "is a plain number, without a unit" if unit == "1" else f"has to be in '{unit}'"
        raise ValueError(f"{quoted(body)} is in '{value.unit}'; what stands here {asked}")
    return _cited(text, value, cites)


def span_of_days(value: Amount) -> Span:
    """Days as a Span, rounded outward: low down, high up, usual half up; the middle of two is the usual.

    Hours are taken as parts of a day. Raises ValueError for another unit and for an open range.
    """
    if value.unit not in ("d", "h") or value.low is None or value.high is None:
        raise ValueError(f"'{value}' is not a closed range of days; write for example '1..3..7 d'")
    scale = 1 if value.unit == "d" else 24
    low, high = floor(value.low / scale), ceil(value.high / scale)
    return Span(low, min(max(floor(value.middle / scale + 0.5), low), high), high)


def days(text: str, sources: Sources) -> Cited[Span]:
    """A cited number of days as a Span, rounded outward."""
    body, cites = split_citations(text, sources)
    return _cited(text, span_of_days(parse_amount(body)), cites)


# Thresholds ----------------------------------------------------------------------------------------------------------


def threshold(text: str, sources: Sources) -> Cited[Threshold]:
    """``at 6 in 300 bees`` (so many or more), ``above 8 in 1 d`` (only more than that); raises ValueError."""
    body, cites = split_citations(text, sources)
    match = _THRESHOLD.fullmatch(body)
    if not match:
        example = "write 'at' (so many or more) or 'above', such as 'at 6 in 300 bees' or 'above 8 in 1 d'"
        raise ValueError(f"{quoted(body)} is not a threshold; {example}")
    if match["unit"] not in set(Unit):
        raise ValueError(f"mites are not counted in {quoted(match['unit'])}{nearest(match['unit'], list(Unit))}")
    mites, size = Fraction(match["mites"]), Fraction(match["of"])
    return _cited(text, Threshold(mites, size, Unit(match["unit"]), match["sign"] == "above"), cites)


# Days of the year ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MonthDay:
    """A day of any year. 29 February exists: in a year without it, it is the day after 28 February."""

    month: int
    day: int

    def in_year(self, year: int) -> int:
        """Its ordinal in a year."""
        if (self.month, self.day) == (2, 29):
            return date(year, 2, 28).toordinal() + 1
        return date(year, self.month, self.day).toordinal()

    def on_or_after(self, ordinal: int) -> int:
        """Its first occurrence on or after a day."""
        year = date.fromordinal(ordinal).year
        return min(d for d in (self.in_year(year), self.in_year(year + 1)) if d >= ordinal)

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


@dataclass(frozen=True, slots=True)
class MarkDays:
    """A mark of a region: its usual day or period, and one standard deviation, d. ``begins`` None: there is none."""

    begins: MonthDay | None
    ends: MonthDay | None = None
    sd: float = 0.0


def month_day(text: str) -> MonthDay:
    """``05-10``; raises ValueError for a day that no year has."""
    match = _MONTH_DAY.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{quoted(text)} is not a day of the year; write month and day, such as '05-10'")
    found = _existing(text, LEAP_YEAR, int(match[1]), int(match[2]))  # a leap year: 29 February exists
    return MonthDay(found.month, found.day)


def _existing(text: str, year: int, month: int, day: int) -> date:
    if not 1 <= month <= 12:
        raise ValueError(f"{quoted(text)} does not exist: a year has the months 01 to 12")
    last = monthrange(year, month)[1]
    if not 1 <= day <= last:
        raise ValueError(f"{quoted(text)} does not exist: that month has the days 01 to {last}")
    return date(year, month, day)


def mark_days(text: str, sources: Sources) -> Cited[MarkDays]:
    """``05-10 ± 7 d``, ``05-25..07-15 ± 8 d`` or ``none``, with citations."""
    body, cites = split_citations(text, sources)
    if body == "none":
        return _cited(text, MarkDays(None), cites)
    match = _SPREAD.fullmatch(body)
    if not match:
        raise ValueError(f"{quoted(body)} is not a mark; write '05-10 ± 7 d', '05-25..07-15 ± 8 d' or 'none'")
    first, dots, second = match["days"].partition("..")
    if dots and not (first and second):
        raise ValueError(f"{quoted(body)} lacks an end; write a period as '05-25..07-15 ± 8 d'")
    ends = month_day(second) if dots else None
    return _cited(text, MarkDays(month_day(first), ends, float(match["sd"] or 0)), cites)


def iso_date(text: str) -> date:
    """A calendar date ``2026-05-02``; raises ValueError for one that does not exist."""
    match = _DATE.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{quoted(text)} is not a date; write year, month and day, such as '2027-05-02'")
    year, month, day = int(match[1]), int(match[2]), int(match[3])
    if not YEARS[0] <= year <= YEARS[1]:
        raise ValueError(f"{quoted(text)} lies outside the years {YEARS[0]} to {YEARS[1]}")
    return _existing(text, year, month, day)


# Bounds --------------------------------------------------------------------------------------------------------------

Pick = Literal["earliest", "usually", "latest"]


@dataclass(frozen=True, slots=True)
class Bound:
    """``[earliest|usually|latest] ANCHOR [(+|-) N d]``: one day, taken from an anchor and shifted."""

    pick: Pick | None
    anchor: str
    shift: int
    cites: tuple[Citation, ...]
    text: Text


def bound(text: str, sources: Sources) -> Bound:
    """A bound of a step. Raises ValueError with an example."""
    body, cites = split_citations(text, sources)
    match = _BOUND.fullmatch(body)
    if not match:
        raise ValueError(
            f"{quoted(body)} is not a bound; write for example 'usually season.swarm_start - 14 d', "
            "'earliest first_drone - 1 d' or 'trap_hung + 7 d' (a blank on each side of the sign)"
        )
    _check_date(match["anchor"])
    shift = int(match["days"] or 0) * (-1 if match["sign"] == "-" else 1)
    pick: Pick | None = match["pick"]  # type: ignore[assignment]  # the pattern allows these words only
    return Bound(pick, match["anchor"], shift, cites, text if isinstance(text, Text) else Text(text))


def _check_date(anchor: str) -> None:
    """An anchor that is a date has to exist. Raises ValueError."""
    if anchor[0].isdigit():
        (month_day if len(anchor) == len("05-10") else iso_date)(anchor)


@dataclass(frozen=True, slots=True)
class ClockDay:
    """A day of a clock: an anchor plus a range of days, or plus a development time (``drone.capped``), or itself."""

    anchor: str
    lag: Cited[Span] | None
    development: str
    cites: tuple[Citation, ...]
    text: Text


def clock_day(text: str, sources: Sources) -> ClockDay:
    """``emptied + 1..3..7 d @source``, ``first_egg + drone.capped`` or ``season.drone_rearing_start``."""
    body, cites = split_citations(text, sources)
    match = _CLOCK.fullmatch(body)
    if not match:
        raise ValueError(
            f"{quoted(body)} is not a day of a clock; write 'ANCHOR + 1..3..7 d' or 'ANCHOR + drone.capped', "
            "without a first word"
        )
    _check_date(match["anchor"])
    lag = None
    if match["range"]:
        lag = _cited(text, span_of_days(parse_amount(match["range"] + " d")), cites)
    whole = text if isinstance(text, Text) else Text(text)
    return ClockDay(match["anchor"], lag, match["lag"] or "", cites, whole)
