"""A plan for spreadsheets: its tasks and the counts that it judges, as CSV with a line of headings.

In: a plan, the ledger that knows its sheets. Out: text. Dates are YYYY-MM-DD; no cell is a formula in a spreadsheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.values.days import day
from ipmcal.model.values.rows import row_text
from ipmcal.publishing.memory.ledger import Ledger

TASK_COLUMNS = {
    "yard": "the yard's short name",
    "hive": "the hive's key; nothing where it is about the yard",
    "trap": "the trap frame's name",
    "what": "what is to be done",
    "from": "the first day on which it may be done",
    "to": "the last day on which it is of use",
    "last_good_day": "the day after which it does harm or comes too late",
    "planned": "the day of the visit",
    "rain_date": "the next day that would do",
    "status": "planned, done, missed, unknown, assumed, impossible",
    "done": "the day on which it was done",
    "sheet": "the code of the sheet on which it is printed",
    "task": "the task's id, as ipmcal why takes it",
}
"""The columns of ``tasks.csv``, and what they say."""
COUNT_COLUMNS = {
    "yard": "the yard's short name",
    "hive": "the hive's key",
    "date": "the day of the count",
    "found": "mites and bees",
    "sure": "how sure that is",
    "says": "treat, below, count again, or not judged",
    "why": "why it says so",
    "line": "by whose line",
}
"""The columns of ``counts.csv``, and what they say."""


def tasks_csv(plan: Plan, ledger: Ledger) -> str:
    """All tasks of a plan, as the plan has them in order."""
    codes = {(i, sheet.day): sheet.code for sheet in ledger.sheets if not sheet.superseded_by for i in sheet.lines}
    return _table(TASK_COLUMNS, (_task(task, codes.get((task.id, task.planned or 0), "")) for task in plan.tasks))


def _task(task: Task, code: str) -> Sequence[str]:
    window = task.window
    days = (window.opens, window.closes, window.hard_stop, task.planned, task.rain_date)
    head = (task.yard, task.colony or "", task.trap or "", task.do)
    return (*head, *map(_day, days), task.status, _day(task.done), code, task.id)


def counts_csv(plan: Plan) -> str:
    """The counts that the plan judges, yard by yard."""
    rows = (
        (call.yard, one.colony, _day(one.day), one.found, one.sure, one.call, one.why, one.line)
        for call in plan.calls
        for one in call.counts
    )
    return _table(COUNT_COLUMNS, rows)


def _table(columns: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [row_text(tuple(columns), ","), *(row_text(row, ",") for row in rows)]
    return "\n".join(lines) + "\n"


def _day(ordinal: int | None) -> str:
    return "" if ordinal is None else day(ordinal).isoformat()
