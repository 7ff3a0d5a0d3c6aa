"""What is given where a count is over the line, in words: that week, by its label, and then a new plan.

In: a ``YearPlan``, what may be done over the line, the day of a count. Out: text without its full stop.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import plan_counts, tells_again
from ipmcal.planning.advise.over import Open, Remedy, Sought, brought_forward, caged_now, remedies
from ipmcal.planning.mites.base import CagedBreak
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import Candidate, whole_days
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import given_again, off_words, out_day
from ipmcal.saying.year.winter import second_look

THEN = "then a new plan"
MOST_NAMED = 2
"""Products that are named beside a count: more would not be read."""


def reach_of(plan: YearPlan) -> int:
    """Days within which what a count asks for is begun at the latest."""
    return whole_days(plan.known.asked.book.planning.year_plans.enough.excused) - 1


def at_once(plan: YearPlan) -> int:
    """Days to the keeper's next visit: begun by then, it is begun at once."""
    return whole_days(plan.known.asked.book.planning.year_plans.offered.at_once)


def is_caged(courses: Sequence[Planned], day: int) -> Planned | None:
    """The course whose queen is in her cage on a day."""
    return next((c for c in courses if c.rests and c.rests.caged < day <= c.course.day), None)


def answer(plan: YearPlan, opened: Open, day: int, courses: Sequence[Planned]) -> str:
    """What is given where a count over the line finds these courses given so far."""
    book = plan.known.asked.book
    caged = is_caged(courses, day)
    if caged is not None:
        name, when = called(book, caged.course.answer.product), _on(day, caged.course.day)
        return f"the queen is caged, so mites come to sit on bees and a wash reads high; the {name} {when} answers it"
    lately = next((c.rests for c in courses if c.rests and c.rests.released < day < tells_again(plan, c.rests)), None)
    if lately is not None:
        due = tells_again(plan, lately)
        visit = next((one for one in plan.known.asked.days if one >= due), due)
        return (
            "so soon after her release nothing is capped, and a wash reads high: count again on "
            f"{month_day(visit)}, and treat at the line then"
        )
    lies = next((c for c in courses if c.course.day < day <= out_day(plan, c.course.answer)), None)
    if lies is not None and lies.course.answer.use.last > lies.course.day:
        return _lying(plan, opened, lies, day, [one for one in courses if one is not lies])
    failed = _failed(plan, courses, day)
    doses = [one for one in courses if one.course.quick]  # on the bees alone: what a class did in brood says nothing
    dose = _planned(plan, opened, day, doses, courses)
    if failed and dose:
        return dose
    if failed:
        found = _first_of(plan, opened, day, courses, failed)
        if found is not None:
            words, _, ours = found
            list_ = "" if ours else " (not on this plan's list, but with a label here)"
            words += _without(plan, opened, Sought(day, at_once(plan), failed, "heat"), courses, ours=ours)
            return f"it did not do: another class{list_}: {words}; {THEN}"
    return _planned(plan, opened, day, courses, courses) or over_words(plan, opened, day, courses)


def _failed(plan: YearPlan, courses: Sequence[Planned], day: int) -> str:
    """The class of a course that a count tells to have failed, where it is not one that is given twice by custom."""
    plans = plan.known.asked.book.planning.year_plans
    after = round(plans.counts.after.value.high or 0)
    lasting = (one for one in courses if one.course.answer.use.last > one.course.day)
    ended = [one for one in lasting if 0 < day - out_day(plan, one.course.answer) <= after]
    class_ = ended[-1].course.answer.class_ if ended else ""
    return "" if class_ in plans.walls.a_season else class_


def _on(day: int, when: int) -> str:
    return "today" if when == day else f"on {month_day(when)}"


