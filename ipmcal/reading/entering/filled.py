"""A sheet that was filled in as a PDF form: its boxes become the words that are read of any sheet.

In: the bytes of a PDF. Out: the sheet's code and day, what is said of its lines as a text, and what has to be asked.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from ipmcal.model.values.fillable import FRAMES_NUMBER, ONE_AMOUNT, TENS, TWO_COUNTED, FormBox, Says, form_box
from ipmcal.model.values.signs import is_printed_code
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import joined
from ipmcal.reading.entering.blanks import LOT
from ipmcal.reading.entering.entries import EntryError
from ipmcal.reading.entering.phrases import NOT_DONE, SAID_DONE
from ipmcal.reading.source.files import bad

BY = "by"
"""The label of the place for who did it, at the sheet's foot."""
ONE_WORD_EACH = (LOT, BY)
"""Labels of one word each, said before what is typed there."""
TENFOLD = dict(zip(TENS, ("hundreds", "tens", "ones"), strict=True))
_ONE_WORD = re.compile(r"[^\W_][\w./-]{0,39}")
_FIGURES = re.compile(r"[\w°][\w°., /+-]{0,79}|-[0-9][\w°., /+-]{0,79}")
"""What may be typed: no sign that parts what is said of one line from what is said of another."""

InBoxes = Mapping[FormBox, str]
"""What stands in each box: what was typed, or any text where it is ticked, "" where it is not."""


@dataclass(frozen=True, slots=True)
class FilledSheet:
    """What a filled sheet says: its code, its day as ISO 8601, the rain date where that was ticked ("": not), by whom;
    the lines by number, each with its words, the numbers of all lines that have boxes, and questions."""

    code: str
    day: str
    rain: str
    by: str
    said: tuple[tuple[int, str], ...]
    numbered: frozenset[int]
    questions: tuple[str, ...]


def read_filled(raw: bytes, shown: str) -> FilledSheet:
    """Reads a filled sheet; ``shown`` is its name in complaints. Raises BadInput where it is none."""
    boxes = {box: text for name, text in _fields(raw, shown).items() if (box := form_box(name)) is not None}
    if not boxes:
        what = "what is scanned, or printed to a PDF, has none: save the form itself"
        raise bad(shown, f"has no boxes of a sheet; 'ipmcal plan --print fillable' makes sheets that have them; {what}")
    sheets = sorted({(box.code, box.day) for box in boxes})
    if len(sheets) > 1 or not is_printed_code(sheets[0][0]):
        raise bad(shown, f"has boxes of {joined([code for code, _ in sheets])}, which is not one sheet; fill in one")
    filled = {box: text for box, text in boxes.items() if text}
    said, questions = said_in_boxes(filled)
    try:
        by = next((_typed(box, text) for box, text in filled.items() if box.says == Says.TEXT and not box.line), "")
    except EntryError as error:
        raise bad(shown, str(error)) from None
    rain = next((box.text for box in filled if box.says == Says.RAIN), "")
    lines = frozenset(box.line for box in boxes if box.line)
    return FilledSheet(sheets[0][0][:-1], sheets[0][1], rain, by, said, lines, questions)


def _fields(raw: bytes, shown: str) -> dict[str, str]:
    """By name what stands in a box ("": nothing). Raises BadInput."""
    import pypdf  # a quarter of a second that no other command needs

    with _silent():
        try:
            reader = pypdf.PdfReader(io.BytesIO(raw))
            locked = reader.is_encrypted
            fields = {} if locked else reader.get_fields() or {}
            values = {name: str(field.get("/V") or "") for name, field in fields.items()}
        except Exception as error:  # whatever a damaged file makes of the library: AttributeError, RecursionError, ...
            raise bad(shown, "can't be read as a PDF; is it whole? Save it from the viewer again") from error
    if locked:
        raise bad(shown, "is encrypted; save it without a password")
    return {name: "" if value == "/Off" else " ".join(value.split()) for name, value in values.items()}


