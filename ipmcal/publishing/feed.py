"""The calendar feed: one calendar a yard and one for all, as iCalendar (RFC 5545, RFC 7986).

In: a Plan and the Ledger. Out: the bytes of the ``.ics`` files, and the Ledger that knows what stands in them.

What a subscriber sees: an all-day event for each visit, one for each last good day, and, in yards that can be visited
on any day, one over the days within which a visit could be moved, where they are few. No alarms: clients drop or ignore
them in feeds, so deadlines are events. No METHOD: with it DTSTAMP would mean something else, and a server would have to
repeat it.

Who is who: a UID is uuid5 of the outfit's namespace (itself uuid5 of ``NAMESPACE``, the outfit's id and birth) and a
task id.
A visit has no identity of its own. It keeps the UID of the visit last published that shares most tasks with it.

What changed: SEQUENCE rises by one when a date changes (RFC 5546 2.1.4), not for wording. DTSTAMP and LAST-MODIFIED
are the instant of the last change of content. There is no clock here: that instant is midnight UTC at the beginning
of the plan's ``as_of`` day, or a second after the entry's last stamp where that is later.

What goes: an entry that the plan no longer has is left out, unless its day is past: then it stays as it was, for two
years. What was taken out keeps its sequence in the ledger, in case it comes back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from uuid import UUID, uuid5

from icalendar import Calendar, Event, vDuration, vText

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import BringItem, Status, Task, Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import counted, day_range, duration, short_day
from ipmcal.publishing.memory.ledger import KEEP_DAYS, EntryKind, FeedEntry, Gone, Ledger, speaks_for
from ipmcal.publishing.paper.naming import act_words, hives_of
from ipmcal.publishing.paper.sheet import sheet_lines

NAMESPACE: Final = UUID("e04af73f-48aa-46ae-90fc-f8d2a0b0e4ad")
"""The project's own, drawn once. It must never change: every UID that anyone subscribes to hangs on it."""

PRODID: Final = "-//ipmcal//yard visits//EN"
REFRESH: Final = timedelta(hours=12)
LONGEST_RANGE: Final = 14
"""Days; a longer range says that there is no hurry, and would only be a bar across the reader's calendar."""

IN_TITLE: Final = 3
"""So many kinds of work stand in a title; a phone shows no more."""

_CATEGORIES: Final = {
    EntryKind.VISIT: "Visit",
    EntryKind.STOP: "Last good day",
    EntryKind.RANGE: "Could be moved",
    EntryKind.EMPTY: "Note",
}
_TO_DO: Final = (Status.PLANNED, Status.UNKNOWN, Status.IMPOSSIBLE)
# Out go controls that a content line may not hold (RFC 5545 3.1), byte order marks and half characters. A backslash
# becomes a slash: many readers, and the library that writes this, take one before an n or N for a line's end.
_UNWANTED: Final = dict.fromkeys((*range(9), *range(14, 28), 127, 0xFEFF, *range(0xD800, 0xE000))) | {ord("\\"): "/"}


def feed(plan: Plan, ledger: Ledger, yard: str | None = None) -> tuple[bytes, Ledger]:
    """The calendar of a yard (None: of all yards), and the ledger that knows it.

    Give the ledger that comes out to the next call; for the same plan it changes no more. Raises KeyError for a yard
    that the plan doesn't have, ValueError where the plan holds a task twice.
    """
    entered = with_entries(plan, ledger)
    return calendar(plan, entered, yard), entered


def feeds(plan: Plan, ledger: Ledger) -> tuple[dict[str | None, bytes], Ledger]:
    """All calendars by yard key, the one for all yards under None, and the ledger that knows them."""
    entered = with_entries(plan, ledger)
    keys = (None, *dict.fromkeys(view.key for view in plan.yards))
    return {key: calendar(plan, entered, key) for key in keys}, entered


# --- what there is to say ---


@dataclass(frozen=True, slots=True)
class _Draft:
    """An entry before it is compared with what was published: all that a reader sees, and its UID."""

    uid: str
    kind: EntryKind
    yard: YardView
    first: int
    last: int
    summary: str
    lines: tuple[str, ...]
    tasks: tuple[str, ...]


