"""Told: what else a year could have held: second choices, and what keeps each product off.

In: what stands of a year. Out: causes, in words. Pure. Worked out only where somebody asks: it takes a search.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.mites import YearTold
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.advise.second import seconds
from ipmcal.planning.mites.plan import YearPlan, question_key
from ipmcal.planning.yearly.answered import planned
from ipmcal.planning.yearly.followed import Followed
from ipmcal.planning.yearly.remembered import name_of

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


def second_choices(found: Followed) -> tuple[Because, ...]:
    """For each course that is still to come, its last good day, and what could stand in its place."""
    ahead = {(one.product, one.day) for one in found.ahead}
    return tuple(because for product, day, because in _told(found).seconds if (product, day) in ahead)


def ruled_out(found: Followed) -> tuple[Because, ...]:
    """For each product of the list that the year has no course of, what keeps it off the keeper's days."""
    return _told(found).excluded


def _told(found: Followed) -> YearTold:
    def made() -> YearTold:
        plan = planned(found.asked)
        return YearTold(tuple(_seconds(plan)), tuple(_excluded(plan)))

    return found.kept.of(lambda: name_of("told", question_key(found.asked)), YearTold, made)


def _seconds(plan: YearPlan) -> Iterator[tuple[str, int, Because]]:
    book = plan.known.asked.book
    for one, second in zip(plan.courses, seconds(plan), strict=True):
        product, day = one.course.answer.product, one.course.day
        title = _title(book, product)
        later = (second.last,) if second.last > day else ()
        if second.product is None:
            yield product, day, Because(Code.GOOD_UNTIL if later else Code.GOOD_ONLY, (title, *later))
        else:
            assert second.day is not None
            assert second.until is not None
            code = Code.GOOD_UNTIL_OR if later else Code.GOOD_ONLY_OR
            other = _title(book, second.product).lower()
            yield product, day, Because(code, (title, *later, other, second.day, second.until))


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
