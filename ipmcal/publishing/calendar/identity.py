"""Who is who in a calendar: the UID of a task, and of tasks that stand together, which have no identity of their own.

In: a Plan and the Ledger. Out: UIDs. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, count
from typing import Final
from uuid import UUID, uuid5

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
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


@dataclass(frozen=True, slots=True)
class Together:
    """Tasks of a yard that stand in one entry: a visit's, or those with the same last good day. ``name`` is its own."""

    name: str
    kind: EntryKind
    yard: str
    day: int
    tasks: tuple[str, ...]


def uids_of(some: Sequence[Together], plan: Plan, ledger: Ledger) -> dict[str, str]:
    """The UID of each by its name: inherited by the most tasks shared, ties by earliest day, then name; or new.

    What has not changed is matched first, so that publishing again changes nothing. Inside a kind only.
    """
    pairs = []
    done = {task.id for task in plan.tasks if task.status in (Status.DONE, Status.ASSUMED)}
    for one in some:
        for entry in ledger.entries:
            # a hive that moves takes its last good days along; a visit belongs to its yard
            if entry.kind is one.kind and (entry.yard == one.yard or entry.kind is EntryKind.STOP):
                shared = len(set(one.tasks) & set(entry.tasks))
                same = (entry.first, entry.tasks) == (one.day, one.tasks)
                if same or (shared and not _took_place(entry, one, plan.as_of, done)):
                    pairs.append((not same, -shared, entry.first, one.day, entry.uid, one.name))
    uids: dict[str, str] = {}
    matched: set[str] = set()
    for *_, uid, name in sorted(pairs):
        if uid not in matched and name not in uids:
            uids[name] = uid
            matched.add(uid)
    taken = {entry.uid for entry in ledger.entries} | {task_uid(ledger, task.id) for task in plan.tasks}
    for one in some:
        if one.name not in uids:
            uids[one.name] = _new_uid(ledger, one, taken)
            taken.add(uids[one.name])
    return uids


def _took_place(entry: FeedEntry, one: Together, as_of: int, done: set[str]) -> bool:
    """True where what was published is over and was worked: it is history, and nothing of another day may move it."""
    return entry.first <= as_of and entry.first != one.day and not done.isdisjoint(entry.tasks)


def _new_uid(ledger: Ledger, one: Together, taken: set[str]) -> str:
    """From its tasks; numbered where that one was given out before to an entry that has other tasks by now."""
    name = f"{one.kind}/" + "\n".join(sorted(one.tasks))
    suffixes = chain([""], (f"\n{n}" for n in count(2)))
    candidates = (uid_of(namespace_of(ledger), name + suffix) for suffix in suffixes)
    return next(uid for uid in candidates if uid not in taken)
