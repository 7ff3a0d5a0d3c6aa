"""Told: what else a year could have held: second choices, and what keeps each product off.

In: what stands of a year. Out: causes, in words. Pure. Worked out only where somebody asks: it takes a search.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.advise.second import seconds
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.yearly.answered import planned
from ipmcal.planning.yearly.followed import Followed

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
    plan, ahead = planned(found.asked), {(one.product, one.day) for one in found.ahead}
    rows = zip(plan.courses, seconds(plan), strict=True)
    told = []
    for one, second in ((one, second) for one, second in rows if (one.course.answer.product, one.course.day) in ahead):
        title = _title(found.asked.book, one.course.answer.product)
        if second.product is None:
            told.append(Because(Code.GOOD_UNTIL, (title, second.last)))
        else:
            assert second.day is not None
            assert second.until is not None
            other = _title(found.asked.book, second.product).lower()
            told.append(Because(Code.GOOD_UNTIL_OR, (title, second.last, other, second.day, second.until)))
    return tuple(told)


def ruled_out(found: Followed) -> tuple[Because, ...]:
    """For each product of the list that the year has no course of, what keeps it off the keeper's days."""
    plan = planned(found.asked)
    chosen = {one.course.answer.product for one in plan.courses}
    names = [name for name in found.asked.products if name not in chosen and name in plan.known.answers.refused]
    return tuple(_kept_off(plan, name) for name in names)


def _kept_off(plan: YearPlan, name: str) -> Because:
    days = len(plan.known.asked.days)
    title = _title(plan.known.asked.book, name)
    free = sum(one.answer.product == name for one in plan.known.candidates)
    if free:
        return Because(Code.LESS_LIKED, (title, free))
    return Because(Code.KEPT_OFF, (title, days, days, tuple(_reasons(plan, name))))


def _reasons(plan: YearPlan, name: str) -> Iterator[Because | str]:
    """What keeps a product off most days first: limits of its label by their word, walls in their words."""
    counts = Counter(plan.known.answers.refused[name])
    walls = Counter(plan.known.walled.get(name, {}))
    for word, _ in sorted((counts + walls).items(), key=lambda item: (-item[1], item[0]))[:_MOST]:
        yield WALLS[word] if word in walls else word.replace("_", " ")


def _title(book: Rulebook, name: str) -> str:
    return str(book.treatments[name].title)
