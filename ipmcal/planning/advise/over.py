"""Over: what can be done at once where a count is over the line, whatever the year's plan has before and behind it.

In: a ``YearPlan``. Out: ``Remedy`` values. Pure; needs no draws. The walls of a plan made beforehand don't hold here:
what labels let, advice on warmth too, what may follow on what lies in the hive, and what reaches the mites are all that
counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.rules.labels import efficacy_of, label_for, same_pack
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.planning.advise.warm import inside_warmth
from ipmcal.planning.labels.weather import Weather
from ipmcal.planning.mites.answers import AllowedCourse, usual_weather
from ipmcal.planning.mites.asking.known import YearKnown, year_known
from ipmcal.planning.mites.asking.let import let, over_a_cut
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.plan import Planned, YearPlan, fails_at_first
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    broken_wall,
    ends_in_cold,
    may_follow,
    same_winter,
    warm_enough,
    whole_days,
    winter_dose,
)


@dataclass(frozen=True, slots=True)
class Remedy:
    """What may be begun on a ``day`` (ordinal), as its label lets it (``answer``).

    ``dose``: it reaches no cell, and is given where nothing is capped. ``caged``: the day on which the queen is caged
    for it, so that nothing is capped on its own. ``trap``: a trap comb is in the way, and comes out first. ``only``:
    what it hangs on: that its class ``worked`` this year, or that in ``heat`` it is given in parts.
    """

    answer: AllowedCourse
    dose: bool = False
    caged: int | None = None
    trap: bool = False
    only: Literal["", "worked", "heat"] = ""

    @property
    def product(self) -> str:
        """Its product."""
        return self.answer.product

    @property
    def day(self) -> int:
        """The day on which it begins (ordinal)."""
        return self.answer.day


@dataclass(frozen=True)
class Open:
    """What may be done over the line: with the products of the list, and with ``all`` that have a label there.

    ``hot``: what its label lets in heat in which it is poor, and is not taken where there is anything else.
    ``harvest``: it is kept where a product may begin some days later; not where most hives fail in year one.
    """

    asked: YearQuestion
    setting: WallSetting
    weather: Weather
    hot: tuple[Candidate, ...]
    listed: tuple[Candidate, ...]
    all: tuple[Candidate, ...]
    harvest: bool = True


def open_to(plan: YearPlan) -> Open:
    """What the labels let in the plan's year, where a count is over the line."""
    asked = replace(plan.known.asked, over=True)
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)
    setting, every, hot = _let(replace(asked, products=(*asked.products, *_others(asked))), weather)
    mine = [n for n in asked.products if n in asked.book.treatments]
    packs = {n for n in asked.book.treatments if any(same_pack(n, own, asked.book) for own in mine)}
    listed = tuple(one for one in every if one.answer.product in packs)
    return Open(asked, setting, weather, tuple(hot), listed, tuple(every), not fails_at_first(plan))


def _others(asked: YearQuestion) -> Iterator[str]:
    """Products with a label here that are not on the list; none of a class that is never planned unasked."""
    never = asked.book.planning.year_plans.walls.never
    for name, one in asked.book.treatments.items():
        label = label_for(one, asked.jurisdiction, asked.book)
        if name in asked.products or label is None or one.class_ in never:
            continue
        acts = efficacy_of(one, label).acts.value
        dose = acts is not None and acts.high == 0
        if dose or strong_enough(asked.book, one, label):
            yield name


def strong_enough(book: Rulebook, one: Treatment, label: Label) -> bool:
    """Whether a product is known to take half of the mites where there is brood: what does not is named to nobody."""
    efficacy = efficacy_of(one, label)
    kills = efficacy.with_brood or efficacy.any_
    return kills is not None and (kills.value.low or 0.0) >= book.planning.year_plans.offered.weak.value.middle


def _let(asked: YearQuestion, weather: Weather) -> tuple[WallSetting, list[Candidate], list[Candidate]]:
    _, setting, every = let(asked, any_season=True)
    least = asked.season.marks["brood_minimum"]
    first, last = least.begins.usual, setting.ends("brood_minimum")

    def stands(one: Candidate) -> bool:
        if one.quick and any(b.holds(one.day) for b in asked.breaks):
            return False  # it rests on a caging that is the plan's own
        rests = any(first <= one.day + n <= last for n in (0, YEAR_DAYS, -YEAR_DAYS))
        if rests and winter_dose(setting, one) and warm_enough(setting, one.day):
            return True
        return broken_wall(setting, one, published=True) is None and fits(one)

    def fits(one: Candidate) -> bool:
        return not _sits_tight(asked, setting, one) and inside_warmth(setting, weather, one)

    hot = [one for one in every if _poor_in_heat(setting, one) and fits(one)]
    hot = [one for one in hot if broken_wall(setting, one, published=True) in ("hot", None)]
    return setting, [one for one in every if stands(one) and one not in hot], hot


