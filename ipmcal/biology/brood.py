"""Brood: the days on which it is laid, capped, gone and back, and the days of a new queen.

In: uncertain days (ordinals, Span) and the development of the castes in days. Out: uncertain days.

Day 0 is the day of laying; an age of N days is reached on that date + N (some guides count the day of laying as day
1 and look one day later). Spans add edge by edge, so that a result holds every day that may be meant. The numbers are
arguments; they stand, each with its source, in the rules. How such calendars are drawn up: Dietemann et al. 2013,
"Standard methods for varroa research", J. Apic. Res. 52(1), section 4.7 (broodless colonies).
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.values.days import Span, earliest, latest


@dataclass(frozen=True, slots=True)
class Development:
    """Ages of one caste in days from laying: when its cell is capped, and when the bee emerges.

    >>> drone = Development(capped=Span(9, 10, 10), emerges=Span(24, 24, 25))
    >>> drone.last_good_day(Span.exact(100))
    123

    Raises ValueError unless 0 < capped < emerges, edge by edge.
    """

    capped: Span
    emerges: Span

    def __post_init__(self) -> None:
        edges = ("low", "usual", "high")
        if not all(0 < getattr(self.capped, edge) < getattr(self.emerges, edge) for edge in edges):
            raise ValueError(f"brood is capped after laying and before it emerges, not {self.capped}, {self.emerges}")

    def capped_on(self, egg: Span) -> Span:
        """The day on which brood from an egg of that day is capped."""
        return egg + self.capped

    def emerges_on(self, egg: Span) -> Span:
        """The day on which the bee from an egg of that day emerges."""
        return egg + self.emerges

    def last_good_day(self, first_egg: Span) -> int:
        """The last day on which none can have emerged: the day before the first possible emergence."""
        return self.emerges_on(first_egg).low - 1


@dataclass(frozen=True, slots=True)
class BroodClocks:
    """The development of all three castes, and the age in days at which eggs (all castes alike) hatch."""

    hatches: Span
    worker: Development
    drone: Development
    queen: Development


@dataclass(frozen=True, slots=True)
class Fading:
    """The first day without each kind of brood, once laying has stopped."""

    eggs: Span
    open_worker: Span
    open_drone: Span
    worker: Span
    drone: Span

    @property
    def any(self) -> Span:
        """The first day without any brood."""
        return latest((self.worker, self.drone))


@dataclass(frozen=True, slots=True)
class Returning:
    """The first day with each kind of brood, once laying has begun."""

    larvae: Span
    capped_worker: Span
    capped_drone: Span
    young_workers: Span
    young_drones: Span

    @property
    def capped(self) -> Span:
        """The first day with anything capped."""
        return earliest((self.capped_worker, self.capped_drone))


@dataclass(frozen=True, slots=True)
class Broodless:
    """The days with nothing capped: the first of them, and the last (None where laying is not known to begin)."""

    opens: Span
    closes: Span | None

    @property
    def surely(self) -> tuple[int, int] | None:
        """First and last day of which that is sure, whatever the spread; None where there is no such day."""
        if self.closes is None or self.opens.high > self.closes.low:
            return None
        return self.opens.high, self.closes.low


@dataclass(frozen=True, slots=True)
class Mating:
    """Days from emergence to the mating flights, and from those to the first egg."""

    flies: Span
    lays: Span


@dataclass(frozen=True, slots=True)
class NewQueen:
    """The days on which a queen's cell is sealed, she emerges, flies to mate, and lays her first egg."""

    sealed: Span
    emerges: Span
    mates: Span
    first_egg: Span


@dataclass(frozen=True, slots=True)
class WalkAway:
    """The queenless half of a split: its new queen, its old brood, and its days with nothing capped."""

    queen: NewQueen
    old_brood: Fading
    broodless: Broodless


def brood_after(stop: Span, castes: BroodClocks) -> Fading:
    """How brood fades after the last eggs, laid on ``stop`` (the queen caged, lost, or taken away).

    "The first day without" is the day on which the last of a kind moves on: worker brood of a queen caged on 1 June
    is gone on 22 June, at 21 days.
    """
    return Fading(
        eggs=stop + castes.hatches,
        open_worker=castes.worker.capped_on(stop),
        open_drone=castes.drone.capped_on(stop),
        worker=castes.worker.emerges_on(stop),
        drone=castes.drone.emerges_on(stop),
    )


def brood_from(start: Span, castes: BroodClocks) -> Returning:
    """How brood comes back after the first eggs, laid on ``start`` (hived, released, or newly mated)."""
    return Returning(
        larvae=start + castes.hatches,
        capped_worker=castes.worker.capped_on(start),
        capped_drone=castes.drone.capped_on(start),
        young_workers=castes.worker.emerges_on(start),
        young_drones=castes.drone.emerges_on(start),
    )


def broodless(stop: Span, start: Span | None, castes: BroodClocks) -> Broodless:
    """The days with nothing capped between the last eggs of ``stop`` and the first of ``start``, if laying begins.

    They open when the last bee, usually a drone, is out, and close on the day before the first cell is capped: mites
    go into a cell before that (Boot, Calis & Beetsma 1993, J. Apic. Res. 32:167-174).
    """
    closes = None if start is None else brood_from(start, castes).capped - 1
    return Broodless(opens=brood_after(stop, castes).any, closes=closes)


def raised_from(queenless: Span, age: Span) -> Span:
    """The day of laying of the brood that bees without a queen raise one from, ``age`` days old when they begin."""
    return Span(queenless.low - age.high, queenless.usual - age.usual, queenless.high - age.low)


def mated(out: Span, mating: Mating) -> Span:
    """The first egg of a queen who emerges on ``out``: mature, mated, and then some days more."""
    return out + mating.flies + mating.lays


def new_queen(egg: Span, castes: BroodClocks, mating: Mating) -> NewQueen:
    """The days of a queen from an egg laid on ``egg``. Flights and first egg hang on weather: their spans are wide."""
    emerges = castes.queen.emerges_on(egg)
    mates = emerges + mating.flies
    return NewQueen(
        sealed=castes.queen.capped_on(egg),
        emerges=emerges,
        mates=mates,
        first_egg=mated(emerges, mating),
    )


def walk_away(split: Span, age: Span, castes: BroodClocks, mating: Mating) -> WalkAway:
    """A split left to raise its own queen from brood ``age`` days old: no laying from the split to her first egg."""
    queen = new_queen(raised_from(split, age), castes, mating)
    return WalkAway(queen, brood_after(split, castes), broodless(split, queen.first_egg, castes))
