"""Walls: what no course of a year may break, whatever it kills: by itself, beside another, and in the year.

In: what the labels let, the season's marks, the figures of ``planning.yaml``. Out: the candidates that are left, with
the wall that took each of the others; which may be in one year. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.base import Walls
from ipmcal.model.rules.labels import efficacy_of, label_for, same_pack
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell
from ipmcal.planning.mites.answers import AllowedCourse


@dataclass(frozen=True, slots=True)
class Candidate:
    """A course that may be chosen: what the label lets, and what the walls need to know of it.

    ``worked``: the last day (ordinal) on which it acts. ``quick``: it does not reach cells and is over sooner than a
    worker is capped. ``trickle``: one of those that a generation of winter bees bears once. ``rest``: its label's days
    between two courses of it; ``a_year``: its label's most a year.
    """

    answer: AllowedCourse
    worked: int
    quick: bool
    trickle: bool
    rest: int
    a_year: int | None

    @property
    def day(self) -> int:
        """The day on which it begins (ordinal)."""
        return self.answer.use.first


@dataclass(frozen=True)
class WallSetting:
    """Where and when: the season's days that walls go by, usual highs, what was done before, what the keeper named.

    ``flows`` are flows that the yard harvests, first and last day; ``named`` the keeper's own products, which no wall
    takes by default; ``over``: a count is over the line, which opens flows and the time between courses; ``own``:
    products of doses to come that are chosen apart; ``early_rounds``: the region's base year has a round before its
    main flow ends; ``draws_together``: its bees do in winter, and brood stops.
    """

    book: Rulebook
    season: Season
    jurisdiction: str
    high: Callable[[int], float]
    flows: tuple[tuple[int, int], ...]
    spells: tuple[BroodSpell, ...] = ()
    past: tuple[CourseSpell, ...] = ()
    named: frozenset[str] = frozenset()
    over: bool = False
    counting: bool = True
    own: tuple[str, ...] = ()
    early_rounds: bool = True
    draws_together: bool = True

    @property
    def walls(self) -> Walls:
        """The figures."""
        return self.book.planning.year_plans.walls

    def mark(self, name: str) -> int:
        """The usual day of a mark (ordinal); of a period, its first."""
        return self.season.marks[name].begins.usual

    def ends(self, name: str) -> int:
        """The usual last day of a period."""
        ends = self.season.marks[name].ends
        assert ends is not None, f"{name} is a period in every region"
        return ends.usual


def whole_days(cited: Cited[Amount]) -> int:
    """A figure in whole days."""
    return round(cited.value.middle)


def candidate(setting: WallSetting, answer: AllowedCourse) -> Candidate:
    """What the walls need to know of an answer."""
    book = setting.book
    treatment = book.treatments[answer.product]
    label = label_for(treatment, setting.jurisdiction, book)
    assert label is not None, "labels answer only for products that have one"
    limits = label.limits
    rest = 0 if limits.rest is None else round(limits.rest.value.value.high or 0)
    course = limits.course
    a_year = None if course is None or course.a_year is None else round(course.a_year.value.middle)
    return Candidate(
        answer,
        worked_by(treatment, label, answer.use),
        is_quick(treatment, answer.use, book),
        setting.walls.once_a_winter in (*treatment.cautions, *label.cautions),
        rest,
        a_year,
    )


def worked_by(treatment: Treatment, label: Label, use: Use) -> int:
    """The last day (ordinal) on which a course acts: its last day in the hive, or so long after its last giving."""
    acts = efficacy_of(treatment, label).acts.value
    return use.last if acts is None else use.applications[-1] + acts.high


def is_quick(treatment: Treatment, use: Use, book: Rulebook) -> bool:
    """Whether a course neither reaches cells nor lies for as long as a worker is capped."""
    worker = book.biology.castes.worker
    capped = worker.emerges.value.usual - worker.capped.value.usual
    return treatment.common.kills.in_cells.value == "no" and use.last - use.first < capped


# One course -----------------------------------------------------------------------------------------------------------


def broken_wall(setting: WallSetting, one: Candidate, *, published: bool = False) -> str | None:
    """The first wall that a course breaks, in a word; None where it breaks none. The winter dose has walls of its own.

    ``class``, ``drones``, ``cold``, ``hot``, ``flow``, ``quick``, ``full_brood``, ``rested``. ``published``: it serves
    a round of the region's base year, whose days are its advisers', not ours: they know of drones and of the flow.
    """
    for name, check in (
        ("class", _unasked_class),
        ("drones", _before_drones),
        ("flow", _in_flow),
        ("quick", _quick_with_brood),
        ("full_brood", _spent_on_full_brood),
        ("rested", _not_rested),
    ):
        if not (published and name in ("drones", "flow")) and check(setting, one):
            return name
    return _cold_or_hot(setting, one, published=published)


def winter_dose(setting: WallSetting, one: Candidate) -> bool:
    """Whether a course may be the dose of the broodless or least-brood weeks: quick, and none of its walls broken."""
    walls = (_unasked_class, _in_flow, _not_rested)
    return one.quick and not any(wall(setting, one) for wall in walls)


def warm_enough(setting: WallSetting, day: int) -> bool:
    """Whether a winter dose may be given on a day, by its usual high."""
    return setting.high(day) >= (setting.walls.winter_dose_at.value.low or 0.0)


def _unasked_class(setting: WallSetting, one: Candidate) -> bool:
    return one.answer.class_ in setting.walls.never and one.answer.product not in setting.named


def _before_drones(setting: WallSetting, one: Candidate) -> bool:
    return one.day < setting.mark("drone_rearing_start")


def is_blind(setting: WallSetting, one: Candidate) -> bool:
    """Whether a course comes before the main flow, ahead of the counts that decide, where advisers have no round."""
    return not setting.over and not setting.early_rounds and one.day <= setting.mark("flow_done")


def _cold_or_hot(setting: WallSetting, one: Candidate, *, published: bool) -> str | None:
    """``cold`` or ``hot``, by the usual high of the day on which a course begins."""
    after, high = one.day > setting.mark("flow_done"), setting.high(one.day)
    for floor in setting.walls.floors:
        if one.answer.class_ not in floor.classes:
            continue
        ours = floor.after_flow if after else floor.before_flow
        least = floor.published if published else ours
        most = (floor.most_published or floor.most) if published else floor.most
        if least is not None and high < (least.value.low or 0.0):
            return "cold"
        if after and not published and ours is not None and ends_in_cold(setting, one, ours.value.low or 0.0):
            return "cold"
        if most is not None and most.value.high is not None and high > most.value.high:
            return "hot"
    return None


def ends_in_cold(setting: WallSetting, one: Candidate, least: float) -> bool:
    """Whether bees draw together before what was capped at a slow course's beginning has come out to it."""
    slow = setting.draws_together and one.worked - one.day >= whole_days(setting.walls.acted)
    return slow and setting.high(one.day + whole_days(setting.walls.acted)) < least


