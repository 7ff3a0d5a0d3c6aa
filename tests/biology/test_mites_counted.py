"""Counts weighed against what was projected."""

from __future__ import annotations

import itertools
import math

import pytest
from biology.mite_places import figures
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ipmcal.biology.mites.counted import weigh
from ipmcal.biology.mites.draws import log_normal

WEIGHING = figures().weighing
NEAR = 1e-9
laws = st.builds(
    lambda median, sd, n: [median * log_normal((i + 0.5) / n, sd) for i in range(n)],
    st.floats(1e-5, 1.0),
    st.floats(0.05, 2.0),
    st.integers(8, 60),
)
uneven = st.lists(st.floats(1e-6, 2.0), min_size=2, max_size=60)
loads_ = laws | uneven
yes_no = st.booleans()


@given(loads_, st.floats(1, 3000), yes_no, yes_no)
@settings(max_examples=200, deadline=None)
def test_a_count_of_zero_never_raises(loads: list[float], bees: float, brood: bool, pooled: bool) -> None:
    assert max(weigh(loads, 0, bees, WEIGHING, brood=brood, pooled=pooled).factors) <= 1 + NEAR


@given(loads_, st.integers(0, 60), st.integers(1, 20), st.floats(50, 3000), yes_no, yes_no)
@settings(max_examples=150, deadline=None)
def test_more_mites_counted_never_lower(
    loads: list[float], mites: int, more: int, bees: float, brood: bool, pooled: bool
) -> None:
    few = weigh(loads, mites, bees, WEIGHING, brood=brood, pooled=pooled)
    many = weigh(loads, mites + more, bees, WEIGHING, brood=brood, pooled=pooled)
    assert all(a <= b * (1 + 1e-6) for a, b in zip(few.factors, many.factors, strict=True))


@given(loads_, st.integers(0, 60), st.floats(50, 3000), yes_no)
@settings(max_examples=100, deadline=None)
def test_each_draw_keeps_its_quantile(loads: list[float], mites: int, bees: float, pooled: bool) -> None:
    factors = weigh(loads, mites, bees, WEIGHING, brood=True, pooled=pooled).factors
    by_load = sorted(zip(loads, factors, strict=True))
    after = [load * factor for load, factor in by_load]
    assert all(a <= b * (1 + 1e-6) for a, b in itertools.pairwise(after))


@given(st.data(), loads_, st.integers(0, 60))
@settings(max_examples=60, deadline=None)
def test_the_order_of_colonies_is_irrelevant(data: st.DataObject, loads: list[float], mites: int) -> None:
    """To the last bit: sums are exact."""
    order = data.draw(st.permutations(range(len(loads))))
    plain = weigh(loads, mites, 300, WEIGHING, brood=True).factors
    turned = weigh([loads[i] for i in order], mites, 300, WEIGHING, brood=True).factors
    assert [plain[i] for i in order] == list(turned)


@given(laws)
@settings(max_examples=50, deadline=None)
def test_a_count_that_says_nothing_moves_nothing(loads: list[float]) -> None:
    assert weigh(loads, 0, 1e-9, WEIGHING, brood=True).factors == pytest.approx([1.0] * len(loads), rel=1e-6)


@given(st.floats(0.002, 0.2), st.integers(200, 2000))
@settings(max_examples=50, deadline=None)
def test_against_a_conjugate_law(median: float, bees: int) -> None:
    """Where the count is large, the new law is the normal product of two normal laws in log load.

    The count's own standard error of log load is 1 / sqrt(mites), taken as many times wider as the rules say.
    """
    sd = 0.9
    loads = [median * log_normal((i + 0.5) / 201, sd) for i in range(201)]
    mites = round(1.5 * median * bees * 1.6)
    assume(mites >= 100)
    factors = weigh(loads, mites, bees, WEIGHING, brood=True).factors
    error = WEIGHING.widened / math.sqrt(mites)
    precision = 1 / sd**2 + 1 / error**2
    seen = math.log(mites / (WEIGHING.wash_reads * bees))
    expected = (math.log(median) / sd**2 + seen / error**2) / precision
    after = sorted(load * factor for load, factor in zip(loads, factors, strict=True))
    assert math.log(after[100]) == pytest.approx(expected, abs=0.25 * error + 0.01)
    spread = math.log(after[168] / after[32]) / 2
    assert spread == pytest.approx(1 / math.sqrt(precision), rel=0.6)


def test_other_hives_counts_say_less() -> None:
    loads = [0.01 * log_normal((i + 0.5) / 31, 0.9) for i in range(31)]
    own, others = (weigh(loads, 15, 300, WEIGHING, brood=True, pooled=p).factors for p in (False, True))
    assert max(own) / min(own) > max(others) / min(others) > 1


def test_a_count_far_from_the_band_says_so() -> None:
    loads = [0.01 * log_normal((i + 0.5) / 31, 0.5) for i in range(31)]
    assert weigh(loads, 4, 300, WEIGHING, brood=True).agrees
    for mites in (0, 40):
        assert not weigh(loads, mites, 300, WEIGHING, brood=True).agrees


@pytest.mark.parametrize(("loads", "mites", "bees"), [([], 1, 300), ([0.0], 1, 300), ([0.1], -1, 300), ([0.1], 1, 0)])
def test_what_can_not_be_weighed(loads: list[float], mites: int, bees: float) -> None:
    with pytest.raises(ValueError, match="a count is weighed"):
        weigh(loads, mites, bees, WEIGHING, brood=True)
