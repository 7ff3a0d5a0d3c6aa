"""What is asked and answered when work is logged: line by line, out of a filled sheet, out of messages."""

from __future__ import annotations

import sys
from pathlib import Path

import typer

from ipmcal.journaling.messaging import Post
from ipmcal.terminal.arguments import typed_day
from ipmcal.terminal.asking import asking, unasked
from ipmcal.terminal.ending import CONFLICTS, DONE, complain, trouble


def take_from(source: str, post: Post, on: str | None, *, more: bool, sure: bool) -> int:
    """Takes a filled sheet, or messages, into journals, and returns the exit code.

    ``on`` is the day that was typed beside it, ``more`` whether other words were, ``sure`` that nobody need be asked.
    """
    form = Path(source).suffix.lower() == ".pdf"
    _check_alone(form, more, bool(on))
    return _take_filled(Path(source), post, on, sure) if form else _take_messages(post, source)


def _check_alone(form: bool, more: bool, on: bool) -> None:
    """Whether nothing is said beside a file: it says all by itself, messages also the day."""
    if form and more:
        complain("--from", "takes a filled sheet as it stands; leave out other words, and --note")
    if not form and (more or on):
        complain("--from", "takes messages, which say the day themselves; leave out other words, --on and --note")


def _take_filled(source: Path, post: Post, on: str | None, sure: bool) -> int:
    """Takes a filled sheet into its journal, says what it says, and returns the exit code."""
    from ipmcal.journaling.filling import MAX_FORM, FilledForm, take_form
    from ipmcal.reading.entering.filled import read_filled
    from ipmcal.reading.source.files import read_bytes

    name, asks = source.name, sys.stdin.isatty()
    worked = None if on is None else typed_day(on, "--on")
    form = FilledForm(read_filled(read_bytes(source, name, MAX_FORM), name), name, post, worked, sure, asks)
    with trouble():
        questions = take_form(form, asking(name) if asks else unasked(name), typer.echo)
    return CONFLICTS if questions else DONE


def _take_messages(post: Post, source: str) -> int:
    """Takes messages into journals, says what became of each, and returns the exit code."""
    from ipmcal.journaling.messaging import MAX_POST, take
    from ipmcal.reading.source.files import read_text
    from ipmcal.saying.club import answer_lines, post_end

    name = "what was typed in" if source == "-" else Path(source).name
    text = sys.stdin.read(MAX_POST) if source == "-" else read_text(Path(source), name, MAX_POST)
    counts = []
    with trouble():
        for answer in take(text, name, post):
            for line in answer_lines(answer.who, answer.phone, answer.understood, answer.questions):
                print(line, flush=True)
            counts.append((answer.written, len(answer.questions)))
    print(post_end(counts))
    return CONFLICTS if any(asked for _, asked in counts) else DONE


def say_words(path: Path, code: str) -> None:
    """Prints the words that are taken: of a sheet's lines, or of the journal."""
    from ipmcal.journaling.printed import known_sheet
    from ipmcal.loading import load_all
    from ipmcal.saying.wording import journal_words, sheet_words

    loaded = load_all([path])[0]
    with trouble():
        said = sheet_words(known_sheet(loaded, code), loaded.book) if code else journal_words(loaded.book)
        for line in said:
            print(line)
