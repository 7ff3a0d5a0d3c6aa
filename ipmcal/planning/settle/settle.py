"""Settle: placed steps become tasks and visits, with their windows, reasons and conflicts. Made once.

In: a yard's errands, and the days on which packing placed them. Out: tasks, visits, conflicts. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.altered import altered
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.reasons import Window
from ipmcal.model.plan.strand import Stop
from ipmcal.model.plan.tasks import Answer, Status, Task, Visit
from ipmcal.model.plan.views import Lying
from ipmcal.planning.days.chain import Made, replay
from ipmcal.planning.days.frame import opening_at
from ipmcal.planning.labels.amounts import Application
from ipmcal.planning.owed.alike import Likeness, of_trap, of_words
from ipmcal.planning.owed.cursors import DoneStep
from ipmcal.planning.owed.errand import Errand, one_with, subject, task_id
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Path
from ipmcal.planning.owed.prescribed import use_on
from ipmcal.planning.settle import conflicts
from ipmcal.planning.settle.answers import answers
from ipmcal.planning.settle.beside import with_blanks
from ipmcal.planning.settle.deciding import told_by_counts
from ipmcal.planning.settle.lying import NO_COURSES, Courses, kept, minded, unlabelled
from ipmcal.planning.settle.tasked import circled_once, tasked
from ipmcal.planning.settle.visits import Placed, rain_dates, visits


@dataclass(frozen=True, slots=True)
class Settled:
    """A yard's part of the plan; ``uses`` are the applications to come, each with its season, ``lying`` what is in the
    hives, or will be; ``waiting`` what comes late since a hive stays shut: method, day and cause, with the hives.
    """

    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    uses: tuple[tuple[int, Application], ...] = ()
    lying: tuple[Lying, ...] = ()
    waiting: Mapping[tuple[str, int, Because], list[str]] = field(default_factory=dict)

    def of_season(self, year: int) -> list[Application]:
        """The applications to come of one season."""
        return [use for season, use in self.uses if season == year]


def settle(
    ground: Ground,
    errands: Sequence[Errand],
    paths: Mapping[str, Sequence[int]],
    overlong: Collection[int] = (),
    packed: Mapping[str, Sequence[int]] | None = None,
    had: Courses = NO_COURSES,
) -> Settled:
    """Everything of a yard that depends on the days that packing chose; ``overlong`` days take more than the hours.

    ``errands`` may be of two seasons: visits serve both. What ``ground`` says of its season is not asked here.
    ``packed`` are the paths before the keeper's hours moved any (None: as ``paths``). ``had`` is what each colony was
    treated with.
    """
    work = _Work(ground)
    placed, told, waiting = _stories(work, errands, paths, packed or paths)
    found = kept(ground, placed, errands, had)
    lying = (
        *(one for some in found.values() for course in some for one in course.lying),
        *unlabelled(ground, had, found),
    )
    placed = told_by_counts(ground, with_blanks(ground, minded(ground, placed, found)))
    made_visits = visits(ground, placed, lying)
    tasks = [*(one.task for one in placed), *(task for errand in errands for task in work.over(errand))]
    for errand in errands:
        if errand.stuck:
            at = opening_at(errand.frame, errand.cursor)
            assert at is not None  # it was owed because of its window
            tasks.append(_undated(ground, errand, DoneStep(errand.cursor, at, Status.IMPOSSIBLE)))
            told.append(conflicts.stuck(ground, errand, tasks[-1]))
    told.extend(conflicts.overlong(ground, visit) for visit in made_visits if visit.day in overlong)
    told.extend(conflicts.contradictions(ground, errands))
    given = (one for one in placed if one.errand.course and one.day >= ground.as_of)
    uses = ((one.task.season, use_on(ground, one.errand, one.task.step, one.day)) for one in given)
    given_out = tuple((season, use) for season, use in uses if use is not None)
    return Settled(tuple(tasks), made_visits, tuple(dict.fromkeys(told)), given_out, lying, waiting)


def _stories(
    work: _Work,
    errands: Sequence[Errand],
    paths: Mapping[str, Sequence[int]],
    packed: Mapping[str, Sequence[int]],
) -> tuple[list[Placed], list[Conflict], dict[tuple[str, int, Because], list[str]]]:
    """The placed steps as tasks, where the keeper's days bent them, and what waits for a course."""
    ground = work.ground
    placed: list[Placed] = []
    told: list[Conflict] = []
    waiting: dict[tuple[str, int, Because], list[str]] = {}
    memo: dict[object, list[Made]] = {}
    counted = _counting(ground, errands, paths)
    ways = [(errand, tuple(paths.get(errand.key, ()))) for errand in errands]
    ways = [(errand, path) for errand, path in ways if not _counted_anyway(ground, errand, path, counted)]
    stories = [_made(errand, path, memo) for errand, path in ways]
    ends = [_missed(errand, path) for errand, path in ways]
    drafts = [work.drafted(errand, made, end) for (errand, _), made, end in zip(ways, stories, ends, strict=True)]
    work.rained()
    for (errand, path), made, end, draft in zip(ways, stories, ends, drafts, strict=True):
        placed.extend(work.placed(errand, draft, path, packed.get(errand.key, path)))
        told.extend(conflicts.bent(ground, errand, made))
        late = [one for one in made if one.day >= ground.as_of and conflicts.waits(errand, one)]
        if late:
            why = errand.frame.why or Because(Code.FOR_WHAT_LIES)
            waiting.setdefault((_waits_words(errand, late[0]), late[0].day, why), []).append(subject(errand))
        if end is not None and made[-1].day >= ground.as_of:
            told.append(conflicts.cut_short(ground, errand, made[-1], end))
    washed = circled_once(ground, _counted_once(ground, placed))
    return washed, list(told_of(told, {one.task.id for one in washed})), waiting