@contextmanager
def _silent() -> Iterator[None]:
    """Keeps the library's own remarks on a damaged file from the reader, who gets one complaint."""
    log = logging.getLogger("pypdf")
    before = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        log.setLevel(before)


def said_in_boxes(filled: InBoxes) -> tuple[tuple[tuple[int, str], ...], tuple[str, ...]]:
    """What the filled boxes say by line, and what has to be asked."""
    said: list[tuple[int, str]] = []
    questions: list[str] = []
    for line in sorted({box.line for box in filled if box.line}):
        try:
            said.append((line, _words({box: text for box, text in filled.items() if box.line == line})))
        except EntryError as error:
            questions.append(f"line {line}: {error}")
    return tuple(said), tuple(questions)


def _words(filled: InBoxes) -> str:
    """What the filled boxes of a line say, in the words of a message. Raises EntryError."""
    words = [box.text for box in filled if box.says == Says.WORD and box.text != NOT_DONE]
    words += [SAID_DONE] if any(box.says == Says.DONE for box in filled) else []
    names = (*TWO_COUNTED, ONE_AMOUNT, FRAMES_NUMBER)
    numbers = {name: _number([box for box in filled if box.text == name]) for name in names}
    counted = [numbers[name] for name in TWO_COUNTED if numbers[name]]
    if len(counted) == 1:
        raise EntryError("of the two numbers of a count one is there; which is the other?")
    words += ["/".join(counted)] if counted else []
    more = [*([numbers[ONE_AMOUNT]] if numbers[ONE_AMOUNT] else []), *_texts(filled)]
    bees = f"frames of bees {numbers[FRAMES_NUMBER]}" if numbers[FRAMES_NUMBER] else ""
    words += [*([] if words or not (more or bees) else [SAID_DONE]), *more]
    if any(box.text == NOT_DONE for box in filled):
        if words or any(box.says == Says.TICK for box in filled):
            raise EntryError(f"'{NOT_DONE}' and something else are ticked; which of the two is it?")
        return NOT_DONE
    return f"{' '.join(words)}, {bees}" if bees else " ".join(words) or SAID_DONE  # a figure before it is none of it


def _texts(filled: InBoxes) -> list[str]:
    """What is typed into a line, each as a message says it: behind its label's first word. Raises EntryError."""
    typed = {box.text: _typed(box, text) for box, text in filled.items() if box.says == Says.TEXT}
    first = [typed[ONE_AMOUNT]] if ONE_AMOUNT in typed else []
    return [*first, *(f"{label.split()[0].strip(',')} {text}" for label, text in typed.items() if label != ONE_AMOUNT)]


def _typed(box: FormBox, text: str) -> str:
    """What is typed into a box. Raises EntryError where it has signs that could say another thing."""
    if box.text in ONE_WORD_EACH and not _ONE_WORD.fullmatch(text):
        raise EntryError(f"{quoted(text)} behind '{box.text}' is not one word of letters and digits; what is meant?")
    if not _FIGURES.fullmatch(text):
        raise EntryError(f"{quoted(text)} has other signs than letters, digits, commas; what is meant?")
    return text


def _number(boxes: Sequence[FormBox]) -> str:
    """The number of some digits; "" for none. Raises EntryError."""
    digits: dict[int, int] = {}
    for box in (box for box in boxes if box.says == Says.DIGIT):
        if box.place in digits:
            both = f"{digits[box.place]} and {box.digit}"
            raise EntryError(f"{both} are ticked in the {TENFOLD[box.place]}; which of the two is it?")
        digits[box.place] = box.digit
    gaps = [place for place in TENS if digits and place < max(digits) and place not in digits]
    if gaps:
        raise EntryError(f"no digit is ticked in the {TENFOLD[gaps[0]]} of a number; which is it?")
    return str(sum(place * digit for place, digit in digits.items())) if digits else ""
