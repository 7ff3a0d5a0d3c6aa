"""Counts: intervals against a reference library and published tables, thresholds in whole mites, verdicts.

Published cases, one by one, stand in tests/handbook/monitoring.yaml.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson, confint_poisson_2indep

from ipmcal.biology.comb import Range
from ipmcal.biology.counts import (
    Cause,
    Efficacy,
    Interval,
    Verdict,
    bees_needed,
    board,
    chance_to_find,
    corrected,
    detectable,
    efficacy,
    in_colony,
    interval,
    judge,
    least_mites,
    poisson_score,
    pooled,
    rate,
    reaches,
    wilson,
)
from ipmcal.model.values.count import Sample, Threshold, Unit

SIZES = (1, 2, 10, 29, 100, 150, 263, 300, 310, 400, 2400)
CONFIDENCES = (0.8, 0.9, 0.95, 0.99)

samples = st.builds(Sample, st.integers(0, 500), st.integers(1, 500))
limits = st.fractions(0, 50, max_denominator=100)
thresholds = st.builds(
    Threshold, limits, st.sampled_from([Fraction(100), Fraction(300)]), st.just(Unit.BEES), st.booleans()
)


def near(got: Interval, low: float, high: float, within: float = 1e-9) -> None:
    assert got.low == pytest.approx(low, abs=within)
    assert got.high == pytest.approx(high, abs=within)


# Intervals, against statsmodels ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("confidence", CONFIDENCES)
def test_wilson_equals_statsmodels(size: int, confidence: float) -> None:
    for found in sorted({0, 1, 2, size // 100, size // 30, size // 3, size - 1, size} & set(range(size + 1))):
        low, high = proportion_confint(found, size, alpha=1 - confidence, method="wilson")
        near(wilson(found, size, confidence), low, high)


def test_every_count_of_a_usual_sample_equals_statsmodels() -> None:
    for found in range(301):
        near(wilson(found, 300), *proportion_confint(found, 300, method="wilson"))


@pytest.mark.parametrize("deff", [1.0, 1.5, 2.0, 4.0])
def test_a_design_effect_is_a_smaller_sample(deff: float) -> None:
    near(wilson(9, 300, deff=deff), *proportion_confint(9 / deff, 300 / deff, method="wilson"))


@pytest.mark.parametrize("confidence", CONFIDENCES)
def test_the_poisson_score_equals_statsmodels(confidence: float) -> None:
    for found, size in ((1, 1), (8, 1), (24, 3), (400, 300), (7, 0.5)):
        low, high = confint_poisson(found, size, method="score", alpha=1 - confidence)
        near(poisson_score(found, size, confidence), low, high)


@pytest.mark.parametrize(
    ("before", "after"), [((9, 300), (1, 300)), ((30, 300), (2, 250)), ((5, 100), (9, 300)), ((60, 3), (4, 2))]
)
def test_the_interval_of_efficacy_is_the_score_interval_of_the_ratio(
    before: tuple[int, int], after: tuple[int, int]
) -> None:
    low, high = confint_poisson_2indep(*after, *before, method="score", compare="ratio")
    near(efficacy(Sample(*before), Sample(*after)).interval, 1 - high, 1 - low, 1e-7)


# Intervals, against print ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("found", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_newcombes_table(found: int, of: int, low: float, high: float) -> None:
    """Newcombe 1998, Statist. Med. 17:857-872, Table I, method 3, to its four decimals (values from memory)."""
    near(wilson(found, of), low, high, 0.00005)


@given(st.integers(0, 400), st.integers(1, 400), st.sampled_from(CONFIDENCES), st.floats(1, 5))
def test_an_interval_holds_the_point_and_widens_with_clumping(found: int, of: int, level: float, deff: float) -> None:
    found = min(found, of)
    one, wide = wilson(found, of, level), wilson(found, of, level, deff)
    assert 0 <= wide.low <= one.low + 1e-12 <= found / of + 1e-9
    assert found / of - 1e-9 <= one.high <= wide.high + 1e-12 <= 1 + 1e-9


@given(st.integers(0, 400), st.integers(1, 400))
def test_the_interval_is_where_the_score_test_turns(found: int, of: int) -> None:
    """Wilson 1927: at each end, the point lies exactly z standard errors of that end away."""
    found = min(found, of)
    got, z = wilson(found, of), 1.959963984540054
    for end in (got.low, got.high):
        if 0 < end < 1:
            assert abs(found / of - end) == pytest.approx(z * math.sqrt(end * (1 - end) / of), abs=1e-9)


def test_more_mites_than_bees_have_an_interval_too() -> None:
    got = interval(Sample(400, 300))
    assert got.low < 400 / 300 < got.high
    assert got == poisson_score(400, 300)


@pytest.mark.parametrize(("found", "of", "deff"), [(-1, 10, 1), (11, 10, 1), (0, 0, 1), (1, 10, 0.5)])
def test_what_has_no_interval(found: int, of: int, deff: float) -> None:
    with pytest.raises(ValueError, match="no share"):
        wilson(found, of, deff=deff)
    if found <= of or not of:
        with pytest.raises(ValueError, match="no rate"):
            poisson_score(found, of, deff=deff)


@pytest.mark.parametrize("confidence", [0.0, 1.0, 95.0])
def test_a_confidence_is_a_share(confidence: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        wilson(1, 10, confidence)


# Rates ----------------------------------------------------------------------------------------------------------------


def test_the_misprint_of_the_beebook() -> None:
    """Dietemann et al. 2013, 4.2.3.1.2.1, prints 14.3 per 100 for 43 mites in 310 bees: that is 43 in 300."""
    assert float(rate(Sample(43, 310))) == pytest.approx(13.871, abs=0.0005)
    assert float(rate(Sample(43, 300))) == pytest.approx(14.3, abs=0.05)


def test_a_board_counts_by_the_day() -> None:
    assert rate(board(24, 72), per=1) == 8
    assert rate(board(5, 36), per=1) == Fraction(10, 3)


@given(st.lists(samples, min_size=1, max_size=8))
def test_a_pool_lies_between_its_colonies(several: list[Sample]) -> None:
    rates = [rate(sample) for sample in several]
    assert min(rates) <= rate(pooled(several)) <= max(rates)


def test_what_can_not_be_pooled() -> None:
    with pytest.raises(ValueError, match="there is no sample"):
        pooled([])
    with pytest.raises(ValueError, match="of one unit"):
        pooled([Sample(1, 300), board(1, 24)])


@given(samples, st.floats(0.05, 1), st.floats(0.05, 1))
def test_what_stayed_on_the_bees_is_only_ever_more(sample: Sample, one: float, other: float) -> None:
    got = corrected(sample, Range(min(one, other), max(one, other)))
    assert float(rate(sample)) <= got.low * (1 + 1e-12) <= got.high * (1 + 1e-12)


def test_a_recovery_is_a_share() -> None:
    for recovery in (Range(0, 0.9), Range(0.9, 1.2)):
        with pytest.raises(ValueError, match="a recovery is a share"):
            corrected(Sample(3, 300), recovery)


def test_a_factor_for_the_fall_is_a_range() -> None:
    """From x 20 (Martin 1998) to x 300 (a German association): for the same ten mites a day."""
    assert in_colony(10, Range(20, 300)) == Range(200, 3000)


@pytest.mark.parametrize(("mites", "size"), [(-1, 300), (1, -300)])
def test_nothing_is_below_zero(mites: int, size: int) -> None:
    with pytest.raises(ValueError, match="below zero"):
        Sample(mites, size)


def test_cells_with_mites_are_no_more_than_cells() -> None:
    line = Threshold(Fraction(5), Fraction(100), Unit.DRONE_CELLS)
    got = judge(Sample(101, 100, Unit.DRONE_CELLS), line, enough=100)
    assert (got.verdict, got.causes) == (Verdict.BAD_SAMPLE, (Cause.MORE_THAN_OPENED,))


def test_a_sample_of_nothing_has_no_rate() -> None:
    with pytest.raises(ValueError, match="has no rate"):
        rate(Sample(0, 0))


# Efficacy -------------------------------------------------------------------------------------------------------------


def test_all_gone_is_not_surely_all() -> None:
    got = efficacy(Sample(30, 300), Sample(0, 300))
    assert got.share == 1
    assert got.interval.high == 1
    assert 0.8 < got.interval.low < 0.95


def test_more_than_before_is_below_nothing() -> None:
    got = efficacy(Sample(3, 300), Sample(9, 300))
    assert got.share == -2
    assert got.interval.low < -2 < got.interval.high


@given(st.integers(1, 200), st.integers(0, 200), st.integers(50, 400), st.integers(50, 400), st.floats(1, 4))
def test_the_interval_holds_the_share(before: int, after: int, first: int, second: int, deff: float) -> None:
    def around(effect: float) -> Efficacy:
        got = efficacy(Sample(before, first), Sample(after, second), deff=effect)
        assert got.interval.low <= float(got.share) + 1e-9
        assert float(got.share) - 1e-9 <= got.interval.high <= 1
        return got

    assert around(deff).interval.low <= around(1).interval.low + 1e-9


def test_without_mites_before_there_is_no_efficacy() -> None:
    with pytest.raises(ValueError, match="nothing to compare with"):
        efficacy(Sample(0, 300), Sample(0, 300))
    with pytest.raises(ValueError, match="in the same unit"):
        efficacy(Sample(9, 300), board(9, 24))


# Finding any ----------------------------------------------------------------------------------------------------------


@given(st.floats(0.001, 0.9), st.floats(0.01, 0.999), st.floats(0.2, 1))
def test_the_bees_needed_are_the_fewest(prevalence: float, chance: float, sensitivity: float) -> None:
    prevalence, chance, sensitivity = round(prevalence, 4), round(chance, 4), round(sensitivity, 3)
    bees = bees_needed(prevalence, chance, sensitivity)
    assert chance_to_find(prevalence, bees, sensitivity) >= chance - 1e-12
    assert bees == 1 or chance_to_find(prevalence, bees - 1, sensitivity) < chance + 1e-12


def test_ties_are_exact() -> None:
    """Two coins show a head with a chance of three quarters; nine tenths missed three times are 0.729."""
    assert bees_needed(0.5, 0.75) == 2
    assert bees_needed(0.1, 0.271) == 3
    assert bees_needed(0.1, 0.2711) == 4
    assert bees_needed(1.0, 0.95) == 1


@given(st.integers(1, 2000), st.floats(0.5, 0.99))
def test_what_is_detectable_is_detected(bees: int, chance: float) -> None:
    assert chance_to_find(detectable(bees, chance), bees) == pytest.approx(chance, abs=1e-9)


def test_no_chance() -> None:
    for prevalence, bees, sensitivity in ((1.1, 10, 1.0), (0.1, -1, 1.0), (0.1, 10, 1.1)):
        with pytest.raises(ValueError, match="no chance can be given"):
            chance_to_find(prevalence, bees, sensitivity)
    for share, chance in ((0.0, 0.95), (0.05, 1.0)):
        with pytest.raises(ValueError, match="no number of bees"):
            bees_needed(share, chance)
    with pytest.raises(ValueError, match="no share can be given"):
        detectable(0, 0.95)


# Thresholds -----------------------------------------------------------------------------------------------------------


@given(thresholds, st.integers(1, 2000))
def test_the_least_is_the_smallest_whole_count_that_reaches(threshold: Threshold, size: int) -> None:
    least = least_mites(threshold, size)
    assert reaches(Sample(least, size), threshold)
    assert least == 0 or not reaches(Sample(least - 1, size), threshold)


@given(thresholds, samples)
def test_over_is_what_the_fractions_say(threshold: Threshold, sample: Sample) -> None:
    share = Fraction(sample.mites, int(sample.size))
    expected = share > threshold.rate if threshold.above else share >= threshold.rate
    assert reaches(sample, threshold) == expected


@pytest.mark.parametrize(
    ("mites", "of", "above", "size", "least"),
    [
        ("2", 100, False, 300, 6), ("2", 100, True, 300, 7), ("3", 100, False, 300, 9), ("2", 100, False, 301, 7),
        ("0.1", 1, False, 30, 3), ("0.1", 1, True, 30, 4), ("0.7", 100, False, 300, 3), ("1", 300, False, 300, 1),
        ("0", 100, True, 300, 1), ("0.29", 1, False, 100, 29), ("0.57", 1, True, 100, 58),
    ],
)  # fmt: skip
def test_no_surprise_on_the_line(mites: str, of: int, above: bool, size: int, least: int) -> None:
    """0.1 * 30, 0.29 * 100 and 0.57 * 100 in doubles all miss the whole number that they are."""
    assert least_mites(Threshold(Fraction(mites), Fraction(of), Unit.BEES, above), size) == least


def test_units_are_never_compared() -> None:
    with pytest.raises(ValueError, match="are not compared with"):
        reaches(board(9, 24), Threshold(Fraction(3), Fraction(100), Unit.BEES))
    got = judge(board(9, 24), Threshold(Fraction(3), Fraction(100), Unit.BEES), enough=1)
    assert (got.verdict, got.causes, got.least) == (Verdict.NOT_JUDGED, (Cause.OTHER_UNIT,), None)


@pytest.mark.parametrize(("mites", "of"), [(-1, 100), (1, 0)])
def test_a_threshold_is_a_number_in_something(mites: int, of: int) -> None:
    with pytest.raises(ValueError, match="a threshold needs"):
        Threshold(Fraction(mites), Fraction(of), Unit.BEES)


# Verdicts -------------------------------------------------------------------------------------------------------------

TWO = Threshold(Fraction(2), Fraction(100), Unit.BEES)


@pytest.mark.parametrize(
    ("mites", "bees", "verdict", "causes"),
    [
        (6, 300, Verdict.OVER, (Cause.REACHES,)),
        (5, 300, Verdict.UNDER, (Cause.BELOW,)),
        (0, 300, Verdict.UNDER, (Cause.BELOW,)),
        (0, 0, Verdict.BAD_SAMPLE, (Cause.NOTHING_SAMPLED,)),
        (3, 0, Verdict.BAD_SAMPLE, (Cause.NOTHING_SAMPLED,)),
        (3, 150, Verdict.BAD_SAMPLE, (Cause.TOO_SMALL,)),
        (4, 150, Verdict.OVER, (Cause.ENOUGH_FOR_A_WHOLE,)),
        (400, 300, Verdict.OVER, (Cause.REACHES, Cause.MORE_MITES_THAN_BEES)),
        (40, 30, Verdict.OVER, (Cause.ENOUGH_FOR_A_WHOLE, Cause.MORE_MITES_THAN_BEES)),
    ],
)
def test_a_verdict_and_its_causes(mites: int, bees: int, verdict: Verdict, causes: tuple[Cause, ...]) -> None:
    got = judge(Sample(mites, bees), TWO, enough=200)
    assert (got.verdict, got.causes) == (verdict, causes)
    assert (got.interval is None) == (bees == 0)


def test_without_brood_nothing_is_judged() -> None:
    got = judge(Sample(30, 300), TWO, enough=200, broodless=True)
    assert (got.verdict, got.causes, got.least) == (Verdict.NOT_JUDGED, (Cause.BROODLESS,), 6)
    bad = judge(Sample(0, 0), TWO, enough=200, broodless=True)
    assert (bad.verdict, bad.causes) == (Verdict.NOT_JUDGED, (Cause.BROODLESS, Cause.NOTHING_SAMPLED))


@given(samples, thresholds, st.sampled_from(CONFIDENCES), st.floats(1, 4))
def test_the_interval_never_decides(sample: Sample, threshold: Threshold, level: float, deff: float) -> None:
    def verdict(confidence: float, effect: float) -> tuple[Verdict, tuple[Cause, ...]]:
        got = judge(sample, threshold, enough=200, confidence=confidence, deff=effect)
        return got.verdict, got.causes

    assert verdict(level, deff) == verdict(0.95, 1.0)


@given(samples, thresholds)
def test_one_more_mite_never_turns_over_into_under(sample: Sample, threshold: Threshold) -> None:
    order = [Verdict.BAD_SAMPLE, Verdict.UNDER, Verdict.OVER]
    more = Sample(sample.mites + 1, sample.size)
    one, two = (order.index(judge(s, threshold, enough=200).verdict) for s in (sample, more))
    assert one <= two


@given(samples, thresholds)
def test_a_small_sample_that_is_over_stays_over_whatever_the_missing_bees_carry(
    sample: Sample, threshold: Threshold
) -> None:
    if judge(sample, threshold, enough=200).causes[0] is Cause.ENOUGH_FOR_A_WHOLE:
        assert sample.size < 200
        assert reaches(Sample(sample.mites, 200), threshold)
