"""Assumed: what an earlier plan printed for days that are over, and of which nothing was heard, as lines of a journal;
and the days to come that it printed for courses.

In: the ledger, the journal's lines, the rulebook, the day of planning. Out: events that nobody wrote, days. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ipmcal.model.outfit.outfit import Event, Outfit, PrintedDay
from ipmcal.model.outfit.strips import TREATS
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.labels import treatment_of
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.publishing.memory.ledger import KnownTask, Ledger


def with_assumed(outfit: Outfit, ledger: Ledger, book: Rulebook, as_of: int) -> Outfit:
    """The outfit with what was printed for days before ``as_of`` and not heard of, the day of the first plan, and the
    days from ``as_of`` on that were printed for courses.
    """
    since = ledger.as_of if ledger.since is None else ledger.since
    assumed = tuple(_assumed(outfit, ledger, book, as_of))
    return replace(outfit, assumed=assumed, since=since, printed=tuple(_printed(ledger, book, as_of)))


def _printed(ledger: Ledger, book: Rulebook, as_of: int) -> Iterator[PrintedDay]:
    """The days that are printed for courses still to come; each course by what it gives, for its number may change."""
    for task in sorted(ledger.tasks, key=lambda task: task.id):
        rule = book.events.get(task.word)
        if rule is None or rule.effect not in TREATS:
            continue
        colony, method, _, step, _ = task.id.split("/")
        product = treatment_of(method, book)
        if product and task.status is Status.PLANNED and task.planned is not None and task.planned >= as_of:
            yield PrintedDay(colony, product, step, task.planned)


def _assumed(outfit: Outfit, ledger: Ledger, book: Rulebook, as_of: int) -> Iterator[Event]:
    """Silence stands for what was printed until the journal begins: what is not in it from then on is asked for."""
    lines = outfit.journal or ()
    begins = min((line.day for line in lines), default=as_of)
    told: set[tuple[object, ...]] = set()  # a course that reaches across two seasons may be remembered under both
    for task in sorted(ledger.tasks, key=lambda task: (_day(task), task.id)):
        rule = book.events.get(task.word)
        if rule is None or not rule.assumed or not _day(task) < min(as_of, begins):
            continue
        event = _event(task)
        key = (event.day, event.yard, event.colony, event.word, event.trap, event.value)
        if key not in told and not any(_speaks_of(line, event, task, book) for line in lines):
            told.add(key)
            yield event


def _day(task: KnownTask) -> int:
    """The day that a task was printed for, as far as it counts as done; a day that never comes for any other."""
    if task.status is Status.ASSUMED and task.done is not None:
        return task.done
    return task.planned if task.status is Status.PLANNED and task.planned is not None else 10**7


def _event(task: KnownTask) -> Event:
    whose = task.id.partition("/")[0]
    colony, _, trap = whose.partition(".")
    place = Place(f"printed for {task.id}", 0, 0)
    yard_wide = whose.startswith("@")
    return Event(
        _day(task), task.yard, None if yard_wide else colony, task.word, trap or None, task.value, "", place, True
    )


def _speaks_of(line: Event, event: Event, task: KnownTask, book: Rulebook) -> bool:
    """Whether a line of the journal tells what became of a printed task: it was not done, or on another day."""
    if line.colony != event.colony:
        return False
    if book.events[line.word].effect == "not_done":
        method, step, n = task.id.split("/")[1], *task.id.split("/")[3:5]
        return line.value == f"{method}/{step}/{n}"
    first = min(day for day in (task.opens, _day(task)) if day is not None)
    last = max(day for day in (task.closes, _day(task)) if day is not None)
    same = line.word == event.word and line.trap == event.trap
    return same and line.value.split()[:1] == event.value.split()[:1] and first <= line.day <= last
