"""Followed: the year as it was chosen on its first day, and what has become of it since.

In: a yard's season, the morning of planning. Out: ``Followed``: the courses that are still to come. Pure.

The year is asked for on the season's first day, by what was known then, and stands until something differs from it: a
course that was given and not chosen, one whose days went by, a queen who was not caged on the days of its break, a
hive's brood that stopped on others. On the morning after that it is asked anew, with what was given as part of every
answer. So it is the same on each day between, and a plan of today is the plan of yesterday unless something happened.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.mites import CagedBreak, YearAnswer, YearCourse
from ipmcal.planning.ahead.points import on_bees
from ipmcal.planning.choose.wants import LATE_SUMMER
from ipmcal.planning.decide.decide import Call
from ipmcal.planning.labels.standing import CourseSpell
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import cage_days
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
    """A course that a count or a break of the brood (``broodless``) asks for, known since a day, and not given yet."""

    since: int
    course: CourseSpell
    broodless: bool = False


def followed(year: YearOfYard, as_of: int, asked_for: Sequence[AskedFor] = ()) -> Followed:
    """The year on the morning of ``as_of``, with what counts or breaks of the brood ask for now."""
    day = year.first
    # what was given happens once, and what went by unused is asked for again from later on: each turn moves on
    while True:
        given = [one for one in _given(year) if one.began < day]
        to_come = [one.course.treatment for one in asked_for if one.since >= day]
        asked = asked_on(year, day, [*given, *(one.course for one in asked_for if one.since < day)], to_come)
        answer = answered(asked, year.kept)
        since = (one.since + 1 for one in asked_for if one.since < as_of and not _of_its_break(year, answer, one))
        later = min((on for on in (*_differs(year, asked, answer, day, as_of), *since) if on > day), default=None)
        if later is None:
            done = tuple(one for one in answer.courses if is_given(year, one, day))
            ahead = tuple(one for one in answer.courses if one not in done and one.last >= as_of)
            return Followed(asked, answer, ahead, done, year.kept)
        day = later


def _given(year: YearOfYard) -> list[CourseSpell]:
    """What most of the leading hives were given in this season, each course once, on its first hive's day.

    What one hive gets while it is still in another is the same course.
    """
    within = int(year.ground.book.planning.treat_within.value.middle)
    found: dict[tuple[str, int], set[str]] = {}
    first: dict[tuple[str, int], CourseSpell] = {}
    for spell, key in sorted(spells_given(year), key=lambda row: (row[0].began, row[1])):
        place = (spell.treatment, spell.began)
        for one in (one for one in found if one[0] == spell.treatment):
            ended = first[one].ended
            if spell.began - one[1] <= within or (key not in found[one] and (ended is None or spell.began <= ended)):
                place = one
                break
        first.setdefault(place, spell)
        found.setdefault(place, set()).add(key)
    return [first[place] for place, keys in found.items() if 2 * len(keys) >= len(year.leading)]


def spells_given(year: YearOfYard) -> Iterator[tuple[CourseSpell, str]]:
    """What each of the leading hives was given in this season, with the hive."""
    season, book = year.ground.season, year.ground.book
    for state in year.leading:
        for course in year.courses(state):
            if season.first <= course.began <= year.last and course.product in book.treatments:
                class_ = book.treatments[course.product].class_
                yield CourseSpell(course.product, class_, course.began, course.ended), state.colony.key


def is_given(year: YearOfYard, one: YearCourse, since: int) -> bool:
    """Whether a course that was chosen on a day was begun since, in one of the leading hives."""
    return any(is_it(year, one, spell) for spell, _ in spells_given(year) if spell.began >= since)


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
        last = year.last_chance(one.first, one.last)
        if last < as_of and not is_given(year, one, since):
            if excused(year, asked, one, made=is_made(year, answer)):
                continue
            yield last + 1
    yield from (pause + 1 for pause in year.pauses if since <= pause < as_of and not _is_caged_on(year, answer, pause))
    if answer.caged is not None and not is_made(year, answer):
        last = year.last_chance(*cage_days(answer.caged, year.ground.book))
        if last < as_of and not any(one.rests and excused(year, asked, one) for one in answer.courses):
            yield last + 1


def is_made(year: YearOfYard, answer: YearAnswer) -> bool:
    """Whether the queen was caged on the days of the year's break."""
    return any(_is_caged_on(year, answer, pause) for pause in year.pauses)


def _is_caged_on(year: YearOfYard, answer: YearAnswer, pause: int) -> bool:
    if answer.caged is None:
        return False
    first, last = cage_days(answer.caged, year.ground.book)
    return first <= pause <= last


def _of_its_break(year: YearOfYard, answer: YearAnswer, one: AskedFor) -> bool:
    """Whether a dose is asked for by the break that is the year's own: the year has chosen it."""
    return answer.caged is not None and one.broodless and is_made(year, answer) and _in_it(answer.caged, one.course)


def _in_it(one: CagedBreak, course: CourseSpell) -> bool:
    return one.caged <= course.began <= one.until


def excused(year: YearOfYard, asked: YearQuestion, one: YearCourse, *, made: bool = False) -> bool:
    """Whether late summer's course is: counts of its time have said that the yard is below its line, and the year holds
    without it. ``made``: the break that it rests on is, so that its dose is given.
    """
    decision = year.one.decision
    if one.round != LATE_SUMMER or one.opens is None or decision.call is not Call.BELOW or (one.rests and made):
        return False
    counts = [told.count for told in decision.decisions if told.count.day >= one.opens]
    if not counts:
        return False
    day = max(count.day for count in counts)
    samples = [sample for count in counts if (sample := on_bees(count.sample, asked.stock.figures)) is not None]
    key = (question_key(asked), one, day, tuple(samples))

    def holds() -> bool:
        return _HOLDS.of(asked.book, key, lambda: holds_without(planned(asked), one, day, samples))

    return year.kept.of(lambda: name_of("spared", key), bool, holds)


_HOLDS: Latest[bool] = Latest(64)
