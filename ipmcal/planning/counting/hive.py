"""Hive: what the rhythm of counts has to know of a hive: its counts, its courses, the days on which it may be counted.

In: a yard's season, a hive, its errands and the days on which packing placed them. Out: a ``CountQuestion``. Pure.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.treatments import Treatment
from ipmcal.place.climate import Climate
from ipmcal.planning.counting.chosen import CountCost, CountQuestion
from ipmcal.planning.decide.rhythm import (
    AskedCount,
    CountedCourse,
    CountFor,
    CountSetting,
    counts_asked,
    seasons_of_brood,
)
from ipmcal.planning.mites.walls import is_quick
from ipmcal.planning.owed.closed import kept_closed, sick_of
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Path
from ipmcal.planning.owed.prescribed import prescribed
from ipmcal.planning.ready import Ready
from ipmcal.planning.unfold.barred import kept_off, lines_that_judge
from ipmcal.planning.unfold.cold import cold_days
from ipmcal.planning.unfold.quiet import changed_days, days_of_course, kept_shut, nest_days

_OLD = "overwintered"


@dataclass(frozen=True)
class Visited:
    """The days (ordinals) on which a yard is visited, and those on which the keeper drives out to any; they grow."""

    here: set[int]
    driven: set[int]

    def cost(self, day: int) -> CountCost:
        """What it costs to come on a day as well: drives, and visits."""
        return int(day not in self.driven), int(day not in self.here)

    def comes(self, day: int) -> None:
        """The keeper comes on a day."""
        self.here.add(day)
        self.driven.add(day)


@dataclass(frozen=True)
class HiveWork:
    """A hive with all that is owed in it, of any season, where packing placed it.

    ``breaks`` are the keys of the courses that are given in a break of its brood.
    """

    one: Ready
    state: ColonyState
    errands: Sequence[Errand]
    paths: Mapping[str, Path]
    breaks: Collection[str] = ()

    def placed(self, errand: Errand) -> Iterator[tuple[str, int]]:
        """The steps of an errand, each with its day."""
        ordinals = self.one.ground.days.ordinals
        return ((step, ordinals[at]) for (step, _), at in errand.chain.done(self.paths.get(errand.key, ())))


@dataclass(frozen=True)
class HiveCounts:
    """When a hive may be counted: the question; and by the day on which a board is read, that on which it goes in."""

    asked: CountQuestion
    boards: Mapping[int, int] = field(default_factory=dict)


# Counts ---------------------------------------------------------------------------------------------------------------


def counted_on(work: HiveWork) -> list[int]:
    """The days on which mites were counted, as far as it tells, or are to be counted by what else asks."""
    ground = work.one.ground
    words = ground.book.planning.counts
    judged = lines_that_judge(ground, work.state, work.state.events)
    found = [event.day for event in judged if event.word in words]
    for errand in work.errands:
        steps = errand.frame.method.steps
        found += [day for step, day in work.placed(errand) if steps[step].logs in words]
    return sorted(set(found))


# Courses --------------------------------------------------------------------------------------------------------------


def courses_counted(work: HiveWork) -> list[CountedCourse]:
    """The courses of a hive, given or placed, as counts see them."""
    ground, book = work.one.ground, work.one.ground.book
    found: dict[tuple[str, int], CountedCourse] = {}
    for course in work.one.courses.get(work.state.colony.key, ()):
        last = course.last if course.ended is None else course.ended
        if course.product in book.treatments:
            quick = is_quick(book.treatments[course.product], Use((course.began,), last), book)
            found[course.product, course.began] = CountedCourse(course.began, last, winter=quick)
    for errand in work.errands:
        known = prescribed(ground, errand.course, {}) if errand.course else None
        if known is None:
            continue
        given, out = days_of_course(ground, errand, known, work.paths)
        if given:
            last = given[-1] if out is None else max(out, given[-1])
            one = _as_counted(work, errand, known.treatment, Use(tuple(given), last))
            found[errand.course, given[0]] = one
    return sorted(found.values(), key=lambda one: (one.first, one.last))


def _as_counted(work: HiveWork, errand: Errand, treatment: Treatment, use: Use) -> CountedCourse:
    """A dose in a break of the brood is decided on before the queen is caged; others as they are."""
    if not is_quick(treatment, use, work.one.ground.book):
        return CountedCourse(use.first, use.last)
    caged = _caged(work, use.first) if errand.unmarked in work.breaks else None
    return CountedCourse(use.first if caged is None else caged, use.last, dose=caged is not None, winter=caged is None)


def _caged(work: HiveWork, day: int) -> int | None:
    """The last day up to a day on which the queen was caged, or is to be."""
    book = work.one.ground.book
    found = [event.day for event in work.state.events if book.effect(event.word) == "stops_laying"]
    for errand in work.errands:
        steps = errand.frame.method.steps
        found += [on for step, on in work.placed(errand) if book.effect(steps[step].logs) == "stops_laying"]
    return max((on for on in found if on <= day), default=None)


# Days -----------------------------------------------------------------------------------------------------------------


def count_setting_of(work: HiveWork, courses: Sequence[CountedCourse]) -> CountSetting:
    """Where and how often mites are counted in a hive; oftener where nothing else protects it."""
    ground, state = work.one.ground, work.state
    first, alone = ground.season.first, not any(one.last >= ground.season.first for one in courses)
    if state.kind != _OLD:
        young = ground.book.planning.year_plans.counts.young
        first = max(first, state.colony.began + round(young.value.high or 0))
    return ground.once(("counts_setting", first, alone), lambda: _setting(ground, first, alone=alone))


def _setting(ground: Ground, first: int, *, alone: bool) -> CountSetting:
    book, season = ground.book, ground.season
    region, rhythm = book.regions[ground.yard.region], book.planning.year_plans.counts
    if alone:
        apart = book.planning.year_plans.offered.alone
        rhythm = rhythm.model_copy(update={"apart": apart, "late": apart, "few": apart})
    days = [day for day in (*ground.past.ordinals, *ground.days.ordinals) if first <= day <= season.last]
    few = "swarm_check" not in book.programs[ground.yard.program].methods
    return CountSetting(season, days, usual_high(region).mean, rhythm, region.base.counts, (), few)


def usual_high(region: Region) -> Climate:
    """What days are usually as warm as, at their highest, by the region's normals."""
    return _usual(*(tuple([v.value for v in row]) for row in (region.normals.high, region.normals.sd)))


