"""Lines of the journal and of a yard file's history: from text to events.

In: ``DAY WORD [TRAP] [VALUE]`` (history), or a CSV of date, yard, colony, event, value, note. Out: ``Event`` values,
or complaints with file, line and column. Nothing is thrown away: a line that can't be read is a complaint, not a gap.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from ipmcal.model.cited import Place
from ipmcal.model.forms import iso_date
from ipmcal.model.outfit import BEGINNINGS, QUEEN_WORDS, Event
from ipmcal.model.rules import EventRule, Rulebook
from ipmcal.model.text import Text, nearest, quoted
from ipmcal.reading.complaints import MAX_A_FILE, BadInput, Complaint
from ipmcal.reading.files import read_text
from ipmcal.reading.table import Cell, delimiter, rows

T = TypeVar("T")
COLUMNS = ("date", "yard", "colony", "event", "value", "note")
MAX_BYTES = 20_000_000
"""Some hundred thousand lines: many hives, over many years."""
NEEDED = 4
"""So many columns have to be there; value and note may be left out."""


@dataclass(frozen=True, slots=True)
class Keys:
    """What a journal line may refer to: yards by key, their colonies, each with its trap frames and their widest box.

    ``yards`` is None where the yard files are not in order: then lines are read without looking anything up.
    """

    yards: Mapping[str, Mapping[str, Mapping[str, int]]] | None

    def colonies(self) -> dict[str, Mapping[str, int]]:
        """All colonies: a key holds for life, whatever yard the colony stands in today."""
        return {key: traps for yard in (self.yards or {}).values() for key, traps in yard.items()}


def history_event(text: Text, yard: str, colony: str, book: Rulebook) -> Event:
    """A line of a colony's history: ``2027-02-13 trap_hung T1 2``. Raises ValueError."""
    when, _, rest = " ".join(text.split()).partition(" ")
    word, _, value = rest.partition(" ")
    day = iso_date(when).toordinal()
    rule = _rule(word, book)
    if rule.about == "yard" and rule.value == "mark":
        raise ValueError(f"'{word}' is about the yard: write it under 'observed', or in the journal")
    trap, value = _value(word, rule, value, book)
    return Event(day, yard, colony, word, trap, value, "", text.place)


def check_trap(event: Event, traps: Mapping[str, int], book: Rulebook) -> None:
    """An event about a trap frame names one of the hive's, and a slot that its widest box has. Raises ValueError."""
    if event.trap is None:
        return
    if event.trap not in traps:
        what = f"hive {quoted(event.colony or '')} has no trap frame {quoted(event.trap)}"
        raise ValueError(f"{what}{nearest(event.trap, sorted(traps))}")
    if book.events[event.word].value == "trap_slot" and not 1 <= int(event.value) <= traps[event.trap]:
        raise ValueError(f"there is no slot {event.value} in this hive; its boxes take {traps[event.trap]} frames")


def _rule(word: str, book: Rulebook) -> EventRule:
    if word not in book.events:
        raise ValueError(f"{quoted(word)} is not a word of the journal{nearest(word, sorted(book.events))}")
    return book.events[word]


def _value(word: str, rule: EventRule, text: str, book: Rulebook) -> tuple[str | None, str]:
    """The trap frame's name, where the word is about one, and the rest. Raises ValueError."""
    trap, value = None, text.strip()
    if rule.about == "trap":
        trap, _, value = value.partition(" ")
        if not trap:
            raise ValueError(f"'{word}' needs the trap frame's name, such as '{rule.example}'")
    problem = _CHECKS[rule.value](value.strip(), book)
    if problem:
        raise ValueError(f"'{word}': {problem}; write it as in '{rule.example}'")
    return trap, value.strip()


# The forms of values: each says what is wrong, or nothing. ------------------------------------------------------------


def _anything(value: str, book: Rulebook) -> str:
    return ""


def _nothing(value: str, book: Rulebook) -> str:
    return f"takes no value (found {quoted(value)})" if value else ""


def _slot(value: str, book: Rulebook) -> str:
    return "" if re.fullmatch(r"[0-9]{1,2}", value) else f"needs the slot in which it hangs (found {quoted(value)})"


def _finding(value: str, book: Rulebook) -> str:
    return "" if value in book.findings else f"{quoted(value)} is not a finding{nearest(value, list(book.findings))}"


def _count(value: str, book: Rulebook) -> str:
    right = re.fullmatch(r"[0-9]{1,4}/[1-9][0-9]{0,3}", value)
    return "" if right else f"needs mites and bees with '/' between (found {quoted(value)})"


def _queen(value: str, book: Rulebook) -> str:
    return "" if value in QUEEN_WORDS else f"{quoted(value)} is not known of a queen{nearest(value, QUEEN_WORDS)}"


