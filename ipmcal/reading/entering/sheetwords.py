"""A printed sheet's lines, and what a keeper says of them: ``1 done, 2 9/300, 3 capped done, 4 not done``.

In: the ids of the sheet's tasks, the words. Out: for each line entries as ``entries.py`` makes them, or what lacks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from ipmcal.model.outfit.outfit import OWN, Event
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.labels import treatment_of
from ipmcal.model.rules.methods import Act
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.text import closest, quoted
from ipmcal.model.values.words import joined, short_day
from ipmcal.reading.entering.blanks import filled_in, frames_of_bees
from ipmcal.reading.entering.circled import circled_word, words_of, written_of
from ipmcal.reading.entering.entries import EntryError, Facts, Typed, entry, finding, left_in
from ipmcal.reading.entering.phrases import NOT_DONE, SAID_DONE, Heard, count_taken, counted_by, heard_of
from ipmcal.reading.entering.sheetlines import PrintedSheet, SheetLine, step_of, word_of
from ipmcal.reading.entering.speech import told_apart
from ipmcal.reading.journal.keys import said
from ipmcal.reading.journal.values import OTHER_WAYS

HOW = {
    "count": "what was counted, such as {n} 9/300",
    "treatment": "how much, of which lot and by whom, such as {n} done 2 lot K21 by AB",
    "trap_slot": "the slot in which it hangs now, such as {n} done 2",
    "colony": "the other colony, such as {n} done 5",
    "queen": "what is known of her, such as {n} done laying",
    "frames": "the number of frames, such as {n} done 6",
    "hive": "the hive and its boxes, such as {n} done langstroth_10 deep",
}
"""What a line has to be answered with, by the form of its value."""

HALF_A_YEAR = 183

_COUNT = re.compile(r"[0-9]{1,4}/[0-9]{1,4}h?")
_AMOUNT = re.compile(r"[0-9][0-9.,]*")
_MITES_IN = re.compile(r"(?<![\w/.,])([0-9]{1,4}) +(?:in +|of +)?([0-9]{1,4})(?![\w/.,])", re.I)


# What was said --------------------------------------------------------------------------------------------------------


def heard(sheet: PrintedSheet, book: Rulebook) -> list[Heard]:
    """What may be said of each line of a sheet."""
    return [heard_of(line.number, line.who, line.trap, step_of(line, book), book) for line in sheet.lines]


def said_of_lines(words: Sequence[str], sheet: PrintedSheet, book: Rulebook) -> list[tuple[int, str]]:
    """Words of the command line as line numbers with what is said of each; one that holds blanks is an entry by itself.

    Raises EntryError.
    """
    return told_apart(as_text(words), heard(sheet, book), book.events)


def as_text(words: Sequence[str]) -> str:
    """Words of the command line as one text; one that holds blanks is an entry by itself, unless it is all there is."""
    if len(words) == 1:
        return words[0]
    return " ".join(f"; {word.strip()} ;" if " " in word.strip() else word for word in words)


def one_a_line(text: str, sheet: PrintedSheet, book: Rulebook, only: int | None = None) -> list[tuple[int, str]]:
    """What a message says of a sheet's lines (of ``only`` one), each once; several things said of one are put together.

    Raises EntryError, also where a line is said to be done and not.
    """
    found: dict[int, str] = {}
    lines = [line for line in heard(sheet, book) if only in (None, line.number)]
    for number, what in told_apart(text, lines, book.events, letter=True):
        if number in found and (NOT_DONE in (what, found[number]) or _COUNT.search(what)):
            raise EntryError(f"line {number} stands in it twice; what was done in line {number}?")
        found[number] = f"{found[number]} {what}" if number in found else what
    return list(found.items())


def spoken(line: SheetLine, text: str, book: Rulebook) -> list[list[str]]:
    """What is said of a line, as words of journal lines. Raises EntryError."""
    found: list[list[str]] = []
    words = _with_counts(line, text, book).split()
    refused = False
    while words:
        taken, line_words = _circled(line, words, book)
        if not taken:
            taken, one = _first(line, words, book)
            refused = refused or one[0] == book.word("not_done")
            line_words = [one]
        found += [one for one in line_words if one not in found]
        words = words[taken:]
    _refuse_both(text, words_of(step_of(line, book), book))
    if line.look and found == [[word_of(line, book), line.trap]] and text.strip().lower() == SAID_DONE:
        _refuse_tick(line, book)
    heads = [one[0] for one in found]
    contradicted = line.method != OWN and step_of(line, book) is not None and word_of(line, book) in heads
    if book.word("not_done") in heads and (contradicted or (refused and len(found) > 1)):
        raise EntryError(f"'{NOT_DONE}' and something else are said of it; say one of the two")
    return found


def _refuse_tick(line: SheetLine, book: Rulebook) -> None:
    """'Done' of a line that is looked at first does not say what was done. Raises EntryError."""
    step = step_of(line, book)
    words = [f"'{line.number} {word.lower()}'" for word in (step.circle if step else ())]
    if words:
        raise EntryError(f"'{SAID_DONE}' does not say what was done after the look; write {joined(words, 'or')}")


def _refuse_both(text: str, printed: Sequence[str]) -> None:
    """A printed word and the same with NO before it are not both so. Raises EntryError."""
    said = text.upper()
    for word in printed:
        if f"NO {word}" in printed and f"NO {word}" in said and re.search(rf"(?<!NO )\b{re.escape(word)}\b", said):
            raise EntryError(f"'NO {word}' and '{word}' are said of it; which of the two is it?")


def _with_counts(line: SheetLine, text: str, book: Rulebook) -> str:
    """``3 in 300`` and ``3 300``, where a line asks for a count: mites of so many, as the journal writes it."""
    return _MITES_IN.sub(r"\1/\2", text, count=1) if counted_by(step_of(line, book), book) else text


def _circled(line: SheetLine, words: Sequence[str], book: Rulebook) -> tuple[int, list[list[str]]]:
    """How many of the words are one to be circled, with 'done' before it or without, and its lines; 0 for none."""
    step = step_of(line, book)
    before = 1 if words[0].lower() == SAID_DONE and len(words) > 1 else 0
    found = circled_word(step, words[before:], book, about_hive=not line.who.startswith("@"))
    named = {finding.circle for finding in book.findings.values()} if line.trap else set()
    if step is None or found is None or found.printed in named:
        return 0, []
    if before and not found.of_step:
        return 1, [_first(line, words[:1], book)[1]]
    skipped = [book.word("not_done"), *line.skipped.split()]
    return before + found.length, written_of(step, found, skipped, book, line.trap)


def _first(line: SheetLine, words: Sequence[str], book: Rulebook) -> tuple[int, list[str]]:
    """How many of the words the first thing that is said takes up, and the words of its journal line."""
    head = words[0].lower()
    if [word.lower() for word in words[:2]] == NOT_DONE.split():
        return 2, [book.word("not_done"), line.skipped]
    if head == book.word("not_done") and len(words) == 1:
        return 1, [head, line.skipped]
    if head == "trap" and len(words) > len(("trap", "T1")):
        taken, found_there = _first(replace(line, trap=words[1]), words[2:], book)
        return taken + 2, found_there
    if head == SAID_DONE and line.method != OWN:
        return _done(line, words, book)
    if head == SAID_DONE:
        return len(words), [book.word("does_own"), line.step, *words[1:]]
    if _COUNT.fullmatch(head):
        return _counted(line, words, book)
    for length in (2, 1) if line.trap else ():
        found = finding(" ".join(words[:length]), book) if len(words) >= length and head != "not" else ""
        if found:
            return length, [book.word("narrows_clock"), line.trap, found]
    if head in book.events:
        return len(words), [head, *_about(line, book.events[head], words[1:], book)]
    raise EntryError(_says_nothing(line, words[0], book))


def _says_nothing(line: SheetLine, word: str, book: Rulebook) -> str:
    """That a word says nothing of a line, what may have been meant, and the words of that line."""
    own = list(words_of(step_of(line, book), book))
    likely = ([SAID_DONE, NOT_DONE], [one.lower() for one in own], sorted(book.events))
    close = NOT_DONE if word.lower() == "not" else next(filter(None, (closest(word, one) for one in likely)), None)
    meant = f"did you mean '{close.upper() if close.upper() in own else close}'? " if close else ""
    count = count_taken(step_of(line, book), book)
    bees = f"'{word} frames of bees'" if count and word.isdigit() else ""
    says = ", ".join(filter(None, [f"'{SAID_DONE}'", f"'{NOT_DONE}'", *own, count, bees]))
    return f"{quoted(word)} says nothing of this line; {meant}it may be {says}, or a word of the journal"


def _done(line: SheetLine, words: Sequence[str], book: Rulebook) -> tuple[int, list[str]]:
    word = word_of(line, book)
    rule = book.events[word]
    if rule.value in ("none", "trap", "beginning") or (line.trap and len(words) > 1 and finding(words[1], book)):
        rest: Sequence[str] = ()
    else:
        rest = words[1:]
    _refuse_kind(line, rule, rest, book)
    taken = 1 + len(rest)
    if rule.value in ("trap_slot", "beginning") and not rest:
        rest = line.value.split()  # hung in the slot, or put in as what, the sheet has printed
    if rule.value in HOW and not rest:
        raise EntryError(f"'{SAID_DONE}' is not enough: write {HOW[rule.value].format(n=line.number)}")
    return taken, [word, *_about(line, rule, rest, book)]


def _refuse_kind(line: SheetLine, rule: EventRule, words: Sequence[str], book: Rulebook) -> None:
    """What would be a remark behind 'done', and is of another kind: a count, a word to circle, one of the journal.

    Raises EntryError.
    """
    if rule.value != "text" or not words:
        return
    head, such = words[0].lower(), f"such as '{line.number} {' '.join(words)}'"
    if _COUNT.fullmatch(head):
        raise EntryError(f"this line asks for no count; if one was made: '{line.number} count {words[0]}'")
    if head in book.events and head not in (SAID_DONE, word_of(line, book)):
        raise EntryError(f"{quoted(head)} is a word of the journal: say it by itself, {such}; or behind 'note'")
    for length in range(len(words), 0, -1):
        printed = " ".join(words[:length]).upper()
        if printed in book.circled or any(printed in (f.circle, f.title) for f in book.findings.values()):
            raise EntryError(_says_nothing(line, " ".join(words[:length]), book))


def _counted(line: SheetLine, words: Sequence[str], book: Rulebook) -> tuple[int, list[str]]:
    """A bare count, and the way of counting behind it."""
    word = counted_by(step_of(line, book), book)
    if not word:
        raise EntryError(f"this line asks for no count; if one was made: '{line.number} count {words[0]}'")
    way = [w.lower() for w in words[1:2] if w.lower() in (*book.counting.recovery, *OTHER_WAYS)]
    return 1 + len(way), [word, words[0], *way]


def _about(line: SheetLine, rule: EventRule, words: Sequence[str], book: Rulebook) -> list[str]:
    """The value's words, with the trap frame and the product that the line itself tells."""
    if rule.about == "trap" and line.trap and list(words[:1]) != [line.trap]:
        return [line.trap, *words]
    if rule.value == "treatment" and words and _AMOUNT.fullmatch(words[0]):
        return [treatment_of(line.method, book) or line.method, *words]
    return list(words)


