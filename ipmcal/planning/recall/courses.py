"""Courses: what a colony was treated with, from the lines that say what went in and what came out.

In: a colony's lines, the rulebook. Out: ``Course`` values, in the order in which they began. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.outfit.strips import TREATS, DoseRun, Naming, Strips, TakenTooMuch, strips_of
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.rules.rulebook import Rulebook


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


def renamed(event: Event, outfit: Outfit, book: Rulebook) -> Event:
    """A line about a treatment with the treatment's id in place of the keeper's own name; other lines as they are."""
    if book.events[event.word].effect not in TREATS:
        return event
    product, blank, rest = event.value.partition(" ")
    return replace(event, value=f"{outfit.treatment(product)}{blank}{rest}")


def courses(events: Iterable[Event], book: Rulebook) -> tuple[Course, ...]:
    """The courses that one colony's lines tell of."""
    return tuple(course for some in courses_of(strips_of(events, Naming(book))).values() for course in some)


def courses_of(strips: Strips) -> dict[str, tuple[Course, ...]]:
    """The courses of each colony, with what came with a hive that was united with it."""
    return {key: tuple(map(_course, runs)) for key, runs in strips.runs.items()}


def _course(run: DoseRun) -> Course:
    counted = [one for one in run.given if one.to_remove and not one.measured]
    put_in = sum((one.dose.amount for one in counted), Fraction(0))
    out = sum((part for one in counted for _, part in one.taken), Fraction(0))
    return Course(run.treatment, run.began, None if run.open else run.last, put_in, out, run.lines)


def miscounted(strips: Strips) -> dict[str, tuple[Because, ...]]:
    """By colony, the lines by which more was taken out of it than was in it."""
    found: dict[str, tuple[Because, ...]] = {}
    for one in strips.too_much:
        key = one.line.colony or ""
        found[key] = (*found.get(key, ()), _too_much_out(one))
    return found


def _too_much_out(one: TakenTooMuch) -> Because:
    place, amount, product, lines = str(one.line.place), float(one.dose.amount), one.dose.product, one.put_in
    if lines:
        inside = tuple(str(line.place) for line in lines)
        return Because(Code.MORE_OUT_THAN_IN, (place, amount, product, float(one.inside), inside))
    return Because(Code.OUT_AND_NEVER_IN, (place, amount, product, float(one.inside)))
