"""The year of every region and program as planning packs it: which families of faults each has.

``year_plans_packed.md`` beside this room says it of all, and how many have none. After a change write it anew with
``YEAR_PLANS=write pytest tests/planning/packed``, and read what differs; without it a few are compared, with
``YEAR_PLANS=all`` all.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from planning.invariants import check_plan
from planning.packed.packed_checks import CHECKS, PackedYear, faults
from planning.test_every_combination import colonies
from planning.yards import SHIPPED_REGIONS, YEAR, outfit, season_begins, shipped, yard

from ipmcal.planning.plan import make_plan

STORED = Path(__file__).parents[1] / "year_plans_packed.md"
WRITE = os.environ.get("YEAR_PLANS") == "write"
PROGRAMS = sorted(name for name, one in shipped().programs.items() if one.treatments)
BEGINNINGS = ("overwintered", "package")
EVERY = [(region, program, kind) for region in SHIPPED_REGIONS for program in PROGRAMS for kind in BEGINNINGS]
FEW = [("us_northeast", "trap_combs", "overwintered"), ("england_south_midlands", "first_year", "package"),
       ("us_texas_central", "few_drives", "overwintered")]  # fmt: skip
EACH = EVERY if WRITE or os.environ.get("YEAR_PLANS") == "all" else FEW


def row(region: str, program: str, kind: str) -> str:
    """A yard of one colony at the region's reference place, on Saturdays, planned on the season's first day."""
    first, law = season_begins(region), shipped().regions[region].jurisdiction
    assert law is not None
    one = next(colony for colony in colonies(region) if colony.kind == kind)
    kept = replace(yard(one, region=region, program=program), jurisdiction=law)
    plan = make_plan(outfit(kept), shipped(), first, YEAR)
    check_plan(plan, outfit(kept), shipped())
    found = faults(PackedYear(kept, plan, shipped()))
    return f"|{region}|{program}|{kind}|{'; '.join(found)}|"


@cache
def stored() -> list[str]:
    if WRITE:
        STORED.write_text("\n".join(page([row(*one) for one in EVERY])) + "\n", encoding="utf-8", newline="\n")
    return STORED.read_text(encoding="utf-8").splitlines()


def page(rows: list[str]) -> Iterator[str]:
    """All rows, and what they come to."""
    yield "# The year of every region, program and beginning as packed: which families of faults it has"
    yield ""
    yield "|region|program|beginning|faults|"
    yield "|---|---|---|---|"
    yield from rows
    told = [one.split("|")[4] for one in rows]
    by_family = Counter(name for one in told for name in one.split("; ") if name)
    yield ""
    yield f"Without any: {sum(not one for one in told)} of {len(rows)}."
    yield from (f"{name}: {len(rows) - by_family[name]} of {len(rows)}." for name in CHECKS)


@pytest.mark.parametrize(("region", "program", "kind"), EACH)
def test_a_packed_year_has_no_fault_that_is_not_stored(region: str, program: str, kind: str) -> None:
    """Every family of the table; what holds for any plan is asserted too."""
    assert row(region, program, kind) in stored(), "see the head of this file"


def test_the_stored_table_has_a_row_for_each_and_says_what_they_come_to() -> None:
    rows = [one for one in stored() if one.count("|") == 5][2:]
    assert [tuple(one.split("|")[1:4]) for one in rows] == EVERY
    assert stored() == list(page(rows))