def _planned(plan: YearPlan, opened: Open, day: int, courses: Sequence[Planned], every: Sequence[Planned]) -> str:
    """The plan's own next course of some, where it begins at once, or may; else nothing."""
    asked = plan.known.asked
    figures = asked.book.planning.year_plans.offered
    for one in courses:
        first = one.rests.caged if one.rests else one.course.day
        name = called(asked.book, one.course.answer.product)
        if not day <= first <= day + reach_of(plan):
            continue
        if one.rests is not None:
            answered = one.course.day - day <= whole_days(figures.answered)
            return f"cage the queen {_on(day, first)}, as planned" if answered else ""
        if first <= day + at_once(plan):
            return f"{name} {_on(day, first)}, as planned{_capped(plan, opened, one, day, every)}"
        mine = [c for c in opened.listed if c.answer.product == one.course.answer.product]
        now = remedies(opened, mine, Sought(day, at_once(plan)), courses)
        if now and not now[0].dose:
            return f"{_named(plan, now)}, not only on {month_day(first)}; {THEN}"
    return ""


def _capped(plan: YearPlan, opened: Open, one: Planned, day: int, every: Sequence[Planned]) -> str:
    """What a dose hangs on; where brood hardly stops, what is given in its place where something is capped."""
    if not one.course.quick:
        return ""
    if not plan.known.asked.region.rarely_broodless:
        return ", nothing capped"
    others = [other for other in every if other is not one]
    found = _first_of(plan, opened, day, others, _failed(plan, others, day))
    if found is None:
        again = second_look(plan, one)
        look = "" if again is None else f"; where something is capped: nothing fits, look again by {month_day(again)}"
        return f", nothing capped{look}"
    words, _, ours = found
    list_ = "" if ours else " (not on this plan's list, but with a label here)"
    return f", nothing capped; where something is capped{list_}: {words}; {THEN}"


def _lying(plan: YearPlan, opened: Open, lies: Planned, day: int, others: Sequence[Planned]) -> str:
    """What is done where mites are over the line with a course in the hive: left, or changed for another class."""
    asked, answer_ = plan.known.asked, lies.course.answer
    name, class_ = called(asked.book, answer_.product), answer_.class_
    if day >= out_day(plan, answer_):
        rest = over_words(plan, opened, day, [*others, lies], but=class_)
        return f"take the {name} out as planned; it did not do: {rest}"
    if day - lies.course.day < round(asked.book.planning.year_plans.counts.lying.value.low or 0):
        return f"leave the {name} in, it has not worked yet: {_next_count(plan, lies, day)}"
    withstood = asked.book.planning.year_plans.walls.synthetic
    why = " (mites may withstand it)" if class_ in withstood else ""
    found = _first_of(plan, opened, day, others, class_)
    if found is None:
        return f"it does too little{why}: leave the {name} in to its end; {_none(plan, opened, day)}"
    words, first, ours = found
    list_ = "" if ours else " (not on this plan's list, but with a label here)"
    words += _without(plan, opened, Sought(day, at_once(plan), class_, "heat"), others, ours=ours)
    if first == day:
        return f"it does too little{why}: take the {name} out, and at once give another class{list_}: {words}; {THEN}"
    return (
        f"it does too little{why}: leave the {name} in until another class goes in, and take it out that day{list_}: "
        f"{words}; {THEN}"
    )


def _next_count(plan: YearPlan, lies: Planned, day: int) -> str:
    """The count that decides in place of one that was too early."""
    after = whole_days(plan.known.asked.book.planning.year_plans.counts.after)
    soonest = out_day(plan, lies.course.answer)
    due = min(soonest, lies.course.day + after)
    nxt = next((count for count in plan_counts(plan) if count >= max(due, day + 1)), None)
    least = round(plan.known.asked.book.planning.year_plans.counts.after.value.low or 0)
    visit = next((d for d in plan.known.asked.days if d >= soonest + least), soonest + least)
    if nxt is not None and nxt <= visit:
        return f"the count of {month_day(nxt)} decides"
    return f"count again on {month_day(visit)}, and at or over the line plan anew"


