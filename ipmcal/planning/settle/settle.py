"""Settle: placed steps become tasks and visits, with their windows, reasons and conflicts. Made once.

In: a yard's errands, and the days on which packing placed them. Out: tasks, visits, conflicts. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.reasons import Window
from ipmcal.model.plan.tasks import Answer, Status, Task, Visit
from ipmcal.model.rules.methods import Step
from ipmcal.model.values.count import Unit
from ipmcal.model.values.words import day_range, short_day
from ipmcal.planning.days.chain import Made, opening_at, replay
from ipmcal.planning.labels.amounts import Use
from ipmcal.planning.owed.cursors import Past
from ipmcal.planning.owed.errand import Errand, task_id
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import amount_words, use_on
from ipmcal.planning.settle import conflicts
from ipmcal.planning.settle.answers import answers
from ipmcal.planning.settle.visits import Placed, rain_dates, visits
from ipmcal.planning.unfold.unfold import OWN

EMPTIED = "emptied"

Path = tuple[int, ...]
"""The nodes of an errand's chain that packing chose."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A yard's part of the plan; ``uses`` are the applications to come."""

    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    uses: tuple[Use, ...] = ()


def settle(
    ground: Ground,
    errands: Sequence[Errand],
    paths: Mapping[str, Sequence[int]],
    overlong: Collection[int] = (),
) -> Settled:
    """Everything of a yard that depends on the days that packing chose; ``overlong`` days take more than the hours."""
    placed: list[Placed] = []
    told: list[Conflict] = []
    memo: dict[object, list[Made]] = {}
    counted = _counting(ground, errands, paths)
    ways = [(errand, tuple(paths.get(errand.key, ()))) for errand in errands]
    ways = [(errand, path) for errand, path in ways if not _counted_anyway(ground, errand, path, counted)]
    stories = [_made(errand, path, memo) for errand, path in ways]
    work = _Work(ground, rain_dates(ground, (one for made in memo.values() for one in made)))
    for (errand, path), made in zip(ways, stories, strict=True):
        missed = errand.chain.missed.get(path[-1]) if path else None
        placed.extend(work.placed(errand, made, missed.window if missed else None))
        told.extend(conflicts.bent(ground, errand, made))
        if missed is not None and made[-1].day >= ground.as_of:
            told.append(conflicts.cut_short(ground, errand, made[-1], missed.window))
    made_visits = visits(ground, placed)
    tasks = [*(one.task for one in placed), *(task for errand in errands for task in work.over(errand))]
    for errand in errands:
        if errand.stuck:
            found = opening_at(errand.frame, errand.cursor)
            assert found is not None  # it was owed because of its window
            tasks.append(_undated(ground, errand, Past(errand.cursor, found, Status.IMPOSSIBLE)))
            told.append(conflicts.stuck(ground, errand, tasks[-1]))
    told.extend(conflicts.overlong(ground, visit) for visit in made_visits if visit.day in overlong)
    told.extend(conflicts.contradictions(ground, errands))
    given = (one for one in placed if one.errand.course and one.day >= ground.as_of)
    uses = (use_on(ground, one.errand, one.task.step, one.day) for one in given)
    return Settled(tuple(tasks), made_visits, tuple(dict.fromkeys(told)), tuple(use for use in uses if use))


Counting = set[tuple[str, int]]
"""Colonies, and the days on which mites are counted in them in any case."""


def _counting(ground: Ground, errands: Sequence[Errand], paths: Mapping[str, Sequence[int]]) -> Counting:
    asked = ground.book.planning.asked_count
    return {
        (errand.colony.colony.key, errand.frame.days.ordinals[errand.chain.nodes[node].at])
        for errand in errands
        if errand.colony is not None and errand.method != asked
        for node in paths.get(errand.key, ())
        if errand.frame.method.steps[errand.chain.steps[node][0]].logs in _count_words(ground)
    }


def _count_words(ground: Ground) -> set[str]:
    return {step.logs for step in ground.book.methods[ground.book.planning.asked_count].steps.values()}


def _counted_anyway(ground: Ground, errand: Errand, path: Path, counted: Counting) -> bool:
    """True for a count that is asked for on a day on which mites are counted there anyway: one is enough."""
    if errand.method != ground.book.planning.asked_count or errand.colony is None or not path:
        return False
    return (errand.colony.colony.key, errand.frame.days.ordinals[errand.chain.nodes[path[0]].at]) in counted


def _made(errand: Errand, path: Path, memo: dict[object, list[Made]]) -> list[Made]:
    """The story of an errand's path, told once for all errands that share it."""
    steps = [errand.chain.steps[i] for i in path]
    days = [errand.frame.days.ordinals[errand.chain.nodes[i].at] for i in path]
    key = (errand.frame.name, errand.cursor.key, errand.cursor.told, *steps, *days)
    if key not in memo:
        memo[key] = list(replay(errand.frame, errand.cursor, steps, days))
    return memo[key]


