"""Needs: whether a method is for this colony, and if not, every reason why and what would help.

In: a method, a colony's state, the trap frame if it is about one. Out: a ``Fitness``. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from ipmcal.biology.comb import BeeSpace, Filling, Measure, TrapComb, filling, trap_comb
from ipmcal.model.outfit.outfit import TrapFrame, Yard
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import Biology, Hives
from ipmcal.model.rules.methods import Method, RangeNeed, WordNeed
from ipmcal.model.rules.needs import FLOWS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.forms import Amount
from ipmcal.place.season import Season
from ipmcal.planning.recall.state import full_on


@dataclass(frozen=True, slots=True)
class Why:
    """A reason against, what would help, and the chain behind it."""

    what: Because
    helps: Because | None = None
    reason: Reason | None = None


@dataclass(frozen=True, slots=True)
class Fitness:
    """Whether a method fits a colony.

    ``meant`` False: it is not about this colony or trap frame at all, which needs no words. ``against`` forbids,
    ``advice`` warns. ``not_before`` holds the first step back; ``not_during`` are periods without a first step.
    """

    meant: bool = True
    against: tuple[Why, ...] = ()
    advice: tuple[Because, ...] = ()
    not_before: Reason | None = None
    not_during: tuple[tuple[int, int, str], ...] = ()


FITS = Fitness()
"""Nothing speaks against it."""


@dataclass(frozen=True)
class NeedCase:
    """Whom a need is asked of: a colony, its trap frame where the method is about one, its season, the rules."""

    state: ColonyState
    trap: TrapFrame | None
    season: Season
    book: Rulebook


def fitness(method: Method, state: ColonyState, trap: TrapFrame | None, season: Season, book: Rulebook) -> Fitness:
    """Whether ``method`` fits; ``trap`` is given for methods per trap frame."""
    case = NeedCase(state, trap, season, book)
    asked = ((getattr(method.needs, word), check) for word, check in NEED_CHECKS.items())
    found = [one for need, check in asked if need is not None and (one := check(need, case)) is not FITS]
    if not found:
        return FITS
    if not all(one.meant for one in found):
        return Fitness(meant=False)
    return Fitness(
        against=tuple(why for one in found for why in one.against),
        advice=tuple(said for one in found for said in one.advice),
        not_before=next((one.not_before for one in found if one.not_before is not None), None),
        not_during=tuple(period for one in found for period in one.not_during),
    )


def fits_yard(method: Method, states: Iterable[ColonyState]) -> bool:
    """Whether a method per yard is for one: where it asks about trap frames, some living hive has a place for one."""
    need = method.needs.traps
    frames = (trap.frame for state in states if state.alive for trap in state.traps.values())
    return need is None or any(not list(_meant_for(need, {frame.kind}, "trap_frame")) for frame in frames)


def _told(need: WordNeed | RangeNeed, whys: Iterable[Why], *, meant: bool = True) -> Fitness:
    """What speaks against: by a need that only warns, advice; else it forbids, or is ``meant`` for others."""
    said = tuple(whys)
    if not said:
        return FITS
    if need.advice:
        return Fitness(advice=tuple(as_advice(why) for why in said))
    return Fitness(against=said) if meant else Fitness(meant=False)


def as_advice(why: Why) -> Because:
    """What speaks against, as advice to mind it."""
    return Because(Code.MIND, (why.what,))


def _meant_for(need: WordNeed, words: Collection[str], what: str) -> Iterator[Why]:
    """Whether a colony, frame or queen is of the sort that a method is meant for; if not, why."""
    if need.is_ and not set(need.is_) & set(words):
        yield Why(Because(Code.MEANT_FOR, (what, tuple(need.is_))))
    barred = tuple(word for word in need.not_ if word in words)
    if barred:
        yield Why(Because(Code.NOT_MEANT_FOR, (what, barred)))


def _kind(need: WordNeed, case: NeedCase) -> Fitness:
    return _told(need, _meant_for(need, {case.state.kind}, "colony"), meant=False)


def _traps(need: WordNeed, case: NeedCase) -> Fitness:
    return _told(need, _meant_for(need, {case.trap.kind} if case.trap else (), "trap_frame"), meant=False)


def _queen(need: WordNeed, case: NeedCase) -> Fitness:
    """Other queens than those asked for, and clipped ones, have methods of their own; of others it is said."""
    queen = case.state.queen
    others = need.is_ and not queen & set(need.is_)
    clipped = "clipped" in need.not_ and "clipped" in queen
    if (others or clipped) and not need.advice:
        return Fitness(meant=False)
    whys = [Why(Because(Code.MEANT_FOR, ("queen", tuple(need.is_))))] if others else []
    for word in sorted(queen & set(need.not_)):
        whys.append(Why(Because(Code.QUEEN_IS, (word,)), Because(Code.WRITE_LAYING)))
    return _told(need, whys)


def _strength(need: RangeNeed, case: NeedCase) -> Fitness:
    """Frames of brood as last counted; where nobody counted, it is left to whoever stands at the hive."""
    wanted, has = need.value.value, case.state.strength
    if has is None:
        return Fitness(advice=(_only_with(wanted),))
    if wanted.contains(has):
        return FITS
    reason = Reason(Rule.NEED, "strength", None, (need.value,))
    if wanted.low is not None and has < wanted.low:
        few = Because(Code.TOO_FEW_FRAMES, (has, wanted.low))
        return _told(need, [Why(few, Because(Code.STRENGTHEN), reason)])
    return _told(need, [Why(Because(Code.TOO_MANY_FRAMES, (has, wanted.upper_end)), None, reason)])


def _only_with(wanted: Amount) -> Because:
    if wanted.high is None:
        return Because(Code.ONLY_FROM, (wanted.lower_end,))
    if wanted.low is None:
        return Because(Code.ONLY_TO, (wanted.high,))
    return Because(Code.ONLY_BETWEEN, ((wanted.low, wanted.high),))


def _brood(need: WordNeed, case: NeedCase) -> Fitness:
    suspect = case.state.suspect
    if "suspect" in need.is_ and not suspect:
        return _told(need, [Why(Because(Code.MEANT_FOR_SICK))], meant=False)
    if "suspect" not in need.not_ or not suspect:
        return FITS
    return _told(need, [Why(Because(Code.BROOD_SICK), Because(Code.CALL_INSPECTOR))])


def _places(need: RangeNeed, case: NeedCase) -> Fitness:
    wanted, trap = need.value.value, case.trap
    if trap is None or wanted.contains(trap.frames):
        return FITS
    reason = Reason(Rule.NEED, "frames a place", None, (need.value,))
    if wanted.low is None or trap.frames >= wanted.low:
        many = Because(Code.PLACE_TOO_MANY, (trap.name, trap.frames, wanted.upper_end))
        return _told(need, [Why(many, Because(Code.WRITE_FRAMES, (wanted.upper_end,)), reason)])
    few = Because(Code.PLACE_TOO_FEW, (trap.name, trap.frames, wanted.low))
    return _told(need, [Why(few, Because(Code.DRAW_ANOTHER, (wanted.low,)), reason)])


def _box(need: WordNeed, case: NeedCase) -> Fitness:
    """A new colony waits until its box counts as full."""
    full = full_on(case.state, case.book.biology)
    if full is None:
        return FITS
    if not need.advice:
        return Fitness(not_before=full)
    assert full.span is not None
    return Fitness(advice=(Because(Code.BOX_FULL_FROM, (full.span.usual,)),))


def _flow(need: WordNeed, case: NeedCase) -> Fitness:
    """No first step in a period that is barred, nor outside those that are asked for."""
    season = case.season
    barred = [(*period, word) for word in need.not_ for period in _period(season, word)]
    wanted = sorted(period for word in need.is_ for period in _period(season, word))
    if need.is_ and not wanted:
        return _told(need, [Why(Because(Code.NO_FLOW, (tuple(need.is_),)), Because(Code.OTHER_METHOD))])
    if need.advice:
        said = [Because(Code.NOT_IN_FLOW, (word, (first, last))) for first, last, word in barred]
        if wanted:
            said.append(Because(Code.ONLY_IN_FLOW, (tuple(need.is_), tuple(wanted))))
        return Fitness(advice=tuple(said))
    free = season.first
    for first, last in wanted:
        # what lies between the periods that are asked for is barred
        if first > free:
            barred.append((free, first - 1, ""))
        free = max(free, last + 1)
    return Fitness(not_during=(*barred, *(((free, season.last, ""),) if wanted and free <= season.last else ())))


def _period(season: Season, word: str) -> Iterator[tuple[int, int]]:
    mark = season.marks.get(FLOWS[word])
    if mark and mark.ends:
        yield mark.begins.usual, mark.ends.usual


def _warmth(need: RangeNeed, case: NeedCase) -> Fitness:
    """No plan knows the warmth of a day to come: the sheet says below which to close up (``settle/visits.py``)."""
    return FITS


def _gap(need: WordNeed, case: NeedCase) -> Fitness:
    return _told(need, _no_room(case.state, case.trap, case.book) if case.trap else ())


NeedCheck = Callable[[Any, NeedCase], Fitness]
NEED_CHECKS: dict[str, NeedCheck] = {
    "kind": _kind,
    "traps": _traps,
    "queen": _queen,
    "strength": _strength,
    "brood": _brood,
    "gap": _gap,
    "frames_a_place": _places,
    "box": _box,
    "flow": _flow,
    "temperature": _warmth,
}
"""The check of each need's word, in the order in which what speaks against is told."""


