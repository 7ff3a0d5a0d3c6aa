"""The walk down a sheet behind ``ipmcal log``: the day of work, then each line, as it was printed.

In: a way to ask and a way to say something, the sheet, what is known. Out: entries. Nothing is read from a terminal in
here. Enter leaves a line open; only a plain look may be taken by it as "looked, fine". What ends the answers (EOFError)
is for the caller.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import long_day, year
from ipmcal.reading.entering.entries import Entry, EntryError, Facts, told
from ipmcal.reading.entering.sheetwords import (
    DONE,
    PrintedSheet,
    SheetLine,
    entered,
    line_entries,
    step_of,
    undone,
    word_of,
)
from ipmcal.reading.journal.dates import read_day

Ask = Callable[[str, str], str]
"""A question and its default ("" for none); the answer."""
Say = Callable[[str], None]

OPEN = "-"
QUESTIONS = {"lot": "Of which lot ('unknown' may be written)", "by": "By whom"}
"""What has to be answered, by what is missing, and the word before it in the journal."""


def ask_day(ask: Ask, say: Say, facts: Facts, sheet: PrintedSheet) -> int:
    """The day of work: not the day of print, and not one that is still to come."""
    offered = date.fromordinal(sheet.day).isoformat() if sheet.day <= facts.today else ""
    while True:
        answer = ask("On which day was the work done?", offered).strip() or offered
        if not answer:
            say("  a date is needed, such as 2027-05-22")
            continue
        try:
            day = read_day(answer)
        except ValueError as error:
            say(f"  {error}")
            continue
        if day <= facts.today:
            return day
        say(f"  {long_day(day)} {year(day)} is still to come")


def walk(ask: Ask, say: Say, facts: Facts, sheet: PrintedSheet, day: int, note: str = "") -> list[Entry]:
    """Every line of a sheet, asked for until its answer fits; what is left open is not in what comes out."""
    say(f"Enter leaves a line open; '{DONE}', 'not done', a count, a finding, or a word of the journal answers it.")
    found: list[Entry] = []
    for line in sheet.lines:
        say(f"{line.number}  {title(line, facts)}")
        for old in entered(facts, sheet, line.number):
            say(f"     entered before: {told(old, facts.book)}")
        entries = _line(ask, say, facts, sheet, line, day, note)
        found += entries
        facts = facts.after([one.event for one in entries if one.known is None])
    return found


def title(line: SheetLine, facts: Facts) -> str:
    """A line as it was printed: whose, and what to do."""
    who = f"hive {line.who}" if not line.who.startswith("@") else line.who[1:]
    step = step_of(line, facts.book)
    own = next((t.do for y in facts.outfit.yards for t in y.tasks if t.name == line.step), line.step)
    do = str(step.do) if step is not None else own
    colony = facts.colony(line.who)
    home = next((trap.home for trap in colony.traps if trap.name == line.trap), "") if colony else ""
    for blank, text in (("{trap}", line.trap), ("{home}", str(home)), ("{slot}", str(home))):
        do = do.replace(blank, text)
    return f"{who}: {do}"


def _line(ask: Ask, say: Say, facts: Facts, sheet: PrintedSheet, line: SheetLine, day: int, note: str) -> list[Entry]:
    """One line, until its answer fits."""
    looks = is_look(line, facts.book) and not entered(facts, sheet, line.number)
    question = f"   Enter = looked, fine; {OPEN} = leave open" if looks else "   Enter = leave open"
    while True:
        answer = ask(question, "").strip()
        if answer == OPEN or (not answer and not looks):
            return []
        entries = _answered(ask, say, facts, sheet, line, answer or DONE, day, note)
        left = undone(facts, line, [one.event for one in entries]) if entries else ""
        if left and ask(f"   {left}: done too (y or n)?", "n").strip().lower() in ("y", "yes"):
            entries += _answered(ask, say, facts, sheet, line, DONE, day, note)
        for one in entries:
            say(f"     {told(one.event, facts.book)}{' (is there already)' if one.known else ''}")
        if entries:
            return entries


def _answered(
    ask: Ask, say: Say, facts: Facts, sheet: PrintedSheet, line: SheetLine, answer: str, day: int, note: str
) -> list[Entry]:
    """The entries of an answer; what is missing from a treatment is asked for. None where it does not fit: said so."""
    asked: set[str] = set()
    while True:
        try:
            return line_entries(facts, sheet, line.number, answer, day, note)
        except EntryError as error:
            if error.asks not in QUESTIONS or error.asks in asked:
                say(f"     {error}")
                return []
            asked.add(error.asks)
            more = ask(f"     {QUESTIONS[error.asks]}?", "").strip()
            answer = f"{answer} {error.asks} {more}" if more else answer


def is_look(line: SheetLine, book: Rulebook) -> bool:
    """Whether a line is a plain look, which Enter may take as "looked, fine"."""
    try:
        word = word_of(line, book)
    except EntryError:
        return False
    return book.events[word].look
