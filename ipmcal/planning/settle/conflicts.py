"""Conflicts: what gives way in a plan, with the tasks that it is about and what would help.

In: errands and the days of their steps. Out: ``Conflict`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.rules.methods import Act
from ipmcal.planning.days.chain import Made
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.owed.errand import Errand, subject, task_id, trap_words
from ipmcal.planning.owed.ground import Ground

MOST_WINDOWS = 3
"""So many windows are listed of those that would help."""


def bent(ground: Ground, errand: Errand, made: Sequence[Made]) -> Iterator[Conflict]:
    """Steps that the keeper's days push out of their windows: one conflict an errand and manner, and cause."""
    told = list(_unexcused(ground, errand, made))
    for manner in ("early", "late", "overdue"):
        some = [one for one in told if one.bent == manner and one.day >= ground.as_of]
        for alike in _by_cause(ground, errand, made, some) if manner == "late" else [some]:
            if alike:
                ids = tuple(task_id(errand, one.step, one.n) for one in alike)
                what, helps = _what(ground, errand, manner, made, alike)
                yield Conflict(ground.yard.key, subject(errand), what, helps, ids)


def _by_cause(ground: Ground, errand: Errand, made: Sequence[Made], late: Sequence[Made]) -> list[list[Made]]:
    """Late steps, those with one cause together: why one of them is late may not be why another is."""
    found: dict[object, list[Made]] = {}
    for one in late:
        what, _ = _late(ground, errand, made, [one])
        found.setdefault((what.code, what.values[2:]), []).append(one)
    return list(found.values())


def _unexcused(ground: Ground, errand: Errand, made: Sequence[Made]) -> Iterator[Made]:
    """All steps but those that are late by no fault: the hive stays shut for a course, or what was due before anybody
    planned here is done late, and what follows it.
    """
    behind = True
    for one in made:
        step = errand.frame.method.steps[one.step]
        if step.at_once and one.bent == "late" and ground.book.effect(step.logs) != "begins":
            continue  # it was due on the day on which it was found: the next is soon enough; but bees are foretold
        soft = step.hard_stop is None
        behind = behind and soft and (one.day < ground.as_of or one.bent == "late")
        from_before = behind and made[0].opening.window.opens < ground.since
        if not (one.bent == "late" and soft and (from_before or waits(errand, one))):
            yield one


def waits(errand: Errand, made: Made) -> bool:
    """True for a step that comes late since its hive stays shut, or is barred to it: on the first day on which it is
    not."""
    return made.bent == "late" and _kept(errand, made)


def _kept(errand: Errand, made: Made) -> bool:
    """True where every day of the keeper's before a step is shut or barred to it; nobody comes on a holiday."""
    frame, step = errand.frame, made.step
    before = frame.days.between(made.opening.window.opens, made.day - 1)
    return before & (frame.shut.get(step, 0) | frame.off(step)) == before != 0


def _what(
    ground: Ground, errand: Errand, manner: str, made: Sequence[Made], some: Sequence[Made]
) -> tuple[Because, Because]:
    """What gives way with ``some`` of the steps ``made``, and what would help."""
    method, days = errand.frame.method, tuple(one.day for one in some)
    if manner == "late":
        return _late(ground, errand, made, some)
    helps = _helps(ground, [one.opening.window for one in some])
    if manner == "early":  # its time is still to come: what is over can't be done before it
        if any(_days_in(ground, one.opening.window, one.day) for one in some):
            return Because(Code.EARLY_KEPT, (method.title, days)), helps
        return Because(Code.EARLY_NO_DAY, (method.title, days)), helps
    if errand.frame.why is not None and errand.frame.barred and _kept(errand, some[0]):
        what = Because(Code.KEPT_FOR_A_VIRGIN, (method.title, days, errand.frame.why))
        return what, Because(Code.LEAVE_IT_SHUT)
    step = method.steps[some[0].step]
    if step.harm:
        return Because(Code.OVERDUE, (method.title, days, step.harm.rstrip("."))), helps
    return Because(Code.LAST_DAY_OVER, (method.title, days)), helps


def _late(ground: Ground, errand: Errand, made: Sequence[Made], late: Sequence[Made]) -> tuple[Because, Because]:
    """Why soft steps come late, and what would help. "No day of yours" is said only where there is none."""
    windows, days = [one.opening.window for one in late], tuple(one.day for one in late)
    title = _title(errand, late[0])
    if all(window.closes < ground.as_of for window in windows):
        return Because(Code.LATE_OVER, (title, days)), _helps(ground, windows)
    before = next(reversed(made[: made.index(late[0])]), None)
    left = [window for window in windows if _days_in(ground, window, 0 if before else late[0].cursor.since)]
    if not left and before is None and any(_gone_by(ground, window, late[0].cursor.since) for window in windows):
        return Because(Code.LATE_GONE_BY, (title, days)), _helps(ground, windows)
    if not left:
        return Because(Code.LATE_NO_DAY, (title, days)), _helps(ground, windows)
    if before is not None and not _days_in(ground, left[0], before.day):
        named = _short_do(errand, before)
        return Because(Code.LATE_BEHIND, (title, days, named, before.day)), Because(Code.SOONER_BEFORE)
    why = errand.frame.why or Because(Code.NOT_TO_BEGIN)
    return Because(Code.LATE_KEPT, (title, days, why)), Because(Code.FIRST_IT_CAN)


