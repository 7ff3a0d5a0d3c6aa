"""Asked: the count that a colony owes since something asks for it, as an errand.

In: a yard's ground, a colony, its errands and what else asks. Out: an errand, or none. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.values.days import Span
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.decide.requests import CountRequest
from ipmcal.planning.owed.cursors import DoneStep, not_done
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.ground import Ground


def late_asks(ground: Ground, errand: Errand) -> Iterator[CountRequest]:
    """A count after a step that came too late, or will: where the rule wants one, and a journal tells.

    One that was made on the spot, as its sheet asks, answers it.
    """
    if errand.trap is None:
        return
    name, steps = errand.trap.frame.name, errand.frame.method.steps
    for past in errand.past:
        late = steps[past.cursor.step].if_late
        if past.status is Status.MISSED and past.day is not None and late and late.count:
            why = f"{name} was emptied after its last good day"
            yield CountRequest(past.day, why, (past.opening.window.why_closes,))
    late = steps[errand.cursor.step].if_late
    found = opening_at(errand.frame, errand.cursor) if late and late.count and _owed(errand) else None
    if found and found.window.hard_stop is not None and found.window.hard_stop < ground.as_of:
        why = f"the last good day of {name} is over"
        yield CountRequest(ground.as_of, why, (found.window.why_closes,), again=True)


def _owed(errand: Errand) -> bool:
    return errand.stuck or bool(errand.chain.nodes)


def asked_counts(
    ground: Ground, state: ColonyState, asks: Sequence[CountRequest], errands: Sequence[Errand]
) -> Iterator[Errand]:
    """One count for all that ask for it, but for what a count since has answered.

    Where the time of all that ask is over, it is behind: not done, as far as one knows. ``errands`` are the colony's
    own: a count among them may do.
    """
    if state.suspect or not asks:
        return
    name = ground.book.planning.asked_count
    frame = ground.frame(name, ground.book.methods[name])
    days = [e.day for e in state.events if ground.book.events[e.word].value == "count"]
    counted = max(days, default=0)
    n = sum(day >= ground.season.first for day in days) + 1
    pending = [ask for ask in asks if ask.day > counted or (ask.day == counted and ask.again)]
    key, gone = f"{state.colony.key}/{name}", None
    for first in sorted(pending, key=lambda ask: ask.day):
        cursor = _cursor(frame, n, first, (), first.why)
        found = opening_at(frame, cursor)
        if found is None or (first.unless_due and _due(ground, errands, found.window.closes)):
            continue
        closes = found.window.closes
        if closes < state.colony.began:
            continue  # it was asked of the yard before this colony stood there
        if closes < ground.as_of:
            if ground.gone_by(found.window) and closes >= ground.season.first:
                gone = DoneStep(cursor, found, not_done(ground, frame, cursor, state.events))
            continue
        together = [ask for ask in pending if first.day <= ask.day <= closes]
        words = "; ".join(dict.fromkeys(ask.why for ask in together))
        cursor = _cursor(frame, n, first, together, words)
        chain = ground.chain(frame, cursor)
        if chain is not None:
            yield Errand(
                key, name, state, None, frame, cursor, chain, (because_words(Because(Code.WHY_NOW, (words,))),)
            )
        return
    if gone is not None:
        yield Errand(key, name, state, None, frame, gone.cursor, NOTHING, (), (gone,))


def _due(ground: Ground, errands: Sequence[Errand], closes: int) -> bool:
    """True where mites are to be counted by a day in any case."""
    for errand in errands:
        step = errand.frame.method.steps[errand.cursor.step]
        if errand.chain.nodes and ground.book.events[step.logs].value == "count":
            found = opening_at(errand.frame, errand.cursor)
            if found is not None and found.window.opens <= closes:
                return True
    return False


def _cursor(frame: Frame, n: int, first: CountRequest, together: Sequence[CountRequest], words: str) -> Cursor:
    """The count asked for from the day of the ``first`` ask on, with all that asks for it ``together``."""
    under = tuple(dict.fromkeys(reason for ask in together or (first,) for reason in ask.under))
    why = Reason(Rule.ASKED, ASKED, Span.exact(first.day), (), under, words)
    return Cursor(next(iter(frame.method.steps)), n, {ASKED: Known(first.day, why)})