def _drafts(plan: Plan, ledger: Ledger) -> Iterator[_Draft]:
    tasks = {task.id: task for task in plan.tasks}
    yards = {view.key: view for view in plan.yards}
    uids = _visit_uids(plan, ledger)
    codes = {(sheet.yard, sheet.day, sheet.lines): sheet.code for sheet in ledger.sheets if not sheet.superseded_by}
    busy = set()
    for visit in plan.visits:
        busy.add(visit.yard)
        draft = _visit(uids[visit.id], visit, yards[visit.yard], tasks, plan.as_of)
        code = codes.get((visit.yard, visit.day, sheet_lines(plan, visit)))
        yield replace(draft, summary=f"{draft.summary} · {code}") if code else draft
        if yards[visit.yard].any_day and 0 < visit.latest - visit.earliest < LONGEST_RANGE:
            yield _range(uids[visit.id], visit, yards[visit.yard])
    for task in plan.tasks:
        if task.window.hard_stop is not None and task.status in _TO_DO:
            busy.add(task.yard)
            yield _stop(_task_uid(ledger, task.id), task, yards[task.yard], plan.as_of)
    for view in plan.yards:
        if view.key not in busy:
            summary = f"{view.name}: no visit planned"
            uid = _uid(_outfit(ledger), f"empty/{view.key}/{view.season}")
            yield _Draft(uid, EntryKind.EMPTY, view, view.begins, view.begins, summary, (), ())


def _visit(uid: str, visit: Visit, yard: YardView, tasks: dict[str, Task], as_of: int) -> _Draft:
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
    return _Draft(uid, EntryKind.VISIT, yard, visit.day, visit.day, summary, tuple(lines), visit.tasks)


