"""Days of a course in words: when it is given again, when it comes out, when honey supers may be back.

In: a ``YearPlan``, what a label lets. Out: days, text.
"""

from __future__ import annotations

from datetime import date

from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.words import DAYS, joined, month_day
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.products import strength_words


def given_again(plan: YearPlan, answer: AllowedCourse) -> str:
    """Further applications, on days of the keeper's where they fall within the label's; else an extra visit."""
    told = []
    for day in answer.use.applications[1:]:
        step = next((s for s in answer.use.steps if s.opens <= day <= (s.hard_stop or s.closes)), None)
        last = day if step is None else step.hard_stop or step.closes
        mine = [] if step is None else [d for d in plan.known.asked.days if step.opens <= d <= last]
        found = min(mine, key=lambda d: abs(d - day), default=None)
        extra = f"{month_day(day)}{extra_visit(plan, day)}"
        told.append(extra if found is None else month_day(found))
    return f", again on {joined(told)}" if told else ""


def extra_visit(plan: YearPlan, day: int) -> str:
    """That a day is of a weekday on which the keeper does not come; "" where it is one of theirs."""
    weekday = date.fromordinal(day).weekday()
    theirs = {date.fromordinal(d).weekday() for d in plan.known.asked.days}
    return "" if weekday in theirs else f" (a {DAYS[weekday]}: an extra visit)"


def out_day(plan: YearPlan, answer: AllowedCourse) -> int:
    """The keeper's first day on which what lies in the hive may come out; the label's where none is in time."""
    last = stop_of(answer)
    return min((d for d in plan.known.asked.days if answer.use.last <= d <= last), default=answer.use.last)


def stop_of(answer: AllowedCourse) -> int:
    """The label's last day on which what lies in the hive is taken out."""
    stops = [s.hard_stop for s in answer.use.steps if s.hard_stop is not None and s.opens <= answer.use.last]
    return max([*stops, answer.use.last])


def supers_back(plan: YearPlan, answer: AllowedCourse) -> int | None:
    """The first day on which honey supers may be on again; None where they may stay."""
    asked = plan.known.asked
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    limit = None if label is None else label.limits.supers
    if limit is None or limit.during.value == "on":
        return None
    wait = 0 if limit.after is None else round(limit.after.value.high or 0)
    return out_day(plan, answer) + max(wait, 1)


def frames_words(plan: YearPlan, answer: AllowedCourse) -> str:
    """How strong a hive has to be, where it began so lately that it may not be so yet."""
    asked = plan.known.asked
    began = None if asked.stock.young is None else asked.stock.young.began
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    if began is None or label is None or label.limits.strength is None:
        return ""
    small = began.day + 2 * whole_days(asked.book.planning.year_plans.counts.young)
    return f" (only {strength_words(label)}; fewer: wait until there are)" if answer.day < small else ""


def off_words(plan: YearPlan, answer: AllowedCourse, stay: str = "") -> str:
    """Supers off, and until when; ``stay`` is said where they may stay."""
    back = supers_back(plan, answer)
    return stay if back is None else f", honey supers off, none before {month_day(back)}"
