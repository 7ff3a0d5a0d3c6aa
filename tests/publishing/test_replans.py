"""A calendar over three seasons: planned anew forty times, by a keeper who writes half of what was done.

RFC 5545, 3.8.4.7: a UID is one entry's for good. 3.8.7.4: SEQUENCE goes up where DTSTART or DTEND moves, and here with
nothing else. 3.8.7.2: DTSTAMP tells when what is shown was last revised. The yard is invented.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, replace

import icalendar
import pytest
from planning.yards import colony, kept_as_planned, on, outfit, shipped, yard
from sweeps import some

from ipmcal.model.outfit.outfit import Event
from ipmcal.planning.plan import make_plan
from ipmcal.publishing.calendar.feed import feed
from ipmcal.publishing.memory.assumed import with_assumed
from ipmcal.publishing.memory.ledger import Ledger, ledger_text, parse_ledger, remember

TIMES, APART = 40, 27
"""Forty plans, nearly four weeks apart: just under three years."""
SHOWN = ("SUMMARY", "DESCRIPTION", "LOCATION", "STATUS")


@dataclass(frozen=True)
class Entry:
    """What a phone has of an entry: its number and time of revision, its days, and what it shows; alarms count."""

    sequence: int
    stamp: str
    days: tuple[str, str]
    shown: tuple[str, ...]


def entries_of(content: bytes) -> dict[str, Entry]:
    """Each entry by its UID. No UID stands twice."""
    events = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert [uid for uid, times in Counter(str(one["UID"]) for one in events).items() if times > 1] == []
    return {str(one["UID"]): _entry(one) for one in events}


def _entry(event: icalendar.Event) -> Entry:
    def text(name: str) -> str:
        return event[name].to_ical().decode() if name in event else ""

    shown = (*map(text, SHOWN), *(alarm.to_ical().decode() for alarm in event.walk("VALARM")))
    return Entry(int(event.get("SEQUENCE", 0)), text("DTSTAMP"), (text("DTSTART"), text("DTEND")), shown)


@pytest.mark.parametrize("seed", some([3, 11]))
def test_three_seasons_and_forty_plans(seed: int) -> None:
    chance, journal = random.Random(seed), list[Event]()
    kept = outfit(yard(colony("1"), colony("2"), program="full", weekdays=(5,)), journal=())
    ledger, known, seen = Ledger(kept.id), dict[str, Entry](), Counter[str]()
    for as_of in range(on("01-05"), on("01-05") + TIMES * APART, APART):
        past = with_assumed(replace(kept, journal=tuple(journal)), ledger, shipped(), as_of)
        made = make_plan(past, shipped(), as_of)
        before = {entry.uid for entry in ledger.entries}
        content, ledger = feed(made, remember(ledger, made))
        ledger = parse_ledger(ledger_text(ledger), "ledger.json", kept.id)
        now = entries_of(content)
        for uid, entry in now.items():
            was = known.get(uid)
            if was is not None:
                came_back = uid not in before
                moved = entry.days != was.days or came_back
                assert entry.sequence == was.sequence + moved, (uid, was, entry)
                assert (entry.stamp > was.stamp) is (moved or entry.shown != was.shown), (uid, was, entry)
                seen["back" if came_back else "moved" if moved else "same" if entry == was else "told anew"] += 1
        known |= now
        journal += [event for event in kept_as_planned(made, as_of + APART) if chance.random() < 0.5]
    assert min(seen[what] for what in ("moved", "same", "told anew")) >= 10, seen
