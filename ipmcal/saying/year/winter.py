"""What is done where something is capped on the day of the winter dose: by climate, and never without end.

In: a ``YearPlan``, its winter dose. Out: text. In cold regions nobody opens a cluster week by week, nor hunts a queen
in it; where brood hardly stops the caging is begun in time.
"""

from __future__ import annotations

from ipmcal.model.values.words import month_day
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days


def still_capped(plan: YearPlan, one: Planned) -> str:
    """What is done where something is capped, as whole sentences but for the last full stop."""
    if plan.known.asked.region.rarely_broodless:
        return _brood_goes_on(plan, one)
    again = second_look(plan, one)
    leave = "leave it out, and wash on the first mild day of spring"
    if again is None:
        return f"Where something is capped: {leave}"
    return (
        f"Where something is capped: give nothing, and look again on {month_day(again)}, or the next mild day; give it "
        f"then if nothing is; capped even then: {leave}"
    )


def second_look(plan: YearPlan, one: Planned) -> int | None:
    """The keeper's day on which it is looked once more, and given at the latest; None where the round is then over."""
    days, last = plan.known.asked.days, _last(plan, one)
    worker = round(plan.known.asked.book.biology.castes.worker.emerges.value.usual)
    due = one.course.day + worker
    if due > max(days):  # in the next season, on the same day of the week
        warm = plan.known.setting.walls.winter_dose_at.value.low or 0.0
        if due <= last and plan.known.setting.high(due) >= warm:
            return due
    later = [day for day in days if one.course.day < day <= last]
    return next((day for day in later if day >= due), max(later, default=None))


def _last(plan: YearPlan, one: Planned) -> int:
    """The last day on which the dose is given: the round's."""
    slot = next((served.slot for served in plan.known.rounds if served.slot.name == one.round), None)
    return one.course.day if slot is None else max(slot.last, one.course.day)


def _brood_goes_on(plan: YearPlan, one: Planned) -> str:
    """Where brood hardly stops: the queen caged in time, where nothing else is in the way."""
    asked = plan.known.asked
    drone = round(asked.book.biology.castes.drone.emerges.value.high or 0)
    caged = max((day for day in asked.days if day <= one.course.day - drone), default=None)
    if caged is None or not _free(plan, caged, one):
        return "Brood may not stop here: where something is capped, leave it out, and let the next count decide"
    when = month_day(caged)
    return (
        f"Brood may not stop here: look on {when} too; combs full of brood on that day: cage the queen then, and let "
        f"her out on {month_day(one.course.day)} with the dose; not found: leave it out, and let the next count decide"
    )


def _free(plan: YearPlan, caged: int, dose: Planned) -> bool:
    """Whether nothing lies in the hive on a day of caging or after it, no caging was shortly before, winter bees are
    reared, and combs may be lifted."""
    asked, setting = plan.known.asked, plan.known.setting
    worker = round(asked.book.biology.castes.worker.emerges.value.usual)
    apart = whole_days(asked.book.planning.year_plans.offered.caged_apart)
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
    others = [one for one in plan.courses if one is not dose]
    lies = any(one.course.day <= dose.course.day and caged <= one.course.answer.use.last for one in others)
    lately = any(one.rests and caged < one.rests.released + apart for one in others if one.course.day < caged)
    return not lies and not lately and caged + worker >= setting.mark("brood_minimum") and setting.high(caged) >= warm
