"""The walk down a sheet behind ``ipmcal log``: the day of work, then each line, as it was printed.

In: a way to ask and a way to say something, the sheet, what is known. Out: entries. Nothing is read from a terminal in
here. Enter leaves a line open; only a plain look may be taken by it as "looked, fine". What ends the answers (EOFError)
is for the caller.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import long_day, year
from ipmcal.reading.entering.entries import EntryError, Facts, Typed, told
from ipmcal.reading.entering.phrases import SAID_DONE
from ipmcal.reading.entering.sheetlines import PrintedSheet, SheetLine, step_of, word_of
from ipmcal.reading.entering.sheetwords import entered, line_entries, undone
from ipmcal.reading.source.dates import read_day
from ipmcal.reading.source.prompt import Prompt, Say

LEFT_OPEN = "-"
QUESTIONS = {"lot": "Of which lot ('unknown' may be written)", "by": "By whom"}
"""What has to be answered, by what is missing, and the word before it in the journal."""


def ask_day(ask: Prompt, say: Say, facts: Facts, sheet: PrintedSheet) -> int:
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


def walk(ask: Prompt, say: Say, facts: Facts, sheet: PrintedSheet, day: int, note: str = "") -> list[Typed]:
    """Every line of a sheet, asked for until its answer fits; what is left open is not in what comes out."""
    say(
        f"Enter leaves a line open; '{SAID_DONE}', 'not done', a count, a finding, or a word of the journal answers it."
    )
    found: list[Typed] = []
    for line in sheet.lines:
        say(f"{line.number}  {title(line, facts)}")
        for old in entered(facts, sheet, line.number):
            say(f"     entered before: {told(old, facts.book)}")
        entries = _line(_Walk(ask, say, facts, sheet, day, note), line)
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


@dataclass(frozen=True)
class _Walk:
    """The talk about one line: how to ask and say, what is known by now, the sheet, the day of work."""

    ask: Prompt
    say: Say
    facts: Facts
    sheet: PrintedSheet
    day: int
    note: str


def _line(at: _Walk, line: SheetLine) -> list[Typed]:
    """One line, until its answer fits."""
    looks = is_look(line, at.facts.book) and not entered(at.facts, at.sheet, line.number)
    question = f"   Enter = looked, fine; {LEFT_OPEN} = leave open" if looks else "   Enter = leave open"
    while True:
        answer = at.ask(question, "").strip()
        if answer == LEFT_OPEN or (not answer and not looks):
            return []
        entries = _answered(at, line, answer or SAID_DONE)
        left = undone(at.facts, line, [one.event for one in entries]) if entries else ""
        if left and at.ask(f"   {left}: done too (y or n)?", "n").strip().lower() in ("y", "yes"):
            entries += _answered(at, line, word_of(line, at.facts.book))
        for one in entries:
            at.say(f"     {told(one.event, at.facts.book)}{' (is there already)' if one.known else ''}")
        if entries:
            return entries


def _answered(at: _Walk, line: SheetLine, answer: str) -> list[Typed]:
    """The entries of an answer; what is missing from a treatment is asked for. None where it does not fit: said so."""
    asked: set[str] = set()
    while True:
        try:
            return line_entries(at.facts, at.sheet, line.number, answer, at.day, at.note)
        except EntryError as error:
            if error.asks not in QUESTIONS or error.asks in asked:
                at.say(f"     {error}")
                return []
            asked.add(error.asks)
            more = at.ask(f"     {QUESTIONS[error.asks]}?", "").strip()
            answer = f"{answer} {error.asks} {more}" if more else answer


def is_look(line: SheetLine, book: Rulebook) -> bool:
    """Whether a line is a plain look, which Enter may take as "looked, fine"."""
    try:
        word = word_of(line, book)
    except EntryError:
        return False
    return book.events[word].look
