"""A message that a keeper sends of a sheet: ``K7A2T 15 May: 1 done, 2 9/300``, also as people write it.

In: text. Out: the sheet's code, the day, and the words that say something of its lines (``reading/entering/speech.py``
tells these apart); or what has to be asked. What can be read in two ways is asked, never guessed: the code ends in a
letter that checks it, so that no slip of a finger names another sheet.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from itertools import pairwise

from ipmcal.model.values.signs import DIGITS, LETTERS, check_letter
from ipmcal.model.values.text import quoted
from ipmcal.reading.club.spokendays import BEHIND_CODE, MessageError, SpokenDay, taken_day

MAX_MESSAGE = 2_000

_CODE = re.compile(
    r"(?<![A-Za-z0-9/])(?:([A-Za-z][0-9]{1,3})[ .-]?)?([A-Za-z][0-9]{1,2})(?:[ .-]?([A-Za-z]))?(?![A-Za-z0-9])"
)
_GLUED = re.compile(r"^\s*([A-Za-z][0-9]{1,3})?([A-Za-z][0-9]{1,2})([A-Za-z])(?=[0-9])")
_BARE = re.compile(r"^\s*([A-Za-z][0-9]{1,3}[A-Za-z][0-9]{1,2}[A-Za-z]?)(?![A-Za-z0-9])")
"""A keeper's mark and a sheet's code with a letter missing or wrong; or a code, and a line run together with it."""
_HEAD = re.compile(r"^[ \t>]*(?:[A-Za-z][0-9]{1,3})?[A-Za-z][0-9]{1,2}[A-Za-z](?![A-Za-z0-9])")
"""What is written like a code, at the beginning of a line: its last letter may be wrong."""
_SPELT = re.compile(r"(?<![A-Za-z0-9])(?:([A-Za-z] ?[0-9]) )?([A-Za-z] [0-9]) ([A-Za-z])(?![A-Za-z0-9])")
_SIGNS = {"✓": " done ", "✔": " done ", "✅": " done ", "☑": " done ", "👍": " done "}
_SIGNS |= dict.fromkeys("✗✘❌❎👎", " not done ")


@dataclass(frozen=True, slots=True)
class Message:
    """What is said of a sheet: its code, the day as far as it is said, and what is said of its lines."""

    code: str
    day: SpokenDay
    text: str


def messages_in(text: str) -> list[str]:
    """The messages of a text: blank lines stand between them, or each begins, or ends, with its own code.

    What is only written like a code begins one too, where another does: it has to be asked about, not the one before.
    """
    found: list[str] = []
    for block in re.split(r"\n[ \t]*\n", text.replace("\r\n", "\n").replace("\r", "\n")):
        lines = [line for line in block.split("\n") if line.strip()]
        coded = [i for i, line in enumerate(lines) if _codes(line) or _HEAD.match(line)]
        starts = coded if len(coded) > 1 else []
        cuts = [0, *[i for i in starts if i], len(lines)]
        found += ["\n".join(lines[a:b]) for a, b in pairwise(cuts) if a < b]
    return found


def read_message(text: str) -> Message:
    """What a message says. Raises MessageError."""
    if len(text) > MAX_MESSAGE:
        raise MessageError("the message is too long; one sheet a message, please")
    code, plain = _taken_code(_plain(text))
    day, plain = taken_day(plain)
    if not any(sign.isalnum() for sign in plain):
        raise MessageError("nothing is said of any line; write the number of each line and what was done")
    return Message(code, day, plain)


def _plain(text: str) -> str:
    """Text with signs as words, and without what only looks: quotes before lines, brackets, small pictures."""
    for sign, words in _SIGNS.items():
        text = text.replace(sign, words)
    text = unicodedata.normalize("NFKC", text).replace("’", "'").replace("\r", "\n")
    text = re.sub(r"^[ \t]*(?:>[ \t]*)+", "", text, flags=re.M)
    text = re.sub(r"[:;]-?\)", " ", text)
    text = re.sub(r"[()\[\]*_!?\"]", " ; ", text)
    return "".join(c if c == "\n" or (c.isprintable() and unicodedata.category(c) != "So") else " " for c in text)


def _codes(text: str) -> list[tuple[str, int, int]]:
    """Codes with the right letter behind them, and where they stand; spelt or run together where there is no other."""
    plain = _plain(text) if ">" in text else text
    for pattern in (_CODE, _GLUED, _SPELT):
        found = []
        for match in pattern.finditer(plain):
            code, letter = f"{match[1] or ''}{match[2]}".upper().replace(" ", ""), (match[3] or "").upper()
            if set(code) <= set(LETTERS + DIGITS) and letter == check_letter(code):
                found.append((code, match.start(), match.end()))
        if found:
            return found
    return []


def _taken_code(text: str) -> tuple[str, str]:
    bare = _BARE.match(text)
    found = _codes(text)
    if bare and found and not any(start <= bare.start(1) and bare.end() <= end for _, start, end in found):
        what = f"{quoted(bare[1])} can be a code whose last letter is missing or wrong, or one with a line behind it"
        raise MessageError(f"{what}; please write the code as it stands at the sheet's foot, and a blank behind it")
    names = {code for code, _, _ in found}
    if len(names) > 1:
        raise MessageError(f"it names the sheets {' and '.join(sorted(names))}; one message a sheet, please")
    if not found:
        alike = next((m[0] for m in _CODE.finditer(text) if m[1] or m[3]), "")
        if alike:
            raise MessageError(f"{quoted(alike)} is not the code of a sheet; what stands at the foot of it?")
        raise MessageError("which sheet is it? Please begin with the code at its foot")
    for i, (_, start, end) in reversed(list(enumerate(found))):
        text = f"{text[:start]} ;{'' if i else BEHIND_CODE} {text[end:]}"
    return names.pop(), text
