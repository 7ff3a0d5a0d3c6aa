"""What is done where something is capped on the day of the winter dose: by climate, by law, and never without end.

In: a ``YearPlan``, its winter dose, the laws that hold. Out: text. In cold regions nobody opens a cluster week by week,
nor hunts a queen in it; where brood hardly stops the caging is begun in time, and where law asks for a treatment
without brood, the dose is never left out.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days


def still_capped(plan: YearPlan, one: Planned, laws: Sequence[Jurisdiction]) -> str:
    """What is done where something is capped, as whole sentences but for the last full stop."""
    if plan.known.asked.region.rarely_broodless:
        return _brood_goes_on(plan, one, laws)
    again = second_look(plan, one)
    leave = "leave it out, and wash on the first mild day of spring"
    if again is None:
        return f"Where something is capped: {leave}"
    return (
        f"Where something is capped: give nothing, and look again on {month_day(again)}, or the next mild day; give it "
        f"then if nothing is; capped even then: {leave}"
    )


def asking_for_no_brood(laws: Sequence[Jurisdiction]) -> str:
    """Where law asks for a treatment without brood, as "in Italy"; "" where none does."""
    titles = [one.title for one in laws if one.without_brood is not None]
    return f"in {joined(titles)}" if titles else ""


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


def _brood_goes_on(plan: YearPlan, one: Planned, laws: Sequence[Jurisdiction]) -> str:
    """Where brood hardly stops: the queen caged in time, where nothing else is in the way."""
    caged, law = caged_for(plan, one.course.day, one), asking_for_no_brood(laws)
    if caged is None:
        left = "Brood may not stop here: where something is capped, leave it out, and let the next count decide"
        if law:
            left += f"; {law} law asks for one without brood, so ask its inspector what stands for it there"
        return left
    return f"Brood may not stop here: {caging_words(caged, one.course.day, law)}"


def caging_words(caged: int, day: int, law: str) -> str:
    """The queen caged ahead of a dose; where she is not found, the dose hangs on what is seen on its day."""
    capped = f"where something is capped on {month_day(day)}, leave it out, and let the next count decide"
    if law:
        capped = (
            f"look for her again a week later, and give the dose three weeks after she was caged; {law} it is not left "
            "out, as law asks for one without brood"
        )
    return (
        f"look on {month_day(caged)} too: brood on that day, be it a palm of it, and cage the queen, the cage in the "
        f"middle of the bees, and let her out on {month_day(day)} with the dose; a week after she was caged break the "
        "queen cells outside the cage. Two weeks after her release, on a mild day, look for her "
        "or for eggs: neither, look again once brood has begun, then unite. "
        f"She is not found: {capped}"
    )


def caged_for(plan: YearPlan, day: int, dose: Planned | None) -> int | None:
    """The last of the keeper's days on which a queen is caged so that nothing is capped on the day of a dose; None
    where something is in the way. Where drones are gone by then, workers alone have to come out."""
    asked, setting = plan.known.asked, plan.known.setting
    castes = asked.book.biology.castes
    worker, drone = round(castes.worker.emerges.value.usual), round(castes.drone.emerges.value.high or 0)
    gone = setting.ends("drone_season_end")
    early = [d for d in asked.days if d <= day - drone or (gone < d <= day - worker)]
    return next((d for d in reversed(early) if d > day - 2 * worker and _free(plan, d, day, dose)), None)


def _free(plan: YearPlan, caged: int, day: int, dose: Planned | None) -> bool:
    """Whether nothing lies in the hive on a day of caging or after it, no caging was shortly before, winter bees are
    reared, and combs may be lifted."""
    asked, setting = plan.known.asked, plan.known.setting
    worker = round(asked.book.biology.castes.worker.emerges.value.usual)
    apart = whole_days(asked.book.planning.year_plans.offered.caged_apart)
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
    others = [one for one in plan.courses if one is not dose]
    lies = any(one.course.day <= day and caged <= one.course.answer.use.last for one in others)
    lately = any(one.rests and caged < one.rests.released + apart for one in others if one.course.day < caged)
    return not lies and not lately and caged + worker >= setting.mark("brood_minimum") and setting.high(caged) >= warm
