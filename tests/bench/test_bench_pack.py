"""How long packing takes. Aims, on one core: 20 ms for about a hundred keeper's days, 100 ms for any day of a year."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.pack.by_rules import pack, pack_drives
from planning.pack.strand_samples import random_outfit, random_yard
from pytest_benchmark.fixture import BenchmarkFixture


@pytest.mark.parametrize("distinct", [8, 12, 15])
@pytest.mark.parametrize("weekdays", [1, 2, 7])
def test_a_yard(benchmark: BenchmarkFixture, weekdays: int, distinct: int) -> None:
    strands, days = random_yard(100 + distinct, weekdays, distinct)
    placing = benchmark.pedantic(pack, (strands, days), rounds=3, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert placing.lower_bound <= len(placing.visits)


def test_forty_equal_colonies(benchmark: BenchmarkFixture) -> None:
    strands, days = random_yard(108, 2, 4)
    colonies = [replace(strand, key=f"{strand.key} of {i}") for i in range(40) for strand in strands]
    placing = benchmark.pedantic(pack, (colonies, days), rounds=3, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert placing.visits == pack(strands, days).visits


@pytest.mark.parametrize("seed", [0, 1, 69])
def test_an_outfit_of_several_yards(benchmark: BenchmarkFixture, seed: int) -> None:
    """Proved at once, of middling size, and one of those that take longest."""
    yards = random_outfit(seed)
    placed = benchmark.pedantic(pack_drives, (yards,), rounds=3, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert placed.least_drives <= len(placed.days)