def _first_of(
    plan: YearPlan, opened: Open, day: int, before: Sequence[Planned], but: str
) -> tuple[str, int, bool] | None:
    """What may be begun at once, what hangs on something last, else within two weeks: its words, its first day, whether
    it is on the list."""
    hot = _hot(plan, opened)
    again = {name for name in plan.known.asked.book.planning.year_plans.walls.synthetic if name != but}
    second = [[one for one in among if one.answer.class_ in again] for among in (opened.listed, opened.all)]
    now, late = at_once(plan), reach_of(plan)
    tries: list[tuple[int, Sequence[Candidate], bool, Literal["", "worked", "heat"]]] = [
        (now, opened.listed, True, ""),
        (now, second[0], True, "worked"),
        (now, opened.all, False, ""),
        (now, hot, True, "heat"),
        (now, second[1], False, "worked"),
        (now, opened.hot, False, "heat"),
        (late, opened.listed, True, ""),
        (late, opened.all, False, ""),
    ]
    for reach, among, ours, only in tries:
        sought = Sought(day, reach, but, only)
        found = [one for one in remedies(opened, among, sought, before) if not one.dose]
        if found:
            return _named(plan, found), found[0].day, ours or not plan.known.asked.products
    return None


def _hot(plan: YearPlan, opened: Open) -> list[Candidate]:
    """What is on the list, and poor in the heat of its day."""
    return [one for one in opened.hot if one.answer.product in plan.known.asked.products]


def _without(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned], *, ours: bool) -> str:
    """What who has nothing but the list does where something that is not on it comes first."""
    found = [] if ours else remedies(opened, _hot(plan, opened), sought, before)
    return f"; without it, {_named(plan, found)}" if found else ""


def over_words(plan: YearPlan, opened: Open, day: int, before: Sequence[Planned], *, but: str = "") -> str:
    """What may be begun at once; what is not on the list where nothing on it may; the queen caged where nothing may,
    or where she is caged soon."""
    found, soon = _first_of(plan, opened, day, before, but), brought_forward(plan, day)
    due = winter_dose_of(plan, opened)
    if not plan.courses and due is not None and day <= due[1] <= day + at_once(plan):
        name = called(plan.known.asked.book, due[0])
        else_ = "" if found is None else f"; where something is capped: {found[0]}"
        return f"{name} {_on(day, due[1])}, nothing capped (look first){else_}"
    caged = caged_now(plan, opened, day, but=but)
    if found is not None:
        words, first, ours = found
        late = "" if first <= day + at_once(plan) else "nothing may begin this week; "
        if ours:
            return f"{late}{words}" + (f"; {THEN}" if plan.known.asked.products else "")
        if soon is not None and caged is not None:
            sooner = _forward_words(plan, caged, soon)
            return f"{sooner}; or, not on this plan's list, but with a label here: {words}; {THEN}"
        hot = _without(plan, opened, Sought(day, at_once(plan), but, "heat"), before, ours=False)
        else_ = hot or _else_words(plan, opened, day, before)
        return f"nothing on this plan's list may begin now; with a label here: {words}{else_}; {THEN}"
    dose = _dose_words(plan, opened, day)
    if dose:
        return f"{_why(plan, day)}; {dose}"
    if caged is None:
        return _none(plan, opened, day)
    return _cage_words(plan, caged) if soon is None else f"{_forward_words(plan, caged, soon)}; {THEN}"


def _forward_words(plan: YearPlan, caged: Remedy, soon: CagedBreak) -> str:
    """A planned caging that is begun at once."""
    name = called(plan.known.asked.book, caged.product)
    return (
        f"cage the queen today, not only on {month_day(soon.caged)}, and give {name} on {month_day(caged.day)}, as she "
        f"comes out, nothing capped{off_words(plan, caged.answer)}"
    )


def _else_words(plan: YearPlan, opened: Open, day: int, before: Sequence[Planned]) -> str:
    """What who has none of another list does: the winter dose, or the next course as planned."""
    dose = _dose_words(plan, opened, day)
    if dose:
        return f"; without it, the {dose}"
    near = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
    nxt = next((one for one in before if day < one.course.day <= day + near and one.rests is None), None)
    if nxt is None:
        return ""
    name = called(plan.known.asked.book, nxt.course.answer.product)
    return f"; without it, the {name} on {month_day(nxt.course.day)}"


