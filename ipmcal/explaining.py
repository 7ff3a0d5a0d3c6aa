"""What ``ipmcal why`` does: explains a task's days, a visit, or what one more weekday would save a yard.

In: an outfit as loaded, its plan, what is asked for. Out: lines to print.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NoReturn

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.values.signs import is_printed_code
from ipmcal.model.values.text import quoted
from ipmcal.planning.compare import find_visit, weekday_savings, without
from ipmcal.publishing.memory.codes import find_sheet, near_sheets
from ipmcal.publishing.memory.ledger import read_ledger
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.yards.yards import Loaded
from ipmcal.saying.reasons import visit_lines, weekday_lines, which_words, why_lines, without_lines


def explain(loaded: Loaded, plan: Plan, name: str, shown: str, line: int | None = None) -> Iterator[str]:
    """The lines about a yard by its key, a visit (YARD/DATE) or a task by its id, or the beginning or end of it.

    With a ``line`` the name is a sheet's code: the task of that line, as it was printed. ``shown`` stands before the
    complaint. Raises BadInput where the name says nothing, or several things, LedgerError and OSError.
    """
    name = _on_sheet(loaded, plan, name, line) if line is not None else name
    visit = find_visit(plan, name)
    if name in {view.key for view in plan.yards}:
        yield from _yard(loaded, plan, name)
    elif visit is not None:
        yield from _visit(loaded, plan, visit)
    else:
        ids = [t.id for t in plan.tasks]
        found = [i for i in ids if i == name] or [i for i in ids if i.startswith(name) or i.endswith("/" + name)]
        if len(found) != 1:
            raise BadInput([Complaint(shown, 0, 0, which_words(name, found, ids))])
        yield from why_lines(plan.task(found[0]), loaded.book.sources)


def _on_sheet(loaded: Loaded, plan: Plan, code: str, line: int) -> str:
    """The id of the task on a line of a sheet. Raises BadInput."""
    ledger = read_ledger(loaded.ledger, loaded.outfit.id)
    sheet = find_sheet(ledger, code[:-1] if is_printed_code(code) else code)
    if sheet is None:
        near = "; ".join(near_sheets(ledger, plan.as_of)) or "none yet: ipmcal plan prints them"
        _complain(quoted(code), f"is not the code of a sheet that is known; those of these weeks: {near}")
    if not 1 <= line <= len(sheet.lines):
        _complain(f"sheet {sheet.code}", f"has the lines 1 to {len(sheet.lines)}; there is no line {line}")
    task = sheet.lines[line - 1]
    if task not in {one.id for one in plan.tasks}:
        _complain(f"sheet {sheet.code} line {line}", f"was {task}, which is not planned any more")
    return task


def _complain(file: str, what: str) -> NoReturn:
    raise BadInput([Complaint(file, 0, 0, what)])


def _visit(loaded: Loaded, plan: Plan, visit: Visit) -> Iterator[str]:
    yield from visit_lines(plan, visit)
    spared = without(loaded.outfit, loaded.book, plan, visit)
    now = sum(v.yard == visit.yard for v in plan.visits)
    yield from without_lines(now, spared.visits, spared.conflicts, spared.courses)


def _yard(loaded: Loaded, plan: Plan, key: str) -> Iterator[str]:
    """Up to six plans more, so only where it is asked for."""
    worth = next(one for one in plan.worth if one.yard == key)
    yield from weekday_lines(worth, weekday_savings(loaded.outfit, loaded.book, plan, key))
