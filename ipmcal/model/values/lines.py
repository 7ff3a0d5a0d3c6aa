"""Values of journal lines that are more than a word: counts, doses, colonies made. In: their text. Out: frozen values.

Reading checks a line with these, so that planning and the record may rely on them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from ipmcal.model.values.count import Sample, Unit

HOURS_A_DAY = 24

_COUNT = re.compile(r"([0-9]{1,4})/([0-9]{1,4})(h?)(?: +([a-z][a-z0-9_]*))?")
_AMOUNT = re.compile(r"[0-9]{1,5}(?:[.,][0-9]{1,3})?")
_DOSE_WORDS = ("lot", "by")


def sample_of(value: str, unit: Unit) -> Sample:
    """``9/300``: mites and what they were counted on. On a board ``12/3`` is in 3 days, ``12/72h`` in 72 hours.

    A word for how they were brought off the bees may follow (``9/300 sugar``); it decides nothing. Raises ValueError.
    """
    found = _COUNT.fullmatch(value)
    wants = {"bees": "mites and bees", "g": "mites and grams", "d": "mites and days", "drone_cells": "mites and cells"}
    if found is None or (found[3] and unit is not Unit.DAYS):
        raise ValueError(f"needs {wants[unit.value]} with '/' between (found '{value}')")
    mites, size = int(found[1]), Fraction(int(found[2]))
    if not size:
        raise ValueError(f"mites in nothing: needs {wants[unit.value]} (found '{value}')")
    return Sample(mites, size / HOURS_A_DAY if found[3] else size, unit)


def wash_way(value: str) -> str:
    """The word behind a count that says how the mites were brought off the bees; "" where none is given."""
    return value.partition(" ")[2].strip()


@dataclass(frozen=True, slots=True)
class DoseLine:
    """What was given to one colony, or taken out of it: the product, how much, of which lot, by whom ("" unknown)."""

    product: str
    amount: Fraction
    unit: str = ""
    lot: str = ""
    by: str = ""


def dose_line(value: str) -> DoseLine:
    """``PRODUCT AMOUNT [UNIT] [lot LOT] [by WHO]``: ``amitraz_strip 2 lot K21 by AB``. Raises ValueError."""
    words = value.split()
    if len(words) < 2 or not _AMOUNT.fullmatch(words[1]):  # a product and how much of it
        raise ValueError(f"needs the product and how much of it (found '{value}')")
    product, amount = words[0], Fraction(words[1].replace(",", "."))
    rest = words[2:]
    begin = next((i for i, word in enumerate(rest) if word in _DOSE_WORDS), len(rest))
    unit, said = " ".join(rest[:begin]), {"lot": "", "by": ""}
    while begin < len(rest):
        word, begin = rest[begin], begin + 1
        end = next((i for i in range(begin, len(rest)) if rest[i] in _DOSE_WORDS), len(rest))
        if said[word] or begin == end:
            raise ValueError(f"'{word}' {'comes twice' if said[word] else 'has nothing behind it'} (found '{value}')")
        said[word], begin = " ".join(rest[begin:end]), end
    return DoseLine(product, amount, unit, said["lot"], said["by"])


@dataclass(frozen=True, slots=True)
class Hived:
    """Whence a colony came and what it is in: the other colony ("" for none), the hive and its boxes, if told.

    ``on`` is what a swarm was hived on, drawn ``comb`` or ``foundation`` ("" not told).
    """

    parent: str = ""
    hive: str = ""
    boxes: tuple[str, ...] = ()
    on: str = ""


HIVED_ON = ("comb", "foundation")
"""What a swarm may be hived on, behind the word "on"."""


def hived_of(value: str, form: str) -> Hived:
    """``made_from``: ``PARENT [HIVE [BOX ...]]``; ``made``: ``[HIVE [BOX ...]] [on comb|foundation]``; ``hive``: ``HIVE
    BOX ...``.

    Raises ValueError where something is missing.
    """
    words = value.split()
    parent = on = ""
    if form == "made" and "on" in words:
        words, (on, *more) = words[: words.index("on")], (*words[words.index("on") + 1 :], "")
        if on not in HIVED_ON or any(more):
            raise ValueError(f"is hived 'on comb' or 'on foundation' (found '{value}')")
    if form == "made_from":
        if not words:
            raise ValueError("needs the colony that it was made from")
        parent, words = words[0], words[1:]
    if form == "hive" and len(words) < 2:  # the hive and a box
        raise ValueError(f"needs the hive and its boxes from the bottom up (found '{value}')")
    return Hived(parent, words[0] if words else "", tuple(words[1:]), on)


def other_colony(value: str) -> str:
    """The colony that a line names, with or without "with" or "into" before it. Raises ValueError."""
    words = value.split()
    if words and words[0] in ("with", "into", "from"):
        words = words[1:]
    if len(words) != 1:
        raise ValueError(f"needs the other colony's key (found '{value}')")
    return words[0]
