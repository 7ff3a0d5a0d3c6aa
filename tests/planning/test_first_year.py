"""A first season's looks: often enough to learn and to catch trouble, and no oftener. In: packages and nuclei."""

from __future__ import annotations

from itertools import pairwise

import pytest
from planning.yards import SAT, YEAR, colony, lines, on, outfit, plan, shipped, told, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import short_day
from ipmcal.planning.recall.situate import season_of

OLD_ENOUGH = 42
"""Days from which a package's box may be full (biology.yaml: 42 to 70)."""


def first_season(region: str, kind: str, weekdays: tuple[int, ...] | None = (SAT,)) -> tuple[Plan, int, int, int]:
    """The plan of a hive that begins when swarms do; the day it begins, the end of the flow, that of its looks."""
    there = yard(region=region)
    season = season_of(there, shipped(), shipped().regions[region].season[0].in_year(YEAR), YEAR)
    began = season.marks["swarm_start"].begins.usual
    flow = season.marks["flow_main"].ends
    assert flow is not None
    one = colony("1", told(began), kind, boxes=["deep"])
    made = plan(yard(one, region=region, program="first_year", weekdays=weekdays), began, book=shipped())
    return made, began, flow.usual, season.marks["winter_bee_rearing_start"].begins.usual + OLD_ENOUGH


def opened(made: Plan) -> list[int]:
    """The days on which the hive is opened, or something is done to it."""
    return sorted({t.planned for t in made.tasks if t.colony == "1" and t.planned is not None})


CASES = [(region, kind) for region in ("us_northeast", "england_south_midlands", "us_pacific_northwest")
         for kind in ("package", "nucleus")]  # fmt: skip


@pytest.mark.parametrize(("region", "kind"), CASES)
def test_no_gap_is_longer_than_the_season_allows(region: str, kind: str) -> None:
    """Weekly until the box may be full, at most a fortnight in the flow, three weeks after it: to a keeper of Saturdays
    a look that falls on another day comes up to six days later, and one that strips keep away waits for them."""
    made, began, flow, last = first_season(region, kind)
    days = [began, *opened(made)]
    for before, after in pairwise(day for day in days if day <= last):
        most = 10 if before < began + OLD_ENOUGH - 7 else 14 if before < flow else 21
        if any(note.endswith(f"waits until {short_day(after)}: something lies in the hive.") for note in made.notes):
            continue
        assert after - before <= most + 6, (told(before), told(after))


def test_the_looks_of_a_package_come_each_saturday_until_its_box_may_be_full() -> None:
    made, began, _, _ = first_season("us_northeast", "package")
    looks = [t.planned for t in made.tasks if t.method == "first_year_looks" and t.step == "growing"]
    assert len(looks) == 6
    gaps = [b - a for a, b in pairwise(sorted(day for day in looks if day is not None))]
    assert sum(7 <= gap <= 10 for gap in gaps) >= len(gaps) - 1, gaps  # one waits for strips to be out
    assert min(day for day in looks if day is not None) <= began + 18  # her first eggs are the package's own look


def test_a_keeper_of_all_days_looks_each_week_to_ten_days_and_not_oftener() -> None:
    made, *_ = first_season("us_northeast", "package", None)
    looks = sorted(t.planned for t in made.tasks if t.method == "first_year_looks" and t.planned is not None)
    assert min(b - a for a, b in pairwise(looks)) >= 7


def test_a_hive_that_came_through_winter_is_not_looked_at_so_often() -> None:
    made = plan(yard(colony("1"), program="first_year"), "03-01", book=shipped())
    assert not [t for t in made.tasks if t.method == "first_year_looks"]


def test_what_was_looked_at_moves_what_follows() -> None:
    one = colony("1", "05-08", "package", boxes=["deep"])
    mine = outfit(yard(one, program="first_year"), journal=lines("05-15 growth_look eggs", "05-22 growth_look eggs"))
    made = plan(mine, "05-23", book=shipped())
    ahead = sorted(t.planned for t in made.tasks if t.method == "first_year_looks" and t.planned is not None)
    assert on("05-29") <= ahead[0] <= on("06-01")


def test_a_hive_under_thymol_is_looked_into_when_its_tray_is_changed() -> None:
    """Between two trays the bars are free: the combs are looked at then, and no look waits five weeks for the last."""
    first = on("07-01")
    hive = colony("1", "2027-10-07", "package", boxes=["deep"], hive="langstroth_8")
    there = yard(hive, region="au_nsw", program="first_year", weekdays=(0, 3))
    made = plan(outfit(there), first, book=shipped())
    (change,) = [t for t in made.tasks if t.method == "thymol_gel" and t.step == "tray_2"]
    (visit,) = [v for v in made.visits if change.id in v.tasks]
    (look,) = [i for i in visit.tasks if made.task(i).logs == "late_look"]
    assert visit.tasks.index(look) < visit.tasks.index(change.id), "what goes in goes in last"
    assert not [note for note in made.notes if "something lies in the hive" in note]
    counts = {t.planned for t in made.tasks if t.logs == "count"}
    assert change.planned not in counts, "nobody counts while it only begins to work"
