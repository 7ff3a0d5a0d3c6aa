"""Given: what a colony gets in a season, written or planned, as the model of mites takes it.

In: a colony's state, its courses so far, its tasks. Out: courses, trap combs, a history. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ipmcal.biology.mites.colony import Founded, History, Leaving
from ipmcal.biology.mites.figures import Beginnings
from ipmcal.biology.mites.handling import MiteCourse, Trap
from ipmcal.biology.mites.histories import nucleus, package, swarm
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.labels import efficacy_of, label_for, treatment_of
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.choose.known import brood_spells
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.mites.asking.given import TURNS
from ipmcal.planning.mites.living.courses import model_courses
from ipmcal.planning.mites.walls import is_quick, worked_by
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.recall.broodless import Break, breaks_of
from ipmcal.planning.recall.courses import Course

GIVES = ("treats", "strips_in")
LAYING = ("stops_laying", "starts_laying")
HANGS, TAKES = ("hangs_trap", "empties_trap"), ("empties_trap", "takes_trap_out")


@dataclass(frozen=True, slots=True)
class GivenCourse:
    """A course of a product on its days; ``planned``: none of it is given yet."""

    product: str
    use: Use
    planned: bool


@dataclass(frozen=True)
class ColonyWork:
    """A colony, what it was treated with, and its tasks of a season that are planned."""

    ground: Ground
    state: ColonyState
    courses: Sequence[Course]
    tasks: Sequence[Task]

    @property
    def book(self) -> Rulebook:
        """The rules."""
        return self.ground.book

    def planned_lines(self, *effects: str) -> list[Event]:
        """Planned tasks of some effects as lines of their days."""
        ground, key = self.ground, self.state.colony.key
        return [
            Event(task.planned, ground.yard.key, key, task.logs, task.trap, task.value)
            for task in self.tasks
            if task.planned is not None and self.book.effect(task.logs) in effects
        ]


# Courses --------------------------------------------------------------------------------------------------------------


def courses_given(work: ColonyWork) -> tuple[GivenCourse, ...]:
    """The courses of a colony in the order of their days: those that were, what is planned of them, those to come."""
    found: list[GivenCourse] = []
    planned = _by_course(work)
    for course in work.courses:
        key = next((key for key, some in planned.items() if _goes_on(work, course, some)), None)
        more = planned.pop(key, ()) if key is not None else ()
        days = [line.day for line in course.lines if work.book.effect(line.word) in GIVES]
        if days and course.product in work.book.treatments:
            use = _use(work, course.product, [*days, *_given_on(work, more)], course.ended, more)
            found.append(GivenCourse(course.product, use, False))
    for some in planned.values():
        days, product = _given_on(work, some), treatment_of(some[0].method, work.book)
        if days:
            found.append(GivenCourse(product, _use(work, product, days, None, some), True))
    return tuple(sorted(found, key=lambda one: (one.use.first, one.product)))


def _given_on(work: ColonyWork, tasks: Sequence[Task]) -> list[int]:
    """The days on which something is to be given."""
    return [task.planned for task in tasks if task.planned is not None and work.book.effect(task.logs) in GIVES]


def _by_course(work: ColonyWork) -> dict[tuple[str, int], list[Task]]:
    found: dict[tuple[str, int], list[Task]] = {}
    for task in sorted(work.tasks, key=lambda task: task.planned or 0):
        if task.planned is not None and treatment_of(task.method, work.book):
            found.setdefault((task.method, task.season), []).append(task)
    return found


def _goes_on(work: ColonyWork, course: Course, tasks: Sequence[Task]) -> bool:
    """Whether planned tasks are the rest of a course that has begun: of its product, but not its first step."""
    product = treatment_of(tasks[0].method, work.book)
    label = label_for(work.book.treatments[product], work.ground.yard.jurisdiction, work.book)
    begun = label is not None and all(task.step != next(iter(label.steps)) for task in tasks)
    latest = max(one.began for one in work.courses if one.product == course.product)
    return begun and product == course.product and course.began == latest


def _use(work: ColonyWork, product: str, days: Sequence[int], ended: int | None, tasks: Sequence[Task]) -> Use:
    """The days of a course: as written and planned, and where nothing is, as its label usually has them."""
    out = [t.planned for t in tasks if t.planned is not None and work.book.effect(t.logs) == "strips_out"]
    last = ended if ended is not None else max(out, default=None)
    label = label_for(work.book.treatments[product], work.ground.yard.jurisdiction, work.book)
    if last is None:
        last = max(days) if label is None else use_of(label, min(days), work.book).last
    return Use(tuple(sorted(days)), max(last, *days))


def in_model(work: ColonyWork, one: GivenCourse) -> tuple[MiteCourse, ...]:
    """A course as the model takes it: its label's efficacy, or else the substance's."""
    book, yard = work.book, work.ground.yard
    treatment = book.treatments[one.product]
    label = label_for(treatment, yard.jurisdiction, book)
    efficacy = treatment.common.efficacy if label is None else efficacy_of(treatment, label)
    damp = book.regions[yard.region].base.damp_autumns.value == "yes"
    broodless = is_quick(treatment, one.use, book) or _no_brood(work, one.use)
    return model_courses(efficacy, one.use, _luck(work, one), damp=damp, broodless=broodless)


def acts_until(work: ColonyWork, one: GivenCourse) -> int:
    """The last day on which a course acts."""
    treatment = work.book.treatments[one.product]
    label = label_for(treatment, work.ground.yard.jurisdiction, work.book)
    return one.use.last if label is None else worked_by(treatment, label, one.use)


def _luck(work: ColonyWork, one: GivenCourse) -> int:
    """Which quantile of a draw its efficacy takes: by product, but for synthetic ones by its time of year too."""
    place, book = list(work.book.treatments).index(one.product), work.book
    if book.treatments[one.product].class_ in book.planning.year_plans.walls.synthetic:
        return place
    return place + 3 * ((one.use.first - work.ground.season.first) % YEAR_DAYS * TURNS // YEAR_DAYS)


def _no_brood(work: ColonyWork, use: Use) -> bool:
    """Whether it is known that nothing is capped in all of a course."""
    season = work.ground.season
    spells = [s for s in brood_spells(work.state, season, work.book, winters=False) if s.state == "none"]
    return any(s.first <= use.first and (s.last is None or use.last <= s.last) for s in spells)


# Trap combs -----------------------------------------------------------------------------------------------------------


def traps_given(work: ColonyWork) -> tuple[Trap, ...]:
    """The trap combs of a colony's season: laid in once they are built, cut on the days written and planned."""
    season = work.ground.season
    drones = season.marks["drone_rearing_start"].begins.usual
    lines = [e for e in (*work.state.events, *work.planned_lines(*HANGS, *TAKES)) if e.trap is not None]
    found: list[Trap] = []
    for name, trap in work.state.traps.items():
        built, laid = built_again(work.book, trap.frame.kind), None
        for line in sorted((e for e in lines if e.trap == name and e.day >= season.first), key=lambda e: e.day):
            effect = work.book.effect(line.word)
            if laid is not None and effect in TAKES and line.day > laid:
                found.append(Trap(laid, line.day))
            if effect in (*HANGS, *TAKES):
                laid = max(line.day + built, drones) if effect in HANGS else None
    return tuple(sorted(found, key=lambda trap: (trap.cut or 0, trap.laid)))


