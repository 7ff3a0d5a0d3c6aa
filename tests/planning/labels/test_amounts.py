"""Supplies beside the worked doses of ``tests/handbook/amounts.yaml``: sizes before opening, caps, totals, batches."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import colony, on, season_of, shipped, yard

from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.treatments import Dose, Label
from ipmcal.model.values.words import MEASURED
from ipmcal.planning.labels import amounts
from ipmcal.planning.labels.amounts import Portion, Range, Size, Use
from ipmcal.planning.recall.state import recall

LABELS = [(t, j) for t, rule in sorted(shipped().treatments.items()) for j in sorted(rule.labels)]


def label(treatment: str, jurisdiction: str) -> Label:
    found = label_for(shipped().treatments[treatment], jurisdiction, shipped())
    assert found is not None
    return found


def dose(treatment: str, jurisdiction: str = "us") -> Dose:
    found = label(treatment, jurisdiction).dose
    assert found is not None
    return found


def use(key: str, treatment: str, day: str, size: Size, yard: str = "orchard", jurisdiction: str = "us") -> amounts.Use:
    return Use(yard, key, jurisdiction, treatment, on(day), size)


def exact(low: float, high: float | None = None) -> Range:
    return Range(Fraction(str(low)), Fraction(str(low if high is None else high)))


SEAMS = st.integers(0, 40).map(Fraction)
SIZES = st.builds(
    lambda chambers, a, b, c, d, nucleus: Size(
        chambers, Range(min(a, b), max(a, b)), Range(min(c, d), max(c, d)), nucleus
    ),
    st.integers(1, 4), SEAMS, SEAMS, SEAMS, SEAMS, st.booleans(),
)  # fmt: skip

# Sizes ----------------------------------------------------------------------------------------------------------------


def test_before_opening_the_boxes_bound_the_seams_and_the_frames() -> None:
    size = amounts.size_of(colony(boxes=["deep", "deep"]), brood_frames=7)
    assert (size.chambers, size.bee_frames, size.seams) == (2, exact(7, 20), exact(5, 22))
    unknown = amounts.size_of(colony(boxes=["deep"]))
    assert (unknown.bee_frames, unknown.seams) == (exact(1, 10), exact(1, 11))


def test_seams_that_were_not_counted_make_a_range_and_say_what_to_count() -> None:
    portion = amounts.portion(dose("oxalic_trickle"), amounts.size_of(colony(boxes=["deep"]), brood_frames=4))
    assert portion == Portion(exact(15, 50), "mL")
    assert amounts.asks_for(dose("oxalic_trickle")) == "count the seams: 5 mL a seam, most 50 mL"


def test_bees_that_were_not_weighed_have_no_amount() -> None:
    assert amounts.portion(dose("oxalic_package_spray"), amounts.size_of(colony())).amount is None


@pytest.mark.parametrize(("day", "strips"), [("2027-05-10", 1), ("2027-08-14", 2)])
def test_a_nucleus_gets_its_own_amount_until_its_box_is_full(day: str, strips: int) -> None:
    young = colony(began="2027-05-01", kind="nucleus", boxes=["deep"])
    season = season_of(yard(young), shipped(), on("2027-05-01"), 2027)
    state = recall(young, (), season, on(day), shipped())
    size = amounts.size_on(state, on(day), shipped().biology)
    assert amounts.portion(dose("amitraz_strip"), size).amount == exact(strips)


# Portions -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("treatment", "jurisdiction"), LABELS)
@given(size=SIZES)
def test_never_above_the_cap_and_never_in_the_wrong_unit(treatment: str, jurisdiction: str, size: Size) -> None:
    by = dose(treatment, jurisdiction)
    portion = amounts.portion(by, size)
    if portion.amount is None:
        assert by.per.value == "thousand_bees"
        return
    assert portion.unit == by.amount.value.unit
    if by.most is not None:
        assert portion.amount.high <= Range.of(by.most.value).high
    if portion.unit not in MEASURED:
        assert portion.amount.high.denominator == 1  # nobody hangs part of a strip


@given(st.integers(1, 40), st.integers(0, 10))
def test_more_bees_never_get_less(frames: int, more: int) -> None:
    """As the American text of tau-fluvalinate has it: a strip for each five frames of bees, or part of five."""
    by = dose("tau_fluvalinate_strip")
    few = amounts.portion(by, amounts.counted_size(frames=frames)).amount
    many = amounts.portion(by, amounts.counted_size(frames=frames + more)).amount
    assert few is not None
    assert many is not None
    assert few.low <= many.low
    assert 5 * (few.low - 1) < frames <= 5 * few.low


def test_a_course_is_all_its_applications() -> None:
    size = amounts.size_of(colony())
    assert amounts.course_portion(label("thymol_gel", "uk"), size, shipped()) == Portion(exact(2), "trays")
    assert amounts.course_portion(label("amitraz_strip", "us"), size, shipped()) == Portion(exact(4), "strips")
    assert amounts.course_portion(label("oxalic_trickle", "us"), size, shipped()).amount == exact(5, 50)


# Totals ---------------------------------------------------------------------------------------------------------------

ONE_BOX, TWO_BOXES = amounts.size_of(colony(boxes=["deep"])), amounts.size_of(colony())


def test_totals_over_colonies_and_yards_with_the_day_needed() -> None:
    uses = [
        use("1", "amitraz_strip", "08-14", TWO_BOXES),
        use("2", "amitraz_strip", "08-14", ONE_BOX),
        use("9", "amitraz_strip", "08-07", ONE_BOX, "mill"),
        use("1", "oxalic_trickle", "12-11", amounts.counted_size(seams=7)),
        use("9", "oxalic_trickle", "12-18", amounts.counted_size(seams=12), "mill"),
    ]
    strips, syrup = amounts.shopping(uses, shipped())
    assert (strips.amount, strips.day, strips.yards) == (exact(8), on("08-07"), ("mill", "orchard"))
    assert (strips.colonies, strips.applications, strips.asks) == (3, 3, ())
    assert (syrup.amount, syrup.day, syrup.unit) == (exact(85), on("12-11"), "mL")
    assert amounts.need_words(strips) == "Amitraz strips: 8 strips for 3 hives"
    one_visit = amounts.shopping([u for u in uses if (u.day, u.yard) == (on("08-14"), "orchard")], shipped())
    assert one_visit[0].amount == exact(6)


def test_a_batch_for_each_day_on_which_syrup_is_poured() -> None:
    """20 hives of 50 mL need 1 L: 35 g of acid, 600 g of sugar, 600 g of water (as in the handbook's cases)."""
    uses = [use(str(n), "oxalic_trickle", "12-11", ONE_BOX) for n in range(20)]
    uses.append(use("20", "oxalic_trickle", "12-18", amounts.counted_size(seams=7)))
    (need,) = amounts.shopping(uses, shipped())
    assert [(day, b.litres) for day, b in need.batches] == [(on("12-11"), 1), (on("12-18"), Fraction("0.05"))]
    assert dict(need.batches[0][1].grams) == {"oxalic_acid_dihydrate": 35, "sugar": 600, "water": 600}
    assert amounts.ingredients([need]) == (
        ("oxalic_acid_dihydrate", Fraction("36.75"), on("12-11")),
        ("sugar", 630, on("12-11")),
        ("water", 630, on("12-11")),
    )
    assert "count the seams" in amounts.need_words(need)


@given(st.fractions(0, 20, max_denominator=1000))
def test_a_batch_is_enough_and_keeps_the_strength(litres: Fraction) -> None:
    recipe = label("oxalic_trickle", "us").recipe
    assert recipe is not None
    mixed = amounts.batch(recipe, litres)
    assert litres <= mixed.litres < litres + amounts.STEP
    for part, grams in mixed.grams.items():
        assert float(grams) == pytest.approx(recipe.per_litre(part) * float(mixed.litres))


def test_where_the_product_has_no_label_nothing_is_measured_out() -> None:
    with pytest.raises(ValueError, match="'hop_acid_strip' has no label in 'uk'"):
        amounts.shopping([use("1", "hop_acid_strip", "08-14", ONE_BOX, jurisdiction="uk")], shipped())
    with pytest.raises(ValueError, match="'snake_oil' has no label"):
        amounts.shopping([use("1", "snake_oil", "08-14", ONE_BOX)], shipped())


def test_colonies_without_an_amount_are_counted_apart() -> None:
    (need,) = amounts.shopping([use("1", "oxalic_package_spray", "05-02", ONE_BOX)], shipped())
    assert (need.open_, need.amount) == (1, amounts.NONE)
    assert amounts.need_words(need) == (
        "Oxalic acid sprayed on a package: amount not known yet for 1 hive "
        "(weigh or count the bees: 3 mL for 1,000 bees)"
    )


@given(st.lists(st.tuples(st.integers(1, 12), st.sampled_from(["orchard", "mill"])), min_size=1, max_size=12))
def test_the_total_is_the_sum_of_the_portions(found: list[tuple[int, str]]) -> None:
    uses = [use(str(i), "oxalic_trickle", "12-11", amounts.counted_size(seams=n), y) for i, (n, y) in enumerate(found)]
    (need,) = amounts.shopping(uses, shipped())
    assert need.amount == exact(sum(min(5 * n, 50) for n, _ in found))
    assert need.batches[0][1].litres * amounts.ML >= need.amount.high


def test_words_for_one_and_many() -> None:
    assert amounts.amount_words(exact(1), "pouches") == "1 pouch"
    assert amounts.amount_words(exact(1), "mL") == "1 mL"
    assert amounts.amount_words(exact(1, 4), "strips") == "1 to 4 strips"
    assert amounts.amount_words(exact(2.3), "g") == "2.3 g"


@pytest.mark.parametrize("wrong", [(2, 1), (-1, 1)])
def test_a_range_runs_upward_from_nothing(wrong: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="a range needs"):
        exact(*wrong)


def test_no_batch_below_nothing() -> None:
    recipe = label("oxalic_trickle", "us").recipe
    assert recipe is not None
    with pytest.raises(ValueError, match="smaller than nothing"):
        amounts.batch(recipe, Fraction(-1))
