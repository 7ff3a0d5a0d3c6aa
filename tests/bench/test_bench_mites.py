"""How long the mites of a colony take. Aim: one draw of a colony-year in a millisecond, on one core."""

from __future__ import annotations

import pytest
from biology.mite_places import YEAR, day, figures, marks_at
from pytest_benchmark.fixture import BenchmarkFixture

from ipmcal.biology.mites import draws
from ipmcal.biology.mites.colony import OVERWINTERED, Beginning, History, colony
from ipmcal.biology.mites.counted import weigh
from ipmcal.biology.mites.courses import handled
from ipmcal.biology.mites.handling import NOTHING, Course, Reach
from ipmcal.biology.mites.run import Begin, run
from ipmcal.biology.mites.stretches import untreated, works

FIRST, LAST = day("01-01"), day("12-31")
MARKS = marks_at("england_south_midlands")
USUAL = draws.usual(figures(), False)
COLONY = colony(MARKS, OVERWINTERED, figures(), USUAL, (FIRST, LAST))
BEGIN = Begin(FIRST, 200.0, LAST)
PACKAGE = History(Beginning(day("04-15"), 11000.0, 0.0, day("04-18")))
FORMIC = [Course(Reach.CELLS, day("08-07"), 7, 0.6, 0.95), Course(Reach.DOSE, day("12-11"), 1, 0.9, 0.97)]
STRIPS = Course(Reach.CONTACT, day("08-07"), 42, 0.75, 0.98)
MOST = 0.001
"""Seconds a colony-year."""


def fastest(benchmark: BenchmarkFixture) -> float:
    """The fastest of the rounds, s: others use the machine too. 0 where benchmarks are switched off."""
    return benchmark.stats.stats.min if benchmark.enabled else 0.0


def test_mites_of_a_colony_year(benchmark: BenchmarkFixture) -> None:
    handling = handled(NOTHING, FORMIC, figures(), COLONY, USUAL)
    trace = benchmark(run, figures().nest, COLONY, USUAL.lives, BEGIN, 2.5, handling)
    assert len(trace.all) == 365
    assert fastest(benchmark) <= MOST


@pytest.mark.parametrize("history", [OVERWINTERED, PACKAGE], ids=["overwintered", "package"])
def test_a_draw_of_a_season_and_the_next(benchmark: BenchmarkFixture, history: History) -> None:
    """Bees, brood and mites of two years, as a plan needs them: two colony-years."""

    def one() -> float:
        here = colony(MARKS, history, figures(), USUAL, (FIRST, day("12-31", YEAR + 1)))
        begin = Begin(here.runs_from, 200.0, here.last)
        return run(figures().nest, here, USUAL.lives, begin, 2.5).all[-1]

    assert benchmark(one) > 0
    assert fastest(benchmark) <= 2 * MOST


def test_what_the_search_needs_of_a_run(benchmark: BenchmarkFixture) -> None:
    trace = run(figures().nest, COLONY, USUAL.lives, BEGIN, 2.5)
    one = benchmark(untreated, COLONY, trace, 2.5, figures())
    assert one.between(FIRST, LAST).mites(200.0) > 200


def test_a_contact_course_as_a_map(benchmark: BenchmarkFixture) -> None:
    one = untreated(COLONY, run(figures().nest, COLONY, USUAL.lives, BEGIN, 2.5), 2.5, figures())
    assert benchmark(works, one, STRIPS, 0.9, figures()).a < 0.3


def test_a_contact_course_solved_for(benchmark: BenchmarkFixture) -> None:
    assert benchmark(handled, NOTHING, [STRIPS], figures(), COLONY, USUAL).on_bees


def test_a_count_weighed(benchmark: BenchmarkFixture) -> None:
    loads = [0.01 * 1.05**i for i in range(200)]
    assert len(benchmark(weigh, loads, 12, 300, figures().weighing, brood=True).factors) == 200
