"""A club's list: the first run, one that finds nothing changed, one with a yard changed; without PDFs, in one process.

Run with ``pytest tests/bench --benchmark-only``. Aim: an unchanged run takes 2 % of the first.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from clubs import made_club, planned
from pytest_benchmark.fixture import BenchmarkFixture

NAMES = [f"Keeper {number}" for number in range(20)]
DAY = date(2027, 3, 10).toordinal()


@pytest.mark.benchmark(group="a club", disable_gc=True)
def test_the_first_run(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    club = benchmark.pedantic(made_club, (tmp_path, NAMES, DAY), rounds=1)  # type: ignore[no-untyped-call]
    assert len(list(club.glob("*/ledger.json"))) == len(NAMES)


@pytest.mark.benchmark(group="a club", disable_gc=True)
def test_a_run_that_finds_nothing_changed(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    before = sorted((path, path.stat().st_mtime_ns) for path in made_club(tmp_path, NAMES, DAY).glob("*/*"))
    club = benchmark.pedantic(planned, (tmp_path, DAY), rounds=3)  # type: ignore[no-untyped-call]
    assert sorted((path, path.stat().st_mtime_ns) for path in club.glob("*/*")) == before


@pytest.mark.benchmark(group="a club", disable_gc=True)
def test_a_run_with_one_yard_changed(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    club = made_club(tmp_path, NAMES, DAY)
    yard = next(path for path in sorted(club.glob("*/*.yaml")) if path.name != "outfit.yaml")
    yard.write_text(yard.read_text(encoding="utf-8").replace("days: [sat]", "days: [mon]"), encoding="utf-8")
    before = {path: path.read_bytes() for path in club.glob("*/ledger.json")}
    benchmark.pedantic(planned, (tmp_path, DAY), rounds=1)  # type: ignore[no-untyped-call]
    assert sum(path.read_bytes() != old for path, old in before.items()) == 1
