"""Decided: the year's courses as planning gives them: whom, on which days, with which product, and why.

In: a yard that is ready, the question of labels, what counts and breaks ask for by themselves. Out: the same question
and outcome with the year's courses. Pure. What a count over the line asks for, and a break in a hive's brood, are no
matter of the year: they are chosen before, and stand in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.altered import altered
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.choose.asked import END_SOON, Bans, Earlier
from ipmcal.planning.choose.offer import Hive, Question
from ipmcal.planning.choose.outcome import Outcome, supers_off
from ipmcal.planning.choose.pick import Chosen
from ipmcal.planning.choose.treat import Choose, ChosenByYear
from ipmcal.planning.choose.wants import COUNTED
from ipmcal.planning.labels.standing import CourseSpell, use_of
from ipmcal.planning.mites.base import caging_of, nothing_capped_in
from ipmcal.planning.owed.caging import NO_CAGINGS, YearCagings, cagings_owed
from ipmcal.planning.ready import Ready
from ipmcal.planning.yearly.asked import YearOfYard
from ipmcal.planning.yearly.followed import AskedFor, Followed, excused, followed, is_made
from ipmcal.planning.yearly.hives import FURTHER, ITS_BREAK, YearSetting, cagings_of_year, chosen_of_year, whose_course
from ipmcal.planning.yearly.in_part import gone_on
from ipmcal.planning.yearly.remembered import KeptYears
from ipmcal.planning.yearly.told import ruled_out, second_choices


@dataclass(frozen=True)
class ByMites:
    """Chooses the courses of a yard's season by what its mites will do."""

    outfit: Outfit
    kept: KeptYears

    def __call__(self, one: Ready, ask: Question, choose: Choose, bans: Bans, earlier: Earlier) -> ChosenByYear:
        """What counts and breaks ask for, with the courses of the year, and what has to be told of them."""
        banned = frozenset(key for key in bans if key[1] != END_SOON)
        year = YearOfYard(one, self.outfit, earlier, banned, self.kept)
        if not any(day >= ask.since for day in year.days):
            return ChosenByYear(*choose(_with_cagings(ask, NO_CAGINGS)))  # the season goes on for what has begun alone
        asked, made = _by_itself(year, ask, choose)
        found = followed(year, ask.since, tuple(_asked_for(year, made)))
        cagings = cagings_of_year(year, found)
        own = _without_its_dose(YearSetting(year, _with_cagings(asked, cagings), made, found))
        ask, made, words = _with_year(own)
        return ChosenByYear(ask, made, words, cagings)


def _by_itself(year: YearOfYard, ask: Question, choose: Choose) -> tuple[Question, Outcome]:
    """What counts and breaks of a hive's own come to beside the cagings of the year; where a count over the line can't
    be answered for a queen who is to be caged, she is not.
    """
    if not any(_owes_one(year, state) for state in year.one.treated):
        return choose(_with_cagings(ask, NO_CAGINGS))
    cagings = cagings_of_year(year, followed(year, ask.since))
    made = choose(_with_cagings(ask, cagings))
    if not cagings.hives or not any(name == COUNTED for name, _ in made[1].left):
        return made
    return choose(_with_cagings(ask, NO_CAGINGS))


def _owes_one(year: YearOfYard, state: ColonyState) -> bool:
    ground = year.ground
    return next(cagings_owed(state, ground.yard, ground.season, ground.book), None) is not None


def _with_cagings(ask: Question, cagings: YearCagings) -> Question:
    """The question, its hives to be caged as the year has it, and not otherwise."""
    return replace(ask, hives=tuple(_stands(ask, hive, cagings) for hive in ask.hives))


def _stands(ask: Question, hive: Hive, cagings: YearCagings) -> Hive:
    at = altered(hive.standing, cagings=()) if hive.standing.cagings else hive.standing
    if cagings.caged is not None and hive.key in cagings.hives:
        brood = (*at.brood, replace(nothing_capped_in(cagings.caged), pays=False))
        at = altered(at, brood=brood, cagings=(caging_of(cagings.caged, ask.book),))
    return replace(hive, standing=at)


@dataclass(frozen=True)
class ToldOfYear:
    """What is to be told of a year as it stands."""

    found: Followed
    barred: tuple[tuple[YearCourse, tuple[str, ...]], ...] = ()
    without: tuple[Because, ...] = ()

    @property
    def left(self) -> tuple[Because, ...]:
        """What the year's courses come to, where that is not enough, or else what they are short of; those that are
        barred, and hives left without."""
        answer, book = self.found.answer, self.found.asked.book
        barred = (
            Because(Code.YEAR_BARRED, (book.treatments[one.product].title, hives, one.first, one.last))
            for one, hives in self.barred
        )
        odds = Because(Code.YEAR_NOT_ENOUGH, (round(10 * answer.over),))
        short = Because(Code.YEAR_SHORT, (answer.short,)) if answer.short else odds
        return (*(() if answer.enough else (short,)), *dict.fromkeys(barred), *self.without)

    def second(self, good: Mapping[int, int], since: int, days: KeeperDays) -> tuple[Because, ...]:
        """What could stand in place of each course, and until when it is good (``second_choices``)."""
        return second_choices(self.found, good, since, days)

    def excluded(self) -> tuple[Because, ...]:
        """What keeps the other products off."""
        return ruled_out(self.found)


