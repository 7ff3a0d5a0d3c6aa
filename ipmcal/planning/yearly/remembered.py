"""Remembered: what was worked out of a rulebook, the last few, and in runs before: it changes no answer, only how soon
it comes.

In: a rulebook, all else that the value depends on. Out: the value. A book is held as long as what is remembered of it,
so that no other can take its identity.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, Generic, TypeVar

from ipmcal.model.rules.rulebook import Rulebook

_V = TypeVar("_V")


@dataclass(frozen=True)
class KeptYears:
    """What runs before worked out with the same rules, by names, and what this one asked for: that is kept for the
    next. Whoever fills it answers for program and rules being the same.
    """

    known: Mapping[str, object] = field(default_factory=dict)
    used: dict[str, object] = field(default_factory=dict)
    keeps: bool = True

    def of(self, named: Callable[[], str], kind: type[_V], make: Callable[[], _V]) -> _V:
        """The value of a name; made where no run before made it."""
        if not self.keeps:
            return make()
        name = named()
        if name not in self.used:
            value = self.known.get(name)
            self.used[name] = value if isinstance(value, kind) else make()
        value = self.used[name]
        assert isinstance(value, kind)
        return value

    @property
    def grew(self) -> bool:
        """Whether anything was made, or is asked for no more."""
        return self.used.keys() != self.known.keys()


NOTHING_KEPT = KeptYears(keeps=False)


def name_of(what: str, *parts: object) -> str:
    """A name for all that a value depends on: equal parts of plain values and frozen ones have one, in every run."""
    return f"{what} {hashlib.sha256(repr([_plain(part) for part in parts]).encode()).hexdigest()}"


def _plain(value: Any) -> object:
    """A value as text, whatever order its sets are in."""
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    if isinstance(value, frozenset):
        return sorted(repr(_plain(one)) for one in value)
    if isinstance(value, Mapping):
        return [(repr(key), _plain(one)) for key, one in value.items()]
    if is_dataclass(value):
        return [type(value).__name__, *(_plain(getattr(value, one.name)) for one in fields(value))]
    return repr(value)


class Latest(Generic[_V]):
    """The ``most`` values that were asked for last, of the ``BOOKS`` rulebooks that were asked last: they are large."""

    BOOKS = 3

    def __init__(self, most: int) -> None:
        self.most = most
        self.books: OrderedDict[int, Rulebook] = OrderedDict()
        self.known: OrderedDict[tuple[object, ...], _V] = OrderedDict()

    def of(self, book: Rulebook, key: tuple[object, ...], make: Callable[[], _V]) -> _V:
        """The value of a key; made where nobody asked for it lately."""
        whole = (id(book), *key)
        if whole not in self.known:
            made = make()
            self._room_for(book)
            self.known[whole] = made
        self.books.move_to_end(id(book))
        self.known.move_to_end(whole)
        return self.known[whole]

    def _room_for(self, book: Rulebook) -> None:
        """One value gives way where there are so many; all values of a book, where there are too many books."""
        self.books[id(book)] = book
        if len(self.books) > self.BOOKS:
            gone, _ = self.books.popitem(last=False)
            for key in [key for key in self.known if key[0] == gone]:
                del self.known[key]
        if len(self.known) >= self.most:
            self.known.popitem(last=False)
