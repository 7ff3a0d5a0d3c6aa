"""Base: the rounds of a region's year that are on until a count excuses them, and which courses may serve each.

In: a region's base year in marks and words, candidates. Out: ``BaseRound`` values with the candidates of each. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.forms import Bound
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of
from ipmcal.planning.labels.standing import BroodSpell, Stretch
from ipmcal.planning.mites.walls import Candidate, WallSetting, broken_wall, warm_enough, whole_days, winter_dose

WEIGHT = ("late_summer", "autumn", "winter", "early_autumn", "spring", "summer")
"""Rounds by their weight: late summer, which winter bees hang on, before what the law asks for (the only autumn round).
Where courses of two are in each other's way, the later one here gives way; where days are as good, the earlier day of
the first decides."""
OWN_BREAK, OWN_PACKAGE = "break", "package"
"""Rounds of a hive's own: a dose in a break of its brood, and before a new colony has anything capped."""


@dataclass(frozen=True, slots=True)
class BaseRound:
    """A round of the base: a course begun from ``first`` to ``last`` (ordinals), by ``by`` where there is a choice.

    ``acted``: the day by which it has worked. ``out``: the last day on which anything of it is in the hive. ``dose``:
    one dose for the mites on bees while there is least brood, or none, on the day nearest to ``by``, or to the middle.
    ``either``: a dose in the weeks of least brood serves it too.
    """

    name: str
    first: int
    last: int
    by: int | None = None
    out: int | None = None
    dose: bool = False
    either: bool = False
    acted: int | None = None


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
            gives = one.gives.value
            acted = _day(season, one.acted, Rule.EARLIEST_OF)
            yield BaseRound(name, first, last, by, out, gives == "dose", gives == "either", acted)


def rounds_of_breaks(spells: Sequence[BroodSpell], season: Season, package: bool) -> Iterator[BaseRound]:
    """A dose for each break of a hive's own in which one reaches all mites."""
    for spell in spells:
        if spell.pays and spell.state == "none" and spell.last is not None and spell.first >= season.first:
            name = OWN_PACKAGE if package else OWN_BREAK
            yield BaseRound(name, spell.first, spell.last, spell.first, dose=True)


def nothing_capped_in(one: CagedBreak) -> BroodSpell:
    """The days on which nothing is capped, as labels ask for them."""
    return BroodSpell("none", one.released, one.until, one.why, pays=True)


def caging_of(one: CagedBreak, book: Rulebook) -> Stretch:
    """The days from the caging to her eggs, as labels ask for them."""
    return one.caged, one.released + book.biology.queen["lays_after_release"].value.high


def made_break(book: Rulebook, caged: int, released: int) -> CagedBreak:
    """A break by the days of its work: laying begins again so long after the release, capping so long after that."""
    lays = released + book.biology.queen["lays_after_release"].value.usual
    until = lays + round(book.biology.castes.worker.capped.value.low or 0) - 1
    return CagedBreak(caged, released, lays, until, book.methods[CAGING].title)


def cage_days(one: CagedBreak, book: Rulebook) -> Stretch:
    """The days on which she may be caged, so that she may be let out on the day of the break."""
    last = one.released - _till_empty(book)
    return last - _grace(book), last


def _till_empty(book: Rulebook) -> int:
    """Days from the last egg until the last drone is out."""
    return round(book.biology.castes.drone.emerges.value.high or 0)


def _grace(book: Rulebook) -> int:
    """Days behind the first on which she may be let out on which she still may."""
    return max((bound.shift for bound in book.methods[CAGING].steps["release"].closes or ()), default=0)


def break_by(book: Rulebook, season: Season, region: Region, days: Sequence[int], near: int) -> CagedBreak | None:
    """The break that has an acid do late summer's work in its round's time, by the published day; released on the day
    nearest to ``near``, and no later than the method has it. None where the days leave no room.
    """
    steps = book.methods[CAGING].steps
    closes = _day(season, steps["cage"].closes, Rule.EARLIEST_OF)
    grace, capped = _grace(book), _till_empty(book)
    slot = next((one for one in rounds_of(region, season) if one.name == "late_summer"), None)
    if slot is None or slot.by is None:
        return None
    last = slot.by if closes is None else min(slot.by, closes + capped + grace)
    fits = [day for day in days if slot.first <= day <= last and any(one + capped <= day for one in days)]
    if not fits:
        return None
    released = min(fits, key=lambda day: abs(day - near))
    caged = [day for day in days if day + capped <= released]
    return made_break(book, caged[-1], released)


CAGING = "brood_break_caging"
"""The method of the break."""


def _day(season: Season, bounds: Sequence[Bound] | None, rule: Rule) -> int | None:
    found = bound_days(Clockwork(season, {}, {}, {}), bounds, Footing({}, {}), rule) if bounds else None
    return None if found is None else span_of(found).usual


def served(setting: WallSetting, slot: BaseRound, candidates: Sequence[Candidate]) -> Served:
    """The candidates that may serve a round."""
    if slot.dose:
        doses = _doses(setting, slot, candidates)
        return Served(slot, tuple(_nearest(setting, slot, candidates, doses)), tuple(doses))
    inside = [i for i, one in enumerate(candidates) if fits_round(setting, slot, one)]
    kept = [i for i in inside if not candidates[i].answer.lost]
    late = setting.mark("winter_bee_rearing_start") + whole_days(setting.walls.autumn_flow_until)
    timely = any(in_good_time(setting, slot, candidates[i]) for i in inside)
    if any(in_good_time(setting, slot, candidates[i]) if timely else candidates[i].day <= late for i in kept):
        return Served(slot, tuple(_in_time(setting, slot, kept, candidates)), tuple(kept))
    best = _in_time(setting, slot, inside, candidates)
    if slot.by is not None:  # supers come off for it no sooner than it takes to be in time
        soonest = slot.by - whole_days(setting.walls.autumn_flow_until)
        best = [i for i in best if candidates[i].day >= soonest] or best
    return Served(slot, tuple(best), tuple(inside), supers_off=len(inside) > len(kept))


def fits_round(setting: WallSetting, slot: BaseRound, one: Candidate) -> bool:
    """Inside its days, and no wall broken: of a published round neither drones nor flow are asked, its label is."""
    in_time = slot.first <= one.day <= slot.last and (slot.out is None or one.answer.use.last <= slot.out)
    if not in_time:
        return False
    least = setting.season.marks["brood_minimum"]
    rests = slot.either and one.day >= least.begins.usual and winter_dose(setting, one)
    return rests or broken_wall(setting, one, published=True) is None


def in_good_time(setting: WallSetting, slot: BaseRound, one: Candidate) -> bool:
    """Whether a course begins by the published day, and has worked by the day by which advisers say that it has."""
    if slot.by is None or one.day > slot.by:
        return False
    worked = min(one.worked, one.answer.use.applications[-1] + whole_days(setting.walls.acted))
    return slot.acted is None or worked <= slot.acted


def _in_time(
    setting: WallSetting, slot: BaseRound, places: Sequence[int], candidates: Sequence[Candidate]
) -> Sequence[int]:
    """Those in good time, where there are any; else those begun by the published date; else all."""
    good = [i for i in places if in_good_time(setting, slot, candidates[i])]
    early = [i for i in places if slot.by is not None and candidates[i].day <= slot.by]
    return good or early or places


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
