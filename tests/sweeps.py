"""Sweeps: what goes through very many cases goes through a third of them, and through all with ``SWEEP=all``.

Which third is fixed: a failure comes again. Each value of each row and column of a grid has its turn.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from itertools import product
from typing import TypeVar

WHOLE = os.environ.get("SWEEP") == "all"
OF = 3
"""One case in so many."""

_T = TypeVar("_T")
_R = TypeVar("_R")
_C = TypeVar("_C")


def some(cases: Sequence[_T]) -> Sequence[_T]:
    """The cases to go through."""
    return cases if WHOLE else cases[::OF]


def some_of(number: int) -> int:
    """How many of so many examples to draw, at least one."""
    return number if WHOLE else max(1, number // OF)


def grid(rows: Sequence[_R], columns: Sequence[_C]) -> list[tuple[_R, _C]]:
    """The pairs of rows and columns to go through, by diagonals."""
    places = product(range(len(rows)), range(len(columns)))
    return [(rows[i], columns[j]) for i, j in places if WHOLE or (i + j) % OF == 0]


def turns(rows: Sequence[_R], columns: Sequence[_C]) -> list[tuple[_R, _C]]:
    """The pairs to go through of a grid whose cases are gone through elsewhere: each value has its turn, no more."""
    places = product(range(len(rows)), range(len(columns)))
    most = max(len(rows), len(columns))
    once = {(n % len(rows), n % len(columns)) for n in range(most)}
    return [(rows[i], columns[j]) for i, j in places if WHOLE or (i, j) in once]