def _no_room(state: ColonyState, trap: TrapFrame, book: Rulebook) -> Iterator[Why]:
    """Why too little comb would be built below a short frame, where so."""
    box = state.colony.boxes[trap.box - 1].kind
    gap, comb = gap_mm(trap, box, book.hives), book.biology.comb
    least = comb.trap_gap.value.low
    if least is None or gap >= least:
        return
    frames = book.hives.frames
    built = filling(max(gap, 0.0), bee_space(book.biology)) is Filling.COMB
    what = Because(
        Code.GAP_TOO_LITTLE if built else Code.GAP_PROPOLISED,
        (frames[trap.frame].title, frames[box].title, max(gap, 0.0), least),
    )
    values = (comb.trap_gap, comb.comb_gap, frames[box].height, frames[trap.frame].height)
    reason = Reason(Rule.NEED, "gap", None, values)
    yield Why(what, Because(Code.USE_DRAWN, (trap.name,)), reason)


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
    density, grams = Measure(cells.low, cells.high), Measure(wax.low, wax.high)
    return trap_comb(gap, width, bee_space(book.biology), density=density, wax=grams)


def methods_of(yard: Yard, added: tuple[str, ...], declined: tuple[str, ...], book: Rulebook) -> list[str]:
    """The methods for a colony: the program's, what yard and colony add, less what they decline, in that order."""
    names = dict.fromkeys((*book.programs[yard.program].methods, *yard.added, *added))
    without = {*yard.declined, *declined}.difference(added)
    return [name for name in names if name not in without]
