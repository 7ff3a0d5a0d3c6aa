"""Hives: a course of the year as each hive of a yard gets it: on which day, with which product, and why.

In: a yard's season, its year as it is followed, the question of labels, what else its hives get. Out: ``Chosen``, or
None. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ipmcal.model.altered import altered
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.mites import YearCourse
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Question, offer_of
from ipmcal.planning.choose.outcome import Outcome
from ipmcal.planning.choose.pick import Chosen, between_reasons
from ipmcal.planning.choose.wants import BREAK, Want
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.asking.let import wall_setting
from ipmcal.planning.mites.base import cage_days
from ipmcal.planning.mites.walls import WallSetting, broken_wall, candidate, winter_dose, worked_by
from ipmcal.planning.owed.caging import NO_CAGINGS, YearCagings
from ipmcal.planning.yearly.asked import YearOfYard
from ipmcal.planning.yearly.caged import to_be_caged, was_caged
from ipmcal.planning.yearly.followed import Followed, excused, is_it, is_made
from ipmcal.planning.yearly.in_part import IN_PART

FURTHER, WINTER = "further", "winter"
ITS_BREAK = f"{BREAK}_of_year"
"""What the dose in the year's own break is wanted for."""


def cagings_of_year(year: YearOfYard, found: Followed) -> YearCagings:
    """The break that the year's courses rest on, and the hives whose queens are to be caged for it; once a count has
    excused its dose, none are.
    """
    caged, ground = found.answer.caged, year.ground
    rests = [one for one in found.ahead if one.rests]
    if caged is None or not rests:
        return NO_CAGINGS
    if any(excused(year, found.asked, one, made=is_made(year, found.answer)) for one in rests):
        return NO_CAGINGS
    hives = (state.colony.key for state in year.one.treated if to_be_caged(caged, ground, state))
    return YearCagings(caged, frozenset(hives), *cage_days(caged, ground.book))


@dataclass(frozen=True)
class YearSetting:
    """A year as it is followed, beside what counts and breaks ask for: the question, and what was ``made`` of it."""

    year: YearOfYard
    ask: Question
    made: Outcome
    found: Followed

    @cached_property
    def to_come(self) -> frozenset[str]:
        """The hives whose queens are still to be caged."""
        return cagings_of_year(self.year, self.found).hives

    def in_its_break(self, hive: Hive) -> bool:
        """Whether nothing is capped in a hive on the day of the year's break thanks to it: to come, or made."""
        caged = self.found.answer.caged
        return caged is not None and (hive.key in self.to_come or was_caged(caged, hive.standing, self.ask.book))

    @cached_property
    def walls(self) -> WallSetting:
        """What the walls of a year need to know, what was given apart: each hive has its own."""
        return replace(wall_setting(self.found.asked), past=())


# One course, hive by hive ---------------------------------------------------------------------------------------------


def chosen_of_year(
    there: YearSetting, one: YearCourse, name: str, others: Sequence[Chosen], *, alone: bool = False
) -> Chosen | None:
    """A course of the year on the keeper's day nearest to the one that was chosen; None where no label lets it.

    ``alone``: other hives have had it, so that another product in its place is as good as a course.
    """
    ask, days = there.ask, there.year.ground.days
    hives = whose_course(there, one)
    keys = tuple(hive.key for hive in hives)
    waits = [_last_brood_out(there, hive) for hive in hives if one.round == WINTER]
    need = Want(
        name,
        max(one.first, ask.since, *waits),
        one.last,
        one.day,
        colonies=None if len(hives) == len(ask.hives) else keys,
        takes_supers=one.supers_off or any(_overdue(hive) for hive in hives),
        why=_why(one),
        until=_until(there, one),
    )
    inside = [day for day in days.of(days.between(need.first, need.last)) if _free(there, one.product, day)]
    for day in sorted(inside, key=lambda day: (abs(day - one.day), day)):
        doses = _doses(there, hives, one.product, (day, need), others)
        given = {dose.treatment for dose in doses}
        main = next((p for p in (one.product, *(ask.products if alone else ())) if p in given), None)
        if main is not None:
            return Chosen(_as_rested(there, need, (inside, day), doses, others), day, main, doses)
    return None


