"""Conflicts: what gives way in a plan, in words, with the tasks that it is about and what would help.

In: errands and the days of their steps. Out: ``Conflict`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.values.words import day_range, duration, joined, short_day
from ipmcal.planning.days.chain import Cursor, Frame, Made, opening_at
from ipmcal.planning.owed.errand import Errand, subject, task_id
from ipmcal.planning.owed.ground import Ground

MAX_LISTED = 3
"""Days and windows that a sentence lists."""


def bent(ground: Ground, errand: Errand, made: Sequence[Made]) -> Iterator[Conflict]:
    """Steps that the keeper's days push out of their windows: one conflict an errand and manner."""
    for manner in ("early", "late", "overdue"):
        some = [one for one in made if one.bent == manner and one.day >= ground.as_of]
        if some:
            ids = tuple(task_id(errand, ground.season.year, one.step, one.n) for one in some)
            what = f"{errand.frame.method.title}: {_what(ground, errand, manner, some)}"
            windows = [one.opening.window for one in some]
            yield Conflict(ground.yard.key, subject(errand), what, _helps(ground, windows), ids)


def _what(ground: Ground, errand: Errand, manner: str, made: Sequence[Made]) -> str:
    days = joined([short_day(one.day) for one in made[:MAX_LISTED]]) + (" and later" if len(made) > MAX_LISTED else "")
    if manner == "overdue":
        harm = errand.frame.method.steps[made[0].step].harm or "its last good day is over"
        return f"too late on {days}: {harm.rstrip('.')}"
    over = all(one.opening.window.closes < ground.as_of for one in made)
    why = "its time is over" if over else "no day of yours lies in its time"
    return f"{'done early' if manner == 'early' else 'comes late'}, on {days}: {why}"


def _helps(ground: Ground, windows: Sequence[Window]) -> str:
    spans = [day_range(w.opens, w.closes) for w in windows if w.closes >= ground.as_of]
    return "a day in " + "; ".join(spans[:MAX_LISTED]) if spans else "a day as soon as you can"


def cut_short(ground: Ground, errand: Errand, made: Made, window: Window) -> Conflict:
    """Trapping that ends early, since nobody could be in time for the step behind."""
    span = day_range(window.opens, window.closes)
    what = (
        f"{errand.frame.method.title}: ends on {short_day(made.day)}, take the frame out then: "
        f"no day of yours is in time for the next ({span})"
    )
    task = task_id(errand, ground.season.year, made.step, made.n)
    return Conflict(ground.yard.key, subject(errand), what, f"a day in {span}", (task,))


def overlong(ground: Ground, visit: Visit) -> Conflict:
    """A visit that takes longer than the keeper has, and nothing in it can wait or be done before."""
    what = f"{short_day(visit.day)} takes {duration(visit.minutes)}, and you have {ground.yard.hours:g} h"
    helps = "another day of yours near it, or a second pair of hands"
    return Conflict(ground.yard.key, "", what, helps, visit.tasks)


def stuck(ground: Ground, errand: Errand, task: Task) -> Conflict:
    """A trap frame that hangs, and no day of the keeper's is left to empty it."""
    what = f"{errand.frame.method.title}: it hangs, and no day of yours is left to empty it"
    return Conflict(ground.yard.key, subject(errand), what, _helps(ground, [task.window]), (task.id,))


def contradictions(ground: Ground, errands: Sequence[Errand]) -> Iterator[Conflict]:
    """Lines that can't all be so, and findings that do not fit the rule's days."""
    for errand in errands:
        if errand.colony is not None:
            for what in errand.colony.contradictions:
                helps = "mend the line, or leave it as it is: both are kept"
                yield Conflict(ground.yard.key, errand.colony.colony.key, what, helps)
        if errand.trap and any(r.note for r in _seen_reasons(errand.frame, errand.cursor)):
            last, name = errand.trap.sightings[-1], errand.trap.frame.name
            what = f"{last.event.place}: 'found {name} {last.finding}' does not fit the day it was emptied"
            yield Conflict(ground.yard.key, subject(errand), what, "what was seen stands, and the dates follow it")


def _seen_reasons(frame: Frame, cursor: Cursor) -> Iterator[Reason]:
    found = opening_at(frame, cursor)
    todo = [found.window.why_opens, found.window.why_closes] if found and cursor.sightings else []
    while todo:
        reason = todo.pop()
        todo.extend(reason.under)
        if reason.rule is Rule.SEEN:
            yield reason
