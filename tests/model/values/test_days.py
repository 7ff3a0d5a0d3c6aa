"""Spans and sets of days, against the plain sets of days that they stand for."""

from __future__ import annotations

import doctest
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.values import days
from ipmcal.model.values.days import KeeperDays, Span, day, earliest, latest, positions

NUMBERS = st.integers(-400, 400)
SPANS = st.lists(NUMBERS, min_size=3, max_size=3).map(lambda three: Span(*sorted(three)))
DAYS = st.lists(st.integers(0, 60), max_size=30).map(lambda many: KeeperDays(tuple(sorted(set(many)))))


def inside(span: Span) -> set[int]:
    return set(range(span.low, span.high + 1))


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(days).failed == 0


@pytest.mark.parametrize("three", [(2, 1, 3), (1, 4, 3), (3, 2, 1)])
def test_a_span_out_of_order_is_refused(three: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="low <= usual <= high"):
        Span(*three)


def test_a_known_day_is_certain() -> None:
    assert Span.exact(7).certain
    assert not Span(7, 7, 8).certain


@given(SPANS, SPANS)
def test_a_sum_holds_exactly_the_sums_of_its_days(a: Span, b: Span) -> None:
    total = a + b
    assert (total.low, total.high) == (min(inside(a)) + min(inside(b)), max(inside(a)) + max(inside(b)))
    assert total.usual == a.usual + b.usual
    assert total == b + a


@given(SPANS, NUMBERS)
def test_shifting_back_undoes_shifting(span: Span, by: int) -> None:
    assert (span + by) - by == span
    assert inside(span + by) == {d + by for d in inside(span)}


@given(SPANS, st.none() | NUMBERS, st.none() | NUMBERS)
def test_narrowing_keeps_exactly_the_days_between(span: Span, low: int | None, high: int | None) -> None:
    kept = {d for d in inside(span) if (low is None or d >= low) and (high is None or d <= high)}
    narrowed = span.narrow(low, high)
    if narrowed is None:
        assert not kept
    else:
        assert inside(narrowed) == kept
        assert narrowed.usual == min(kept, key=lambda d: abs(d - span.usual))


@given(st.lists(SPANS, min_size=1, max_size=4))
def test_latest_and_earliest_work_edge_by_edge(spans: list[Span]) -> None:
    for edge in ("low", "usual", "high"):
        values = [getattr(s, edge) for s in spans]
        assert getattr(latest(spans), edge) == max(values)
        assert getattr(earliest(spans), edge) == min(values)


def test_the_latest_of_none_is_refused() -> None:
    with pytest.raises(ValueError):  # noqa: PT011  # the words are Python's own
        latest([])
    with pytest.raises(ValueError):  # noqa: PT011
        earliest([])


@given(DAYS, st.integers(-5, 65), st.integers(-5, 65))
def test_between_is_the_set_of_days_between(keeper: KeeperDays, first: int, last: int) -> None:
    mask = keeper.between(first, last)
    naive = [d for d in keeper if first <= d <= last]
    assert list(keeper.of(mask)) == naive
    assert [keeper.ordinals[i] for i in positions(mask)] == naive
    assert mask.bit_count() == len(naive)


@given(DAYS, DAYS)
def test_masks_meet_and_join_as_sets_do(keeper: KeeperDays, wanted: KeeperDays) -> None:
    some = sum(1 << i for i, d in enumerate(keeper) if d in set(wanted))
    early = keeper.between(0, 30)
    assert set(keeper.of(some & early)) == {d for d in keeper if d in set(wanted) and d <= 30}
    assert set(keeper.of(some | early)) == {d for d in keeper if d in set(wanted) or d <= 30}
    assert set(keeper.of(some & ~early)) == {d for d in keeper if d in set(wanted) and d > 30}


@given(DAYS, st.integers(-5, 65))
def test_a_position_is_where_the_day_stands(keeper: KeeperDays, wanted: int) -> None:
    listed = list(keeper)
    assert keeper.position(wanted) == (listed.index(wanted) if wanted in listed else None)
    assert len(keeper) == len(listed)


@given(DAYS, st.integers(-5, 65), st.none() | st.integers(-5, 65))
def test_the_next_day_is_the_first_after(keeper: KeeperDays, after: int, last: int | None) -> None:
    later = [d for d in keeper if d > after and (last is None or d <= last)]
    assert keeper.next_after(after, last) == (later[0] if later else None)


def test_an_ordinal_is_a_date() -> None:
    assert day(date(2027, 5, 1).toordinal()) == date(2027, 5, 1)
