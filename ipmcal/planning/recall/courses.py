"""Courses: what a colony was treated with, from the lines that say what went in and what came out.

In: a colony's lines, the rulebook. Out: ``Course`` values, in the order in which they began. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.lines import Dose, dose_of
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
    def last(self) -> int:
        """The day on which it ended, or of its latest line."""
        return self.lines[-1].day if self.ended is None else self.ended


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
    What is taken out without having been put in is no course: see ``contradictions``.
    """
    gap, over = (value.value.middle for value in (book.planning.same_course, book.planning.course_over))
    found: list[Course] = []
    for event in sorted(events, key=lambda e: e.day):
        effect = book.events[event.word].effect
        if effect not in TREATS:
            continue
        dose = dose_of(event.value)
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


def _with(course: Course, event: Event, effect: str, dose: Dose) -> Course:
    """A course with one more line. What went in by the mL or the gram is out with the first line that says so."""
    counted = dose.unit not in MEASURED
    put_in = course.put_in + (dose.amount if effect == "strips_in" and counted else 0)
    out = course.out + (dose.amount if effect == "strips_out" and counted else 0)
    gone = effect == "treats" if not course.put_in and effect != "strips_out" else out >= put_in
    return replace(course, put_in=put_in, out=out, ended=event.day if gone else None, lines=(*course.lines, event))


def contradictions(events: Iterable[Event], book: Rulebook) -> Iterator[str]:
    """Lines by which more was taken out of a colony than had been put in; what is measured is not counted."""
    put_in: dict[str, list[tuple[Fraction, Event]]] = {}
    for event in sorted(events, key=lambda e: e.day):
        effect = book.events[event.word].effect
        if effect not in ("strips_in", "strips_out"):
            continue
        dose = dose_of(event.value)
        inside = put_in.setdefault(dose.product, [])
        if effect == "strips_in":
            inside.append((dose.amount, event))
            continue
        number = sum((amount for amount, _ in inside), Fraction(0))
        if dose.amount > number and not any(
            dose_of(e.value).unit in MEASURED for e in (event, *(e for _, e in inside))
        ):
            lines = f" ({', '.join(str(e.place) for _, e in inside)})" if inside else ""
            yield (
                f"{event.place}: {float(dose.amount):g} of {dose.product} taken out, and only {float(number):g} "
                f"had been put in{lines}"
            )
        put_in[dose.product] = [(number - dose.amount, inside[-1][1])] if number > dose.amount else []
