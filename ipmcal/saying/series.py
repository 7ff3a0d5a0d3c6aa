"""Series: a step that comes again and again, told by the days on which it is done: which of them is the third is
nothing to the keeper.

In: the ledger before, the plan, the changes. Out: by step, the days that fell away and those that came. Pure.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.model.values.words import joined, short_day
from ipmcal.publishing.memory.changes import Change, ChangeKind
from ipmcal.publishing.memory.ledger import Ledger

BY_DAYS = (ChangeKind.MOVED, ChangeKind.NEW, ChangeKind.GONE)
"""Changes of which a series tells; that one was missed is told by itself."""


@dataclass(frozen=True)
class Series:
    """A step whose turns moved into each other's days. ``moved`` is the first that did, and gives the cause;
    ``left`` and ``more`` are days (ordinals)."""

    moved: Change
    left: tuple[int, ...]
    more: tuple[int, ...]

    @property
    def words(self) -> str:
        """The days that fell away, and those that came; "" where they are the same days as before."""
        left, more = (joined([short_day(day) for day in days]) for days in (self.left, self.more))
        if left:
            return f"not on {left}{f', but on {more} too' if more else ''}"
        return f"on {more} too" if more else ""


def step_id(task: str) -> str:
    """The id of a step, without the number of its turn."""
    return task.rpartition("/")[0]


def series_of(before: Ledger, plan: Plan, changes: Iterable[Change]) -> dict[str, Series]:
    """By the id of the step, each series: one of its turns stands on a day now on which another stood."""
    was, now, done = (defaultdict[str, set[int]](set) for _ in range(3))
    for known in before.tasks:
        if known.status is Status.PLANNED and known.planned is not None:
            was[step_id(known.id)].add(known.planned)
    for task in plan.tasks:
        if task.status is Status.PLANNED and task.planned is not None:
            now[step_id(task.id)].add(task.planned)
        if task.done is not None:
            done[step_id(task.id)].add(task.done)
    turns = defaultdict[str, list[Change]](list)
    for change in changes:
        if change.kind in BY_DAYS:
            turns[step_id(change.task)].append(change)
    found = {}
    for step, some in turns.items():
        moved = sorted((one for one in some if one.kind is ChangeKind.MOVED), key=lambda one: one.was or 0)
        if any(one.was in now[step] or one.now in was[step] for one in moved):
            over = max(done[step], default=0)  # what was done since is told by itself, whichever of its turns it is
            left = {one.was for one in some if one.was is not None and one.was > over} - now[step]
            more = {one.now for one in some if one.now is not None} & now[step] - was[step]
            found[step] = Series(moved[0], tuple(sorted(left)), tuple(sorted(more)))
    return found
