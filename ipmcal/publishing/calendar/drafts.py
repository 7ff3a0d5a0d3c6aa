"""What there is to say in a calendar: a day at a yard, a last good day, days within which a visit could be moved.

In: a Plan and the Ledger. Out: drafts. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import BringItem, Status, Task, Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import counted, day_range, duration, short_day
from ipmcal.publishing.calendar.identity import Together, namespace_of, uid_of, uids_of
from ipmcal.publishing.memory.ledger import EntryKind, Ledger
from ipmcal.publishing.paper.naming import act_words, hives_of
from ipmcal.publishing.paper.sheet import sheet_lines

LONGEST_RANGE: Final = 14
"""Days; a longer range says that there is no hurry, and would only be a bar across the reader's calendar."""

IN_TITLE: Final = 3
"""So many kinds of work stand in a title; a phone shows no more."""

NO_DAYS: Final[Mapping[str, int | None]] = {}
_TO_DO: Final = (Status.PLANNED, Status.UNKNOWN, Status.IMPOSSIBLE)


@dataclass(frozen=True, slots=True)
class DraftEntry:
    """An entry before it is compared with what was published: all that a reader sees, and its UID."""

    uid: str
    kind: EntryKind
    yard: YardView
    first: int
    last: int
    summary: str
    lines: tuple[str, ...]
    tasks: tuple[str, ...]


def drafts(plan: Plan, ledger: Ledger) -> Iterator[DraftEntry]:
    """All that a plan has to say in calendars, with the UIDs that the ledger knows."""
    tasks = {task.id: task for task in plan.tasks}
    yards = {view.key: view for view in plan.yards}
    stops = dict(_stops(plan))
    visited = [Together(visit.id, EntryKind.VISIT, visit.yard, visit.day, visit.tasks) for visit in plan.visits]
    uids = uids_of([*visited, *stops], plan, ledger)
    codes = {(sheet.yard, sheet.day, sheet.lines): sheet.code for sheet in ledger.sheets if not sheet.superseded_by}
    busy = set()
    for visit in plan.visits:
        busy.add(visit.yard)
        draft = _visit(uids[visit.id], visit, yards[visit.yard], tasks, plan.as_of)
        code = codes.get((visit.yard, visit.day, sheet_lines(plan, visit)))
        yield replace(draft, summary=f"{draft.summary} · {code}") if code else draft
        if yards[visit.yard].any_day and 0 < visit.latest - visit.earliest < LONGEST_RANGE:
            yield _range(uids[visit.id], visit, yards[visit.yard])
    for stop, due in stops.items():
        busy.add(stop.yard)
        yield _stop(uids[stop.name], stop, due, yards[stop.yard], plan.as_of)
    for view in plan.yards:
        if view.key not in busy:
            summary = f"{view.name}: no visit planned"
            uid = uid_of(namespace_of(ledger), f"empty/{view.key}/{view.season}")
            yield DraftEntry(uid, EntryKind.EMPTY, view, view.begins, view.begins, summary, (), ())


def _visit(uid: str, visit: Visit, yard: YardView, tasks: dict[str, Task], as_of: int) -> DraftEntry:
    mine = [tasks[task_id] for task_id in visit.tasks]
    summary = f"{_work(visit, mine, yard)}: {yard.name}"
    rain = "No rain date: this day only." if visit.rain_date is None else f"Rain date: {short_day(visit.rain_date)}."
    musts = [task for task in mine if task.id in visit.must]
    lines = [f"Must today: {words}" for words in dict.fromkeys(_must(task, visit.day) for task in musts)]
    lines += [f"{counted(len(visit.tasks), 'task')}, {duration(visit.minutes)}. {rain}"]
    if as_of < visit.earliest < visit.latest:
        lines.append(f"Could be moved within {day_range(visit.earliest, visit.latest)}.")
    elif visit.day < visit.latest:  # the first day moves with the day of planning: it would be news every day
        lines.append(f"Could be moved until {short_day(visit.latest)}.")
    if visit.bring:
        lines.append(f"Bring: {'; '.join(map(_thing, visit.bring))}.")
    lines += [f"The evening before: {line}" for line in visit.prepare]
    walk = (None, *(view.key for view in yard.colonies), *(task.colony for task in mine))
    for colony in dict.fromkeys(walk):
        here = [task for task in mine if task.colony == colony]
        if here:
            lines += [
                "",
                "Whole yard" if colony is None else _hive(yard, colony),
                *(_task_line(task, visit.day) for task in here),
            ]
    cautions = dict.fromkeys(caution for task in mine for caution in task.cautions)
    lines += ["", *(f"Mind: {caution}" for caution in cautions)] if cautions else []
    return DraftEntry(uid, EntryKind.VISIT, yard, visit.day, visit.day, summary, tuple(lines), visit.tasks)


