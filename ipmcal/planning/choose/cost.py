"""Worth: what a dose costs, criterion by criterion in the keeper's order; costs are compared from the left.

In: a dose and the need it serves, the order of criteria. Out: vectors of whole numbers, less is better. Pure.
"""

from __future__ import annotations

from ipmcal.model.plan.verdict import Weight
from ipmcal.model.rules.labels import efficacy_of, label_for
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Question
from ipmcal.planning.choose.order import Cost
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.of_day import brood_on
from ipmcal.planning.labels.standing import Standing
from ipmcal.planning.labels.weather import Weather

ALL_MITES = 10_000
"""All mites, in hundredths of a percent: efficacies add up exactly."""


def worth(ask: Question, standing: Standing, need: Want, dose: Offer, other: bool) -> Cost:
    """What a dose costs in one hive, limits between courses apart. ``other``: it is not the yard's main product."""
    assert dose.treatment is not None
    assert dose.verdict is not None
    assert dose.use is not None
    book, order = ask.book, ask.order
    treatment = book.treatments[dose.treatment]
    label = label_for(treatment, ask.jurisdiction, book)
    assert label is not None
    reasons = [r for r in dose.verdict.reasons if r.limit not in ("rest", "course", "class", "together")]
    advice = [r for r in reasons if r.weight is Weight.ADVISES]
    case = Case(dose.treatment, treatment, label, standing, dose.use, _NO_WEATHER, book)
    values = {
        "same": int(other),
        "reach": int(not works_best(label, case)),
        "supers": _supers_lost(standing, dose),
        "keeper": order.products.index(dose.treatment) if dose.treatment in order.products else len(order.products),
        "advice": sum(not r.look for r in advice),
        "efficacy": ALL_MITES - certain(treatment, case, need),
        "memory": dose.figures.memory,
        "looks": sum(r.look for r in advice),
        "handwork": sum(r.by_hand for r in reasons),
        "minutes": dose.figures.minutes,
        "best": abs(dose.use.first - need.best),
    }
    return order.vector(len(ask.needs), values)


_NO_WEATHER = Weather()


def _supers_lost(standing: Standing, dose: Offer) -> int:
    """Days of supers given up; at least one where nobody knows when they would come off."""
    day = dose.supers_off
    if day is None:
        return 0
    lost = [1 if s.off is None else s.off - day for s in standing.supers if s.on < day and (s.off or day + 1) > day]
    return max(lost, default=0)


def certain(treatment: Treatment, case: Case, need: Want) -> int:
    """The least share of mites that a course is known to kill in such a hive, in hundredths of a percent, or 0.

    For a need without brood that has to be looked for, it is given where none is found.
    """
    found = efficacy_of(treatment, case.label)
    states = {brood_on(case, day)[0] for day in case.use.applications}
    broodless = states == {"none"} or (need.broodless and "some" not in states)
    by_state = found.broodless if broodless else found.with_brood if states == {"some"} else None
    value = by_state or found.any_
    return 0 if value is None or value.value.low is None else round(value.value.low * 100)


def works_best(label: Label, case: Case) -> bool:
    """False where a product works best with nothing capped, and there is brood at one of its applications."""
    limit = label.limits.brood
    if limit is None or limit.best is None or limit.best.value != "none":
        return True
    return all(brood_on(case, day)[0] != "some" for day in case.use.applications)
