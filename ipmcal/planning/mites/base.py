"""Base: the parts of a region's year that are on until a count excuses them, and which courses may serve each.

In: a region's base year in marks and words, candidates. Out: ``Slot`` values with the candidates of each. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ipmcal.planning.mites.walls import Candidate, Setting, broken, days_of, warm_enough, winter_dose

WINTER, SUMMER, SPRING, AUTUMN = "winter", "late_summer", "spring", "autumn"


@dataclass(frozen=True, slots=True)
class Slot:
    """A part of the base: a course begun from ``first`` to ``last`` (ordinals), by ``by`` where labels leave a choice.

    ``dose``: one dose in the broodless or least-brood weeks, as near to ``by`` as the keeper comes.
    """

    name: str
    first: int
    last: int
    by: int | None = None
    dose: bool = False


@dataclass(frozen=True, slots=True)
class Served:
    """A part of the base with its candidates, by their places; ``supers_off``: only with supers off before their day."""

    slot: Slot
    candidates: tuple[int, ...]
    supers_off: bool = False


def slots_of(setting: Setting) -> tuple[Slot, ...]:
    """The parts of the base, the one that weighs most first: late summer, winter, then the region's other rounds."""
    raise NotImplementedError


def served(setting: Setting, slot: Slot, candidates: Sequence[Candidate]) -> Served:
    """The candidates that may serve a part of the base."""
    if slot.dose:
        return Served(slot, tuple(_doses(setting, slot, candidates)))
    inside = [
        i
        for i, one in enumerate(candidates)
        if slot.first <= one.day <= slot.last and broken(setting, one) is None and not one.quick
    ]
    kept = [i for i in inside if candidates[i].answer.supers_off is None or not candidates[i].answer.lost]
    until = setting.mark("winter_bee_rearing_start") + days_of(setting.walls.autumn_flow_until)
    if any(candidates[i].day <= until for i in kept):
        return Served(slot, tuple(_in_time(slot, kept, candidates)))
    return Served(slot, tuple(_in_time(slot, inside, candidates)), supers_off=bool(set(inside) - set(kept)))


def _in_time(slot: Slot, places: Sequence[int], candidates: Sequence[Candidate]) -> Sequence[int]:
    """Those begun by the published date, where there are any; else all."""
    early = [i for i in places if slot.by is not None and candidates[i].day <= slot.by]
    return early or places


def _doses(setting: Setting, slot: Slot, candidates: Sequence[Candidate]) -> list[int]:
    """For each product, the day nearest the middle on which it is warm enough; where none is, the first."""
    middle = slot.by if slot.by is not None else (slot.first + slot.last) // 2
    mine: dict[str, list[int]] = {}
    for i, one in enumerate(candidates):
        if slot.first <= one.day <= slot.last and winter_dose(setting, one):
            mine.setdefault(one.answer.product, []).append(i)
    found = []
    for places in mine.values():
        warm = [i for i in places if warm_enough(setting, candidates[i].day)]
        first = min(places, key=lambda i: candidates[i].day)
        found.append(min(warm, key=lambda i: (abs(candidates[i].day - middle), i)) if warm else first)
    return found
