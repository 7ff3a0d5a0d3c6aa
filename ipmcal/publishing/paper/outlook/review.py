"""What stands on the page of a yard's year's end. In: the plan, a yard's season. Out: a frozen view, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.review import ClassOut, CourseFound, NextStart, YearReview
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import counted, joined, mites_gone, month_day
from ipmcal.publishing.paper.outlook.mites import MitesPicture, band_words, mites_pictures

WHYS = {
    "no_counts": "not known: no hive was counted both before it and two to four weeks after",
    "none_before": "not known: no mite was found before it",
    "under_way": "still under way",
}
KNOWN = {
    "dosed": "acid is written for every hive in the weeks of least brood",
    "undosed": "a journal was kept, and no acid is written in it",
    "unknown": "no acid is written for every hive in the weeks of least brood",
}


@dataclass(frozen=True, slots=True)
class CourseLine:
    """A course on the page: what and when, whose, the counts before and after, what it did."""

    title: str
    when: str
    hives: str
    found: str
    did: str


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """All of a page: the review, and its sentences."""

    review: YearReview
    hives: tuple[str, ...]
    courses: tuple[CourseLine, ...]
    out: tuple[str, ...]
    start: tuple[str, ...]
    pictures: tuple[MitesPicture, ...]
    over: bool


def make_review(plan: Plan, yard: YardView) -> ReviewPage:
    """The page of a yard's season. Raises StopIteration where the plan has no review of it."""
    one = next(r for r in plan.reviews if (r.yard, r.season) == (yard.key, yard.season))
    return ReviewPage(
        review=one,
        hives=tuple(_hives(one, yard.years)),
        courses=tuple(_course(course, yard.years) for course in one.courses),
        out=tuple(map(_out, one.out)),
        start=tuple(_start(one.start, yard.years)),
        pictures=mites_pictures(plan, yard),
        over=one.ends < plan.as_of,
    )


def _hives(one: YearReview, years: Sequence[int]) -> Iterator[str]:
    every = len(one.alive) + len(one.lost)
    yield f"{counted(len(one.alive), 'hive')} of {every} live."
    for fate in one.lost:
        note = f": {fate.note}" if fate.note else ""
        yield f"{fate.colony}, {month_day(fate.day, years)}: {fate.word}{note}."
    for hive in one.dwindled:
        yield (
            f"{hive.colony} dwindled: {hive.most:g} frames of bees on {month_day(hive.most_on, years)}, "
            f"{hive.last:g} on {month_day(hive.last_on, years)}."
        )


def _course(one: CourseFound, years: Sequence[int]) -> CourseLine:
    until = "" if one.ended in (None, one.began) else f" to {month_day(one.ended or one.began, years)}"
    found = ""
    if one.counted:
        (mites, bees), (left, of) = one.before, one.after
        among = "" if one.counted == one.hives else f" ({joined(one.counted)})"
        found = f"{mites} in {bees}, then {left} in {of}{among}"
    did = WHYS[one.why] if one.share is None else mites_gone(one.share, one.low, one.high)
    return CourseLine(one.title, f"{month_day(one.began, years)}{until}", joined(one.hives), found, did)


def _out(one: ClassOut) -> str:
    why = because_words(Because(Code.CLASS_FAILED, (one.title, round(one.below * 100), one.began)))
    return f"{why}: take another class next, and tell your adviser."


def _start(one: NextStart, years: Sequence[int]) -> Iterator[str]:
    for hives, load in one.loads:
        ends = "ends" if len(hives) == 1 else "end"
        yield f"{_named(hives)} {ends} the season with {band_words(load)}, as drawn."
    when = f" (on {joined([month_day(day, years) for day in one.dosed])})" if one.dosed else ""
    begins = f"Next year's drawing begins with about {one.mites:.0f} mites a hive"
    yield f"{begins}: {KNOWN[one.known]}{when}. A count beats it."


def _named(hives: tuple[str, ...]) -> str:
    return f"{'Hive' if len(hives) == 1 else 'Hives'} {joined(hives)}"