def _sits_tight(asked: YearQuestion, setting: WallSetting, one: Candidate) -> bool:
    """Whether bees walk too little over what has to be walked over, or brood is about to end: a dose is due then."""
    floors = [f for f in setting.walls.floors if one.answer.class_ in f.classes and f.published is None]
    least = [f.after_flow.value.low or 0.0 for f in floors if f.after_flow is not None]
    if any(setting.high(one.day) < floor or ends_in_cold(setting, one, floor) for floor in least):
        return True
    rests, late = setting.mark("brood_minimum"), round(asked.book.planning.year_plans.counts.autumn.value.low or 0)
    queens = asked.book.treatments[one.answer.product].common.toll.queens
    costs_queens = queens is not None and (queens.value.low or 0.0) > 0
    at_rest = rests - late < one.day <= setting.ends("brood_minimum")
    return at_rest and (costs_queens or not asked.region.rarely_broodless)


def every_product(plan: YearPlan) -> YearKnown:
    """The plan's question with all products that have a label here."""
    asked = plan.known.asked
    return year_known(replace(asked, products=(*asked.products, *_others(asked)), over=True))


def listed_by(book: Rulebook) -> Counter[str]:
    """In how many programs each product is: of several as good, that is the one which keepers have."""
    return Counter(name for one in book.programs.values() for name in one.treatments)


@dataclass(frozen=True, slots=True)
class Sought:
    """What is looked for: what may be begun from a ``day`` (ordinal) to ``reach`` days on; ``but``: of no such class.

    ``only`` is what it hangs on: where a class ``worked`` it may be given again within its rest. ``weak``: what is weak
    where there is brood too, where there is nothing else. ``law``: room is left for what law asks for later.
    """

    day: int
    reach: int
    but: str = ""
    only: Literal["", "worked", "heat"] = ""
    weak: bool = True
    law: bool = True


def remedies(opened: Open, among: Sequence[Candidate], sought: Sought, before: Sequence[Planned]) -> list[Remedy]:
    """For each class the first course that may be begun: what gives up no harvest before the rest, and what has worked
    soonest first; what is weak where there is brood, only where there is nothing else.

    ``before`` are the plan's courses: those that were given, and those by law ahead, which a label's most a year leaves
    room for.
    """
    day = sought.day
    given = [one.course for one in before if one.course.day < day]
    by_law = Counter(one.course.answer.product for one in before if one.round == "autumn" and one.course.day >= day)
    listing = listed_by(opened.setting.book)
    found: dict[str, Candidate] = {}
    for one in sorted(among, key=lambda c: (opened.harvest and c.answer.lost > 0, c.worked, c.day)):
        inside = day <= one.day <= day + sought.reach and one.answer.class_ != sought.but
        rested = sought.only != "worked"
        due = by_law[one.answer.product] if sought.law else 0
        room = one.a_year is None or due == 0 or one.a_year > due
        if inside and room and one.answer.product not in found and _fits(opened.setting, one, given, rested):
            found[one.answer.product] = one
    liked: dict[str, Candidate] = {}  # of one class the product that most programs have: a second one is no choice
    for one in found.values():
        other = liked.get(one.answer.class_)
        if other is None or _before(listing, one, other):
            liked[one.answer.class_] = one
    strong = [one for one in liked.values() if one.quick or _is_strong(opened, one)]
    named = strong or (list(liked.values()) if sought.weak else [])
    order = sorted(named, key=lambda c: (c.quick, c.answer.lost > 0, c.worked, c.day))
    return [_remedy(opened, one, sought.only) for one in order]


def _poor_in_heat(setting: WallSetting, one: Candidate) -> bool:
    """Whether it is hotter than a plan made beforehand would take it."""
    floors = [f.most for f in setting.walls.floors if one.answer.class_ in f.classes and f.most is not None]
    return any(most.value.high is not None and setting.high(one.day) > most.value.high for most in floors)


def _is_strong(opened: Open, one: Candidate) -> bool:
    book = opened.setting.book
    treatment = book.treatments[one.answer.product]
    label = label_for(treatment, opened.setting.jurisdiction, book)
    return label is not None and strong_enough(book, treatment, label)