def _work(visit: Visit, tasks: list[Task], yard: YardView) -> str:
    """The work of a visit in a title: what has a last good day first, with that day, then the rest; a few of them."""
    groups: dict[tuple[str, int | None], list[Task]] = {}
    for task in sorted(tasks, key=lambda one: (one.id not in visit.must, one.window.hard_stop or 0)):
        by = task.window.hard_stop if task.id in visit.must else None
        groups.setdefault((_short_act(task), by), []).append(task)
    parts = [
        " ".join(part for part in (act, hives_of(group, yard), f"by {short_day(by)}" if by is not None else "") if part)
        for (act, by), group in groups.items()
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


def _stop(uid: str, task: Task, yard: YardView, as_of: int) -> _Draft:
    place = yard.name if task.colony is None else f"hive {task.colony}"
    place = f"trap {task.trap} in {place}" if task.trap else place
    day = task.window.hard_stop or 0
    if task.planned is None:
        planned = "No visit falls into its days." if task.status is Status.IMPOSSIBLE else ""
    else:
        planned = f"Planned for {short_day(task.planned)}."
        planned += "" if task.rain_date is None else f" Rain date: {short_day(task.rain_date)}."
    planned += " It is not in the journal." if task.status is Status.UNKNOWN else ""
    lines = tuple(line for line in (task.do, planned, task.harm) if line)
    of = "" if task.trap else f", {task.method.replace('_', ' ')}"
    head = "LATE, was due" if day < max(as_of, task.planned or 0) else "Last good day"
    summary = f"{head}: {place}: {task.step.replace('_', ' ')}{of}"
    return _Draft(uid, EntryKind.STOP, yard, day, day, summary, lines, (task.id,))


def _range(visit_uid: str, visit: Visit, yard: YardView) -> _Draft:
    summary = f"{yard.name}: visit of {short_day(visit.day)} could be moved"
    lines = (
        f"Planned for {short_day(visit.day)}. On any of these days nothing in it comes too early or too late.",
        "Plan again once it is moved: later visits may depend on it.",
    )
    uid = _uid(UUID(visit_uid), "range")
    return _Draft(uid, EntryKind.RANGE, yard, visit.earliest, visit.latest, summary, lines, visit.tasks)


# --- who is who ---


def _uid(namespace: UUID, name: str) -> str:
    return str(uuid5(namespace, name.encode("utf-8", "replace").decode("utf-8")))


def _outfit(ledger: Ledger) -> UUID:
    """An outfit's namespace. Two of one name were born of different yards; a ledger of version 1 knows no birth."""
    return uuid5(NAMESPACE, f"{ledger.outfit}\n{ledger.born}" if ledger.born else ledger.outfit)


def _task_uid(ledger: Ledger, task_id: str) -> str:
    return _uid(_outfit(ledger), task_id)


def _visit_uids(plan: Plan, ledger: Ledger) -> dict[str, str]:
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
    taken |= {_task_uid(ledger, task.id) for task in plan.tasks}
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
    candidates = (_uid(_outfit(ledger), name + suffix) for suffix in ("", *(f"\n{n}" for n in range(2, 10_000))))
    return next(uid for uid in candidates if uid not in taken)


# --- what changed ---


def with_entries(plan: Plan, ledger: Ledger) -> Ledger:
    """The ledger with the plan's calendar entries, the past that is kept, and what was taken out."""
    old = {entry.uid: entry for entry in ledger.entries}
    gone = {item.uid: item for item in ledger.gone}
    new: dict[str, FeedEntry] = {}
    for draft in _drafts(plan, ledger):
        if draft.uid in new:
            raise ValueError(f"calendar entry {draft.uid} comes twice: {new[draft.uid].summary} / {draft.summary}")
        was = old.get(draft.uid)
        new[draft.uid] = _entered(_begun(draft, was, plan), was, gone.pop(draft.uid, None), _midnight(plan.as_of))
    for entry in ledger.entries:
        if entry.uid not in new:
            if _stays(entry, plan):
                new[entry.uid] = entry
            else:
                gone[entry.uid] = Gone(entry.uid, entry.last, entry.sequence, entry.stamp)
    oldest = plan.as_of - KEEP_DAYS
    kept = (entry for entry in new.values() if entry.last >= oldest)
    return replace(
        ledger,
        entries=tuple(sorted(kept, key=_order)),
        gone=tuple(item for item in sorted(gone.values(), key=lambda g: (g.last, g.uid)) if item.last >= oldest),
    )


def _stays(entry: FeedEntry, plan: Plan) -> bool:
    """Whether an entry that is not in the plan stays: it is past, or of a season that the plan doesn't speak for."""
    if entry.kind is EntryKind.EMPTY:
        return False
    return entry.last < plan.as_of or not speaks_for(plan, entry.yard, entry.season)


def _begun(draft: _Draft, old: FeedEntry | None, plan: Plan) -> _Draft:
    """A range that has begun keeps its first day: that its first days are over by now is no news."""
    begun = draft.kind is EntryKind.RANGE and old is not None and old.last == draft.last and draft.first == plan.as_of
    return replace(draft, first=min(draft.first, old.first)) if begun and old else draft


def _entered(draft: _Draft, old: FeedEntry | None, gone: Gone | None, now: datetime) -> FeedEntry:
    entry = FeedEntry(
        uid=draft.uid,
        kind=draft.kind,
        yard=draft.yard.key,
        season=draft.yard.season,
        first=draft.first,
        last=draft.last,
        summary=calendar_line(draft.summary),
        description="\n".join(map(calendar_line, draft.lines)),
        location=calendar_line(draft.yard.name),
        tasks=draft.tasks,
        sequence=0,
        stamp=now,
    )
    before = old or gone
    if before is None:
        return entry
    later = max(now, before.stamp + timedelta(seconds=1))
    if old is None:
        return replace(entry, sequence=before.sequence + 1, stamp=later)
    moved = (entry.first, entry.last) != (old.first, old.last)
    entry = replace(entry, sequence=old.sequence + moved, stamp=old.stamp)
    return entry if _text(entry) == _text(old) and not moved else replace(entry, stamp=later)


def _text(entry: FeedEntry) -> tuple[EntryKind, str, str, str]:
    return entry.kind, entry.summary, entry.description, entry.location


def _midnight(day: int) -> datetime:
    return datetime.combine(date.fromordinal(day), time(), UTC)


def _order(entry: FeedEntry) -> tuple[int, int, str]:
    return entry.first, list(EntryKind).index(entry.kind), entry.uid


# --- how it is written ---


def calendar_line(text: str) -> str:
    """Text that a calendar may hold, on one line: whatever a reader could take for a line's end is a blank.

    >>> one_line("Nord\\r\\n7\\x00\\u2028b")
    'Nord 7 b'
    """
    return " ".join(text.translate(_UNWANTED).split())


def calendar(plan: Plan, ledger: Ledger, yard: str | None) -> bytes:
    """The ledger's entries for a yard (None: for all) as an iCalendar object. Raises KeyError for an unknown yard."""
    names = {view.key: view.name for view in plan.yards}
    name = calendar_line(plan.outfit_name if yard is None else names[yard])
    cal = Calendar()
    cal.add("prodid", PRODID)
    cal.add("version", "2.0")
    cal.add("name", vText(name))
    cal.add("x-wr-calname", vText(name))  # as text: the library would write it unescaped otherwise
    cal.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})  # the library leaves VALUE out
    cal.add("x-published-ttl", vDuration(REFRESH))
    for event in _events(entry for entry in ledger.entries if yard in (None, entry.yard)):
        cal.add_component(event)
    written: bytes = cal.to_ical()
    return written


def _events(entries: Iterable[FeedEntry]) -> Iterator[Event]:
    for entry in sorted(entries, key=_order):
        event = Event()
        event.add("uid", entry.uid)
        event.add("dtstamp", entry.stamp.astimezone(UTC))
        event.add("last-modified", entry.stamp.astimezone(UTC))
        event.add("sequence", entry.sequence)
        event.add("dtstart", date.fromordinal(entry.first))
        event.add("dtend", date.fromordinal(entry.last + 1))  # exclusive: the day after (RFC 5545 3.6.1)
        event.add("summary", entry.summary)
        if entry.description:
            event.add("description", entry.description)
        event.add("location", entry.location)
        event.add("categories", [_CATEGORIES[entry.kind]])
        event.add("transp", "TRANSPARENT")
        event.add("x-microsoft-cdo-busystatus", "FREE")
        yield event
