"""What a low count before a course excuses: it is left out.

In: a ``YearPlan``. Out: days, mites, words.
"""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.decide.tally import announced, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan


@dataclass(frozen=True, slots=True)
class Excuse:
    """A course is left out where the count of a ``day`` (ordinal) finds no more than ``most``."""

    day: int
    most: int


def excuse(plan: YearPlan, one: Planned) -> Excuse | None:
    """What excuses a course that stands beside the base; None where nothing does: what advisers have stands."""
    if one.round:
        return None
    first = one.rests.caged if one.rests else one.course.day
    before = [day for day in plan_counts(plan) if day <= first]
    most = low_count(plan, max(before)) if before else None
    return None if most is None else Excuse(max(before), most)


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
