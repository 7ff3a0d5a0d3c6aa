"""What journal lines refer to: lines that were taken back, colonies that lines made, trap frames.

In: lines, each read by itself. Out: the lines that stand, and complaints about what a line refers to that is not there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.outfit.yardfile import ColonyFile
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.model.values.lines import hived_of
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.journal.values import Keys, check_trap, other_of, value_text
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.shape import field_problem

MAKES = ("made", "begins")
"""Effects of lines that may bring a colony into being."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """An event as it stands in the file, with the columns of its colony and its value, and the effect of its word."""

    event: Event
    colony_column: int
    value_column: int
    effect: str

    def complaint(self, column: int, what: str) -> Complaint:
        """A complaint about one of its cells."""
        place = Place(self.event.place.file, self.event.place.line, column)
        return Complaint.at(place, what)


# Lines that take others back ------------------------------------------------------------------------------------------


def said(event: Event) -> str:
    """A line as another names it to take it back: its event and its value, blanks as one."""
    return " ".join(f"{event.word} {value_text(event)}".split())


def standing(lines: Sequence[Numbered]) -> tuple[list[Numbered], list[Complaint]]:
    """The lines that were not taken back, without those that took one back; and those that found nothing to take back.

    A line takes back the last earlier one of the same day, yard and colony that says this and still stands.
    """
    stands = [True] * len(lines)
    target: dict[int, int] = {}
    complaints = []
    found: dict[tuple[int, str, str | None, str], list[int]] = {}
    for i, line in enumerate(lines):
        event = line.event
        if line.effect == "voids":
            here = found.get((event.day, event.yard, event.colony, " ".join(event.value.split())), [])
            last = next((k for k in reversed(here) if stands[k]), None)
            if last is None:
                complaints.append(line.complaint(line.value_column, f"value: {_nothing_to_void(event)}"))
            else:
                target[i] = last
                _turn(last, stands, target)
        found.setdefault((event.day, event.yard, event.colony, said(event)), []).append(i)
    left = [line for i, line in enumerate(lines) if stands[i] and line.effect != "voids"]
    return left, complaints


def _turn(i: int, stands: list[bool], target: Mapping[int, int]) -> None:
    """Takes a line back, or puts it back; with a line that takes back, what that one took back turns too."""
    stands[i] = not stands[i]
    if i in target:
        _turn(target[i], stands, target)


def _nothing_to_void(event: Event) -> str:
    what = f"no earlier line of that day, yard and colony that still stands says {quoted(event.value)}"
    return f"{what}; write its event and its value as they stand there"


# Colonies and trap frames ---------------------------------------------------------------------------------------------


def made_by(lines: Sequence[Event], keys: Keys, book: Rulebook) -> dict[str, Event]:
    """The colonies that no yard file has, each with the first line that made it."""
    known = keys.colonies()
    made: dict[str, Event] = {}
    for event in sorted(lines, key=lambda e: e.day):
        if event.colony is not None and event.colony not in known and book.events[event.word].effect in MAKES:
            made.setdefault(event.colony, event)
    return made


def key_complaints(
    lines: Sequence[Numbered], keys: Keys, book: Rulebook, doubtful: Collection[str] = ()
) -> list[Complaint]:
    """What lines refer to and is not there, or not yet there. Nothing is looked up where the keys are not known.

    Colonies that are ``doubtful``, since a line about them can't be read, may have been made by that line.
    """
    if keys.yards is None:
        return []
    events = [line.event for line in lines]
    made = made_by(events, keys, book)
    slots = slots_of(events, keys, book)
    known = keys.colonies()
    sure = [line for line in lines if line.event.colony not in doubtful or line.event.colony in known]
    return [complaint for line in sure for complaint in _line(line, known, made, slots, book)]


def _line(
    line: Numbered,
    known: Collection[str],
    made: Mapping[str, Event],
    slots: Mapping[str, Mapping[str, int]],
    book: Rulebook,
) -> Iterator[Complaint]:
    event = line.event
    if event.colony is None:
        return
    problem = key_problem(event.colony, event.day, known, made)
    if not problem and event.colony in made and made[event.colony].place == event.place:
        problem = field_problem(ColonyFile, "key", event.colony)
    if problem:
        yield line.complaint(line.colony_column, f"colony: {problem}")
        return
    other = other_of(event, book)
    problem = key_problem(other, event.day, known, made) if other else ""
    if other and other == event.colony:
        problem = f"{quoted(other)} is the colony itself; write the other one"
    if not problem:
        try:
            check_trap(event, slots.get(event.colony, {}), book)
        except ValueError as error:
            problem = str(error)
    if problem:
        yield line.complaint(line.value_column, f"value: {problem}")


def key_problem(colony: str, day: int, known: Collection[str], made: Mapping[str, Event]) -> str:
    """What is wrong with a colony's key on a day: there is no such colony, or it was made later; else "".

    ``known`` are the colonies of the yard files, ``made`` those that lines made.
    """
    if colony in known:
        return ""
    if colony not in made:
        return f"there is no colony {quoted(colony)}{nearest(colony, sorted({*known, *made}))}"
    first = made[colony]
    if first.day <= day:
        return ""
    began = date.fromordinal(first.day).isoformat()
    where = f", line {first.place.line}" if first.place.line else ""
    return f"{quoted(colony)} was made on {began} ('{first.word}'{where}), after this day; mend one of the two dates"


def slots_of(events: Sequence[Event], keys: Keys, book: Rulebook) -> dict[str, Mapping[str, int]]:
    """Trap frames of every colony with their widest box; one that came into a wider hive has that one's slots too."""
    slots = keys.colonies()
    for event in events:
        if book.events[event.word].effect == "rehives" and event.colony in slots:
            hive = book.hives.hives.get(hived_of(event.value, "hive").hive)
            wide = int(hive.frames) if hive else 0
            slots[event.colony] = {trap: max(most, wide) for trap, most in slots[event.colony].items()}
    return slots
