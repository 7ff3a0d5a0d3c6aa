"""Alike: what tells errands of one method apart, but for the names of colonies. In: states. Out: keys. Pure.

Forty colonies in step owe the same: what is worked out for one is the answer for all whose keys are equal.
"""

from __future__ import annotations

from collections.abc import Mapping

from ipmcal.model.plan.colony import ColonyState, Known, TrapState
from ipmcal.model.rules.files import EventRule
from ipmcal.planning.days.frame import Frame, line

Likeness = tuple[object, ...]

TELLING = ("not_done", "narrows_clock")
"""The effects of lines that tell something of a step beside those that say that it was done."""


def of_colony(state: ColonyState) -> Likeness:
    """What needs, windows and words depend on, whatever the method: all but the queen, that few methods ask about."""
    colony = state.colony
    began = (colony.began, colony.began_text, line(state.began.why))
    return (state.kind, state.strength, state.suspect, colony.boxes, *began)


def of_state(state: ColonyState) -> Likeness:
    """All that its methods owe to a colony depends on: states with equal keys are owed the same."""
    days = tuple([(word, known.day, line(known.why)) for word, known in state.days.items()])
    traps = tuple([of_trap(trap) for trap in state.traps.values()])
    hung = tuple([line(known.why) for trap in state.traps.values() for known in trap.days.values()])
    own = (state.colony.added, state.colony.declined)
    return (of_colony(state), state.queen, days, traps, hung, own, state.events)


def of_words(state: ColonyState) -> Likeness:
    """What the words of a task depend on, beside its step, its day and its trap frame: how the colony began and counts,
    how big it is, and which methods are its own."""
    colony = state.colony
    return (*of_colony(state), state.began.why.span, colony.kind, colony.added, colony.declined)


def of_trap(trap: TrapState) -> Likeness:
    """A trap frame as it stands: what it is, where it hangs, what became of it."""
    frame = trap.frame
    days = tuple((word, known.day) for word, known in trap.days.items())
    what = (frame.name, frame.kind, frame.frame, frame.box, frame.home, frame.frames)
    return (*what, trap.slot, trap.cycles, trap.emptied, trap.sightings, days)


def of_days(frame: Frame, *known: Mapping[str, Known]) -> Likeness:
    """The days that a method counts from, each with the line that tells it."""
    return tuple([(w, days[w].day, line(days[w].why)) for days in known for w in frame.names if w in days])


def telling_words(frame: Frame, events: Mapping[str, EventRule]) -> frozenset[str]:
    """The words of the journal by which lines tell what became of a method's steps."""
    telling = (word for word, rule in events.items() if rule.effect in TELLING)
    return frozenset((*telling, *(step.logs for step in frame.method.steps.values())))
