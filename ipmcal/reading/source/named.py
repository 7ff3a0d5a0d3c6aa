"""A table whose first line names its columns, in any order: a spreadsheet's list of keepers, a form's answers.

In: text, the names that are known. Out: rows of cells by name, and complaints by line and column. A row that can't be
taken apart is a complaint of its own; the others stand.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from ipmcal.model.values.text import closest, quoted
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.files import bad
from ipmcal.reading.source.table import Cell, delimiter, rows

NamedRow = Mapping[str, Cell]
"""The cells of a row by the name of their column; an empty cell has an empty text."""


@dataclass(frozen=True)
class NamedTable:
    """Rows with their line numbers; ``others`` are columns of names that nobody asked for."""

    rows: tuple[tuple[int, NamedRow], ...]
    complaints: tuple[Complaint, ...]
    others: tuple[str, ...]
    comma: bool
    """True where numbers may hold a decimal comma, since something else stands between cells."""


def named_table(text: str, shown: str, known: Collection[str], needed: Collection[str]) -> NamedTable:
    """A table with its columns found by name. Raises BadInput where the first line does not name what is needed."""
    between = delimiter(text)
    lines = rows(text, between)
    head = next(lines, None)
    if head is None:
        raise bad(shown, f"is empty; its first line names the columns: {', '.join(needed)}")
    number, cells = head
    if isinstance(cells, str):
        raise bad(f"{shown}:{number}:1", cells)
    where = _columns(cells, shown, number, known, needed)
    found: list[tuple[int, NamedRow]] = []
    complaints: list[Complaint] = []
    for line, row in lines:
        if isinstance(row, str):
            complaints.append(Complaint(shown, line, 1, row))
            continue
        found.append((line, {name: row[i] if i < len(row) else Cell("", 1) for name, i in where.items()}))
    others = tuple(cell.text for cell in cells if cell.text and column_name(cell.text) not in known)
    return NamedTable(tuple(found), tuple(complaints), others, between != ",")


def column_name(heading: str) -> str:
    """A heading as a name: small letters, '_' for blanks and dashes."""
    return "_".join(heading.lower().replace("-", " ").replace("_", " ").split())


def _columns(
    cells: list[Cell], shown: str, number: int, known: Collection[str], needed: Collection[str]
) -> dict[str, int]:
    """Where each known column stands. Raises BadInput for one that is missing, twice there, or misspelt."""
    names = [column_name(cell.text) for cell in cells]
    place = f"{shown}:{number}"
    for cell, name in zip(cells, names, strict=True):
        if name in known and names.count(name) > 1:
            raise bad(f"{place}:{cell.column}", f"the column {quoted(cell.text)} stands there twice; rename one")
    for name in needed:
        if name not in names:
            alike = next((c for c, n in zip(cells, names, strict=True) if closest(n, [name])), None)
            meant = f"; is {quoted(alike.text)} meant?" if alike else f"; the columns are: {', '.join(known)}"
            raise bad(f"{place}:{alike.column if alike else 1}", f"there is no column '{name}'{meant}")
    return {name: names.index(name) for name in names if name in known}
