"""What every command waits for before it plans: the shipped rules, read anew and as they were kept.

Run with ``pytest tests/bench --benchmark-only``. Aim: 0.05 s as kept.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from ipmcal import loading
from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.publishing.disk import kept
from ipmcal.reading.rules.readbefore import _parsed, shape_rules
from ipmcal.reading.rules.rulebook import load_rulebook


@pytest.mark.benchmark(group="rules", disable_gc=True)
def test_rules_as_they_were_kept(benchmark: BenchmarkFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "cache_folder", lambda: tmp_path)
    loading._read_before.cache_clear()
    loading.shipped_rules()

    def read() -> Rulebook:
        loading._read_before.cache_clear()
        return loading.shipped_rules()

    assert benchmark(read).sources


@pytest.mark.benchmark(group="rules", disable_gc=True)
def test_rules_read_anew(benchmark: BenchmarkFixture) -> None:
    def read() -> object:
        _parsed.cache_clear()
        shape_rules.cache_clear()
        return load_rulebook(folder("rules"))

    assert benchmark(read)
