"""Base: the rounds of a region's year that are on until a count excuses them, and which courses may serve each.

In: a region's base year in marks and words, candidates. Out: ``BaseRound`` values with the candidates of each. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.files import Region
from ipmcal.model.values.forms import Bound
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of
from ipmcal.planning.labels.standing import BroodSpell
from ipmcal.planning.mites.walls import Candidate, WallSetting, broken_wall, warm_enough, whole_days, winter_dose

WEIGHT = ("autumn", "late_summer", "winter", "spring", "summer")
"""Rounds by their weight: what the law asks for (the only autumn round) before all. Where courses of two are in each
other's way, the later one here gives way; where days are as good, the later day of the first decides."""
OWN_BREAK, OWN_PACKAGE = "break", "package"
"""Rounds of a hive's own: a dose in a break of its brood, and before a new colony has anything capped."""


@dataclass(frozen=True, slots=True)
class BaseRound:
    """A round of the base: a course begun from ``first`` to ``last`` (ordinals), by ``by`` where there is a choice.

    ``out``: the last day on which anything of it is in the hive. ``dose``: one dose for the mites on bees while there
    is least brood, or none, on the day nearest to ``by``, or to the middle.
    """

    name: str
    first: int
    last: int
    by: int | None = None
    out: int | None = None
    dose: bool = False


@dataclass(frozen=True, slots=True)
class Served:
    """A round with its candidates, by their places: on its best days, and in ``wide`` on all of them.

    ``supers_off``: none fits with supers on, so they come off.
    """

    slot: BaseRound
    candidates: tuple[int, ...]
    wide: tuple[int, ...]
    supers_off: bool = False


def rounds_of(region: Region, season: Season) -> Iterator[BaseRound]:
    """The rounds of a region's base year in a season, by their weight."""
    for name in WEIGHT:
        one = region.base.rounds.get(name)  # type: ignore[call-overload]
        if one is None:
            continue
        first, last = _day(season, one.opens, Rule.LATEST_OF), _day(season, one.closes, Rule.EARLIEST_OF)
        if first is not None and last is not None:
            by = _day(season, one.by, Rule.EARLIEST_OF)
            out = _day(season, one.out, Rule.EARLIEST_OF)
            yield BaseRound(name, first, last, by, out, one.gives.value == "dose")


def rounds_of_breaks(spells: Sequence[BroodSpell], season: Season, package: bool) -> Iterator[BaseRound]:
    """A dose for each break of a hive's own in which one reaches all mites."""
    for spell in spells:
        if spell.pays and spell.state == "none" and spell.last is not None and spell.first >= season.first:
            name = OWN_PACKAGE if package else OWN_BREAK
            yield BaseRound(name, spell.first, spell.last, spell.first, dose=True)


def _day(season: Season, bounds: Sequence[Bound] | None, rule: Rule) -> int | None:
    found = bound_days(Clockwork(season, {}, {}, {}), bounds, Footing({}, {}), rule) if bounds else None
    return None if found is None else span_of(found).usual


def served(setting: WallSetting, slot: BaseRound, candidates: Sequence[Candidate]) -> Served:
    """The candidates that may serve a round."""
    if slot.dose:
        doses = _doses(setting, slot, candidates)
        return Served(slot, tuple(_nearest(setting, slot, candidates, doses)), tuple(doses))
    inside = [i for i, one in enumerate(candidates) if _fits(setting, slot, one)]
    kept = [i for i in inside if not candidates[i].answer.lost]
    until = setting.mark("winter_bee_rearing_start") + whole_days(setting.walls.autumn_flow_until)
    if any(candidates[i].day <= until for i in kept):
        return Served(slot, tuple(_in_time(slot, kept, candidates)), tuple(kept))
    return Served(slot, tuple(_in_time(slot, inside, candidates)), tuple(inside), supers_off=len(inside) > len(kept))


def _fits(setting: WallSetting, slot: BaseRound, one: Candidate) -> bool:
    """Inside its days, and no wall broken: of a published round neither drones nor warmth are asked, its label is."""
    in_time = slot.first <= one.day <= slot.last and (slot.out is None or one.answer.use.last <= slot.out)
    return in_time and broken_wall(setting, one, published=True) is None


def _in_time(slot: BaseRound, places: Sequence[int], candidates: Sequence[Candidate]) -> Sequence[int]:
    """Those begun by the published date, where there are any; else all."""
    early = [i for i in places if slot.by is not None and candidates[i].day <= slot.by]
    return early or places


def _doses(setting: WallSetting, slot: BaseRound, candidates: Sequence[Candidate]) -> list[int]:
    """The doses that may be given: inside the days of least brood, this winter's or the last one's end, supers kept."""
    return [
        i
        for i, one in enumerate(candidates)
        if any(slot.first <= day <= slot.last for day in (one.day, one.day + YEAR_DAYS))
        and not one.answer.lost
        and winter_dose(setting, one)
    ]


def _nearest(
    setting: WallSetting, slot: BaseRound, candidates: Sequence[Candidate], doses: Sequence[int]
) -> Iterator[int]:
    """For each product, the day nearest the middle on which it is warm enough; where none is, the first."""
    middle = slot.by if slot.by is not None else (slot.first + slot.last) // 2
    mine: dict[str, list[int]] = {}
    for i in doses:
        mine.setdefault(candidates[i].answer.product, []).append(i)
    for places in mine.values():
        warm = [i for i in places if warm_enough(setting, candidates[i].day)]
        near = [i for i in warm if slot.first <= candidates[i].day <= slot.last] or warm
        first = min(places, key=lambda i: candidates[i].day)
        yield min(near, key=lambda i: (abs(candidates[i].day - middle), i)) if near else first
