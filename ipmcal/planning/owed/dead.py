"""Dead: what a hive that died still wants, and no more: to be shut, its combs looked at, what lies in it taken out.

In: the state of a colony that is dead, the courses that it had. Out: errands. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.model.plan.colony import ColonyState
from ipmcal.planning.days.frame import Cursor
from ipmcal.planning.owed.cursors import next_cursor, start
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.fitness import Fitness
from ipmcal.planning.owed.ground import Ground


def owed_dead(ground: Ground, state: ColonyState, courses: Sequence[Errand]) -> Iterator[Errand]:
    """The errands of a dead hive; ``courses`` are those that it had, with what was done of them."""
    name = ground.book.planning.dead_out
    frame = ground.frame(name, ground.book.methods[name])
    beginning = start(frame, state, None, Fitness(), ground.season)
    cursor, past = next_cursor(ground, frame, beginning, ground.telling(frame, state.events))
    chain = ground.chain(frame, cursor) if cursor else None
    if chain is not None or past:
        key = f"{state.colony.key}/{name}"
        yield Errand(key, name, state, None, frame, cursor or beginning, chain or NOTHING, (), past)
    for errand in courses:
        yield _taken_out(ground, state, errand)


def _taken_out(ground: Ground, state: ColonyState, errand: Errand) -> Errand:
    """A course of which nothing is left to do but to take out what lies in the hive, when its combs are looked at.

    How long it had to lie is no matter any more; by when it has to be out still is.
    """
    method, planning, book = errand.frame.method, ground.book.planning, ground.book
    out = [name for name, step in method.steps.items() if book.events[step.logs].effect == "strips_out"]
    if not errand.left or not out:
        return replace(errand, chain=NOTHING, stuck=False)
    looked = list(book.methods[planning.dead_out].steps.values())[-1]
    days = {"opens": looked.opens, "best": looked.best, "closes": looked.closes}
    others = {name: step for name, step in method.steps.items() if name != out[-1]}
    steps = {**others, out[-1]: method.steps[out[-1]].model_copy(update=days)}  # the last: nothing follows on it
    frame = ground.frame(f"{errand.frame.name},dead", method.model_copy(update={"steps": steps}))
    facts = {**errand.cursor.facts, planning.dead: state.days[planning.dead]}
    cursor = Cursor(out[-1], 1, {name: known for name, known in facts.items() if name in frame.names}, (), begun=True)
    chain = ground.chain(frame, cursor)
    return replace(errand, frame=frame, cursor=cursor, chain=chain or NOTHING, stuck=chain is None)
