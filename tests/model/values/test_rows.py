"""A journal's rows as text: quoted where they have to be, written as the file's own lines are."""

from __future__ import annotations

import pytest

from ipmcal.model.values.rows import appended, delimiter, row_text


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ","),
        ("date,yard;x\n", ","),
        ("date;yard;colony\n1,5\n", ";"),
        ("\n\ndate;yard\n", ";"),
        ("date\tyard\n", "\t"),
        ("one cell\n", ","),
    ],
)
def test_what_stands_between_cells(text: str, expected: str) -> None:
    assert delimiter(text) == expected


def test_a_row_quotes_what_has_to_be_quoted() -> None:
    assert row_text(["a", "b,c", 'd "e"', " f\ng ", ""], ",") == 'a,"b,c","d ""e""",f g,'
    assert row_text(["a", "b,c"], ";") == "a;b,c"


def test_rows_are_written_as_the_file_s_own_lines_are() -> None:
    assert appended("", [["a", "b"]]) == "date,yard,colony,event,value,note\na,b\n"
    assert appended("x;y\r\n1;2", [["a", "b"]]) == "x;y\r\n1;2\r\na;b\r\n"
    assert appended("x,y\n\n", [["a", "b"], ["c", "d"]]) == "x,y\n\na,b\nc,d\n"
    assert appended("x,y\rz,1\r", [["a", "b"]]) == "x,y\rz,1\ra,b\r"