MadeByYear = tuple[Question, Outcome, ToldOfYear]


def _asked_for(year: YearOfYard, made: Outcome) -> Iterator[AskedFor]:
    """What counts and breaks ask for in one of the leading hives, from the day on which they did."""
    leading, season = {state.colony.key for state in year.leading}, year.ground.season
    for course in made.courses:
        doses = [dose for dose in course.doses if dose.key in leading and dose.treatment is not None]
        if 2 * len(doses) >= len(leading) and season.first <= course.need.first <= year.last:
            stopped = [day for day in year.pauses if day <= course.need.first]
            since = max(stopped, default=course.need.first) if course.need.broodless else course.need.first
            yield AskedFor(since, _as_asked(year, course), course.need.broodless)


def _as_asked(year: YearOfYard, course: Chosen) -> CourseSpell:
    """A course from the day on which it was asked for: what follows doesn't hang on the day of planning. It comes out
    when its label usually has it: else no label would let anything follow on it.
    """
    treatment = year.ground.book.treatments[course.main]
    label = label_for(treatment, year.ground.yard.jurisdiction, year.ground.book)
    assert label is not None
    use = use_of(label, course.need.first, year.ground.book)
    return CourseSpell(course.main, treatment.class_, use.first, use.last)


def _without_its_dose(there: YearSetting) -> YearSetting:
    """The same without what the year's own break asks for by itself, once it is made: the year has chosen its dose."""
    ask, made = there.ask, there.made
    mine = {hive.key for hive in ask.hives if there.in_its_break(hive) and hive.key not in there.to_come}
    own = {need.name for need in ask.needs if need.broodless and mine.issuperset(need.colonies or ("",))}
    if not own:
        return there
    ask = replace(ask, needs=tuple(need for need in ask.needs if need.name not in own))
    made = Outcome(
        tuple(course for course in made.courses if course.need.name not in own),
        tuple(off for off in made.supers_off if off.need not in own),
        tuple((name, keys) for name, keys in made.left if name not in own),
    )
    return replace(there, ask=ask, made=made)


def _with_year(there: YearSetting) -> MadeByYear:
    courses: list[Chosen] = list(there.made.courses)
    names: list[str] = []
    barred: list[tuple[YearCourse, tuple[str, ...]]] = []
    without: list[Because] = []
    going_on = tuple(gone_on(there.year, there.found))
    for one in (*going_on, *there.found.ahead):
        if excused(there.year, there.found.asked, one, made=is_made(there.year, there.found.answer)):
            continue
        if one.last < there.ask.since:
            without += _never_given(there, one)
            continue
        name = _name(ITS_BREAK if one.rests else one.round or FURTHER, names)
        course = chosen_of_year(there, one, name, courses, alone=one in going_on)
        if course is not None:
            names.append(name)
            courses.append(course)
            without += _left_without(course)
        elif hives := whose_course(there, one):
            barred.append((one, tuple(hive.key for hive in hives)))
    new = courses[len(there.made.courses) :]
    ask = replace(there.ask, needs=(*there.ask.needs, *(course.need for course in new)))
    off = (found for course in new if (found := supers_off(ask, course)) is not None)
    made = replace(there.made, courses=tuple(courses), supers_off=(*there.made.supers_off, *off))
    return ask, made, ToldOfYear(there.found, tuple(barred), tuple(without))


def _never_given(there: YearSetting, one: YearCourse) -> Iterator[Because]:
    """Hives that a course passed by which others of their yard were given: until they are given anything since, or a
    count asks for it.
    """
    asked = {key for course in there.made.courses for key in course.treated}
    keys = [
        hive.key
        for hive in whose_course(there, one)
        if hive.key not in asked
        and not any(there.ask.since > spell.began >= one.first for spell in hive.standing.courses)
    ]
    if keys:
        title = there.ask.book.treatments[one.product].title
        yield Because(Code.PASSED_BY, (title, tuple(keys), one.last))


def _left_without(course: Chosen) -> Iterator[Because]:
    """Hives that get nothing where the others get their course."""
    keys = tuple(dose.key for dose in course.doses if dose.treatment is None)
    if keys:
        yield Because(Code.NO_COURSE_IN, (keys, course.need.why))


def _name(name: str, taken: Sequence[str]) -> str:
    number = 1 + sum(one.partition("#")[0] == name for one in taken)
    return name if number == 1 else f"{name}#{number}"
