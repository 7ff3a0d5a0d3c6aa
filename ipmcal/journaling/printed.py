"""Printed sheets out of the ledger: as they are entered, and for which days they were.

In: the ledger, a sheet of it, the rulebook. Out: frozen values and words.
"""

from __future__ import annotations

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.signs import is_printed_code
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import day_range, short_day
from ipmcal.publishing.memory.codes import find_sheet, successor
from ipmcal.publishing.memory.ledger import Ledger, LedgerSheet, read_ledger
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.yards.yards import Loaded


def printed_sheet(ledger: Ledger, found: LedgerSheet, book: Rulebook) -> PrintedSheet:
    """A sheet as entries take it, out of the ledger."""
    tasks = {task.id: (task.look, task.value) for task in ledger.tasks}
    told_of = [tasks.get(task, (False, "")) for task in found.lines]
    lines = tuple(
        sheet_line(i, task, book, look=look, value=value)
        for i, (task, (look, value)) in enumerate(zip(found.lines, told_of, strict=True), 1)
    )
    after, superseded = successor(ledger, found), bool(found.superseded_by)
    return PrintedSheet(found.code, found.yard, found.day, lines, superseded, after.code if after else "")


def far_from(day: int, window: tuple[int, int]) -> str:
    """For which days a sheet is."""
    return f"the sheet is for {short_day(day)}, its work for {day_range(*window)}"


def known_sheet(loaded: Loaded, code: str) -> PrintedSheet:
    """The sheet of an outfit by its code, with its checking letter or without. Raises BadInput and LedgerError."""
    ledger = read_ledger(loaded.ledger, loaded.outfit.id)
    found = find_sheet(ledger, code[:-1] if is_printed_code(code) else code)
    if found is None:
        raise BadInput([Complaint(quoted(code), 0, 0, "is not the code of a sheet that is known")])
    return printed_sheet(ledger, found, loaded.book)
