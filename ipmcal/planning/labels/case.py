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
from ipmcal.model.values.labelforms import words_of
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


def reason(
    word: str,
    limit: Limit,
    value: Cited[Any],
    known: str,
    *,
    weight: Weight | None = None,
    says: str = "",
    stays: bool = False,
    by_hand: bool = False,
    look: bool = False,
) -> Limited:
    """A reason of a limit: as heavy as the limit is, unless it is told; what is not known only warns."""
    heavy = Weight.ADVISES if limit.advice or look else Weight.FORBIDS
    says = says or range_words(value)
    weight = heavy if weight is None else weight
    return Limited(word, weight, says, known, value, value.cites, None, limit.why or "", stays, by_hand, look)


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
    text = words_of(value).replace("bee_frames", "frames of bees")
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