def _waits_words(errand: Errand, late: Made) -> str:
    """What waits, in words: of a course, or of looks that follow each other, the one that does; the rest does not."""
    method = errand.frame.method
    step = method.steps[late.step]
    if errand.course:
        return step.do.partition(":")[0].rstrip("?.")
    several = len(method.steps) > 1 or step.again is not None
    due = Because(Code.DUE_BY, (method.title, late.opening.window.closes))
    return because_words(due) if several else method.title


def told_of(told: Iterable[Conflict], tasks: Collection[str]) -> Iterator[Conflict]:
    """Conflicts about tasks (by id) that are there: a count that another answers is in nobody's way."""
    for one in told:
        there = tuple(name for name in one.tasks if name in tasks)
        if there or not one.tasks:
            yield replace(one, tasks=there)


def _counted_once(ground: Ground, placed: Sequence[Placed]) -> list[Placed]:
    """The tasks with one count of a hive on a visit, and one look at all of its combs for cells: the most urgent, which
    answers all that ask for one."""
    counts = ground.book.planning.counts

    def pressing(one: Placed) -> tuple[bool, int]:
        """A look for what was found goes before the weekly one: it says what to look for."""
        weekly = one.errand.frame.method.steps[one.made.step].again is not None
        return weekly and one.task.logs not in counts, one.task.window.by

    alike: dict[tuple[object, ...], Placed] = {}
    for one in placed:
        same = one_with(one.errand, one.made.step, ground.book.planning)
        key = (one.task.colony, one.day, same) if same is not None else (id(one),)
        alike[key] = min(alike.get(key, one), one, key=pressing)
    told = {id(one) for one in alike.values()}
    return [one for one in placed if id(one) in told]


def _missed(errand: Errand, path: Path) -> Window | None:
    """The window that nobody can be in time for, where a path is cut short."""
    missed = errand.chain.missed.get(path[-1]) if path else None
    return missed.window if missed else None


def _lasts(errand: Errand, path: Path) -> Iterator[int]:
    """For each step of a path, the last day on which it could be placed; steps that go along share it."""
    stop: Stop | None = errand.chain.first
    for node in path:
        assert stop is not None  # the path goes on
        last = errand.frame.days.ordinals[stop.days.bit_length() - 1]
        yield from (last for _ in errand.chain.done([node]))
        stop = errand.chain.nodes[node].then


CountDays = set[tuple[str, int]]
"""Colonies, and the days on which mites are counted in them in any case."""


def _counting(ground: Ground, errands: Sequence[Errand], paths: Mapping[str, Sequence[int]]) -> CountDays:
    asked = ground.book.planning.asked_count
    words = _count_words(ground)
    return {
        (errand.colony.colony.key, errand.frame.days.ordinals[at])
        for errand in errands
        if errand.colony is not None and errand.method != asked
        for (step, _), at in errand.chain.done(paths.get(errand.key, ()))
        if errand.frame.method.steps[step].logs in words
    }


def _count_words(ground: Ground) -> set[str]:
    return {step.logs for step in ground.book.methods[ground.book.planning.asked_count].steps.values()}


def _counted_anyway(ground: Ground, errand: Errand, path: Path, counted: CountDays) -> bool:
    """True for a count that is asked for on a day on which mites are counted there anyway: one is enough."""
    if errand.method != ground.book.planning.asked_count or errand.colony is None or not path:
        return False
    return (errand.colony.colony.key, errand.frame.days.ordinals[errand.chain.nodes[path[0]].at]) in counted


def _made(errand: Errand, path: Path, memo: dict[object, list[Made]]) -> list[Made]:
    """The story of an errand's path, told once for all errands that share it."""
    done = list(errand.chain.done(path))
    steps, days = [step for step, _ in done], [errand.frame.days.ordinals[at] for _, at in done]
    key = (errand.frame.name, errand.cursor.key, errand.cursor.told, *steps, *days)
    if key not in memo:
        memo[key] = list(replay(errand.frame, errand.cursor, steps, days))
    return memo[key]