def built_again(book: Rulebook, kind: str) -> int:
    """Days until there are eggs in a trap comb that was hung or cut, by the clock of a method for such frames."""
    for method in book.methods.values():
        if method.per == "trap_frame" and method.needs.traps is not None and kind in method.needs.traps.is_:
            lags = [day.lag for days in method.clock.values() for day in days if day.anchor in book.groups]
            usual = [lag.value.usual for lag in lags if lag is not None]
            if usual:
                return usual[0]
    return 0


# History --------------------------------------------------------------------------------------------------------------


def history_given(work: ColonyWork, sizes: Beginnings) -> History:
    """What happened, and is planned, to a colony as its brood knows it.

    A split takes bees and mites alike, so that it changes no load; what leaves with a swarm is bees without brood.
    """
    state, book, season = work.state, work.book, work.ground.season
    own = [*(e for e in state.events if e.trap is None), *work.planned_lines(*LAYING)]
    found = breaks_of(state.colony, state.kind, own, book, state.rests)
    began = _founded(state, found, sizes) if state.kind != "overwintered" else None
    pauses = tuple(
        (one.since, max(_eggs(one, work.ground.as_of, book), one.since + 1))
        for one in found
        if not one.rests and not (began is not None and one.since <= began.day) and one.since >= season.first
    )
    left = tuple(Leaving(e.day, sizes.swarm_takes, 0.0) for e in own if _swarms(book, e) and e.day >= season.first)
    return History(began, pauses, left)


def _eggs(one: Break, as_of: int, book: Rulebook) -> int:
    if one.eggs is not None:
        return one.eggs.span.usual
    open_break = int(book.planning.open_break.value.middle)  # caged, and no release is planned
    return max(one.since, as_of) + open_break + book.biology.queen["lays_after_release"].value.usual


def _founded(state: ColonyState, found: Sequence[Break], sizes: Beginnings) -> Founded:
    began = state.colony.began
    eggs = next((one.eggs.span.usual for one in found if one.since <= began and one.eggs is not None), began)
    if state.kind in ("package", "swarm"):
        made = (package if state.kind == "package" else swarm)(began, eggs, sizes).began
    else:
        made = nucleus(began, sizes).began
    assert made is not None
    return Founded(made.day, made.bees, made.brood, max(made.lays, eggs))


def _swarms(book: Rulebook, event: Event) -> bool:
    """Whether a line tells that a swarm left: laying comes back from cells that were capped by then."""
    return book.events[event.word].laying_again == "capped_cells"


def tasks_by_colony(tasks: Sequence[Task], yard: str, days: tuple[int, int]) -> Mapping[str, list[Task]]:
    """The tasks of a yard that are planned from one day to another, by colony, whichever season's they are."""
    found: dict[str, list[Task]] = {}
    for task in tasks:
        here = task.yard == yard and task.planned is not None and days[0] <= task.planned <= days[1]
        if here and task.colony is not None:
            found.setdefault(task.colony, []).append(task)
    return found
