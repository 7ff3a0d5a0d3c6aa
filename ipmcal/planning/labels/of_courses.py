"""Limits between courses: rest, how many a year, rotation of classes, two products at once. A function each.

In: a limit, a ``Case``. Out: ``Limited`` values, every reason. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Use, Weight
from ipmcal.model.rules.labels import same_pack
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import ClassLimit, CourseLimit, RestLimit, TogetherLimit, WinterLimit
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.labelforms import label_words
from ipmcal.model.values.words import counted, inside, joined, short_day
from ipmcal.planning.labels.case import Case, How, reason
from ipmcal.planning.labels.standing import CourseSpell, Stretch


def _others(case: Case) -> list[CourseSpell]:
    """The colony's other courses that begin up to the last day of this one."""
    return [c for c in case.standing.courses if c.began <= case.use.last]


def _title(past: CourseSpell, book: Rulebook) -> str:
    return inside(book.product(past.treatment))


def rest(limit: RestLimit, case: Case) -> Iterator[Limited]:
    """Days from the last day of a course to the first of the next out of the same pack, either way."""
    days = limit.value.value.upper_end
    # courses planned for later count too: the rest has to fit before them
    for past in case.standing.courses:
        if not same_pack(past.treatment, case.name, case.book):
            continue
        ended = past.began if past.ended is None else past.ended
        before, after = case.use.first - ended, past.began - case.use.last
        if max(before, after) < days:
            yield reason(
                "rest", limit, limit.value, f"the last one ended {short_day(ended)}", says=label_words(limit.value)
            )


def too_near(name: str, use: Use, courses: Iterable[CourseSpell], book: Rulebook) -> Iterator[Limited]:
    """Courses of the same product that are over, or begin later, so near that what is written of both reads as one.

    No label says so: it is how the record tells courses apart (``same_course``), so that what is chosen keeps to it.
    """
    gap = book.planning.same_course
    days = int(gap.value.middle)
    for past in courses:
        if past.treatment != name or past.ended is None:
            continue
        if use.first <= past.ended + days and past.began <= use.last + days:
            says = because_words(Because(Code.COURSES_APART, (days,)))
            told = because_words(Because(Code.ONE_COURSE_WITH, (past.began,)))
            yield Limited("course", Weight.FORBIDS, says, told, gap, gap.cites)


def course(limit: CourseLimit, case: Case) -> Iterator[Limited]:
    """Courses in a season or winter, this one among them; days from its first application to its last day."""
    if limit.a_year is not None:
        most = int(limit.a_year.value.middle)
        begun = [c.began for c in case.standing.courses if c.treatment == case.name]
        for first, last in case.standing.years or (_year(case.use.first),):
            inside = [day for day in begun if first <= day <= last]
            if first <= case.use.first <= last and len(inside) >= most:
                told = f"{counted(len(inside), 'course')} already, from {joined(map(short_day, sorted(inside)))}"
                yield reason("course", limit, limit.a_year, told, says=f"{most} a year")
                break
    if limit.days is not None:
        yield from _length(limit, limit.days, case)


def winter(limit: WinterLimit, case: Case) -> Iterator[Limited]:
    """Courses over the same winter bees, of all products whose label counts them, last winter's and those planned; one
    that began before they were reared, and went on, is among them.
    """
    most = int(limit.value.value.middle)
    counts = [c for c in case.standing.courses if _over_winter_bees(c.treatment, case.book)]
    for first, last in case.standing.winters:
        inside = sorted((c for c in counts if c.began <= last and (c.ended or first) >= first), key=lambda c: c.began)
        if first <= case.use.first <= last and len(inside) >= most:
            told = joined(f"{_title(c, case.book)} on {short_day(c.began)}" for c in inside)
            yield reason(
                "winter", limit, limit.value, told, says=because_words(Because(Code.OVER_WINTER_BEES, (most,)))
            )


def _over_winter_bees(treatment: str, book: Rulebook) -> bool:
    known = book.treatments.get(treatment)
    return known is not None and any(label.limits.winter is not None for label in known.labels.values())


def _year(day: int) -> Stretch:
    """Where no season is known: the 365 days up to a day."""
    return day - 364, day


def _length(limit: CourseLimit, days: Cited[Any], case: Case) -> Iterator[Limited]:
    long, amount = case.use.last - case.use.first, days.value
    if (amount.high is not None and long > amount.high) or (amount.low is not None and long < amount.low):
        yield reason("course", limit, days, f"planned for {counted(long, 'day')}", how=How(stays=True))


def class_(limit: ClassLimit, case: Case) -> Iterator[Limited]:
    """Rotation of classes, knowing what was used before."""
    again, mine = limit.again, case.treatment.class_
    before = sorted((c for c in case.standing.courses if c.began < case.use.first), key=lambda c: c.began)
    title = case.book.planning.classes.get(mine, mine)
    if again.value == "other_first" and before and before[-1].class_ == mine:
        told = f"the last was {title} too, from {short_day(before[-1].began)}"
        yield reason("class", limit, again, told, says="another class first")
    if again.value == "year_between":
        year = next((y for y in case.standing.years if y[0] <= case.use.first <= y[1]), _year(case.use.first))
        length = year[1] - year[0] + 1
        # no season before this is known here: it is taken to be as long as this one
        last = [c for c in before if c.class_ == mine and year[0] - length <= c.began < year[0]]
        if last:
            told = f"{title} from {short_day(last[-1].began)}, the year before"
            yield reason("class", limit, again, told, says="not two years running")


def other_products(limit: TogetherLimit, case: Case) -> Iterator[Limited]:
    """Another product in the hive on a day of the course, or given on its first day.

    What comes out on the morning of the first day is out.
    """
    if limit.value.value != "no":
        return
    for past in _others(case):
        still = past.ended is None or past.ended > case.use.first or past.began == case.use.first
        # the course itself, once it is planned, is among those of the colony
        if still and (past.treatment, past.began) != (case.name, case.use.first):
            end = "" if past.ended is None else f" to {short_day(past.ended)}"
            told = f"{_title(past, case.book)} in the hive, {short_day(past.began)}{end or ' on'}"
            yield reason(
                "together", limit, limit.value, told, says="nothing else in the hive", how=How(stays=past.ended is None)
            )