Draft = tuple[object, ...]
"""What drafted tasks are kept by: the same for all errands that are alike."""


# Each once for all that are alike -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Work:
    """The tasks of errands, made once for all errands that are alike, but for their names.

    ``kinds`` numbers the kinds of colony, ``hives`` has the kind of each state by its identity.
    """

    ground: Ground
    made: dict[Draft, list[Placed]] = field(default_factory=dict)
    past: dict[tuple[str, int], list[Task]] = field(default_factory=dict)
    told: dict[object, tuple[Answer, ...]] = field(default_factory=dict)
    kinds: dict[Likeness, int] = field(default_factory=dict)
    hives: dict[int, int] = field(default_factory=dict)

    def drafted(self, errand: Errand, made: Sequence[Made], missed: Window | None) -> Draft:
        """The tasks of an errand, with answers for their day where findings are asked for, and no rain date yet: made
        once for all whose story is the same one, with the same things to be said, in hives that are alike.
        """
        ends, beside = missed and (missed.opens, missed.closes), tuple(sorted(errand.beside.items()))
        like = (*self._whose(errand), id(made), ends, errand.advice, beside, errand.left)
        if like not in self.made:
            last = len(made) - 1
            self.made[like] = [
                self._answered(tasked(self.ground, errand, one, first=i == 0, ends=missed if i == last else None))
                for i, one in enumerate(made)
            ]
        return like

    def _whose(self, errand: Errand) -> Draft:
        """What is for an errand, and whose it is, but for names."""
        state, trap = errand.colony, errand.trap
        if id(state) not in self.hives:
            self.hives[id(state)] = self.kinds.setdefault(of_words(state) if state else (), len(self.kinds))
        whose = (self.hives[id(state)], of_trap(trap) if trap else None)
        return (errand.method, errand.course, errand.season, *whose)

    def rained(self) -> None:
        """Gives each task the rain date of its visit, which all tasks of that day decide."""
        rain = rain_dates(self.ground, (one for some in self.made.values() for one in some))
        self.made.update({like: [self._rained(one, rain) for one in some] for like, some in self.made.items()})

    def placed(self, errand: Errand, draft: Draft, path: Path, packed: Sequence[int]) -> Iterator[Placed]:
        """The drafted tasks as this errand's own, with the last days on which they could be placed."""
        chain, ordinals = errand.chain, errand.frame.days.ordinals
        before = {step: ordinals[at] for step, at in chain.done(packed)}
        steps = [step for step, _ in chain.done(path)]
        for one, step, last in zip(self.made[draft], steps, _lasts(errand, path), strict=True):
            was = before.get(step, one.day)
            task = one.task if one.errand is errand else self._renamed(errand, one.task)
            moved = was if was != one.day else None
            yield Placed(task, errand, one.made, one.day, one.prepare, one.asked, last, moved)

    def over(self, errand: Errand) -> list[Task]:
        """Steps whose time is over: what was done, what was missed, and what nobody knows and is asked for."""
        like = (errand.like or errand.key, id(errand.past))
        if like in self.past:
            return [self._renamed(errand, task) for task in self.past[like]]
        self.past[like] = [_undated(self.ground, errand, past) for past in errand.past]
        return self.past[like]

    def _renamed(self, errand: Errand, task: Task) -> Task:
        """A task for the colony of an errand that is like its own."""
        name = task_id(errand, task.step, task.n)
        return altered(task, id=name, colony=errand.colony.colony.key if errand.colony else None)

    def _answered(self, one: Placed) -> Placed:
        """A task that is to be done, with what to do for each finding."""
        if one.day < self.ground.as_of:
            return one
        answers = self._answers(one, one.day)
        return altered(one, task=altered(one.task, answers=answers)) if answers != one.task.answers else one

    def _rained(self, one: Placed, days: Mapping[int, int | None]) -> Placed:
        """The same with its rain date, and what to do then."""
        rain = days.get(one.day)
        if rain is None:
            return one
        answers = (*one.task.answers, *self._answers(one, rain))
        return altered(one, task=altered(one.task, rain_date=rain, answers=answers))

    def _answers(self, one: Placed, day: int) -> tuple[Answer, ...]:
        frame, yard = one.errand.frame, self.ground.yard
        key = (frame.name, one.asked.key, day)
        if key not in self.told:
            emptied = frame.names & self.ground.book.groups.keys()
            findings = self.ground.book.findings
            self.told[key] = answers(frame, one.asked, day, findings, emptied, any_day=yard.weekdays is None)
        return self.told[key]


# Tasks that are over -------------------------------------------------------------------------------------------------


def _undated(ground: Ground, errand: Errand, past: DoneStep) -> Task:
    """A step as a task without a planned day, with the window that it has or had."""
    window = past.opening.days
    made = Made(past.cursor.step, past.cursor.n, window.best, past.opening, past.cursor, errand.frame)
    task = tasked(ground, errand, made, first=False).task
    return altered(task, status=past.status, planned=None, done=past.day, why_planned=())
