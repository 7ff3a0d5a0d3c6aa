"""Programs side by side: all else alike, and what each comes to. In: small invented yards. Out: checks."""

from __future__ import annotations

from functools import cache

from planning.yards import YEAR, colony, lines, on, outfit, shipped, short, yard

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.compared import ProgramYear
from ipmcal.planning.plan import make_plan
from ipmcal.planning.programs import by_programs

OLD, NEW = colony("1", "2025-06-01", traps=[short()]), colony("2", "05-08", "package", boxes=["deep"])
MINE = outfit(yard(OLD, NEW))


@cache
def both(first: str = "full", second: str = "counting_only") -> tuple[ProgramYear, ...]:
    return tuple(by_programs(MINE, shipped(), on("02-01"), YEAR, (first, second)))


def test_a_program_is_planned_as_if_it_stood_in_the_yard_file() -> None:
    for one in both():
        there = outfit(yard(OLD, NEW, program=one.program))
        plan = make_plan(there, shipped(), on("02-01"), YEAR)
        assert one.visits == len(plan.visits)
        assert one.minutes == sum(visit.minutes for visit in plan.visits)


def test_the_same_program_twice_comes_to_the_same() -> None:
    one, other = both("full", "full")
    assert one == other


def test_without_products_nothing_is_given_and_more_hives_are_over_the_line() -> None:
    """Untreated, mites grow some 100 times a year and more (Kraus & Page 1995: 300), over any authority's line."""
    full, counting = both()
    assert any(bar.planned for bar in full.mites[0].courses)
    assert not counting.mites[0].courses
    for a, b in zip(full.odds, counting.odds, strict=True):
        assert a is not None
        assert b is not None
        assert a.this <= b.this
        assert a.settled <= b.settled
    untreated = counting.odds[0]
    assert untreated is not None
    assert untreated.settled > 0.9


def test_hives_of_winter_and_of_this_season_each_have_their_odds() -> None:
    for one in both():
        assert [year.kind for year in one.mites] == ["overwintered", "new"]
        assert len(one.odds) == len(one.mites)


def test_what_was_written_counts_for_both() -> None:
    told = Outfit("outfit", "Outfit", MINE.yards, lines("06-19 count 24/300"))
    for one in by_programs(told, shipped(), on("07-01"), YEAR, ("full", "counting_only")):
        assert [count.load for count in one.mites[0].counts] == [8.0]
