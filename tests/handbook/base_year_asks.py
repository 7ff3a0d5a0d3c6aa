"""What published cases ask of a region's year of courses: an uncounted yard of one overwintered hive, on Saturdays."""

from __future__ import annotations

from datetime import date
from functools import cache
from itertools import pairwise

from handbook.registry import Given, ask
from planning.mites.year_yards import Kept, begun, kept
from planning.yards import YEAR

from ipmcal.planning.mites.plan import Planned, year_plan

COUNTS = ("mite_count", "late_counts", "count_asked", "mite_drop_board")
"""Methods of today's planning that count mites."""


@cache
def the_courses(region: str, program: str) -> tuple[Planned, ...]:
    """The courses of a year there, without the draws that chose them: these take 50 MB."""
    return year_plan(kept(region, program).question).courses


def courses(given: Given) -> tuple[Planned, ...]:
    return the_courses(given["in"], given.get("program", "full"))


def on(region: str, month_day: str) -> int:
    """A day of the season of a region that begins in the tests' year."""
    first = kept(region, "full").question.season.first
    day = date.fromisoformat(f"{YEAR}-{month_day}").toordinal()
    return day if day >= first else day + 365


def between(given: Given) -> tuple[int, int]:
    first, last = given["between"]
    return on(given["in"], first), on(given["in"], last)


@ask
def main_course_begins_between(given: Given) -> bool:
    """Whether the late-summer course of the base, or one of its round's weight, begins between two days."""
    first, last = between(given)
    return any(first <= one.course.day <= last and one.round == "late_summer" for one in courses(given))


@ask
def main_course_has_acted_by(given: Given) -> bool:
    by = on(given["in"], given["by"])
    return any(one.course.worked <= by for one in courses(given) if one.round == "late_summer")


@ask
def a_course_begins_between(given: Given) -> bool:
    """Whether any course, or one of a class, begins between two days."""
    first, last = between(given)
    classes = given.get("classes")
    return any(
        first <= one.course.day <= last and (classes is None or one.course.answer.class_ in classes)
        for one in courses(given)
    )


@ask
def courses_of_a_year(given: Given) -> bool:
    """Whether there are so many courses a year, or more."""
    return len(courses(given)) >= given["at_least"]


@ask
def doses_in_winter(given: Given) -> int:
    """Doses of the least-brood weeks."""
    first, last = between(given)
    return sum(one.course.quick and first <= one.course.day <= last for one in courses(given))


@ask
def out_before_supers(given: Given) -> bool:
    """Whether all of the spring round is out before supers usually go on."""
    supers = kept(given["in"], given.get("program", "full")).question.season.marks["supers_on"].begins.usual
    return all(one.course.answer.use.last <= supers for one in courses(given) if one.round == "spring")


# Counts, as today's planning has them ---------------------------------------------------------------------------------


def count_days(it: Kept) -> list[int]:
    """Counts on their own, and those that stand among a treatment's steps."""
    mine = (t for t in it.today.tasks if t.method in COUNTS or t.step == "count_after")
    return sorted({t.planned for t in mine if t.planned is not None})


@ask
def counts_between(given: Given) -> int:
    first, last = between(given)
    return sum(first <= day <= last for day in count_days(kept(given["in"], given.get("program", "full"))))


@ask
def longest_between_counts(given: Given) -> int:
    """Days between counts of a season, at most, between two days."""
    first, last = between(given)
    days = [day for day in count_days(kept(given["in"], given.get("program", "full"))) if first <= day <= last]
    return max((b - a for a, b in pairwise(days)), default=last - first)


@ask
def days_from_dose_to_count(given: Given) -> int:
    """Days from today's planning's last dose of a season to the count of what it did."""
    tasks = kept(given["in"], given.get("program", "full")).today.tasks
    doses = [t.planned for t in tasks if t.logs == "treated" and t.planned is not None]
    after = [t.planned for t in tasks if t.step == "count_after" and t.planned is not None and t.planned > max(doses)]
    return min(after) - max(doses)


@ask
def counts_of_a_year(given: Given) -> bool:
    return len(count_days(kept(given["in"], given.get("program", "full")))) >= given["at_least"]


# A package ------------------------------------------------------------------------------------------------------------


@ask
def package_is_dosed_within(given: Given) -> bool:
    """Whether a package gets a quick dose, of a class, within so many days of its hiving."""
    asked = begun(given["in"], "package", given.get("program", "full")).question
    young = asked.stock.young
    assert young is not None
    assert young.began is not None
    days = range(young.began.day, young.began.day + given["days"] + 1)
    made = year_plan(asked)
    return any(
        one.course.quick and one.course.day in days and one.course.answer.class_ == given["class"]
        for one in made.courses
    )
