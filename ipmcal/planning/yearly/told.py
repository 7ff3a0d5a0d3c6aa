"""Told: what else a year could have held: second choices, and what keeps each product off.

In: what stands of a year. Out: causes, in words. Pure. Worked out only where somebody asks: it takes a search.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.mites import YearTold
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.advise.second import seconds
from ipmcal.planning.mites.plan import YearPlan, question_key
from ipmcal.planning.yearly.answered import planned
from ipmcal.planning.yearly.followed import Followed
from ipmcal.planning.yearly.remembered import Latest, name_of

WALLS = {
    "class": Because(Code.WALL_CLASS),
    "drones": Because(Code.WALL_DRONES),
    "cold": Because(Code.WALL_COLD),
    "hot": Because(Code.WALL_HOT),
    "flow": Because(Code.WALL_FLOW),
    "quick": Because(Code.WALL_QUICK),
    "full_brood": Because(Code.WALL_FULL_BROOD),
    "rested": Because(Code.WALL_RESTED),
}
"""Walls of a year, each with its words."""
_MOST = 3
"""So many reasons are told of a product."""
_TOLD: Latest[YearTold] = Latest(512)
"""As many as there are answers: a club asks the same of many keepers."""


def second_choices(found: Followed, good: Mapping[int, int], since: int, days: KeeperDays) -> tuple[Because, ...]:
    """For each course that is planned, its last good day, and what could stand in its place on days that are not over.

    ``good`` has, by the day that the year has for a course, the last day on which it is planned to begin: as good as
    the year's own, and in the keeper's week. Days before ``since`` are not told, and none but the keeper's ``days``.
    """
    ahead = {(one.product, one.day) for one in found.ahead}
    told = ((day, why) for product, day, why in _told(found).seconds if (product, day) in ahead and day in good)
    return tuple(_as_planned(why, good[day], since, days) for day, why in told)


def _as_planned(second: Because, good: int, since: int, days: KeeperDays) -> Because:
    """A second choice as it stands today."""
    title, last, *other = second.values
    last = max(last, good) if isinstance(last, int) else good
    if not other:
        return Because(Code.GOOD_UNTIL, (title, last))
    name, first, until = other
    assert isinstance(first, int)
    assert isinstance(until, int)
    left = days.of(days.between(max(first, since), until))
    if not left:
        return Because(Code.GOOD_UNTIL, (title, last))
    if left[0] == left[-1]:
        return Because(Code.GOOD_UNTIL_ON, (title, last, name, left[0]))
    return Because(Code.GOOD_UNTIL_OR, (title, last, name, left[0], left[-1]))


def ruled_out(found: Followed) -> tuple[Because, ...]:
    """For each product of the list that the year has no course of, what keeps it off the keeper's days."""
    return _told(found).excluded


def _told(found: Followed) -> YearTold:
    key = question_key(found.asked)

    def made() -> YearTold:
        plan = planned(found.asked)
        return YearTold(tuple(_seconds(plan)), tuple(_excluded(plan)))

    def again() -> YearTold:
        return _TOLD.of(found.asked.book, key, made)

    return found.kept.of(lambda: name_of("told", key), YearTold, again)


def _seconds(plan: YearPlan) -> Iterator[tuple[str, int, Because]]:
    book = plan.known.asked.book
    for one, second in zip(plan.courses, seconds(plan), strict=True):
        product, day = one.course.answer.product, one.course.day
        title = _title(book, product)
        if second.product is None:
            yield product, day, Because(Code.GOOD_UNTIL, (title, second.last))
        else:
            assert second.day is not None
            assert second.until is not None
            other = _title(book, second.product).lower()
            yield product, day, Because(Code.GOOD_UNTIL_OR, (title, second.last, other, second.day, second.until))


def _excluded(plan: YearPlan) -> Iterator[Because]:
    chosen = {one.course.answer.product for one in plan.courses}
    for name in plan.known.asked.products:
        if name not in chosen and name in plan.known.answers.refused:
            yield _kept_off(plan, name)


def _kept_off(plan: YearPlan, name: str) -> Because:
    days = len(plan.known.asked.days)
    title = _title(plan.known.asked.book, name)
    free = sum(one.answer.product == name for one in plan.known.candidates)
    if free:
        return Because(Code.LESS_LIKED, (title, free))
    return Because(Code.KEPT_OFF, (title, days, days, tuple(_reasons(plan, name))))


def _reasons(plan: YearPlan, name: str) -> Iterator[str]:
    """What keeps a product off most days first: limits of its label by their word, walls in their words."""
    counts = Counter(plan.known.answers.refused[name])
    walls = Counter(plan.known.walled.get(name, {}))
    for word, _ in sorted((counts + walls).items(), key=lambda item: (-item[1], item[0]))[:_MOST]:
        yield because_words(WALLS[word]) if word in walls else word.replace("_", " ")


def _title(book: Rulebook, name: str) -> str:
    return str(book.treatments[name].title)
