"""Words of the journal stand in the rules: nothing in the package knows one by its spelling. By ``ast``."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml

from ipmcal.model.outfit.outfit import QUEEN_WORDS
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.needs import BEGINNINGS, NEED_RULES, QUEEN_STATES
from ipmcal.model.values.rows import JOURNAL_COLUMNS

ROOT = Path(__file__).resolve().parent.parent
WORDS = frozenset(yaml.safe_load((ROOT / "rules" / "events.yaml").read_text())["events"])
ALLOWED: dict[str, dict[str, str]] = yaml.safe_load(Path(__file__).with_name("event_words.yaml").read_text())
"""By file and word: what else the word means there. It only shrinks: what no longer stands there must go."""


def spelled_alike() -> frozenset[str]:
    """Words of other closed vocabularies: effects, forms of values, a queen's states, ways to begin, needs, columns."""
    closed = [get_args(EventRule.model_fields[name].annotation) for name in ("effect", "value")]
    needs = [word for rule in NEED_RULES.values() for word in rule.words]
    others = (QUEEN_WORDS, QUEEN_STATES, BEGINNINGS, tuple(NEED_RULES), needs, JOURNAL_COLUMNS)
    return frozenset(word for words in (*closed, *others) for word in words)


def named(node: ast.expr) -> bool:
    """True for what holds a word of the journal: ``event.word``, ``step.logs``, ``word``."""
    return (isinstance(node, ast.Attribute) and node.attr in ("word", "logs")) or (
        isinstance(node, ast.Name) and node.id in ("word", "logs")
    )


def is_of_a_word(node: ast.AST) -> bool:
    """True where a word is compared with something, set, or given to an event."""
    if isinstance(node, ast.Compare):
        return any(named(one) for one in (node.left, *node.comparators))
    if isinstance(node, ast.keyword):
        return node.arg in ("word", "logs")
    return isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Event"


def spelled(tree: ast.AST) -> Iterator[ast.Constant]:
    """Literals that can only be words of the journal, and those that one is compared with or made of."""
    alike = spelled_alike()
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and node.value in WORDS - alike:
            yield node
        elif is_of_a_word(node):
            yield from (n for n in ast.walk(node) if isinstance(n, ast.Constant) and n.value in WORDS & alike)


def found_in(text: str) -> set[str]:
    return {str(one.value) for one in spelled(ast.parse(text))}


def test_no_word_of_the_journal_is_spelled_in_the_package() -> None:
    places: dict[str, set[str]] = {}
    for path in sorted((ROOT / "ipmcal").rglob("*.py")):
        words = found_in(path.read_text())
        if words:
            places[path.relative_to(ROOT).as_posix()] = words
    assert places == {name: set(words) for name, words in ALLOWED.items()}


def test_each_word_that_may_stand_there_has_a_reason() -> None:
    assert [name for name, words in ALLOWED.items() if not all(why.strip() for why in words.values())] == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("if e.word == 'swarmed': pass", {"swarmed"}),
        ("cut = step.logs in ('trap_cut', 'x')", {"trap_cut"}),
        ("if last.word == 'count': pass", {"count"}),
        ("if rule.value == 'count': pass", set()),
        ("Event(1, '', None, 'queen')", {"queen"}),
        ("Step(logs='strength')", {"strength"}),
        ("effects[e.word] == 'supers_on'", set()),
        ("book.effect(e.word) == 'queen'", set()),
    ],
)
def test_the_search_finds_a_planted_word(text: str, words: set[str]) -> None:
    """The search itself: a word planted is found, and what is spelled like one is let be."""
    assert found_in(text) == words


def test_there_are_words_to_search_for() -> None:
    some: Any = {"swarmed", "caged", "trap_cut", "void", "count"}
    assert some <= WORDS
