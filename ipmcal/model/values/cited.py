"""A value and whom we have it from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

T_co = TypeVar("T_co", covariant=True)


class Basis(StrEnum):
    """How sure a number is, surest first."""

    READ = "read"
    SECOND = "second"
    DERIVED = "derived"
    PRACTICE = "practice"
    MEMORY = "memory"
    ASSUMPTION = "assumption"


@dataclass(frozen=True, slots=True)
class Citation:
    """A source of ``sources.yaml``, a place in it (may be empty), and how sure we are of the figure."""

    source: str
    locus: str
    basis: Basis

    def __str__(self) -> str:
        locus = f":{self.locus}" if self.locus else ""
        return f"@{self.source}{locus}/{self.basis}"


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a text file, lines and columns counted from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Cited(Generic[T_co]):
    """A loaded value with its citations, where it stands, its key (dotted) and its text as written."""

    value: T_co
    cites: tuple[Citation, ...]
    place: Place
    key: str
    text: str

    @property
    def basis(self) -> Basis:
        """The least sure basis among its citations: part of the value rests on it."""
        order = list(Basis)
        return max((c.basis for c in self.cites), key=order.index)
