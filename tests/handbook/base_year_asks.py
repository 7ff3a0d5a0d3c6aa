"""What published cases ask of a region's year of courses: an uncounted yard of one overwintered hive, on Saturdays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import pairwise

from handbook.registry import Given, ask
from planning.mites.year_yards import begun, kept
from planning.yards import YEAR

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.living.lived import Remembered
from ipmcal.planning.mites.plan import Planned, year_plan


@dataclass(frozen=True)
class Year:
    """What cases ask of a plan: its question, courses and counts, without draws and what is remembered of them, which
    take 50 MB.
    """

    asked: YearQuestion
    courses: tuple[Planned, ...]
    counts: tuple[int, ...]


@cache
def the_year(region: str, program: str) -> Year:
    """The courses of a year there."""
    made = year_plan(kept(region, program).question)
    asked = made.known.asked
    return Year(replace(asked, stock=replace(asked.stock, memory=Remembered())), made.courses, plan_counts(made))


def plan(given: Given) -> Year:
    return the_year(given["in"], given.get("program", "full"))


def on(region: str, month_day: str) -> int:
    """A day of the season of a region that begins in the tests' year."""
    first = plan({"in": region}).asked.season.first
    day = date.fromisoformat(f"{YEAR}-{month_day}").toordinal()
    return day if day >= first else day + 365


def between(given: Given) -> tuple[int, int]:
    first, last = given["between"]
    return on(given["in"], first), on(given["in"], last)


@ask
def main_course_begins_between(given: Given) -> bool:
    """Whether the late-summer course of the base, or one of its round's weight, begins between two days."""
    first, last = between(given)
    return any(first <= one.course.day <= last and one.round == "late_summer" for one in plan(given).courses)


@ask
def main_course_has_acted_by(given: Given) -> bool:
    by = on(given["in"], given["by"])
    return any(one.course.worked <= by for one in plan(given).courses if one.round == "late_summer")


@ask
def a_course_begins_between(given: Given) -> bool:
    """Whether any course, or one of a class, begins between two days."""
    first, last = between(given)
    classes = given.get("classes")
    return any(
        first <= one.course.day <= last and (classes is None or one.course.answer.class_ in classes)
        for one in plan(given).courses
    )


@ask
def courses_of_a_year(given: Given) -> bool:
    """Whether there are so many courses a year, or more."""
    return len(plan(given).courses) >= given["at_least"]


@ask
def doses_in_winter(given: Given) -> int:
    """Doses of the least-brood weeks."""
    first, last = between(given)
    return sum(one.course.quick and first <= one.course.day <= last for one in plan(given).courses)


@ask
def out_before_supers(given: Given) -> bool:
    """Whether all of the spring round is out before supers usually go on."""
    supers = plan(given).asked.season.marks["supers_on"].begins.usual
    return all(one.course.answer.use.last <= supers for one in plan(given).courses if one.round == "spring")


# Counts ---------------------------------------------------------------------------------------------------------------


@ask
def counts_between(given: Given) -> int:
    first, last = between(given)
    return sum(first <= day <= last for day in plan(given).counts)


@ask
def longest_between_counts(given: Given) -> int:
    """Days between counts of a season, at most, between two days."""
    first, last = between(given)
    days = [day for day in plan(given).counts if first <= day <= last]
    return max((b - a for a, b in pairwise(days)), default=last - first)


@ask
def days_from_dose_to_count(given: Given) -> int:
    """Days from the last dose of a season to the next count, in the year that follows it."""
    made = plan(given)
    dose = max(one.course.day for one in made.courses if one.course.quick)
    return min((day - dose) % YEAR_DAYS for day in made.counts)


@ask
def counts_of_a_year(given: Given) -> bool:
    return len(plan(given).counts) >= given["at_least"]


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
