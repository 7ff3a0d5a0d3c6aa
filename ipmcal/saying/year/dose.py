"""The dose of the weeks of least brood: of a plan, or where there is no plan of treatments the likeliest one.

In: a ``YearPlan``, what labels let. Out: a product and its day.
"""

from __future__ import annotations

from ipmcal.planning.advise.over import Open, listed_by
from ipmcal.planning.mites.plan import YearPlan


def winter_dose_of(plan: YearPlan, opened: Open) -> tuple[str, int] | None:
    """The product and the day (ordinal) of the winter dose; None where there is none."""
    mine = [one.course for one in plan.courses if one.course.quick and one.round in ("winter", "autumn")]
    if mine:
        return mine[-1].answer.product, mine[-1].day
    slot = next((one.slot for one in plan.known.rounds if one.slot.name == "winter"), None)
    if slot is None or plan.courses:
        return None
    acids = [c for c in opened.all if c.quick and slot.first <= c.day <= slot.last]
    if not acids:
        return None
    middle = slot.by if slot.by is not None else (slot.first + slot.last) // 2
    listing = listed_by(plan.known.asked.book)
    one = min(acids, key=lambda c: (abs(c.day - middle), -listing[c.answer.product], c.answer.product))
    return one.answer.product, one.day
