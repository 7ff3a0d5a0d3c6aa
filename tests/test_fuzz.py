"""A few hundred of the command lines and files of ``fuzz.py``: no fault in any of them."""

from __future__ import annotations

import fuzz

RUNS = 300
SECONDS = 60.0
"""On a slow machine fewer are run: the script runs the rest."""


def test_no_command_line_ends_in_a_traceback_or_an_exit_code_that_says_nothing() -> None:
    codes, wrong = fuzz.trial(range(RUNS), SECONDS)
    assert wrong == []
    assert set(codes) <= {0, 1, 2, 3}
    assert codes[0] + codes[3] > sum(codes.values()) / 20, "too few that did anything"
