"""The feeds: what changed since the last ones, the past that is kept, what was taken out.

In: a Plan and the Ledger. Out: the bytes of the ``.ics`` files, and the Ledger that knows what stands in them.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import with_years, years_of
from ipmcal.publishing.calendar.drafts import DraftEntry, drafts
from ipmcal.publishing.calendar.writing import calendar, calendar_line, in_order
from ipmcal.publishing.memory.ledger import KEEP_DAYS, EntryKind, FeedEntry, Gone, Ledger, speaks_for


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
    return {key: calendar(plan, entered, key) for key in _each(plan)}, entered


def imports(plan: Plan, ledger: Ledger) -> tuple[dict[str | None, bytes], Ledger]:
    """As ``feeds``, to be read into a calendar by hand: what was taken out stands in it as cancelled.

    A reader that subscribes takes out by itself what a feed has no longer; one that imports does not.
    """
    entered = with_entries(plan, ledger)
    return {key: calendar(plan, entered, key, cancelled=True) for key in _each(plan)}, entered


def _each(plan: Plan) -> tuple[str | None, ...]:
    return (None, *dict.fromkeys(view.key for view in plan.yards))


def with_entries(plan: Plan, ledger: Ledger) -> Ledger:
    """The ledger with the plan's calendar entries, the past that is kept, and what was taken out."""
    old = {entry.uid: entry for entry in ledger.entries}
    gone = {item.uid: item for item in ledger.gone}
    new: dict[str, FeedEntry] = {}
    ids = [task.id for task in plan.tasks]
    if len(set(ids)) < len(ids):
        raise ValueError(f"a task comes twice: {next(name for name in ids if ids.count(name) > 1)}")
    for draft in drafts(plan, ledger):
        was = old.get(draft.uid)
        new[draft.uid] = _entered(_begun(draft, was, plan), was, gone.pop(draft.uid, None), _midnight(plan.as_of))
    for entry in ledger.entries:
        if entry.uid not in new:
            if _stays(entry, plan):
                new[entry.uid] = entry
            else:
                gone[entry.uid] = _gone(entry, _midnight(plan.as_of))
    oldest = plan.as_of - KEEP_DAYS
    kept = (entry for entry in new.values() if entry.last >= oldest)
    return replace(
        ledger,
        entries=tuple(sorted(kept, key=in_order)),
        gone=tuple(item for item in sorted(gone.values(), key=lambda g: (g.last, g.uid)) if item.last >= oldest),
    )


def _stays(entry: FeedEntry, plan: Plan) -> bool:
    """Whether an entry that is not in the plan stays: it is past, or of a season that the plan doesn't speak for."""
    if entry.kind is EntryKind.EMPTY:
        return False
    return entry.last < plan.as_of or not speaks_for(plan, entry.yard, entry.season)


def _begun(draft: DraftEntry, old: FeedEntry | None, plan: Plan) -> DraftEntry:
    """A range that has begun keeps its first day: that its first days are over by now is no news."""
    begun = draft.kind is EntryKind.RANGE and old is not None and old.last == draft.last and draft.first == plan.as_of
    return replace(draft, first=min(draft.first, old.first)) if begun and old else draft


def _entered(draft: DraftEntry, old: FeedEntry | None, gone: Gone | None, now: datetime) -> FeedEntry:
    about = years_of(draft.first, draft.last)
    entry = FeedEntry(
        uid=draft.uid,
        kind=draft.kind,
        yard=draft.yard.key,
        season=draft.yard.season,
        first=draft.first,
        last=draft.last,
        summary=calendar_line(with_years(draft.summary, about)),
        description="\n".join(calendar_line(with_years(line, about)) for line in draft.lines),
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


def _gone(entry: FeedEntry, now: datetime) -> Gone:
    later = max(now, entry.stamp + timedelta(seconds=1))
    return Gone(entry.uid, entry.last, entry.sequence, later, entry.yard, entry.first, entry.summary)


def _text(entry: FeedEntry) -> tuple[EntryKind, str, str, str]:
    return entry.kind, entry.summary, entry.description, entry.location


def _midnight(day: int) -> datetime:
    return datetime.combine(date.fromordinal(day), time(), UTC)
