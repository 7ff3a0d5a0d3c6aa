"""Unfold: rules, season and states become errands, each a chain for one colony, trap frame or yard.

In: a yard, its season, its colonies' states, the rulebook, the keeper's days. Out: errands, refusals. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from ipmcal.model.altered import altered
from ipmcal.model.outfit.outfit import OWN, Event, OwnTask
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.colony import ColonyState, TrapState
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.rules.methods import Method, Step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.planning.days.bounds import span_of
from ipmcal.planning.days.chain import Chain, one_way, replay
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.decide.requests import CountRequest
from ipmcal.planning.owed.alike import Likeness, of_colony, of_days, of_state, of_trap
from ipmcal.planning.owed.caging import YearCagings
from ipmcal.planning.owed.closed import kept_closed, sick_of
from ipmcal.planning.owed.cursors import DoneStep, gone_for_good, next_cursor, start, trap_cursor, trap_past
from ipmcal.planning.owed.dead import owed_dead
from ipmcal.planning.owed.errand import NOTHING, Errand, who
from ipmcal.planning.owed.fitness import Fitness, Why, as_advice, fitness, fits_yard, methods_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Dosed
from ipmcal.planning.owed.requested import asked_counts, late_asks
from ipmcal.planning.recall.state import known_days
from ipmcal.planning.unfold.barred import counted_before, kept_off, lines_that_judge
from ipmcal.planning.unfold.caged import on_days_of_break
from ipmcal.planning.unfold.cold import kept_warm

Owed = Errand | Refusal | None
"""What a method has for a colony or trap frame: something to do, why not, or nothing at all."""


@dataclass(frozen=True, slots=True)
class Kind:
    """The first colony of a kind, by its key, and what its methods have for it."""

    key: str
    owed: tuple[Owed, ...]


@dataclass(frozen=True)
class WorkedOut:
    """What is owed as it was worked out for the colonies before: by their whole state; and method by method, for those
    that differ in what it does not ask."""

    kinds: dict[Likeness, Kind] = field(default_factory=dict)
    methods: dict[Likeness, dict[Likeness, Owed]] = field(default_factory=dict)


@dataclass(frozen=True)
class Unfolded:
    """All errands of a yard, in walking order, and what is not offered."""

    errands: tuple[Errand, ...]
    refusals: tuple[Refusal, ...]


def unfold(
    ground: Ground,
    states: tuple[ColonyState, ...],
    asks: Mapping[str, Sequence[CountRequest]],
    treatments: Mapping[str, Sequence[Errand]] | None = None,
    cagings: YearCagings | None = None,
    dosed: Dosed = MappingProxyType({}),
) -> Unfolded:
    """Every errand of a yard in the order of walking, that of ``states``: with the counts that are asked for, and the
    courses of each colony. ``cagings`` are those of the year's courses, ``dosed`` doses that packing had under a board.
    """
    errands: list[Errand] = []
    refusals: list[Refusal] = []
    yard, book = ground.yard, ground.book
    known = WorkedOut()
    sick = sick_of(states)
    for state in (state for state in states if state.alive or state.dead is not None):
        if not state.alive:
            errands.extend(owed_dead(ground, state, (treatments or {}).get(state.colony.key, ())))
            continue
        given = (treatments or {}).get(state.colony.key, ())
        every = _owed_alike(ground, state, known)
        found = [made for one in every for made in on_days_of_break(ground, one, cagings)]
        refusals.extend(one for one in found if isinstance(one, Refusal))
        here = [one for one in found if isinstance(one, Errand)]
        here.extend(_take_out(ground, state, {errand.trap.frame.name for errand in here if errand.trap}))
        late = [ask for errand in here for ask in late_asks(ground, errand)]
        here.extend(given)
        here.extend(asked_counts(ground, state, [*late, *asks.get(state.colony.key, ())], here))
        kept, closed = kept_closed(ground, sick, here)
        kept, barred = kept_off(ground, state, kept)
        refusals.extend((*closed, *barred))
        kept, boards = kept_warm(ground, state, kept, dosed)
        errands.extend((*kept, *kept_off(ground, state, boards)[0]))
    for name in methods_of(yard, (), (), book):
        if book.methods[name].per == "yard" and fits_yard(book.methods[name], states):
            errands.extend(_plain_errand(ground, name, book.methods[name], None, ground.written))
    for task in yard.tasks:
        errands.extend(_own(ground, task, states))
    return Unfolded(tuple(errands), tuple(refusals))


def _owed_alike(ground: Ground, state: ColonyState, known: WorkedOut) -> tuple[Owed, ...]:
    """What the methods of a colony have for it: worked out for one of a kind, and stamped for all others."""
    like = of_state(state)
    if like in known.kinds:
        kind = known.kinds[like]
        return tuple([_stamped(one, kind.key, state) for one in kind.owed])
    owed = tuple(_owed(ground, state, known.methods.setdefault(of_colony(state), {})))
    known.kinds[like] = Kind(state.colony.key, owed)
    return owed


def _stamped(owed: Owed, first: str, state: ColonyState) -> Owed:
    """What is owed to the ``first`` of a kind as it is owed to another."""
    if isinstance(owed, Errand):
        trap = next((one for one in state.traps.values() if owed.trap and one.frame.name == owed.trap.frame.name), None)
        key = f"{who(state, trap)}/{owed.method}"
        return owed.altered(key=key, colony=state, trap=trap, like=owed.like or owed.key)
    return owed and altered(owed, subject=state.colony.key + owed.subject.removeprefix(first))


def _owed(ground: Ground, state: ColonyState, alike: dict[Likeness, Owed]) -> Iterator[Owed]:
    """What the methods of a colony have for it and each of its trap frames."""
    for name in methods_of(ground.yard, state.colony.added, state.colony.declined, ground.book):
        method = ground.book.methods[name]
        if method.per != "yard":
            for trap in list(state.traps.values()) if method.per == "trap_frame" else [None]:
                found = _found(ground, name, method, state, trap, alike)
                yield found
                if isinstance(found, Refusal) and not method.rhythm:
                    yield _done_before(ground, name, method, state, trap)


def _done_before(ground: Ground, name: str, method: Method, state: ColonyState, trap: TrapState | None) -> Owed:
    """What was done this season of a method that is refused by now: it stays done."""
    frame = ground.frame(name, method)
    lines = ground.telling(frame, state.events)
    beginning = start(frame, state, trap, Fitness(), ground.season)
    if trap is None:
        past: Sequence[DoneStep] = next_cursor(ground, frame, beginning, lines)[1]
    else:
        past = tuple(trap_past(frame, beginning, trap, lines, ground))
    done = tuple(one for one in past if one.day is not None)
    key = f"{who(state, trap)}/{name}"
    return Errand(key, name, state, trap, frame, beginning, NOTHING, (), done) if done else None


def _found(
    ground: Ground, name: str, method: Method, state: ColonyState, trap: TrapState | None, alike: dict[Likeness, Owed]
) -> Owed:
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
        return found.altered(key=f"{who(state, trap)}/{name}", colony=state, trap=trap, like=found.key)
    return found and replace(found, subject=_subject(state, trap))


def _subject(state: ColonyState, trap: TrapState | None) -> str:
    """Whom a refusal is for, in words."""
    return state.colony.key + (f" {trap.frame.name}" if trap else "")


def _errand(ground: Ground, name: str, method: Method, state: ColonyState, trap: TrapState | None) -> Owed:
    fit = fitness(method, state, trap.frame if trap else None, ground.season, ground.book)
    hung = trap is not None and trap.emptied is not None
    if not fit.meant or (trap is not None and hung and _of_next_season(ground, trap)):
        return None
    subject = _subject(state, trap)
    if fit.against and not hung:
        return _refusal(ground, subject, name, method, fit.against)
    if method.rhythm:
        return None  # made around what packing chose (counting/)
    frame = ground.frame(name, method)
    lines = lines_that_judge(ground, state, ground.telling(frame, state.events))
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
    early = counted_before(ground, state, frame, cursor) if cursor and trap is None else ()
    advice = causes_words((*early, *fit.advice, *map(as_advice, fit.against)))
    key = f"{who(state, trap)}/{name}"
    return Errand(key, name, state, trap, frame, cursor or beginning, chain or NOTHING, advice, past, stuck)


def _of_next_season(ground: Ground, trap: TrapState) -> bool:
    """True for a trap frame that was hung after the season's last day: the next one owes its steps."""
    since = trap.days.get(ground.book.word("hangs_trap"))
    return since is not None and since.day > ground.season.last