def undone(facts: Facts, line: SheetLine, events: Sequence[Event]) -> str:
    """What findings alone do not say, in the words of the rules: that the comb was cut. It is not made up.

    "" where it is said, now or before, or that it was left; and where a finding asks for nothing.
    """
    step = step_of(line, facts.book)
    if step is None or not {Act.CLOSE, Act.LATE} & set(_acts(facts, line, events)):
        return ""
    if any(facts.book.effect(e.word) == "not_done" for e in events):
        return ""
    marks = {(e.day, e.colony, e.trap, e.word) for e in (*facts.journal, *events)}
    is_said = (events[0].day, events[0].colony, line.trap, step.logs) in marks
    return "" if is_said else facts.book.events[step.logs].title


def _acts(facts: Facts, line: SheetLine, events: Sequence[Event]) -> Iterator[Act]:
    """What the findings among the entries ask for."""
    method = facts.book.methods.get(line.method)
    for event in events:
        if method is not None and facts.book.effect(event.word) == "narrows_clock" and event.value in method.found:
            yield method.found[event.value].act


def contradicted(facts: Facts, line: SheetLine, events: Sequence[Event]) -> str:
    """The question to ask where what was found and what was done disagree: all open, and cut? "" where they agree."""
    step, acts = step_of(line, facts.book), set(_acts(facts, line, events))
    found = [facts.book.findings[e.value].title for e in events if facts.book.effect(e.word) == "narrows_clock"]
    if step is None or not found:
        return ""
    if Act.WAIT in acts and any(e.word == step.logs for e in events):
        return f"{found[0].lower()}, and {facts.book.events[step.logs].title}?"
    if {Act.CLOSE, Act.LATE} & acts and any(facts.book.effect(e.word) == "not_done" for e in events):
        return f"{found[0].lower()}, and left?"
    return ""


