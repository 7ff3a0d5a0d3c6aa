"""The day that a message names: ``15 May``, ``Sun 15.5.``, ``fifteenth of May``, ``5/29``, ``yesterday``.

In: a text without the sheet's code. Out: the day as far as it is said, and the text without it; or what has to be
asked: nothing is guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import MONTHS
from ipmcal.reading.source.dates import read_day

ONES = (
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen"),
    *("fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"),
)
ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh"),
    *("twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth"),
    "twentieth",
)
MONTHS_IN_YEAR = 12
BEHIND_CODE = "\x1f"
"""Stands where a code was: a day in the short form is read only directly behind it."""

_MONTH = rf"(?:{'|'.join(f'{m[:3]}(?:{m[3:]})?' for m in MONTHS)}|sept)"
_WEEKDAY = r"(?:(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[., ]+)?"
_SPOKEN = re.compile(
    rf"\b(?:(twenty|thirty)[ -])?({'|'.join((*ORDINALS, *ONES))}|thirtieth|thirty)\b(?= +(?:of +)?{_MONTH}\b)", re.I
)
_DAYS = (
    re.compile(r"(?<![0-9/.])([0-9]{4}-[0-9]{1,2}-[0-9]{1,2})(?![0-9/])"),
    re.compile(r"(?<![0-9/.-])([0-9]{1,2}([./-])[0-9]{1,2}\2[0-9]{4})(?![0-9/])"),
    re.compile(r"(?<![0-9/.])([0-9]{1,2})\.([0-9]{1,2})\.(?![0-9])"),
    re.compile(
        rf"\b{_WEEKDAY}([0-9]{{1,2}})(?:st|nd|rd|th)?\.? *(?:of +)?({_MONTH})\b\.?(?:,? +([0-9]{{4}})\b)?", re.I
    ),
    re.compile(rf"\b{_WEEKDAY}({_MONTH})\b\.? +([0-9]{{1,2}})(?:st|nd|rd|th)?(?![0-9/])(?:,? +([0-9]{{4}})\b)?", re.I),
)
_SHORT = re.compile(
    BEHIND_CODE + r"[\s;,:]*(?:on +)?([0-9]{1,2})/([0-9]{1,2})(?=\s*[:,;\n]|\s+[0-9#]|\s+line)(?! *bees)", re.I
)
_BACK = re.compile(r"\b(today|yesterday)\b", re.I)


class MessageError(ValueError):
    """What can't be read for sure, as a question to the one who wrote it."""


@dataclass(frozen=True, slots=True)
class SpokenDay:
    """A day as far as it is said: ``year`` 0 for none, ``month`` and ``day`` 0 where none is; ``back`` days from today
    (None: not said so)."""

    year: int = 0
    month: int = 0
    day: int = 0
    back: int | None = None

    @property
    def said(self) -> bool:
        """Whether a date is said; 'today' is none, since nobody knows on which day it was written."""
        return self.month > 0

    def near(self, ordinal: int) -> int:
        """The day as an ordinal; without a year, the one nearest another. Raises MessageError."""
        around = date.fromordinal(ordinal).year
        years = (self.year,) if self.year else (around - 1, around, around + 1)
        days = [found for one in years if (found := _ordinal(one, self.month, self.day))]
        if not days:
            raise MessageError(f"{self.day} {MONTHS[self.month - 1]} is not a day; on which day was it done?")
        return min(days, key=lambda one: abs(one - ordinal))


def taken_day(text: str) -> tuple[SpokenDay, str]:
    """The day that a text names, and the text without it. Raises MessageError for several, and for one that is none."""
    text = _SPOKEN.sub(_in_digits, text)
    found: list[tuple[int, int, int]] = []
    if short := _SHORT.search(text):
        found.append(_told_short(short))
        text = f"{text[: short.start()]} ; {text[short.end() :]}"
    text = text.replace(BEHIND_CODE, " ")
    for pattern in _DAYS:
        while match := pattern.search(text):
            if pattern is _DAYS[-1] and re.search(r"(?<![0-9/])[0-9]{1,2}[^\w\n]*$", text[: match.start()]):
                raise MessageError(f"{quoted(match[0])}, or the number before it: which day is it?")
            found.append(_day_of(match))
            text = f"{text[: match.start()]} ; {text[match.end() :]}"
    days, back = set(found), {match[1].lower() for match in _BACK.finditer(text)}
    if len({one[1:] for one in days}) > 1 or len({one[0] for one in days if one[0]}) > 1 or len(back) > 1:
        raise MessageError("it names more than one day; on which day was it done?")
    if days:
        return SpokenDay(*max(days)), text
    return SpokenDay(back=int(back == {"yesterday"}) if back else None), _BACK.sub(" ; ", text)


def _in_digits(match: re.Match[str]) -> str:
    tens, word = (match[1] or "").lower(), match[2].lower()
    if word in ("thirty", "thirtieth"):
        return "30"
    number = (ORDINALS if word in ORDINALS else ONES).index(word) + 1
    return str(number + {"": 0, "twenty": 20, "thirty": 30}[tens])


def _told_short(match: re.Match[str]) -> tuple[int, int, int]:
    """``5/29`` and ``29/5``, where only one of the two can be the month."""
    first, second = int(match[1]), int(match[2])
    if first <= MONTHS_IN_YEAR and second <= MONTHS_IN_YEAR and first != second:
        raise MessageError(f"{quoted(match[0].strip(' ;:,' + BEHIND_CODE))}: which day is it?")
    day, month = (second, first) if first <= MONTHS_IN_YEAR else (first, second)
    if not _ordinal(2000, month, day):  # a leap year: 29 February is a day
        raise MessageError(f"{quoted(match[0].strip(' ;:,' + BEHIND_CODE))}: which day is it?")
    return 0, month, day


def _day_of(match: re.Match[str]) -> tuple[int, int, int]:
    parts = match.groups()
    if match.re in _DAYS[:2]:
        try:
            found = date.fromordinal(read_day(match[1]))
        except ValueError:
            raise MessageError(f"{quoted(match[1])}: which day is it?") from None
        return found.year, found.month, found.day
    if len(parts) == len(("day", "month")):
        numbers = 0, int(parts[1]), int(parts[0])
    else:
        name, number = (parts[1], parts[0]) if parts[0].isdigit() else (parts[0], parts[1])
        month = next(i for i, one in enumerate(MONTHS, 1) if one.lower().startswith(name.lower()[: len("Jan")]))
        numbers = int(parts[2] or 0), month, int(number)
    if not _ordinal(numbers[0] or 2000, *numbers[1:]):  # a leap year: 29 February is a day
        raise MessageError(f"{quoted(match[0])}: which day is it?")
    return numbers


def _ordinal(year: int, month: int, day: int) -> int:
    """A day as an ordinal; 0 where there is none."""
    try:
        return date(year, month, day).toordinal()
    except ValueError:
        return 0
