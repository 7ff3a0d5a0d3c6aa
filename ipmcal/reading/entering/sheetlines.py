"""A printed sheet and its lines, as they are entered: whose each line is, and which step of which method.

In: the ids of the sheet's tasks. Out: frozen values.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.outfit.outfit import OWN
from ipmcal.model.rules.methods import Step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.entering.entries import EntryError
from ipmcal.reading.entering.phrases import SAID_DONE
from ipmcal.reading.journal.values import steps_of


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A printed line: whose it is (a colony's key, or ``@YARD``), its trap frame, and the step of which method.

    ``look``: what is found decides, and words are printed for what was done: a tick alone says nothing. ``value`` is
    what its line of the journal says where it was done as printed, such as the slot.
    """

    number: int
    task: str
    who: str
    trap: str
    method: str
    step: str
    n: int
    look: bool = False
    value: str = ""

    @property
    def skipped(self) -> str:
        """The value of a line that says it was not done."""
        return " ".join(part for part in (self.trap, f"{self.method}/{self.step}/{self.n}") if part)


@dataclass(frozen=True, slots=True)
class PrintedSheet:
    """A sheet as the ledger knows it: its code, yard, the day it is for, its lines, the code that took its place."""

    code: str
    yard: str
    day: int
    lines: tuple[SheetLine, ...]
    superseded: bool = False
    successor: str = ""

    def line(self, number: int) -> SheetLine:
        """A line by its number. Raises EntryError."""
        if not 1 <= number <= len(self.lines):
            raise EntryError(f"the sheet has the lines 1 to {len(self.lines)}; there is no line {number}")
        return self.lines[number - 1]


def sheet_line(number: int, task: str, book: Rulebook, *, look: bool = False, value: str = "") -> SheetLine:
    """A printed line out of its task's id, ``3.T1/trap_comb_cut/2027/cut/2``."""
    who, method, _, step, n = task.split("/")
    rule = book.methods.get(method)
    trap = ""
    if rule is not None and rule.per == "trap_frame":
        who, _, trap = who.rpartition(".")
    return SheetLine(number, task, who, trap, method, step, int(n), look, value)


def step_of(line: SheetLine, book: Rulebook) -> Step | None:
    """The step of a line; None for the keeper's own task, and where the rules have no such step any more."""
    return steps_of(line.method, book).get(line.step)


def word_of(line: SheetLine, book: Rulebook) -> str:
    """The journal's word for a line that was done. Raises EntryError."""
    if line.method == OWN:
        return SAID_DONE
    step = step_of(line, book)
    if step is None:
        raise EntryError(f"the rules have no step {line.method}/{line.step} any more; write the journal's word for it")
    return str(step.logs)
