"""Intervals and chances against reference libraries, statsmodels and scipy."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson, confint_poisson_2indep

from ipmcal.biology.counts import Interval, efficacy, poisson_score, wilson
from ipmcal.model.values.count import Sample
from ipmcal.place.climate import Climate, chance_of_run

SIZES = (1, 2, 10, 29, 100, 150, 263, 300, 310, 400, 2400)
CONFIDENCES = (0.8, 0.9, 0.95, 0.99)
# NOAA 1991-2020 normals of the daily high, Seattle-Tacoma (decimals from memory); deviations invented, all different.
SEATTLE = Climate(
    (8.9, 10.2, 12.3, 15.2, 19.1, 21.7, 25.2, 25.3, 22.0, 15.8, 11.2, 8.3),
    (3.2, 3.3, 3.4, 3.7, 4.2, 4.3, 4.1, 3.6, 3.9, 3.3, 2.9, 3.1),
)
FIRST = date(2026, 7, 1).toordinal()


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


# Chances of a run of days ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "low", "high", "correlation"),
    [
        (4, None, 29.4, 0.67),
        (10, None, 29.4, 0.67),
        (10, 15.0, 30.0, 0.6),
        (7, 22.0, None, 0.9),
        (14, 15.0, 35.0, 0.75),
    ],
)
def test_against_the_multivariate_gaussian_of_scipy(
    days: int, low: float | None, high: float | None, correlation: float
) -> None:
    """Reference: scipy's multivariate Gaussian (Genz 1992, J. Comput. Graph. Stat. 1:141-149), good to about 1e-5."""
    run = range(FIRST, FIRST + days)
    covariance = [[correlation ** abs(i - j) * SEATTLE.spread(i) * SEATTLE.spread(j) for j in run] for i in run]
    reference: Any = stats.multivariate_normal(
        mean=[SEATTLE.mean(day) for day in run], cov=covariance, maxpts=2_000_000, abseps=1e-6, seed=1
    )
    expected = reference.cdf(
        numpy.full(days, numpy.inf if high is None else high),
        lower_limit=numpy.full(days, -numpy.inf if low is None else low),
    )
    assert chance_of_run(SEATTLE, FIRST, days, low, high, correlation) == pytest.approx(float(expected), abs=2e-5)
