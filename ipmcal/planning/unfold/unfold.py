"""Unfold: rules, season and states become errands, each a chain for one colony, trap frame or yard.

In: a yard, its season, its colonies' states, the rulebook, the keeper's days. Out: errands, refusals. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Event, OwnTask
from ipmcal.model.plan.colony import ColonyState, TrapState
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.rules.methods import Method, Step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.model.values.words import day_range, short_day
from ipmcal.planning.days.bounds import span_of
from ipmcal.planning.days.chain import Chain, Cursor, Frame, one_way, opening_at, replay
from ipmcal.planning.decide.requests import Ask
from ipmcal.planning.owed.alike import Key, of_colony, of_days, of_trap
from ipmcal.planning.owed.cursors import gone_for_good, next_cursor, start, trap_cursor, trap_past
from ipmcal.planning.owed.errand import NOTHING, Errand, who
from ipmcal.planning.owed.fitness import Fitness, Why, fitness, methods_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.requested import asked_counts, late_asks
from ipmcal.planning.recall.state import known_days

OWN = "own"
"""The method that the keeper's own tasks belong to."""

Found = Errand | Refusal | None
"""What a method has for a colony or trap frame: something to do, why not, or nothing at all."""


@dataclass(frozen=True)
class Unfolded:
    """All errands of a yard, in walking order, and what is not offered."""

    errands: tuple[Errand, ...]
    refusals: tuple[Refusal, ...]


def unfold(
    ground: Ground,
    states: tuple[ColonyState, ...],
    asks: Mapping[str, Sequence[Ask]],
    treatments: Mapping[str, Sequence[Errand]] | None = None,
) -> Unfolded:
    """Every errand of a yard, with the counts that are asked for, and the courses of each colony, under way or to come.

    The order of ``states`` is the order of walking.
    """
    errands: list[Errand] = []
    refusals: list[Refusal] = []
    yard, book = ground.yard, ground.book
    known: dict[Key, dict[Key, Found]] = {}
    for state in states:
        if not state.alive:
            continue
        served = len(errands)
        alike = known.setdefault(of_colony(state), {})
        for name in methods_of(yard, state.colony.added, state.colony.declined, book):
            method = book.methods[name]
            if method.per == "yard":
                continue
            traps = list(state.traps.values()) if method.per == "trap_frame" else [None]
            for trap in traps:
                found = _found(ground, name, method, state, trap, alike)
                if isinstance(found, Refusal):
                    refusals.append(found)
                elif found is not None and not _replaced(ground, found, (treatments or {}).get(state.colony.key, ())):
                    errands.append(found)
        errands.extend(_take_out(ground, state, {e.trap.frame.name for e in errands[served:] if e.trap}))
        late = [ask for errand in errands[served:] for ask in late_asks(ground, errand)]
        errands.extend((treatments or {}).get(state.colony.key, ()))
        wanted = [*late, *asks.get(state.colony.key, ())]
        errands.extend(asked_counts(ground, state, wanted, errands[served:]))
    for name in methods_of(yard, (), (), book):
        if book.methods[name].per == "yard":
            errands.extend(_plain_errand(ground, name, book.methods[name], None, ground.written))
    for task in yard.tasks:
        errands.extend(_own(ground, task, states))
    return Unfolded(tuple(errands), tuple(refusals))


def _replaced(ground: Ground, errand: Errand, courses: Sequence[Errand]) -> bool:
    """True for supers that come off later as the season has it, where a course wants them off by a day of its own."""
    early = any(course.method == ground.book.planning.supers_off_by for course in courses)
    logs = errand.frame.method.steps[errand.cursor.step].logs
    return early and bool(errand.chain.nodes) and ground.book.events[logs].effect == "supers_off"


def _found(
    ground: Ground, name: str, method: Method, state: ColonyState, trap: TrapState | None, alike: dict[Key, Found]
) -> Found:
    """What a method has for a colony or trap frame, worked out once for all that are ``alike``."""
    frame = ground.frame(name, method)
    days = of_days(frame, state.days, *([trap.days] if trap else []))
    queen = state.queen if method.needs.queen else None
    key = (name, queen, days, ground.telling(frame, state.events), of_trap(trap) if trap else ())
    if key not in alike:
        alike[key] = _errand(ground, name, method, state, trap)
        return alike[key]
    found = alike[key]
    if isinstance(found, Errand):
        return replace(found, key=f"{who(state, trap)}/{name}", colony=state, trap=trap, like=found.key)
    return found and replace(found, subject=_subject(state, trap))


def _subject(state: ColonyState, trap: TrapState | None) -> str:
    """Whom a refusal is for, in words."""
    return state.colony.key + (f" {trap.frame.name}" if trap else "")


def _errand(ground: Ground, name: str, method: Method, state: ColonyState, trap: TrapState | None) -> Found:
    fit = fitness(method, state, trap.frame if trap else None, ground.season, ground.book)
    if not fit.meant:
        return None
    hung = trap is not None and trap.emptied is not None
    subject = _subject(state, trap)
    if fit.against and not hung:
        return _refusal(ground, subject, name, method, fit.against)
    frame = ground.frame(name, method)
    lines = ground.telling(frame, state.events)
    beginning = start(frame, state, trap, fit, ground.season)
    if trap is None:
        cursor, past = next_cursor(ground, frame, beginning, lines)
    else:
        cursor = trap_cursor(ground, beginning, frame, trap)
        past = tuple(trap_past(frame, beginning, trap, lines, ground))
    chain = ground.chain(frame, cursor) if cursor else None
    if cursor and trap is None:
        past += gone_for_good(ground, frame, cursor, chain, lines)
    if cursor and trap and not hung:
        never = _never_in_time(ground, fit, frame, cursor, chain)
        if never:
            return _refusal(ground, subject, name, method, [never])
    stuck = hung and cursor is not None and chain is None
    if chain is None and not past and not stuck:
        return None
    advice = (*fit.advice, *(f"Mind: {why.what}." for why in fit.against))
    key = f"{who(state, trap)}/{name}"
    return Errand(key, name, state, trap, frame, cursor or beginning, chain or NOTHING, advice, past, stuck)


