"""Speed of planning without documents: colonies a second on one core. Yards of 20, three regions, three kinds of week.

Run with ``pytest tests/bench --benchmark-only``. The aim is 1,000 colonies a second.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from planning.yards import kept_as_planned
from pytest_benchmark.fixture import BenchmarkFixture

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.plan import Scope, make_plan
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.yards.yards import load

REGIONS = (
    ("us_northeast", 43.0, -76.0, "us"),
    ("england_south_midlands", 52.0, -0.5, "uk"),
    ("us_upper_midwest", 45.0, -93.0, "us"),
)
DAYS = ("[sat]", "[sat, sun]", "[wed, sat]")
BEGAN = ("2025 overwintered", "2025 overwintered", "2025 overwintered", "2027-05-05 package", "2027-05-20 nucleus")
TRAPS = (", traps: [T1, T2]", ", traps: [T1]", ", traps: {D1: {kind: drawn, frames: 2}}", "")
PER_YARD = 20


def outfit(root: Path, colonies: int, program: str, book: Rulebook, per_yard: int = PER_YARD) -> Outfit:
    """An invented outfit of so many colonies, each yard at a place of its own."""
    (root / "outfit.yaml").write_text('outfit: big\nname: "Big"\n')
    for y in range(-(-colonies // per_yard)):
        region, latitude, longitude, country = REGIONS[y % 3]
        hive, boxes = ("langstroth_10", "[deep, deep]") if country == "us" else ("national", "[bs_brood, bs_brood]")
        rows = [
            f"  - {{key: {k}, began: {BEGAN[k % 5]}, hive: {hive}, boxes: {boxes}{TRAPS[k % 4]}"
            + (", queen: {clipped: yes}}" if k % 7 == 0 else "}")
            for k in range(y * per_yard, min((y + 1) * per_yard, colonies))
        ]
        head = (
            f'yard: "Y{y}"\n'
            f"place: {{latitude: {latitude + 0.01 * y:.2f}, longitude: {longitude}, elevation: {100 + y} m}}\n"
            f"region: {region}\njurisdiction: {country}\ndays: {DAYS[y % 3]}\nprogram: {program}\ncolonies:\n"
        )
        (root / f"y{y:03}.yaml").write_text(head + "\n".join(rows) + "\n")
    return load(root, folder("rules"), book).outfit


@pytest.mark.parametrize("program", ["trap_combs", "full"])
@pytest.mark.parametrize("colonies", [10, 100, 1000])
@pytest.mark.benchmark(group="plan", disable_gc=True)
def test_planning_without_documents(benchmark: BenchmarkFixture, tmp_path: Path, colonies: int, program: str) -> None:
    book = load_rulebook(folder("rules"))
    yards = outfit(tmp_path, colonies, program, book)
    made = benchmark.pedantic(make_plan, (yards, book, date(2027, 1, 2).toordinal()), rounds=3, iterations=1)
    benchmark.extra_info["colonies"] = colonies
    assert sum(len(view.colonies) for view in made.yards) == colonies


@pytest.mark.parametrize("days", ["[sat]", "any"])
@pytest.mark.parametrize("per_yard", [1, 3, 5, 20])
@pytest.mark.benchmark(group="a yard with explanations", disable_gc=True)
def test_a_yard_with_explanations(
    benchmark: BenchmarkFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, per_yard: int, days: str
) -> None:
    """Years from memory: the first run searches them, and is not timed."""
    monkeypatch.setitem(globals(), "DAYS", (days,) * 3)
    book = load_rulebook(folder("rules"))
    yards = outfit(tmp_path, per_yard, "full", book, per_yard)
    asked = (yards, book, date(2027, 1, 2).toordinal())
    explained = {"scope": Scope(explain=True)}
    made = benchmark.pedantic(make_plan, asked, explained, rounds=3, iterations=1, warmup_rounds=1)
    benchmark.extra_info["colonies"] = per_yard
    assert len(made.yards[0].colonies) == per_yard


@pytest.mark.benchmark(group="plan with a journal", disable_gc=True)
def test_planning_a_yard_of_forty_with_a_journal_of_2000_lines(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    book = load_rulebook(folder("rules"))
    yards = outfit(tmp_path, 40, "full", book, per_yard=40)
    day = date(2027, 8, 15).toordinal()
    done = kept_as_planned(make_plan(yards, book, date(2027, 1, 2).toordinal()), day)
    looks = [
        replace(e, word="inspected", trap=None, value="", day=e.day - k) for k in range(1, 6) for e in done if e.colony
    ]
    written = sorted((*done, *looks[: 2000 - len(done)]), key=lambda line: line.day)
    kept = replace(yards, journal=tuple(written))
    made = benchmark.pedantic(make_plan, (kept, book, day), rounds=3, iterations=1)
    assert len(written) == 2000
    assert sum(task.done is not None for task in made.tasks) >= len(done) // 2
