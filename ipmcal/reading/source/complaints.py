"""Complaints: what is wrong in a file, where, and how to mend it. All of them are collected; none is raised alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ipmcal.model.values.cited import Place
from ipmcal.model.values.text import Text, one_line

MAX_A_FILE = 100
"""So many complaints about one file are kept: behind them it is hardly the file that was meant."""


@dataclass(frozen=True, slots=True, order=True)
class Complaint:
    """One defect of one file. Line and column count from 1; they are 0 where the whole file is meant."""

    file: str
    line: int
    column: int
    what: str

    @classmethod
    def at(cls, place: Place, what: str) -> Complaint:
        """A complaint about a place."""
        return cls(place.file, place.line, place.column, what)

    @classmethod
    def about(cls, text: Text, what: str) -> Complaint:
        """A complaint about a value, by its place and its dotted key (without the numbers of list items)."""
        key = ".".join(part for part in text.key.split(".") if not part.isdigit())
        return cls.at(text.place, f"{key}: {what}")

    def __str__(self) -> str:
        file = one_line(self.file, 200)
        return f"{file}:{self.line}:{self.column} {self.what}" if self.line else f"{file} {self.what}"


class BadInput(Exception):
    """Raised at the end of reading, when there is anything to complain about; holds every complaint, in order."""

    def __init__(self, complaints: Iterable[Complaint]) -> None:
        self.complaints = tuple(sorted(set(complaints)))
        super().__init__("\n".join(str(c) for c in self.complaints))
