"""Plain words: no word of the journal, with its low line, stands in what rules print on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
import yaml

from ipmcal.data import folder

PRINTED = {"do", "look", "harm", "notes", "prepare", "blanks", "circle", "lid", "cautions", "emergency", "title"}
RULES = folder("rules")
ROOMS = ("methods", "treatments")
FILES = ["planning.yaml", *sorted(f"{room}/{path.name}" for room in ROOMS for path in (RULES / room).glob("*.yaml"))]


def printed(node: Any, told: bool = False) -> Iterator[str]:
    """The texts below printed keys that are sentences; single words there are names of cautions and things."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield from printed(value, told or key in PRINTED)
    elif isinstance(node, list):
        for one in node:
            yield from printed(one, told)
    elif told and isinstance(node, str) and " " in node and "@" not in node:
        yield node


@pytest.mark.parametrize("file", FILES)
def test_what_is_printed_holds_no_word_of_the_journal(file: str) -> None:
    texts = list(printed(yaml.load((RULES / file).read_text(encoding="utf-8"), yaml.CSafeLoader)))
    assert texts
    assert [text for text in texts if re.search(r"[a-z]_[a-z]", text)] == []
