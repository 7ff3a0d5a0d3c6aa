"""Conflicts: what gives way in a plan, in words, with the tasks that it is about and what would help.

In: errands and the days of their steps. Out: ``Conflict`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

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
    told = list(_unexcused(ground, errand, made))
    for manner in ("early", "late", "overdue"):
        some = [one for one in told if one.bent == manner and one.day >= ground.as_of]
        if some:
            ids = tuple(task_id(errand, one.step, one.n) for one in some)
            what = f"{errand.frame.method.title}: {_what(ground, errand, manner, some)}"
            windows = [one.opening.window for one in some]
            yield Conflict(ground.yard.key, subject(errand), what, _helps(ground, windows), ids)


def _unexcused(ground: Ground, errand: Errand, made: Sequence[Made]) -> Iterator[Made]:
    """All steps but those that are late by no fault: the hive stays shut for a course, or what was due before anybody
    planned here is done late, and what follows it.
    """
    behind = True
    for one in made:
        soft = errand.frame.method.steps[one.step].hard_stop is None
        behind = behind and soft and (one.day < ground.as_of or one.bent == "late")
        from_before = behind and made[0].opening.window.opens < ground.since
        if not (one.bent == "late" and soft and (from_before or waits(errand, one))):
            yield one


def waits(errand: Errand, made: Made) -> bool:
    """True for a step that comes late since its hive stays shut for a course: else a day of the keeper's would do."""
    window, days = made.opening.window, errand.frame.days
    in_time = days.every(window.opens, window.closes)
    return made.bent == "late" and in_time & errand.frame.shut.get(made.step, 0) == in_time != 0


def _what(ground: Ground, errand: Errand, manner: str, made: Sequence[Made]) -> str:
    days = joined([short_day(one.day) for one in made[:MAX_LISTED]]) + (" and later" if len(made) > MAX_LISTED else "")
    if manner == "overdue":
        harm = errand.frame.method.steps[made[0].step].harm or "its last good day is over"
        return f"too late on {days}: {harm.rstrip('.')}"
    over = all(one.opening.window.closes < ground.as_of for one in made)
    why = "its time is over" if over else "no day of yours lies in its time"
    return f"{'done early' if manner == 'early' else 'comes late'}, on {days}: {why}"


def _helps(ground: Ground, windows: Sequence[Window]) -> str:
    ahead = [w for w in windows if w.closes >= ground.as_of][:MAX_LISTED]
    if not ahead:
        return "a day as soon as you can"
    resting = {
        day: None for w in ahead for day in ground.days.of(ground.days.every(w.opens, w.closes) & ground.days.resting)
    }
    holidays = f" (you could come on {joined(list(map(short_day, resting)))}, but for the holiday)" if resting else ""
    return "a day in " + "; ".join(day_range(w.opens, w.closes) for w in ahead) + holidays


def cut_short(ground: Ground, errand: Errand, made: Made, window: Window) -> Conflict:
    """Trapping that ends early, since nobody could be in time for the step behind."""
    span = day_range(window.opens, window.closes)
    what = (
        f"{errand.frame.method.title}: ends on {short_day(made.day)}, take the frame out then: "
        f"no day of yours is in time for the next ({span})"
    )
    task = task_id(errand, made.step, made.n)
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


def in_hive(ground: Ground, warned: Mapping[str, Sequence[str]]) -> Iterator[Conflict]:
    """What has to be told of what is in the hives."""
    for key, told in warned.items():
        for words in told:
            yield Conflict(ground.yard.key, key, words, "as the label in your hand says; mend the line if it is wrong")


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
