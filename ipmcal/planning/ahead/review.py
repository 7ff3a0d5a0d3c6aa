"""Review: a yard's season looked back on, as the journal tells it.

In: a yard's season, its pictures. Out: ``YearReview``. Pure. What a course did is the ratio of mites after it to those
before, of the hives that have both counts, taken together (``biology.counts.efficacy``: Wilson's interval for the
ratio of two Poisson counts). What bred or came in meanwhile counts against it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ipmcal.biology.counts import efficacy
from ipmcal.biology.mites.handling import MiteReach
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.review import (
    ClassOut,
    CourseFound,
    Dwindled,
    HiveFate,
    LastCount,
    NextStart,
    YearReview,
)
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.count import Sample, Unit, found_words
from ipmcal.model.values.lines import sample_of
from ipmcal.planning.ahead.drawn import DrawnYear, YardSeason, pictures_of, seasons_of
from ipmcal.planning.ahead.given import courses_given, in_model
from ipmcal.planning.mites.question import start_of
from ipmcal.planning.recall.courses import Course

ENDS, BEES = "ends", "bees"
NO_COUNTS, NONE_BEFORE, UNDER_WAY = "no_counts", "none_before", "under_way"


@dataclass(frozen=True, slots=True)
class DayCount:
    """A count of a hive, of any season."""

    day: int
    sample: Sample


def looked_back(outfit: Outfit, book: Rulebook, plan: Plan) -> Plan:
    """The plan with its mites drawn, and each of its seasons looked back on."""
    drawn = [(one, tuple(pictures_of(one))) for one in seasons_of(outfit, book, plan)]
    return replace(
        plan,
        mites=tuple(made.picture for _, some in drawn for made in some),
        reviews=tuple(review_of(one, some) for one, some in drawn),
    )


def review_of(one: YardSeason, drawn: Sequence[DrawnYear]) -> YearReview:
    """The season of a yard, looked back on from the day of planning."""
    ground, states = one.ground, sorted(one.known.states, key=lambda state: state.colony.walk)
    courses = tuple(_courses(one, states))
    season = tuple(course for course in courses if course.began >= ground.season.first)
    living = [state for state in states if state.alive and state.colony.began <= ground.as_of]
    return YearReview(
        yard=ground.yard.key,
        season=ground.season.year,
        ends=ground.season.last,
        alive=tuple(state.colony.key for state in living),
        lost=tuple(_lost(one, states)),
        dwindled=tuple(_dwindled(one, living)),
        counts=tuple(_last_count(one, state) for state in living),
        courses=season,
        out=tuple(_out(one, courses)),
        start=_start(one, drawn),
    )


# Hives ----------------------------------------------------------------------------------------------------------------


def _lost(one: YardSeason, states: Sequence[ColonyState]) -> Iterator[HiveFate]:
    """Each hive that ended in the season: the first line of it tells the day."""
    book, season = one.ground.book, one.ground.season
    for state in states:
        ended = (e for e in state.events if book.effect(e.word) == ENDS and season.first <= e.day)
        first = min(ended, key=lambda event: event.day, default=None)
        if first is not None:
            yield HiveFate(state.colony.key, first.day, book.events[first.word].title, first.note or first.value)


def _dwindled(one: YardSeason, states: Sequence[ColonyState]) -> Iterator[Dwindled]:
    """Hives whose bees are down to a share of their most of the season, by the frames that they covered."""
    book, season = one.ground.book, one.ground.season
    share = book.planning.review.dwindled.value.middle / 100
    for state in states:
        rows = [(e.day, float(e.value)) for e in state.events if book.effect(e.word) == BEES and e.value.isdigit()]
        rows = [(day, frames) for day, frames in rows if day >= season.first]
        if not rows:
            continue
        (most_on, most), (last_on, last) = max(rows, key=lambda row: row[1]), rows[-1]
        if last <= share * most and last_on > most_on:
            yield Dwindled(state.colony.key, most, most_on, last, last_on)


def _last_count(one: YardSeason, state: ColonyState) -> LastCount:
    key = state.colony.key
    said = [decision for decision in one.known.decided if decision.count.colony == key]
    if not said:
        return LastCount(key, None, "", "")
    last = max(said, key=lambda decision: decision.count.day)
    return LastCount(key, last.count.day, found_words(last.count.sample), last.call.value)


# Courses --------------------------------------------------------------------------------------------------------------


def _courses(one: YardSeason, states: Sequence[ColonyState]) -> Iterator[CourseFound]:
    """Every course of the yard, hives that began it within a few days of each other together, eldest first."""
    within = int(one.ground.book.planning.treat_within.value.middle)
    had = [(course, state) for state in states for course in one.known.courses.get(state.colony.key, ())]
    had = [(c, s) for c, s in had if c.product in one.ground.book.treatments and not c.assumed]
    groups: list[list[tuple[Course, ColonyState]]] = []
    for course, state in sorted(had, key=lambda row: (row[0].product, row[0].began, row[1].colony.walk)):
        near = groups and groups[-1][0][0].product == course.product
        if near and course.began - groups[-1][0][0].began <= within:
            groups[-1].append((course, state))
        else:
            groups.append([(course, state)])
    yield from (_found(one, group) for group in sorted(groups, key=lambda group: group[0][0].began))


def _found(one: YardSeason, group: Sequence[tuple[Course, ColonyState]]) -> CourseFound:
    book, first = one.ground.book, group[0][0]
    treatment = book.treatments[first.product]
    ends = [course.ended for course, _ in group]
    ended = None if None in ends else max(end for end in ends if end is not None)
    made = CourseFound(
        title=treatment.title,
        class_=treatment.class_,
        class_title=book.planning.classes[treatment.class_],
        began=min(course.began for course, _ in group),
        ended=ended,
        hives=tuple(dict.fromkeys(state.colony.key for _, state in group)),
        why=UNDER_WAY if ended is None else NO_COUNTS,
    )
    pairs = {state.colony.key: pair for course, state in group if (pair := _pair(one, course, state)) is not None}
    return made if ended is None or not pairs else _reckoned(one, made, pairs)


def _reckoned(one: YardSeason, made: CourseFound, pairs: dict[str, tuple[Sample, Sample]]) -> CourseFound:
    """What the counts of all its hives together tell."""
    before = _together([pair[0] for pair in pairs.values()])
    after = _together([pair[1] for pair in pairs.values()])
    told = replace(made, counted=tuple(pairs), before=_numbers(before), after=_numbers(after))
    if not before.mites:
        return replace(told, why=NONE_BEFORE)
    counting = one.ground.stick.counting
    found = efficacy(before, after, counting.confidence.value.middle, counting.design_effect.value.middle)
    return replace(told, share=float(found.share), low=found.interval.low, high=found.interval.high, why="")


def _numbers(sample: Sample) -> tuple[int, int]:
    return sample.mites, round(float(sample.size))


def _together(samples: Sequence[Sample]) -> Sample:
    return Sample(sum(s.mites for s in samples), sum((Fraction(s.size) for s in samples), Fraction(0)), Unit.BEES)


def _pair(one: YardSeason, course: Course, state: ColonyState) -> tuple[Sample, Sample] | None:
    """The last count of bees before a course, and the first in its time after it."""
    if course.ended is None:
        return None
    follow = one.ground.book.planning.follow_up.value
    counts = _all_counts(one, state)
    before = [c.sample for c in counts if course.began - follow.middle <= c.day <= course.began]
    low, high = course.ended + follow.lower_end, course.ended + follow.upper_end
    after = [c.sample for c in counts if low <= c.day <= high]
    return (before[-1], after[0]) if before and after else None


def _all_counts(one: YardSeason, state: ColonyState) -> list[DayCount]:
    """All washes of a hive, whatever the season."""
    rules = one.ground.book.events
    lines = [e for e in state.events if rules[e.word].value == "count" and Unit(rules[e.word].unit) is Unit.BEES]
    return sorted((DayCount(e.day, sample_of(e.value, Unit.BEES)) for e in lines), key=lambda c: c.day)


def _out(one: YardSeason, courses: Sequence[CourseFound]) -> Iterator[ClassOut]:
    """Classes of which so many courses failed, one after the other: the newest ones decide."""
    figures = one.ground.book.planning.review
    below, times = figures.fails_below.value.middle / 100, int(figures.times.value.middle)
    for class_ in dict.fromkeys(course.class_ for course in courses):
        told = [course for course in courses if course.class_ == class_ and course.share is not None]
        newest = told[-times:]
        if len(newest) == times and all(course.share is not None and course.share < below for course in newest):
            yield ClassOut(class_, newest[0].class_title, tuple(course.began for course in newest), below)


# Next year ------------------------------------------------------------------------------------------------------------


def _start(one: YardSeason, drawn: Sequence[DrawnYear]) -> NextStart:
    """What is known of the weeks of least brood at the season's end, hive by hive: the least that is known of any."""
    ground = one.ground
    least = ground.season.marks["brood_minimum"].begins.low
    first = ground.season.first + (least - ground.season.first) % YEAR_DAYS
    dosed: list[int] = []
    known = []
    for work in one.work.values():
        given = (course for course in courses_given(work) if not course.planned)
        days = [p.first for c in given for p in in_model(work, c) if p.reach is MiteReach.DOSE and p.first >= first]
        dosed += days
        known.append(bool(days))
    word = "dosed" if known and all(known) else "unknown"
    loads = tuple((made.picture.hives, made.picture.days[-1]) for made in drawn)
    return NextStart(word, start_of(one.region, one.figures, word), tuple(sorted(set(dosed))), loads)
