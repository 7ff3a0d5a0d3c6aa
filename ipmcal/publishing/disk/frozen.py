"""Frozen values as text, and back: what was read or worked out once need not be again.

In: a value of our own classes, dataclasses, pydantic's models, enumerations, made of plain ones. Out: JSON, in which
each value that occurs more than once stands once. Nothing that stands in such a text can run code: classes are looked
up among those that the program has loaded of ``ipmcal.model``, and filled without being called.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from collections.abc import Callable, Iterator
from datetime import date
from enum import Enum
from fractions import Fraction
from typing import Any

from pydantic import BaseModel

from ipmcal.model.values.text import Text

OURS = "ipmcal.model."
"""The classes of values stand below this module."""
_PLAIN = (str, int, float, bool, type(None))
_Made = Callable[[list[Any]], Any]
_COLLECTIONS: dict[str, _Made] = {
    "tuple": tuple,
    "list": list,
    "frozenset": frozenset,
    "dict": lambda parts: dict(zip(parts[::2], parts[1::2], strict=True)),
    "date": lambda parts: date.fromordinal(*parts),
    "Fraction": lambda parts: Fraction(*parts),
    "Text": lambda parts: Text(*parts),
}


def freeze(value: object) -> str:
    """A value as text. Raises TypeError for a value of a class that no value of ours is made of."""
    pool = _Pool()
    pool.place(value)
    return json.dumps({"kinds": list(pool.kinds), "pool": pool.rows}, separators=(",", ":"))


def thaw(text: str) -> Any:
    """The value of a text. Raises ValueError for what is no such text, or names what is no class of ours."""
    try:
        loose = json.loads(text)
        kinds = [_kind(name) for name in loose["kinds"]]
        pool: list[Any] = []
        for row in loose["pool"]:
            pool.append(kinds[row[0]]([pool[i] for i in row[1:]]) if type(row) is list else row)
        return pool[-1]
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError) as error:
        raise ValueError(f"is not a frozen value: {error}") from None


class _Pool:
    """Values in an order in which each stands behind its parts; equal ones of a kind once."""

    def __init__(self) -> None:
        self.kinds: dict[str, int] = {}
        self.rows: list[object] = []
        self.known: dict[object, int] = {}

    def place(self, value: object) -> int:
        """Where a value stands; it is put there where it did not yet."""
        if type(value) in _PLAIN:
            return self._row((type(value), repr(value)), value)
        name, parts = _parts(value)
        row = (self.kinds.setdefault(name, len(self.kinds)), *map(self.place, parts))
        # A mapping could be changed by whoever holds it: none is shared.
        return self._row(object() if name in ("dict", "list") else row, list(row))

    def _row(self, key: object, row: object) -> int:
        if key not in self.known:
            self.known[key] = len(self.rows)
            self.rows.append(row)
        return self.known[key]


def _parts(value: object) -> tuple[str, Iterator[object]]:
    """A value's kind, and what it is made of."""
    kind = type(value)
    name = kind.__name__
    if isinstance(value, Text):
        return name, iter((str(value), value.place, value.key, value.cite))
    if kind in (tuple, list):
        return name, iter(value)  # type: ignore[call-overload]
    if isinstance(value, frozenset):
        return name, iter(sorted(value, key=repr))
    if isinstance(value, dict):
        return name, (part for item in value.items() for part in item)
    if isinstance(value, date):
        return "date", iter((value.toordinal(),))
    if isinstance(value, Fraction):
        return name, iter((value.numerator, value.denominator))
    if kind.__module__.startswith(OURS):
        return f"{kind.__module__}:{kind.__qualname__}", _fields(value)
    raise TypeError(f"a {kind.__qualname__} can't be frozen")


def _fields(value: object) -> Iterator[object]:
    if isinstance(value, Enum):
        yield value.value
    elif isinstance(value, BaseModel):
        if value.__pydantic_private__ or value.__pydantic_extra__:
            raise TypeError(f"a {type(value).__qualname__} with more than its fields can't be frozen")
        yield tuple(sorted(value.model_fields_set))
        yield from (getattr(value, name) for name in type(value).model_fields)
    elif dataclasses.is_dataclass(value):
        yield from (getattr(value, one.name) for one in dataclasses.fields(value))
    else:
        raise TypeError(f"a {type(value).__qualname__} can't be frozen")


def _kind(name: str) -> _Made:
    """What makes a value of a kind from its parts."""
    if name in _COLLECTIONS:
        return _COLLECTIONS[name]
    module, _, word = name.partition(":")
    kind = getattr(sys.modules[module], word) if module.startswith(OURS) else None
    if not isinstance(kind, type):
        raise ValueError(f"there is no class {name}")
    if issubclass(kind, Enum):
        return lambda parts: kind(*parts)
    if issubclass(kind, BaseModel):
        return _model(kind)
    if dataclasses.is_dataclass(kind):
        return _dataclass(kind)
    raise ValueError(f"{name} is no class of values")


def _model(kind: type[BaseModel]) -> _Made:
    names = list(kind.model_fields)

    def made(parts: list[Any]) -> object:
        one: object = object.__new__(kind)
        fields = dict(zip(names, parts[1:], strict=True))
        object.__setattr__(one, "__dict__", fields)
        object.__setattr__(one, "__pydantic_fields_set__", set(parts[0]))
        object.__setattr__(one, "__pydantic_extra__", None)
        object.__setattr__(one, "__pydantic_private__", None)
        return one

    return made


def _dataclass(kind: type) -> _Made:
    names = [one.name for one in dataclasses.fields(kind)]

    def made(parts: list[Any]) -> object:
        one: object = object.__new__(kind)
        for name, part in zip(names, parts, strict=True):
            object.__setattr__(one, name, part)
        return one

    return made
