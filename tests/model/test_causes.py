"""Causes: every code has words, and every blank of its words is filled by each place in planning that says it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import CAUSE_WORDS, HOW_WRITTEN, because_words, blanks

PLANNING = Path(__file__).resolve().parent.parent.parent / "ipmcal" / "planning"


def said(text: str) -> Iterator[tuple[Code, int]]:
    """Each ``Because(Code.X, (...))`` of a source, with how many values it gives. Both must be spelt out there."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Because":
            codes = [one.attr for one in ast.walk(node.args[0]) if isinstance(one, ast.Attribute)]
            assert codes, f"line {node.lineno}: its code is not spelt out"
            values = node.args[1] if len(node.args) > 1 else ast.Tuple([])
            assert isinstance(values, ast.Tuple), f"line {node.lineno}: its values are not spelt out"
            assert not any(isinstance(one, ast.Starred) for one in values.elts), f"line {node.lineno}: a starred value"
            yield from ((Code[code], len(values.elts)) for code in codes if code in Code.__members__)


SAID = [(path.name, *one) for path in sorted(PLANNING.rglob("*.py")) for one in said(path.read_text())]


def test_every_code_has_words_and_is_said_in_planning() -> None:
    assert set(CAUSE_WORDS) == set(Code)
    assert {code for _, code, _ in SAID} == set(Code)
    assert len(set(CAUSE_WORDS.values())) == len(CAUSE_WORDS), "two codes for the same words"


@pytest.mark.parametrize(("where", "code", "values"), SAID)
def test_every_blank_is_a_value(where: str, code: Code, values: int) -> None:
    assert blanks(CAUSE_WORDS[code]) == {str(number) for number in range(values)}, where


@pytest.mark.parametrize("code", Code)
def test_every_blank_is_written_in_a_known_way(code: Code) -> None:
    ways = {how for _, name, how, _ in Formatter().parse(CAUSE_WORDS[code]) if name is not None}
    assert ways <= {*HOW_WRITTEN, "", ".0f", "g"}


def test_every_way_of_writing_is_used() -> None:
    assert set(HOW_WRITTEN) <= {how for words in CAUSE_WORDS.values() for _, _, how, _ in Formatter().parse(words)}


@pytest.mark.parametrize("values", [(), ("T1", 1), ("T1", 1, 2.0, 3)])
def test_too_few_values_or_too_many_are_refused(values: tuple[str | float, ...]) -> None:
    with pytest.raises(ValueError, match="3 blanks"):
        because_words(Because(Code.PLACE_TOO_FEW, values))


def test_a_cause_may_hold_another_and_a_text_is_never_read_as_words() -> None:
    """A keeper's brace stays a brace."""
    inner = Because(Code.PLACE_TOO_FEW, ("{0}", 1, 2.0))
    words = because_words(Because(Code.MIND, (inner,)))
    assert words == "Mind: {0} has 1 drawn frame for its place, and 2 are needed: one hangs, one freezes."
    assert because_words(Because(Code.USE_DRAWN, ("T1",))).endswith("write 'T1: {kind: drawn, frames: 2}'")
