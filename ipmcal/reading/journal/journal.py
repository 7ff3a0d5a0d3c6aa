"""Lines of the journal and of a yard file's history: from text to events.

In: ``DAY WORD [TRAP] [VALUE]`` (history), or a CSV of date, yard, colony, event, value, note. Out: ``Event`` values,
or complaints with file, line and column. Nothing is thrown away: a line that can't be read is a complaint, not a gap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.model.values.forms import iso_date
from ipmcal.model.values.rows import COLUMNS as COLUMNS
from ipmcal.model.values.text import Text, nearest, quoted
from ipmcal.reading.journal.dates import column_order, read_day
from ipmcal.reading.journal.keys import Numbered, key_complaints, standing
from ipmcal.reading.journal.values import Keys as Keys
from ipmcal.reading.journal.values import check_trap as check_trap
from ipmcal.reading.journal.values import event_rule, event_value
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput, Complaint
from ipmcal.reading.source.files import read_text
from ipmcal.reading.source.table import Cell, delimiter, rows

T = TypeVar("T")
MAX_BYTES = 20_000_000
"""Some hundred thousand lines: many hives, over many years."""
NEEDED = 4
"""So many columns have to be there; value and note may be left out."""


def history_event(text: Text, yard: str, colony: str, book: Rulebook) -> Event:
    """A line of a colony's history: ``2027-02-13 trap_hung T1 2``. Raises ValueError."""
    when, _, rest = " ".join(text.split()).partition(" ")
    word, _, value = rest.partition(" ")
    day = iso_date(when).toordinal()
    rule = event_rule(word, book)
    if rule.about == "yard" and rule.value == "mark":
        raise ValueError(f"'{word}' is about the yard: write it under 'observed', or in the journal")
    if rule.effect == "voids" and colony:  # the rulebook's own example has no colony
        raise ValueError(f"'{word}' takes back a line of the journal; a line of a history is deleted")
    trap, value = event_value(word, value, book)
    return Event(day, yard, colony, word, trap, value, "", text.place)


def read_journal(path: Path, file: str, keys: Keys, book: Rulebook) -> tuple[Event, ...]:
    """The lines of the journal that stand, in the order of their days. Raises BadInput.

    Lines of one day keep the file's order. A line that was taken back (``void``) is left out, and so is the one that
    took it back. Lines of days to come are read like all others.
    """
    return journal_events(read_text(path, file, MAX_BYTES), file, keys, book)


def journal_events(text: str, file: str, keys: Keys, book: Rulebook) -> tuple[Event, ...]:
    """The same, from the text of a journal. Raises BadInput."""
    reader = _Reader(file, keys, book)
    lines = list(rows(text, delimiter(text)))
    reader.order = column_order(cells[0].text for _, cells in lines if not isinstance(cells, str))
    cut_off = lines[-1][0] if lines and not text.endswith(("\n", "\r")) else 0
    for number, cells in lines:
        reader.line(number, cells, number == cut_off)
    lines_left, voids = standing(reader.lines)
    complaints = reader.complaints or voids  # what a line takes back may be one of those that can't be read
    complaints += key_complaints(lines_left, keys, book, reader.doubtful)
    if complaints:
        raise BadInput(sorted(complaints)[:MAX_A_FILE])
    return tuple(sorted((line.event for line in lines_left), key=lambda e: e.day))


@dataclass
class _Reader:
    """Reads the journal's lines, and collects what does not fit; ``doubtful`` are the colonies of such lines."""

    file: str
    keys: Keys
    book: Rulebook
    order: str | None = None
    begun: bool = False

    def __post_init__(self) -> None:
        self.lines: list[Numbered] = []
        self.complaints: list[Complaint] = []
        self.doubtful: set[str] = set()

    def line(self, number: int, cells: Sequence[Cell] | str, cut_off: bool) -> None:
        """One line: an event, the line of headings, or a complaint. ``cut_off``: it has no end of line."""
        begun, self.begun = self.begun, True
        if not isinstance(cells, str) and tuple(cell.text.lower() for cell in cells) == COLUMNS[: len(cells)]:
            return
        try:
            if cut_off and (isinstance(cells, str) or len(cells) < NEEDED):
                raise _BadCell("the line is cut off, and the file ends in it; complete the line, or delete it", 1)
            if isinstance(cells, str):
                raise _BadCell(cells, 1)
            if not begun and not any(sign.isdigit() for sign in cells[0].text):
                raise _BadCell(f"the headings have to be {','.join(COLUMNS)}", 1)
            self.lines.append(self._line(number, cells))
        except _BadCell as error:
            self.complaints.append(Complaint(self.file, number, error.column, str(error)))
            self.doubtful |= {cell.text for cell in cells[2:3] if isinstance(cell, Cell)}

    def _line(self, number: int, cells: Sequence[Cell]) -> Numbered:
        while len(cells) > len(COLUMNS) and not cells[-1].text:
            cells = cells[:-1]  # spreadsheets write empty cells behind a line
        if not NEEDED <= len(cells) <= len(COLUMNS):
            raise _BadCell(f"has {len(cells)} columns; write {', '.join(COLUMNS)}", 1)
        when, yard, colony, word, value, note = [*cells, *[Cell("", 1)] * (len(COLUMNS) - len(cells))]
        day = self._read(when, "date", lambda text: read_day(text, self.order))
        rule = self._read(word, "event", lambda text: event_rule(text, self.book))
        self._read(yard, "yard", self._yard)
        self._read(colony, "colony", lambda text: self._colony(text, rule))
        trap, rest = self._read(value, "value", lambda text: event_value(word.text, text, self.book, self.keys))
        place = Place(self.file, number, 1)
        event = Event(day, yard.text, colony.text or None, word.text, trap, rest, note.text, place)
        return Numbered(event, colony.column, value.column, rule.effect)

    def _read(self, cell: Cell, column: str, read: Callable[[str], T]) -> T:
        try:
            return read(cell.text)
        except ValueError as error:
            raise _BadCell(f"{column}: {error}", cell.column) from None

    def _yard(self, yard: str) -> None:
        if self.keys.yards is not None and yard not in self.keys.yards:
            raise ValueError(f"there is no yard {quoted(yard)}{nearest(yard, sorted(self.keys.yards))}")

    def _colony(self, colony: str, rule: EventRule) -> None:
        """Only lines about the yard, and what was not done there or is taken back, do without a colony."""
        if self.keys.yards is not None and not colony and rule.about != "yard" and rule.value not in ("step", "line"):
            raise ValueError(f"there is no colony ''{nearest('', sorted(self.keys.colonies()))}")


class _BadCell(ValueError):
    """What is wrong with a cell, and the column at which it begins."""

    def __init__(self, what: str, column: int) -> None:
        self.column = column
        super().__init__(what)
