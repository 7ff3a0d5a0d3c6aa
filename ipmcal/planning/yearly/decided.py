"""Decided: the year's courses as planning gives them: whom, on which days, with which product, and why.

In: a yard that is ready, the question of labels, what counts and breaks ask for by themselves. Out: the same question
and outcome with the year's courses. Pure. What a count over the line asks for, and a break in a hive's brood, are no
matter of the year: they are chosen before, and stand in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.choose.asked import END_SOON, Bans, Earlier
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Question, offer_of
from ipmcal.planning.choose.outcome import Outcome, supers_off
from ipmcal.planning.choose.pick import Chosen, between_reasons
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.standing import CourseSpell, Standing, use_of
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.asking.let import wall_setting
from ipmcal.planning.mites.walls import WallSetting, broken_wall, candidate, winter_dose, worked_by
from ipmcal.planning.ready import Ready
from ipmcal.planning.yearly.asked import YearOfYard
from ipmcal.planning.yearly.followed import AskedFor, Followed, excused, followed, is_it
from ipmcal.planning.yearly.in_part import IN_PART, gone_on
from ipmcal.planning.yearly.remembered import KeptYears
from ipmcal.planning.yearly.told import ruled_out, second_choices

FURTHER, WINTER = "further", "winter"


@dataclass(frozen=True)
class ByMites:
    """Chooses the courses of a yard's season by what its mites will do."""

    outfit: Outfit
    kept: KeptYears

    def __call__(self, one: Ready, start: tuple[Question, Outcome], bans: Bans, earlier: Earlier) -> MadeByYear:
        """The question and outcome of ``start`` with the courses of the year, and what has to be told of them."""
        ask, made = start
        banned = frozenset(key for key in bans if key[1] != END_SOON)
        year = YearOfYard(one, self.outfit, earlier, banned, self.kept)
        if not any(day >= ask.since for day in year.days):
            return ask, made, None  # the season goes on for what has begun alone
        asked_for = tuple(_asked_for(year, made))
        found = followed(year, ask.since, asked_for)
        return _with_year(_Setting(year, ask, made, found))


@dataclass(frozen=True)
class ToldOfYear:
    """What is to be told of a year as it stands."""

    found: Followed
    barred: tuple[YearCourse, ...] = ()
    without: tuple[Because, ...] = ()

    @property
    def left(self) -> tuple[Because, ...]:
        """What the year's courses come to, where that is not enough; those that are barred, and hives left without."""
        answer, book = self.found.answer, self.found.asked.book
        barred = (Because(Code.YEAR_BARRED, (book.treatments[c.product].title, c.first, c.last)) for c in self.barred)
        short = () if answer.enough else (Because(Code.YEAR_NOT_ENOUGH, (round(10 * answer.over),)),)
        return (*short, *dict.fromkeys(barred), *self.without)

    def second(self) -> tuple[Because, ...]:
        """What could stand in place of each course, and until when it is good."""
        return second_choices(self.found)

    def excluded(self) -> tuple[Because, ...]:
        """What keeps the other products off."""
        return ruled_out(self.found)


MadeByYear = tuple[Question, Outcome, ToldOfYear | None]


def _asked_for(year: YearOfYard, made: Outcome) -> Iterator[AskedFor]:
    """What counts and breaks ask for in one of the leading hives, from the day on which they did."""
    leading, season = {state.colony.key for state in year.leading}, year.ground.season
    for course in made.courses:
        doses = [dose for dose in course.doses if dose.key in leading and dose.treatment is not None]
        if 2 * len(doses) >= len(leading) and season.first <= course.need.first <= year.last:
            stopped = [day for day in year.pauses if day <= course.need.first]
            since = max(stopped, default=course.need.first) if course.need.broodless else course.need.first
            yield AskedFor(since, _as_asked(year, course))


