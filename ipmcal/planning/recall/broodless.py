"""Broodless: when laying stopped and came back, by what was written, and the days with nothing capped that follow.

In: a colony's state or its lines, biology, the days that a count has to wait after. Out: breaks, their days. Pure.
Labels, counts and the days of ``brood.*`` all rest on ``breaks``. Broodless winters are found, not dated: nothing is
said of them here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.biology.brood import (
    BroodClocks,
    Broodless,
    Development,
    Mating,
    brood_after,
    brood_from,
    broodless,
    mated,
    walk_away,
)
from ipmcal.model.outfit.outfit import Colony, Event
from ipmcal.model.plan.colony import ColonyState, Known, Rest
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.lines import hived_of
from ipmcal.planning.days.bounds import beginning_reason, event_reason

SEEN = ("seen", "laying")
"""What is written of a queen who is there."""
WITHOUT_BROOD = ("package", "swarm")
"""Ways to begin without brood: bees on bare comb or foundation."""
SWARM = "swarm"
HALVED, GONE = "split", "missing"
"""A way to begin with brood, and perhaps without a queen; what is known of a queen that is not there."""
VIRGIN, MATED, CELLS = "virgin", "mated", "cells"
"""What is known of a queen to come: out and not mated, mated and not laying yet, or still in her cell."""
TO_COME = (VIRGIN, MATED, CELLS, GONE)


@dataclass(frozen=True, slots=True)
class Eggs:
    """The first day of laying again; ``written``: by a line that says so, else as a queen of their own would."""

    span: Span
    why: Reason
    lags: tuple[Cited[Span], ...] = ()
    written: bool = False


@dataclass(frozen=True, slots=True)
class Break:
    """A time without laying, from the day ``since``. ``stop`` is the line that stopped it (None: it began so).

    ``bare``: begun without brood, so that nothing is capped from the first day. ``eggs`` None: the queen is caged, and
    as far as is written she stays so: no end is known. ``raised``: a queen of their own is to lay again, so that cells
    or a virgin may be in the hive till then. ``rests``: she is there and lays no more, in autumn, without drones.
    """

    since: int
    why: Reason
    stop: Event | None
    eggs: Eggs | None
    bare: bool = False
    raised: bool = False
    rests: bool = False


def breaks(state: ColonyState, book: Rulebook) -> tuple[Break, ...]:
    """Every break of a colony, in the order in which they began."""
    return breaks_of(state.colony, state.kind, [e for e in state.events if e.trap is None], book, state.rests)


def breaks_of(
    colony: Colony, kind: str, events: Sequence[Event], book: Rulebook, rests: Sequence[Rest] = ()
) -> tuple[Break, ...]:
    """The same, of a colony that counts as ``kind``, with the lines about it; ``rests`` are the winters of its place.

    A line that stops the laying of a queen who does not lay yet again goes on with the break, also where she was let
    out meanwhile: how laying comes back is then told by that line. A queen seen laying after eggs were to be there
    tells nothing new.
    """
    found: list[Break] = []
    open_: Break | None = None
    if kind in WITHOUT_BROOD:
        why = beginning_reason(colony, book.word("begins"))
        open_ = Break(colony.began, why, None, _hived(colony, kind, why, events, book), bare=True)
    elif kind == HALVED and (told := _queen_then(colony, events, book)) in TO_COME:
        why = beginning_reason(colony, book.word("begins"))
        open_ = Break(colony.began, why, None, _raised(colony.began, why, _chosen(book), book), raised=True)
        open_ = _young(open_, found, Event(colony.began, "", colony.key, why.subject, None, told), book)
    lines = sorted(events, key=lambda e: e.day)
    for event in lines:
        rule = book.events[event.word]
        if rule.effect == "queen" and event.value in TO_COME:
            open_ = _young(open_, found, event, book)
            continue
        if rule.effect == "no_eggs" and (rest := _at_rest(event, lines, book, rests)) is not None:
            if open_ is None or (open_.eggs is not None and open_.eggs.span.high < rest.since):
                found, open_ = [*found, *([open_] if open_ else [])], rest  # eggs were there again before, unwritten
            continue
        if rule.effect == "stops_laying":
            if open_ is None and found:
                open_ = found.pop()  # a queen let out who is stopped before her first egg has not begun again
            open_, closed = _stopped(open_, event, book)
            found += [closed] if closed else []
        elif open_ is not None and (eggs := _told(open_, event, rule.effect, book.biology)) is not None:
            found.append(replace(open_, eggs=eggs))
            open_ = None
    return (*found, open_) if open_ else tuple(found)


def _stopped(one: Break | None, stop: Event, book: Rulebook) -> tuple[Break, Break | None]:
    """The break that a line which stops the laying begins or goes on with, and the one before if that is over.

    On the day of a stop she may have laid: where eggs were to be there by that day, the break before is over. One
    whose eggs were seen on the day that it began was none.
    """
    eggs = _own(stop, book)
    if one is not None and not one.rests and (one.eggs is None or one.eggs.span.high > stop.day):
        return replace(one, eggs=eggs, raised=eggs is not None), None
    begun = Break(stop.day, event_reason(stop), stop, eggs, raised=eggs is not None)
    return begun, one if one is not None and one.since < stop.day else None


def _young(one: Break | None, found: list[Break], event: Event, book: Rulebook) -> Break:
    """The break that a queen to come tells of: what was seen narrows the days of her first egg, and stands.

    Without a break, the last eggs may have been laid up to that day. A hive seen without a queen goes on as it was;
    where hers should have laid by then, it has none, and no end is known.
    """
    eggs = _eggs_of(event, book)
    if one is None and found and found[-1].eggs is not None and found[-1].eggs.span.high > event.day:
        one = found.pop()
    if one is None or one.rests:
        return Break(event.day, event_reason(event), event, eggs, raised=True)
    if event.value == GONE:
        late = one.eggs is not None and one.eggs.span.high <= event.day
        return replace(one, eggs=None) if late and not one.bare else replace(one, eggs=one.eggs or eggs, raised=True)
    both = one.eggs.span.narrow(eggs.span.low, eggs.span.high) if one.eggs is not None and one.raised else None
    return replace(one, eggs=replace(eggs, span=both or eggs.span), raised=True)


def _eggs_of(event: Event, book: Rulebook) -> Eggs:
    """The first egg of a queen to come, by what was seen of her on a day: in her cell, out, mated, or not at all."""
    known, queen = book.biology.castes.queen, book.biology.queen
    flies, lays = queen["mature_after_emerging"], queen["lays_after_mating"]
    day, why = event.day, event_reason(event)
    if event.value == GONE:
        return _raised(day, why, _chosen(book), book)
    if event.value == MATED:
        return Eggs(Span(day, day + lays.value.usual, day + lays.value.high), why, (lays,))
    mating = Mating(flies.value, lays.value)
    if event.value == VIRGIN:  # out today at the latest, and perhaps ready to fly
        out = Span(day - flies.value.high, day, day)
        return Eggs(Span(day + lays.value.low, mated(out, mating).usual, mated(out, mating).high), why, (flies, lays))
    out = Span(day, day + known.emerges.value.usual - known.capped.value.usual, day + known.emerges.value.high)
    return Eggs(mated(out, mating), why, (known.emerges, flies, lays))


def _at_rest(event: Event, lines: Sequence[Event], book: Rulebook, rests: Sequence[Rest]) -> Break | None:
    """A queen seen in autumn in a hive without eggs: she laid none for as many days as an egg takes to hatch.

    Until spring no more is looked for. None at any other time, or where she was not seen with it.
    """
    seen = any(e.day == event.day and book.events[e.word].effect == "queen" and e.value in SEEN for e in lines)
    rest = next((one for one in rests if one.first <= event.day < one.back.high), None)
    if not seen or rest is None:
        return None
    hatches, soonest = book.biology.hatches, event.day + 1
    back = Span(max(rest.back.low, soonest), max(rest.back.usual, soonest), rest.back.high)
    return Break(event.day - hatches.value.low, event_reason(event), event, Eggs(back, rest.why), rests=True)


def _queen_then(colony: Colony, events: Sequence[Event], book: Rulebook) -> str:
    """What the yard file, or a line of the day on which a colony was made, says of its queen."""
    told = [e.value for e in events if e.day == colony.began and book.events[e.word].effect == "queen"]
    return told[-1] if told else colony.queen.state


def _told(one: Break, event: Event, effect: str, biology: Biology) -> Eggs | None:
    """The eggs that a line tells of, if it ends the break."""
    if event.day < one.since + (not one.bare):
        return None
    if effect == "starts_laying":
        return replace(_released(event.day, event_reason(event), biology), written=True)
    if effect != "queen" or event.value != "laying":
        return None
    if one.eggs is not None and one.eggs.span.high < event.day:
        return one.eggs
    seen = Span(max(one.since, event.day - biology.hatches.value.high), event.day, event.day)
    return Eggs(seen, event_reason(event), written=True)


def _hived(colony: Colony, kind: str, why: Reason, events: Sequence[Event], book: Rulebook) -> Eggs:
    """The eggs of a queen hived with bees alone: of a swarm by what it was hived on, of a package once she is out."""
    told = [e for e in events if e.day == colony.began and book.events[e.word].effect == "made"]
    on = hived_of(told[-1].value, book.events[told[-1].word].value).on if told else ""
    lag = book.biology.queen[f"lays_on_{on}" if on else "swarm_lays" if kind == SWARM else "package_lays"]
    return Eggs(Span.exact(colony.began) + lag.value, why, (lag,))


def _released(day: int, why: Reason, biology: Biology) -> Eggs:
    lag = biology.queen["lays_after_release"]
    return Eggs(Span.exact(day) + lag.value, why, (lag,))


def _own(stop: Event, book: Rulebook) -> Eggs | None:
    """The eggs of a queen that the bees raise; None where their own is to be let out.

    When a swarm leaves, cells have just been capped; else larvae are chosen.
    """
    how = book.events[stop.word].laying_again
    if how == "let_out":
        return None
    if how == "ripe_cell":
        out = book.biology.queen["out_of_ripe_cell"]
        flies, lays = book.biology.queen["mature_after_emerging"], book.biology.queen["lays_after_mating"]
        eggs = mated(Span.exact(stop.day) + out.value, Mating(flies.value, lays.value))
        return Eggs(eggs, event_reason(stop), (out, flies, lays))
    age = book.biology.castes.queen.capped if how == "capped_cells" else _chosen(book)
    return _raised(stop.day, event_reason(stop), age, book)


def _chosen(book: Rulebook) -> Cited[Span]:
    """The age of what bees without a queen raise one from."""
    return book.biology.queen["larva_age_when_chosen"]


def _raised(day: int, why: Reason, age: Cited[Span], book: Rulebook) -> Eggs:
    """The eggs of a queen that is raised from a day on, from brood of an age."""
    known, queen = book.biology.castes.queen, book.biology.queen
    flies, lays = queen["mature_after_emerging"], queen["lays_after_mating"]
    raised = walk_away(Span.exact(day), age.value, castes_of(book.biology), Mating(flies.value, lays.value))
    return Eggs(raised.queen.first_egg, why, (age, known.emerges, flies, lays))


def castes_of(biology: Biology) -> BroodClocks:
    """The castes' calendars as formulas take them."""
    castes = (biology.castes.worker, biology.castes.drone, biology.castes.queen)
    return BroodClocks(biology.hatches.value, *(Development(c.capped.value, c.emerges.value) for c in castes))


