"""Order: the keeper's order of preference, and costs as vectors that are compared from the left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from ipmcal.model.rules.files import Criterion

Cost = tuple[int, ...]


CRITERIA: tuple[str, ...] = get_args(Criterion)
"""served: needs not served, the weightiest first. reach: doses that work best where nothing is capped, and there is
brood: they don't reach the mites in cells. supers: days of supers given up. keeper: place in the keeper's own order of
products. same: hives with another product than the yard's. advice: advice against it. efficacy: what it is not sure to
kill. memory: figures of its label from memory. looks: things to look at first. handwork: things to mend at the hive.
minutes: of all its steps. best: days from the best day. All of them are summed over the hives."""


@dataclass(frozen=True, slots=True)
class Order:
    """The keeper's order: criteria by weight, and the products by name, liked best first. Raises ValueError."""

    criteria: tuple[str, ...] = CRITERIA
    products: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if sorted(self.criteria) != sorted(CRITERIA):
            raise ValueError(f"an order of preference holds each criterion once: {', '.join(CRITERIA)}")

    def vector(self, needs: int, values: dict[str, int], served: int | None = None) -> Cost:
        """Values by criterion as a vector; ``served`` is the place of a need that is not."""
        cost: list[int] = []
        for word in self.criteria:
            if word == "served":
                cost += [int(i == served) for i in range(needs)]
            else:
                cost.append(values.get(word, 0))
        return tuple(cost)

    def advice(self, needs: int) -> Cost:
        """One piece of advice against it."""
        return self.vector(needs, {"advice": 1})


def nothing(order: Order, needs: int) -> Cost:
    """No cost."""
    return order.vector(needs, {})


def unserved(order: Order, needs: int, i: int) -> Cost:
    """The cost of a hive that the ``i``-th need is not served in."""
    return order.vector(needs, {}, i)


def added(one: Cost, other: Cost, times: int = 1) -> Cost:
    """The sum of two costs, the second so many times."""
    return tuple(a + b * times for a, b in zip(one, other, strict=True))
