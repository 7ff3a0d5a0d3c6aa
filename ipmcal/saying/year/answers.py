"""What is given where a count is over the line, in words: that week, by its label, and then a new plan.

In: a ``YearPlan``, what may be done over the line, the day of a count. Out: text without its full stop.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts, tells_again
from ipmcal.planning.advise.over import Open, Remedy, Sought, brought_forward, caged_now, remedies
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.offers import (
    at_once,
    dose_ahead_words,
    first_of,
    forward_words,
    hot_words,
    lacking,
    named,
    once_more,
    quicker,
    reach_of,
)
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import off_words, out_day
from ipmcal.saying.year.winter import caged_for, second_look

THEN = "then a new plan"


def is_caged(courses: Sequence[Planned], day: int) -> Planned | None:
    """The course whose queen is in her cage on a day."""
    return next((c for c in courses if c.rests and c.rests.caged < day <= c.course.day), None)


def answer(plan: YearPlan, opened: Open, day: int, courses: Sequence[Planned]) -> str:
    """What is given where a count over the line finds these courses given so far."""
    book = plan.known.asked.book
    caged = is_caged(courses, day)
    if caged is not None:
        name, when = called(book, caged.course.answer.product), _on(day, caged.course.day)
        return (
            f"where the queen is caged, mites come to sit on bees and a wash reads high: the {name} {when} answers it"
        )
    lately = next((c.rests for c in courses if c.rests and c.rests.released < day < tells_again(plan, c.rests)), None)
    if lately is not None:
        due = tells_again(plan, lately)
        visit = next((one for one in plan.known.asked.days if one >= due), due)
        then = _then_words(plan, opened, visit, courses)
        return f"so soon after her release nothing is capped, and a wash reads high: count again on {then}"
    lies = next((c for c in courses if c.course.day < day <= out_day(plan, c.course.answer)), None)
    if lies is not None and lies.course.answer.use.last > lies.course.day:
        return _lying(plan, opened, lies, day, [one for one in courses if one is not lies])
    failed = _failed(plan, courses, day)
    doses = [one for one in courses if one.course.quick]  # on the bees alone: what a class did in brood says nothing
    dose = _planned(plan, opened, day, doses, courses)
    if failed and dose:
        return dose
    if failed:
        sought = Sought(day, at_once(plan), failed)
        found = first_of(plan, opened, sought, courses)
        if found is not None:
            else_ = lacking(plan, opened, sought, courses, found)
            if not found.ours and not else_:
                else_ = once_more(plan, opened, day, courses)
            return f"it did not do: another class{found.list_}: {found.words}{else_}; {THEN}"
    return _planned(plan, opened, day, courses, courses) or over_words(plan, opened, day, courses)


def _then_words(plan: YearPlan, opened: Open, visit: int, courses: Sequence[Planned]) -> str:
    """A later count, and what is given at its line."""
    found = first_of(plan, opened, Sought(visit, at_once(plan)), courses)
    dose = dose_ahead_words(plan, opened, visit)
    then = f"at the line then the {dose}" if dose else "treat at the line then"
    if found is not None:
        then = f"at the line then{found.list_}: {found.words}"
    return f"{month_day(visit)}, and {then}"


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
            if one.course.day - day > whole_days(figures.answered):
                return ""
            others = [other for other in every if other is not one]
            found = first_of(plan, opened, Sought(day, at_once(plan), _failed(plan, others, day)), others)
            many = f"; {_times_words(plan)} the line or more, no caging"
            many = "" if found is None else f"{many}{found.list_}: {found.words}; {THEN}"
            return f"cage the queen {_on(day, first)}, as planned{many}"
        fast = quicker(plan, opened, one, day, every)
        mine = [c for c in opened.listed if c.answer.product == one.course.answer.product]
        if first <= day + at_once(plan):
            today = first > day and any(not c.answer.lost for c in remedies(opened, mine, Sought(day, 0), courses))
            when = f"today, or on {month_day(first)}" if today and not one.course.quick else _on(day, first)
            return f"{fast}{name} {when}, as planned{_capped(plan, opened, one, day, every)}"
        now = remedies(opened, mine, Sought(day, at_once(plan)), courses)
        if now and not now[0].dose:
            return f"{fast}{named(plan, now)}, instead of on {month_day(first)}; {THEN}"
    return ""


def _capped(plan: YearPlan, opened: Open, one: Planned, day: int, every: Sequence[Planned]) -> str:
    """What a dose hangs on; where brood hardly stops, what is given in its place where something is capped."""
    if not one.course.quick:
        return ""
    if not plan.known.asked.region.rarely_broodless:
        return ", nothing capped"
    others = [other for other in every if other is not one]
    found = first_of(plan, opened, Sought(day, at_once(plan), _failed(plan, others, day), weak=False), others)
    if found is None:
        again = second_look(plan, one)
        look = "" if again is None else f"; where something is capped: nothing fits, look again by {month_day(again)}"
        return f", nothing capped{look}"
    return f", nothing capped; where something is capped{found.list_}: {found.words}; {THEN}"


def _lying(plan: YearPlan, opened: Open, lies: Planned, day: int, others: Sequence[Planned]) -> str:
    """What is done where mites are over the line with a course in the hive: left, or changed for another class."""
    asked, answer_ = plan.known.asked, lies.course.answer
    name, class_ = called(asked.book, answer_.product), answer_.class_
    if day >= out_day(plan, answer_):
        rest = over_words(plan, opened, day, [*others, lies], but=class_)
        return f"take the {name} out as planned; it did not do: {rest}"
    if day - lies.course.day < round(asked.book.planning.year_plans.counts.lying.value.low or 0):
        return f"leave the {name} in, it has not worked yet: {_next_count(plan, opened, lies, day)}"
    counts = asked.book.planning.year_plans.counts
    if plan.known.setting.high(day) < (counts.warm.value.low or 0.0):  # a board, on which lies what the course fells
        again = out_day(plan, answer_) + round(counts.after.value.low or 0)
        visit = next((one for one in asked.days if one >= again), again)
        told = f"leave it in to its end, and read a board again on {month_day(visit)}"
        return f"a board reads high with the {name} in: {told}"
    withstood = asked.book.planning.year_plans.walls.synthetic
    why = " (mites may withstand it)" if class_ in withstood else ""
    sought = Sought(day, at_once(plan), class_)
    found = first_of(plan, opened, sought, others)
    if found is None:
        return f"it does too little{why}: leave the {name} in to its end; {_none(plan, opened, day)}"
    if found.day == day and found.ours:
        else_ = lacking(plan, opened, sought, others, found)
        given = f"{found.words}{else_}; {THEN}"
        return f"it does too little{why}: take the {name} out, and at once give another class: {given}"
    else_ = lacking(plan, opened, sought, others, found)
    hot = hot_words(plan, opened, sought, others)
    if not found.ours and hot and else_ == f"; without it, {hot}":
        else_ = f"; without it, in its place {hot}"
    elif not found.ours:
        rest = else_.removeprefix("; without it,")
        link = ", and" if rest.startswith(" cage") else ", then" if rest else ""
        else_ = f"; without it, leave the {name} in to its end{link}{rest}"
    return (
        f"it does too little{why}: leave the {name} in until another class goes in, and take it out that day"
        f"{found.list_}: {found.words}{else_}; {THEN}"
    )


def _next_count(plan: YearPlan, opened: Open, lies: Planned, day: int) -> str:
    """The count that decides in place of one that was too early."""
    after = whole_days(plan.known.asked.book.planning.year_plans.counts.after)
    soonest = out_day(plan, lies.course.answer)
    due = min(soonest, lies.course.day + after)
    nxt = next((count for count in plan_counts(plan) if count >= max(due, day + 1)), None)
    least = round(plan.known.asked.book.planning.year_plans.counts.after.value.low or 0)
    visit = next((d for d in plan.known.asked.days if d >= soonest + least), soonest + least)
    if nxt is not None and nxt <= visit:
        return f"the count of {month_day(nxt)} decides"
    dose = winter_dose_of(plan, opened)
    one = next((c for c in plan.courses if dose is not None and c.course.day == dose[1]), None)
    caged = None if dose is None else caged_for(plan, dose[1], one)
    if dose is not None and caged is not None and caged <= visit <= dose[1]:
        name = called(plan.known.asked.book, dose[0])
        return f"the {name} on {month_day(dose[1])} answers it, the queen caged for it"
    return f"count again on {_then_words(plan, opened, visit, plan.courses)}"


def over_words(plan: YearPlan, opened: Open, day: int, before: Sequence[Planned], *, but: str = "") -> str:
    """What may be begun at once; what is not on the list where nothing on it may; the queen caged where nothing may,
    or where she is caged soon."""
    sought = Sought(day, at_once(plan), but)
    found, soon = first_of(plan, opened, sought, before), brought_forward(plan, day)
    due = winter_dose_of(plan, opened)
    if not plan.courses and due is not None and day <= due[1] <= day + at_once(plan):
        name = called(plan.known.asked.book, due[0])
        else_ = "" if found is None else f"; where something is capped: {found.words}"
        return f"{name} {_on(day, due[1])}, nothing capped (look first){else_}"
    caged = caged_now(plan, opened, day, but=but)
    if found is not None:
        late = "" if found.day <= day + at_once(plan) else "nothing may begin this week; "
        else_ = lacking(plan, opened, sought, before, found)
        if found.ours and caged is not None and soon is not None and soon.caged <= day + reach_of(plan) + 1:
            sooner, times = forward_words(plan, caged, soon), _times_words(plan)
            return f"{sooner}; {times} the line or more, no caging: {found.words}{else_}; {THEN}"
        if found.ours:
            return f"{late}{found.words}{else_}" + (f"; {THEN}" if plan.known.asked.products else "")
        if soon is not None and caged is not None:
            sooner = forward_words(plan, caged, soon)
            return f"{sooner}; or, not on this plan's list, but with a label here: {found.words}; {THEN}"
        poor = hot_words(plan, opened, sought, before)
        none = "does well now" if poor and poor in else_ else "may begin now"
        return f"nothing on this plan's list {none}; with a label here: {found.words}{else_}; {THEN}"
    dose = dose_ahead_words(plan, opened, day)
    if dose:
        return f"{_why(plan, opened, day)}; {dose}"
    if caged is None:
        return _none(plan, opened, day)
    return _cage_words(plan, opened, caged) if soon is None else f"{forward_words(plan, caged, soon)}; {THEN}"


def _times_words(plan: YearPlan) -> str:
    """So many mites that four weeks more of them would harm."""
    times = plan.known.asked.book.planning.year_plans.offered.clearly.value.middle
    return "at twice" if times == 2 else f"at {times:g} times"


def _why(plan: YearPlan, opened: Open, day: int) -> str:
    """Why nothing else may be given: the season, where it is that, or the rest of what was given; and else labels."""
    setting, counts = plan.known.setting, plan.known.asked.book.planning.year_plans.counts
    rests = setting.mark("brood_minimum") - round(counts.autumn.value.low or 0)
    warm = counts.warm.value.low or 0.0
    cold = setting.high(day) < warm
    after = day + whole_days(setting.walls.acted) if setting.draws_together else day
    late = setting.high(after) < warm and day > setting.mark("winter_bee_rearing_start")
    if rests < day <= setting.ends("brood_minimum") or late:
        begins = any(not c.quick and day <= c.day <= day + at_once(plan) for c in opened.listed)
        return RESTS if begins else TOO_LATE
    return TOO_COLD if cold else NO_LABEL


NO_LABEL = "no label here fits these weeks"
TOO_COLD = "too cold yet for strips, thymol and formic acid"
RESTS = "what may still begin so late was given last, and has to rest"
TOO_LATE = "too late in the year for another course (bees draw together, brood ends)"


def _none(plan: YearPlan, opened: Open, day: int) -> str:
    """What is said where nothing at all may be given."""
    why = _why(plan, opened, day)
    dose = dose_ahead_words(plan, opened, day, last=why in (TOO_LATE, RESTS))
    if dose:
        return f"{why}; {dose}"
    nxt = next((c for c in plan.courses if c.course.day > day), None)
    near = whole_days(plan.known.asked.book.planning.year_plans.offered.dose_ahead)
    if nxt is not None and nxt.course.day - day <= near:
        name = called(plan.known.asked.book, nxt.course.answer.product)
        return f"{why}; the {name} on {month_day(nxt.course.day)} is the next that does"
    if why != NO_LABEL:
        return f"{why}: wash on the first day that is warm enough, and treat at the line then"
    return f"{NO_LABEL}: count again in two weeks, and treat as soon as one does"


def _cage_words(plan: YearPlan, opened: Open, one: Remedy) -> str:
    asked = plan.known.asked
    name = called(asked.book, one.product)
    assert one.caged is not None
    apart = whole_days(asked.book.planning.year_plans.offered.caged_apart)
    later = next((c.rests for c in plan.courses if c.rests and one.caged <= c.rests.caged <= one.day + apart), None)
    instead = "" if later is None else f"; the caging of {month_day(later.caged)} falls away"
    return (
        f"{_why(plan, opened, one.caged)}; cage the queen that day and give {name} on {month_day(one.day)}, as she "
        f"comes out, nothing capped{off_words(plan, one.answer)}{instead}; then a new plan"
    )