def _placed(ground: Ground, errand: Errand, made: Made, *, first: bool, ends: Window | None = None) -> Placed:
    """A task; the ``first`` of its errand carries what has to be said once.

    With ``ends`` the errand is cut short, for want of a day in that window: what is done is the method's last step.
    """
    steps = errand.frame.method.steps
    last = list(steps)[-1]
    step = steps[last] if ends is not None else steps[made.step]
    asked = replace(made.cursor, step=last, n=1) if ends is not None else made.cursor
    past = made.day < ground.as_of
    words = _words(errand)
    look = made.opening.look
    do = step.look if step.look and (look or made.cursor.sightings) else step.do
    if step.if_late and made.bent == "overdue":
        do = step.if_late.do
    task = Task(
        id=task_id(errand, ground.season.year, made.step, made.n),
        yard=ground.yard.key,
        colony=errand.colony.colony.key if errand.colony else None,
        trap=errand.trap.frame.name if errand.trap else None,
        method=errand.method,
        step=made.step,
        n=made.n,
        season=ground.season.year,
        do=do.format_map(words) if errand.method != OWN else do,
        window=made.opening.window,
        planned=None if past else made.day,
        rain_date=None,
        status=Status.DONE if past else Status.PLANNED,
        done=made.day if past else None,
        look=look,
        harm=step.harm or "",
        notes=tuple(_notes(ground, errand, step, made, first, ends)),
        cautions=tuple(ground.book.planning.cautions[c] for c in step.cautions),
        circle=_circle(ground, step),
        blanks=(*step.blanks, *(b for b in ground.book.events[step.logs].blanks if b not in step.blanks)),
        bring=step.bring,
        minutes=int(step.minutes.value.middle),
        logs=step.logs,
        lid=step.lid or "",
        why_planned=(made.why,),
        product=_product(ground, errand, made.step),
    )
    prepare = step.prepare.format_map(words) if step.prepare else ""
    return Placed(task, errand, made, made.day, prepare, asked)


def _product(ground: Ground, errand: Errand, step: str) -> str:
    """What is given at a step of a course, by its title; "" for any other step."""
    effect = ground.book.events[errand.frame.method.steps[step].logs].effect
    return ground.book.treatments[errand.course].title if errand.course and effect in ("treats", "strips_in") else ""


def _words(errand: Errand) -> dict[str, object]:
    trap = errand.trap
    return {"trap": trap.frame.name, "home": trap.frame.home, "slot": trap.slot} if trap else {}


def _notes(ground: Ground, errand: Errand, step: Step, made: Made, first: bool, ends: Window | None) -> Iterator[str]:
    rule = ground.book.events[step.logs]
    if rule.value == "count" and rule.unit == Unit.BEES.value and errand.colony:
        line = ground.treat_at(made.day, errand.colony.kind)
        if line:
            yield line
    trap = errand.trap
    if first and trap and trap.slot is not None and trap.slot != trap.frame.home:
        yield f"It hangs in slot {trap.slot}: hang it in slot {trap.frame.home}."
    use = use_on(ground, errand, made.step, made.day)
    if use is not None:
        yield amount_words(ground, use)
    if errand.course and ground.book.events[step.logs].effect == "strips_out":
        yield f"{errand.left} went in: count {errand.left} out." if errand.left else "Count out as many as went in."
    yield from step.notes
    if first:
        yield from errand.advice
    if made.bent == "early":
        yield f"Early, since no later day of yours is in time ({short_day(made.opening.window.closes)} is the last)."
    elif made.bent:
        yield f"Late: it was due by {short_day(made.opening.window.closes)}."
    if ends is not None:
        span = day_range(ends.opens, ends.closes)
        yield f"It comes out early: no day of yours is in time for its next turn ({span})."