def _days_in(ground: Ground, window: Window, since: int) -> int:
    """The keeper's days, as bits, in a window from today on and after the step before."""
    return ground.days.between(max(window.opens, ground.as_of, since + 1), window.closes)


def _gone_by(ground: Ground, window: Window, since: int) -> int:
    """The keeper's days, as bits, in a window before today and after what was done last."""
    return ground.past.between(max(window.opens, since + 1), min(window.closes, ground.as_of - 1))


def _title(errand: Errand, one: Made) -> str:
    """What is late, in words: of a course the step too, for the rest of it is not."""
    title = errand.frame.method.title
    return ", ".join((title, f"'{_short_do(errand, one)}'")) if errand.course else title


def _short_do(errand: Errand, one: Made) -> str:
    do = errand.frame.method.steps[one.step].do
    return do.format_map(trap_words(errand)) if errand.trap else do


def _helps(ground: Ground, windows: Sequence[Window]) -> Because:
    ahead = tuple((max(w.opens, ground.as_of), w.closes) for w in windows if w.closes >= ground.as_of)[:MOST_WINDOWS]
    if not ahead:
        return Because(Code.A_DAY_SOON)
    found = [day for one in ahead for day in ground.days.of(ground.days.every(*one) & ground.days.resting)]
    resting = tuple(dict.fromkeys(found))
    return Because(Code.DAY_BUT_FOR_HOLIDAY, (ahead, resting)) if resting else Because(Code.DAY_IN, (ahead,))


def cut_short(ground: Ground, errand: Errand, made: Made, window: Window) -> Conflict:
    """Trapping that ends early, since nobody could be in time for the step behind."""
    span = (window.opens, window.closes)
    what = Because(Code.ENDS_EARLY, (errand.frame.method.title, made.day, span))
    task = task_id(errand, made.step, made.n)
    return Conflict(ground.yard.key, subject(errand), what, Because(Code.DAY_IN, ((span,),)), (task,))


def overlong(ground: Ground, visit: Visit) -> Conflict:
    """A visit that takes longer than the keeper has, and nothing in it can wait or be done before."""
    assert ground.yard.hours is not None  # else no visit is too long
    what = Because(Code.TAKES_LONGER, (visit.day, visit.minutes, ground.yard.hours))
    return Conflict(ground.yard.key, "", what, Because(Code.ANOTHER_DAY_NEAR), visit.tasks)


def stuck(ground: Ground, errand: Errand, task: Task) -> Conflict:
    """A trap frame that hangs, and no day of the keeper's is left to empty it."""
    what = Because(Code.HANGS_FOR_GOOD, (errand.frame.method.title,))
    return Conflict(ground.yard.key, subject(errand), what, _helps(ground, [task.window]), (task.id,))


def in_hive(ground: Ground, warned: Mapping[str, Sequence[Because]]) -> Iterator[Conflict]:
    """What has to be told of what is in the hives."""
    for key, told in warned.items():
        for what in told:
            yield Conflict(ground.yard.key, key, what, Because(Code.AS_LABEL_SAYS))


def contradictions(ground: Ground, errands: Sequence[Errand]) -> Iterator[Conflict]:
    """Lines that can't all be so, and findings that do not fit the rule's days."""
    for errand in errands:
        if errand.colony is not None:
            for what in errand.colony.contradictions:
                yield Conflict(ground.yard.key, errand.colony.colony.key, what, Because(Code.MEND_LINE))
        if errand.trap and any(r.note for r in _seen_reasons(errand.frame, errand.cursor)):
            last, name = errand.trap.sightings[-1], errand.trap.frame.name
            found = errand.frame.method.found.get(last.finding)
            if found is not None and found.act is Act.WAIT:
                continue  # they build later than usual: it is left, as the sheet says, and looked at again
            what = Because(Code.SEEN_MISFITS, (str(last.event.place), name, last.finding))
            yield Conflict(ground.yard.key, subject(errand), what, Because(Code.SEEN_STANDS))


def _seen_reasons(frame: Frame, cursor: Cursor) -> Iterator[Reason]:
    found = opening_at(frame, cursor)
    todo = [found.window.why_opens, found.window.why_closes] if found and cursor.sightings else []
    while todo:
        reason = todo.pop()
        todo.extend(reason.under)
        if reason.rule is Rule.SEEN:
            yield reason
