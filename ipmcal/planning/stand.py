"""Stand: where a method stands with a colony or trap frame: the step owed, from what was done.

In: what is known of the colony, a method's needs. Out: cursors, and the steps of which nothing is known. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.model.colony import ColonyState, Known, TrapState
from ipmcal.model.outfit import Event
from ipmcal.model.plan import Reason, Rule, Window
from ipmcal.place.season import Season
from ipmcal.planning.bounds import event_reason
from ipmcal.planning.chain import Cursor, Frame, opening_at, step_after
from ipmcal.planning.ground import Ground
from ipmcal.planning.needs import Fitness

Skipped = tuple[tuple[str, int], ...]
"""Steps, with their number, whose time is over and of which the journal says nothing."""


def start(frame: Frame, state: ColonyState, trap: TrapState | None, fit: Fitness, season: Season) -> Cursor:
    """A method at its beginning, with what is known of the colony and the trap frame."""
    days = {**state.days, **(trap.days if trap else {})}
    facts = {name: known for name, known in days.items() if name in frame.names}
    closed = tuple((begin, end) for begin, end, _ in fit.not_during)
    first = next(iter(frame.method.steps))
    return Cursor(first, 1, facts, trap.sightings if trap else (), False, _held(state, fit, season), closed)


def _held(state: ColonyState, fit: Fitness, season: Season) -> Reason | None:
    """A colony that begins in this season has no task before it is there, nor before its box is full if need be."""
    began = state.days["began"]
    if fit.not_before is not None:
        return fit.not_before
    return began.why if began.day >= season.first else None


def trap_cursor(ground: Ground, beginning: Cursor, frame: Frame, trap: TrapState) -> Cursor | None:
    """A trap frame that hangs owes its cut; its number counts the cycles begun. One taken out this season stays out."""
    if trap.emptied is None:
        out = trap.days.get("trap_out")
        away = trap.slot is None and (out is None or out.day < ground.season.first)
        return beginning if away else None
    following = step_after(frame.method, beginning.step)
    assert following is not None
    return replace(beginning, step=following, n=trap.cycles + 1, begun=True)


def next_cursor(
    ground: Ground, frame: Frame, beginning: Cursor, events: Sequence[Event]
) -> tuple[Cursor | None, Skipped]:
    """The step behind the last one that was done; with a journal, steps whose time is over are unknown and left behind.

    Steps that were never owed are passed over: the colony began too late for them, or what they count from happened so
    long ago that their time was over before this season began.
    """
    done = _done(frame, beginning, events, ground.season)
    last = max(done, default=-1)
    since = max(known.day for known in done[last]) if done else None
    steps = list(frame.method.steps.items())
    told = {steps[i][0]: days[-1] for i, days in done.items() if steps[i][0] in frame.names}
    beginning = replace(beginning, facts={**beginning.facts, **told})
    skipped: list[tuple[str, int]] = []
    for i, (name, step) in enumerate(steps):
        if i in done and (i < last or step.again is None):
            continue
        here = replace(beginning, step=name, n=len(done.get(i, ())) + 1, begun=i == last)
        found = opening_at(frame, here)
        if found is None or found.window.closes < ground.season.first:
            continue
        over = step.again is None and ground.gone_by(found.window, since)
        if i >= last and not over:
            return here, tuple(skipped)
        if ground.recorded:
            skipped.append((name, here.n))
    return None, tuple(skipped)


def _done(frame: Frame, beginning: Cursor, events: Sequence[Event], season: Season) -> dict[int, list[Known]]:
    """The days on which each step was done this season, by its place in the method.

    What was done goes to the step nearest in time, of equals to one not done yet; a step that repeats does not begin
    before its time. A step that counts from something that happened can't have been done before it. Lines of one day
    with one word are one act.
    """
    acts = {(e.day, e.word): e for e in reversed(events) if season.first <= e.day <= season.last}
    done: dict[int, list[Known]] = {}
    facts = dict(beginning.facts)
    for (day, word), event in sorted(acts.items(), key=lambda item: item[0]):
        near = []
        for i, (name, step) in enumerate(frame.method.steps.items()):
            here = replace(beginning, step=name, n=1, facts=facts, not_before=None)
            found = opening_at(frame, here) if step.logs == word else None
            if found is not None and day >= _earliest(found.window, repeated=step.again is not None):
                near.append((_distance(day, found.window), i in done, i, name))
        if near:
            _, _, i, name = min(near)
            done.setdefault(i, []).append(Known(day, event_reason(event)))
            if name in frame.names:
                facts = {**facts, name: done[i][-1]}
    return done


def _earliest(window: Window, *, repeated: bool) -> int:
    """The first day on which a step can have been done."""
    happened = max(_happened(window.why_opens), default=0)
    return max(happened, window.opens) if repeated else happened


def _happened(reason: Reason) -> Iterator[int]:
    """The days of the events that a reason rests on."""
    if reason.rule in (Rule.EVENT, Rule.COLONY) and reason.span is not None:
        yield reason.span.usual
    for under in reason.under:
        yield from _happened(under)


def _distance(day: int, window: Window) -> int:
    return max(window.opens - day, day - window.closes, 0)
