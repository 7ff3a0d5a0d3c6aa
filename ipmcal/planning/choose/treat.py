"""Treating: the courses of a yard's season as errands.

In: a yard that is ready, who chooses the courses of its year. Out: errands by colony, what has to be told. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol, TypeAlias

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.labels import last_step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.model.values.words import sentence
from ipmcal.planning.choose.asked import END_SOON, Bans, Earlier, question_of
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Question
from ipmcal.planning.choose.outcome import Outcome, SupersOff, decided, left_out, window_of
from ipmcal.planning.choose.pick import Chosen
from ipmcal.planning.choose.wants import BREAK, COUNTED, LATE_SUMMER, paid_by_breaks
from ipmcal.planning.days.frame import Cursor
from ipmcal.planning.decide.decide import Call
from ipmcal.planning.labels.standing import CourseSpell
from ipmcal.planning.owed.caging import NO_CAGINGS, YearCagings
from ipmcal.planning.owed.errand import Errand, ended_soon
from ipmcal.planning.owed.off import method_of_supers_off
from ipmcal.planning.owed.prescribed import Beginning, prescribed, to_come
from ipmcal.planning.ready import Ready

NO_BANS: Bans = {}
NONE_EARLIER: Earlier = {}

ROUNDS = 6
"""So often courses are chosen anew after a limit broke on the days that packing chose; then it is a conflict."""


@dataclass(frozen=True)
class Treated:
    """What is chosen for a yard: the question, what came of it, the errands by colony, what has to be told.

    ``chosen`` has by errand the course of which it is one hive's part. ``off_by`` has by colony the day by which a
    course wants supers off that are not on yet, ``off_again`` that of the next one, if they are back on by then.
    ``unplaced`` are products with days on which a course would begin whose
    steps the keeper's days can't hold. ``left`` is what the year's courses leave undone; ``by_year`` has more words.
    ``cagings`` are those of the year; None: no year is asked. ``windows`` are each course's days (``window_of``).
    """

    ask: Question | None = None
    made: Outcome | None = None
    errands: Mapping[str, Sequence[Errand]] = field(default_factory=dict)
    chosen: Mapping[str, Chosen] = field(default_factory=dict)
    off_by: Mapping[str, Known] = field(default_factory=dict)
    off_again: Mapping[str, int] = field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()
    unplaced: Mapping[tuple[str, int], str] = field(default_factory=dict)
    left: tuple[Because, ...] = ()
    by_year: YearWords | None = None
    cagings: YearCagings | None = None
    windows: tuple[tuple[Chosen, tuple[int, int]], ...] = ()


class YearWords(Protocol):
    """What is to be told of a year: ``left`` undone; where it is asked for, second choices, and what is kept off."""

    @property
    def left(self) -> tuple[Because, ...]:
        """What the year's courses leave undone."""
        ...

    def second(self, good: Mapping[int, int], since: int, days: KeeperDays) -> tuple[Because, ...]:
        """What could stand in place of each course, on the keeper's ``days`` from ``since`` on, and until when it is
        good: ``good`` has the last day on which each is planned to begin, by the day that is best for it.
        """
        ...

    def excluded(self) -> tuple[Because, ...]:
        """What keeps the other products off."""
        ...


Choose: TypeAlias = Callable[[Question], tuple[Question, Outcome]]
"""What counts and breaks ask for, chosen."""


@dataclass(frozen=True)
class ChosenByYear:
    """The question and outcome with the year's courses, what is to be told of them, and whose queens are caged."""

    ask: Question
    made: Outcome
    words: YearWords | None = None
    cagings: YearCagings = NO_CAGINGS


class ByYear(Protocol):
    """Whoever adds the courses of a year to what counts and breaks of the brood ask for."""

    def __call__(self, one: Ready, ask: Question, choose: Choose, bans: Bans, earlier: Earlier) -> ChosenByYear:
        """What counts and breaks of a question come to (``choose`` says it), with the year's courses."""
        ...


