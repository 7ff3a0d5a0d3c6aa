"""A message that a keeper sends of a sheet: ``K7A2T 15 May: 1 done, 2 9/300``, also as people write it.

In: text. Out: the sheet's code, the day, what is said of which line; or what has to be asked. What can be read in two
ways is asked, never guessed: the code ends in a letter that checks it, so that no slip of a finger names another sheet.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from ipmcal.model.values.signs import DIGITS, LETTERS, check_letter
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import MONTHS
from ipmcal.reading.entering.sheetwords import NOT_DONE, SAID_DONE
from ipmcal.reading.source.dates import read_day

MAX_MESSAGE = 2_000
NUMBERS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")

_YES = re.compile(r"done|yes|yep|ok|okay|did|did it|all done", re.I)
_NO = re.compile(r"not done|no|nope|not|not yet|skipped|skip|didn't( do)?( it)?|did not( do)?( it)?", re.I)
_CODE = re.compile(
    r"(?<![A-Za-z0-9/])(?:([A-Za-z][0-9]{1,3})[ .-]?)?([A-Za-z][0-9]{1,2})(?:[ .-]?([A-Za-z]))?(?![A-Za-z0-9])"
)
_MONTH = rf"(?:{'|'.join(f'{m[:3]}(?:{m[3:]})?' for m in MONTHS)}|sept)"
_WEEKDAY = r"(?:(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[., ]+)?"
_TH, _YEAR = r"(?:st|nd|rd|th)?", r"(?:,? +([0-9]{4})\b)?"
_DAYS = (
    re.compile(r"(?<![0-9/.])([0-9]{4}-[0-9]{1,2}-[0-9]{1,2})(?![0-9/])"),
    re.compile(r"(?<![0-9/.])([0-9]{1,2}[./][0-9]{1,2}[./][0-9]{4})(?![0-9/])"),
    re.compile(r"(?<![0-9/.])([0-9]{1,2})\.([0-9]{1,2})\.(?![0-9])"),
    re.compile(
        rf"\b{_WEEKDAY}([0-9]{{1,2}})(?:st|nd|rd|th)?\.? +(?:of +)?({_MONTH})\b\.?(?:,? +([0-9]{{4}})\b)?", re.I
    ),
    re.compile(rf"\b{_WEEKDAY}({_MONTH})\b\.? +([0-9]{{1,2}})(?:st|nd|rd|th)?(?![0-9/])(?:,? +([0-9]{{4}})\b)?", re.I),
)
_COUNT = re.compile(
    r"(?<![0-9/])([0-9]{1,3})(?: +mites?)? *(?:/|\b(?:of|out +of|per|in)\b) *([0-9]{2,4})(?: +bees\b)?(?![0-9/])", re.I
)
_PREFIX = re.compile(r"(?:#|\b(?:line|no|nr|ln)\b\.?) *(?=[0-9])", re.I)
_BETWEEN = re.compile(r"[;\n]|,(?![0-9])|\.(?=\s|$)|[-–—](?=\s|$)|(?<=\s)[-–—]")
_ITEM = re.compile(r"([0-9]{1,2})(?: *[:=)]| +|$) *(.*)", re.S)
_SIGNS = {"✓": " done ", "✔": " done ", "✅": " done ", "☑": " done ", "👍": " done "}
_SIGNS |= dict.fromkeys("✗✘❌❎👎", " not done ")


class MessageError(ValueError):
    """What can't be read for sure, as a question to the one who wrote it."""


@dataclass(frozen=True, slots=True)
class Message:
    """What is said of a sheet. ``year`` is 0 where none is said; ``day`` is the day of the month."""

    code: str
    year: int
    month: int
    day: int
    lines: tuple[tuple[int, str], ...]

    def day_near(self, ordinal: int) -> int:
        """The day of work as an ordinal; without a year, the one nearest a day. Raises MessageError."""
        around = date.fromordinal(ordinal).year
        years = (self.year,) if self.year else (around - 1, around, around + 1)
        days = [found for one in years if (found := _ordinal(one, self.month, self.day))]
        if not days:
            raise MessageError(f"{self.day} {MONTHS[self.month - 1]} is not a day; on which day was it done?")
        return min(days, key=lambda one: abs(one - ordinal))


def messages_in(text: str) -> list[str]:
    """The messages of a text: blank lines stand between them, or each begins, or ends, with its own code."""
    found: list[str] = []
    for block in re.split(r"\n[ \t]*\n", text.replace("\r\n", "\n").replace("\r", "\n")):
        lines = [line for line in block.split("\n") if line.strip()]
        coded = [i for i, line in enumerate(lines) if _codes(line)]
        starts = coded if len(coded) > 1 else []
        cuts = [0, *[i for i in starts if i], len(lines)]
        found += ["\n".join(lines[a:b]) for a, b in pairwise(cuts) if a < b]
    return found


