"""Lying: what is in the hives, written or planned, from when to when; and what that means for other work there.

In: a yard's errands and placed tasks, its courses so far. Out: ``Lying`` values, notes for tasks. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.altered import altered
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.views import Lying
from ipmcal.model.rules.labels import applications, removals
from ipmcal.model.values.words import MEASURED, with_unit
from ipmcal.planning.labels.amounts import amount_words, portion
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground, Prescribed
from ipmcal.planning.owed.prescribed import prescribed, use_on
from ipmcal.planning.recall.courses import Course
from ipmcal.planning.settle.visits import Placed
from ipmcal.planning.unfold.quiet import ShutDays, kept_shut, nest_days


@dataclass(frozen=True, slots=True)
class Kept:
    """A course of a hive on its days: what it has there and when, and on which days other work should not be done."""

    lying: tuple[Lying, ...]
    known: Prescribed
    given: tuple[int, ...]
    out: int | None

    @property
    def name(self) -> str:
        """The product in the middle of a sentence."""
        return f"{self.known.treatment.title[:1].lower()}{self.known.treatment.title[1:]}"


def kept(ground: Ground, placed: Sequence[Placed], errands: Sequence[Errand], had: Courses) -> dict[str, list[Kept]]:
    """The courses under way and to come, by colony."""
    tasks: dict[str, list[Task]] = {}
    for one in placed:
        tasks.setdefault(one.errand.key, []).append(one.task)
    found: dict[str, list[Kept]] = {}
    for errand in errands:
        known = prescribed(ground, errand.course, {}) if errand.course else None
        if known is not None and errand.colony is not None:
            key = errand.colony.colony.key
            course = _kept(ground, errand, known, tasks.get(errand.key, ()), had.get(key, ()))
            found.setdefault(key, []).append(course)
    return found


Courses = Mapping[str, Sequence[Course]]
"""What each colony was treated with, by its key."""
NO_COURSES: Courses = {}


def _kept(ground: Ground, errand: Errand, known: Prescribed, tasks: Sequence[Task], had: Sequence[Course]) -> Kept:
    steps = list(known.label.steps)
    days = {name: known_day.day for name, known_day in errand.cursor.facts.items() if name in known.label.steps}
    days |= {task.step: task.planned for task in tasks if task.planned is not None}
    outs = [task for task in tasks if task.step in set(removals(known.label, ground.book)) and task.planned is not None]
    given = [step for step in applications(known.label, ground.book) if step in days]
    put_in = [s for s in given if ground.book.events[known.label.steps[s].logs].effect == "strips_in"]
    rows: list[Lying] = []
    open_ = [course for course in had if course.ended is None and course.product == known.name]
    begun = [step for step in put_in if step in errand.cursor.facts]
    for step in (*(begun[-1:] if open_ else ()), *(step for step in put_in if step not in begun)):
        later = [task for task in outs if steps.index(task.step) > steps.index(step)]
        swaps = [s for s in put_in if steps.index(s) > steps.index(step) and known.label.steps[s].swaps]
        last = next((task for task in later), None)
        out, by = (None, None) if last is None else (last.planned, last.window.hard_stop)
        if swaps and days[swaps[0]] > days[step]:
            out, by = days[swaps[0]], None
        rows.append(
            Lying(
                yard=ground.yard.key,
                colony=errand.colony.colony.key if errand.colony else "",
                title=known.treatment.title,
                number=_number(ground, errand, known, step, days[step], step in begun),
                since=open_[-1].began if step in begun and not known.label.steps[step].swaps else days[step],
                out=out,
                by=by,
                assumed=step in begun and open_[-1].assumed,
            )
        )
    return Kept(
        tuple(rows), known, tuple(sorted(days[s] for s in given)), max((t.planned or 0 for t in outs), default=None)
    )


def _number(ground: Ground, errand: Errand, known: Prescribed, step: str, day: int, begun: bool) -> str:
    """How much lies there, in words: what is left by the lines, or what the label gives."""
    assert known.label.dose is not None  # checked at load
    unit = known.label.dose.amount.value.unit
    if begun:
        return with_unit(errand.left, unit) if errand.left and unit not in MEASURED else ""
    use = use_on(ground, errand, step, day)
    amount = None if use is None else portion(known.label.dose, use.size).amount
    return "" if amount is None else amount_words(amount, unit)


def unlabelled(ground: Ground, had: Courses, found: Mapping[str, Sequence[Kept]]) -> Iterator[Lying]:
    """What lies in hives of which no label here is known: nothing says when it comes out."""
    for key, some in had.items():
        for course in some:
            mine = (one.known.name for one in found.get(key, ()))
            if course.ended is None and course.product not in mine:
                title = ground.book.product(course.product)
                number = f"{float(course.left):g}" if course.left > 0 else ""
                yield Lying(ground.yard.key, key, title, number, course.began, None, None, course.assumed)


# What it means for the work of a day ----------------------------------------------------------------------------------


def minded(ground: Ground, placed: Iterable[Placed], found: Mapping[str, Sequence[Kept]]) -> list[Placed]:
    """The tasks, each with what has to be said of what lies in its hive on that day."""
    shut = {id(k): _shut_by(k) for some in found.values() for k in some}  # once for all tasks of a hive
    made = []
    for one in placed:
        some = [k for k in found.get(one.task.colony or "", ()) if k.known.name != one.errand.course]
        ahead = one.day >= ground.as_of
        notes = causes_words(note for k in some if ahead for note in _notes(ground, one, k, shut[id(k)]))
        made.append(altered(one, task=altered(one.task, notes=(*notes, *one.task.notes))) if notes else one)
    return made


def _shut_by(course: Kept) -> tuple[ShutDays, ShutDays]:
    """The days on which a course wants its hive left shut, and those on which it wants its nest left alone."""
    return kept_shut(course.known, course.given), nest_days(course.known, course.given, course.out)


def _notes(ground: Ground, one: Placed, course: Kept, shut: tuple[ShutDays, ShutDays]) -> Iterator[Because]:
    quiet, nest = shut
    if one.day in quiet:
        yield Because(Code.QUIET_DAY, (course.name, quiet[one.day]))
    feeds, limit = one.task.logs in ground.book.planning.feeding, course.known.label.limits.feeding
    if feeds and one.day == course.out and limit is not None and limit.during.value == "no":
        yield Because(Code.TAKE_OUT_FIRST, (course.name,))
    if one.task.logs not in ground.book.planning.nest_work:
        return
    handled = one.day in course.given or one.day == course.out  # the order of a visit's tasks says which comes first
    if not handled and one.day in nest and any(lying.on(one.day) for lying in course.lying):
        yield Because(Code.LIFT_OFF_FIRST, (course.name,))
