"""A placed step as a task: what it says, what is given, what is written beside it, what can be circled.

In: an errand, one step of its story, and the day that packing chose. Out: the task, as it is placed. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.model.altered import altered
from ipmcal.model.outfit.outfit import OWN, Colony
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.reasons import Window
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.rules.labels import last_step
from ipmcal.model.rules.methods import Step
from ipmcal.model.values.count import Unit
from ipmcal.planning.days.chain import Made
from ipmcal.planning.decide.tally import announced_words
from ipmcal.planning.labels.standing import supers_from
from ipmcal.planning.owed.errand import Errand, task_id, trap_words
from ipmcal.planning.owed.fitness import methods_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import dose_value, dose_words, prescribed, use_on
from ipmcal.planning.settle.answers import choices_on
from ipmcal.planning.settle.views import stores_words
from ipmcal.planning.settle.visits import Placed


def tasked(ground: Ground, errand: Errand, made: Made, *, first: bool, ends: Window | None = None) -> Placed:
    """A task; the ``first`` of its errand carries what has to be said once.

    With ``ends`` the errand is cut short, for want of a day in that window: what is done is the method's last step.
    """
    last = list(errand.frame.method.steps)[-1]
    step = errand.frame.method.steps[last if ends is not None else made.step]
    asked = replace(made.cursor, step=last, n=1) if ends is not None else made.cursor
    words, do = trap_words(errand), _do(step, made)
    task = Task(
        id=task_id(errand, made.step, made.n),
        yard=ground.yard.key,
        colony=errand.colony.colony.key if errand.colony else None,
        trap=errand.trap.frame.name if errand.trap else None,
        method=errand.method,
        step=made.step,
        n=made.n,
        season=errand.season,
        do=do.format_map(words) if errand.method != OWN else do,
        window=made.opening.window,
        planned=made.day,
        rain_date=None,
        status=Status.PLANNED,
        look=made.opening.look or (step.look is not None and do == step.look),
        harm=step.harm or "",
        notes=tuple(_notes(ground, errand, step, made, first, ends)),
        how=() if errand.method == OWN else tuple(_how(ground, errand, step, made)),
        cautions=tuple(ground.book.planning.cautions[c] for c in step.cautions),
        circle=_circle(ground, step, made),
        blanks=tuple(dict.fromkeys((*step.blanks, *ground.book.events[step.logs].blanks))),
        bring=step.bring,
        minutes=int(step.minutes.value.middle),
        logs=step.logs,
        lid=step.lid or "",
        why_planned=(made.why,),
        product=_product(ground, errand, made.step),
        value=_value(ground, errand, made),
        choices=choices_on(ground, step, made.day),
    )
    return Placed(task, errand, made, made.day, step.prepare.format_map(words) if step.prepare else "", asked, made.day)


def _do(step: Step, made: Made) -> str:
    """What a step's task says: to look first where nothing is certain, something else where it is overdue."""
    if step.if_late and made.bent == "overdue":
        return step.if_late.do
    return step.look if step.look and (made.opening.look or made.cursor.sightings) else step.do


def _product(ground: Ground, errand: Errand, step: str) -> str:
    """What is given at a step of a course, by its title; "" for any other step."""
    effect = ground.book.events[errand.frame.method.steps[step].logs].effect
    return ground.book.treatments[errand.course].title if errand.course and effect in ("treats", "strips_in") else ""


def _value(ground: Ground, errand: Errand, made: Made) -> str:
    """What a line of the journal would say behind its word, were the step done as printed."""
    logs = errand.frame.method.steps[made.step].logs
    rule = ground.book.events[logs]
    use = use_on(ground, errand, made.step, made.day)
    if use is not None:
        return dose_value(ground, use)
    if rule.value == "trap_slot" and errand.trap is not None:
        return str(errand.trap.frame.home)
    if rule.effect == "supers_on":
        return "1"
    if rule.value == "beginning" and errand.colony is not None:
        return errand.colony.colony.kind
    return made.step if errand.method == OWN else ""


