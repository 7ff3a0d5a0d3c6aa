"""What ``ipmcal log`` does: finds the sheet, reads what was said, shows it, and appends it to the journal.

In: an outfit as loaded, the words of the command line, ways to ask and to say. Out: lines in ``journal.csv``. What was
said is read in ``reading/entering/``; files are the ledger's and the journal's.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NoReturn

from ipmcal.journaling.appending import append_events
from ipmcal.journaling.printed import far_from, printed_sheet
from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because
from ipmcal.model.plan.causes import because_words
from ipmcal.model.values.signs import is_printed_code
from ipmcal.model.values.text import nearest, one_line, quoted
from ipmcal.model.values.words import counted, joined, short_day, year
from ipmcal.place.season import TooFar
from ipmcal.planning.options import told_in_hive
from ipmcal.publishing.memory.codes import find_sheet, near_sheets, sheet_window
from ipmcal.publishing.memory.ledger import Ledger, read_ledger
from ipmcal.reading.club.messages import Message, read_message
from ipmcal.reading.club.spokendays import MessageError, SpokenDay, taken_day
from ipmcal.reading.entering.entries import EntryError, Facts, Typed, entry, told
from ipmcal.reading.entering.rows import check_signs
from ipmcal.reading.entering.sheetlines import PrintedSheet
from ipmcal.reading.entering.sheetwords import as_text, entered, line_entries, said_of_lines, without_ticks
from ipmcal.reading.entering.walk import ask_day, walk
from ipmcal.reading.journal.keys import MAKES, said
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.dates import read_day
from ipmcal.reading.source.prompt import Prompt, Say
from ipmcal.reading.yards.yards import Loaded

IN_HIVE = ("treats", "strips_in", "strips_out", "supers_on", "ends")
"""Effects of lines after which a hive may hold what it should not."""
_CODE = re.compile(r"(?:[A-Za-z][0-9]{1,3}){1,2}[A-Za-z]?")


@dataclass(frozen=True)
class Request:
    """What the command line says. ``path`` is the outfit's as given; ``today`` is the last possible day of work.

    ``sure``: the day is meant, however far it is from the sheet's; ``asks``: somebody is there who can be asked;
    ``confirms``: what was understood is written only after a yes.
    """

    path: str
    words: tuple[str, ...]
    on: str | None
    by: str
    note: str
    today: int
    dry: bool = False
    sure: bool = False
    asks: bool = False
    confirms: bool = False


def enter(loaded: Loaded, request: Request, ask: Prompt, say: Say) -> int:
    """Reads, shows and writes; returns how many lines were written.

    Raises BadInput, LedgerError and OSError, with nothing written; and what ``ask`` raises where the answers end.
    """
    journal = loaded.outfit.journal or ()
    facts = Facts(loaded.outfit, loaded.book, loaded.keys, request.today, journal, " ".join(request.by.split()))
    return _Clerk(loaded, request, facts, ask, say).enter()


@dataclass
class _Clerk:
    """One run of the command."""

    loaded: Loaded
    request: Request
    facts: Facts
    ask: Prompt
    say: Say

    def enter(self) -> int:
        """From words to lines."""
        words = one_by_one(self.request.words)
        if words and self._is_event(words):
            return self._write(self._event(words), asking=False)
        ledger = read_ledger(self.loaded.ledger, self.loaded.outfit.id)
        code, told_day, lines = self._addressed(words or (self._asked_code(ledger),))
        sheet = self._sheet(ledger, code)
        if lines:
            day = self._day_of(ledger, sheet, told_day)
            entries = self._lines(sheet, lines, day)
            self._head(sheet, day)
            return self._write(entries, asking=self.request.confirms, sheet=sheet)
        given = self.request.on is not None
        day = self._on() if given else ask_day(self.ask, self.say, self.facts, sheet)
        self._check_far(ledger, sheet, day, asks=True)
        self._head(sheet, day)
        found = walk(self.ask, self.say, self.facts, sheet, day, self._note())
        return self._write(found, asking=True, sheet=sheet)

    def _addressed(self, words: Sequence[str]) -> tuple[str, SpokenDay, Sequence[str]]:
        """The code of a sheet, the day as far as it is said, what is said of the lines: also as a message has it."""
        head, rest = words[0].strip(" :,;"), words[1:]
        try:
            if is_printed_code(head):
                message = read_message(f"{head} {as_text(rest)}") if rest else Message(head[:-1], SpokenDay(), "")
                return message.code, message.day, (message.text,) if message.text else ()
            before, colon, behind = as_text(rest).partition(":")
            day, left = taken_day(before) if colon else (SpokenDay(), before)
        except MessageError as error:
            _complain(quoted(head), str(error))
        if day.said and not any(sign.isalnum() for sign in left):
            return head, day, (behind,)
        return head, SpokenDay(), rest

    # One event --------------------------------------------------------------------------------------------------------

    def _is_event(self, words: Sequence[str]) -> bool:
        """A hive's key, or a sheet's code? Behind a key stands an event, behind a code a number, or nothing."""
        head, behind = words[0], " ".join(words[1:]).split()
        if head.startswith("@") or not _CODE.fullmatch(head.strip()):
            return True
        number = not behind or behind[0][0].isdigit()
        rule = self.loaded.book.events.get(behind[0].lower()) if behind else None
        is_hive = bool(self.facts.yard_of(head, self.request.today)) or (rule is not None and rule.effect in MAKES)
        return is_hive and not number

    def _event(self, words: Sequence[str]) -> list[Typed]:
        who, note = words[0], self._note()
        words = " ".join(words[1:]).split()
        if not words:
            what = f"what is to be written about {who}? such as: ipmcal log {self.request.path} {who} inspected"
            _complain(who, f"{what}; or give the code of a sheet")
        keys = [*self.facts.keys.colonies(), *self.facts.made()]
        if not who.startswith("@") and who not in keys and words[0].lower() not in self.loaded.book.events:
            _complain(quoted(who), f"is neither a hive's key nor the code of a sheet{nearest(who, keys)}")
        day = self._on() if self.request.on is not None else self._latest(who, words)
        try:
            found = entry(self.facts, who, words, day, note)
        except EntryError as error:
            _complain(f"{one_line(' '.join([who, *words]))}:", str(error))
        when = "" if self.request.on is not None else " (another day: --on DATE)"
        self.say(f"{short_day(day)} {year(day)}{when}:")
        return [found]

    def _latest(self, who: str, words: Sequence[str]) -> int:
        """Without a day: today; to take a line back, the day of the last one that says this."""
        rule = self.loaded.book.events.get(words[0])
        if rule is not None and rule.effect == "voids":
            text = " ".join(words[1:])
            days = [e.day for e in self.facts.journal if said(e) == text and who in (e.colony, f"@{e.yard}")]
            return max(days, default=self.request.today)
        return self.request.today

    # A sheet ----------------------------------------------------------------------------------------------------------

    def _asked_code(self, ledger: Ledger) -> str:
        for line in near_sheets(ledger, self.request.today):
            self.say(f"  {line}")
        return self.ask("Which sheet? Its code:", "")

    def _sheet(self, ledger: Ledger, code: str) -> PrintedSheet:
        found = find_sheet(ledger, code)
        if found is None:
            known = "; ".join(near_sheets(ledger, self.request.today)) or "none yet: ipmcal plan prints them"
            _complain(quoted(code), f"is not the code of a sheet that is known; those of the last weeks: {known}")
        return printed_sheet(ledger, found, self.loaded.book)

    def _head(self, sheet: PrintedSheet, day: int) -> None:
        """Whose sheet it is, the day of work, and what there is to know about it."""
        when = f"done on {short_day(day)} {year(day)}"
        if day == sheet.day and self.request.on is None and self.request.words:
            when += ", the day it is for (another day: --on DATE)"
        self.say(f"Sheet {sheet.code}, {sheet.yard}: {when}")
        if sheet.superseded:
            newer = f"sheet {sheet.successor} took its place" if sheet.successor else "a later sheet took its place"
            self.say(f"  note: {newer}; what was done is a fact all the same")
        old = entered(self.facts, sheet)
        if old:
            self.say(f"  note: {counted(len(old), 'line')} of this sheet entered before")

    def _day_of(self, ledger: Ledger, sheet: PrintedSheet, said: SpokenDay) -> int:
        """The day of work: as given, as said, or else the sheet's own."""
        day = self._on() if self.request.on is not None else said.near(sheet.day) if said.said else sheet.day
        if said.said and day != said.near(day):
            what = f"is another day than the message names, {short_day(said.near(day))}; leave one of them out"
            _complain("--on", what)
        if day > self.request.today:
            _complain(
                f"sheet {sheet.code}",
                f"is for {short_day(day)} {year(day)}, which is still to come; "
                "say on which day the work was done: --on DATE",
            )
        self._check_far(ledger, sheet, day, asks=self.request.asks)
        return day

    def _check_far(self, ledger: Ledger, sheet: PrintedSheet, day: int, *, asks: bool) -> None:
        """Whether the day is meant, where none of the sheet's work was due on it: asked, or else refused."""
        window = sheet_window(ledger, sheet.code, sheet.day)
        if self.request.sure or window[0] <= day <= window[1]:
            return
        what = f"{far_from(sheet.day, window)}; was the work done on {short_day(day)} {year(day)}"
        if asks and self.ask(f"Sheet {sheet.code}: {what} (y or n)?", "n").strip().lower() in ("y", "yes"):
            return
        if asks:
            _complain(f"sheet {sheet.code}", "nothing was written; say on which day the work was done: --on DATE")
        _complain(f"sheet {sheet.code}:", f"{what}? If so, say it again with --sure; another day: --on DATE")

    def _lines(self, sheet: PrintedSheet, words: Sequence[str], day: int) -> list[Typed]:
        """All that is said of a sheet's lines, or every complaint about it."""
        found: list[Typed] = []
        complaints: list[Complaint] = []
        try:
            spoken = said_of_lines(words, sheet, self.loaded.book)
        except EntryError as error:
            _complain(f"sheet {sheet.code}:", str(error))
        facts = self.facts
        for number, text in spoken:
            try:
                entries = line_entries(facts, sheet, number, text, day, self._note())
            except EntryError as error:
                complaints.append(Complaint(f"sheet {sheet.code} line {number}:", 0, 0, str(error)))
                continue
            facts = facts.after([one.event for one in entries if one.known is None])
            found += entries
        if complaints:
            raise BadInput(complaints)
        return without_ticks(found, self.loaded.book)

    # What both share --------------------------------------------------------------------------------------------------

    def _on(self) -> int:
        text = self.request.on or ""
        try:
            day = read_day(text)
        except ValueError as error:
            _complain("--on", str(error))
        if day > self.request.today:
            today = date.fromordinal(self.request.today)
            what = f"{date.fromordinal(day)} is still to come (today is {today})"
            _complain("--on", f"{what}; give the day on which the work was done, or another today with --as-of")
        return day

    def _note(self) -> str:
        return " ".join(self.request.note.split())

    def _write(self, entries: Sequence[Typed], *, asking: bool, sheet: PrintedSheet | None = None) -> int:
        """Shows what was understood, asks where there is somebody to ask, and appends."""
        new = [one.event for one in entries if one.known is None]
        for one in entries:
            self.say(f"  {one.line or '':<3}{told(one.event, self.loaded.book)}" if sheet else _plain(one, self.facts))
            if one.known is not None:
                where = f" ({one.known.place})" if one.known.place.line else ""
                self.say(f"     is there already{where}; not written again")
            for remark in (*one.remarks, *self._in_hive(one, new)):
                self.say(f"     {remark}")
        if sheet:
            self._left_open(sheet, entries)
        for event in new:
            check_signs(event)
        if not new or self.request.dry:
            self.say(
                "Nothing new to write." if not new else f"{counted(len(new), 'line')} to write; nothing was written."
            )
            return 0
        if asking and self.ask(f"Write {counted(len(new), 'line')} (y or n)?", "y").strip().lower() not in ("y", "yes"):
            self.say("Nothing was written.")
            return 0
        return append_events(self.request.path, self.loaded, self.facts, new, self.say)

    def _in_hive(self, one: Typed, new: Sequence[Event]) -> tuple[str, ...]:
        """What the line makes worth telling of what is in its hive: supers too early, a second set, too much.

        ``new``: all that is written, it among them; what another of these lines settles is not told.
        """
        event, book = one.event, self.loaded.book
        if one.known is not None or book.events[event.word].effect not in IN_HIVE:
            return ()

        def told_of(lines: Sequence[Event]) -> dict[str, tuple[Because, ...]]:
            outfit = replace(self.facts.outfit, journal=(*(self.facts.outfit.journal or ()), *lines))
            return told_in_hive(outfit, event.yard, book, event.day)

        at = next(i for i, other in enumerate(new) if other is event)
        try:
            before, after, in_all = told_of(new[:at]), told_of(new[: at + 1]), told_of(new)
        except TooFar:  # no season fits the place: nothing is planned for it, and lines are written all the same
            return ()
        more = ((key, what) for key, said in after.items() for what in said if what not in before.get(key, ()))
        return tuple(f"mind, {key}: {because_words(what)}" for key, what in more if what in in_all.get(key, ()))

    def _left_open(self, sheet: PrintedSheet, entries: Sequence[Typed]) -> None:
        answered = {one.line for one in entries} | {
            n for n in range(1, len(sheet.lines) + 1) if entered(self.facts, sheet, n)
        }
        left = [str(line.number) for line in sheet.lines if line.number not in answered]
        if left:
            self.say(f"  Not said, and left unknown: {'line' if len(left) == 1 else 'lines'} {joined(left)}.")


def one_by_one(words: Sequence[str]) -> tuple[str, ...]:
    """The words of the command line; where all of it is one text, its first word stands for itself."""
    if len(words) == 1 and words[0].split()[1:]:
        return tuple(words[0].split(None, 1))
    return tuple(words)


def _plain(one: Typed, facts: Facts) -> str:
    """A single event with the yard where it is written."""
    yard = "" if one.event.colony is None else f"{one.event.yard}, "
    return f"  {yard}{told(one.event, facts.book)}"


def _complain(file: str, what: str) -> NoReturn:
    raise BadInput([Complaint(file, 0, 0, what)])