def read_message(text: str, known: Collection[str] = ()) -> Message:
    """What a message says; ``known`` are words that may be said of a line besides done, not done and a count.

    Raises MessageError.
    """
    if len(text) > MAX_MESSAGE:
        raise MessageError("the message is too long; one sheet a message, please")
    plain = _plain(text)
    code, plain = _taken_code(plain)
    when, plain = _taken_day(plain)
    lines = list(_lines(plain, known))
    if not lines:
        raise MessageError("nothing is said of any line; write the number of each line and what was done")
    numbers = [number for number, _ in lines]
    twice = next((n for n in numbers if numbers.count(n) > 1), None)
    if twice is not None:
        raise MessageError(f"line {twice} stands in it twice; what was done in line {twice}?")
    return Message(code, *when, tuple(lines))


def _plain(text: str) -> str:
    """Text with signs as words, and without what only looks: quotes before lines, brackets, small pictures."""
    for sign, words in _SIGNS.items():
        text = text.replace(sign, words)
    text = unicodedata.normalize("NFKC", text).replace("’", "'")
    text = re.sub(r"^[ \t]*(?:>[ \t]*)+", "", text, flags=re.M)
    text = re.sub(r"[()\[\]*_!?\"]", " ; ", text)
    return "".join(c if c == "\n" or (c.isprintable() and unicodedata.category(c) != "So") else " " for c in text)


def _codes(text: str) -> list[tuple[str, int, int]]:
    """Codes with the right letter behind them, and where they stand."""
    found = []
    for match in _CODE.finditer(_plain(text) if ">" in text else text):
        code, letter = f"{match[1] or ''}{match[2]}".upper(), (match[3] or "").upper()
        if set(code) <= set(LETTERS + DIGITS) and letter == check_letter(code):
            found.append((code, match.start(), match.end()))
    return found


def _taken_code(text: str) -> tuple[str, str]:
    found = _codes(text)
    names = {code for code, _, _ in found}
    if len(names) > 1:
        raise MessageError(f"it names the sheets {' and '.join(sorted(names))}; one message a sheet, please")
    if not found:
        alike = next((m[0] for m in _CODE.finditer(text) if m[1] or m[3]), "")
        if alike:
            raise MessageError(f"{quoted(alike)} is not the code of a sheet; what stands at the foot of it?")
        raise MessageError("which sheet is it? Please begin with the code at its foot")
    for _, start, end in reversed(found):
        text = f"{text[:start]} ; {text[end:]}"
    return names.pop(), text


def _taken_day(text: str) -> tuple[tuple[int, int, int], str]:
    """Year (0 for none), month and day; and the text without them."""
    found: list[tuple[int, int, int]] = []
    for pattern in _DAYS:
        while match := pattern.search(text):
            found.append(_day_of(match))
            text = f"{text[: match.start()]} ; {text[match.end() :]}"
    days = set(found)
    if len({one[1:] for one in days}) > 1 or len({one[0] for one in days if one[0]}) > 1:
        raise MessageError("it names more than one day; on which day was it done?")
    if not days:
        raise MessageError("on which day was it done?")
    return max(days), text


def _day_of(match: re.Match[str]) -> tuple[int, int, int]:
    parts = match.groups()
    if len(parts) == 1:
        try:
            found = date.fromordinal(read_day(parts[0]))
        except ValueError:
            raise MessageError(f"{quoted(parts[0])}: which day is it?") from None
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


def _lines(text: str, known: Collection[str]) -> Iterator[tuple[int, str]]:
    """What is said of which line. Words before and behind that hold no number say nothing of any line."""
    text = _COUNT.sub(r" \1/\2 ", text)
    text = _PREFIX.sub("; ", text)
    starts = "|".join(re.escape(word) for word in sorted(known, key=len, reverse=True))
    value = rf"(?:{SAID_DONE}|{NOT_DONE}|yes|no|ok|[0-9]{{1,3}}/[0-9]{{2,4}}{'|' + starts if starts else ''})\b"
    before = r"(?:(?<=[^\s0-9;:=])|(?<=/[0-9]{2})|(?<=/[0-9]{3}))"
    text = re.sub(rf"{before}\s+(?=[0-9]{{1,2}}\s*[:=)]?\s+{value})", " ; ", text, flags=re.I)
    for part in _BETWEEN.split(text):
        words = " ".join(part.split()).strip(" .:")
        head, _, rest = words.partition(" ")
        if head.lower() in NUMBERS:
            words = f"{NUMBERS.index(head.lower())} {rest}"
        match = _ITEM.fullmatch(words)
        if match and match[2]:
            yield int(match[1]), _said(match[2])
        elif any(sign.isdigit() for sign in words):
            raise MessageError(f"{quoted(words)}: of which line is that, and what was done?")
        elif words and (_YES.fullmatch(words) or _NO.fullmatch(words)):
            raise MessageError(f"{quoted(words)}: of which line is that?")


def _said(text: str) -> str:
    """What is said of a line, in the words that entries take."""
    text = text.strip(" .:=")
    if _YES.fullmatch(text):
        return SAID_DONE
    if _NO.fullmatch(text):
        return NOT_DONE
    for words in (NOT_DONE, SAID_DONE):
        if text.lower().startswith(f"{words} "):
            return words + text[len(words) :]
    return text
