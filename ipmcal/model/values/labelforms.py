"""The forms that a treatment's label is written in, beside those of ``fields.py``: cited words and text, warmth, days.

In: ``Text``. Out: cited values. Degrees Fahrenheit are kept in °C; the label's own words stay beside the number.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Annotated, Any

from ipmcal.model.values import forms
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.fields import CITES, IDENTIFIER, ONE_OR_MANY, ShortForm, closed, form, measured
from ipmcal.model.values.forms import Amount, Sources
from ipmcal.model.values.text import NOWHERE, nearest, quoted

_LONGEST = 400


def _said(text: str, sources: Sources) -> Cited[str]:
    """Words with their source. Raises ValueError."""
    body, cites = forms.split_citations(text, sources)
    if not body:
        raise ValueError("this text is empty")
    return _cited(text, body, cites)


def _cited(text: str, value: Any, cites: Any) -> Cited[Any]:
    return Cited(value, cites, getattr(text, "place", NOWHERE), getattr(text, "key", ""), str(text))


def word(*allowed: str) -> Any:
    """A field that holds one word, with its source: of a closed set, or any identifier where none is given."""

    def parse(text: str, sources: Sources) -> Cited[str]:
        said = _said(text, sources)
        if allowed and said.value not in allowed:
            raise ValueError(f"{quoted(said.value)} is not allowed here{nearest(said.value, allowed)}")
        if not IDENTIFIER.fullmatch(said.value):
            raise ValueError(f"{quoted(said.value)} is not a word; use small letters, digits and '_'")
        return said

    words = f"({'|'.join(allowed)})" if allowed else "[a-z][a-z0-9_]*"
    return form(parse, allowed[0] if allowed else "nucleus", "a word, with its source", words + CITES, "boolean")


def warmth(text: str, sources: Sources) -> Cited[Amount]:
    """``59..105 °F`` or ``15..40 °C``, as °C; the text keeps the label's own words. Raises ValueError."""
    cited = forms.amount(text, sources)
    value = cited.value
    if value.unit not in ("°C", "°F"):
        raise ValueError(f"'{value}' is no temperature; write for example '59..105 °F' or '15..40 °C'")
    return replace(cited, value=in_celsius(value))


def in_celsius(value: Amount) -> Amount:
    """An amount in °F as °C; one in °C as it is. Not rounded, so that a reading of just the limit in °F meets it."""
    if value.unit == "°C":
        return value
    low, usual, high = (None if end is None else (end - 32.0) / 1.8 for end in (value.low, value.usual, value.high))
    return Amount(low, usual, high, "°C")


def course_days(text: str, sources: Sources) -> Cited[Span | None]:
    """``0..3 d``: so many days after each application, day 0 being its own. ``all``: every day in the hive (None)."""
    body, cites = forms.split_citations(text, sources)
    if body == "all":
        return _cited(text, None, cites)
    try:
        span = forms.span_of_days(forms.parse_amount(body))
    except ValueError:
        raise ValueError(f"{quoted(body)} is neither 'all' nor days, such as '0..3 d'") from None
    if not 0 <= span.low <= span.high <= _LONGEST:
        raise ValueError(f"{quoted(body)} lies outside 0 to {_LONGEST} days after an application")
    return _cited(text, span, cites)


def label_words(value: Cited[Any]) -> str:
    """A value in the words of its file, without the citations: what a label says, printed back.

    >>> from ipmcal.model.values.cited import Place
    >>> words_of(Cited(1, (), Place("", 0, 0), "", "59..105 °F @a_label/memory"))
    '59..105 °F'
    """
    return re.sub(r"\s+", " ", value.text.partition("@")[0]).strip()


def _as_list(value: object) -> object:
    return [value] if isinstance(value, dict) else value


MAPPING_OR_MANY = ShortForm(_as_list, lambda many: {"anyOf": [many["items"], many]})
"""One mapping, or a list of them."""


def short(key: str, example: str) -> ShortForm:
    """A mapping that may be written as the value of one of its keys alone."""
    about = {"type": ["string", "number", "boolean"], "description": f"'{key}' alone, such as '{example}'"}
    return ShortForm(
        lambda value: {key: value} if isinstance(value, str) else value, lambda long: {"anyOf": [about, long]}
    )


_DEGREES = r"-?[0-9.]*[0-9][0-9.]* +(°?[CF])"
Said = Annotated[Cited[str], *form(_said, "EPA Reg. No. 1-1 @practice", "words, with their source", ".+", "number")]
Word = Annotated[Cited[str], *word()]
ManyWords = Annotated[tuple[Word, ...], ONE_OR_MANY]
WarmthField = Annotated[
    Cited[Amount],
    *form(warmth, "15..40 °C @practice", "a temperature or a range of them, °C or °F", _DEGREES + CITES),
]
CourseDays = Annotated[
    Cited[Span | None],
    *form(course_days, "0..3 d @practice", "days after an application, or all", rf"(all|[0-9.]+ +(d|days?)){CITES}"),
]
Days = Annotated[Cited[Amount], *measured("d", "14..21 d @practice")]
HoursBefore = Annotated[Cited[Amount], *measured("h", "6 h @practice")]
Wait = Annotated[Cited[Amount], *closed("d", "14 d @practice")]
Plain = Annotated[Cited[Amount], *measured("1", "..2 @practice")]
Times = Annotated[Cited[Amount], *closed("1", "2 @practice")]
Percent = Annotated[Cited[Amount], *measured("%", "74..95 % @practice")]
Litres = Annotated[Cited[Amount], *measured("L", "1 L @practice")]
Grams = Annotated[Cited[Amount], *measured("g", "35 g @practice")]
BeeFrames = Annotated[Cited[Amount], *measured("bee_frames", "6.. bee_frames @practice")]
EachFrames = Annotated[Cited[Amount], *closed("bee_frames", "5 bee_frames @practice")]
Millimetres = Annotated[Cited[Amount], *measured("mm", "13.. mm @practice")]
