"""Question: what is asked for the hives of a yard, and what labels and walls leave of it, in words and in numbers.

In: a hive's standing, a season, days, products, what is known of its mites. Out: ``YearKnown``. Pure; needs no packing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from ipmcal.biology.mites.draws import accepting, draws_for_choice, usual
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.biology.mites.year import YEAR_DAYS, Marks
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.labels import efficacy_of, label_for, last_step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.choose.doses import figures
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell, Standing, use_of
from ipmcal.planning.mites.accept import JudgedYear, Judging, years
from ipmcal.planning.mites.answers import AllowedCourse, Answers, LabelQuestion, answers_of, usual_weather
from ipmcal.planning.mites.base import BaseRound, CagedBreak, Served, rounds_of, rounds_of_breaks, served
from ipmcal.planning.mites.draws import (
    Hazards,
    Lived,
    Stock,
    draws_of,
    lived,
    mapped_courses,
    model_courses,
    toll_of,
)
from ipmcal.planning.mites.enough import judged_days, lines_of
from ipmcal.planning.mites.maps import maps_of
from ipmcal.planning.mites.order import KeeperCosts
from ipmcal.planning.mites.search import Flags, Measures, SearchField
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    broken_wall,
    candidate,
    caps,
    is_blind,
    may_share_a_year,
    whole_days,
)


@dataclass(frozen=True, kw_only=True)
class YearQuestion:
    """What is asked for hives of one brood history. ``days`` are the keeper's, from the day of asking on.

    ``products``: the program's or the yard's, liked best first; ``named``: the keeper wrote them. ``begins``: the first
    day on which the hives are there. ``counting``: mites are counted between courses. ``over``: a count says to treat.
    ``breaks``: breaks in laying that are work of the year; a dose may rest on them. ``breaks_if``: they are taken
    ``always`` where a dose rests on them, ``better`` where that does less harm, ``needed`` where without them it is
    not enough. ``few``: the keeper drives out little. ``fixed`` are courses of this season, given or planned already:
    they are in every set, and the rounds that they serve are served. ``banned`` products begin on no such day.
    ``packed``: the year is packed: however late a course comes out, it lies in no flow, and the record tells it from
    the next of its product. ``own_breaks`` are spells without capped brood of the hives' own, in which doses are
    chosen apart from the year's.
    """

    book: Rulebook
    region: Region
    season: Season
    jurisdiction: str
    standing: Standing
    stock: Stock
    days: tuple[int, ...]
    products: tuple[str, ...]
    named: bool = False
    counting: bool = True
    over: bool = False
    package: bool = False
    breaks: tuple[CagedBreak, ...] = ()
    breaks_if: Literal["always", "better", "needed"] = "always"
    few: bool = False
    fixed: tuple[CourseSpell, ...] = ()
    banned: frozenset[tuple[str, int]] = frozenset()
    own_breaks: tuple[BroodSpell, ...] = ()
    packed: bool = False


@dataclass(frozen=True)
class YearKnown:
    """A question with what the labels let and the walls leave of it, and its numbers."""

    asked: YearQuestion
    answers: Answers
    setting: WallSetting
    candidates: tuple[Candidate, ...]
    rounds: tuple[Served, ...]
    field: SearchField
    choose: tuple[Lived, ...]
    judging: Judging
    middle: Lived
    walled: dict[str, dict[str, int]]
    fixed: tuple[int, ...] = ()

    @cached_property
    def accept(self) -> tuple[Lived, ...]:
        """The draws that accept, which did not choose."""
        stock = self.asked.stock
        return lived(stock, accepting(stock.figures, stock.marks.rarely_broodless))

    @cached_property
    def hazards(self) -> Hazards:
        """Daily hazards of contact products, by the usual colony of the class."""
        return Hazards(self.middle)

    def under(self, places: Sequence[int]) -> tuple[JudgedYear, ...]:
        """Each draw that accepts, under a set of courses."""
        return years(self.accept, self.givens(places), self.hazards)

    def begins(self, places: Sequence[int]) -> tuple[int, ...]:
        """The days (ordinals) on which courses of a set begin."""
        return tuple(self.candidates[i].day for i in places)

    def givens(self, places: Sequence[int]) -> tuple[MiteCourse, ...]:
        """Courses of the set as the full model takes them."""
        return tuple(one for i in places for one in given_of(self.asked, self.candidates[i]))


def marks_of(season: Season, region: Region) -> Marks:
    """The season's usual days as the model of mites takes them."""

    def day(name: str) -> int:
        return season.marks[name].begins.usual

    def period(name: str) -> tuple[int, int]:
        ends = season.marks[name].ends
        assert ends is not None, f"{name} is a period in every region that has it"
        return day(name), ends.usual

    return Marks(
        first_pollen=day("first_pollen"),
        drones_begin=day("drone_rearing_start"),
        swarms=(day("swarm_start"), day("swarm_end")),
        flow_ends=period("flow_main")[1],
        drones_wane=day("drone_rearing_end"),
        drones_end=period("drone_season_end")[1],
        winter_bees=day("winter_bee_rearing_start"),
        least_brood=period("brood_minimum"),
        dearth=period("summer_dearth") if "summer_dearth" in season.marks else None,
        rarely_broodless=region.rarely_broodless,
    )