def _before(listing: Counter[str], one: Candidate, other: Candidate) -> bool:
    """Whether of two of a class one is named: what reaches cells, or outlasts them, before a dose; then the usual."""
    if one.quick != other.quick:
        return other.quick
    return listing[one.answer.product] > listing[other.answer.product]


def _remedy(opened: Open, one: Candidate, only: Literal["", "worked", "heat"]) -> Remedy:
    return Remedy(one.answer, one.quick, None, over_a_cut(opened.asked, one), only)


def _fits(setting: WallSetting, one: Candidate, given: Sequence[Candidate], rested: bool) -> bool:
    """Whether it may follow on what was given, and is not one too many of its product in the season by its label."""
    if not all(may_follow(setting, other, one, one.day, rested=rested) for other in given):
        return False
    if any(_rests(setting, other, one) for other in given):
        return False
    if one.quick and any(other.quick and same_winter(setting, other.day, one.day) for other in given):
        return False  # a second dose on the same winter's bees
    return one.a_year is None or sum(other.answer.product == one.answer.product for other in given) < one.a_year


def _rests(setting: WallSetting, given: Candidate, one: Candidate) -> bool:
    """Whether an acid that is given twice a season by custom has to rest: the acid does, not the pack it comes in."""
    same = given.answer.class_ == one.answer.class_ and one.answer.class_ in setting.walls.a_season
    return same and one.day - given.answer.use.last < max(given.rest, one.rest)


def uncaged(plan: YearPlan, opened: Open, one: Planned) -> tuple[Remedy, bool] | None:
    """The course of who does not find the queen, neither on the day of a caging nor a week later; whether it is on the
    list. It begins by the day on which she would have been let out, what is on the list before the rest."""
    if one.rests is None:
        return None
    at_once = whole_days(plan.known.asked.book.planning.year_plans.offered.at_once)
    looked, last = one.rests.caged + at_once, one.rests.released
    opens = next((served.slot.first for served in plan.known.rounds if served.slot.name == one.round), looked)
    before = [other for other in plan.courses if other is not one]
    later = {other.course.answer.class_ for other in before if other.course.day > one.rests.caged}
    for among, listed in ((opened.listed, True), (opened.all, False)):
        for first in (min(max(looked, opens), last), looked, one.rests.caged):
            lasting = [c for c in among if not c.quick]
            found = remedies(opened, lasting, Sought(first, last - first), before)
            if found:
                classes = {n: plan.known.asked.book.treatments[n].class_ for n in (r.product for r in found)}
                return min(found, key=lambda r: (classes[r.product] in later, found.index(r))), listed
    return None


def caged_now(plan: YearPlan, opened: Open, day: int, *, but: str = "") -> Remedy | None:
    """The queen caged on a day, and the acid once the last drone is out; a planned caging is brought forward so.

    None where no acid has a label, before the main flow, where she would be out only when winter bees are reared, near
    another caging that was, and in a first year.
    """
    asked = plan.known.asked
    setting, book = opened.setting, asked.book
    apart = whole_days(book.planning.year_plans.offered.caged_apart)
    out = next((d for d in asked.days if d >= day + round(book.biology.castes.drone.emerges.value.high or 0)), None)
    if out is None or asked.stock.young is not None:
        return None
    if not setting.mark("flow_main") <= day or out > setting.mark("winter_bee_rearing_start"):
        return None
    if any(one.rests and one.rests.released <= day < one.rests.released + apart for one in plan.courses):
        return None
    planned = [one.course.answer for one in plan.courses if one.rests and one.rests.caged >= day]
    acids = [one.answer for one in opened.all if one.quick and one.answer.class_ in setting.walls.acids]
    usual = Counter(one.class_ for one in acids)  # the acid that most labels are of, where none is on the list
    rank = [one for one in acids if one.class_ != but]
    acid = min(rank, key=lambda one: (one.product not in asked.products, -usual[one.class_], one.product), default=None)
    chosen = planned[0] if planned else acid
    if chosen is None:
        return None
    return Remedy(replace(chosen, use=chosen.use.moved(out - chosen.day)), caged=day, dose=True)


def brought_forward(plan: YearPlan, day: int) -> CagedBreak | None:
    """A caging of the plan that may be begun sooner where a count is over the line: planned within the days in which
    its acid answers a count."""
    near = whole_days(plan.known.asked.book.planning.year_plans.offered.answered)
    return next((one.rests for one in plan.courses if one.rests and day < one.rests.caged <= day + near), None)