@lru_cache(maxsize=64)
def _usual(high: tuple[float, ...], sd: tuple[float, ...]) -> Climate:
    """The same object each time: questions of equal hives are equal."""
    return Climate(high, sd)


def question_of_counts(work: HiveWork, every: Errand, visited: Visited) -> tuple[HiveCounts | None, Sequence[Refusal]]:
    """When a hive may be counted; None, with what is against it, where it may not at all.

    ``every`` is a count on any of the keeper's days of the season that are left.
    """
    ground, courses = work.one.ground, courses_counted(work)
    setting = count_setting_of(work, courses)
    left, refused = _let(work, every)
    if left is None:
        return None, refused
    young = setting.days[0] if setting.days else ground.season.last + 1
    shut = _shut(work)
    lifted = {day for day in left if day >= young and day not in shut}
    cold = {day for first, last in cold_days(ground) for day in range(first, last + 1)}
    boards = dict(_boards(work, sorted(day for day in left if day >= young and day in cold), courses, visited))
    costs = {day: visited.cost(day) for day in lifted - cold}
    for read, put_in in boards.items():
        one, two = visited.cost(read), visited.cost(put_in)
        costs[read] = one[0] + two[0], one[1] + two[1]
    had, free = tuple(counted_on(work)), tuple(sorted(costs))
    asked = tuple(_asked(setting, courses, {*had, *free}))
    since = max(ground.as_of, ground.season.first)
    soon = round(ground.book.planning.year_plans.offered.at_once.value.high or 0)
    # settings are few, and held for as long as the ground is
    stretches = ground.once(("stretches", id(setting)), lambda: tuple(seasons_of_brood(setting)))
    return HiveCounts(CountQuestion(setting, asked, stretches, had, free, costs, since, soon), boards), ()


def _let(work: HiveWork, every: Errand) -> tuple[list[int] | None, Sequence[Refusal]]:
    """The days of the keeper's on which nothing bars a count; None where something always does, and what."""
    ground = work.one.ground
    there, closed = kept_closed(ground, sick_of(work.one.states), [every])
    kept, barred = kept_off(ground, work.state, there, work.errands)
    left = next((errand for errand in kept if errand.key == every.key), None)
    if left is None or not left.chain.nodes:
        return None, (*closed, *(one for one in barred if one.method == every.method))
    return [ground.days.ordinals[node.at] for node in left.chain.nodes], ()


def _shut(work: HiveWork) -> set[int]:
    """The days on which a hive, or its brood nest, stays shut for a course; nor is one counted while it only begins to
    work, though its trays are changed.
    """
    ground, found = work.one.ground, set[int]()
    for errand in work.errands:
        known = prescribed(ground, errand.course, {}) if errand.course else None
        if known is not None:
            given, out = days_of_course(ground, errand, known, work.paths)
            found.update(kept_shut(known, given), nest_days(known, given, out), changed_days(known, given))
    return found


def _boards(
    work: HiveWork, cold: Iterable[int], courses: Sequence[CountedCourse], visited: Visited
) -> Iterator[tuple[int, int]]:
    """The days too cold for combs on which a board may be read, each with the one on which it goes in.

    None lies under a dose, or in the weeks in which it fells mites: these are no mites of before.
    """
    book, days = work.one.ground.book, work.one.ground.days
    lies = _lies(work)
    told = round(book.planning.year_plans.counts.after.value.low or 0)
    doses = [one.last for one in courses if one.winter]
    if lies is None:
        return
    some = days.of(days.between(work.one.ground.as_of, work.one.ground.season.last))
    some = tuple(day for day in some if not any(dose <= day < dose + told for dose in doses))
    worth = {day: (visited.cost(day), -day) for day in some}
    for read in cold:
        if any(dose <= read < dose + told for dose in doses):
            continue
        ins = some[bisect_left(some, read - lies[1]) : bisect_right(some, read - lies[0])]
        if ins:
            yield read, min(ins, key=worth.__getitem__)


def _lies(work: HiveWork) -> tuple[int, int] | None:
    """Days from the day on which a board goes in to that on which it is read; None where the fall is counted anyway."""
    book = work.one.ground.book
    falls, own = set(book.planning.counts) - set(book.planning.nest_work), book.planning.cold_count
    others = (errand.frame.method for errand in work.errands if errand.method != own)
    if any(step.logs in falls for method in others for step in method.steps.values()):
        return None
    rhythm = book.planning.year_plans.counts
    return round(rhythm.board.value.low or 0), round(rhythm.after.value.low or 0)


def _asked(setting: CountSetting, courses: Sequence[CountedCourse], days: set[int]) -> Iterator[AskedCount]:
    """The windows in which a count can lie at all; before a course, on its first day, where it can't lie sooner."""
    for one in counts_asked(setting, courses):
        if any(one.first <= day <= one.last for day in days):
            yield one
        elif one.what is CountFor.BEFORE and any(one.first <= day <= one.of for day in days):
            yield AskedCount(one.first, one.of, one.what, one.of)
