"""Spared: whether counts below the line spare a course: the year holds without it, as the model has it once they tell.

In: a year as it was asked, counts of bees in the time of a course. Out: yes or no. Pure. The draws are those that
accept; each keeps its place in the law of loads, moved by the count, and what comes in from others is left as it was.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.biology.mites.counted import weigh
from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.values.count import Sample
from ipmcal.planning.mites.accept import JudgedYear
from ipmcal.planning.mites.plan import YearPlan, most_over


def holds_without(plan: YearPlan, one: YearCourse, day: int, counted: Sequence[Sample]) -> bool:
    """Whether no more hives than may be are over the line this year without a course, after counts of a ``day``."""
    known = plan.known
    left = [planned.place for planned in plan.courses if planned.course.day != one.day]
    places = sorted((*left, *known.fixed), key=lambda i: known.candidates[i].day)
    made = known.under(places)
    factors = _factors(plan, made, day, counted)
    if factors is None:
        return True
    judging, begins = known.judging, known.begins(places)
    over = 0.0
    for n in judging.counted(begins):
        if judging.days[n] <= day:
            continue
        rows = zip(made, factors, strict=True)
        loads = [_moved(year, factor, day, judging.days[n]) for year, factor in rows]
        over = max(over, sum(load > judging.lines[n] for load in loads) / len(made))
    return over <= most_over(known)


def _factors(plan: YearPlan, made: Sequence[JudgedYear], day: int, counted: Sequence[Sample]) -> Sequence[float] | None:
    """By how much each draw's mites are moved; None where there is nothing to weigh the counts against."""
    figures = plan.known.asked.stock.figures.weighing
    loads = [year.this_loads([day])[0] / (figures.wash_reads if _brood(year, day) else 1.0) for year in made]
    bees = sum(float(one.size) for one in counted)
    if not bees or min(loads) <= 0:
        return None
    brood = _brood(made[0], day)
    return weigh(loads, sum(one.mites for one in counted), bees, figures, brood=brood).factors


def _brood(year: JudgedYear, day: int) -> bool:
    colony = year.young[0] if year.young else year.lived.colony
    return bool(colony.brood[day - colony.first])


def _moved(year: JudgedYear, factor: float, day: int, later: int) -> float:
    """The load of a later day, what was in the hive on the day of the count moved by a factor."""
    (load,) = year.this_loads([later])
    alone, came, first = year.one, year.came, year.lived.stock.first
    if year.young is not None or alone.all[day - first] <= 0:
        return load * factor
    colony, weighing = year.lived.colony, year.lived.stock.figures.weighing
    there = alone.all[day - first] * year.lived.start + came.all[day - first]
    grown = alone.on_bees[later - first] / alone.all[day - first] * there
    reads = weighing.wash_reads if colony.brood[later - colony.first] else 1.0
    return max(load + (factor - 1.0) * grown / colony.bees[later - colony.first] * reads, 0.0)
