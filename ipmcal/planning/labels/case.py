"""The case that a limit is about, and how its reasons are made. What every check of limits shares.

In: a limit of a label and what is known. Out: ``Limited``. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ipmcal.model.plan.verdict import Limited, Use, Weight
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Limit, Treatment, WordLimit
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.labelforms import label_words
from ipmcal.model.values.words import joined
from ipmcal.planning.labels.standing import Standing
from ipmcal.planning.labels.weather import Weather

LOOK = "not known: look"
FLOW_WORDS = {"main": "main flow", "autumn": "autumn flow", "dearth": "dearth"}


@dataclass(frozen=True)
class Case:
    """A course in question: the treatment and its label, the colony, the days, the weather."""

    name: str
    treatment: Treatment
    label: Label
    standing: Standing
    use: Use
    weather: Weather
    book: Rulebook


@dataclass(frozen=True, slots=True)
class How:
    """How a reason weighs: ``weight``, if not as its limit does; ``stays``: no other day mends it; ``by_hand``: the
    keeper can mend it at the hive; ``look``: it is not known, and only warns; ``plain``: what paper says of it.
    """

    weight: Weight | None = None
    stays: bool = False
    by_hand: bool = False
    look: bool = False
    plain: str = ""


AS_ITS_LIMIT = How()


def reason(word: str, limit: Limit, value: Cited[Any], known: str, says: str = "", how: How = AS_ITS_LIMIT) -> Limited:
    """A reason of a limit: what it ``says``, if not its value's own words, and what is known instead."""
    heavy = Weight.ADVISES if limit.advice or how.look else Weight.FORBIDS
    says = says or range_words(value)
    weight = heavy if how.weight is None else how.weight
    why = limit.why or ""
    told = (how.stays, how.by_hand, how.look, how.plain)
    return Limited(word, weight, says, known, value, value.cites, None, why, *told)


def words_for(limit: WordLimit) -> str:
    """A limit of words in words: "not in main flow or autumn flow"."""
    parts = []
    if limit.is_:
        parts.append("only: " + joined([plain_word(v.value) for v in limit.is_], "or"))
    if limit.not_:
        parts.append("not: " + joined([plain_word(v.value) for v in limit.not_], "or"))
    return "; ".join(parts)


def range_words(value: Cited[Any]) -> str:
    """A value in the label's own numbers and unit, its range in words.

    >>> from ipmcal.model.values.cited import Place
    >>> [range_words(Cited(1, (), Place("", 0, 0), "", text)) for text in ("59..105 °F", "6.. bee_frames", "..30 °C")]
    ['59 to 105 °F', '6 frames of bees or more', '30 °C or less']
    """
    text = label_words(value).replace("bee_frames", "frames of bees")
    low, dots, rest = text.partition("..")
    if not dots:
        return text
    number, _, unit = rest.partition(" ")
    if not low:
        return f"{rest} or less"
    return f"{low} to {rest}" if number else f"{low} {unit} or more"


def plain_word(word: str) -> str:
    """A word of the rules as it is said."""
    return FLOW_WORDS.get(word, word.replace("_", " "))
