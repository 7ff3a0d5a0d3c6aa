"""Counts: the days on which mites are counted where the courses of a year are given.

In: a ``YearPlan``. Out: days. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.biology.counts import least_mites
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.values.count import Threshold
from ipmcal.planning.decide.rhythm import CountedCourse, CountSetting, CountWindow, count_days
from ipmcal.planning.mites.plan import Planned, YearPlan, fails_at_first
from ipmcal.planning.mites.walls import whole_days


def plan_counts(plan: YearPlan) -> tuple[int, ...]:
    """The keeper's days (ordinals) on which mites are counted, where these courses are given."""
    return count_days(count_setting(plan), [_counted(planned) for planned in plan.courses])


def mites_on_board(line: Threshold, days: int) -> int:
    """The fewest mites on a board of so many days that are at a line of mites a day, or over it."""
    return least_mites(line, days)


def tells_again(plan: YearPlan, rest: CagedBreak) -> int:
    """The first day (ordinal) behind a release on which mites are in cells again, and a wash reads as it does."""
    return rest.released + round(plan.known.asked.book.planning.year_plans.counts.after.value.low or 0)


def count_setting(plan: YearPlan) -> CountSetting:
    """Where and how often mites are counted in the hives of a plan."""
    one, asked = plan.known, plan.known.asked
    young = asked.stock.young
    began = None if young is None or young.began is None else young.began.day
    first = asked.season.first if began is None else began + whole_days(asked.book.planning.year_plans.counts.young)
    days = [day for day in asked.days if day >= first and not _tells_of_a_dose(plan, day)]
    rhythm, region = asked.book.planning.year_plans.counts, asked.region.base.counts
    if not plan.courses or (young is not None and fails_at_first(plan)):  # nothing else protects those hives
        alone = asked.book.planning.year_plans.offered.alone
        rhythm = rhythm.model_copy(update={"apart": alone, "late": alone, "few": alone})
    return CountSetting(asked.season, days, one.setting.high, rhythm, region, tuple(_decides(plan)), asked.few)


def _tells_of_a_dose(plan: YearPlan, day: int) -> bool:
    """Whether a board would lie under a winter dose, or in the weeks in which it fells mites: no mites of before."""
    rhythm = plan.known.asked.book.planning.year_plans.counts
    if plan.known.setting.high(day) >= (rhythm.warm.value.low or 0.0):
        return False
    quick = (one for one in plan.courses if one.course.quick and one.rests is None)
    doses = [one.course.day for one in quick if one.round != "package"]
    return any(dose <= day < dose + round(rhythm.after.value.low or 0) for dose in doses)


def _decides(plan: YearPlan) -> Iterator[CountWindow]:
    """Where nothing is planned, a count in time for a course of late summer, one after what it would lead to, and the
    last one of autumn; of a package, one as soon as its own bees have come out."""
    slot = next((one.slot for one in plan.known.rounds if one.slot.name == "late_summer"), None)
    if plan.known.asked.package and plan.courses:  # where its dose was left out, a wash as soon as one may be
        began = plan.known.asked.stock.young
        rhythm = plan.known.asked.book.planning.year_plans.counts
        if began is not None and began.began is not None:
            first = began.began.day + whole_days(rhythm.young)
            yield first, first + round((rhythm.after.value.high or 0) - (rhythm.after.value.low or 0))
    if plan.courses or slot is None or slot.by is None:
        return
    yield _last_warm(plan)
    reach = whole_days(plan.known.asked.book.planning.year_plans.enough.excused) - 1
    yield slot.by - 2 * reach, slot.by - reach
    yield slot.by + 1, slot.by + 2 * reach
    if plan.known.asked.region.rarely_broodless:  # a winter without a dose, where brood goes on
        least = plan.known.setting.mark("brood_minimum")
        yield least, least + whole_days(plan.known.asked.book.planning.year_plans.counts.after)


def _last_warm(plan: YearPlan) -> CountWindow:
    """The two weeks before it is too cold for a wash, or there is least brood: what came in until then."""
    setting, rhythm = plan.known.setting, plan.known.asked.book.planning.year_plans.counts
    least = setting.mark("brood_minimum")
    autumn = setting.mark("winter_bee_rearing_start")
    warm = [day for day in range(autumn, least) if setting.high(day) >= (rhythm.warm.value.low or 0.0)]
    last = max(warm, default=least)
    return last - round(rhythm.after.value.low or 0), last


def _counted(planned: Planned) -> CountedCourse:
    course = planned.course
    if planned.rests is not None:
        return CountedCourse(planned.rests.caged, course.answer.use.last, dose=True)
    winter = course.quick and planned.round != "package"
    return CountedCourse(course.day, course.answer.use.last, course.quick, winter)
