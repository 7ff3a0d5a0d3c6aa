"""A keeper's own temperatures: a small CSV of date, high and low beside the yard file, in the yard's own unit.

In: the file, whether the yard reads Fahrenheit. Out: high and low by day in degrees Celsius, or complaints by line.
"""

from __future__ import annotations

import re
from pathlib import Path

from ipmcal.model.values.forms import iso_date
from ipmcal.model.values.text import quoted
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput, Complaint
from ipmcal.reading.source.files import bad, read_text
from ipmcal.reading.source.table import Cell, delimiter, rows

COLUMNS = ("date", "high", "low")
COLDEST, WARMEST = -60.0, 60.0
"""Degrees Celsius that no yard on earth has left: beyond, the unit is mistaken."""


def read_temperatures(path: Path, shown: str, fahrenheit: bool) -> dict[int, tuple[float, float]]:
    """High and low by day (ordinal), degrees Celsius; other columns are left alone. Raises BadInput."""
    text = read_text(path, shown)
    between = delimiter(text)
    reader = _Reader(shown, fahrenheit, between == ";")
    table = rows(text, between)
    first = next(table, None)
    if first is None:
        raise bad(shown, "is empty; its first line names the columns: date,high,low")
    reader.head(*first)
    for number, cells in table:
        reader.line(number, cells)
        if len(reader.complaints) >= MAX_A_FILE:
            break
    if reader.complaints:
        raise BadInput(reader.complaints)
    return reader.days


class _Reader:
    """Reads line by line, collecting what can't be read."""

    def __init__(self, shown: str, fahrenheit: bool, comma: bool) -> None:
        self.shown, self.fahrenheit, self.comma = shown, fahrenheit, comma
        self.where: dict[str, int] = {}
        self.days: dict[int, tuple[float, float]] = {}
        self.lines: dict[int, int] = {}
        self.complaints: list[Complaint] = []

    def head(self, number: int, cells: list[Cell] | str) -> None:
        """The first line: which column is which. Raises BadInput where one is missing."""
        names = [] if isinstance(cells, str) else [cell.text.lower() for cell in cells]
        missing = [name for name in COLUMNS if names.count(name) != 1]
        if missing:
            what = f"the first line has to name the column {quoted(missing[0])}, once: write 'date,high,low'"
            raise BadInput([Complaint(self.shown, number, 1, what)])
        self.where = {name: names.index(name) for name in COLUMNS}

    def line(self, number: int, cells: list[Cell] | str) -> None:
        """One day; a day without both readings is a gap, and no fault."""
        if isinstance(cells, str):
            self._complain(number, 1, cells)
            return
        when, high, low = (self._cell(cells, name) for name in COLUMNS)
        if when.text and not (high.text and low.text):
            return
        day = self._day(number, when)
        warm, cold = self._celsius(number, high), self._celsius(number, low)
        if day is None or warm is None or cold is None:
            return
        if cold > warm:
            self._complain(number, low.column, f"the low {quoted(low.text)} is above the high {quoted(high.text)}")
        self.days[day], self.lines[day] = (warm, cold), number

    def _cell(self, cells: list[Cell], name: str) -> Cell:
        at = self.where[name]
        return cells[at] if at < len(cells) else Cell("", cells[-1].column)

    def _day(self, number: int, cell: Cell) -> int | None:
        try:
            day = iso_date(cell.text).toordinal()
        except ValueError as error:
            self._complain(number, cell.column, str(error))
            return None
        if day in self.lines:
            self._complain(number, cell.column, f"{quoted(cell.text)} is there already, on line {self.lines[day]}")
            return None
        return day

    def _celsius(self, number: int, cell: Cell) -> float | None:
        text = cell.text.replace(",", ".") if self.comma else cell.text
        if not re.fullmatch(r"[-+]?[0-9]{1,3}(\.[0-9]{1,6})?", text):
            self._complain(number, cell.column, f"{quoted(cell.text)} is not a temperature, such as '21.5'")
            return None
        value = (float(text) - 32.0) / 1.8 if self.fahrenheit else float(text)
        if not COLDEST <= value <= WARMEST:
            unit = "°F" if self.fahrenheit else "°C"
            hint = "" if self.fahrenheit else "; this yard reads °C: is 'temperature: f' missing in it?"
            what = f"no yard has {cell.text} {unit}{hint}"
            self._complain(number, cell.column, what)
            return None
        return value

    def _complain(self, number: int, column: int, what: str) -> None:
        self.complaints.append(Complaint(self.shown, number, column, what))