def _take_out(ground: Ground, state: ColonyState, served: set[str]) -> Iterator[Errand]:
    """The last step of a method for trap frames that hang although no method of this colony uses them any more."""
    for trap in state.traps.values():
        if trap.emptied is None or trap.frame.name in served or _of_next_season(ground, trap):
            continue
        for name, method in ground.book.methods.items():
            fit = fitness(method, state, trap.frame, ground.season, ground.book)
            if method.per != "trap_frame" or not fit.meant:
                continue
            frame = ground.frame(name, method)
            last = list(method.steps)[-1]
            cursor = replace(start(frame, state, trap, fit, ground.season), step=last, begun=True)
            chain = ground.chain(frame, cursor)
            advice = (because_words(Because(Code.COMES_OUT)),)
            key = f"{who(state, trap)}/{name}"
            yield Errand(key, name, state, trap, frame, cursor, chain or NOTHING, advice, (), chain is None)
            break


def _refusal(ground: Ground, subject: str, name: str, method: Method, against: Sequence[Why]) -> Refusal:
    whys = tuple(why.what for why in against)
    helps = tuple(why.helps for why in against if why.helps)
    reasons = tuple(why.reason for why in against if why.reason)
    return Refusal(ground.yard.key, subject, name, method.title, whys, helps, reasons)


