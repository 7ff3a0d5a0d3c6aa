"""What a low count before a course excuses: it is left out.

In: a ``YearPlan``. Out: days, mites, words.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.values.count import Unit
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.decide.tally import Yardstick, announced, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days


@dataclass(frozen=True, slots=True)
class Excuse:
    """A course is left out where the count of a ``day`` (ordinal) finds no more than ``most``."""

    day: int
    most: int


def excuse(plan: YearPlan, one: Planned) -> Excuse | None:
    """What excuses a course that stands beside the base: a count shortly before it, where another that has a line comes
    after it; None where nothing does: what advisers have stands."""
    if one.round:
        return None
    first = one.rests.caged if one.rests else one.course.day
    near = whole_days(plan.known.asked.book.planning.year_plans.enough.excused)
    before = [day for day in plan_counts(plan) if first - near < day <= first]
    after = [day for day in plan_counts(plan) if day > first and _has_line(plan, day)]
    most = low_count(plan, max(before)) if before and after else None
    return None if most is None else Excuse(max(before), most)


def _has_line(plan: YearPlan, day: int) -> bool:
    """Whether a count of a day is held to a line: a wash, or a board where it is too cold for one."""
    asked = plan.known.asked
    rhythm, stick = asked.book.planning.year_plans.counts, _stick(plan)
    if plan.known.setting.high(day) >= (rhythm.warm.value.low or 0.0):
        return announced(day, stick, "overwintered", SAMPLE) is not None
    return announced(day, stick, "overwintered", whole_days(rhythm.board), Unit.DAYS) is not None


def _stick(plan: YearPlan) -> Yardstick:
    asked = plan.known.asked
    return yardstick(asked.season, asked.jurisdiction, asked.book, asked.region)


def low_count(plan: YearPlan, day: int) -> int | None:
    """Up to how many mites in a wash are low, by the authority's lower level; None where it has none, or in cold."""
    asked = plan.known.asked
    found = announced(day, _stick(plan), "overwintered", SAMPLE)
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
    if found is None or found[0].rule.watch is None or plan.known.setting.high(day) < warm:
        return None
    watch = found[0].rule.watch.value
    return max(int(watch.rate * SAMPLE) - (0 if watch.above else 1), 0)
