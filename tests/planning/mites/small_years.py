"""Small random years and a plain search of them: day by day in plain Python, every set of courses tried.

The years are made up; what is compared is two ways to work out one thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from random import Random

import numpy as np

from ipmcal.planning.mites.maps import DrawArrays, MappedCourse, maps_of
from ipmcal.planning.mites.order import KeeperCosts, keepers
from ipmcal.planning.mites.search import Measures, SearchField

MEASURES = Measures(over=0.25, band=0.2, same_harm=0.02, settled_most=600.0, as_washed=1.5)


@dataclass(frozen=True)
class Small:
    """A small year: draws and courses as they were made up, and the question in numbers."""

    draws: DrawArrays
    courses: tuple[MappedCourse, ...]
    field: SearchField


def small_year(seed: int) -> Small:
    """A year of 30 to 60 days, three to five draws, up to ten courses of four products, two slots in the base."""
    chance = Random(seed)
    days, many = chance.randint(30, 60), chance.randint(3, 5)

    def table(low: float, high: float) -> np.ndarray:
        return np.array([[chance.uniform(low, high) for _ in range(days)] for _ in range(many)])

    growth = table(0.98, 1.12)
    draws = DrawArrays(
        growth=growth,
        on_bees=table(0.2, 1.0),
        coming=table(0.0, 3.0),
        harm=table(0.0, 0.0004),
        reads=table(0.5, 1.0) / 20_000,
        start=np.array([chance.uniform(20, 400) for _ in range(many)]),
    )
    courses = tuple(_course(chance, draws) for _ in range(chance.randint(5, 10)))
    looks = sorted(chance.sample(range(days), 6))
    n = len(courses)
    apart = np.array([[_apart(a, b) and chance.random() < 0.95 for b in courses] for a in courses])
    apart = apart & apart.T
    places = list(range(n))
    chance.shuffle(places)
    first, second = places[: n // 3 or 1], places[n // 3 : 2 * (n // 3)] or places[1:2]
    costs = tuple(
        KeeperCosts(
            int(course.name),
            ("acid", "oil", "acid", "strip")[int(course.name)],
            lost=chance.choice([0, 0, 5]),
            advice=chance.choice([0, 0, 1]),
            minutes=chance.randint(5, 20),
        )
        for course in courses
    )
    field = SearchField(
        maps=maps_of(draws, courses, looks),
        slots=(np.array(first, dtype=np.intp), np.array(second, dtype=np.intp)),
        wide=(np.array(first, dtype=np.intp), np.array(second + places[-1:], dtype=np.intp)),
        further=np.array(range(n), dtype=np.intp),
        blind=np.array([], dtype=np.intp),
        apart=apart,
        caps=((np.array([cost.class_ == "acid" for cost in costs]), 2),),
        costs=costs,
        judged=np.array([2, 3, 4, 5], dtype=np.intp),
        lines=np.array([chance.uniform(0.01, 0.06) for _ in looks]),
        measures=MEASURES,
        excused=chance.choice([0, 0, 5]),
    )
    return Small(draws, courses, field)


def _course(chance: Random, draws: DrawArrays) -> MappedCourse:
    begins = chance.randint(0, draws.days - 12)
    ends = begins + chance.choice([1, 1, 5, 10])
    many = len(draws.start)
    lives = [[chance.uniform(0.3, 1.0) for _ in range(ends - begins)] for _ in range(many)]
    number, toll = str(chance.randrange(4)), chance.choice([0.0, 0.001, 0.01])
    return MappedCourse(number, begins, ends, np.array(lives), toll, harms=chance.uniform(0.5, 1.2))


def _apart(one: MappedCourse, other: MappedCourse) -> bool:
    return one is not other and (one.ends + 2 <= other.begins or other.ends + 2 <= one.begins)


# Day by day -----------------------------------------------------------------------------------------------------------


def lived(small: Small, chosen: Sequence[int], draw: int, start: float) -> tuple[float, float, dict[int, float]]:
    """Mites as the year ends, its harm, and the mites on the morning of each day."""
    draws, mites, harm, on = small.draws, start, 0.0, {}
    courses = [small.courses[i] for i in chosen]
    for day in range(draws.days):
        on[day] = mites
        each = draws.harm[draw, day]
        for course in courses:
            if course.begins <= day < course.ends:
                mites *= course.survives[draw, day - course.begins]
                each *= course.harms
        harm += mites * each
        mites = mites * draws.growth[draw, day] + draws.coming[draw, day]
    return mites, harm, on


def harm_of(small: Small, chosen: Sequence[int]) -> float:
    """The mean harm of two years, and the tolls of both."""
    total = 0.0
    for draw, start in enumerate(small.draws.start):
        after, first, _ = lived(small, chosen, draw, float(start))
        total += first + lived(small, chosen, draw, after)[1]
    toll = 2 * sum(small.courses[i].toll for i in chosen)
    return round(total / len(small.draws.start) + toll, 6)


def settled(small: Small, chosen: Sequence[int], draw: int) -> float:
    """Where years under these courses lead, found by living through two of them."""
    most = small.field.measures.settled_most
    none, some = lived(small, chosen, draw, 0.0)[0], lived(small, chosen, draw, 1000.0)[0]
    a = (some - none) / 1000.0
    return min(most, none / (1.0 - a)) if a < 1.0 else most


def share_over(small: Small, chosen: Sequence[int], *, in_settled: bool = True) -> float:
    """The share of draws over the line on the judged day on which most are, of the settled year or of this one."""
    field = small.field
    over = dict.fromkeys(map(int, field.judged), 0)
    for draw, start in enumerate(small.draws.start):
        _, _, on = lived(small, chosen, draw, settled(small, chosen, draw) if in_settled else float(start))
        for k in over:
            day = int(field.maps.looks[k])
            over[k] += on[day] * small.draws.reads[draw, day] * field.measures.as_washed > field.lines[k]
    begins = [small.courses[i].begins for i in chosen]
    counted = {
        k for k in over if not any((b - int(field.maps.looks[k])) % small.draws.days < field.excused for b in begins)
    }
    return max((over[k] for k in counted), default=0) / len(small.draws.start)


# Every set ------------------------------------------------------------------------------------------------------------


def _fits(small: Small, chosen: Sequence[int]) -> bool:
    field = small.field
    together = all(field.apart[a, b] for a, b in combinations(chosen, 2))
    return together and all(sum(bool(flags[i]) for i in chosen) <= most for flags, most in field.caps)


def _best(small: Small, sets: Sequence[tuple[int, ...]], base: int = 2) -> list[tuple[int, ...]]:
    """Sets in the order in which they are to be taken, by the words of the rule alone."""
    field = small.field
    harms = {one: harm_of(small, one) for one in sets}
    groups: dict[tuple[int, ...], list[tuple[int, ...]]] = {}
    for one in sets:
        groups.setdefault(tuple(field.costs[i].product for i in one), []).append(one)
    chosen = []
    for members in groups.values():
        least = min(harms[one] for one in members)
        near = [one for one in members if harms[one] <= least * (1 + field.measures.same_harm)]
        placed = {
            one: (
                sum(field.costs[i].lost for i in one),
                [small.courses[i].begins * (-1 if 0 < n < base else 1) for n, i in enumerate(one)],
            )
            for one in near
        }
        first = min(placed.values())
        tied = [one for one in near if placed[one] == first]
        chosen.append(min(tied, key=lambda one: (harms[one], sets.index(one))))
    order = []
    while chosen:
        least = min(harms[one] for one in chosen)
        inside = [one for one in chosen if harms[one] <= least * (1 + field.measures.band)]

        def key(one: tuple[int, ...]) -> tuple[object, ...]:
            by_day = sorted(one, key=lambda i: (small.courses[i].begins, i))
            return keepers([field.costs[i] for i in by_day]), harms[one], sets.index(one)

        order += sorted(inside, key=key)
        chosen = [one for one in chosen if one not in inside]
    return order


def plain_bases(small: Small) -> list[tuple[int, ...]]:
    """The base by itself, best first; a round that goes with none before it is left out."""
    slots: list[list[int]] = []
    sets: list[tuple[int, ...]] = []
    for best, wide in zip(small.field.slots, small.field.wide, strict=True):
        for slot in ([int(i) for i in best], [int(i) for i in wide]):
            more = [one for one in product(*slots, slot) if _fits(small, one)]
            if more:
                slots, sets = [*slots, slot], more
                break
    return _best(small, sets)


def plain_beside(small: Small, base: tuple[int, ...], many: int) -> Iterator[tuple[int, ...]]:
    """The base with so many further courses, where that is enough, best first."""
    others = [int(i) for i in small.field.further]
    sets = [(*base, *more) for more in combinations(others, many) if _fits(small, (*base, *more))]
    enough = [one for one in sets if share_over(small, one) <= small.field.measures.over + 1e-12]
    yield from _best(small, enough, len(base))
