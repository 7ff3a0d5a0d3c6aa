"""Changed: what became of the plan since it was last printed, a line each, with the cause.

In: the ledger before, the plan, the ledger after. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.values.words import counted, joined, short_day
from ipmcal.publishing.memory.changes import Change, ChangeKind, emptied
from ipmcal.publishing.memory.ledger import KnownTask, Ledger, LedgerSheet
from ipmcal.publishing.paper.naming import act_words
from ipmcal.saying.series import BY_DAYS, Series, series_of, step_id

MOST_LINES = 12
"""So many changes are told one by one; the rest are counted."""
NAMED_AHEAD = 14
"""Sheets of so many days ahead may be on a clipboard already, and are named one by one; a matter of paper."""

STATUS_WORDS = {
    Status.MISSED: "missed",
    Status.UNKNOWN: "not in the journal: was it done?",
    Status.IMPOSSIBLE: "no day of yours is left for it",
}


def change_lines(before: Ledger, plan: Plan, changes: Iterable[Change]) -> Iterator[str]:
    """What is told of the changes since the last plan, what can do harm first; nothing before the first plan."""
    if before.as_of is None:
        return
    tasks = {task.id: task for task in plan.tasks}
    known = {task.id: task for task in before.tasks}
    yield from _came(known, tasks)
    told: dict[tuple[str, str], list[str]] = {}
    gone, every = 0, sorted(changes, key=lambda c: _weight(c, tasks))
    repeats = series_of(before, plan, every)
    for change in every:
        task, series = tasks.get(change.task), repeats.get(step_id(change.task))
        if series is not None and change.kind in BY_DAYS and change != series.moved:
            continue
        if task is None:
            gone += 1
            continue
        words = _words(change, task, known.get(task.id), plan, series)
        if words:
            told.setdefault((task.yard, words), []).append(" ".join(filter(None, (task.colony, task.trap))))
    lines = [f"{yard} {joined(filter(None, whose))}".strip() + f": {words}" for (yard, words), whose in told.items()]
    yield from lines[:MOST_LINES]
    rest = [counted(len(lines) - MOST_LINES, "more change")] if len(lines) > MOST_LINES else []
    rest += [f"{counted(gone, 'task')} no longer planned"] if gone else []
    if rest:
        yield f"and {joined(rest)}"


def _weight(change: Change, tasks: Mapping[str, Task]) -> tuple[bool, bool, int]:
    task = tasks.get(change.task)
    return task is None or task.window.hard_stop is None, change.kind is ChangeKind.NEW, change.now or change.was or 0


def _came(known: Mapping[str, KnownTask], tasks: Mapping[str, Task]) -> Iterator[str]:
    """The colonies that stand in another yard now."""
    came = {(task.yard, task.colony): known[i].yard for i, task in tasks.items() if i in known and task.colony}
    for (yard, colony), was in came.items():
        if was != yard:
            yield f"{yard} {colony}: came from {was}, and what is planned for it with it"


def _words(change: Change, task: Task, was: KnownTask | None, plan: Plan, series: Series | None) -> str:
    """What became of a task, or of a ``series`` with it, without whose it is; "" for what need not be told."""
    head = act_words(task).rstrip(".")
    if change.kind is ChangeKind.MOVED and change.was is not None and change.now is not None:
        why = _since(task, was, change.was, plan)
        if series is not None:
            return f"{head}: {series.words}, {why}" if series.words else ""
        return f"{head}: was {short_day(change.was)}, now {short_day(change.now)}, {why}"
    if change.kind is ChangeKind.NEW and change.now is not None and task.status is Status.PLANNED:
        return f"{head}: new, {short_day(change.now)}"
    if change.kind is ChangeKind.STATUS and change.status in STATUS_WORDS:
        return f"{head} (by {short_day(task.window.by)}): {STATUS_WORDS[change.status]}"
    return ""


def _since(task: Task, was: KnownTask | None, day: int, plan: Plan) -> str:
    """Why a task moved from a day: the newest line that its window rests on; or nobody did it; or, where its window
    stayed, the visits."""
    window = task.window
    newest = max(_events((window.why_opens, window.why_best, window.why_closes)), default=None)
    if day < plan.as_of and (newest is None or newest[0] < day):
        return "since it was not done"
    if was is not None and was.yard != task.yard:
        return "since the colony was moved"
    if task.product and day >= plan.as_of:
        return _since_its_days(task, day, plan)
    if was is not None and (was.opens, was.closes) == (window.opens, window.closes):
        return "since the visits go together better so"
    asked = _asked((window.why_opens,), (Rule.ASKED,))
    if newest is None or asked:
        return f"since {asked or _asked((window.why_closes, window.why_opens)) or 'its days have changed'}"
    return f"since {newest[1].replace('_', ' ')} on {short_day(newest[0])}"


def _since_its_days(task: Task, day: int, plan: Plan) -> str:
    """Why a step of a course moved from a day that was printed for it and still lay ahead: a count or a break asks for
    it now, its window does not hold the day any more; or the rest of the work does not.
    """
    window = task.window
    asked = _asked((window.why_opens,) if day < window.opens else (window.why_closes,))
    if window.opens <= day <= window.closes:
        spared = next((one.spared for one in plan.worth if one.yard == task.yard), 0)
        return f"since that spares {counted(spared, 'drive')}" if spared else "since other work leaves it no room there"
    if asked:
        return f"since {asked}"
    first, last = short_day(window.opens), short_day(window.closes)
    return f"since its days are {first} to {last} now" if first != last else f"since {first} is its only day now"


OF_THE_YEAR = frozenset(
    because_words(Because(code))
    for code in (
        Code.ROUND_SPRING,
        Code.ROUND_SUMMER,
        Code.ROUND_LATE_SUMMER,
        Code.ROUND_EARLY_AUTUMN,
        Code.ROUND_AUTUMN,
        Code.ROUND_WINTER,
        Code.ROUND_FURTHER,
    )
)
"""What the courses of a year are for: that alone moves none of them."""


def _asked(roots: Iterable[Reason], rules: Collection[Rule] = (Rule.ASKED, Rule.LIMIT)) -> str:
    """What the plan itself asks for: a count, a course; "" where a window rests on none, or on a course of the year."""
    todo = list(roots)
    while todo:
        reason = todo.pop()
        todo.extend(reason.under)
        if reason.rule in rules and reason.note and reason.note not in OF_THE_YEAR:
            return reason.note
    return ""


def _events(roots: Iterable[Reason]) -> Iterator[tuple[int, str]]:
    todo = list(roots)
    while todo:
        reason = todo.pop()
        todo.extend(reason.under)
        if reason.rule is Rule.EVENT and reason.span is not None:
            yield reason.span.usual, reason.note.partition(" (")[0] or reason.subject


def superseded_lines(before: Ledger, after: Ledger, plan: Plan, made: Collection[str]) -> Iterator[str]:
    """The printed sheets that are no longer right, with the one that took their place; those far off are counted.

    ``made`` are the codes of sheets that stood as pages: a code alone is on nobody's clipboard.
    """
    old = {sheet.serial for sheet in before.sheets if sheet.superseded_by}
    by_serial: dict[int, LedgerSheet] = {sheet.serial: sheet for sheet in after.sheets}
    far = 0
    for sheet in after.sheets:
        new = by_serial.get(sheet.superseded_by)
        if not sheet.superseded_by or sheet.serial in old or new is None or sheet.code not in made:
            continue
        if sheet.day > plan.as_of + NAMED_AHEAD:
            far += 1
        else:
            day = short_day(sheet.day)
            yield f"sheet {sheet.code} ({sheet.yard}, {day}) is out of date: take {new.code} ({short_day(new.day)})"
    for sheet in emptied(before, after, plan):
        if sheet.code not in made:
            continue
        yield f"sheet {sheet.code} ({sheet.yard}, {short_day(sheet.day)}) is out of date: there is nothing left to do"
    if far:
        yield f"{counted(far, 'later sheet')} out of date"
