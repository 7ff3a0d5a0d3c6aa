"""A text as words, numbers and signs, and the numbers and counts that stand in it.

In: a text. Out: tokens with their places; a number in digits or words; mites of so many bees.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

NUMBERS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
HUNDRED = 100
IN = {"in", "of", "/", "per", "from"}
STOPS, SOFT = {"\n", ";"}, {",", "."}
_TOKEN = re.compile(r"[0-9]+/[0-9]+h?(?![0-9/])|[0-9]+|[^\W\d_](?:[\w']|-(?=[^\W\d_]))*|\.\.|[^\S\n]+|.|\n", re.S)
_COUNT = re.compile(r"[0-9]{1,4}/[0-9]{1,4}h?")


@dataclass(frozen=True, slots=True)
class Token:
    """A word, number or sign, and where it stands."""

    text: str
    start: int
    end: int

    @property
    def low(self) -> str:
        """Small letters."""
        return self.text.lower()


class Tokens:
    """A text's tokens, asked by their places. ``last`` is the highest number of a line."""

    def __init__(self, text: str, last: int) -> None:
        self.text, self.last = text, last
        self.tokens = [Token(m[0], m.start(), m.end()) for m in _TOKEN.finditer(text) if m[0] == "\n" or m[0].strip()]

    def stands(self, at: int, *what: Collection[str]) -> bool:
        """Whether one of these words or signs stands here."""
        return at < len(self.tokens) and any(self.tokens[at].low in some for some in what)

    def ends(self, at: int) -> bool:
        """Whether a text, or a part of it, ends here; a point or comma between digits ends nothing."""
        if at >= len(self.tokens) or self.stands(at, STOPS):
            return True
        return self.stands(at, SOFT) and not self.in_number(at)

    def in_number(self, at: int) -> bool:
        """Whether a point or comma stands between digits."""
        if not 0 < at < len(self.tokens) - 1:
            return False
        before, here, behind = self.tokens[at - 1 : at + 2]
        touch = (before.end, here.end) == (here.start, behind.start)
        return touch and before.text.isdigit() and behind.text[0].isdigit()

    def number(self, at: int) -> tuple[int, int]:
        """A number in digits or words, and where it ends; (-1, at) for none."""
        if at >= len(self.tokens):
            return -1, at
        word = self.tokens[at].low
        if word.isdigit() and len(word) <= len("9999"):
            return int(word), at + 1
        if word not in NUMBERS and word not in ("no",):
            return -1, at
        value = 0 if word == "no" else NUMBERS.index(word)
        if self.stands(at + 1, {"hundred"}):
            return value * HUNDRED, at + 2
        return value, at + 1

    def words(self, at: int) -> list[str]:
        """The words from here to the next stop, at most as many as a phrase has."""
        words: list[str] = []
        for token in self.tokens[at : at + 8]:
            if token.low in STOPS or not (token.text[0].isalpha() or token.text[0] == "_"):
                break
            words.append(token.text)
        return words

    def count(self, at: int) -> tuple[int, str]:
        """Mites of so many bees: where it ends, and as the journal writes it; 0 for none."""
        start = at
        while self.stands(at, {"mites", "count", "counted", "washed", "wash", "bees"}):
            at += 1
        if at < len(self.tokens) and _COUNT.fullmatch(self.tokens[at].text):
            end = at + 1 + self.stands(at + 1, {"bees"})
            return end, self.tokens[at].low
        mites, end = self.number(at)
        if mites < 0:
            return 0, ""
        if self.stands(end, {"bees"}) and not self.stands(at - 1, {"mites"}):  # so many bees, and then the mites
            other, behind = self.number(end + 1 + self.stands(end + 1, {",", "and"}))
            return (
                (behind + 1, f"{other}/{mites}") if other >= 0 and self.stands(behind, {"mites", "mite"}) else (0, "")
            )
        labelled = self.stands(end, {"mites", "mite"})
        end += labelled
        linked = False
        while self.stands(end, IN, {"out", "of", ",", "bees"}):
            linked = linked or self.stands(end, IN)
            end += 1
        bees, behind = self.number(end)
        if bees < 0 or not (linked or labelled or bees > self.last or at > start):
            return 0, ""
        if self.tokens[at].low == "no" and not labelled:
            return 0, ""
        behind += self.stands(behind, {"bees", "bee"})
        return behind, f"{mites}/{bees}"