# The days of a break --------------------------------------------------------------------------------------------------


def nothing_capped(one: Break, biology: Biology) -> Broodless:
    """The days with nothing capped: open from the first on which the last worker may be out to the last drone's.

    A colony without brood has none from the first day.
    """
    castes, eggs = castes_of(biology), one.eggs.span if one.eggs else None
    if one.bare:
        closes = None if eggs is None else brood_from(eggs, castes).capped - 1
        return Broodless(Span.exact(one.since), closes)
    stop = Span.exact(one.since)
    days, gone = broodless(stop, eggs, castes), brood_after(stop, castes)
    return replace(days, opens=gone.worker if one.rests else replace(days.opens, low=gone.worker.low))


@dataclass(frozen=True, slots=True)
class Spell:
    """Days, both inclusive, on which a colony may have no capped brood or has had brood again for less than the wait.

    ``why`` is what began it; ``last`` None: no end is known; ``sure`` is False where nobody wrote down when laying
    began again.
    """

    first: int
    last: int | None
    why: Reason
    sure: bool = True

    def holds(self, day: int) -> bool:
        """Whether a day is one of them."""
        return self.first <= day and (self.last is None or day <= self.last)


def spells(state: ColonyState, book: Rulebook, let_out: int | None = None) -> tuple[Spell, ...]:
    """Every such spell of a colony, in the order in which they began; the wait counts from eggs.

    ``let_out`` is the day (ordinal) on which a caged queen is to be let out at the latest; None: nobody knows.
    """
    found = (one if let_out is None else _until_let_out(one, let_out, book) for one in breaks(state, book))
    return tuple(spell for one in found for spell in _spell(one, book))


