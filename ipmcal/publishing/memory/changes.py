"""What became of the plan since it was last published: the difference of ledger and plan, as data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.publishing.memory.ledger import Ledger, LedgerSheet, speaks_for


class ChangeKind(StrEnum):
    """How a task differs from the last plan."""

    NEW = "new"
    MOVED = "moved"
    STATUS = "status"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one task since the last plan. ``was`` and ``now`` are planned days (ordinals) or None.

    For STATUS, ``now`` is the day on which it was done where that is known. ``status`` is None where the task is gone.
    """

    kind: ChangeKind
    task: str
    yard: str
    was: int | None
    now: int | None
    was_status: Status | None
    status: Status | None


def changes(ledger: Ledger, plan: Plan) -> tuple[Change, ...]:
    """What changed since the last plan, by day, then task. A task counts as gone only if it was still to be done."""
    known = {task.id: task for task in ledger.tasks}
    found = []
    for task in plan.tasks:
        was = known.pop(task.id, None)
        now = task.planned if task.done is None else task.done
        if was is None:
            found.append(Change(ChangeKind.NEW, task.id, task.yard, None, now, None, task.status))
        elif was.status != task.status:
            found.append(Change(ChangeKind.STATUS, task.id, task.yard, was.planned, now, was.status, task.status))
        elif was.planned != task.planned:
            found.append(Change(ChangeKind.MOVED, task.id, task.yard, was.planned, now, was.status, task.status))
    for was in known.values():
        if was.status in (Status.PLANNED, Status.UNKNOWN) and speaks_for(plan, was.yard, was.season):
            found.append(Change(ChangeKind.GONE, was.id, was.yard, was.planned, None, was.status, None))
    return tuple(sorted(found, key=lambda c: (c.now or c.was or 0, c.task)))


def emptied(before: Ledger, after: Ledger, plan: Plan) -> Iterator[LedgerSheet]:
    """The sheets of visits to come that are no longer made, with no other in their place; none that was told of."""
    visits = {(visit.yard, visit.day) for visit in plan.visits}
    due = {(task.id, task.planned) for task in before.tasks if speaks_for(plan, task.yard, task.season)}
    for sheet in after.sheets:
        current = (
            not sheet.superseded_by and sheet.day >= plan.as_of and any((i, sheet.day) in due for i in sheet.lines)
        )
        if current and (sheet.yard, sheet.day) not in visits:
            yield sheet