# Entries --------------------------------------------------------------------------------------------------------------


def line_entries(facts: Facts, sheet: PrintedSheet, number: int, text: str, day: int, note: str = "") -> list[Typed]:
    """What is said of one line of a sheet, as entries whose notes name the line. Raises EntryError."""
    line = sheet.line(number)
    step = step_of(line, facts.book)
    text, filled = filled_in(step, facts.book.events[step.logs] if step else None, text)
    text, frames = frames_of_bees(text, facts.book)
    words = [*(spoken(line, text, facts.book) if text else []), *([frames] if frames else [])]
    words = [*_swapped_out(facts, line, words, day), *words]
    found: list[Typed] = []
    note = "; ".join(part for part in (_tag(sheet, number), filled, note) if part)
    for one in words:
        made = entry(facts, line.who, one, day, note, sheet.yard)
        remarks = (*made.remarks, *_other_yard(sheet, made.event), *_before(facts, sheet, number, made.event))
        found.append(replace(made, line=number, remarks=remarks))
        facts = facts.after([made.event])
    asked = contradicted(facts, line, [one.event for one in found])
    if asked:
        more = f"{asked} If one of the two is wrong, take it back with '{facts.book.word('voids')}'"
        found[-1] = replace(found[-1], remarks=(*found[-1].remarks, more))
    left = undone(facts, line, [one.event for one in found])
    if left:
        such = step.circle[0].lower() if line.look and step is not None and step.circle else SAID_DONE
        more = f"'{left}' is not entered; if it was done, enter '{number} {such}' too"
        found[-1] = replace(found[-1], remarks=(*found[-1].remarks, more))
    return found