def _never_in_time(ground: Ground, fit: Fitness, frame: Frame, cursor: Cursor, chain: Chain | None) -> Why | None:
    """Why a trap that does not hang yet is not offered: it would come too late, or nobody could empty it in time."""
    found = opening_at(frame, cursor)
    if chain is None or (found is not None and ground.days.of(chain.first.days)[0] > _last_to_hang(fit, frame, cursor)):
        return _too_late(ground, fit, frame, cursor)
    path = one_way(chain)
    days = [ground.days.ordinals[chain.nodes[i].at] for i in path]
    made = list(replay(frame, cursor, [chain.steps[i] for i in path], days))
    if any(not one.bent for one in made[1:]):
        return None
    missed = made[1].opening if made[1:] else chain.missed.get(path[-1])
    if missed is None:
        return Why(Because(Code.NO_DAY_TO_EMPTY), Because(Code.OTHER_WEEKDAY))
    span = (missed.window.opens, missed.window.closes)
    return Why(Because(Code.NO_DAY_TO_EMPTY), Because(Code.DAY_IN, ((span,),)))


def _last_to_hang(fit: Fitness, frame: Frame, cursor: Cursor) -> int:
    """The last day on which a trap may be hung: later than its time only where that went by, not for a colony whose box
    is full too late.
    """
    free = opening_at(frame, replace(cursor, not_before=None))
    closes = free.days.closes if free is not None else 0
    late, full = frame.late_until(cursor.step), fit.not_before
    waits = full is not None and span_of(full).usual > closes
    return closes if late is None or waits else max(closes, late)


def _too_late(ground: Ground, fit: Fitness, frame: Frame, cursor: Cursor) -> Why | None:
    """Why a trap that could only be hung outside its time is not offered."""
    free = opening_at(frame, replace(cursor, not_before=None))
    if free is None:
        return None
    window, full = free.window, fit.not_before
    last = _last_to_hang(fit, frame, cursor)
    span, helps = (window.opens, last), Because(Code.NEXT_SEASON)
    if full is not None and span_of(full).usual > window.closes:
        day, last = span_of(full).usual, window.closes
        named, plain = Because(Code.FULL_TOO_LATE, (full.note, day, last)), Because(Code.BOX_FULL_TOO_LATE, (day, last))
        return Why(named if full.note else plain, helps, full)
    if last < ground.as_of:
        return Why(Because(Code.HANG_PAST, (span,)), helps)
    if ground.days.between(window.opens, last):
        return Why(Because(Code.HANG_IN_DEARTH, (span,)), Because(Code.FEED))
    ahead = (max(window.opens, ground.as_of), last)
    return Why(Because(Code.NO_DAY_TO_HANG, (ahead,)), Because(Code.DAY_OR_NEXT_SEASON))


# The keeper's own tasks ----------------------------------------------------------------------------------------------


def _own(ground: Ground, task: OwnTask, states: tuple[ColonyState, ...]) -> Iterator[Errand]:
    spent = Amount(task.minutes, task.minutes, task.minutes, "min")
    step = Step.model_construct(
        do=task.do, look=None, opens=task.opens, best=None, closes=task.closes, hard_stop=None, harm=None,
        minutes=Cited(spent, (), task.place, task.name, str(task.minutes)), bring=(), prepare=None, notes=(),
        cautions=(), circle=(), findings=(), blanks=(), logs=ground.book.word("does_own"), again=None, lid=None,
        at_once=False, table=None,
    )  # fmt: skip
    method = Method.model_construct(
        title=task.do, per="yard", needs=None, clock={}, seen={}, found={}, steps={task.name: step}
    )
    for state in states if task.per_colony else (None,):
        if state is None or state.alive:
            lines = state.events if state else ground.written
            effect = ground.book.effect
            told = [e for e in lines if effect(e.word) == "not_done"]
            mine = (e for e in lines if e.value.split()[:1] == [task.name])
            done = [*told, *(e for e in mine if effect(e.word) == "does_own")]
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
