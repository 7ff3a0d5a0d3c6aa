"""Settle: placed steps become tasks and visits, with their windows, reasons and conflicts. Made once.

In: a yard's errands, and the days on which packing placed them. Out: tasks, visits, conflicts. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.count import Unit
from ipmcal.model.plan import Answer, Conflict, Status, Task, Visit, Window
from ipmcal.model.rules import Step
from ipmcal.model.words import day_range, short_day
from ipmcal.planning import conflicts
from ipmcal.planning.answers import answers
from ipmcal.planning.chain import Cursor, Made, opening_at, replay
from ipmcal.planning.ground import Ground
from ipmcal.planning.unfold import OWN, Errand
from ipmcal.planning.visits import Placed, visits

EMPTIED = "emptied"


@dataclass(frozen=True, slots=True)
class Settled:
    """A yard's part of the plan."""

    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]


def settle(ground: Ground, errands: Sequence[Errand], paths: Mapping[str, Sequence[int]]) -> Settled:
    """Everything of a yard that depends on the days that packing chose."""
    placed: list[Placed] = []
    told: list[Conflict] = []
    memo: dict[object, list[Made]] = {}
    for errand in errands:
        path = paths.get(errand.key, ())
        made = _made(errand, path, memo)
        missed = errand.chain.missed.get(path[-1]) if path else None
        for i, one in enumerate(made):
            ends = missed.window if missed is not None and i == len(made) - 1 else None
            placed.append(_placed(ground, errand, one, first=i == 0, ends=ends))
        told.extend(conflicts.bent(ground, errand, made))
        if missed is not None and made[-1].day >= ground.as_of:
            told.append(conflicts.cut_short(ground, errand, made[-1], missed.window))
    made_visits = visits(ground, placed)
    tasks = [*_answered(ground, placed, made_visits), *_unknown(ground, errands)]
    for errand in errands:
        if errand.stuck:
            tasks.append(_undated(ground, errand, errand.cursor, Status.IMPOSSIBLE))
            told.append(conflicts.stuck(ground, errand, tasks[-1]))
    told.extend(conflicts.contradictions(ground, errands))
    return Settled(tuple(tasks), made_visits, tuple(dict.fromkeys(told)))


def _made(errand: Errand, path: Sequence[int], memo: dict[object, list[Made]]) -> list[Made]:
    """The story of an errand's path, told once for all errands that share it."""
    key = (errand.frame.name, errand.cursor.key, errand.cursor.told, *path)
    if key not in memo:
        steps = [errand.chain.steps[i] for i in path]
        days = [errand.frame.days.ordinals[errand.chain.nodes[i].at] for i in path]
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
    task = Task(
        id=conflicts.task_id(errand, ground.season.year, made.step, made.n),
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
        blanks=step.blanks,
        bring=step.bring,
        minutes=int(step.minutes.value.middle),
        logs=step.logs,
        lid=step.lid or "",
        why_planned=(made.why,),
    )
    prepare = step.prepare.format_map(words) if step.prepare else ""
    return Placed(task, errand, made, made.day, prepare, asked)


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


# Answers for trap frames ---------------------------------------------------------------------------------------------


def _answered(ground: Ground, placed: Sequence[Placed], made: Sequence[Visit]) -> Iterator[Task]:
    """The tasks with the rain date of their visit, and where findings are asked for, with the answers to them."""
    visit_of = {task: visit for visit in made for task in visit.tasks}
    memo: dict[object, tuple[Answer, ...]] = {}
    for one in placed:
        visit, frame = visit_of.get(one.task.id), one.errand.frame
        if visit is None:
            yield one.task
            continue
        told: list[Answer] = []
        for day in (visit.day, visit.rain_date):
            key = (frame.name, one.asked.key, day)
            if day is not None and key not in memo:
                memo[key] = answers(
                    frame, one.asked, day, ground.book.findings, EMPTIED, any_day=ground.yard.weekdays is None
                )
            told.extend(memo.get(key, ()))
        yield replace(one.task, rain_date=visit.rain_date, answers=tuple(told))


# Tasks without a day ------------------------------------------------------------------------------------------------


def _unknown(ground: Ground, errands: Iterable[Errand]) -> Iterator[Task]:
    """Steps whose time is over and of which the journal says nothing: asked for, neither done nor missed."""
    for errand in errands:
        for step, n in errand.skipped:
            yield _undated(ground, errand, replace(errand.cursor, step=step, n=n, begun=False), Status.UNKNOWN)


def _undated(ground: Ground, errand: Errand, cursor: Cursor, status: Status) -> Task:
    """The step at a cursor as a task without a day, with the window that it has or had."""
    found = opening_at(errand.frame, cursor)
    assert found is not None  # it was owed, or skipped, because of its window
    made = Made(cursor.step, cursor.n, found.window.best, found, cursor, found.window.why_best)
    task = _placed(ground, errand, made, first=False).task
    return replace(task, status=status, planned=None, done=None, why_planned=())