def treat(
    one: Ready, outfit: Outfit, by_year: ByYear, bans: Bans = NO_BANS, earlier: Earlier = NONE_EARLIER
) -> Treated:
    """The courses of a season; nothing where no product is named to plan with.

    ``by_year`` chooses all that no count and no break of the brood asks for. ``earlier`` are courses that are planned
    for the season before, by colony. A course whose steps the keeper's days can't hold is none: its days are left out,
    and another is chosen.
    """
    left_out: dict[tuple[str, int], str] = dict(bans)
    while True:
        made = _treated(one, left_out, earlier, (outfit, by_year))
        if made.unplaced.keys() <= left_out.keys():
            return made
        left_out |= made.unplaced


def _treated(one: Ready, bans: Bans, earlier: Earlier, whose: tuple[Outfit, ByYear]) -> Treated:
    outfit, by_year = whose
    asked = question_of(one, outfit, bans, earlier)
    if asked is None:
        return Treated()
    found = by_year(one, asked, _made, bans, earlier)
    ask, made, words = found.ask, found.made, found.words
    if not ask.needs:
        return Treated(left=words.left if words is not None else (), cagings=found.cagings)
    errands: dict[str, list[Errand]] = {}
    chosen: dict[str, Chosen] = {}
    unplaced: dict[tuple[str, int], str] = {}
    windows = tuple((course, window_of(ask, made.courses, course)) for course in made.courses)
    for course, allowed in sorted(windows, key=lambda row: row[0].day):  # courses of a product count by day
        window = _at_once(one, course, allowed)
        for dose in course.doses:
            errand = _errand(one, course, dose, window, bans, errands.get(dose.key, ()))
            if errand is not None:
                errands.setdefault(dose.key, []).append(errand)
                chosen[errand.key] = course
            elif dose.treatment is not None:
                days = one.ground.days.of(one.ground.days.between(*window))
                unplaced |= {(dose.treatment, day): "no day of the keeper's for its steps" for day in days}
    off_by: dict[str, Known] = {}
    again: dict[str, int] = {}
    for off in sorted(made.supers_off, key=lambda off: off.day):
        for key in off.keys:
            if key not in off_by:  # two courses may want them off by one day
                off_by[key] = _asked(one, off)
                errands.setdefault(key, []).extend(_off(one, off, key))
            elif off.day > off_by[key].day:
                again.setdefault(key, off.day)
    told, left = tuple(_told(one, ask, made)), words.left if words is not None else ()
    return Treated(ask, made, errands, chosen, off_by, again, told, unplaced, left, words, found.cagings, windows)


def _at_once(one: Ready, course: Chosen, window: tuple[int, int]) -> tuple[int, int]:
    """The days on which a course may begin; one that a count asks for waits for no visit that spares a drive."""
    if course.need.name != COUNTED:
        return window
    return window[0], min(window[1], _soon(one, course))


def _soon(one: Ready, course: Chosen) -> int:
    """The last day on which a course that a count asks for begins: a visit's time after the count, or its first day."""
    return max(course.day, course.need.first + int(one.ground.book.planning.year_plans.offered.at_once.value.middle))


def _made(ask: Question) -> tuple[Question, Outcome]:
    """The outcome where breaks serve what falls into their time; where one can't be used, each need for itself."""
    paid = replace(ask, needs=paid_by_breaks(ask.needs, [hive.key for hive in ask.hives]))
    made = decided(paid)
    if paid == ask or not any(name.startswith(BREAK) for name, _ in made.left):
        return paid, made
    return ask, decided(ask)


def planned_courses(one: Ready, treated: Treated) -> dict[str, list[CourseSpell]]:
    """The courses that were chosen for a season, by colony, as the labels of the next season's see them."""
    found: dict[str, list[CourseSpell]] = {}
    for dose in (dose for course in (treated.made.courses if treated.made else ()) for dose in course.doses):
        if dose.treatment is not None and dose.use is not None:
            kind = one.ground.book.treatments[dose.treatment].class_
            found.setdefault(dose.key, []).append(CourseSpell(dose.treatment, kind, dose.use.first, dose.use.last))
    return found


# One course of one hive -----------------------------------------------------------------------------------------------