def _frames(value: str, book: Rulebook) -> str:
    return "" if re.fullmatch(r"[0-9]{1,2}", value) else f"needs a number of frames (found {quoted(value)})"


def _mark(value: str, book: Rulebook) -> str:
    return "" if value in book.marks else f"{quoted(value)} is not a mark{nearest(value, sorted(book.marks))}"


def _beginning(value: str, book: Rulebook) -> str:
    return "" if value in BEGINNINGS else f"{quoted(value)} is not a way to begin{nearest(value, BEGINNINGS)}"


_CHECKS: Mapping[str, Callable[[str, Rulebook], str]] = {
    "none": _nothing,
    "text": _anything,
    "trap": _anything,
    "trap_slot": _slot,
    "trap_finding": _finding,
    "count": _count,
    "queen": _queen,
    "frames": _frames,
    "mark": _mark,
    "beginning": _beginning,
}

# The journal ---------------------------------------------------------------------------------------------------------


def read_journal(path: Path, file: str, keys: Keys, book: Rulebook) -> tuple[Event, ...]:
    """The journal, in the order of its days; lines of one day keep the file's order. Raises BadInput."""
    text = read_text(path, file, MAX_BYTES)
    reader = _Reader(file, keys, book)
    for number, cells in rows(text, delimiter(text)):
        reader.line(number, cells)
    if reader.complaints:
        raise BadInput(reader.complaints[:MAX_A_FILE])
    return tuple(sorted(reader.events, key=lambda e: e.day))


class _Reader:
    """Reads the journal's lines, and collects what does not fit."""

    def __init__(self, file: str, keys: Keys, book: Rulebook) -> None:
        self.file, self.keys, self.book = file, keys, book
        self.colonies = keys.colonies()
        self.begun = False
        self.events: list[Event] = []
        self.complaints: list[Complaint] = []

    def line(self, number: int, cells: Sequence[Cell] | str) -> None:
        """One line: an event, the line of headings, or a complaint."""
        begun, self.begun = self.begun, True
        if not isinstance(cells, str) and tuple(cell.text.lower() for cell in cells) == COLUMNS[: len(cells)]:
            return
        try:
            if isinstance(cells, str):
                raise _BadCell(cells, 1)
            if not begun and not any(sign.isdigit() for sign in cells[0].text):
                raise _BadCell(f"the headings have to be {','.join(COLUMNS)}", 1)
            self.events.append(self._event(number, cells))
        except _BadCell as error:
            self.complaints.append(Complaint(self.file, number, error.column, str(error)))

    def _event(self, number: int, cells: Sequence[Cell]) -> Event:
        while len(cells) > len(COLUMNS) and not cells[-1].text:
            cells = cells[:-1]  # spreadsheets write empty cells behind a line
        if not NEEDED <= len(cells) <= len(COLUMNS):
            raise _BadCell(f"has {len(cells)} columns; write {', '.join(COLUMNS)}", 1)
        when, yard, colony, word, value, note = [*cells, *[Cell("", 1)] * (len(COLUMNS) - len(cells))]
        day = self._read(when, "date", lambda text: iso_date(text).toordinal())
        rule = self._read(word, "event", lambda text: _rule(text, self.book))
        self._read(yard, "yard", self._yard)
        self._read(colony, "colony", lambda text: self._colony(text, rule))
        trap, rest = self._read(value, "value", lambda text: _value(word.text, rule, text, self.book))
        place = Place(self.file, number, 1)
        event = Event(day, yard.text, colony.text or None, word.text, trap, rest, note.text, place)
        if self.keys.yards is not None and colony.text:
            self._read(value, "value", lambda _: check_trap(event, self.colonies[colony.text], self.book))
        return event

    def _read(self, cell: Cell, column: str, read: Callable[[str], T]) -> T:
        try:
            return read(cell.text)
        except ValueError as error:
            raise _BadCell(f"{column}: {error}", cell.column) from None

    def _yard(self, yard: str) -> None:
        if self.keys.yards is not None and yard not in self.keys.yards:
            raise ValueError(f"there is no yard {quoted(yard)}{nearest(yard, sorted(self.keys.yards))}")

    def _colony(self, colony: str, rule: EventRule) -> None:
        if self.keys.yards is None or (rule.about == "yard" and not colony):
            return
        if colony not in self.colonies:
            raise ValueError(f"there is no colony {quoted(colony)}{nearest(colony, sorted(self.colonies))}")


class _BadCell(ValueError):
    """What is wrong with a cell, and the column at which it begins."""

    def __init__(self, what: str, column: int) -> None:
        self.column = column
        super().__init__(what)