START_KEYS = {"dosed": "after_acid", "undosed": "untreated", "unknown": "unknown"}
"""What may be known of the last least-brood weeks, with its key in ``mites.yaml``."""


def start_of(region: Region, figures: MiteFigures, known: str) -> float:
    """The median of mites of an uncounted colony: ``dosed``, ``undosed`` or ``unknown``; a region's own goes before."""
    own = None if region.base.starts is None else getattr(region.base.starts, known)
    if own is not None:
        return float(own.value.middle)
    if known == "unknown" and region.rarely_broodless:
        return figures.starts.medians["rarely_broodless"]
    return figures.starts.medians[START_KEYS[known]]


def given_of(asked: YearQuestion, one: Candidate) -> tuple[MiteCourse, ...]:
    """A course as the model takes it."""
    book, answer = asked.book, one.answer
    treatment = book.treatments[answer.product]
    label = label_for(treatment, asked.jurisdiction, book)
    assert label is not None, "labels answer only for products that have one"
    efficacy = efficacy_of(treatment, label)
    luck = luck_of(asked, answer)
    broodless = one.quick or _no_brood(asked, one)
    return model_courses(
        efficacy, answer.use, luck, damp=asked.region.base.damp_autumns.value == "yes", broodless=broodless
    )


TURNS = 4
"""Parts of a year in which what one course of a product does says nothing of the next."""


