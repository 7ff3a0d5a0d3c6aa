"""The colony's state, as recall makes it from what the keeper wrote."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import Colony, Event, TrapFrame
from ipmcal.model.plan.because import Because
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.values.days import Span


@dataclass(frozen=True, slots=True)
class Known:
    """A day that is known, and why."""

    day: int
    why: Reason


@dataclass(frozen=True, slots=True)
class Sighting:
    """What was found in a trap on a day."""

    day: int
    finding: str
    event: Event


@dataclass(frozen=True, slots=True)
class TrapState:
    """Where a trap frame stands: its slot today (None: not in the hive), its events, what was seen in this cycle."""

    frame: TrapFrame
    slot: int | None
    days: Mapping[str, Known]
    sightings: tuple[Sighting, ...]
    cycles: int
    emptied: Event | None


@dataclass(frozen=True, slots=True)
class Rest:
    """A winter of a place: from the day ``first`` on no drones are reared any more, and queens come to stop laying;
    ``back`` is when they lay again."""

    first: int
    back: Span
    why: Reason


@dataclass(frozen=True, slots=True)
class ColonyState:
    """A colony on the day ``as_of``. ``kind`` is how it counts this season; ``days`` are its latest events by word.

    ``sick_since`` is the day from which it looks sick, a dead one too: its combs are there until somebody looked (None:
    well). ``dead`` is the day on which it was written dead, or found so (None: it lives, or ended otherwise).
    ``bees`` are the frames that they cover, with the day on which that was seen (None: not known, or too long ago).
    """

    colony: Colony
    began: Known
    kind: str
    alive: bool
    queen: frozenset[str]
    sick_since: int | None
    strength: float | None
    supers: int
    days: Mapping[str, Known]
    done: Mapping[str, int]
    traps: Mapping[str, TrapState]
    events: tuple[Event, ...]
    contradictions: tuple[Because, ...] = ()
    dead: int | None = None
    rests: tuple[Rest, ...] = ()
    bees: tuple[int, float] | None = None

    @property
    def suspect(self) -> bool:
        """Whether its brood looks sick."""
        return self.sick_since is not None