def _as_rested(
    there: YearSetting, need: Want, on: tuple[Sequence[int], int], doses: Sequence[Offer], others: Sequence[Chosen]
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


def _room_on(there: YearSetting, day: int, need: Want, doses: Sequence[Offer], others: Sequence[Chosen]) -> bool:
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


def whose_course(there: YearSetting, one: YearCourse) -> list[Hive]:
    """The hives that a course of the year is for: there, without it yet, and their last brood out in time."""
    mine = (hive for hive in there.ask.hives if not _had(there, one, hive) and hive.since <= one.last)
    return [hive for hive in mine if one.round != WINTER or _last_brood_out(there, hive) <= one.last]


def _overdue(hive: Hive) -> bool:
    """Whether supers are still on that should be off by now: they come off for a course at last."""
    return any(stay.off is None and not stay.planned for stay in hive.standing.supers)


def _last_brood_out(there: YearSetting, hive: Hive) -> int:
    """The day on which autumn's last brood is out, where the queen was seen to lay no more; 0 where nobody knows."""
    season = there.year.ground.season
    return max((s.first for s in hive.standing.brood if s.last_brood and season.first <= s.first), default=0)


def _free(there: YearSetting, product: str, day: int) -> bool:
    return (product, day) not in there.year.banned


def _had(there: YearSetting, one: YearCourse, hive: Hive) -> bool:
    """Whether a hive was given the course already, or another in its place that leaves no room for it."""
    asked = there.found.asked.days
    first = one.first if one.round == IN_PART or not asked else asked[0]
    mine = [spell for spell in hive.standing.courses if spell.began >= first and spell.began < there.ask.since]
    return any(is_it(there.year, one, spell) for spell in mine)


def _doses(
    there: YearSetting, hives: Sequence[Hive], main: str, on: tuple[int, Want], others: Sequence[Chosen]
) -> tuple[Offer, ...]:
    """What each hive gets; of hives of equal standing, with the same courses beside it, one is asked for all."""
    every = (main, *(name for name in there.ask.products if name != main))
    known: list[tuple[object, Offer]] = []
    made: list[Offer] = []
    for hive in hives:
        without = on[1].name.startswith(ITS_BREAK) and not there.in_its_break(hive)
        here = replace(hive, standing=_out_in_time(there, hive))
        at = _with_others(there, here, others)
        stands = (here.standing, here.since, at, without)
        dose = next((dose for one, dose in known if one == stands), None)
        if dose is None:
            dose = _dose(there, (here, at), every[1:] if without else every, main, on)
            known.append((stands, dose))
        made.append(dose if dose.key == hive.key else replace(dose, key=hive.key))
    return tuple(made)


def _dose(
    there: YearSetting, whose: tuple[Hive, Standing], products: Sequence[str], main: str, on: tuple[int, Want]
) -> Offer:
    """What a hive gets: the first of some products that its label allows it on that day, the ``main`` one or another
    in its place. ``whose``: the hive, and how it stands beside its other courses.
    """
    ask, (hive, at), (day, need) = there.ask, whose, on
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


def _with_others(there: YearSetting, hive: Hive, others: Sequence[Chosen]) -> Standing:
    """A hive's standing with the courses that are planned for it."""
    standing = _out_in_time(there, hive)
    planned = (past for course in others if (past := _past(there.ask, course, hive.key)) is not None)
    return standing.with_course(*planned)


def _past(ask: Question, course: Chosen, key: str) -> CourseSpell | None:
    dose = next((dose for dose in course.doses if dose.key == key), None)
    if dose is None or dose.treatment is None or dose.use is None:
        return None
    return CourseSpell(dose.treatment, ask.book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)


def _out_in_time(there: YearSetting, hive: Hive) -> Standing:
    """A hive's standing, what lies in it coming out when its label usually has it: the next visit is no matter yet."""
    lying = {(one.product, one.began) for one in there.year.one.courses.get(hive.key, ()) if one.ended is None}
    if not lying:
        return hive.standing
    courses = tuple(
        replace(past, ended=max(_usually_out(there.ask, past), there.ask.since))
        if (past.treatment, past.began) in lying
        else past
        for past in hive.standing.courses
    )
    return altered(hive.standing, courses=courses)


def _usually_out(ask: Question, past: CourseSpell) -> int:
    treatment = ask.book.treatments.get(past.treatment)
    label = None if treatment is None else label_for(treatment, ask.jurisdiction, ask.book)
    if label is None:
        return past.began if past.ended is None else past.ended
    return ask.use(past.treatment, label, past.began).last


def _may_take_its_place(there: YearSetting, name: str, use: Use, need: Want) -> bool:
    """Whether another product may be given in a round: no wall of the year is broken by it."""
    class_ = there.ask.book.treatments[name].class_
    one = candidate(there.walls, AllowedCourse(name, class_, use))
    if need.name.startswith(WINTER):
        return winter_dose(there.walls, one)
    return broken_wall(there.walls, one, published=not need.name.startswith(FURTHER)) is None


def _rested(there: YearSetting, standing: Standing, name: str, use: Use) -> bool:
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
    if one.rests:
        return because_words(Because(Code.ROUND_BREAK))
    return because_words(_WHY.get(one.round, Because(Code.ROUND_FURTHER)))


def _until(there: YearSetting, one: YearCourse) -> str:
    """Why a course does not begin later: the next one needs its days, it would do less, or its round is over."""
    book, walls = there.ask.book, there.ask.book.planning.year_plans.walls
    caged = there.found.answer.caged
    if one.rests and caged is not None:
        return because_words(Because(Code.BREAK_IS_OVER, (caged.until,)))
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
