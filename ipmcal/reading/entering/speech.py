"""What a keeper says of a sheet, told apart by lines: ``1 done, 2 9 in 300; 3-5 capped, all done but 6``.

In: a text, and what may be said of each line (``phrases.py``). Out: line numbers, each with words that entries take.
What could be of another line, or say another thing, is not guessed: it raises an EntryError that asks. Where no stop
stands between two lines, the next begins at a number only if behind it stands what may be said of that line.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from typing import NoReturn

from ipmcal.model.values.text import quoted
from ipmcal.reading.entering.entries import EntryError
from ipmcal.reading.entering.phrases import NOT_DONE, SAID_DONE, Heard
from ipmcal.reading.entering.tokens import HUNDRED, SOFT, STOPS, Token, Tokens

PREFIXES = {"line", "lines", "no", "nr", "ln", "number", "numbers", "#"}
FILLERS = {"and", "then", "was", "were", "is", "it", "the", "found", "had", "comma", "also", "with"}
AND, TO, BUT = {"and", "&", "+", "comma"}, {"-", "–", "..", "to", "through", "until"}, {"but", "except"}
NOT_THESE = (("no", "time", "for"), ("not",), ("skipped",), ("left", "out"), ("without",))
MARKS, APART = {":", "=", ")", "-", "–", "."}, {"*", "&", "/", "("}


_BEES = re.compile(r"(?<![0-9/])([0-9]{1,2}) *frames? of bees\b", re.I)
_BEES_OR_FIGURE = re.compile(
    r"[0-9]°?,? +[0-9]{1,2} *frames? of bees *[:=]? *[0-9]{1,2} *(?:$|[,;\n.]|by\b|lot\b)", re.I
)
"""A list of figures, and the blank for frames of bees behind it: "highs 12, 14 frames of bees 8"."""


def told_apart(
    text: str, lines: Sequence[Heard], journal: Collection[str] = (), *, letter: bool = False
) -> list[tuple[int, str]]:
    """What is said of which line; ``journal`` are words that may begin a line of the journal.

    In a ``letter`` greetings and thanks are passed over, and a sentence ends what is said. Raises EntryError.
    """
    if _BEES_OR_FIGURE.search(text):
        raise EntryError("two numbers stand beside 'frames of bees'; which of the two is it?")
    text = _BEES.sub(r"frames of bees \1", text)
    return _Ear(text, lines, frozenset(journal), letter=letter).all()


def _nothing_of(number: int) -> str:
    return f"nothing is said of line {number}; write '{number} {SAID_DONE}' or '{number} {NOT_DONE}'"


class _Ear(Tokens):
    """Reads a text once, from its beginning to its end."""

    def __init__(self, text: str, lines: Sequence[Heard], journal: frozenset[str], *, letter: bool) -> None:
        super().__init__(text, max((one.number for one in lines), default=0))
        self.lines, self.journal = {one.number: one for one in lines}, journal
        self.letter = letter
        self.found: list[tuple[int, str]] = []

    def all(self) -> list[tuple[int, str]]:
        """The whole text."""
        at = 0
        while at < len(self.tokens):
            at = self._item(at)
        return list(dict.fromkeys(self.found))

    # Items ------------------------------------------------------------------------------------------------------------

    def _item(self, at: int) -> int:
        """One thing that is said; where it ends."""
        while self.stands(at, STOPS, SOFT, FILLERS, MARKS, APART):
            at += 1
        if at >= len(self.tokens):
            return at
        for take in (self._whole_sheet, self._none_of, self._whose):
            end = take(at)
            if end:
                return end
        return self._aside(at)

    def _whole_sheet(self, at: int) -> int:
        """'All done', 'done but 4', 'nothing done'; 0 for none of these."""
        word = at
        every = self.stands(word, {"all", "everything"})
        word += every
        if self.stands(at, {"nothing"}) and self.stands(at + 1, {SAID_DONE}):
            self._say(self.lines, NOT_DONE)
            return at + 2
        if not self.stands(word, {SAID_DONE}):
            return 0
        end = word + 1
        while self.stands(end, {",", "comma"}) and self.stands(end + 1, BUT):
            end += 1
        left: list[int] = []
        if self.stands(end, BUT):
            end += 1
            while self.stands(end, {"for", "not", "line", "lines"}):
                end += 1
            first, behind = self.number(end)
            left, end = self._list(end)
            if first >= 0 and not self.ends(end) and self.ends(behind):  # '... but 4, 4 late'
                left, end = [first], behind
            if not left or not self.ends(end):
                self._ask(at)
        elif not self.ends(end) or not (every or self._is_all(end)):
            return 0
        for number in left:
            self._line(number)
        self._say([number for number in self.lines if number not in left], SAID_DONE)
        return end

    def _is_all(self, at: int) -> bool:
        """Whether nothing else is said, before or behind."""
        return not self.found and all(self.ends(i) for i in range(at, len(self.tokens)))

    def _none_of(self, at: int) -> int:
        """'No time for 4', 'not 4'; 0 where it is not that."""
        for phrase in NOT_THESE:
            if self._begins(at, phrase):
                numbers, end = self._list(at + len(phrase))
                if numbers and self.ends(end):
                    self._say(numbers, NOT_DONE)
                    return end
        return 0

    def _say(self, numbers: Collection[int], what: str) -> None:
        self.found += [(number, what) for number in numbers]

    def _whose(self, at: int) -> int:
        """Lines, and what is said of them; 0 where no line is named here."""
        for numbers, start in self._ways(at):
            lines = [self._line(number) for number in numbers]
            said, end = self._answer(lines, start)
            if said:
                self._say(numbers, " ".join(said))
                return end
            self._ask(at, _nothing_of(numbers[0]))
        return 0

    def _ways(self, at: int) -> list[tuple[list[int], int]]:
        """The lines that are named here, and where what is said of them begins. Raises where there are two ways."""
        by_hive = self._hive(at)
        if by_hive:
            return [by_hive]
        start = self._behind_prefix(at)
        first, end = self.number(start)
        if first < 0 or (start == at and self.tokens[at].low == "no"):
            return []
        one = [first], self._behind_marks(end)
        numbers, behind = self._list(start)
        many = numbers, self._behind_marks(behind)
        listed = len(numbers) > 1 and self._fits(numbers, many[1])
        if not listed:
            return [one]
        if first in self.lines and self._figure(self.lines[first], one[1])[0] and not self.stands(start + 1, TO, {","}):
            self._ask(at)
        return [many]

    def _fits(self, numbers: Sequence[int], at: int) -> bool:
        """Whether something may be said of all these lines here."""
        if any(number not in self.lines for number in numbers):
            return False
        return self._heard([self.lines[number] for number in numbers], at)[0] > 0 or self.stands(at, self.journal)

    def _line(self, number: int) -> Heard:
        return self.lines.get(number, Heard(number))

    def _behind_prefix(self, at: int) -> int:
        start = at
        while self.stands(start, PREFIXES):
            start += 1
            start += self.stands(start, {"."})
        word = self.tokens[start].low if start < len(self.tokens) else ""
        if start == at and re.fullmatch("l[0-9]{1,2}", word):
            token = self.tokens[start]
            self.tokens[start : start + 1] = [Token(token.text[1:], token.start + 1, token.end)]
        return start if start == at or self.number(start)[0] >= 0 else at

    def _behind_marks(self, at: int) -> int:
        while self.stands(at, MARKS) and not (self.stands(at, {"."}) and at + 1 >= len(self.tokens)):
            at += 1
        if self.stands(at, STOPS) and self.count(at + 1)[0]:
            return at + 1
        if self.stands(at, {";"}) and self.words(at + 1) and not self._ways_ahead(at + 1):
            return at + 1
        return at

    def _ways_ahead(self, at: int) -> bool:
        return self.number(at)[0] >= 0 and not self.stands(at, {"no"})

    def _list(self, at: int) -> tuple[list[int], int]:
        """Numbers of lines one behind the other: '1, 3 and 5', '1-3', '1 to 3', '2 4 5'; and where they end."""
        numbers: list[int] = []
        while True:
            number, end = self.number(at)
            if number < 0 or (end - at > 1) or self.stands(at, {"no"}):
                break
            numbers.append(number)
            at = end
            if self.stands(at, TO) and self.number(at + 1)[0] >= 0 and not self.stands(at + 1, {"no"}):
                last, end = self.number(at + 1)
                if last < number:
                    self._ask(at - 1, f"'{number}-{last}' runs backwards; write '{last}-{number}'")
                numbers += range(number + 1, min(last, number + HUNDRED) + 1)
                at = end
            while self.stands(at, AND, {","}) and self.number(at + 1)[0] >= 0 and not self.stands(at + 1, {"no"}):
                at += 1
            if self.stands(at, {","}) and self.stands(at + 1, AND) and self.number(at + 2)[0] >= 0:
                at += 2
        return numbers, at

    def _hive(self, at: int) -> tuple[list[int], int] | None:
        """'Hive 11' or a trap's name: the lines of which what follows may be said."""
        if self.stands(at, {"hive"}) and at + 1 < len(self.tokens):
            name, start = self.tokens[at + 1].low, at + 2
            some = [one for one in self.lines.values() if one.who.lower() == name]
            if not some:
                self._ask(at, f"there is no hive {quoted(self.tokens[at + 1].text)} on this sheet")
        else:
            start = at + 1 + self.stands(at, {"trap"})
            name = self.tokens[start - 1].low if start <= len(self.tokens) else ""
            some = [one for one in self.lines.values() if one.trap and one.trap.lower() == name]
            if not some:
                return None
        start = self._behind_marks(start)
        taken = {one.number: self._heard([one], start)[0] for one in some}
        fitting = [number for number, length in taken.items() if length and length == max(taken.values())]
        if len(fitting) > 1 and not self.stands(start, {SAID_DONE, "all"}):
            self._ask(at, f"which line of hive {name} is that: {', '.join(map(str, fitting))}?")
        return (fitting, start) if fitting else None

    # Answers ----------------------------------------------------------------------------------------------------------

    def _answer(self, lines: Sequence[Heard], at: int) -> tuple[list[str], int]:
        """What is said of lines, and where it ends."""
        said: list[str] = []
        figures = 0
        while True:
            while self.stands(at, FILLERS) and not self._heard(lines, at)[0] and not self.stands(at + 1, {"hive"}):
                at += 1
            taken, says, figure = self._heard(lines, at)
            if taken and not (said and self._whole_ahead(at)):
                figures += figure
                if figures > 1:
                    self._ask(at, f"two numbers are said of line {lines[0].number}; which of the two is it?")
                said += [says] if says not in said else []
                at += taken
            elif self.ends(at):
                ahead = self._past_stops(at)
                taken, says, figure = self._heard(lines, ahead)
                if not taken or figure or self._whole_ahead(ahead) or not said:
                    return said, at
                at = ahead
            elif self.stands(at, MARKS) and (self.ends(at + 1) or (said and self._heard(lines, at + 1)[2])):
                at += 1  # also in 'LATE: mites 3 bees 300', as a blank is printed
            elif self._next_line(at, said):
                return said, at
            elif self.stands(at, {"or"}):
                self._ask(at, f"two things are said of line {lines[0].number}; which of the two is it?")
            else:
                text, at = self._verbatim(at, lines[0].several)
                return [*said, text], at

    def _past_stops(self, at: int) -> int:
        while self.stands(at, STOPS, SOFT, FILLERS, {"("}):
            at += 1
        return at

    def _whole_ahead(self, at: int) -> bool:
        """Whether what follows is said of the sheet, or of other lines, though it begins as an answer might."""
        if self.stands(at, {"all", "everything"}) and self.stands(at + 1, {SAID_DONE}):
            return True
        start = self._behind_prefix(at)
        return start > at or any(self._begins(at, phrase) for phrase in NOT_THESE)

    def _begins(self, at: int, phrase: Sequence[str]) -> bool:
        """Whether these words stand here, and a number behind them."""
        there = [token.low for token in self.tokens[at : at + len(phrase)]]
        return there == list(phrase) and self.number(at + len(phrase))[0] >= 0

    def _heard(self, lines: Sequence[Heard], at: int) -> tuple[int, str, bool]:
        """How many tokens are an answer that all of the lines take, what it says, whether it is a figure."""
        answers = [self._one(line, at) for line in lines]
        if not answers or any(not taken for taken, _, _ in answers) or len({one[:2] for one in answers}) > 1:
            return 0, "", False
        return answers[0]

    def _one(self, line: Heard, at: int) -> tuple[int, str, bool]:
        if self.stands(at, {"frames", "frame"}) and self.stands(at + 1, {"of"}) and self.stands(at + 2, {"bees"}):
            number, end = self.number(at + len(("frames", "of", "bees")))
            return (end - at, f"frames of bees {number}", False) if number >= 0 else (0, "", False)
        taken, says = line.phrase(self.words(at))
        end, figure = self._figure(line, at)
        if end - at > taken and figure:
            return end - at, figure, True
        return taken, says, False

    def _figure(self, line: Heard, at: int) -> tuple[int, str]:
        """A count, or a number with a printed word before or behind it: where it ends, and in the words of entries."""
        end, count = self.count(at)
        if end and line.counts:
            return end, count
        if not line.amount or line.counts:
            return 0, ""
        named = self.stands(at, line.nouns)
        start = at + named
        number, end = self.number(start)
        if number < 0 or self.stands(start, {"no"}):
            return 0, ""
        noun = self.stands(end, line.nouns)
        end += noun
        if not (self.ends(end) or named or noun or self._next_line(end, [])):
            return 0, ""
        return end, str(number)

    def _next_line(self, at: int, said: Sequence[str]) -> bool:
        """Whether another line begins here, though nothing stands between."""
        if self.stands(at, {"line", "lines", "#"}) and self.number(at + 1)[0] >= 0:
            return True
        if self.stands(at, {"-", "–", "/", "*"}):
            return self._next_line(at + 1, said)
        if self.stands(at, {"hive"}):
            return True
        start = self._behind_prefix(at)
        number, end = self.number(start)
        if number not in self.lines or self.stands(start, {"no"}):
            return False
        numbers, behind = self._list(start) if self.tokens[start].text.isdigit() else ([number], end)
        for some, stop in ((numbers, behind), ([number], end)):
            if any(one not in self.lines for one in some):
                continue
            stop = self._behind_marks(stop)
            taken, says, _ = self._heard([self.lines[one] for one in some], stop)
            if taken:
                many = says.endswith("s") and number > 1 and stop == end and len(some) == 1
                if many and list(said) == [SAID_DONE]:
                    self._ask(at, f"'{number} {says}': is that said of line {number}?")
                return True
        return False

    def _verbatim(self, at: int, several: frozenset[str]) -> tuple[str, int]:
        """Words as they stand, up to where another line begins; figures with commas behind a blank of ``several``.

        The first number behind such a blank is what was written there, never a line: "outside, ° 12, 2 done".
        """
        figures = blank = False
        start, by_word = at, self.stands(at, self.journal) or self.number(at)[0] >= 0
        while at < len(self.tokens):
            if self.stands(at, {"lot", "by"}):
                at += 2
                continue
            figures = figures or self.stands(at, several)
            blank = blank or self.stands(at, several)
            if blank and self.number(at)[0] >= 0:
                blank, at = False, self.number(at)[1]
                continue
            ahead = self._past_stops(at)
            listed = figures and self.stands(at, {",", "/"}) and not self._next_line(ahead, [])
            if self.ends(at) and not listed and self._stops(at):
                break
            if at > start and not self.ends(at) and self._next_line(at, []) and self._bare_ends(at, by_word=by_word):
                break
            at += 1
        end = self.tokens[at - 1].end if at <= len(self.tokens) else len(self.text)
        return " ".join(self.text[self.tokens[start].start : end].split()), min(at, len(self.tokens))

    def _stops(self, at: int) -> bool:
        """Whether a stop ends what is said of a line: a number follows, or nothing that could belong to it."""
        if self.stands(at, {"\n"}) or (self.letter and self.stands(at, {"."})):
            return True
        ahead = at
        while self.stands(ahead, STOPS, SOFT, {"and"}):
            ahead += 1
        if ahead >= len(self.tokens) or self._whole_ahead(ahead) or self.stands(ahead, {"line", "lines", "#", "hive"}):
            return True
        return self.number(ahead)[0] >= 0 and not self.stands(ahead, {"no"})

    def _bare_ends(self, at: int, *, by_word: bool) -> bool:
        """Behind a word of the journal only 'done', 'not done' and counts begin another line without a stop."""
        if not by_word or self.stands(at, {"line", "lines", "#", "-", "–", "/", "hive"}):
            return True
        number, end = self.number(at)
        line = self.lines.get(number)
        if line is None:
            return False
        end = self._behind_marks(end)
        taken, says, figure = self._one(line, end)
        return bool(taken) and (figure or says in (SAID_DONE, NOT_DONE))

    # What is said of no line ------------------------------------------------------------------------------------------

    def _aside(self, at: int) -> int:
        """Words that are of no line: greetings and thanks are passed over, numbers and answers are asked."""
        start = at
        while at < len(self.tokens) and not (self.ends(at) and not self.in_number(at)):
            if at > start and self._next_line(at, []):
                break
            at += 1
        words = self.tokens[start:at]
        if any(sign.isdigit() for token in words for sign in token.text):
            self._ask(start, end=at)
        taken, _ = Heard(0).phrase([token.text for token in words])
        if words and (taken == len(words) or not self.letter):
            self._ask(start, end=at)
        return max(at, start + 1)

    def _ask(self, at: int, what: str = "", end: int = 0) -> NoReturn:
        if what:
            raise EntryError(what)
        stop = end or next((i for i in range(at, len(self.tokens)) if self.ends(i)), len(self.tokens))
        words = self.text[self.tokens[at].start : self.tokens[max(at, stop - 1)].end]
        raise EntryError(f"{quoted(' '.join(words.split()))}: of which line is that, and what was done?")
