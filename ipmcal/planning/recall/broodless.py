"""Broodless: the days on which a colony has no capped brood, or has not had any again for long, by what was written.

In: a colony's state, biology, the days that a count has to wait after. Out: spells of days. Pure. Broodless winters are
found, not dated: nothing is said of them here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ipmcal.biology.brood import Castes, Development, Mating, walk_away
from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.planning.days.bounds import event_reason

WITHOUT_BROOD = ("package", "swarm")
"""Ways to begin without brood: bees on bare comb or foundation."""


@dataclass(frozen=True, slots=True)
class Spell:
    """Days, both inclusive, on which a colony may have no capped brood or has had brood again for less than the wait.

    ``why`` is what began it; ``sure`` is False where nobody wrote down when laying began again.
    """

    first: int
    last: int
    why: Reason
    sure: bool = True


def spells(state: ColonyState, book: Rulebook) -> tuple[Spell, ...]:
    """Every such spell of a colony, in the order in which they began.

    Laying begins again with what is written (released, or a queen seen laying), and at the latest when a queen that
    the bees raised themselves would lay. Capped brood is out when the youngest has emerged; the wait counts from eggs.
    """
    effects = {word: rule.effect for word, rule in book.events.items()}
    own = sorted((e for e in state.events if e.trap is None), key=lambda e: e.day)
    wait = book.counting.after_broodless.value.usual
    found = [_after(stop, own, effects, wait, book.biology) for stop in own if effects[stop.word] == "stops_laying"]
    if state.kind in WITHOUT_BROOD:
        began = state.days["began"]
        first_egg = began.day + book.biology.queen["lays_after_release"].value.high
        found.insert(0, Spell(began.day, first_egg + wait, began.why))
    return tuple(sorted((spell for spell in found if spell is not None), key=lambda s: (s.first, s.last)))


def _after(
    stop: Event, events: Sequence[Event], effects: Mapping[str, str], wait: int, biology: Biology
) -> Spell | None:
    """The spell after laying stopped; None where eggs were there again before the last capped brood was out."""
    written = [egg for e in events if e.day > stop.day and (egg := _first_egg(e, effects[e.word], biology)) is not None]
    first_egg = min(written) if written else _own_queen(stop.day, biology)
    gone = stop.day + biology.castes.worker.emerges.value.low
    capped_again = first_egg + biology.castes.worker.capped.value.high
    if capped_again <= gone:
        return None
    return Spell(gone, max(gone, first_egg + wait), event_reason(stop), bool(written))


def _first_egg(event: Event, effect: str, biology: Biology) -> int | None:
    """The latest day of the first egg that an event tells of."""
    if effect == "starts_laying":
        return event.day + biology.queen["lays_after_release"].value.high
    return event.day if effect == "queen" and event.value == "laying" else None


def _own_queen(stop: int, biology: Biology) -> int:
    """The latest day of the first egg of a queen that the bees raise themselves."""
    known, queen = biology.castes, biology.queen
    castes = Castes(
        biology.hatches.value,
        *(Development(c.capped.value, c.emerges.value) for c in (known.worker, known.drone, known.queen)),
    )
    mating = Mating(queen["mature_after_emerging"].value, queen["lays_after_mating"].value)
    return walk_away(Span.exact(stop), queen["larva_age_when_chosen"].value, castes, mating).queen.first_egg.high