def _take_out(ground: Ground, state: ColonyState, served: set[str]) -> Iterator[Errand]:
    """The last step of a method for trap frames that hang although no method of this colony uses them any more."""
    for trap in state.traps.values():
        if trap.emptied is None or trap.frame.name in served:
            continue
        for name, method in ground.book.methods.items():
            fit = fitness(method, state, trap.frame, ground.season, ground.book)
            if method.per != "trap_frame" or not fit.meant:
                continue
            frame = ground.frame(name, method)
            last = list(method.steps)[-1]
            cursor = replace(start(frame, state, trap, fit, ground.season), step=last, begun=True)
            chain = ground.chain(frame, cursor)
            advice = ("No method of this colony uses it: it comes out.",)
            key = f"{who(state, trap)}/{name}"
            yield Errand(key, name, state, trap, frame, cursor, chain or NOTHING, advice, (), chain is None)
            break


def _refusal(ground: Ground, subject: str, name: str, method: Method, against: Sequence[Why]) -> Refusal:
    whys = tuple(why.what for why in against)
    helps = "; ".join(why.helps for why in against if why.helps)
    reasons = tuple(why.reason for why in against if why.reason)
    return Refusal(ground.yard.key, subject, name, method.title, whys, helps, reasons)


def _never_in_time(ground: Ground, fit: Fitness, frame: Frame, cursor: Cursor, chain: Chain | None) -> Why | None:
    """Why a trap that does not hang yet is not offered: it would come too late, or nobody could empty it in time."""
    found = opening_at(frame, cursor)
    if chain is None or (found is not None and ground.days.of(chain.first.days)[0] > found.window.closes):
        return _too_late(ground, fit, frame, cursor)
    path = one_way(chain)
    days = [ground.days.ordinals[chain.nodes[i].at] for i in path]
    made = list(replay(frame, cursor, [chain.steps[i] for i in path], days))
    if any(not one.bent for one in made[1:]):
        return None
    missed = made[1].opening if made[1:] else chain.missed.get(path[-1])
    helps = f"a day in {day_range(missed.window.opens, missed.window.closes)}" if missed else "another weekday"
    return Why("no day of yours is in time to empty it", helps)


def _too_late(ground: Ground, fit: Fitness, frame: Frame, cursor: Cursor) -> Why | None:
    """Why a trap that could only be hung outside its time is not offered."""
    free = opening_at(frame, replace(cursor, not_before=None))
    if free is None:
        return None
    window, full = free.window, fit.not_before
    span, helps = day_range(window.opens, window.closes), "hang one next season"
    if full is not None and span_of(full).usual > window.closes:
        day, last = short_day(span_of(full).usual), short_day(window.closes)
        return Why(f"{full.note or 'its box is full'} ({day}), and a trap is hung by {last}", helps, full)
    if window.closes < ground.as_of:
        return Why(f"it is too late to hang it: that was to be done in {span}", helps)
    if ground.days.between(window.opens, window.closes):
        return Why(f"the time to hang it ({span}) is a dearth here", "feed, or hang one next season")
    return Why(f"no day of yours lies between {span} to hang it", "a day in that time, or next season")


# The keeper's own tasks ----------------------------------------------------------------------------------------------


def _own(ground: Ground, task: OwnTask, states: tuple[ColonyState, ...]) -> Iterator[Errand]:
    spent = Amount(task.minutes, task.minutes, task.minutes, "min")
    step = Step.model_construct(
        do=task.do, look=None, opens=task.opens, best=None, closes=task.closes, hard_stop=None, harm=None,
        minutes=Cited(spent, (), task.place, task.name, str(task.minutes)), bring=(), prepare=None, notes=(),
        cautions=(), circle=(), findings=(), blanks=(), logs="done", again=None, lid=None,
    )  # fmt: skip
    method = Method.model_construct(
        title=task.do, per="yard", needs=None, clock={}, seen={}, found={}, steps={task.name: step}
    )
    for state in states if task.per_colony else (None,):
        if state is None or state.alive:
            lines = state.events if state else ground.written
            told = [e for e in lines if ground.book.events[e.word].effect == "not_done"]
            done = [*told, *(e for e in lines if e.word == "done" and e.value.split()[:1] == [task.name])]
            yield from _plain_errand(ground, OWN, method, state, done, task.name)


def _plain_errand(
    ground: Ground, name: str, method: Method, state: ColonyState | None, lines: Sequence[Event], task: str = ""
) -> Iterator[Errand]:
    """A method without needs, for the yard or for a colony; ``lines`` tell what was done of it."""
    frame = ground.frame(f"{name}/{task}" if task else name, method)
    days = state.days if state else known_days(lines, ground.book.groups)
    facts = {word: known for word, known in days.items() if word in frame.names}
    beginning = Cursor(next(iter(method.steps)), 1, facts)
    cursor, past = next_cursor(ground, frame, beginning, lines)
    chain = ground.chain(frame, cursor) if cursor else None
    if cursor:
        past += gone_for_good(ground, frame, cursor, chain, lines)
    if chain is not None or past:
        whose = state.colony.key if state else f"@{ground.yard.key}"
        key = f"{whose}/{name}" + (f"/{task}" if task else "")
        yield Errand(key, name, state, None, frame, cursor or beginning, chain or NOTHING, (), past)
