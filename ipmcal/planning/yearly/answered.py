"""Answered: a year's plan as planning needs it: each course with the days on which it stays as good, and what is told.

In: a ``YearQuestion``, what runs before kept. Out: ``YearAnswer``, remembered by all that it depends on. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ipmcal.model.plan.mites import YearAnswer, YearCourse
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.mites.asking.let import late_in_flow, latest_out
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import BaseRound, fits_round, in_good_time
from ipmcal.planning.mites.plan import Planned, YearPlan, most_over, question_key, short_of, year_plan
from ipmcal.planning.mites.search import fits, free, harms_of, over_line, row_of
from ipmcal.planning.mites.walls import broken_wall, candidate, whole_days, winter_dose
from ipmcal.planning.yearly.remembered import KeptYears, Latest, name_of

_ANSWERS: Latest[YearAnswer] = Latest(512)
_PLANS: Latest[YearPlan] = Latest(4)


def answered(asked: YearQuestion, kept: KeptYears) -> YearAnswer:
    """The courses of a year, with the days on which each stays as good."""
    key = question_key(asked)

    def made() -> YearAnswer:
        return _ANSWERS.of(asked.book, key, lambda: answer_of(planned(asked)))

    return kept.of(lambda: name_of("year", key), YearAnswer, made)


def planned(asked: YearQuestion) -> YearPlan:
    """The whole plan of a year: what explains it is asked soon after, and of few; such plans are large."""
    return _PLANS.of(asked.book, question_key(asked), lambda: year_plan(asked))


def answer_of(plan: YearPlan) -> YearAnswer:
    """A year's plan as planning needs it."""
    courses = [_course(plan, one) for one in plan.courses]
    asked = plan.known.asked
    apart = Apart(whole_days(plan.known.setting.walls.between_packed), whole_days(asked.book.planning.same_course))
    caged = next((one.rests for one in plan.courses if one.rests is not None), None)
    short = tuple(short_of(plan)) if plan.over <= most_over(plan.known) else ()
    return YearAnswer(tuple(kept_apart_by(courses, apart)), plan.enough, plan.over, caged, short)


def _course(plan: YearPlan, one: Planned) -> YearCourse:
    day, answer = one.course.day, one.course.answer
    slot = _slot(plan, one)
    good = _as_good(plan, one) if one.rests is None else {day}
    place = plan.known.asked.days.index(day)
    first = last = place
    while first > 0 and plan.known.asked.days[first - 1] in good:
        first -= 1
    while last + 1 < len(plan.known.asked.days) and plan.known.asked.days[last + 1] in good:
        last += 1
    days = plan.known.asked.days
    return YearCourse(
        one.round,
        answer.product,
        day,
        days[first],
        day if one.rests is not None else _to_the_end_of_its_week(plan, one, days[last]),
        one.course.worked - day,
        latest_out(plan.known.asked, one.course) - day,
        answer.supers_off is not None,
        None if slot is None else slot.first,
        None if slot is None else slot.by,
        one.rests is not None,
    )


def _slot(plan: YearPlan, one: Planned) -> BaseRound | None:
    return next((served.slot for served in plan.known.rounds if served.slot.name == one.round), None)


def _to_the_end_of_its_week(plan: YearPlan, one: Planned, day: int) -> int:
    """The last day of a week whose first was asked for: its other days are as good, as far as no wall stands there."""
    last = day
    while last < day + _WEEK - 1 and _holds(plan, one, last + 1):
        last += 1
    return last


def _holds(plan: YearPlan, one: Planned, day: int) -> bool:
    """Whether a course begun on a day breaks no wall, lies in the days of its round, and is in good time where it is.

    Labels are asked when it is packed.
    """
    asked, setting, slot = plan.known.asked, plan.known.setting, _slot(plan, one)
    answer = one.course.answer
    label = label_for(asked.book.treatments[answer.product], asked.jurisdiction, asked.book)
    assert label is not None
    moved = candidate(setting, replace(answer, use=use_of(label, day, asked.book)))
    if day > asked.season.last or late_in_flow(asked, setting, moved) is not None:
        return False
    if slot is None:
        return broken_wall(setting, moved) is None
    if slot.dose:
        return day <= slot.last and winter_dose(setting, moved)
    late = in_good_time(setting, slot, one.course) and not in_good_time(setting, slot, moved)
    return not late and fits_round(setting, slot, moved)


def _as_good(plan: YearPlan, one: Planned) -> set[int]:
    """The days on which the course would be within the band of harm, and enough where it is: of its round, with the
    other courses where they are.
    """
    known, field = plan.known, plan.known.field
    others = [i for i in plan.chosen.courses if i != one.place]
    places = [i for i in _alike(plan, one) if fits(field, i, others)]
    rows = np.array([row_of(field, (*others, i))[0] for i in places], dtype=np.intp)
    harms, shares = harms_of(field, rows), over_line(field, rows)
    most = max(field.measures.over, plan.chosen.over) + 1e-12
    edge = plan.chosen.harm * (1.0 + field.measures.band)
    near = zip(places, harms, shares, strict=True)
    return {known.candidates[i].day for i, harm, share in near if harm <= edge and share <= most} | {one.course.day}


def _alike(plan: YearPlan, one: Planned) -> Sequence[int]:
    """Candidates of the same product for the same round, supers as they are for it; in good time where it is."""
    known, course = plan.known, one.course
    served = next((served for served in known.rounds if served.slot.name == one.round), None)
    places = free(known.field) if served is None else sorted({*served.candidates, *served.wide})
    found = [
        i
        for i in places
        if known.candidates[i].answer.product == course.answer.product
        and (known.candidates[i].answer.supers_off is None) == (course.answer.supers_off is None)
    ]
    if served is not None and in_good_time(known.setting, served.slot, course):
        found = [i for i in found if in_good_time(known.setting, served.slot, known.candidates[i])]
    return sorted({*found, one.place})


@dataclass(frozen=True, slots=True)
class Apart:
    """Days that lie between two courses, from the day on which the first has worked; and more than so many, from the
    last good day of what it leaves in the hive, between two of one product.
    """

    between: int
    same: int

    def holds(self, one: YearCourse, then: YearCourse) -> bool:
        """Whether it holds wherever packing puts them."""
        told = one.product != then.product or then.first - (one.last + one.out) > self.same
        return told and then.first - (one.last + one.worked) >= self.between


def kept_apart_by(courses: Sequence[YearCourse], apart: Apart) -> list[YearCourse]:
    """Courses whose days lie apart wherever packing puts each: of two, the one with more days to spare on that side
    gives way, day by day, and neither gives up its own day.
    """
    found = list(courses)
    for i in range(len(found) - 1):
        one, then = found[i], found[i + 1]
        while not apart.holds(one, then) and (one.last > one.day or then.first < then.day):
            if then.first == then.day or one.last - one.day > then.day - then.first:
                one = replace(one, last=one.last - 1)
            else:
                then = replace(then, first=then.first + 1)
        found[i : i + 2] = one, then
    return found


_WEEK = 7
