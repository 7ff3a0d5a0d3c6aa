"""Worth: what a dose costs, criterion by criterion in the keeper's order; costs are compared from the left.

In: a dose and the need it serves, the order of criteria. Out: vectors of whole numbers, less is better. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from ipmcal.model.plan.verdict import Weight
from ipmcal.model.rules.files import Criterion
from ipmcal.model.rules.labels import efficacy_of, label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.planning.choose.doses import Dose
from ipmcal.planning.choose.wants import Need
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.of_day import brood_on
from ipmcal.planning.labels.standing import Standing
from ipmcal.planning.labels.weather import Weather

Cost = tuple[int, ...]

CRITERIA: tuple[str, ...] = get_args(Criterion)
"""served: needs not served, the weightiest first. reach: doses that work best where nothing is capped, and there is
brood: they don't reach the mites in cells. supers: days of supers given up. keeper: place in the keeper's own order of
products. same: hives with another product than the yard's. advice: advice against it. efficacy: what it is not sure to
kill. memory: figures of its label from memory. looks: things to look at first. handwork: things to mend at the hive.
minutes: of all its steps. best: days from the best day. All of them are summed over the hives."""

WHOLE = 10_000
"""All mites, in hundredths of a percent: efficacies add up exactly."""


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


def worth(
    order: Order, needs: int, book: Rulebook, jurisdiction: str, standing: Standing, need: Need, dose: Dose, other: bool
) -> Cost:
    """What a dose costs in one hive, limits between courses apart. ``other``: it is not the yard's main product."""
    assert dose.treatment is not None
    assert dose.verdict is not None
    assert dose.use is not None
    treatment = book.treatments[dose.treatment]
    label = label_for(treatment, jurisdiction, book)
    assert label is not None
    reasons = [r for r in dose.verdict.reasons if r.limit not in ("rest", "course", "class", "together")]
    advice = [r for r in reasons if r.weight is Weight.ADVISES]
    case = Case(dose.treatment, treatment, label, standing, dose.use, _NO_WEATHER, book)
    values = {
        "same": int(other),
        "reach": int(not reaches(label, case)),
        "supers": _supers_lost(standing, dose),
        "keeper": order.products.index(dose.treatment) if dose.treatment in order.products else len(order.products),
        "advice": sum(not r.look for r in advice),
        "efficacy": WHOLE - certain(treatment, case, need),
        "memory": dose.figures.memory,
        "looks": sum(r.look for r in advice),
        "handwork": sum(r.by_hand for r in reasons),
        "minutes": dose.figures.minutes,
        "best": abs(dose.use.first - need.best),
    }
    return order.vector(needs, values)


_NO_WEATHER = Weather()


def _supers_lost(standing: Standing, dose: Dose) -> int:
    """Days of supers given up; at least one where nobody knows when they would come off."""
    day = dose.supers_off
    if day is None:
        return 0
    lost = [1 if s.off is None else s.off - day for s in standing.supers if s.on < day and (s.off or day + 1) > day]
    return max(lost, default=0)


def certain(treatment: Treatment, case: Case, need: Need) -> int:
    """The least share of mites that a course is known to kill in such a hive, in hundredths of a percent, or 0.

    For a need without brood that has to be looked for, it is given where none is found.
    """
    found = efficacy_of(treatment, case.label)
    states = {brood_on(case, day)[0] for day in case.use.applications}
    broodless = states == {"none"} or (need.broodless and "some" not in states)
    by_state = found.broodless if broodless else found.with_brood if states == {"some"} else None
    value = by_state or found.any_
    return 0 if value is None or value.value.low is None else round(value.value.low * 100)


def reaches(label: Label, case: Case) -> bool:
    """False where a product works best with nothing capped, and there is brood at one of its applications."""
    limit = label.limits.brood
    if limit is None or limit.best is None or limit.best.value != "none":
        return True
    return all(brood_on(case, day)[0] != "some" for day in case.use.applications)
