"""The words that ``ipmcal log`` takes: of a sheet's lines, as they are printed there, and of the journal.

In: the rulebook, a sheet. Out: lines of text. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.entering.circled import words_of
from ipmcal.reading.entering.phrases import NOT_DONE, SAID_DONE, count_taken
from ipmcal.reading.entering.sheetlines import PrintedSheet, SheetLine, step_of

BEHIND = {
    "none": "",
    "text": "what there is to say, or nothing",
    "trap": "the trap's name",
    "trap_slot": "the trap's name, the slot",
    "trap_finding": "the trap's name, what was found",
    "count": "mites/bees, such as 9/300",
    "treatment": "product, how much, lot, by whom",
    "colony": "the other hive",
    "queen": "what is known of her",
    "frames": "how many frames",
    "yard": "the yard's key",
}
"""What stands behind a word of the journal, by the form of its value."""


def journal_words(book: Rulebook) -> Iterator[str]:
    """Every word of the journal: what it says, what stands behind it, an example; then what may be circled."""
    yield "Words of the journal, each behind a hive's key (or @YARD):"
    for word, rule in book.events.items():
        behind = BEHIND.get(rule.value, rule.value.replace("_", " "))
        example = " ".join(rule.example.split()[1:])
        yield f"  {word}: {rule.title}{f'; behind it {behind}' if behind else ''}. Such as: {example}"
    yield "Words to circle, each behind the number of a line that prints it:"
    for printed, one in book.circled.items():
        yield f"  {printed}: {one.then}"
    yield "Findings in a trap:"
    for finding in book.findings.values():
        yield f"  {finding.circle}: {finding.title.lower()}"


def sheet_words(sheet: PrintedSheet, book: Rulebook) -> Iterator[str]:
    """The words that each line of a sheet takes."""
    yield f"Sheet {sheet.code}, {sheet.yard}: each line takes"
    for line in sheet.lines:
        who = line.who.removeprefix("@") if line.who.startswith("@") else f"hive {line.who}"
        trap = f" {line.trap}" if line.trap else ""
        yield f"  {line.number}  {who}{trap}: {', '.join(_of_line(line, book))}"


def _of_line(line: SheetLine, book: Rulebook) -> Iterator[str]:
    step = step_of(line, book)
    rule = book.events[step.logs] if step is not None else None
    if rule is not None and rule.value == "count":
        yield count_taken(step, book)
    elif not line.look:
        yield f"'{SAID_DONE}'"
    yield f"'{NOT_DONE}'"
    yield from words_of(step, book)
    if step is not None and rule is not None:
        yield from (f"{label} ..." for label in (*step.blanks, *rule.blanks) if rule.value != "count")
        if rule.value != "count" and (count := count_taken(step, book)):
            yield count