def _notes(ground: Ground, errand: Errand, step: Step, made: Made, first: bool, ends: Window | None) -> Iterator[str]:
    yield from _line(ground, errand, step, made)
    if ground.days.rests(made.day):
        yield because_words(Because(Code.ON_A_HOLIDAY))
    yield from _sampling(ground, errand, step)
    trap = errand.trap
    if first and trap and trap.slot is not None and trap.slot != trap.frame.home:
        yield because_words(Because(Code.HANGS_ELSEWHERE, (trap.slot, trap.frame.home)))
    if errand.colony and errand.colony.colony.began > ground.as_of and not _put_in(ground, errand.colony.colony):
        yield because_words(Because(Code.ONCE_THEY_ARE_IN, (errand.colony.colony.began,)))
    use = use_on(ground, errand, made.step, made.day)
    if use is not None:
        yield from dose_words(ground, use)
    if errand.course and ground.book.events[step.logs].effect == "strips_out":
        count = Because(Code.COUNT_OUT, (errand.left,)) if errand.left else Because(Code.COUNT_ALL_OUT)
        yield because_words(count)
        yield from _supers_from(ground, errand, made)
    yield from _stores(ground, step)
    yield from step.notes
    if first:
        yield from errand.advice
    yield from errand.beside.get((made.step, made.n), ())
    if made.bent == "early":
        yield because_words(Because(Code.EARLY_SINCE, (made.opening.window.closes,)))
    elif made.bent:
        yield because_words(Because(Code.WAS_DUE, (made.opening.window.closes,)))
    if ends is not None:
        yield because_words(Because(Code.OUT_EARLY, ((ends.opens, ends.closes),)))


def _put_in(ground: Ground, colony: Colony) -> bool:
    """Whether a sheet of its own has these bees put in: the others need not say that they have to be."""
    book = ground.book
    methods = (book.methods[name] for name in methods_of(ground.yard, colony.added, colony.declined, book))
    mine = (one for one in methods if one.needs.kind is not None and colony.kind in one.needs.kind.is_)
    return any(book.effect(step.logs) == "begins" for one in mine for step in one.steps.values())


def _how(ground: Ground, errand: Errand, step: Step, made: Made) -> Iterator[str]:
    """Those of the notes that are the same in each hive."""
    yield from _line(ground, errand, step, made)
    yield from _sampling(ground, errand, step)
    yield from _stores(ground, step)
    yield from step.notes


def _line(ground: Ground, errand: Errand, step: Step, made: Made) -> Iterator[str]:
    """At how many mites to treat, where mites are counted on bees."""
    rule = ground.book.events[step.logs]
    if rule.value == "count" and rule.unit == Unit.BEES.value and errand.colony:
        yield from filter(None, [announced_words(ground.line_on(made.day, errand.colony.kind))])


def _sampling(ground: Ground, errand: Errand, step: Step) -> Iterator[str]:
    """How mites are counted, as the authority says."""
    rule = ground.book.events[step.logs]
    if rule.value == "count":
        kind = errand.colony.colony.kind if errand.colony else ""
        yield from filter(None, [ground.sampling(Unit(rule.unit), kind)])


def _stores(ground: Ground, step: Step) -> Iterator[str]:
    """How much food a hive wants for winter here, where a step asks for it."""
    if step.stores:
        yield from filter(None, [stores_words(ground.book.regions[ground.yard.region])])


def _supers_from(ground: Ground, errand: Errand, made: Made) -> Iterator[str]:
    """From when supers may go on, where the last of a course comes out that wants them off."""
    known = prescribed(ground, errand.course, {})
    if known is not None and made.step == last_step(known.label, ground.book):
        day = supers_from(known.label, made.day)
        if day is not None:
            yield because_words(Because(Code.SUPERS_FROM, (day,)))


def _circle(ground: Ground, step: Step, made: Made) -> tuple[str, ...]:
    """Findings; behind them what was done, where the step is to look first, since a tick would not say which."""
    found = tuple(ground.book.findings[f].circle for f in step.findings)
    return (*found, *step.circle) if not found or _do(step, made) == step.look else found


def circled_once(ground: Ground, placed: Sequence[Placed]) -> list[Placed]:
    """The tasks with each word to be circled once a hive and visit: a look that comes again asks only for what no other
    asks for. What leaves a step undone is the line's own, and so is what is found in a trap frame.
    """
    own = {word for word, rule in ground.book.circled.items() if not rule.done}
    said: dict[tuple[str | None, int], set[str]] = {}
    left: dict[int, Placed] = {}
    for one in sorted(placed, key=_comes_again):
        if one.task.trap is None and one.task.circle:
            there = said.setdefault((one.task.colony, one.day), set())
            words = tuple(word for word in one.task.circle if word in own or word not in there)
            there.update(words)
            if words != one.task.circle:
                left[id(one)] = altered(one, task=altered(one.task, circle=words))
    return [left.get(id(one), one) for one in placed]


def _comes_again(one: Placed) -> bool:
    return one.errand.frame.method.steps[one.made.step].again is not None