def luck_of(asked: YearQuestion, answer: AllowedCourse) -> int:
    """Which quantile of a draw a course's efficacy takes: by product, and but for synthetic ones by its time of year.

    What a synthetic product does hangs on the mites of the place, what others do on the weather of their weeks.
    """
    place = _liked(asked, answer.product)
    if answer.class_ in asked.book.planning.year_plans.walls.synthetic:
        return place
    return place + 3 * ((answer.day - asked.season.first) % YEAR_DAYS * TURNS // YEAR_DAYS)


def _liked(asked: YearQuestion, product: str) -> int:
    """The place of a product in the keeper's order; what they were given and is not on their list comes last."""
    return asked.products.index(product) if product in asked.products else len(asked.products)


def _no_brood(asked: YearQuestion, one: Candidate) -> bool:
    """Whether it is known that nothing is capped in all of a course."""
    use = one.answer.use
    spells = [spell for spell in (*asked.standing.brood, *asked.own_breaks) if spell.state == "none"]
    return any(s.first <= use.first and (s.last is None or use.last <= s.last) for s in spells)


def _behind_release(asked: YearQuestion, one: Candidate) -> bool:
    """Whether a dose lies in a break, but not on the visit on which the queen is let out."""
    return one.quick and any(b.holds(one.day) and one.day != b.released for b in asked.breaks)


def over_a_cut(asked: YearQuestion, one: Candidate) -> bool:
    """Whether a trap comb is cut while a course wants the nest left alone; on its last day it may be."""
    label = label_for(asked.book.treatments[one.answer.product], asked.jurisdiction, asked.book)
    quiet = None if label is None else label.limits.quiet
    if quiet is None:
        return False
    before = 0 if quiet.before is None else round(quiet.before.value.high or 0)
    cuts = [trap.cut for trap in asked.stock.traps if trap.cut is not None]
    return any(one.day - before <= cut < one.answer.use.last for cut in cuts)


@dataclass(frozen=True)
class _Left:
    """What labels and walls leave: candidates, by place the rounds that they serve and what stands free beside them.

    ``seen`` come after counts that decide, ``blind`` before them. ``walled``: how often a wall took what a label let,
    by product. ``fixed`` are courses that are in every set.
    """

    candidates: tuple[Candidate, ...]
    rounds: tuple[Served, ...]
    seen: tuple[int, ...]
    blind: tuple[int, ...]
    walled: dict[str, dict[str, int]]
    fixed: tuple[int, ...]


def let(asked: YearQuestion, *, any_season: bool = False) -> tuple[Answers, WallSetting, list[Candidate]]:
    """What the labels let, before any wall; but no dose behind a queen's release, nothing over a trap comb's cut.

    ``any_season``: outside of a product's usual season too, where that is practice and not its label's, and over the
    cut of a trap comb, which then comes out first.
    """
    lets = answers_of(
        LabelQuestion(
            asked.book,
            asked.region,
            asked.season,
            asked.jurisdiction,
            asked.standing,
            asked.days,
            asked.products,
            whole_days(asked.book.planning.year_plans.walls.no_loss),
            any_season,
        )
    )
    setting = wall_setting(asked)
    every = [candidate(setting, one) for one in lets.lets]
    every = [one for one in every if (one.answer.product, one.day) not in asked.banned]
    every = [one for one in every if not _behind_release(asked, one)]
    return lets, setting, [one for one in every if any_season or not over_a_cut(asked, one)]


def year_known(asked: YearQuestion) -> YearKnown:
    """Asks the labels, holds the walls, and draws the maps."""
    lets, setting, every = let(asked)
    left = _left(asked, setting, every)
    figures, rarely = asked.stock.figures, asked.stock.marks.rarely_broodless
    choose = lived(asked.stock, draws_for_choice(figures, rarely))
    middle = Lived(asked.stock, usual(figures, rarely))
    judging = _judging(asked)
    field = _field(asked, setting, left, (choose, middle), judging)
    return YearKnown(
        asked, lets, setting, left.candidates, left.rounds, field, choose, judging, middle, left.walled, left.fixed
    )


def _left(asked: YearQuestion, setting: WallSetting, every: Sequence[Candidate]) -> _Left:
    breaks = rounds_of_breaks(asked.standing.brood, asked.season, asked.package)
    fixed = tuple(_fixed(asked, setting))
    slots = [slot for slot in (*rounds_of(asked.region, asked.season), *breaks) if not _is_served(asked, slot, fixed)]
    rounds = [served(setting, slot, every) for slot in slots]
    walls = [broken_wall(setting, one) or late_in_flow(asked, setting, one) for one in every]
    off = asked.over or any(one.supers_off for one in rounds)  # over the line harvest may be given up
    free = [i for i, wall in enumerate(walls) if wall is None and (off or not every[i].answer.lost)]
    used = sorted({*free, *(i for one in rounds for i in (*one.candidates, *one.wide))})
    place = {i: n for n, i in enumerate(used)}
    walled: dict[str, dict[str, int]] = {}
    for one, wall in zip(every, walls, strict=True):
        if wall is not None:
            counts = walled.setdefault(one.answer.product, {})
            counts[wall] = counts.get(wall, 0) + 1
    return _Left(
        (*(every[i] for i in used), *fixed),
        tuple(
            replace(one, candidates=tuple(place[i] for i in one.candidates), wide=tuple(place[i] for i in one.wide))
            for one in rounds
        ),
        tuple(place[i] for i in free if not is_blind(setting, every[i])),
        tuple(place[i] for i in free if is_blind(setting, every[i])),
        walled,
        tuple(range(len(used), len(used) + len(fixed))),
    )


def _fixed(asked: YearQuestion, setting: WallSetting) -> Iterator[Candidate]:
    """The courses that are in every set, as far as they have a label here."""
    for past in asked.fixed:
        treatment = asked.book.treatments.get(past.treatment)
        label = None if treatment is None else label_for(treatment, asked.jurisdiction, asked.book)
        if treatment is not None and label is not None:
            use = use_of(label, past.began, asked.book)
            yield candidate(setting, AllowedCourse(past.treatment, treatment.class_, use))


def _is_served(asked: YearQuestion, slot: BaseRound, fixed: Sequence[Candidate]) -> bool:
    """Whether a course that is in every set does a round's work: begun in its days, and no dose over brood."""
    return any(
        slot.first <= one.day <= slot.last and (slot.dose or slot.either or not one.quick or _no_brood(asked, one))
        for one in fixed
    )


def _judging(asked: YearQuestion) -> Judging:
    """The days on which a year is judged, the lines on them, and what excuses a day."""
    enough = asked.book.planning.year_plans.enough
    days = judged_days(asked.season, asked.region, asked.book)
    lines = lines_of(asked.season, asked.jurisdiction, asked.book, days, asked.region)
    excused = whole_days(enough.excused) if asked.region.rarely_broodless else 0
    return Judging(days, lines, enough.settled_most.value.middle, excused)


def wall_setting(asked: YearQuestion) -> WallSetting:
    """What the walls need to know of the question."""
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)

    def high(day: int) -> float:
        return weather.readings[day][0]

    return WallSetting(
        book=asked.book,
        season=asked.season,
        jurisdiction=asked.jurisdiction,
        high=high,
        flows=tuple(_flows(asked)),
        spells=asked.standing.brood,
        past=asked.standing.courses,
        named=frozenset(asked.products) if asked.named else frozenset(),
        over=asked.over,
        counting=asked.counting,
        draws_together=not asked.region.rarely_broodless,
        early_rounds=asked.region.rarely_broodless or not EARLY_ROUNDS.isdisjoint(asked.region.base.rounds),
    )


