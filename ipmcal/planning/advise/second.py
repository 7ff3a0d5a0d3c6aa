"""Second: another product in each course's place, and the last day that is still enough.

In: a ``YearPlan``. Out: ``Second`` values. Pure. Places are judged by the draws that choose, all at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.warm import inside_warmth
from ipmcal.planning.mites.answers import usual_weather
from ipmcal.planning.mites.asking.known import YearKnown
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.search import fits, free, harms_of, over_line, row_of
from ipmcal.planning.mites.walls import whole_days


@dataclass(frozen=True, slots=True)
class Second:
    """What else may stand in a course's place: ``last``: the last day on which its own product may begin and be enough;

    ``product`` another that would be enough, begun best on ``day`` and at the latest on ``until``; None: there is none.
    Days are ordinals.
    """

    last: int
    product: str | None = None
    day: int | None = None
    until: int | None = None


def seconds(plan: YearPlan) -> tuple[Second, ...]:
    """The second choice of each course, in the order of the plan's."""
    counts = plan_counts(plan)
    return tuple(_second(plan, one, counts) for one in plan.courses)


def _second(plan: YearPlan, planned: Planned, counts: Sequence[int]) -> Second:
    one, field = plan.known, plan.known.field
    others = [i for i in plan.chosen.courses if i != planned.place]
    places = [i for i in _places(plan, planned) if fits(one.field, i, others)]
    rows = [row_of(field, (*others, i))[0] for i in places]
    if not rows:
        return Second(planned.course.day)
    shares, harms = over_line(field, rows), harms_of(field, rows)
    most = max(field.measures.over, plan.chosen.over) + 1e-12
    enough = [(i, float(harm)) for i, share, harm in zip(places, shares, harms, strict=True) if share <= most]
    product = planned.course.answer.product
    own = [one.candidates[i].day for i, _ in enough if one.candidates[i].answer.product == product]
    last = max([*own, planned.course.day])
    others_enough = [(i, h) for i, h in enough if one.candidates[i].answer.product != product]
    before = max((day for day in counts if day <= planned.course.day), default=None)
    rest = [(i, harm) for i, harm in others_enough if _is_equal(plan, planned, i, before)]
    if not rest:
        return Second(last)
    best = _preferred(one, rest)
    mine = [(i, harm) for i, harm in rest if one.candidates[i].answer.product == best]
    days = [one.candidates[i].day for i, _ in mine]
    if planned.course.quick:  # a dose stays as near as may be
        near = min(days, key=lambda day: (abs(day - planned.course.day), day))
        return Second(last, best, near, max(days))
    least = min(harm for _, harm in mine)
    good = [one.candidates[i].day for i, harm in mine if harm <= least * (1.0 + field.measures.same_harm)]
    return Second(last, best, max(good), max(days))


def _is_equal(plan: YearPlan, planned: Planned, place: int, count: int | None) -> bool:
    """Whether another product stands for a course: inside its label's warmth, not much later, not before its count."""
    asked, other = plan.known.asked, plan.known.candidates[place]
    if other.day > planned.course.day + whole_days(asked.book.planning.year_plans.offered.near):
        return False
    if not planned.round and count is not None and other.day < count:
        return False
    if planned.course.quick:
        return other.quick
    weather = usual_weather(asked.region, other.day, other.answer.use.last)
    return inside_warmth(plan.known.setting, weather, other)


def _places(plan: YearPlan, planned: Planned) -> Sequence[int]:
    """What may stand in a course's place: its round's candidates, or any that may stand beside the base."""
    for served in plan.known.rounds:
        if served.slot.name == planned.round:
            more = served.wide if planned.course.quick else ()
            places = tuple(dict.fromkeys((*served.candidates, *more)))
            day = {i: plan.known.candidates[i].day for i in places}
            inside = [i for i in places if served.slot.first <= day[i] <= served.slot.last]
            return inside if planned.place in inside else places
    return [i for i in free(plan.known.field) if _between(plan, planned, plan.known.candidates[i].day)]


def _between(plan: YearPlan, planned: Planned, day: int) -> bool:
    """Whether a day lies between the courses before and after: a spring round has no second choice in autumn."""
    others = [one.course.day for one in plan.courses if one is not planned]
    before = [other for other in others if other < planned.course.day]
    after = [other for other in others if other > planned.course.day]
    inside = max(before, default=day - 1) < day < min(after, default=day + 1)
    return inside and abs(day - planned.course.day) <= _apart(plan.known)


def _apart(one: YearKnown) -> int:
    """Days between two counts: a course moved by more than that would answer another one."""
    return whole_days(one.asked.book.planning.year_plans.counts.apart)


def _preferred(one: YearKnown, rest: Sequence[tuple[int, float]]) -> str:
    """The product of the rest that comes first in the keeper's order, of those within a band of the least harm."""
    edge = min(harm for _, harm in rest) * (1.0 + one.field.measures.band)
    near = (i for i, harm in rest if harm <= edge)
    first = min(near, key=lambda i: (one.field.costs[i].lost > 0, one.field.costs[i].product))
    return one.candidates[first].answer.product
