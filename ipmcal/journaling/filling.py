"""What ``ipmcal log --from`` does with a sheet that was filled in as a form: shows it, asks for a yes, and writes.

In: a club's folder or an outfit, and what was read of the form. Out: lines of a journal, and what has to be asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ipmcal.journaling.entering import Request, enter
from ipmcal.journaling.messaging import Clerk, Post
from ipmcal.journaling.printed import printed_sheet
from ipmcal.model.values.signs import printed_code
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import short_day, year
from ipmcal.publishing.memory.ledger import LedgerSheet
from ipmcal.reading.club.messages import Message
from ipmcal.reading.club.spokendays import MessageError, SpokenDay
from ipmcal.reading.club.understanding import Understood, understand
from ipmcal.reading.entering.entries import Facts
from ipmcal.reading.entering.filled import FilledSheet
from ipmcal.reading.entering.sheetlines import PrintedSheet
from ipmcal.reading.source.files import bad
from ipmcal.reading.source.prompt import Prompt, Say

MAX_FORM = 5_000_000
"""Bytes of a form: a year of fonts and pictures would fit."""


@dataclass(frozen=True)
class FilledForm:
    """A filled form: what was read of it, its file's ``name``, the day of work where one is given, as ``post`` comes.

    ``sure``: it is meant as it stands and written without a question, though a newer sheet took its place, or the day
    is far from its own; ``asks``: somebody is there who can be asked.
    """

    filled: FilledSheet
    name: str
    post: Post
    on: int | None = None
    sure: bool = False
    asks: bool = False


def take_form(form: FilledForm, ask: Prompt, say: Say) -> tuple[str, ...]:
    """Shows what a form says, asks whether to write it, and writes; returns what has to be asked of whom filled it in.

    Raises BadInput where it is none of the sheets known here, or an old one, with nothing written; LedgerError and
    OSError; and what ``ask`` raises.
    """
    clerk, filled = Clerk(form.post), form.filled
    try:
        path, keeper = clerk.whose(filled.code)
        loaded, ledger, sheet = clerk.known(filled.code, path)
    except MessageError as error:
        raise bad(form.name, str(error)) from None
    _check(form, sheet)
    by = " ".join((form.post.by or filled.by).split())
    facts = Facts(loaded.outfit, loaded.book, loaded.keys, form.post.today, loaded.outfit.journal or (), by)
    day = _day(form, sheet)
    read = _understood(filled, printed_sheet(ledger, sheet, loaded.book), facts, day)
    questions = (*read.questions, *filled.questions)
    say(f"{keeper.keeper or loaded.outfit.name}: {form.name} is sheet {filled.code} of {short_day(sheet.day)}")
    for question in questions:
        say(f"  to ask{f' ({keeper.phone})' if keeper.phone else ''}: {question}")
    if read.sure:
        words = (filled.code, *(f"{number} {text}" for number, text in read.sure))
        on, dry, today = str(date.fromordinal(day)), form.post.dry, form.post.today
        request = Request(str(path), words, on, by, "", today, dry, form.sure, form.asks, confirms=not form.sure)
        enter(loaded, request, ask, say)
    return questions


def _check(form: FilledForm, sheet: LedgerSheet) -> None:
    """Whether the form is the sheet that is known by its code, as it is known now. Raises BadInput."""
    filled, code = form.filled, printed_code(form.filled.code)
    if str(date.fromordinal(sheet.day)) != filled.day or max(filled.numbered, default=0) > len(sheet.lines):
        theirs = f"{short_day(sheet.day)} {year(sheet.day)}"
        raise bad(form.name, f"is the sheet {code} of {filled.day}; the sheet {code} known here is of {theirs}")
    if not filled.said and not filled.questions:
        raise bad(form.name, f"is sheet {code}, and nothing is ticked in it; tick the boxes, save it, and try again")
    if sheet.superseded_by and not form.sure:
        what = f"is an old sheet: another took the place of {code}, and its lines may differ"
        raise bad(form.name, f"{what}; if the work was done by this one, say it again with --sure")


def _day(form: FilledForm, sheet: LedgerSheet) -> int:
    """The day of work: as given, the rain date where that is ticked, or the sheet's own. Raises BadInput."""
    rain = form.filled.rain
    try:
        day = form.on or (date.fromisoformat(rain).toordinal() if rain else sheet.day)
    except ValueError:
        raise bad(form.name, f"names a day that is none: {quoted(rain)}") from None
    if day > form.post.today:
        what = f"is for {short_day(day)} {year(day)}, which is still to come"
        raise bad(form.name, f"{what}; say on which day the work was done: --on DATE")
    return day


def _understood(filled: FilledSheet, sheet: PrintedSheet, facts: Facts, day: int) -> Understood:
    """Each line by itself, so that nothing typed into one can be said of another."""
    told = date.fromordinal(day)
    spoken = SpokenDay(told.year, told.month, told.day)
    sure: list[tuple[int, str]] = []
    questions: list[str] = []
    for number, text in filled.said:
        read = understand(Message(filled.code, spoken, f"line {number} {text}"), sheet, facts, day, number)
        own = len(read.sure) == 1 and read.sure[0][0] == number
        sure += read.sure if own else ()
        questions += read.questions or ([] if own else [f"line {number} {text}: what is meant by that?"])
    return Understood(tuple(sure), tuple(questions))