def _circle(ground: Ground, step: Step) -> tuple[str, ...]:
    return tuple(ground.book.findings[f].circle for f in step.findings) or step.circle


# Each once for all that are alike -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Work:
    """The tasks of errands, made once for all errands that are alike, but for their names.

    ``rain`` has the rain date of each visit by its day.
    """

    ground: Ground
    rain: Mapping[int, int | None]
    made: dict[tuple[object, ...], list[Placed]] = field(default_factory=dict)
    past: dict[tuple[str, int], list[Task]] = field(default_factory=dict)
    told: dict[object, tuple[Answer, ...]] = field(default_factory=dict)

    def placed(self, errand: Errand, made: Sequence[Made], missed: Window | None) -> list[Placed]:
        """The tasks of an errand with the rain date of their visit, and answers where findings are asked for.

        Errands that were alike may have been kept apart from other work since: their story has to be the same, too.
        """
        like = (errand.like or errand.key, id(made), missed and (missed.opens, missed.closes))
        if like in self.made:
            renamed = ((one, self._renamed(errand, one.task)) for one in self.made[like])
            return [Placed(task, errand, one.made, one.day, one.prepare, one.asked) for one, task in renamed]
        last = len(made) - 1
        for i, one in enumerate(made):
            task = _placed(self.ground, errand, one, first=i == 0, ends=missed if i == last else None)
            self.made.setdefault(like, []).append(self._answered(task))
        return self.made.get(like, [])

    def over(self, errand: Errand) -> list[Task]:
        """Steps whose time is over: what was done, what was missed, and what nobody knows and is asked for."""
        like = (errand.like or errand.key, id(errand.past))
        if like in self.past:
            return [self._renamed(errand, task) for task in self.past[like]]
        self.past[like] = [_undated(self.ground, errand, past) for past in errand.past]
        return self.past[like]

    def _renamed(self, errand: Errand, task: Task) -> Task:
        """A task for the colony of an errand that is like its own."""
        assert errand.colony is not None  # only errands of colonies are alike
        name = task_id(errand, task.season, task.step, task.n)
        return replace(task, id=name, colony=errand.colony.colony.key)

    def _answered(self, one: Placed) -> Placed:
        """A task that is to be done, with its rain date, and what to do on either day for each finding."""
        if one.day not in self.rain:
            return one
        rain, told = self.rain[one.day], [*self._answers(one, one.day)]
        if rain is not None:
            told.extend(self._answers(one, rain))
        return replace(one, task=replace(one.task, rain_date=rain, answers=tuple(told)))

    def _answers(self, one: Placed, day: int) -> tuple[Answer, ...]:
        frame, yard = one.errand.frame, self.ground.yard
        key = (frame.name, one.asked.key, day)
        if key not in self.told:
            findings = self.ground.book.findings
            self.told[key] = answers(frame, one.asked, day, findings, EMPTIED, any_day=yard.weekdays is None)
        return self.told[key]


# Tasks that are over -------------------------------------------------------------------------------------------------


def _undated(ground: Ground, errand: Errand, past: Past) -> Task:
    """A step as a task without a planned day, with the window that it has or had."""
    window = past.opening.window
    made = Made(past.cursor.step, past.cursor.n, window.best, past.opening, past.cursor, window.why_best)
    task = _placed(ground, errand, made, first=False).task
    return replace(task, status=past.status, planned=None, done=past.day, why_planned=())
