"""Tender: the days on which a virgin or wanted queen cells may be in a hive, by what was written of it.

In: a colony's state, biology. Out: ``Tender`` values. Pure. On such days nobody shakes a comb there, washes bees, or
goes through it for drone brood: she is lost so (common practice of queen rearers; ``planning.yaml``, ``rough_work``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.planning.days.bounds import event_reason
from ipmcal.planning.recall.broodless import CELLS, GONE, MATED, SEEN, VIRGIN, Break, breaks

SETTLES = ("queen", "starts_laying")
"""Effects of lines that tell what became of cells: she is there and lays, or another was given."""


@dataclass(frozen=True, slots=True)
class Tender:
    """Days, both inclusive, on which a virgin or cells may be in a hive; ``last`` None: no end is known.

    ``guessed``: no queen was found, and neither cells nor a virgin were seen: a comb is lifted to find out.
    """

    first: int
    last: int | None
    why: Reason
    guessed: bool = False

    def holds(self, day: int) -> bool:
        """Whether a day is one of them."""
        return self.first <= day and (self.last is None or day <= self.last)


def tender_days(state: ColonyState, book: Rulebook) -> tuple[Tender, ...]:
    """Every such stretch: from the loss of a queen to the eggs of the one that is raised, from cells to the next look.

    Where nobody wrote that she lays, they end when the latest should: then somebody looks.
    """
    raised = (one for one in breaks(state, book) if one.raised)
    queens = (
        Tender(one.since, one.eggs.span.high if one.eggs else None, one.why, _guessed(one, state)) for one in raised
    )
    return (*queens, *_cells(state, book))


def _guessed(one: Break, state: ColonyState) -> bool:
    """Whether a break rests on a queen who was not found, and nothing of one to come was seen since."""
    seen = any(e.trap is None and e.day >= one.since and e.value in (VIRGIN, MATED, CELLS) for e in state.events)
    return one.stop is not None and one.stop.value == GONE and not seen


def _cells(state: ColonyState, book: Rulebook) -> Iterator[Tender]:
    """From cells that were found until a later look, or until one of them should lay."""
    own = [e for e in state.events if e.trap is None]
    queen = book.biology.queen
    longest = book.biology.castes.queen.emerges.value + queen["mature_after_emerging"].value
    longest = longest + queen["lays_after_mating"].value
    for found in (e for e in own if book.effect(e.word) == "finds_cells"):
        looks = [e.day for e in own if e.day > found.day and _settles(e, book)]
        last = min((*looks, (Span.exact(found.day) + longest).high))
        yield Tender(found.day, last - 1 if looks else last, event_reason(found))


def cells_told_by(state: ColonyState, book: Rulebook) -> int | None:
    """The day by which the next look tells what became of cells that were found; None where there are none to look at.

    Where nobody has looked by then, a look comes before whatever would harm a queen to come.
    """
    own = [e for e in state.events if e.trap is None]
    found = max((e.day for e in own if book.effect(e.word) == "finds_cells"), default=None)
    if found is None or any(e.day > found and _settles(e, book) for e in own):
        return None
    return found + int(book.planning.cells_told.value.middle)


def _settles(event: Event, book: Rulebook) -> bool:
    """Whether a line tells what became of cells that were found before: a look, or a queen who lays."""
    rule = book.events[event.word]
    if rule.effect == "queen":
        return event.value in SEEN
    return rule.look or rule.effect in SETTLES
