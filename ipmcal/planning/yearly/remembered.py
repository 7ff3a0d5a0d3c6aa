"""Remembered: what was worked out of a rulebook, the last few: it changes no answer, only how soon it comes.

In: a rulebook, all else that the value depends on. Out: the value. A book is held as long as what is remembered of it,
so that no other can take its identity.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

from ipmcal.model.rules.rulebook import Rulebook

_V = TypeVar("_V")


class Latest(Generic[_V]):
    """The ``most`` values that were asked for last."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.known: OrderedDict[tuple[object, ...], tuple[Rulebook, _V]] = OrderedDict()

    def of(self, book: Rulebook, key: tuple[object, ...], make: Callable[[], _V]) -> _V:
        """The value of a key; made where nobody asked for it lately."""
        whole = (id(book), *key)
        if whole not in self.known:
            self.known[whole] = book, make()
            if len(self.known) > self.most:
                self.known.popitem(last=False)
        self.known.move_to_end(whole)
        return self.known[whole][1]
