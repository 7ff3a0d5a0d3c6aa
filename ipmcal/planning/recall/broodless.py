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
    walk_away,
)
from ipmcal.model.outfit.outfit import Colony, Event
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.planning.days.bounds import event_reason

WITHOUT_BROOD = ("package", "swarm")
"""Ways to begin without brood: bees on bare comb or foundation."""
HALVED, GONE = "split", "missing"
"""A way to begin with brood, and perhaps without a queen; what is known of a queen that is not there."""


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
    as far as is written she stays so: no end is known.
    """

    since: int
    why: Reason
    stop: Event | None
    eggs: Eggs | None
    bare: bool = False


def breaks(state: ColonyState, book: Rulebook) -> tuple[Break, ...]:
    """Every break of a colony, in the order in which they began."""
    return breaks_of(state.colony, state.kind, [e for e in state.events if e.trap is None], book)


def breaks_of(colony: Colony, kind: str, events: Sequence[Event], book: Rulebook) -> tuple[Break, ...]:
    """The same, of a colony that counts as ``kind``, with the lines about it.

    A line that stops the laying of a queen who does not lay yet again goes on with the break, also where she was let
    out meanwhile: how laying comes back is then told by that line. A queen seen laying after eggs were to be there
    tells nothing new.
    """
    found: list[Break] = []
    open_: Break | None = None
    why = Reason(Rule.COLONY, book.word("begins"), Span.exact(colony.began), (), (), colony.began_text)
    if kind in WITHOUT_BROOD:
        open_ = Break(colony.began, why, None, _released(colony.began, why, book.biology), bare=True)
    elif kind == HALVED and _left_without(colony, events, book):
        open_ = Break(colony.began, why, None, _raised(colony.began, why, _chosen(book), book))
    for event in sorted(events, key=lambda e: e.day):
        rule = book.events[event.word]
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
    if one is not None and (one.eggs is None or one.eggs.span.high > stop.day):
        return replace(one, eggs=eggs), None
    return Break(stop.day, event_reason(stop), stop, eggs), one if one is not None and one.since < stop.day else None


def _left_without(colony: Colony, events: Sequence[Event], book: Rulebook) -> bool:
    """True where the yard file, or a line of the day on which it was made, says that the queen is not there."""
    told = [e.value for e in events if e.day == colony.began and book.events[e.word].effect == "queen"]
    return (told[-1] if told else colony.queen.state) == GONE


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
    days = broodless(stop, eggs, castes)
    return replace(days, opens=replace(days.opens, low=brood_after(stop, castes).worker.low))


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


def spells(state: ColonyState, book: Rulebook) -> tuple[Spell, ...]:
    """Every such spell of a colony, in the order in which they began; the wait counts from eggs."""
    return tuple(spell for one in breaks(state, book) for spell in _spell(one, book))


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
