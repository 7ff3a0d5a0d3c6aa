"""The record of treatments, as values: what was given where, what came out again, and how long the page is kept.

Days are ordinals. What the journal and the rules do not tell is empty ("" or None): it is filled in by hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ipmcal.model.outfit.outfit import Keeper
from ipmcal.model.values.cited import Place


@dataclass(frozen=True, slots=True)
class Removal:
    """So many strips, trays or pads of an application taken out on a day, in which yard and hive, by whom."""

    day: int
    amount: Fraction
    yard: str
    colony: str
    by: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One application to one colony; ``day`` None: something came out, and no line says when it had gone in.

    ``treatment`` is the rule file's id, ``own`` the keeper's name for the product where it is another.
    ``registration`` is "" where the rule file holds no number; ``unsure``: it is from memory.
    ``left`` is what is still in the hive; where nothing has to come out, ``to_remove`` is False.
    ``began`` and ``ended`` are the course's first and last day, ``ended`` None while anything of it is in the hive.
    ``withdrawal`` is the label's, in days (``withdrawal_unsure``: from memory); ``free_on`` the day it is over;
    ``keep_until`` the last day on which the record has to be there. ``count`` is the colony's last count before it.
    ``fates`` say, each with its day, where the colony went during the course, and how it ended.
    """

    yard: str
    colony: str
    day: int | None
    treatment: str
    title: str
    own: str
    active: str
    registration: str
    unsure: bool
    amount: Fraction | None
    unit: str
    lot: str
    by: str
    to_remove: bool
    removals: tuple[Removal, ...]
    left: Fraction
    began: int | None
    ended: int | None
    withdrawal: int | None
    withdrawal_unsure: bool
    free_on: int | None
    keep_until: int | None
    weather: str
    count: str
    count_day: int | None
    fates: tuple[tuple[str, int], ...]
    place: Place


@dataclass(frozen=True, slots=True)
class YardRecord:
    """The part of one yard: whose law asks for which fields, who says so, and what was written there.

    ``fields`` are words of ``rules.RecordField``; ``asked`` names each source with the fields it asks for.
    ``keep`` is in years, None where it isn't known; ``keep_sure`` is False where that is an assumption or from memory.
    """

    key: str
    name: str
    latitude: float
    longitude: float
    jurisdiction: str
    fields: tuple[str, ...]
    asked: tuple[tuple[str, tuple[str, ...]], ...]
    advice: str
    keep: int | None
    keep_sure: bool
    paper: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """The record of an outfit for a calendar year (None: all years), from the lines up to ``as_of``."""

    outfit: str
    keeper: Keeper
    year: int | None
    as_of: int
    yards: tuple[YardRecord, ...]
    contradictions: tuple[str, ...]

    def yard(self, key: str) -> YardRecord:
        """One yard's part. Raises KeyError."""
        found = next((yard for yard in self.yards if yard.key == key), None)
        if found is None:
            raise KeyError(key)
        return found

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry once, by day: each stands in the yard where it was given, and where anything of it came out."""
        unique = {id(entry): entry for yard in self.yards for entry in yard.entries}
        return tuple(sorted(unique.values(), key=order))


def order(entry: Entry) -> tuple[int, str, int, str]:
    """By the first day that is known, then yard, line and colony."""
    first = entry.day if entry.day is not None else min((r.day for r in entry.removals), default=0)
    return first, entry.yard, entry.place.line, entry.colony