def without_ticks(entries: Sequence[Typed], book: Rulebook) -> list[Typed]:
    """Entries without those that a tick alone made where a word of the same line says more: both mean one thing."""
    told = {(one.line, one.event.word) for one in entries if one.event.value}
    plain = ("text", "none")
    return [
        one
        for one in entries
        if one.event.value or book.events[one.event.word].value not in plain or (one.line, one.event.word) not in told
    ]


def _swapped_out(facts: Facts, line: SheetLine, words: Sequence[Sequence[str]], day: int) -> Iterator[list[str]]:
    """At a step that swaps, what was put in before comes out with what goes in: all that is still in the hive."""
    step, out = step_of(line, facts.book), facts.book.word("strips_out")
    put_in = next((one for one in words if facts.book.events[one[0]].effect == "strips_in"), None)
    if not getattr(step, "swaps", False) or put_in is None or any(one[0] == out for one in words):
        return
    left = left_in(facts, line.who, put_in[1], day)
    if left > 0:
        by = put_in[put_in.index("by") :] if "by" in put_in else []
        yield [out, put_in[1], f"{float(left):g}", *by]


def _tag(sheet: PrintedSheet, number: int) -> str:
    return f"sheet {sheet.code} line {number}"


def entered(facts: Facts, sheet: PrintedSheet, number: int = 0) -> list[Event]:
    """The lines of the journal that were entered from a sheet, or from one line of it, as their notes say.

    A code comes back after a year or two: only lines within half a year of the sheet's day are meant.
    """
    tag = _tag(sheet, number) if number else f"sheet {sheet.code} line "
    end = r"(?:;|$)" if number else ""
    return [
        event
        for event in facts.journal
        if re.match(re.escape(tag) + end, event.note) and abs(event.day - sheet.day) <= HALF_A_YEAR
    ]


def _before(facts: Facts, sheet: PrintedSheet, number: int, event: Event) -> Iterator[str]:
    """The same line entered before with another answer: both are kept, and it is said how to take one back."""
    skipped, void = facts.book.word("not_done"), facts.book.word("voids")
    for old in (one for one in entered(facts, sheet, number) if one.place.line):  # what is said beside it has no line
        again = (old.day, said(old)) == (event.day, said(event))
        if not again and (old.word == event.word or skipped in (old.word, event.word)):
            who = old.colony or f"@{old.yard}"
            such = f"{who} {void} {said(old)} --on {date.fromordinal(old.day)}"
            yield (
                f"this line was entered before as '{said(old)}' on {short_day(old.day)} ({old.place}); both are "
                f"kept: take back the wrong one, such as with '{such}'"
            )


def _other_yard(sheet: PrintedSheet, event: Event) -> Iterator[str]:
    if event.yard != sheet.yard:
        yield f"on that day it stood in {event.yard}: entered there"
