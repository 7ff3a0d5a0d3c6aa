"""Deciding: what the last count before a course decides about it, as a beginner can follow it.

In: a yard's placed tasks. Out: the same, with the line of such a count made whole. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.altered import altered
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import causes_words
from ipmcal.planning.decide.tally import AnnouncedLine, announced_words, in_doubt
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.settle.visits import Placed


def told_by_counts(ground: Ground, placed: Sequence[Placed]) -> list[Placed]:
    """The placed tasks; the last count of bees before a course that a count may excuse says what it decides.

    Silence excuses nothing: what is not counted is treated.
    """
    counts = {one.day for one in placed if _is_wash(ground, one)}
    begins = _begins(placed)
    last = {day: max((count for count in counts if count <= day), default=None) for day in begins.values()}
    found = []
    for one in placed:
        day = begins.get(one.task.colony or "")
        decides = day is not None and _is_wash(ground, one) and one.day == last[day]
        found.append(_decided(ground, one, day) if decides and day is not None else one)
    return found


def _is_wash(ground: Ground, one: Placed) -> bool:
    return one.day >= ground.as_of and one.task.logs in ground.book.washes


def _begins(placed: Sequence[Placed]) -> dict[str, int]:
    """By colony: the first day of its next course that stands until a count excuses it."""
    found: dict[str, int] = {}
    for one in placed:
        if one.errand.till_counted and one.task.colony is not None:
            found[one.task.colony] = min(found.get(one.task.colony, one.day), one.day)
    return found


def _decided(ground: Ground, one: Placed, begins: int) -> Placed:
    """A count with what it decides in the place of its line."""
    line = None if one.errand.colony is None else ground.line_on(one.day, one.errand.colony.kind)
    if line is None:
        return one
    plain, told = announced_words(line), " ".join(causes_words(_causes(ground, one.day, line, begins)))
    notes, how = (tuple(told if note == plain else note for note in some) for some in (one.task.notes, one.task.how))
    return altered(one, task=altered(one.task, notes=notes, how=how))


def _causes(ground: Ground, day: int, line: AnnouncedLine, begins: int) -> Iterator[Because]:
    yield Because(Code.OVER_TREAT, (line.treat, line.size))
    if line.watch:
        yield _between(ground, day, line, begins)
    if day == begins:
        yield from (Because(Code.FEWER_MAY_WAIT), Because(Code.NOT_COUNTED_TODAY))
    else:
        yield Because(Code.FEWER_PLAN_ANEW, (begins,))
        yield Because(Code.NOT_COUNTED, (begins,))
    yield from in_doubt(line)


def _between(ground: Ground, day: int, line: AnnouncedLine, begins: int) -> Because:
    """What to do in the band to watch: between midsummer and winter bees there is no time to lose."""
    watched, rhythm = ground.book.planning.watched, ground.book.planning.year_plans.counts
    mark = ground.stick_on(day).season.marks["winter_bee_rearing_start"].begins.usual
    hurry = mark - int(rhythm.late_from.value.middle) <= day < mark
    again = day + int((watched.late if hurry else watched.soon).value.middle)
    if again >= begins:
        return Because(Code.BETWEEN_TREAT, (line.watch, line.treat - 1))
    return Because(Code.BETWEEN_CHOOSE if hurry else Code.BETWEEN_COUNT, (line.watch, line.treat - 1, again))