def _until_let_out(one: Break, day: int, book: Rulebook) -> Break:
    """A break of a queen who is still caged, as it ends if she is let out on a day."""
    return one if one.eggs is not None or day < one.since else replace(one, eggs=_released(day, one.why, book.biology))


def _spell(one: Break, book: Rulebook) -> Iterator[Spell]:
    """The spell of a break; none where eggs were there again before the last capped brood was out."""
    days, wait = nothing_capped(one, book.biology), book.counting.after_broodless.value.usual
    if one.eggs is None or days.closes is None:
        yield Spell(days.opens.low, None, one.why)
    elif days.closes.high >= days.opens.low:
        last = max(days.opens.low, one.eggs.span.high + wait)
        yield Spell(days.opens.low, last, one.why, sure=one.bare or one.eggs.written)


def brood_days(one: Break, biology: Biology) -> Mapping[str, Known]:
    """``brood.*`` of a break: the last brood out after laying stopped, the first there after it began again."""
    castes, days = biology.castes, {}
    if not one.bare:
        days["brood.last_worker"] = _grown("last_worker", one.why, castes.worker.emerges)
        days["brood.last_drone"] = _grown("last_drone", one.why, castes.drone.emerges)
    if one.eggs is not None:
        first = Reason(Rule.DEVELOPMENT, "first_egg", one.eggs.span, one.eggs.lags, (one.eggs.why,))
        days["brood.first_egg"] = Known(one.eggs.span.usual, first)
        days["brood.first_capped"] = _grown("first_capped", first, castes.worker.capped)
    return days


def _grown(subject: str, base: Reason, lag: Cited[Span]) -> Known:
    assert base.span is not None
    span = base.span + lag.value
    return Known(span.usual, Reason(Rule.DEVELOPMENT, subject, span, (lag,), (base,)))
