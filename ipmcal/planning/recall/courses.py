"""Courses: what a colony was treated with, from the lines that say what went in and what came out.

In: a colony's lines, the rulebook. Out: ``Course`` values, in the order in which they began. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.lines import DoseLine, dose_line
from ipmcal.model.values.words import MEASURED


@dataclass(frozen=True, slots=True)
class Course:
    """One use of a product in one colony. ``ended`` is None while anything of it is still in the hive.

    ``put_in`` and ``out`` count what has to come out again; where nothing has to, both are 0, and the course ends with
    its last application.
    """

    product: str
    began: int
    ended: int | None
    put_in: Fraction
    out: Fraction
    lines: tuple[Event, ...]

    @property
    def left(self) -> Fraction:
        """How many strips, trays or pads are still in the hive."""
        return self.put_in - self.out

    @property
    def assumed(self) -> bool:
        """True where nobody wrote that it was put in: an earlier plan printed it."""
        return self.lines[0].assumed

    @property
    def last(self) -> int:
        """The day on which it ended, or of its latest line."""
        return self.lines[-1].day if self.ended is None else self.ended


ColonyLines = Mapping[str, Sequence[Event]]
"""The lines about each colony, by its key."""
NOBODY: frozenset[str] = frozenset()
TREATS = ("treats", "strips_in", "strips_out")


def renamed(event: Event, outfit: Outfit, book: Rulebook) -> Event:
    """A line about a treatment with the treatment's id in place of the keeper's own name; other lines as they are."""
    if book.events[event.word].effect not in TREATS:
        return event
    product, blank, rest = event.value.partition(" ")
    return replace(event, value=f"{outfit.treatment(product)}{blank}{rest}")


def courses(events: Iterable[Event], book: Rulebook) -> tuple[Course, ...]:
    """The courses that lines tell of. Applications of one product within ``same_course`` are one course.

    What was put in and not written of for longer than ``course_over`` is taken for gone: what follows is a new course,
    but for what is taken out at last.
    What is taken out without having been put in is no course: see ``miscounted``.
    """
    gap, over = (value.value.middle for value in (book.planning.same_course, book.planning.course_over))
    found: list[Course] = []
    for event in sorted(events, key=lambda e: e.day):
        effect = book.events[event.word].effect
        if effect not in TREATS:
            continue
        dose = dose_line(event.value)
        i = next((i for i in reversed(range(len(found))) if found[i].product == dose.product), None)
        inside = i is not None and found[i].ended is None
        at_last = inside and effect == "strips_out"
        if i is not None and (at_last or event.day - found[i].last <= (over if inside else gap)):
            found[i] = _with(found[i], event, effect, dose)
        elif effect != "strips_out":
            counted = effect == "strips_in" and dose.unit not in MEASURED
            ended = event.day if effect == "treats" else None
            amount = dose.amount if counted else Fraction(0)
            found.append(Course(dose.product, event.day, ended, amount, Fraction(0), (event,)))
    return tuple(found)


def _with(course: Course, event: Event, effect: str, dose: DoseLine) -> Course:
    """A course with one more line. What went in by the mL or the gram is out with the first line that says so."""
    counted = dose.unit not in MEASURED
    put_in = course.put_in + (dose.amount if effect == "strips_in" and counted else 0)
    out = course.out + (dose.amount if effect == "strips_out" and counted else 0)
    gone = effect == "treats" if not course.put_in and effect != "strips_out" else out >= put_in
    return replace(course, put_in=put_in, out=out, ended=event.day if gone else None, lines=(*course.lines, event))


def miscounted(events: Iterable[Event], book: Rulebook) -> Iterator[Because]:
    """Lines by which more was taken out of a colony than had been put in; what is measured is not counted."""
    put_in: dict[str, list[tuple[Fraction, Event]]] = {}
    for event in sorted(events, key=lambda e: e.day):
        effect = book.events[event.word].effect
        if effect not in ("strips_in", "strips_out"):
            continue
        dose = dose_line(event.value)
        inside = put_in.setdefault(dose.product, [])
        if effect == "strips_in":
            inside.append((dose.amount, event))
            continue
        number = sum((amount for amount, _ in inside), Fraction(0))
        if dose.amount > number and not any(
            dose_line(e.value).unit in MEASURED for e in (event, *(e for _, e in inside))
        ):
            out, lines = str(event.place), tuple(str(e.place) for _, e in inside)
            if lines:
                yield Because(Code.MORE_OUT_THAN_IN, (out, float(dose.amount), dose.product, float(number), lines))
            else:
                yield Because(Code.OUT_AND_NEVER_IN, (out, float(dose.amount), dose.product, float(number)))
        put_in[dose.product] = [(number - dose.amount, inside[-1][1])] if number > dose.amount else []


def brought(colony: str, about: ColonyLines, book: Rulebook, day: int, seen: frozenset[str] = NOBODY) -> list[Event]:
    """The lines of what was still in hives when they were united with a colony: since then it is in this one.

    ``about`` has the lines of each colony, ``day`` is the last day that counts. What a hive that went had been brought
    itself goes along.
    """
    found: list[Event] = []
    for other, lines in about.items():
        gone = (e for e in lines if book.events[e.word].value == "colony" and e.value == colony and e.day <= day)
        end = next((e for e in gone if book.events[e.word].effect == "ends"), None)
        if end is None or other in seen or other == colony:
            continue
        own = [e for e in lines if e.day <= end.day]
        own += brought(other, about, book, end.day, seen | {colony})
        for course in courses(own, book):
            if course.ended is None:
                found.extend(replace(e, colony=colony) for e in course.lines)
    return found
