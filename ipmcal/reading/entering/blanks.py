"""Blanks that a sheet prints, filled in as they stand there: ``highs 72 75 78 80, put in 2, lot K21``.

In: a line's step, its word's rule, what is said. Out: what is said as entries take it, and what has no place in the
line of the journal and goes into its note.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.methods import Step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.entering.phrases import AMOUNTS, SAID_DONE

LOT = "lot"
COVERS = ("bees",)
"""Effects of words that say how many frames are covered with bees."""
_FRAMES = (
    re.compile(r"\bframes? of bees *[:=]? *([0-9]{1,2})\b", re.I),
    re.compile(r"(?<![0-9/])([0-9]{1,2}) *frames? of bees\b", re.I),
)
"""As the blank is printed, before as it may be said."""
_FIGURE = r"[-+]?[0-9]+(?:[.,][0-9]+)?"
_FIGURES = rf"((?:{_FIGURE} *(?:°? *[CF]\b|mL\b|kg\b|lb\b|g\b)?(?: *[,/] *| +|(?=;)|$))+)"


def filled_in(step: Step | None, rule: EventRule | None, text: str) -> tuple[str, str]:
    """What is said with its printed blanks as entries take them, and the note of what has no place there."""
    if step is None or rule is None:
        return text, ""
    notes: list[str] = []
    if rule.value == "treatment":
        for label in step.blanks:
            text, found = _taken(text, label)
            notes += found
    for label in (*step.blanks, *rule.blanks):
        if label != LOT and rule.value in AMOUNTS:
            text = re.sub(rf"\b{re.escape(label)} *[:=]? *(?={_FIGURE})", " ", text, count=1, flags=re.I)
    text = " ".join(re.sub(r"(?<=[\w.]) *[,;] *(?=lot\b|by\b|$)", " ", text, flags=re.I).split())
    if rule.value in AMOUNTS and (step.blanks or rule.blanks) and re.match(rf"{_FIGURE}(?![0-9/])", text):
        noun = "|".join(re.escape(name) for one in step.blanks for name in (one, one.removesuffix("s")))
        text = re.sub(rf"^({_FIGURE}) +(?:{noun})\b", r"\1", text, flags=re.I) if noun else text
        text = f"{SAID_DONE} {text}"
    return text, "; ".join(notes)


def frames_of_bees(text: str, book: Rulebook) -> tuple[str, list[str]]:
    """``8 frames of bees``, said beside whatever else: the text without it, and the words of its line of the journal.

    Not within a note or another word of the journal; nothing where the rules have no word for it.
    """
    word = next((word for word, rule in book.events.items() if rule.effect in COVERS), "")
    head = text.split()[0].lower() if text.split() else ""
    found = (one.search(text) for one in _FRAMES if word and (head == SAID_DONE or head not in book.events))
    match = next((one for one in found if one is not None), None)
    if match is None:
        return text, []
    left = f"{text[: match.start()]} {text[match.end() :]}"
    return " ".join(left.split()).strip(" ,;"), [word, match[1]]


def _taken(text: str, label: str) -> tuple[str, list[str]]:
    """The text without a printed blank and the figures behind it; and these, under the blank's first word."""
    for name in _names(label):
        match = re.search(rf"\b{re.escape(name)} *[:=]? *{_FIGURES}", text, re.I)
        if match:
            figures = " ".join(re.sub(r"[,/;](?=\s|$)|(?<=[0-9])/(?=[0-9])", " ", match[1]).split())
            without = f"{text[: match.start()]} {text[match.end() :]}".strip()
            return without, [f"{label.split()[0].strip(',')} {figures}"]
    return text, []


def _names(label: str) -> Iterator[str]:
    """How a blank may be called: as printed, without its comma, by its first word."""
    yield label
    yield label.replace(",", "")
    yield label.split()[0].strip(",")
