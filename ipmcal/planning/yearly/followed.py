"""Followed: the year as it was chosen on its first day, and what has become of it since.

In: a yard's season, the morning of planning. Out: ``Followed``: the courses that are still to come. Pure.

The year is asked for on the season's first day, by what was known then, and stands until something differs from it: a
course that was given and not chosen, one whose days went by, a hive's brood that stopped. On the morning after that it
is asked anew, with what was given as part of every answer. So it is the same on each day between, and a plan of today
is the plan of yesterday unless something happened.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.mites import YearAnswer, YearCourse
from ipmcal.planning.ahead.points import on_bees
from ipmcal.planning.choose.wants import LATE_SUMMER
from ipmcal.planning.decide.decide import Call
from ipmcal.planning.labels.standing import CourseSpell
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.plan import question_key
from ipmcal.planning.mites.walls import whole_days
from ipmcal.planning.yearly.answered import answered, planned
from ipmcal.planning.yearly.asked import YearOfYard, asked_on
from ipmcal.planning.yearly.remembered import KeptYears, Latest, name_of
from ipmcal.planning.yearly.spared import holds_without


@dataclass(frozen=True)
class Followed:
    """What stands of the year: the last answer and its question, and its courses that are still to come.

    ``done`` are those that were given, in one of the leading hives at least.
    """

    asked: YearQuestion
    answer: YearAnswer
    ahead: tuple[YearCourse, ...]
    done: tuple[YearCourse, ...]
    kept: KeptYears


@dataclass(frozen=True, slots=True)
class AskedFor:
    """A course that a count or a break of the brood asks for, known since a day, and not given yet."""

    since: int
    course: CourseSpell


def followed(year: YearOfYard, as_of: int, asked_for: Sequence[AskedFor] = ()) -> Followed:
    """The year on the morning of ``as_of``, with what counts or breaks of the brood ask for now."""
    day = year.first
    # what was given happens once, and what went by unused is asked for again from later on: each turn moves on
    while True:
        given = [one for one in _given(year) if one.began < day]
        asked = asked_on(year, day, [*given, *(one.course for one in asked_for if one.since < day)])
        answer = answered(asked, year.kept)
        since = (one.since + 1 for one in asked_for if one.since < as_of)
        later = min((on for on in (*_differs(year, asked, answer, day, as_of), *since) if on > day), default=None)
        if later is None:
            done = tuple(one for one in answer.courses if is_given(year, one, day))
            ahead = tuple(one for one in answer.courses if one not in done and one.last >= as_of)
            return Followed(asked, answer, ahead, done, year.kept)
        day = later


def _given(year: YearOfYard) -> list[CourseSpell]:
    """What most of the leading hives were given in this season, each course once, on its first hive's day."""
    within = int(year.ground.book.planning.treat_within.value.middle)
    found: dict[tuple[str, int], set[str]] = {}
    first: dict[tuple[str, int], CourseSpell] = {}
    for spell, key in sorted(_spells(year), key=lambda row: (row[0].began, row[1])):
        near = next((k for k in found if k[0] == spell.treatment and spell.began - k[1] <= within), None)
        place = near or (spell.treatment, spell.began)
        first.setdefault(place, spell)
        found.setdefault(place, set()).add(key)
    return [first[place] for place, keys in found.items() if 2 * len(keys) >= len(year.leading)]


def _spells(year: YearOfYard) -> Iterator[tuple[CourseSpell, str]]:
    season, book = year.ground.season, year.ground.book
    for state in year.leading:
        for course in year.courses(state):
            if season.first <= course.began <= year.last and course.product in book.treatments:
                class_ = book.treatments[course.product].class_
                yield CourseSpell(course.product, class_, course.began, course.ended), state.colony.key


def is_given(year: YearOfYard, one: YearCourse, since: int) -> bool:
    """Whether a course that was chosen on a day was begun since, in one of the leading hives."""
    return any(is_it(year, one, spell) for spell, _ in _spells(year) if spell.began >= since)


def is_it(year: YearOfYard, one: YearCourse, spell: CourseSpell) -> bool:
    """Whether something that was given is a course that was chosen: of its product, a visit about its days at most."""
    visit = whole_days(year.ground.book.planning.year_plans.offered.at_once)
    return spell.treatment == one.product and one.first - visit <= spell.began <= one.last + visit


def _differs(year: YearOfYard, asked: YearQuestion, answer: YearAnswer, since: int, as_of: int) -> Iterator[int]:
    """The mornings after which the year is not as it was chosen any more, up to ``as_of``."""
    for spell in _given(year):
        if since <= spell.began < as_of and not any(is_it(year, one, spell) for one in answer.courses):
            yield spell.began + 1
    for one in answer.courses:
        if one.last < as_of and not is_given(year, one, since) and not excused(year, asked, one):
            yield one.last + 1
    yield from (pause + 1 for pause in year.pauses if since <= pause < as_of)


def excused(year: YearOfYard, asked: YearQuestion, one: YearCourse) -> bool:
    """Whether late summer's course is: counts of its time have said that the yard is below its line, and the year holds
    without it.
    """
    decision = year.one.decision
    if one.round != LATE_SUMMER or one.opens is None or decision.call is not Call.BELOW:
        return False
    counts = [made.count for made in decision.decisions if made.count.day >= one.opens]
    if not counts:
        return False
    day = max(count.day for count in counts)
    samples = [sample for count in counts if (sample := on_bees(count.sample, asked.stock.figures)) is not None]
    key = (question_key(asked), one, day, tuple(samples))

    def made() -> bool:
        return _HOLDS.of(asked.book, key, lambda: holds_without(planned(asked), one, day, samples))

    return year.kept.of(lambda: name_of("spared", key), bool, made)


_HOLDS: Latest[bool] = Latest(64)