EARLY_ROUNDS = frozenset({"spring", "summer"})
"""Rounds before the late summer."""


def _flows(asked: YearQuestion) -> Iterator[tuple[int, int]]:
    """The main flow, this season's and its neighbours'."""
    mark = asked.season.marks["flow_main"]
    assert mark.ends is not None, "the main flow is a period in every region"
    for shift in (-YEAR_DAYS, 0, YEAR_DAYS):
        yield mark.begins.usual + shift, mark.ends.usual + shift


def _field(
    asked: YearQuestion,
    setting: WallSetting,
    left: _Left,
    lives: tuple[Sequence[Lived], Lived],
    judging: Judging,
) -> SearchField:
    (choose, middle), first = lives, asked.season.first
    kept, rounds = left.candidates, left.rounds
    base = draws_of(choose)
    acts = ((one.answer.product, given_of(asked, one), toll_of(setting, middle, one.answer)) for one in kept)
    courses = mapped_courses(choose, middle, acts)
    looks = [day - first for day in judging.days]
    return SearchField(
        maps=maps_of(base, courses, looks),
        slots=tuple(np.array(one.candidates, dtype=np.intp) for one in rounds if one.candidates),
        wide=tuple(np.array(one.wide, dtype=np.intp) for one in rounds if one.candidates),
        fixed=np.array(left.fixed, dtype=np.intp),
        further=np.array(left.seen, dtype=np.intp),
        blind=np.array(left.blind, dtype=np.intp),
        apart=_apart(asked, setting, left),
        caps=tuple((np.array(flags, dtype=bool), most) for flags, most in caps(setting, kept)),
        costs=tuple(_costs(asked, one) for one in kept),
        judged=np.arange(len(looks), dtype=np.intp),
        lines=np.array(judging.lines),
        measures=measures(asked.book),
        excused=judging.excused,
        last_class=_last_class(asked.standing.courses),
    )


def _apart(asked: YearQuestion, setting: WallSetting, left: _Left) -> Flags:
    """Which courses may be in one year. Those in every set are asked by the walls already, as what was."""
    kept = left.candidates
    outs = [latest_out(asked, one) if asked.packed else one.answer.use.last for one in kept]
    gap = whole_days(asked.book.planning.same_course)

    def tell_apart(i: int, j: int) -> bool:
        first, then = (i, j) if kept[i].day <= kept[j].day else (j, i)
        same = asked.packed and kept[i].answer.product == kept[j].answer.product
        return not same or kept[then].day - outs[first] > gap

    apart = np.zeros((len(kept), len(kept)), dtype=bool)
    for i in range(len(kept)):
        for j in range(i):
            if may_share_a_year(setting, kept[i], kept[j]) and tell_apart(i, j):
                apart[i, j] = apart[j, i] = True
    places = list(left.fixed)
    apart[places, :] = apart[:, places] = True
    return apart


def late_in_flow(asked: YearQuestion, setting: WallSetting, one: Candidate) -> str | None:
    """``flow`` where a course that packing has come out late would lie in a flow that the yard harvests."""
    last = latest_out(asked, one) if asked.packed else one.day
    lies = not setting.over and any(one.day <= ends and first <= last for first, ends in setting.flows)
    return "flow" if asked.packed and lies else None


def latest_out(asked: YearQuestion, one: Candidate) -> int:
    """The last good day for what a course leaves in the hive to come out."""
    label = label_for(asked.book.treatments[one.answer.product], asked.jurisdiction, asked.book)
    assert label is not None
    end = last_step(label, asked.book)
    steps = [step for step in one.answer.use.steps if step.step == end]
    return max((s.closes if s.hard_stop is None else s.hard_stop for s in steps), default=one.day)


def measures(book: Rulebook) -> Measures:
    """The figures of choosing; what a wash reads is in the draws."""
    plans = book.planning.year_plans
    return Measures(
        over=(plans.enough.over.value.middle + plans.enough.error.value.middle) / 100.0,
        band=plans.band.value.middle / 100.0,
        same_harm=plans.same_harm.value.middle / 100.0,
        settled_most=plans.enough.settled_most.value.middle,
        as_washed=1.0,
    )


def _costs(asked: YearQuestion, one: Candidate) -> KeeperCosts:
    answer = one.answer
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    assert label is not None, "labels answer only for products that have one"
    return KeeperCosts(
        product=_liked(asked, answer.product),
        class_=answer.class_,
        lost=answer.lost,
        advice=answer.advice,
        looks=answer.looks,
        visits=len(label.steps),
        minutes=figures(label).minutes,
    )


def _last_class(courses: Sequence[CourseSpell]) -> str:
    return max(courses, key=lambda one: one.began).class_ if courses else ""
