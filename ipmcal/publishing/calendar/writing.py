"""How calendars are written: iCalendar (RFC 5545, RFC 7986).

In: entries of the ledger. Out: bytes. Pure.
"""

from __future__ import annotations

from collections.abc import Set
from datetime import UTC, date, timedelta
from typing import Final

from icalendar import Alarm, Calendar, Event, vDuration, vText

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.views import AlarmsView
from ipmcal.publishing.memory.ledger import EntryKind, FeedEntry, Gone, Ledger

PRODID: Final = "-//ipmcal//yard visits//EN"
REFRESH: Final = timedelta(hours=12)
_CATEGORIES: Final = {
    EntryKind.VISIT: "Visit",
    EntryKind.STOP: "Last good day",
    EntryKind.RANGE: "Could be moved",
    EntryKind.EMPTY: "Note",
}
# Out go controls that a content line may not hold (RFC 5545 3.1), byte order marks and half characters. A backslash
# becomes a slash: many readers, and the library that writes this, take one before an n or N for a line's end.
_UNWANTED: Final = dict.fromkeys((*range(9), *range(14, 28), 127, 0xFEFF, *range(0xD800, 0xE000))) | {ord("\\"): "/"}


def calendar_line(text: str) -> str:
    """Text that a calendar may hold, on one line: whatever a reader could take for a line's end is a blank.

    >>> calendar_line("Nord\\r\\n7\\x00\\u2028b")
    'Nord 7 b'
    """
    return " ".join(text.translate(_UNWANTED).split())


def calendar(plan: Plan, ledger: Ledger, yard: str | None, *, cancelled: bool = False) -> bytes:
    """The ledger's entries for a yard (None: for all) as an iCalendar object. Raises KeyError for an unknown yard.

    With ``cancelled``, what was taken out of days to come stands in it too, and says so (RFC 5545 3.8.1.11).
    """
    names = {view.key: view.name for view in plan.yards}
    name = calendar_line(plan.outfit_name if yard is None else names[yard])
    cal = Calendar()
    cal.add("prodid", PRODID)
    cal.add("version", "2.0")
    cal.add("name", vText(name))
    cal.add("x-wr-calname", vText(name))  # as text: the library would write it unescaped otherwise
    cal.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})  # the library leaves VALUE out
    cal.add("x-published-ttl", vDuration(REFRESH))
    hours = {view.key: view.alarms for view in plan.yards}
    going = {task.id for task in plan.tasks if task.planned is not None}
    for entry in sorted((one for one in ledger.entries if yard in (None, one.yard)), key=in_order):
        event = _event(entry)
        alarm = _alarm(entry, hours.get(entry.yard), going, plan.as_of)
        if alarm is not None:
            event.add_component(alarm)
        cal.add_component(event)
    for item in ledger.gone if cancelled else ():
        if item.summary and item.last >= plan.as_of and yard in (None, item.yard):
            cal.add_component(_cancelled(item))
    written: bytes = cal.to_ical()
    return written


def _event(entry: FeedEntry) -> Event:
    event = _dated(entry, entry.first, entry.summary, entry.sequence)
    if entry.description:
        event.add("description", entry.description)
    event.add("location", entry.location)
    event.add("categories", [_CATEGORIES[entry.kind]])
    event.add("transp", "TRANSPARENT")
    event.add("x-microsoft-cdo-busystatus", "FREE")
    return event


def _cancelled(item: Gone) -> Event:
    """What was taken out: as it was last known, one change later (RFC 5546 2.1.4)."""
    event = _dated(item, item.last if item.first is None else item.first, item.summary, item.sequence + 1)
    event.add("status", "CANCELLED")
    event.add("transp", "TRANSPARENT")
    return event


def _dated(entry: FeedEntry | Gone, first: int, summary: str, sequence: int) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.stamp.astimezone(UTC))
    event.add("last-modified", entry.stamp.astimezone(UTC))
    event.add("sequence", sequence)
    event.add("dtstart", date.fromordinal(first))
    event.add("dtend", date.fromordinal(entry.last + 1))  # exclusive: the day after (RFC 5545 3.6.1)
    event.add("summary", summary)
    return event


def _alarm(entry: FeedEntry, hours: AlarmsView | None, planned: Set[str], as_of: int) -> Alarm | None:
    """What rings before a visit, and before a last good day of which something has no visit (RFC 5545 3.6.6).

    A visit that is over keeps its own: it rings no more, and to take it out would be news every day.
    """
    if hours is None:
        return None
    if entry.kind is EntryKind.VISIT:
        before = hours.visit
    elif entry.kind is EntryKind.STOP and entry.first >= as_of and not planned >= set(entry.tasks):
        before = hours.last_good_day
    else:
        return None
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.summary)
    alarm.add("trigger", -timedelta(hours=before))  # from the start of an all-day event: midnight where the phone is
    return alarm


def in_order(entry: FeedEntry) -> tuple[int, int, str]:
    """The order in which entries are kept and written: by day, then kind."""
    return entry.first, list(EntryKind).index(entry.kind), entry.uid