def _as_asked(year: YearOfYard, course: Chosen) -> CourseSpell:
    """A course from the day on which it was asked for: what follows doesn't hang on the day of planning. It comes out
    when its label usually has it: else no label would let anything follow on it.
    """
    treatment = year.ground.book.treatments[course.main]
    label = label_for(treatment, year.ground.yard.jurisdiction, year.ground.book)
    assert label is not None
    use = use_of(label, course.need.first, year.ground.book)
    return CourseSpell(course.main, treatment.class_, use.first, use.last)


@dataclass(frozen=True)
class _Setting:
    year: YearOfYard
    ask: Question
    made: Outcome
    found: Followed

    @cached_property
    def walls(self) -> WallSetting:
        """What the walls of a year need to know, what was given apart: each hive has its own."""
        return replace(wall_setting(self.found.asked), past=())


def _with_year(there: _Setting) -> MadeByYear:
    courses: list[Chosen] = list(there.made.courses)
    names: list[str] = []
    barred: list[YearCourse] = []
    without: list[Because] = []
    going_on = tuple(gone_on(there.year, there.found))
    for one in (*going_on, *there.found.ahead):
        if excused(there.year, there.found.asked, one):
            continue
        if one.last < there.ask.since:
            without += _never_given(there, one)
            continue
        name = _name(one.round or FURTHER, names)
        course = _chosen(there, one, name, courses, alone=one in going_on)
        if course is not None:
            names.append(name)
            courses.append(course)
            without += _left_without(course)
        elif _whom(there, one):
            barred.append(one)
    new = courses[len(there.made.courses) :]
    ask = replace(there.ask, needs=(*there.ask.needs, *(course.need for course in new)))
    off = (found for course in new if (found := supers_off(ask, course)) is not None)
    made = replace(there.made, courses=tuple(courses), supers_off=(*there.made.supers_off, *off))
    return ask, made, ToldOfYear(there.found, tuple(barred), tuple(without))


