"""A message held against its sheet: the lines that are sure, and questions to send back about the others.

In: a message, the sheet as printed, what is known of the outfit. Out: entries' words by line, and questions. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.reading.club.messages import Message
from ipmcal.reading.entering.entries import EntryError, Facts
from ipmcal.reading.entering.sheetlines import PrintedSheet
from ipmcal.reading.entering.sheetwords import contradicted, line_entries, one_a_line


@dataclass(frozen=True, slots=True)
class Understood:
    """What a message says for sure, by line, and what has to be asked."""

    sure: tuple[tuple[int, str], ...] = ()
    questions: tuple[str, ...] = ()


def understand(message: Message, sheet: PrintedSheet, facts: Facts, day: int, only: int | None = None) -> Understood:
    """Which lines of a message are sure. Where no day is said, all or nothing is: what is odd may have been the day.

    ``only``: all of it is of that line, and no number in it is another's.
    """
    try:
        lines = one_a_line(message.text, sheet, facts.book, only)
    except EntryError as error:
        return Understood((), (str(error),))
    sure: list[tuple[int, str]] = []
    questions: list[str] = []
    for number, text in lines:
        try:
            entries = line_entries(facts, sheet, number, text, day)
            asked = contradicted(facts, sheet.line(number), [one.event for one in entries])
        except EntryError as error:
            asked = str(error)
        if asked:
            questions.append(f"line {number} {text}: {asked}")
        else:
            sure.append((number, text))
    if questions and not message.day.said:
        sure = []
    return Understood(tuple(sure), tuple(questions))
