"""Sheet codes: two signs on a printed sheet that tie its line numbers to the plan that it was printed from.

In a club two or more signs stand before them, the keeper's mark: ``K7A2`` is sheet A2 of the keeper K7.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from ipmcal.model.values.signs import DIGITS, LETTERS
from ipmcal.model.values.words import short_day
from ipmcal.publishing.memory.ledger import Ledger, LedgerSheet, day_text

RECENT = 35
"""Days before and after today whose sheets are named where a code is not known."""
SHOWN = 12
FAR = 31


def assign_code(ledger: Ledger, yard: str, visit_id: str, day: int, lines: tuple[str, ...]) -> tuple[str, Ledger]:
    """The code of a sheet to be printed, and the ledger that knows it.

    The same yard, day and lines keep their code. Anything else is a new sheet with the next free code; it supersedes
    each sheet that holds one of its tasks, and those of its yard and day. With every code in use, the oldest superseded
    sheet gives up its code, or else the oldest past one (before ``ledger.as_of``), and ``formerly`` of the new sheet
    says for what it stood. If none can be given up, codes grow a third sign.
    """
    same = next((s for s in ledger.sheets if (s.yard, s.day, s.lines) == (yard, day, lines)), None)
    if same is not None:
        mine, printed = replace(same, visit=visit_id, superseded_by=0), ledger.printed
    else:
        code, formerly = _free_code(ledger)
        printed = ledger.printed + 1
        mine = LedgerSheet(code, printed, yard, visit_id, day, lines, formerly=formerly)
    others = (_superseded(sheet, mine) for sheet in ledger.sheets if sheet.code != mine.code)
    return mine.code, replace(ledger, sheets=(*others, mine), printed=printed)


def _superseded(sheet: LedgerSheet, by: LedgerSheet) -> LedgerSheet:
    outdated = not set(sheet.lines).isdisjoint(by.lines) or (sheet.yard, sheet.day) == (by.yard, by.day)
    return replace(sheet, superseded_by=by.serial) if outdated and not sheet.superseded_by else sheet


def _free_code(ledger: Ledger) -> tuple[str, str]:
    """A code, and for what it stood before ("" where it was free)."""
    taken = {sheet.code for sheet in ledger.sheets}
    for code in codes(ledger.mark):
        if code not in taken:
            return code, ""
    past = [sheet for sheet in ledger.sheets if ledger.as_of is not None and sheet.day < ledger.as_of]
    superseded = sorted((s for s in ledger.sheets if s.superseded_by), key=lambda s: s.serial)
    for old in (*superseded, *sorted(past, key=lambda s: (s.day, s.serial))):
        return old.code, f"{old.yard} {day_text(old.day)}"
    return next(code + sign for sign in DIGITS for code in codes(ledger.mark) if code + sign not in taken), ""


def free_mark(taken: Collection[str]) -> str:
    """The first mark that no keeper of a club has: two signs, and more where they run out."""
    ends = [""]
    while True:
        for end in ends:
            found = next((mark for code in codes() if (mark := code + end) not in taken), None)
            if found is not None:
                return found
        ends = [end + sign for end in ends for sign in DIGITS]


def codes(mark: str = "") -> Iterator[str]:
    """All codes of two signs. 17 letters and 8 digits have no common factor, so that walking both rings at once meets
    every pair, and codes given out one after the other differ in both signs."""
    return (mark + LETTERS[i % len(LETTERS)] + DIGITS[i % len(DIGITS)] for i in range(len(LETTERS) * len(DIGITS)))


def find_sheet(ledger: Ledger, code: str) -> LedgerSheet | None:
    """The sheet with this code, small letters allowed; None where no sheet has it."""
    return next((sheet for sheet in ledger.sheets if sheet.code == code.strip().upper()), None)


def near_sheets(ledger: Ledger, today: int) -> list[str]:
    """The sheets of these weeks in words, current ones first, the nearest day first."""

    def near(sheet: LedgerSheet) -> tuple[bool, int, int]:
        return bool(sheet.superseded_by), abs(sheet.day - today), sheet.serial

    some = sorted((s for s in ledger.sheets if abs(s.day - today) <= RECENT), key=near)[:SHOWN]
    return [f"{s.code} ({s.yard}, {short_day(s.day)}{', superseded' if s.superseded_by else ''})" for s in some]


def sheet_window(ledger: Ledger, code: str, day: int) -> tuple[int, int]:
    """The days on which any of the work of a sheet was due, and its own; a month around it where none is known."""
    sheet = find_sheet(ledger, code)
    tasks = {task.id: task for task in ledger.tasks}
    known = [tasks[line] for line in sheet.lines if line in tasks] if sheet else []
    edges = [(task.opens, task.closes) for task in known if task.opens is not None and task.closes is not None]
    if not edges:
        return day - FAR, day + FAR
    return min(day, *(first for first, _ in edges)), max(day, *(last for _, last in edges))


def known_code(ledger: Ledger, yard: str, day: int, lines: tuple[str, ...]) -> str:
    """The code that a visit with these lines has already; "" where it has none."""
    return next((s.code for s in ledger.sheets if (s.yard, s.day, s.lines) == (yard, day, lines)), "")


def successor(ledger: Ledger, sheet: LedgerSheet) -> LedgerSheet | None:
    """The sheet that took this one's place, if one did and is still known."""
    return next((s for s in ledger.sheets if s.serial == sheet.superseded_by), None)
