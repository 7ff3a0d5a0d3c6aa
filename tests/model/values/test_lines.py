"""Values of lines: counts, doses, whence a colony came, the other colony."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.lines import Dose, Hived, dose_of, hived_of, other_colony, sample_of, way_of

AMOUNTS = st.one_of(st.integers(0, 99999).map(str), st.decimals(0, 999, places=2).map(str))
WORDS = st.from_regex(r"[A-Za-z0-9]{1,8}", fullmatch=True).filter(lambda word: word not in ("lot", "by"))


@pytest.mark.parametrize(
    ("value", "unit", "sample"),
    [
        ("9/300", Unit.BEES, Sample(9, 300)),
        ("9/300 sugar", Unit.BEES, Sample(9, 300)),
        ("400/300", Unit.BEES, Sample(400, 300)),  # more mites than bees can be
        ("0/300", Unit.BEES, Sample(0, 300)),
        ("4/50", Unit.GRAMS, Sample(4, 50, Unit.GRAMS)),
        ("12/3", Unit.DAYS, Sample(12, 3, Unit.DAYS)),
        ("12/72h", Unit.DAYS, Sample(12, 3, Unit.DAYS)),
        ("12/36h", Unit.DAYS, Sample(12, Fraction(3, 2), Unit.DAYS)),
        ("4/100", Unit.DRONE_CELLS, Sample(4, 100, Unit.DRONE_CELLS)),
    ],
)
def test_a_count_is_mites_and_what_they_were_counted_on(value: str, unit: Unit, sample: Sample) -> None:
    assert sample_of(value, unit) == sample


@pytest.mark.parametrize(
    "value", ["9", "", "/300", "9/", "9/300h", "-1/300", "9/300 Sugar!", "9,5/300", "9 / 300", "nine/300", "9/99999"]
)
def test_half_a_count_is_none(value: str) -> None:
    with pytest.raises(ValueError, match="mites and bees"):
        sample_of(value, Unit.BEES)


@pytest.mark.parametrize(("value", "unit"), [("3/0", Unit.BEES), ("3/0h", Unit.DAYS), ("0/0", Unit.GRAMS)])
def test_mites_in_nothing_are_no_count(value: str, unit: Unit) -> None:
    with pytest.raises(ValueError, match="mites in nothing"):
        sample_of(value, unit)


@given(st.integers(0, 9999), st.integers(1, 9999), st.sampled_from(list(Unit)))
def test_every_count_reads_back(mites: int, size: int, unit: Unit) -> None:
    assert sample_of(f"{mites}/{size}", unit) == Sample(mites, size, unit)


def test_the_word_behind_a_count_says_how_and_changes_no_number() -> None:
    assert way_of("9/300 sugar") == "sugar"
    assert way_of("9/300") == ""
    assert sample_of("9/300 wash", Unit.BEES) == sample_of("9/300", Unit.BEES)


@pytest.mark.parametrize(
    ("value", "dose"),
    [
        ("amitraz_strip 2", Dose("amitraz_strip", Fraction(2))),
        ("amitraz_strip 2 lot K21 by AB", Dose("amitraz_strip", Fraction(2), "", "K21", "AB")),
        ("amitraz_strip 2 by AB lot K21", Dose("amitraz_strip", Fraction(2), "", "K21", "AB")),
        ("oxalic 35 mL lot K 21 b", Dose("oxalic", Fraction(35), "mL", "K 21 b")),
        ("oxalic 2.5 g", Dose("oxalic", Fraction(5, 2), "g")),
        ("oxalic 2,5 g by Anna Berg", Dose("oxalic", Fraction(5, 2), "g", "", "Anna Berg")),
    ],
)
def test_a_dose_is_product_amount_lot_and_who(value: str, dose: Dose) -> None:
    assert dose_of(value) == dose


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("", "how much"),
        ("amitraz_strip", "how much"),
        ("amitraz_strip two", "how much"),
        ("2 amitraz_strip", "how much"),
        ("amitraz_strip -2", "how much"),
        ("amitraz_strip 2 lot", "nothing behind"),
        ("amitraz_strip 2 lot by AB", "nothing behind"),
        ("amitraz_strip 2 by AB by CD", "comes twice"),
        ("amitraz_strip 2 lot A lot A", "comes twice"),
    ],
)
def test_half_a_dose_is_no_dose(value: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        dose_of(value)


@given(WORDS, AMOUNTS, st.sampled_from(["", "mL", "g"]), st.one_of(st.just(""), WORDS), st.one_of(st.just(""), WORDS))
def test_every_dose_reads_back(product: str, amount: str, unit: str, lot: str, by: str) -> None:
    parts = [product, amount, unit, f"lot {lot}" if lot else "", f"by {by}" if by else ""]
    assert dose_of(" ".join(filter(None, parts))) == Dose(product, Fraction(amount), unit, lot, by)


@pytest.mark.parametrize(
    ("value", "form", "hived"),
    [
        ("3", "made_from", Hived("3")),
        ("3 langstroth_10 deep", "made_from", Hived("3", "langstroth_10", ("deep",))),
        ("", "made", Hived()),
        ("langstroth_10", "made", Hived("", "langstroth_10")),
        ("langstroth_10 deep deep", "hive", Hived("", "langstroth_10", ("deep", "deep"))),
    ],
)
def test_whence_a_colony_came_and_what_it_is_in(value: str, form: str, hived: Hived) -> None:
    assert hived_of(value, form) == hived


@pytest.mark.parametrize(("value", "form"), [("", "made_from"), ("", "hive"), ("langstroth_10", "hive")])
def test_what_is_missing_is_said(value: str, form: str) -> None:
    with pytest.raises(ValueError, match="needs the"):
        hived_of(value, form)


@pytest.mark.parametrize("value", ["5", "with 5", "into 5", "from 5"])
def test_the_other_colony_with_or_without_a_word_before_it(value: str) -> None:
    assert other_colony(value) == "5"


@pytest.mark.parametrize("value", ["", "with", "5 6", "with 5 6"])
def test_no_other_colony_or_two_are_none(value: str) -> None:
    with pytest.raises(ValueError, match="other colony"):
        other_colony(value)
