"""Worked: what each course of a yard did, by counts before and after it, and which classes failed too often.

In: colonies, what each was treated with, how counting is done. Out: ``CourseFound`` and ``ClassOut`` values. Pure.
What a course did is the ratio of mites after it to those before, of the hives that have both counts, taken together
(``biology.counts.efficacy``: Wilson's interval for the ratio of two Poisson counts). What bred or came in meanwhile
counts against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ipmcal.biology.counts import efficacy
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.review import ClassOut, CourseFound
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import Counting
from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.lines import sample_of
from ipmcal.planning.decide.tally import Yardstick
from ipmcal.planning.recall.courses import Course

NO_COUNTS, NONE_BEFORE, UNDER_WAY = "no_counts", "none_before", "under_way"


@dataclass(frozen=True, slots=True)
class DayCount:
    """A count of a hive, of any season."""

    day: int
    sample: Sample


Had = Mapping[str, Sequence[Course]]
"""What each colony was treated with, by its key."""


@dataclass(frozen=True, slots=True)
class _Asked:
    book: Rulebook
    counting: Counting


def courses_found(
    states: Sequence[ColonyState], courses: Had, stick: Yardstick, book: Rulebook
) -> Iterator[CourseFound]:
    """Every course of the yard, hives that began it within a few days of each other together, eldest first."""
    one = _Asked(book, stick.counting)
    within = int(book.planning.treat_within.value.middle)
    walked = sorted(states, key=lambda state: state.colony.walk)
    had = [(course, state) for state in walked for course in courses.get(state.colony.key, ())]
    had = [(c, s) for c, s in had if c.product in book.treatments and not c.assumed]
    groups: list[list[tuple[Course, ColonyState]]] = []
    for course, state in sorted(had, key=lambda row: (row[0].product, row[0].began, row[1].colony.walk)):
        near = groups and groups[-1][0][0].product == course.product
        if near and course.began - groups[-1][0][0].began <= within:
            groups[-1].append((course, state))
        else:
            groups.append([(course, state)])
    yield from (_found(one, group) for group in sorted(groups, key=lambda group: group[0][0].began))


def _found(one: _Asked, group: Sequence[tuple[Course, ColonyState]]) -> CourseFound:
    book, first = one.book, group[0][0]
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


def _reckoned(one: _Asked, made: CourseFound, pairs: dict[str, tuple[Sample, Sample]]) -> CourseFound:
    """What the counts of all its hives together tell."""
    before = _together([pair[0] for pair in pairs.values()])
    after = _together([pair[1] for pair in pairs.values()])
    told = replace(made, counted=tuple(pairs), before=_numbers(before), after=_numbers(after))
    if not before.mites:
        return replace(told, why=NONE_BEFORE)
    counting = one.counting
    found = efficacy(before, after, counting.confidence.value.middle, counting.design_effect.value.middle)
    return replace(told, share=float(found.share), low=found.interval.low, high=found.interval.high, why="")


def _numbers(sample: Sample) -> tuple[int, int]:
    return sample.mites, round(float(sample.size))


def _together(samples: Sequence[Sample]) -> Sample:
    return Sample(sum(s.mites for s in samples), sum((Fraction(s.size) for s in samples), Fraction(0)), Unit.BEES)


def _pair(one: _Asked, course: Course, state: ColonyState) -> tuple[Sample, Sample] | None:
    """The last count of bees before a course, and the first in its time after it."""
    if course.ended is None:
        return None
    follow = one.book.planning.follow_up.value
    counts = _all_counts(one, state)
    before = [c.sample for c in counts if course.began - follow.middle <= c.day <= course.began]
    low, high = course.ended + follow.lower_end, course.ended + follow.upper_end
    after = [c.sample for c in counts if low <= c.day <= high]
    return (before[-1], after[0]) if before and after else None


def _all_counts(one: _Asked, state: ColonyState) -> list[DayCount]:
    """All washes of a hive, whatever the season."""
    rules = one.book.events
    lines = [e for e in state.events if rules[e.word].value == "count" and Unit(rules[e.word].unit) is Unit.BEES]
    return sorted((DayCount(e.day, sample_of(e.value, Unit.BEES)) for e in lines), key=lambda c: c.day)


def classes_out(courses: Sequence[CourseFound], book: Rulebook) -> Iterator[ClassOut]:
    """Classes of which so many courses failed, one after the other: the newest ones decide."""
    figures = book.planning.review
    below, times = figures.fails_below.value.middle / 100, int(figures.times.value.middle)
    for class_ in dict.fromkeys(course.class_ for course in courses):
        told = [course for course in courses if course.class_ == class_ and course.share is not None]
        newest = told[-times:]
        if len(newest) == times and all(course.share is not None and course.share < below for course in newest):
            yield ClassOut(class_, newest[0].class_title, tuple(course.began for course in newest), below)


@dataclass(frozen=True, slots=True)
class Working:
    """Products to plan with: ``kept``, and by name the classes for which others are ``left``."""

    kept: tuple[str, ...]
    left: Mapping[str, ClassOut]


def working(products: Sequence[str], out: Iterable[ClassOut], book: Rulebook) -> Working:
    """The products whose class has not failed; where none is left all of them: a poor kill is better than none."""
    failed = {one.class_: one for one in out}
    left = {name: failed[class_] for name in products if (class_ := book.treatments[name].class_) in failed}
    kept = tuple(name for name in products if name not in left)
    return Working(kept, left) if kept else Working(tuple(products), {})
