"""English in planning: a stored count of string literals with a blank, by room; it only falls. By ``ast``."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
import yaml

PLANNING = Path(__file__).resolve().parent.parent / "ipmcal" / "planning"
MOST: dict[str, int] = yaml.safe_load(Path(__file__).with_name("english_in_planning.yaml").read_text())
"""By room, how many fragments there were when it was last brought down. What is written anew is worded outside."""


def fragments(text: str) -> list[str]:
    """String literals with a blank inside, parts of f-strings too; docstrings and bare strings are none."""
    tree = ast.parse(text)
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    strings = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    return [str(n.value) for n in strings if id(n) not in bare and " " in str(n.value).strip()]


def count(room: str) -> int:
    folder = PLANNING if room == "." else PLANNING / room
    return sum(len(fragments(path.read_text())) for path in folder.glob("*.py"))


ROOMS = sorted({path.parent.relative_to(PLANNING).as_posix() for path in PLANNING.rglob("*.py")})


@pytest.mark.parametrize("room", ROOMS)
def test_english_in_a_room_of_planning_only_falls(room: str) -> None:
    """Fewer than stored: write the new number down, so that it stays."""
    assert count(room) == MOST.get(room, 0)


def test_the_stored_rooms_are_the_rooms_of_planning() -> None:
    assert set(MOST) <= set(ROOMS)


def test_the_count_sees_sentences_and_parts_of_them_and_no_docstring() -> None:
    text = 'def f(x: int) -> str:\n    """A doc."""\n    return f"it is {x} days, or more" + "one" + "two words"\n'
    assert sorted(fragments(text)) == [" days, or more", "it is ", "two words"]
