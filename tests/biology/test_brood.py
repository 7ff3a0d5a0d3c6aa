"""Brood calendars: how they hang together for any numbers. Published calendars stand in tests/handbook/brood.yaml."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.biology.brood import (
    Broodless,
    Castes,
    Development,
    Mating,
    brood_after,
    brood_from,
    broodless,
    new_queen,
    raised_from,
    walk_away,
)
from ipmcal.model.values.days import Span


def spans(lowest: int, highest: int) -> st.SearchStrategy[Span]:
    return st.lists(st.integers(lowest, highest), min_size=3, max_size=3).map(lambda days: Span(*sorted(days)))


developments = st.builds(
    lambda capped, stays: Development(capped, capped + stays), capped=spans(5, 12), stays=spans(6, 16)
)
castes = st.builds(Castes, hatches=spans(2, 4), worker=developments, drone=developments, queen=developments)
matings = st.builds(Mating, flies=spans(4, 20), lays=spans(1, 10))
days = spans(700_000, 700_060)


@given(developments, days)
def test_capped_is_before_the_last_good_day_is_before_emergence(caste: Development, egg: Span) -> None:
    assert caste.capped_on(egg).low < caste.emerges_on(egg).low
    assert caste.last_good_day(egg) == caste.emerges_on(egg).low - 1
    assert caste.last_good_day(egg) < caste.emerges_on(egg).low <= caste.emerges_on(egg).usual


@pytest.mark.parametrize(
    ("capped", "emerges"),
    [(Span(9, 10, 10), Span(9, 24, 25)), (Span(0, 8, 9), Span(20, 21, 22)), (Span(9, 10, 30), Span(24, 24, 25))],
)
def test_development_runs_forward(capped: Span, emerges: Span) -> None:
    with pytest.raises(ValueError, match="capped after laying and before it emerges"):
        Development(capped, emerges)


@given(castes, days)
def test_no_brood_is_no_brood_of_either_caste(clocks: Castes, stop: Span) -> None:
    gone = brood_after(stop, clocks)
    for kind in (gone.eggs, gone.open_worker, gone.open_drone, gone.worker, gone.drone):
        assert kind.low > stop.low
    assert gone.any.usual == max(gone.worker.usual, gone.drone.usual)
    assert gone.open_worker.usual < gone.worker.usual <= gone.any.usual


@given(castes, days)
def test_brood_comes_back_in_order(clocks: Castes, start: Span) -> None:
    back = brood_from(start, clocks)
    assert start.usual < back.larvae.usual < back.capped.usual < back.young_workers.usual
    assert back.capped.usual == min(back.capped_worker.usual, back.capped_drone.usual)


@given(castes, days, days)
def test_nothing_is_capped_on_any_sure_day(clocks: Castes, stop: Span, start: Span) -> None:
    """Whatever day in its span each thing falls on, no cell is capped on a day that ``surely`` names."""
    surely = broodless(stop, start, clocks).surely
    if surely is None:
        return
    first, last = surely
    assert first >= stop.high + max(clocks.worker.emerges.high, clocks.drone.emerges.high)
    assert last < start.low + min(clocks.worker.capped.low, clocks.drone.capped.low)


def test_without_new_laying_the_days_do_not_close() -> None:
    worker, drone = Development(Span(8, 9, 9), Span(20, 21, 22)), Development(Span(9, 10, 10), Span(24, 24, 25))
    clocks = Castes(Span(3, 3, 4), worker, drone, worker)
    assert broodless(Span.exact(100), None, clocks) == Broodless(opens=Span(124, 124, 125), closes=None)
    assert broodless(Span.exact(100), None, clocks).surely is None
    assert broodless(Span.exact(100), Span.exact(125), clocks).surely == (125, 132)
    assert broodless(Span.exact(100), Span.exact(117), clocks).surely is None


@given(days, spans(0, 6), spans(0, 10))
def test_older_brood_makes_an_earlier_queen(queenless: Span, age: Span, more: Span) -> None:
    assert raised_from(queenless, age + more).usual <= raised_from(queenless, age).usual
    assert raised_from(queenless, Span.exact(0)) == queenless


@given(days, spans(3, 5), castes, matings)
def test_a_walk_away_split_runs_in_order(split: Span, age: Span, clocks: Castes, mating: Mating) -> None:
    half = walk_away(split, age, clocks, mating)
    queen = half.queen
    assert queen == new_queen(raised_from(split, age), clocks, mating)
    for edge in ("low", "usual", "high"):
        steps = [getattr(day, edge) for day in (queen.sealed, queen.emerges, queen.mates, queen.first_egg)]
        assert steps == sorted(set(steps))
    assert half.old_brood == brood_after(split, clocks)
    assert half.broodless.closes == brood_from(queen.first_egg, clocks).capped - 1
