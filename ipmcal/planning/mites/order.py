"""Order: bands of harm and the keeper's order within them.

In: sets of courses with their harm, products, days and costs. Out: positions, best first. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeeperCosts:
    """What a course costs the keeper: days of supers given up, the product's place in their order, and its class.

    ``others`` are hives of the yard that get another product with it. ``advice`` is advised against it, ``looks`` are
    to be done first, ``visits`` are its steps, ``minutes`` their work.
    """

    product: int
    class_: str
    lost: int = 0
    others: int = 0
    advice: int = 0
    looks: int = 0
    visits: int = 1
    minutes: int = 0


def keepers(courses: Sequence[KeeperCosts], last: str = "") -> tuple[int, ...]:
    """The keeper's order as numbers, less is better: courses in the order of their days, after one of class ``last``.

    Harvest given up, products as liked, one product in the yard, another class than last time, advice against, looks,
    visits, minutes.
    """
    before = [last, *(one.class_ for one in courses)]
    return (
        sum(one.lost for one in courses),
        sum(one.product for one in courses),
        sum(one.others for one in courses),
        sum(one.class_ == was for one, was in zip(courses, before, strict=False)),
        sum(one.advice for one in courses),
        sum(one.looks for one in courses),
        sum(one.visits for one in courses),
        sum(one.minutes for one in courses),
    )


WeighedDays = tuple[float, tuple[int, ...], int, tuple[int, ...]]
"""A set as its days are weighed: harm, products, days of supers given up, days of its courses, the base's first."""


def preferred(sets: Sequence[WeighedDays], same: float, base: int) -> list[int]:
    """One set for each choice of products: on its days of least harm, of those as good the one that gives up least.

    Then the earliest of the base's first round, late summer: a day that turns out too hot, too cold or wet has another
    behind it. Other rounds of the ``base`` late, further courses early. ``same`` is how near to the least is equal.

    >>> preferred([(1.0, (0,), 0, (17,)), (1.01, (0,), 0, (10,)), (1.5, (0,), 0, (3,)), (2.0, (1,), 0, (9,))], 0.02, 1)
    [1, 3]
    """

    def days(i: int) -> tuple[int, ...]:
        first, *rest = sets[i][3] or (0,)
        return (first, *(-day for day in rest[: base - 1]), *rest[base - 1 :])

    groups: dict[tuple[int, ...], list[int]] = {}
    for i, (_, products, _, _) in enumerate(sets):
        groups.setdefault(products, []).append(i)
    chosen = []
    for members in groups.values():
        least = min(sets[i][0] for i in members)
        equal = [i for i in members if sets[i][0] <= least * (1.0 + same)]
        chosen.append(min(equal, key=lambda i: (sets[i][2], days(i), sets[i][0], i)))
    return sorted(chosen, key=lambda i: (sets[i][0], i))


def in_bands(harms: Sequence[float], costs: Sequence[Sequence[KeeperCosts]], band: float, last: str = "") -> list[int]:
    """Positions in the order of taking: those within a band of the least harm by the keeper's order, then the next."""
    left = sorted(range(len(harms)), key=lambda i: (harms[i], i))
    order: list[int] = []
    while left:
        edge = harms[left[0]] * (1.0 + band)
        inside = [i for i in left if harms[i] <= edge]
        order += sorted(inside, key=lambda i: (keepers(costs[i], last), harms[i], i))
        left = left[len(inside) :]
    return order
