"""What a low count before a course excuses: it is left out, or waits.

In: a ``YearPlan``. Out: days, mites, words.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.decide.tally import announced, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan, fails_at_first


@dataclass(frozen=True, slots=True)
class Excuse:
    """A course is ``left`` out, or else waits, where the count of a ``day`` (ordinal) finds no more than ``most``."""

    day: int
    most: int
    left: bool


def excuse(plan: YearPlan, one: Planned) -> Excuse | None:
    """What excuses a course; None where nothing does: late summer's course and the winter dose stand."""
    if one.round in ("package", "winter") or (one.course.quick and one.rests is None):
        return None
    first = one.rests.caged if one.rests else one.course.day
    before = [day for day in plan_counts(plan) if day <= first]
    most = low_count(plan, max(before)) if before else None
    if most is None:
        return None
    if one.round == "":
        return Excuse(max(before), most, left=True)
    if plan.known.asked.few or fails_at_first(plan):
        return None  # nobody waits who comes seldom, or whose hives are mostly over the line
    advised = plan.known.asked.region.base.before_flow is not None and one.round == "late_summer"
    waits = one.rests is None and (one.round == "spring" or advised)
    return Excuse(max(before), most, left=False) if waits else None


def low_count(plan: YearPlan, day: int) -> int | None:
    """Up to how many mites in a wash are low, by the authority's lower level; None where it has none, or in cold."""
    asked = plan.known.asked
    found = announced(
        day, yardstick(asked.season, asked.jurisdiction, asked.book, asked.region), "overwintered", SAMPLE
    )
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
    if found is None or found[0].rule.watch is None or plan.known.setting.high(day) < warm:
        return None
    watch = found[0].rule.watch.value
    return max(int(watch.rate * SAMPLE) - (0 if watch.above else 1), 0)
