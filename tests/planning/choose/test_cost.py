"""Cost: each criterion of a dose's cost alone. Doses, hives and needs are made up; the treatments are shipped ones.

Numbers of a treatment (what it kills at the least, its minutes) are read from its rule file, whose sources stand there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from planning.yards import on, shipped

from ipmcal.model.plan.verdict import Allowed, Limited, Use, Verdict, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import cited_values
from ipmcal.model.values.cited import Basis
from ipmcal.planning.choose.cost import ALL_MITES, worth
from ipmcal.planning.choose.doses import Figures, Offer, figures
from ipmcal.planning.choose.offer import Question
from ipmcal.planning.choose.order import CRITERIA, Order, added, nothing, unserved
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.standing import BroodSpell, Standing, Stay
from ipmcal.planning.labels.weather import Weather

DAY = on("08-14")
NEED = Want("before_winter_bees", on("07-01"), on("09-01"), DAY)
AMITRAZ, FORMIC, OXALIC = "amitraz_strip", "formic_strips_pair", "oxalic_trickle"
NONE, DOUBT = (BroodSpell(state, DAY, DAY, "a test's") for state in ("none", "unknown"))


def terms(
    treatment: str = FORMIC,
    *reasons: Limited,
    standing: Standing | None = None,
    need: Want = NEED,
    order: Order | None = None,
    other: bool = False,
    **dose: Any,
) -> dict[str, int]:
    """The cost of a dose by criterion."""
    use = Use((DAY,), DAY + 14)
    made = Verdict(treatment, Allowed.ALLOWED, reasons, (), (), "us", use)
    given = Offer("1", treatment, **{"use": use, "verdict": made, **dose})
    kept = order or Order()
    asked = Question((need, need), (), (DAY,), "us", Weather(), shipped(), kept)
    cost = worth(asked, standing or Standing(kind="overwintered"), need, given, other)
    words = [word for word in kept.criteria for _ in range(2 if word == "served" else 1)]
    assert len(cost) == len(words)
    assert not any(n for word, n in zip(words, cost, strict=True) if word == "served")
    return {word: n for word, n in zip(words, cost, strict=True) if word != "served"}


def why(limit: str, weight: Weight, **more: bool) -> Limited:
    return Limited(limit, weight, "", "", **more)


def moved(plain: dict[str, int], other: dict[str, int]) -> dict[str, int]:
    """What differs, by how much."""
    return {word: other[word] - plain[word] for word in plain if other[word] != plain[word]}


def test_a_dose_that_nothing_speaks_against_costs_what_it_may_leave_alive() -> None:
    efficacy = shipped().treatments[FORMIC].common.efficacy
    assert efficacy is not None
    assert efficacy.any_ is not None
    least = efficacy.any_.value.low
    assert least == 60
    assert {word: n for word, n in terms().items() if n} == {"efficacy": ALL_MITES - 100 * 60}


@pytest.mark.parametrize(
    ("reasons", "expected"),
    [
        ([why("floor", Weight.ADVISES)], {"advice": 1}),
        ([why("floor", Weight.ADVISES), why("flow", Weight.ADVISES)], {"advice": 2}),
        ([why("brood", Weight.ADVISES, look=True)], {"looks": 1}),
        ([why("entrance", Weight.FORBIDS, by_hand=True)], {"handwork": 1}),
        ([why("floor", Weight.ADVISES, by_hand=True)], {"advice": 1, "handwork": 1}),
        ([why(word, Weight.ADVISES) for word in ("rest", "course", "class", "together")], {}),
    ],
)
def test_advice_things_to_look_at_and_things_to_mend_are_counted_apart(
    reasons: list[Limited], expected: dict[str, int]
) -> None:
    """What courses say to each other is weighed with all of them together, not here."""
    assert moved(terms(), terms(FORMIC, *reasons)) == expected


def test_another_product_than_the_yards_costs_one_a_hive() -> None:
    assert moved(terms(), terms(other=True)) == {"same": 1}


@pytest.mark.parametrize("days", [-9, -1, 0, 1, 9])
def test_days_from_the_best_day_count_both_ways(days: int) -> None:
    assert terms(need=replace(NEED, best=DAY + days))["best"] == abs(days)


def test_figures_of_a_label_and_its_minutes_are_those_of_the_dose() -> None:
    assert moved(terms(), terms(figures=Figures(memory=3, minutes=26))) == {"memory": 3, "minutes": 26}


def test_a_product_that_is_not_named_comes_behind_all_that_are() -> None:
    liked = Order(CRITERIA, (AMITRAZ, OXALIC, FORMIC))
    assert [terms(name, order=liked)["keeper"] for name in liked.products] == [0, 1, 2]
    assert terms(FORMIC, order=Order(CRITERIA, (AMITRAZ, OXALIC)))["keeper"] == 2


@pytest.mark.parametrize(
    ("supers", "off", "lost"),
    [
        ((Stay(on("05-10"), on("09-11")),), None, 0),
        ((Stay(on("05-10"), on("09-11")),), DAY, 28),
        ((Stay(on("05-10"), DAY + 1),), DAY, 1),
        ((Stay(on("05-10"), DAY),), DAY, 0),
        ((Stay(on("05-10"), None),), DAY, 1),
        ((Stay(DAY, on("09-11")),), DAY, 0),
        ((Stay(on("05-10"), on("08-20")), Stay(on("06-10"), on("09-11"))), DAY, 28),
    ],
)
def test_days_of_supers_given_up_run_from_the_day_they_come_off_early(
    supers: tuple[Stay, ...], off: int | None, lost: int
) -> None:
    """14 August to 11 September are 28 days; one, where nobody knows when they would come off."""
    assert terms(standing=Standing(kind="overwintered", supers=supers), supers_off=off)["supers"] == lost


@pytest.mark.parametrize(
    ("brood", "known", "broodless", "reach", "least"),
    [
        ((NONE,), True, False, 0, 8957),
        ((), True, False, 1, 2000),
        ((), True, True, 1, 2000),
        ((DOUBT,), True, False, 0, 0),
        ((DOUBT,), True, True, 0, 8957),
        ((), False, True, 0, 8957),
        ((DOUBT, NONE), True, False, 0, 8957),
    ],
)
def test_what_works_without_capped_brood_reaches_and_kills_only_there(
    brood: tuple[BroodSpell, ...], known: bool, broodless: bool, reach: int, least: int
) -> None:
    """Oxalic acid, trickled: 89.57 % at the least in colonies without brood, 20 % in those with it.

    Büchler et al. 2020, Al Toufailia et al. 2015 and a review of 2015, as the rule file cites them.
    """
    standing = Standing(kind="overwintered", brood=brood, brood_known=known)
    found = terms(OXALIC, standing=standing, need=replace(NEED, broodless=broodless))
    assert (found["reach"], found["efficacy"]) == (reach, ALL_MITES - least)


@pytest.mark.parametrize("name", sorted(shipped().treatments))
def test_the_figures_of_a_label_are_its_own(name: str) -> None:
    """Values of limits, dose and wait that rest on memory or are assumed, one by one; the minutes of all steps."""
    label = label_for(shipped().treatments[name], next(iter(shipped().treatments[name].labels)), shipped())
    assert label is not None
    expected = 0
    for part in (label.limits, label.dose, label.withdrawal):
        for value in cited_values(part) if part is not None else ():
            expected += any(cite.basis in (Basis.MEMORY, Basis.ASSUMPTION) for cite in value.cites)
    minutes = sum(step.minutes.value.middle for step in label.steps.values())
    assert figures(label) == Figures(expected, round(minutes))


def test_figures_from_memory_of_a_shipped_label_counted_by_hand() -> None:
    """Oxalic acid, trickled, in the US: the wait for honey.

    It has no source of its own in the file, and the label's as a whole is from memory. 6 and 12 minutes.
    """
    label = label_for(shipped().treatments[OXALIC], "us", shipped())
    assert label is not None
    assert figures(label) == Figures(memory=1, minutes=18)


def test_costs_add_up_and_a_need_that_is_not_served_stands_in_its_own_place() -> None:
    order = Order()
    assert nothing(order, 2) == (0,) * 13
    assert unserved(order, 2, 0)[:3] == (1, 0, 0)
    assert unserved(order, 2, 1)[:3] == (0, 1, 0)
    assert added(unserved(order, 2, 1), order.advice(2), 3) == (0, 1, 0, 0, 0, 0, 3, 0, 0, 0, 0, 0, 0)
