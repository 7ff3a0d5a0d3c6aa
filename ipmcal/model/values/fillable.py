"""The names of the boxes on a fillable sheet: sheet, day and line stand in each, so that a filled file needs no other.

``A2W 2027-05-15/3/digit/first/10/7`` is: sheet A2 of 15 May, line 3, 7 in the tens of its first number. No name holds a
full stop, which parts names in a form (ISO 32000-1, 12.7.3.2, from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class Says(StrEnum):
    """What a box says."""

    TICK = "tick"
    """The tick of a line of which words or figures tell more: it says nothing by itself."""
    DONE = "done"
    """The tick of a line that needs no more."""
    WORD = "word"
    DIGIT = "digit"
    TEXT = "text"
    """What is typed."""
    RAIN = "rain"
    """The work was done on the rain date."""


TENS = (100, 10, 1)
"""The places of a number's digits."""
TWO_COUNTED, ONE_AMOUNT, FRAMES_NUMBER = ("first", "second"), "amount", "frames"
"""The names of numbers: the two of a count, what else is written as one number, frames of bees."""

_NAME = re.compile(
    r"([A-Z0-9]{2,12}) ([0-9]{4}-[0-9]{2}-[0-9]{2})/([0-9]{1,4})/"
    rf"(?:({Says.TICK}|{Says.DONE})|({Says.WORD}|{Says.RAIN}|{Says.TEXT})/([^/.]+)"
    rf"|({Says.DIGIT})/({'|'.join((*TWO_COUNTED, ONE_AMOUNT, FRAMES_NUMBER))})/(100|10|1)/([0-9]))"
)


@dataclass(frozen=True, slots=True)
class FormBox:
    """A box: its sheet's code with the letter that checks it, the sheet's day as ISO 8601, the line's number (0: the
    sheet's head), what a tick in it says; ``text`` is a word, the rain date, the label of what is typed, or a number's
    name, with the digit and its place."""

    code: str
    day: str
    line: int
    says: Says
    text: str = ""
    place: int = 0
    digit: int = 0


def form_box(name: str) -> FormBox | None:
    """The box of this name; None where it is none of a sheet's."""
    found = _NAME.fullmatch(name)
    if found is None:
        return None
    code, day, line, alone, word, text, digit, number, place, figure = found.groups()
    head = (code, day, int(line))
    if alone:
        return FormBox(*head, Says(alone))
    if word:
        return FormBox(*head, Says(word), text)
    return FormBox(*head, Says(digit), number, int(place), int(figure))