def _errand(
    one: Ready, course: Chosen, dose: Offer, window: tuple[int, int], bans: Bans, earlier: Sequence[Errand]
) -> Errand | None:
    """A hive's course as an errand, with the days behind the chosen one on which its label allows it as well."""
    if dose.treatment is None or dose.verdict is None:
        return None
    known = prescribed(one.ground, dose.treatment, {})
    state = next(state for state in one.treated if state.colony.key == dose.key)
    days = one.ground.days.of(one.ground.days.between(*window))
    allowed = [day for day in days if (dose.treatment, day) not in bans]
    if known is None or not allowed:
        return None
    season = one.ground.season.first
    had = sum(
        c.product == dose.treatment and (c.ended is None or c.last >= season) for c in one.courses.get(dose.key, ())
    )
    number = 1 + had + sum(errand.course == dose.treatment for errand in earlier)
    gaps = [day for day in days if day not in allowed and allowed[0] < day < allowed[-1]]
    begins = Beginning(tuple(allowed), course.day, course.need.why, tuple(gaps), _until(one, course, allowed[-1]))
    errand = to_come(one.ground, state, known, number, begins)
    if errand is None:
        return None
    waits = course.need.name == LATE_SUMMER and one.decision.call is not Call.TREAT
    soon = last_step(known.label, one.ground.book) if (dose.treatment, END_SOON) in bans else ""
    return ended_soon(errand.altered(till_counted=waits, soon=soon))


def _until(one: Ready, course: Chosen, last: int) -> str:
    """Why a course begins on no day after the last one: by what it is for, its label, or the count that asks for it."""
    after = one.ground.days.of(one.ground.days.between(last + 1, course.need.last))
    if not after:
        return course.need.until
    if course.need.name == COUNTED and after[0] > _soon(one, course):
        return because_words(Because(Code.COUNTED_WAITS_NOT))
    return because_words(Because(Code.LABEL_NO_LATER, (after[0],)))


def _off(one: Ready, off: SupersOff, key: str) -> Iterator[Errand]:
    """Supers off by the day on which a course begins, in a hive that has any on."""
    state = next(state for state in one.treated if state.colony.key == key)
    if not state.supers:
        return
    ground, name = one.ground, one.ground.book.planning.supers_off_by
    frame = ground.frame(*method_of_supers_off(ground, off.day))
    cursor = Cursor(next(iter(frame.method.steps)), 1, {ASKED: _asked(one, off)})
    chain = ground.chain(frame, cursor)
    if chain is not None:
        yield Errand(f"{key}/{name}", name, state, None, frame, cursor, chain, (sentence(f"why: {off.words}"),))


def _asked(one: Ready, off: SupersOff) -> Known:
    return Known(
        off.day, Reason(Rule.LIMIT, off.treatment, Span.exact(off.day), _limit_values(one, off), (), off.words)
    )


def _limit_values(one: Ready, off: SupersOff) -> tuple[Cited[object], ...]:
    known = prescribed(one.ground, off.treatment, {})
    assert known is not None
    assert known.label.limits.supers is not None
    return (known.label.limits.supers.during,)


# What has to be told --------------------------------------------------------------------------------------------------


def _told(one: Ready, ask: Question, made: Outcome) -> Iterator[Conflict]:
    """Hives that counts said to treat, and that are left without a course: for what lies in them, or for no reason."""
    lying = {key: found for key, had in one.courses.items() if (found := [c for c in had if c.ended is None])}
    rest = tuple((need, tuple(key for key in keys if key not in lying)) for need, keys in made.left)
    for left in left_out(ask, replace(made, left=tuple((need, keys) for need, keys in rest if keys))):
        if left.need == COUNTED:
            yield Conflict(one.ground.yard.key, ", ".join(left.hives), left.what, left.helps)
    for key in (key for need, keys in made.left if need == COUNTED for key in keys if key in lying):
        course = lying[key][-1]
        what = Because(Code.ITS_COURSE_IS_IN, (one.ground.book.product(course.product), key, course.began))
        yield Conflict(one.ground.yard.key, key, what, Because(Code.COUNT_AT_ITS_END))
