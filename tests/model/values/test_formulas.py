"""Text in CSV output that a spreadsheet would take for a formula."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.values.rows import as_meant, no_formula, row_text


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "'=1", "\t=1"])
def test_what_begins_like_a_formula_gets_an_apostrophe(text: str) -> None:
    assert no_formula(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "calm", "'s", "a=1", "4/300"])
def test_other_text_stays(text: str) -> None:
    assert no_formula(text) == as_meant(text) == text


@given(st.text(st.sampled_from("'=+-@a \t"), max_size=6))
def test_it_comes_back_as_it_was_meant(text: str) -> None:
    assert as_meant(no_formula(text)) == text


def test_a_journal_line_holds_no_formula() -> None:
    assert (
        row_text(["2027-05-08", "y", "1", "note", "=HYPERLINK(1)", "-x"], ",")
        == "2027-05-08,y,1,note,'=HYPERLINK(1),'-x"
    )