def _dose_words(plan: YearPlan, opened: Open, day: int) -> str:
    """The winter dose, given as soon as nothing is capped, where the weeks of least brood are near."""
    dose = winter_dose_of(plan, opened)
    figures = plan.known.asked.book.planning.year_plans.offered
    if dose is None or not day <= dose[1] <= day + whole_days(figures.dose_ahead):
        return ""
    name = called(plan.known.asked.book, dose[0])
    when = f"as soon as nothing is capped (look first), else on {month_day(dose[1])} as planned"
    return f"{name}, {when}"


def _why(plan: YearPlan, day: int) -> str:
    """Why nothing else may be given: the season, where it is that, and else labels."""
    setting, counts = plan.known.setting, plan.known.asked.book.planning.year_plans.counts
    rests = setting.mark("brood_minimum") - round(counts.autumn.value.low or 0)
    warm = counts.warm.value.low or 0.0
    cold = setting.high(day) < warm
    after = day + whole_days(setting.walls.acted) if setting.draws_together else day
    late = setting.high(after) < warm and day > setting.mark("winter_bee_rearing_start")
    if rests < day <= setting.ends("brood_minimum") or late:
        return TOO_LATE
    return TOO_COLD if cold else NO_LABEL


NO_LABEL = "no label here fits these weeks"
TOO_COLD = "too cold yet for strips, thymol and formic acid"
TOO_LATE = "too late in the year for another course (bees draw together, brood ends)"


def _none(plan: YearPlan, opened: Open, day: int) -> str:
    """What is said where nothing at all may be given."""
    dose = _dose_words(plan, opened, day)
    if dose:
        return f"{_why(plan, day)}; {dose}"
    nxt = next((c for c in plan.courses if c.course.day > day), None)
    near = whole_days(plan.known.asked.book.planning.year_plans.offered.dose_ahead)
    if nxt is not None and nxt.course.day - day <= near:
        name = called(plan.known.asked.book, nxt.course.answer.product)
        return f"{_why(plan, day)}; the {name} on {month_day(nxt.course.day)} is the next that does"
    if _why(plan, day) != NO_LABEL:
        return f"{_why(plan, day)}: wash on the first day that is warm enough, and treat at the line then"
    return f"{NO_LABEL}: count again in two weeks, and treat as soon as one does"


def _named(plan: YearPlan, found: Sequence[Remedy]) -> str:
    """Products with the first day of each, when they are given again, and supers."""
    return joined([remedy_words(plan, one) for one in found[:MOST_NAMED]], "or")


def remedy_words(plan: YearPlan, one: Remedy) -> str:
    """A product with its first day, when it is given again, and supers."""
    again, off = given_again(plan, one.answer), off_words(plan, one.answer)
    trap = ", the trap comb taken out first" if one.trap else ""
    name = called(plan.known.asked.book, one.product)
    return f"{name} from {month_day(one.day)}{again}{off}{trap}{LAST_LEFT[one.only]}"


LAST_LEFT = {
    "": "",
    "worked": " (only if the count after the last ones showed that they worked)",
    "heat": " (poor in that heat: in parts, as its label says)",
}
"""What a product hangs on that is named as the last one left."""


def _cage_words(plan: YearPlan, one: Remedy) -> str:
    asked = plan.known.asked
    name = called(asked.book, one.product)
    assert one.caged is not None
    apart = whole_days(asked.book.planning.year_plans.offered.caged_apart)
    later = next((c.rests for c in plan.courses if c.rests and one.caged <= c.rests.caged <= one.day + apart), None)
    instead = "" if later is None else f"; the caging of {month_day(later.caged)} falls away"
    return (
        f"{_why(plan, one.caged)}; cage the queen that day and give {name} on {month_day(one.day)}, as she comes out, "
        f"nothing capped{off_words(plan, one.answer)}{instead}; then a new plan"
    )
