"""Frozen values come back as they were; a text that holds anything else is refused, and runs nothing."""

from __future__ import annotations

import dataclasses
import json
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis, Citation, Cited, Place
from ipmcal.model.values.text import Text
from ipmcal.publishing.disk.frozen import freeze, thaw
from ipmcal.reading.rules.rulebook import load_rulebook


@lru_cache(1)
def book() -> Rulebook:
    return load_rulebook(folder("rules"))


def differences(one: Any, other: Any, path: str = "") -> list[str]:
    """Where two values differ, in their classes too: 1, 1.0 and True are equal, and not the same."""
    if type(one) is not type(other):
        return [f"{path}: {type(one).__name__}, {type(other).__name__}"]
    parts: list[tuple[Any, Any, Any]]
    if isinstance(one, BaseModel):
        parts = [(name, getattr(one, name), getattr(other, name)) for name in type(one).model_fields]
        parts.append(("set", sorted(one.model_fields_set), sorted(other.model_fields_set)))
    elif dataclasses.is_dataclass(one) and not isinstance(one, type):
        parts = [(f.name, getattr(one, f.name), getattr(other, f.name)) for f in dataclasses.fields(one)]
    elif isinstance(one, dict):
        parts = [("keys", list(one), list(other)), *((k, one[k], other[k]) for k in one if k in other)]
    elif isinstance(one, (tuple, list)):
        rows = enumerate(zip(one, other, strict=False))
        parts = [("length", len(one), len(other)), *((i, *both) for i, both in rows)]
    elif isinstance(one, Text):
        parts = [("place", one.place, other.place), ("key", one.key, other.key), ("cite", one.cite, other.cite)]
        parts.append(("text", str(one), str(other)))
    else:
        return [] if one == other else [f"{path}: {one!r}, {other!r}"]
    return [found for name, a, b in parts for found in differences(a, b, f"{path}.{name}")]


def test_the_whole_rulebook_comes_back_as_it_was() -> None:
    text = freeze(book())
    assert differences(book(), thaw(text)) == []
    assert freeze(thaw(text)) == text


def test_what_differs_in_class_alone_is_seen() -> None:
    """The comparison above would see it: ``==`` would not."""
    assert differences((1, True), (1.0, 1)) == [".0: int, float", ".1: bool, int"]


PLACES = st.builds(Place, st.text(), st.integers(), st.integers())
PLAIN = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text()
VALUES = st.recursive(
    PLAIN
    | st.dates()
    | st.fractions()
    | st.sampled_from(Basis)
    | st.builds(Citation, st.text(), st.text(), st.sampled_from(Basis))
    | st.builds(Text, st.text(), PLACES, st.text(), st.text()),
    lambda inner: (
        st.tuples(inner, inner)
        | st.lists(inner)
        | st.dictionaries(st.text(), inner)
        | st.builds(Cited, inner, st.just(()), PLACES, st.text(), st.text())
    ),
)


@given(VALUES)
def test_any_value_comes_back_as_it_was(value: object) -> None:
    assert differences(value, thaw(freeze(value))) == []


def test_equal_values_stand_once_but_no_mapping_is_shared() -> None:
    again = thaw(freeze(({"a": 1}, {"a": 1}, Place("f", 1, 2), Place("f", 1, 2))))
    assert again[0] is not again[1]
    assert again[2] is again[3]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{",
        "null",
        "9" * 5000,
        "[" * 100_000,
        json.dumps({"kinds": ["os:system"], "pool": ["true", [0, 0]]}),
        json.dumps({"kinds": ["ipmcal.model.values.text:closest"], "pool": ["a", [0, 0, 0]]}),
        json.dumps({"kinds": ["ipmcal.model.values.text:re.compile"], "pool": ["a", [0, 0]]}),
        json.dumps({"kinds": ["ipmcal.model.values.nothing:Place"], "pool": ["a", [0, 0]]}),
        json.dumps({"kinds": ["ipmcal.model.values.cited:Place"], "pool": ["a", 1, [0, 0, 1]]}),
        json.dumps({"kinds": ["ipmcal.model.values.cited:Basis"], "pool": ["a", [0, 0]]}),
        json.dumps({"kinds": ["Fraction"], "pool": [1, 0, [0, 0, 1]]}),
        json.dumps({"kinds": ["date"], "pool": [-1, [0, 0]]}),
        json.dumps({"kinds": ["tuple"], "pool": [[0, 7]]}),
        json.dumps({"kinds": ["dict"], "pool": [1, [0, 0]]}),
        json.dumps({"kinds": [], "pool": []}),
    ],
)
def test_another_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not a frozen value"):
        thaw(text)


@pytest.mark.parametrize("value", [object(), {1, 2}, b"bytes", 1j, json])
def test_what_is_no_value_of_ours_is_not_frozen(value: object) -> None:
    with pytest.raises(TypeError):
        freeze(value)


def test_dates_and_fractions_keep_their_class() -> None:
    assert thaw(freeze((date(2027, 5, 1), Fraction(1, 3)))) == (date(2027, 5, 1), Fraction(1, 3))
