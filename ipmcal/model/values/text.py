"""Text as written in a file, that knows where it stands and which citations speak for it; and how complaints show text.

In: scalars of YAML files. Out: ``Text``, and words for messages that stay on one line whatever the file holds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from ipmcal.model.values.cited import Place

NOWHERE = Place("", 0, 0)
MAX_SHOWN = 60
MANY = 20
FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")
"""Characters that no text of ours holds: they can't be seen, or they change how what stands beside them is shown."""


class Text(str):
    """A scalar of a YAML file: a ``str`` with its place, its dotted key and the ``cite:`` nearest above it."""

    __slots__ = ("cite", "key", "place")

    place: Place
    key: str
    cite: str

    def __new__(cls, text: str, place: Place = NOWHERE, key: str = "", cite: str = "") -> Text:
        """Text with its place, its dotted key and the citations that speak for it."""
        self = super().__new__(cls, text)
        self.place, self.key, self.cite = place, key, cite
        return self


def one_line(text: str, limit: int = MAX_SHOWN) -> str:
    """Text as a message may hold it: one line, nothing invisible, at most ``limit`` signs."""
    line = FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", " ".join(text.split()))
    return line if len(line) <= limit else line[: limit - 1] + "…"


def quoted(text: str) -> str:
    """Text in single quotes, as a message may hold it."""
    return f"'{one_line(text)}'"


def closest(word: str, allowed: Sequence[str]) -> str | None:
    """The allowed word that a word most resembles, whatever its capitals; None where it resembles none."""
    from difflib import get_close_matches  # slow to import, and only needed for complaints

    by_lower = {one.lower(): one for one in allowed}
    found = get_close_matches(word[:MAX_SHOWN].lower(), list(by_lower), n=1, cutoff=0.6)
    return by_lower[found[0]] if found else None


def nearest(word: str, allowed: Sequence[str]) -> str:
    """A hint for a word that is not allowed: the nearest allowed one, and all of them where they are not too many."""
    close = closest(word, allowed)
    hint = f"; did you mean '{close}'?" if close else ""
    if not allowed:
        return "; there is none yet"
    if len(allowed) > MANY and close:
        return hint
    shown = ", ".join(one_line(one) for one in allowed[:MANY]) + (", ..." if len(allowed) > MANY else "")
    return f"{hint} allowed: {shown}" if hint else f"; allowed: {shown}"