def _work(visit: Visit, tasks: list[Task], yard: YardView) -> str:
    """The work of a visit in a title: what has a last good day first, with that day, then the rest; a few of them."""
    order = sorted(tasks, key=lambda one: (one.id not in visit.must, one.window.hard_stop or 0))
    return _works(order, yard, {task.id: task.window.hard_stop for task in tasks if task.id in visit.must})


def _works(tasks: list[Task], yard: YardView, by: Mapping[str, int | None] = NO_DAYS) -> str:
    """The kinds of work of some tasks, each with its hives, and by when where ``by`` has a day; a few of them."""
    groups: dict[tuple[str, int | None], list[Task]] = {}
    for task in tasks:
        groups.setdefault((_short_act(task), by.get(task.id)), []).append(task)
    parts = [
        " ".join(part for part in (act, hives_of(group, yard), f"by {short_day(on)}" if on is not None else "") if part)
        for (act, on), group in groups.items()
    ]
    left = len(parts) - IN_TITLE
    return "; ".join(parts[:IN_TITLE]) + (f" and {left} more" if left > 0 else "")


def _short_act(task: Task) -> str:
    """What is to be done, in a word or two: of a trap frame its step, of anything else what stands before the colon."""
    return task.step.replace("_", " ").capitalize() if task.trap else re.split("[:,;.?]", act_words(task))[0].strip()


def _must(task: Task, day: int) -> str:
    who = " ".join(part for part in (task.colony, task.trap) if part)
    return f"{f'{who}: ' if who else ''}{_task_line(task, day).removeprefix('- ')}"


def _task_line(task: Task, day: int) -> str:
    trap = f"Trap {task.trap}: " if task.trap and task.trap not in task.do else ""
    stop = task.window.hard_stop
    if task.status is not Status.PLANNED:
        return f"- {trap}{task.do} ({task.status})"
    words = "LATE, was due" if stop is not None and stop < day else task.lid or "LAST GOOD DAY"
    by = "" if stop is None else f". {words} {short_day(stop)}"
    return f"- {trap}{task.do.rstrip('.') if by else task.do}{by}"


def _thing(item: BringItem) -> str:
    return f"{item.count} x {item.title}" if item.count > 1 else item.title


def _hive(yard: YardView, colony: str) -> str:
    name = next((view.name for view in yard.colonies if view.key == colony), "")
    return f"Hive {colony}" + (f" ({name})" if name and name != colony else "")


def _stops(plan: Plan) -> Iterator[tuple[Together, list[Task]]]:
    """The last good days: what has to be done in a yard by one day stands together, in the plan's order."""
    due: dict[tuple[str, int], list[Task]] = {}
    for task in plan.tasks:
        if task.window.hard_stop is not None and task.status in _TO_DO:
            due.setdefault((task.yard, task.window.hard_stop), []).append(task)
    for (yard, day), tasks in due.items():
        yield Together(f"stop/{yard}/{day}", EntryKind.STOP, yard, day, tuple(task.id for task in tasks)), tasks


def _stop(uid: str, stop: Together, tasks: list[Task], yard: YardView, as_of: int) -> DraftEntry:
    late = any(stop.day < max(as_of, task.planned or 0) for task in tasks)
    head = "LATE, was due" if late else "Last good day"
    summary = f"{head}: {_works(tasks, yard)}: {yard.name}"
    lines: list[str] = []
    for (do, when), some in _alike(tasks).items():
        who = hives_of(some, yard)
        lines += [f"{f'{who}: ' if who else ''}{do}", *([when] if when else [])]
    lines += dict.fromkeys(task.harm for task in tasks if task.harm)
    return DraftEntry(uid, EntryKind.STOP, yard, stop.day, stop.day, summary, tuple(lines), stop.tasks)


def _alike(tasks: list[Task]) -> dict[tuple[str, str], list[Task]]:
    """Tasks by what is to be done and when that is planned: in many hives it is the same."""
    found: dict[tuple[str, str], list[Task]] = {}
    for task in tasks:
        what = "" if task.trap else f" ({task.method.replace('_', ' ')})"  # two courses may be under way in one hive
        found.setdefault((act_words(task) + what, _when(task)), []).append(task)
    return found


def _when(task: Task) -> str:
    if task.planned is None:
        return "No visit falls into its days." if task.status is Status.IMPOSSIBLE else ""
    rain = "" if task.rain_date is None else f" Rain date: {short_day(task.rain_date)}."
    unknown = " It is not in the journal." if task.status is Status.UNKNOWN else ""
    return f"Planned for {short_day(task.planned)}.{rain}{unknown}"


def _range(visit_uid: str, visit: Visit, yard: YardView) -> DraftEntry:
    summary = f"{yard.name}: visit of {short_day(visit.day)} could be moved"
    lines = (
        f"Planned for {short_day(visit.day)}. On any of these days nothing in it comes too early or too late.",
        "Plan again once it is moved: later visits may depend on it.",
    )
    uid = uid_of(UUID(visit_uid), "range")
    return DraftEntry(uid, EntryKind.RANGE, yard, visit.earliest, visit.latest, summary, lines, visit.tasks)
