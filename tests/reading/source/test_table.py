"""Tables: cells with their columns; a quote that is not closed stays on its line."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ipmcal.reading.source.table import delimiter, rows


def read(text: str) -> list[tuple[int, list[str] | str]]:
    found = rows(text, delimiter(text))
    return [(n, cells if isinstance(cells, str) else [cell.text for cell in cells]) for n, cells in found]


def test_cells_know_their_column() -> None:
    ((_, cells),) = rows('2027, "a, b" ,c', ",")
    assert not isinstance(cells, str)
    assert [(c.text, c.column) for c in cells] == [("2027", 1), ("a, b", 7), ("c", 15)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a,b\n\n , ,\nc,d\r\n", [(1, ["a", "b"]), (4, ["c", "d"])]),
        ("a;b,c;d\n1;2;3\n", [(1, ["a", "b,c", "d"]), (2, ["1", "2", "3"])]),
        ('a,"say ""hi""",', [(1, ["a", 'say "hi"', ""])]),
        ('"",""\n\t,\na,', [(3, ["a", ""])]),
        ("", []),
    ],
)
def test_rows(text: str, expected: list[tuple[int, list[str]]]) -> None:
    assert read(text) == expected


@pytest.mark.parametrize("line", ['a,"b', 'a,b"c', 'a,"b"c,d', '"', '"""'])
def test_a_broken_quote_is_said_and_swallows_nothing(line: str) -> None:
    first, second = read(f"{line}\nc,d\n")
    assert isinstance(first[1], str)
    assert "a double quote does not match near column" in first[1]
    assert second == (2, ["c", "d"])


CELLS = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=8).map(str.strip)
WRITTEN = CELLS.filter(lambda cell: not cell.startswith("'"))
"""What a spreadsheet holds; an apostrophe in front is what we write before a formula, and take off again."""


@given(st.lists(st.lists(WRITTEN, min_size=2, max_size=5), max_size=4), st.sampled_from(",;"))
@example([["", ","]], ",")  # a cell that holds a separator holds something
@example([["", ""], ["a", ""]], ";")
def test_what_a_spreadsheet_writes_is_read(table: list[list[str]], between: str) -> None:
    file = io.StringIO()
    csv.writer(file, delimiter=between).writerows(table)
    found = [cells for _, cells in rows(file.getvalue(), between)]
    assert [[c.text for c in cells] for cells in found if not isinstance(cells, str)] == [
        row for row in table if any(row)
    ]
