"""Programs side by side, on the screen. In: ``ProgramYear`` values of one yard. Out: lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap

from ipmcal.model.plan.compared import ProgramYear
from ipmcal.publishing.compared import ALIKE, ComparedRow, are_alike, compared_rows

ABOUT_WIDE, CELL_WIDE, GAP_WIDE = 34, 30, 2
"""Letters of the first column and of the others, and between."""


def compared_lines(years: Sequence[ProgramYear]) -> Iterator[str]:
    """The table of a yard."""
    first = years[0]
    head = ComparedRow(f"{first.yard_name}, season {first.season}", tuple(one.title for one in years))
    for row in (head, *compared_rows(years)):
        yield from _lines(row)
    if are_alike(years):
        yield ALIKE


def _lines(row: ComparedRow) -> Iterator[str]:
    about = wrap(row.about, ABOUT_WIDE)
    cells = [[part for line in cell.splitlines() for part in wrap(line, CELL_WIDE, subsequent_indent="  ")]
             for cell in row.cells]  # fmt: skip
    for parts in zip_longest(about, *cells, fillvalue=""):
        name, *rest = parts
        yield (name.ljust(ABOUT_WIDE + GAP_WIDE) + "".join(part.ljust(CELL_WIDE + GAP_WIDE) for part in rest)).rstrip()
