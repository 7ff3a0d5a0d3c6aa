"""Speed of choosing a year's courses: CPU a class, cold, at 20 places; and from memory.

Run with ``pytest tests/bench --benchmark-only``. The aims are 0.5 s a class at a place seen first, 5 ms from memory.
"""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from planning.mites.year_yards import question, the_yard
from planning.yards import YEAR, outfit, season_begins, shipped
from pytest_benchmark.fixture import BenchmarkFixture

from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.plan import Memory, year_plan
from ipmcal.planning.plan import make_plan

REGIONS = ("us_northeast", "england_south_midlands", "us_upper_midwest", "us_texas_central")
PLACES = [(region, step) for region in REGIONS for step in range(5)]


def asked(region: str, step: int) -> YearQuestion:
    """A yard some way up the hill from its region's reference."""
    one = the_yard(region, "full")
    moved = outfit(replace(one, elevation=one.elevation + 40.0 * step))
    return question(moved, make_plan(moved, shipped(), season_begins(region), YEAR))


@pytest.mark.benchmark(group="a year's courses", disable_gc=True)
def test_a_year_at_a_place_seen_first(benchmark: BenchmarkFixture) -> None:
    questions = [asked(*place) for place in PLACES]
    times = []

    def all_of_them() -> None:
        for one in questions:
            began = time.process_time()
            year_plan(one)
            times.append(time.process_time() - began)

    benchmark.pedantic(all_of_them, rounds=1, iterations=1)
    told = [sum(times) / len(times), sorted(times)[len(times) // 2], max(times)]
    benchmark.extra_info["CPU seconds a class, mean, median and most"] = told


@pytest.mark.benchmark(group="a year's courses", disable_gc=True)
def test_a_year_from_memory(benchmark: BenchmarkFixture) -> None:
    memory: Memory = {}
    one = asked("us_northeast", 0)
    made = year_plan(one, memory)
    assert benchmark(year_plan, asked("us_northeast", 0), memory) is made