def _never_given(there: _Setting, one: YearCourse) -> Iterator[Because]:
    """Hives that a course passed by which others of their yard were given: until they are given anything since, or a
    count asks for it.
    """
    asked = {key for course in there.made.courses for key in course.treated}
    keys = [
        hive.key
        for hive in _whom(there, one)
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


# One course, hive by hive ---------------------------------------------------------------------------------------------


def _chosen(
    there: _Setting, one: YearCourse, name: str, others: Sequence[Chosen], *, alone: bool = False
) -> Chosen | None:
    """A course of the year on the keeper's day nearest to the one that was chosen; None where no label lets it.

    ``alone``: other hives have had it, so that another product in its place is as good as a course.
    """
    ask, days = there.ask, there.year.ground.days
    hives = _whom(there, one)
    keys = tuple(hive.key for hive in hives)
    waits = [_last_brood_out(there, hive) for hive in hives if one.round == WINTER]
    need = Want(
        name,
        max(one.first, ask.since, *waits),
        one.last,
        one.day,
        colonies=None if len(hives) == len(ask.hives) else keys,
        takes_supers=one.supers_off,
        why=_why(one),
        until=_until(there, one),
    )
    inside = [day for day in days.of(days.between(need.first, need.last)) if _free(there, one.product, day)]
    for day in sorted(inside, key=lambda day: (abs(day - one.day), day)):
        doses = tuple(_dose(there, hive, one.product, (day, need), others) for hive in hives)
        given = {dose.treatment for dose in doses}
        main = next((p for p in (one.product, *(ask.products if alone else ())) if p in given), None)
        if main is not None:
            return Chosen(_as_rested(there, need, (inside, day), doses, others), day, main, doses)
    return None


def _as_rested(
    there: _Setting, need: Want, on: tuple[Sequence[int], int], doses: Sequence[Offer], others: Sequence[Chosen]
) -> Want:
    """A want, its days those around the chosen one on which its hives' other courses leave room for it as well."""
    inside, day = on
    at = inside.index(day)
    first, last = at, at
    while first > 0 and _room_on(there, inside[first - 1], need, doses, others):
        first -= 1
    while last + 1 < len(inside) and _room_on(there, inside[last + 1], need, doses, others):
        last += 1
    return replace(
        need,
        first=need.first if first == 0 else inside[first],
        last=need.last if last + 1 == len(inside) else inside[last],
    )


def _room_on(there: _Setting, day: int, need: Want, doses: Sequence[Offer], others: Sequence[Chosen]) -> bool:
    """Whether what each hive gets may be given on a day as well, for its other courses and the walls of the year."""
    ask = there.ask
    known = {hive.key: hive for hive in ask.hives}
    for dose in (dose for dose in doses if dose.treatment is not None):
        name = str(dose.treatment)
        label = label_for(ask.book.treatments[name], ask.jurisdiction, ask.book)
        assert label is not None
        if not _rested(there, _with_others(there, known[dose.key], others), name, ask.use(name, label, day)):
            return False
    return True


def _whom(there: _Setting, one: YearCourse) -> list[Hive]:
    """The hives that a course of the year is for: there, without it yet, and their last brood out in time."""
    mine = (hive for hive in there.ask.hives if not _had(there, one, hive) and hive.since <= one.last)
    return [hive for hive in mine if one.round != WINTER or _last_brood_out(there, hive) <= one.last]


def _last_brood_out(there: _Setting, hive: Hive) -> int:
    """The day on which autumn's last brood is out, where the queen was seen to lay no more; 0 where nobody knows."""
    season = there.year.ground.season
    return max((s.first for s in hive.standing.brood if s.last_brood and season.first <= s.first), default=0)


def _free(there: _Setting, product: str, day: int) -> bool:
    return (product, day) not in there.year.banned


def _had(there: _Setting, one: YearCourse, hive: Hive) -> bool:
    """Whether a hive was given the course already, or another in its place that leaves no room for it."""
    asked = there.found.asked.days
    first = one.first if one.round == IN_PART or not asked else asked[0]
    mine = [spell for spell in hive.standing.courses if spell.began >= first and spell.began < there.ask.since]
    return any(is_it(there.year, one, spell) for spell in mine)


def _dose(there: _Setting, hive: Hive, main: str, on: tuple[int, Want], others: Sequence[Chosen]) -> Offer:
    """What a hive gets: the main product, or the first of the keeper's that its label allows it on that day."""
    day, need = on
    ask = there.ask
    products = (main, *(name for name in ask.products if name != main))
    hive = replace(hive, standing=_out_in_time(there, hive))
    at = _with_others(there, hive, others)
    for name in products:
        label = label_for(ask.book.treatments[name], ask.jurisdiction, ask.book)
        if label is None or (name != main and not _free(there, name, day)):
            continue
        use = ask.use(name, label, day)
        if name != main and not _may_take_its_place(there, name, use, need):
            continue
        dose = offer_of(ask, hive, name, label, use, need)
        if dose is None or not _rested(there, at, name, use):
            continue
        if not any(reason.weight is Weight.FORBIDS for reason in between_reasons(ask, at, dose)):
            return dose
    return Offer(hive.key, None)


def _with_others(there: _Setting, hive: Hive, others: Sequence[Chosen]) -> Standing:
    """A hive's standing with the courses that are planned for it."""
    standing = _out_in_time(there, hive)
    planned = (past for course in others if (past := _past(there.ask, course, hive.key)) is not None)
    return standing.with_course(*planned)


def _past(ask: Question, course: Chosen, key: str) -> CourseSpell | None:
    dose = next((dose for dose in course.doses if dose.key == key), None)
    if dose is None or dose.treatment is None or dose.use is None:
        return None
    return CourseSpell(dose.treatment, ask.book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)


def _out_in_time(there: _Setting, hive: Hive) -> Standing:
    """A hive's standing, what lies in it coming out when its label usually has it: the next visit is no matter yet."""
    lying = {(one.product, one.began) for one in there.year.one.courses.get(hive.key, ()) if one.ended is None}
    courses = tuple(
        replace(past, ended=max(_usually_out(there.ask, past), there.ask.since))
        if (past.treatment, past.began) in lying
        else past
        for past in hive.standing.courses
    )
    return replace(hive.standing, courses=courses)


def _usually_out(ask: Question, past: CourseSpell) -> int:
    treatment = ask.book.treatments.get(past.treatment)
    label = None if treatment is None else label_for(treatment, ask.jurisdiction, ask.book)
    if label is None:
        return past.began if past.ended is None else past.ended
    return ask.use(past.treatment, label, past.began).last


def _may_take_its_place(there: _Setting, name: str, use: Use, need: Want) -> bool:
    """Whether another product may be given in a round: no wall of the year is broken by it."""
    class_ = there.ask.book.treatments[name].class_
    one = candidate(there.walls, AllowedCourse(name, class_, use))
    if need.name.startswith(WINTER):
        return winter_dose(there.walls, one)
    return broken_wall(there.walls, one, published=not need.name.startswith(FURTHER)) is None


def _rested(there: _Setting, standing: Standing, name: str, use: Use) -> bool:
    """Whether a hive's other courses, given and planned, leave room for one: days between them, and no synthetic class
    twice in a year.
    """
    walls = there.ask.book.planning.year_plans.walls
    class_ = there.ask.book.treatments[name].class_
    rest, between = int(walls.synthetic_rest.value.middle), int(walls.between_packed.value.middle)
    worked = _worked(there.ask, name, use)
    for past in standing.courses:
        # what still lies in the hive comes out in time, as its label has it: else the labels say so
        ended = _worked(there.ask, past.treatment, past.began)
        if past.began - between < worked and use.first < ended + between:
            return False
        if past.class_ == class_ and class_ in walls.synthetic and abs(use.first - past.began) < rest:
            return False
    return True


def _worked(ask: Question, product: str, days: Use | int) -> int:
    """The last day on which a course acts, as its label has it; the first, where it has none here."""
    treatment = ask.book.treatments.get(product)
    label = None if treatment is None else label_for(treatment, ask.jurisdiction, ask.book)
    if treatment is None or label is None:
        return days.first if isinstance(days, Use) else days
    return worked_by(treatment, label, days if isinstance(days, Use) else ask.use(product, label, days))


# In words -------------------------------------------------------------------------------------------------------------

_WHY = {
    "spring": Because(Code.ROUND_SPRING),
    "summer": Because(Code.ROUND_SUMMER),
    "late_summer": Because(Code.ROUND_LATE_SUMMER),
    "early_autumn": Because(Code.ROUND_EARLY_AUTUMN),
    "autumn": Because(Code.ROUND_AUTUMN),
    "winter": Because(Code.ROUND_WINTER),
}


def _why(one: YearCourse) -> str:
    if one.round == IN_PART:
        return because_words(Because(Code.ROUND_IN_PART, (one.day,)))
    return because_words(_WHY.get(one.round, Because(Code.ROUND_FURTHER)))


def _until(there: _Setting, one: YearCourse) -> str:
    """Why a course does not begin later: the next one needs its days, it would do less, or its round is over."""
    book, walls = there.ask.book, there.ask.book.planning.year_plans.walls
    between = int(walls.between.value.middle)
    later = next((day for day in there.year.days if day > one.last), one.last + 1)
    then = next((other for other in there.found.answer.courses if other.day > one.day), None)
    advised = because_words(Because(Code.ADVISED_BY, (one.by,))) if one.by is not None else ""
    if one.by is not None and one.last >= one.by:
        return advised
    if then is not None and then.day - (later + one.worked) < between:
        title = book.treatments[then.product].title
        why = because_words(Because(Code.NEXT_NEEDS_ITS_DAYS, (title, then.day)))
    else:
        why = because_words(Because(Code.LATER_DOES_LESS))
    return f"{why}; {advised}" if advised else why
