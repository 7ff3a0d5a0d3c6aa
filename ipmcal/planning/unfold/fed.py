"""Fed: what is fed for winter comes after supers that a yard wants back: honey that is harvested holds no syrup.

In: a yard's errands. Out: errands that keep in that order. Pure. Other supers are off before feeding
opens.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from ipmcal.model.plan.reasons import Rule
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of
from ipmcal.planning.days.chain import pruned
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.recall.situate import OFF, WANTED


def fed_after(ground: Ground, errands: Iterable[Errand]) -> tuple[Errand, ...]:
    """The errands, each hive fed from the harvest on no sooner than on the day on which its supers come off at last.

    Where the keeper's days leave no room for that, they stay as they are.
    """
    found = list(errands)
    if WANTED not in ground.season.marks or OFF not in ground.season.marks:
        return tuple(found)
    for hive in dict.fromkeys(errand.colony.colony.key for errand in found if errand.colony is not None):
        mine = [i for i, e in enumerate(found) if e.colony is not None and e.colony.colony.key == hive]
        day = _day_between(ground, [found[i] for i in mine])
        if day is not None:
            for i in mine:
                found[i] = _kept(ground, found[i], day)
    return tuple(found)


def _day_between(ground: Ground, mine: Sequence[Errand]) -> int | None:
    """The keeper's day by which supers come off, and from which on there is food: of those that leave room for both the
    one nearest to that on which supers best come off. None where there is none, or nothing to keep in order."""
    off, food = (_days(ground, mine, is_it) for is_it in (_takes_off, _feeds))
    if not off or not food or max(off) <= min(food):
        return None
    method = next(e.frame.method for e in mine if any(_takes_off(ground, e, i) for i in range(len(e.chain.nodes))))
    last = list(method.steps.values())[-1]
    found = bound_days(
        Clockwork(ground.season, {}, {}, {}), last.best or last.opens or (), Footing({}, {}), Rule.LATEST_OF
    )
    best = max(off) if found is None else span_of(found).usual
    return min((day for day in off if day <= max(food)), key=lambda day: (abs(day - best), day), default=None)


def _days(ground: Ground, mine: Sequence[Errand], is_it: Callable[[Ground, Errand, int], bool]) -> list[int]:
    """The days of the nodes of a kind: of the first turn that an errand has of it; others follow on that."""
    days, found = ground.days.ordinals, list[int]()
    for errand in mine:
        chain = errand.chain
        nodes = [i for i in range(len(chain.nodes)) if is_it(ground, errand, i)]
        found += [days[chain.nodes[i].at] for i in nodes if chain.steps[i] == chain.steps[nodes[0]]]
    return found


def _takes_off(ground: Ground, errand: Errand, node: int) -> bool:
    """Whether a node takes off supers that were wanted back."""
    effect = ground.book.effect(errand.frame.method.steps[errand.chain.steps[node][0]].logs)
    return effect == "supers_off" and _on(ground, errand, node) >= ground.season.marks[WANTED].begins.usual


def _on(ground: Ground, errand: Errand, node: int) -> int:
    return ground.days.ordinals[errand.chain.nodes[node].at]


def _feeds(ground: Ground, errand: Errand, node: int) -> bool:
    """Whether a node feeds, from the harvest on."""
    logs = errand.frame.method.steps[errand.chain.steps[node][0]].logs
    food = logs in ground.book.planning.feeding and not ground.book.events[logs].look
    return food and _on(ground, errand, node) >= ground.season.marks[OFF].begins.usual


def _kept(ground: Ground, errand: Errand, day: int) -> Errand:
    """The errand with its supers off by a day, and its food from then on."""

    def in_order(i: int) -> bool:
        if _takes_off(ground, errand, i):
            return _on(ground, errand, i) <= day
        return _on(ground, errand, i) >= day or not _feeds(ground, errand, i)

    made = pruned(errand.chain, in_order) if errand.chain.nodes else None
    return errand if made is None else replace(errand, chain=made)