def _in_flow(setting: WallSetting, one: Candidate) -> bool:
    use = one.answer.use
    return not setting.over and any(use.first <= last and first <= use.last for first, last in setting.flows)


def _quick_with_brood(setting: WallSetting, one: Candidate) -> bool:
    if not one.quick:
        return False
    none = [spell for spell in setting.spells if spell.state == "none"]
    days = one.answer.use.applications
    return not all(any(s.first <= day and (s.last is None or day <= s.last) for s in none) for day in days)


def _spent_on_full_brood(setting: WallSetting, one: Candidate) -> bool:
    """Whether what spares cells, and is soon spent, meets more brood than it can outlast."""
    rule = setting.walls.little_brood
    if one.answer.class_ not in rule.classes:
        return False
    drones = setting.mark("drone_rearing_start")
    first = setting.mark("winter_bee_rearing_start") + whole_days(rule.after)
    return not any(first + n <= one.day < drones + YEAR_DAYS + n for n in (-YEAR_DAYS, 0))


def _not_rested(setting: WallSetting, one: Candidate) -> bool:
    """Too soon after a course that was: of its synthetic class, of any course, or a second trickle of one winter."""
    walls = setting.walls
    for past in setting.past:
        ended = past.began if past.ended is None else past.ended
        same = past.class_ == one.answer.class_ and past.class_ in walls.synthetic
        if same and one.day - past.began < whole_days(walls.synthetic_rest):
            return True
        if not setting.over and one.day - ended < whole_days(walls.between):
            return True
        if one.trickle and past.treatment == one.answer.product and same_winter(setting, past.began, one.day):
            return True
    return False


def same_winter(setting: WallSetting, one: int, other: int) -> bool:
    """Whether two days lie in the life of one generation of winter bees, this winter's or last winter's."""
    first, last = setting.mark("winter_bee_rearing_start"), setting.mark("first_pollen") + YEAR_DAYS
    return any(first + n <= min(one, other) and max(one, other) <= last + n for n in (-YEAR_DAYS, 0, YEAR_DAYS))


# Two courses, and the year --------------------------------------------------------------------------------------------


def may_share_a_year(setting: WallSetting, one: Candidate, other: Candidate) -> bool:
    """Whether two courses may be in one year, and in every year after it that is like it."""
    first, second = (one, other) if one.day <= other.day else (other, one)
    if second.day - first.day >= YEAR_DAYS or one is other:
        return False
    return _follows(setting, first, second, 0) and _follows(setting, second, first, YEAR_DAYS)


def _follows(setting: WallSetting, first: Candidate, second: Candidate, later: int) -> bool:
    """Whether ``second``, so many days later than it stands, may follow on ``first``; at once where a count says so."""
    day = second.day + later
    between = 0 if setting.over else whole_days(setting.walls.between)
    return day - first.worked >= between and may_follow(setting, first, second, day)


def may_follow(setting: WallSetting, first: Candidate, second: Candidate, day: int, *, rested: bool = True) -> bool:
    """Whether ``second``, begun on ``day``, may follow on ``first`` at once, as where a count is over the line.

    ``rested``: a synthetic class has to rest; else its label alone is asked.
    """
    walls = setting.walls
    if day < first.answer.use.last:
        return False
    same = first.answer.class_ == second.answer.class_ and first.answer.class_ in walls.synthetic
    if rested and same and day - first.day < whole_days(walls.synthetic_rest):
        return False
    one_pack = same_pack(first.answer.product, second.answer.product, setting.book)
    if one_pack and day - first.answer.use.last < second.rest:
        return False
    return not (first.trickle and second.trickle and same_winter(setting, first.day, day))


def caps(setting: WallSetting, candidates: Sequence[Candidate]) -> Iterator[tuple[list[bool], int]]:
    """Which candidates count together, and how many of them a year holds: by class, and by their labels.

    By a label, beside the doses that are chosen apart.
    """
    for class_, most in setting.walls.a_season.items():
        yield [c.answer.class_ == class_ for c in candidates], round(most.value.middle)
    if not setting.counting:
        acids = setting.walls.acids
        yield [c.answer.class_ in acids for c in candidates], whole_days(setting.walls.in_a_row)
    for product in sorted({c.answer.product for c in candidates}):
        mine = [c for c in candidates if c.answer.product == product]
        most_a_year = [c.a_year for c in mine if c.a_year is not None]
        if most_a_year:
            yield [c.answer.product == product for c in candidates], min(most_a_year) - setting.own.count(product)
