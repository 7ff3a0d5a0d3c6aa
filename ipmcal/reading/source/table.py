"""A small table in a text file: comma, semicolon or tab between cells, double quotes around a cell that holds one.

In: text. Out: rows of cells that know their column. A cell stays on its line: a quote that is not closed must not
swallow the lines below it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from ipmcal.model.values.rows import as_meant
from ipmcal.model.values.rows import delimiter as delimiter  # what reads a table asks for both here


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's text without blanks and quotes around it, and the column (from 1) at which it begins."""

    text: str
    column: int


def rows(text: str, between: str) -> Iterator[tuple[int, list[Cell] | str]]:
    """Line number and cells of every line that holds anything; or, for a line with a broken quote, what is wrong."""
    cell = re.compile(rf' *(?:"((?:[^"]|"")*)" *|([^"{between}]*))({between}|$)')
    for number, line in enumerate(text.splitlines(), 1):
        found: list[Cell] = []
        at = 0
        while match := cell.match(line, at):
            value = match[2] if match[1] is None else match[1].replace('""', '"')
            begin = match.start(2) if match[1] is None else match.start(1) - 1
            found.append(Cell(as_meant(value.strip()), begin + 1))
            at = match.end()
            if not match[3]:
                break
        if match is None:
            yield (
                number,
                f"a double quote does not match near column {at + 1}; write '\"\"' for one inside a quoted cell",
            )
        elif any(cell.text for cell in found):
            yield number, found
