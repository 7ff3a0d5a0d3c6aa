"""In the hive: what has to be told of what lines say is in a hive: supers, a second set, too much of it.

In: a colony, its courses, the labels of the place. Out: causes. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.labels import applications, label_for, last_step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.lines import dose_line
from ipmcal.model.values.words import MEASURED, inside
from ipmcal.planning.labels.amounts import portion, size_on
from ipmcal.planning.labels.standing import supers_from, use_of
from ipmcal.planning.recall.courses import Course


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose labels hold, and the day of asking."""

    jurisdiction: str
    book: Rulebook
    as_of: int


def warnings(state: ColonyState, had: Sequence[Course], there: Asked) -> Iterator[Because]:
    """Everything that has to be told of what is in a hive; ``had`` are all of its courses."""
    open_ = [course for course in had if course.ended is None and course.began <= there.as_of]
    if state.supers:
        yield from _supers(had, there)
    for course in open_:
        yield from _second(state, course, there)
        yield from _others(course, open_, there)
    for course in had:
        yield from _too_much(state, course, there)


def _label(product: str, there: Asked) -> Label | None:
    treatment = there.book.treatments.get(product)
    return None if treatment is None else label_for(treatment, there.jurisdiction, there.book)


def _title(product: str, there: Asked) -> str:
    return inside(there.book.product(product))


def _supers(had: Sequence[Course], there: Asked) -> Iterator[Because]:
    """Supers on while something is in whose label wants them off, or before its wait is over."""
    for course in had:
        label = _label(course.product, there)
        if label is None:
            continue
        # what is still in comes out today at the soonest, and not before its label lets it
        last = max(_earliest(label, course.began, there), there.as_of) if course.ended is None else course.ended
        day = supers_from(label, last)
        if day is None or (course.ended is not None and day <= there.as_of):
            continue
        title = _title(course.product, there)
        if course.ended is not None:
            yield Because(Code.SUPERS_TOO_EARLY, (title, day))
        else:
            yield Because(Code.SUPERS_ARE_ON, (title, course.began, day))


def _earliest(label: Label, began: int, there: Asked) -> int:
    """The first day on which a course that began on a day may be over."""
    end = last_step(label, there.book)
    return next(step.opens for step in use_of(label, began, there.book).steps if step.step == end)


def _put_in(course: Course, there: Asked) -> list[Event]:
    return [e for e in course.lines if there.book.events[e.word].effect == "strips_in"]


def _second(state: ColonyState, course: Course, there: Asked) -> Iterator[Because]:
    """A set over a set: more put in than the label's applications, or brought by a hive that was united with it."""
    label, put_in = _label(course.product, there), _put_in(course, there)
    own = {id(event) for event in state.events}
    brought = [e for e in put_in if id(e) not in own]
    left, title = (float(course.left), _unit(label)), _title(course.product, there)
    if brought and course.left:
        yield Because(Code.UNITED_WITH, (title, tuple(dict.fromkeys(e.day for e in brought)), left))
    most = None if label is None else len(list(applications(label, there.book)))
    mine = [e for e in put_in if id(e) in own]
    if most is not None and len(mine) > most and course.left:
        yield Because(Code.SET_OVER_SET, (title, mine[-1].day, left))


def _unit(label: Label | None) -> str:
    unit = label.dose.amount.value.unit if label is not None and label.dose is not None else ""
    return "" if unit in MEASURED else unit


def _others(course: Course, open_: Sequence[Course], there: Asked) -> Iterator[Because]:
    """Two products at once, where a label wants nothing else in the hive."""
    label = _label(course.product, there)
    together = label.limits.together if label is not None else None
    for other in open_:
        if together is not None and together.value.value == "no" and other.product != course.product:
            yield Because(Code.TWO_AT_ONCE, (_title(other.product, there), _title(course.product, there)))


def _too_much(state: ColonyState, course: Course, there: Asked) -> Iterator[Because]:
    """More given at once than the label gives a colony of this size, as long as it is in."""
    label = _label(course.product, there)
    if label is None or label.dose is None or course.ended is not None:
        return
    own = {id(event) for event in state.events}
    for event in _put_in(course, there):
        dose, size = dose_line(event.value), size_on(state, event.day, there.book.biology)
        given = portion(label.dose, size).amount
        if id(event) in own and given is not None and not dose.unit and dose.amount > given.high:
            unit = label.dose.amount.value.unit
            got, most = (float(dose.amount), unit), (float(given.high), unit)
            yield Because(
                Code.TOO_MUCH_FOR_NUCLEUS if size.nucleus else Code.TOO_MUCH,
                (got, _title(course.product, there), event.day, most),
            )
