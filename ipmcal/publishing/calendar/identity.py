"""Who is who in a calendar: the UID of a task, and of a visit, which has no identity of its own.

In: a Plan and the Ledger. Out: UIDs. Pure.
"""

from __future__ import annotations

from typing import Final
from uuid import UUID, uuid5

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Visit
from ipmcal.publishing.memory.ledger import EntryKind, FeedEntry, Ledger

NAMESPACE: Final = UUID("e04af73f-48aa-46ae-90fc-f8d2a0b0e4ad")
"""The project's own, drawn once. It must never change: every UID that anyone subscribes to hangs on it."""


def uid_of(namespace: UUID, name: str) -> str:
    """The UID of a name in a namespace; half characters, which no calendar holds, stand as a question mark."""
    return str(uuid5(namespace, name.encode("utf-8", "replace").decode("utf-8")))


def namespace_of(ledger: Ledger) -> UUID:
    """An outfit's namespace. Two of one name were born of different yards; a ledger of version 1 knows no birth."""
    return uuid5(NAMESPACE, f"{ledger.outfit}\n{ledger.born}" if ledger.born else ledger.outfit)


def task_uid(ledger: Ledger, task_id: str) -> str:
    """The UID of a task in an outfit, for as long as its id stands."""
    return uid_of(namespace_of(ledger), task_id)


def visit_uids(plan: Plan, ledger: Ledger) -> dict[str, str]:
    """The UID of each visit by its id: inherited by the most tasks shared, ties by earliest day, then id; or new.

    What has not changed is matched first, so that publishing again changes nothing. Inside a yard only.
    """
    pairs = []
    done = {task.id for task in plan.tasks if task.status in (Status.DONE, Status.ASSUMED)}
    for visit in plan.visits:
        for entry in ledger.entries:
            if entry.kind is EntryKind.VISIT and entry.yard == visit.yard:
                shared = len(set(visit.tasks) & set(entry.tasks))
                same = (entry.first, entry.tasks) == (visit.day, visit.tasks)
                if same or (shared and not _took_place(entry, visit, plan.as_of, done)):
                    pairs.append((not same, -shared, entry.first, visit.day, entry.uid, visit.id))
    uids: dict[str, str] = {}
    taken = {entry.uid for entry in ledger.entries}
    matched: set[str] = set()
    for *_, uid, visit_id in sorted(pairs):
        if uid not in matched and visit_id not in uids:
            uids[visit_id] = uid
            matched.add(uid)
    taken |= {task_uid(ledger, task.id) for task in plan.tasks}
    for visit in plan.visits:
        if visit.id not in uids:
            uids[visit.id] = _new_uid(ledger, visit, taken)
            taken.add(uids[visit.id])
    return uids


def _took_place(entry: FeedEntry, visit: Visit, as_of: int, done: set[str]) -> bool:
    """True where the published visit is over and was worked: it is history, and no visit of another day may move it."""
    return entry.first <= as_of and entry.first != visit.day and not done.isdisjoint(entry.tasks)


def _new_uid(ledger: Ledger, visit: Visit, taken: set[str]) -> str:
    """From the visit's tasks; numbered where that one was given out before to a visit that has other tasks by now."""
    name = "visit/" + "\n".join(sorted(visit.tasks))
    candidates = (uid_of(namespace_of(ledger), name + suffix) for suffix in ("", *(f"\n{n}" for n in range(2, 10_000))))
    return next(uid for uid in candidates if uid not in taken)
