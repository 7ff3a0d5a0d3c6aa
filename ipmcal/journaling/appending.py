"""Appends what was understood to the journal: checked once more as it is when it is written.

In: events, the outfit as loaded. Out: rows in ``journal.csv``, and lines to say.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Sequence
from datetime import date

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.values.rows import appended
from ipmcal.model.values.words import counted
from ipmcal.publishing.disk.journalfile import append_rows
from ipmcal.reading.entering.entries import Facts
from ipmcal.reading.entering.rows import journal_row, yard_file_line
from ipmcal.reading.journal.journal import journal_events
from ipmcal.reading.journal.keys import MAKES, said
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.prompt import Say
from ipmcal.reading.yards.yards import Loaded


def append_events(path: str, loaded: Loaded, facts: Facts, events: Sequence[Event], say: Say) -> int:
    """Appends events to the journal, says so, and how to take the first back; returns how many lines.

    Raises BadInput and OSError.
    """
    shown = loaded.prefix + loaded.journal.name
    number = append_rows(loaded.journal, _rows_for(loaded, events, shown))
    say(f"{counted(number, 'line')} written to {shown}." if number else "Nothing new to write.")
    for event in events:
        for line in _offer(loaded, facts, event):
            say(line)
    first = next((e for e in events if loaded.book.events[e.word].effect != "voids"), None)
    if number and first is not None:
        who = first.colony or f"@{first.yard}"
        day = date.fromordinal(first.day)
        line = shlex.join(
            [
                "ipmcal",
                "log",
                path,
                who,
                loaded.book.word("voids"),
                *said(first).split(),
                "--on",
                str(day),
            ]
        )
        say(f"To take a line back: {line}")
    return number


def _rows_for(loaded: Loaded, events: Sequence[Event], shown: str) -> Callable[[str], list[tuple[str, ...]]]:
    """The rows to append to the journal as it is when they are appended; somebody may have written meanwhile."""

    def rows(text: str) -> list[tuple[str, ...]]:
        keys, book = loaded.keys, loaded.book
        there = {(e.day, e.yard, e.colony, said(e)) for e in journal_events(text, shown, keys, book)}
        new = [journal_row(e) for e in events if (e.day, e.yard, e.colony, said(e)) not in there]
        try:
            journal_events(appended(text, new), shown, keys, book)
        except BadInput as bad:
            told = "; ".join(map(str, bad.complaints[:3]))
            what = f"with this, the journal would not be in order; nothing was written: {told}"
            raise BadInput([Complaint(shown, 0, 0, what)]) from bad
        return new

    return rows


def _offer(loaded: Loaded, facts: Facts, event: Event) -> Iterator[str]:
    """For a colony that no yard file has: the line by which one would have it."""
    if loaded.book.events[event.word].effect not in MAKES or facts.colony(event.colony or ""):
        return
    file = next(y.file for y in loaded.outfit.yards if y.key == event.yard)
    yield f"Hive {event.colony} is in the plan from now on. To keep it in {file}, add this under 'colonies':"
    yield yard_file_line(event, facts)
