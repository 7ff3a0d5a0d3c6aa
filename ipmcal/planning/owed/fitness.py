"""Needs: whether a method is for this colony, and if not, every reason why and what would help.

In: a method, a colony's state, the trap frame if it is about one. Out: a ``Fitness``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ipmcal.biology.comb import BeeSpace, Filling, Range, TrapComb, filling, trap_comb
from ipmcal.model.outfit.outfit import TrapFrame, Yard
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import Biology, Hives
from ipmcal.model.rules.methods import Method, WordNeed
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.recall.state import full_on

FLOWS = {"dearth": "summer_dearth", "main": "flow_main", "autumn": "flow_autumn"}


@dataclass(frozen=True, slots=True)
class Why:
    """A reason against, in words, what would help, and the chain behind it."""

    what: str
    helps: str = ""
    reason: Reason | None = None


@dataclass(frozen=True, slots=True)
class Fitness:
    """Whether a method fits a colony.

    ``meant`` False: it is not about this colony or trap frame at all, which needs no words. ``against`` forbids,
    ``advice`` warns. ``not_before`` holds the first step back; ``not_during`` are periods without a first step.
    """

    meant: bool = True
    against: tuple[Why, ...] = ()
    advice: tuple[str, ...] = ()
    not_before: Reason | None = None
    not_during: tuple[tuple[int, int, str], ...] = ()


def fitness(method: Method, state: ColonyState, trap: TrapFrame | None, season: Season, book: Rulebook) -> Fitness:
    """Whether ``method`` fits; ``trap`` is given for methods per trap frame."""
    needs = method.needs
    if needs.kind and not _allowed(needs.kind, {state.kind}):
        return Fitness(meant=False)
    if trap and needs.traps and not _allowed(needs.traps, {trap.kind}):
        return Fitness(meant=False)
    if needs.queen and needs.queen.is_ and not _allowed(needs.queen, state.queen):
        return Fitness(meant=False)
    if needs.queen and "clipped" in needs.queen.not_ and "clipped" in state.queen:
        return Fitness(meant=False)  # the method for clipped queens takes its place
    against = [*_queen(method, state), *_strength(method, state), *_brood(method, state)]
    if trap:
        against += [*_gap(method, state, trap, book), *_places(method, trap)]
    return Fitness(
        against=tuple(against),
        advice=tuple(_advice(method, state)),
        not_before=full_on(state, book.biology) if needs.box else None,
        not_during=tuple(_flows(needs.flow, season)) if needs.flow else (),
    )


def _allowed(need: WordNeed, words: set[str] | frozenset[str]) -> bool:
    return (not need.is_ or bool(words & set(need.is_))) and not words & set(need.not_)


def _queen(method: Method, state: ColonyState) -> Iterator[Why]:
    need = method.needs.queen
    if need and not need.advice:
        for word in sorted(state.queen & set(need.not_)):
            yield Why(f"the queen is {word.replace('_', ' ')}", "write it down when she lays again")


def _strength(method: Method, state: ColonyState) -> Iterator[Why]:
    need = method.needs.strength
    low = need.value.value.low if need else None
    if need and low is not None and state.strength is not None and state.strength < low and not need.advice:
        reason = Reason(Rule.NEED, "strength", None, (need.value,))
        yield Why(f"{state.strength:.0f} frames of brood, and {low:.0f} are needed", "strengthen it, or wait", reason)


def _brood(method: Method, state: ColonyState) -> Iterator[Why]:
    need = method.needs.brood
    if need and "suspect" in need.not_ and state.suspect:
        yield Why("its brood looks sick", "call the inspector; no comb leaves the hive until it is cleared")


def _advice(method: Method, state: ColonyState) -> Iterator[str]:
    need = method.needs.strength
    if need and need.value.value.low is not None and state.strength is None:
        yield f"Only with {need.value.value.low:.0f} frames of brood or more."


def _flows(need: WordNeed, season: Season) -> Iterator[tuple[int, int, str]]:
    for word in need.not_:
        mark = season.marks.get(FLOWS[word])
        if mark and mark.ends:
            yield mark.begins.usual, mark.ends.usual, word


def _places(method: Method, trap: TrapFrame) -> Iterator[Why]:
    need = method.needs.frames_a_place
    low = need.value.value.low if need else None
    if need and low is not None and trap.frames < low:
        reason = Reason(Rule.NEED, "frames a place", None, (need.value,))
        what = (
            f"{trap.name} has {trap.frames} drawn frame for its place, and {low:.0f} are needed: one hangs, one freezes"
        )
        yield Why(what, f"draw another drone frame, and write 'frames: {low:.0f}'", reason)


def _gap(method: Method, state: ColonyState, trap: TrapFrame, book: Rulebook) -> Iterator[Why]:
    need = method.needs.gap
    if need is None or "comb" not in need.is_:
        return
    box = state.colony.boxes[trap.box - 1].kind
    gap, comb = gap_mm(trap, box, book.hives), book.biology.comb
    least = comb.trap_gap.value.low
    if least is None or gap >= least:
        return
    frames = book.hives.frames
    fate = (
        "bees propolise it"
        if filling(max(gap, 0.0), bee_space(book.biology)) is not Filling.COMB
        else "too little comb"
    )
    what = (
        f"a {frames[trap.frame].title} frame in a {frames[box].title} box leaves a gap of {max(gap, 0):.0f} mm "
        f"below it: {fate}; a trap needs {least:.0f} mm"
    )
    values = (comb.trap_gap, comb.comb_gap, frames[box].height, frames[trap.frame].height)
    reason = Reason(Rule.NEED, "gap", None, values)
    yield Why(what, f"use drawn drone frames: write '{trap.name}: {{kind: drawn, frames: 2}}'", reason)


def gap_mm(trap: TrapFrame, box: str, hives: Hives) -> float:
    """The gap below a short frame: what its box's own frame would be longer, in mm."""
    return hives.frames[box].height.value.middle - hives.frames[trap.frame].height.value.middle


def bee_space(biology: Biology) -> BeeSpace:
    """The gaps that bees leave open, mm: narrower ones are propolised, wider ones are built in."""
    space, comb = biology.comb.bee_space.value, biology.comb.comb_gap.value
    assert space.low is not None
    return BeeSpace(space.low, comb.low if comb.low is not None else comb.middle)


def comb_below(trap: TrapFrame, box: str, book: Rulebook) -> TrapComb | None:
    """The comb to expect below a trap frame, None where the gap is too narrow."""
    comb = book.biology.comb
    cells, wax = comb.drone_cells.value, comb.wax.value
    assert cells.low is not None and cells.high is not None and wax.low is not None and wax.high is not None  # noqa: PT018
    gap = gap_mm(trap, box, book.hives)
    if gap <= 0:
        return None
    width = book.hives.frames[trap.frame].comb_width.value.middle
    density, grams = Range(cells.low, cells.high), Range(wax.low, wax.high)
    return trap_comb(gap, width, bee_space(book.biology), density=density, wax=grams)


def methods_of(yard: Yard, added: tuple[str, ...], declined: tuple[str, ...], book: Rulebook) -> list[str]:
    """The methods for a colony: the program's, what yard and colony add, less what they decline, in that order."""
    names = dict.fromkeys((*book.programs[yard.program].methods, *yard.added, *added))
    return [name for name in names if name not in {*yard.declined, *declined} - set(added)]
