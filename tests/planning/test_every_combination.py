"""Every shipped region x program x kind of beginning, for a keeper who comes on Saturdays: a plan, or who gives way.

What comes out stands summed up in ``combinations.md`` beside this file. After a change of rules or planning, write it
anew with ``COMBINATIONS=write pytest tests/planning/test_every_combination.py``, and read what differs.
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
from planning.yards import SHIPPED_REGIONS, YEAR, colony, outfit, season_begins, shipped, short, told, yard

from ipmcal.model.outfit.outfit import Colony, Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.planning.plan import make_plan, season_of

TABLE = Path(__file__).parent / "combinations.md"
PROGRAMS = sorted(shipped().programs)
BEGAN = {"package": "drone_rearing_start", "nucleus": "supers_on", "split": "swarm_start", "swarm": "swarm_start"}
"""The mark of the season on whose usual day a colony of each kind is hived."""
GIVES_WAY = ("done early, on ", "comes late, on ", "too late on ", "ends on ", "it hangs, and no day of yours")
"""What a conflict may say of its task: a window, a last good day, or trapping as a whole gives way; never a label."""


def colonies(region: str) -> Iterator[Colony]:
    """A colony of each kind: an overwintered one with a short frame, and the others from their own days on."""
    first = season_begins(region)
    marks = season_of(yard(region=region), shipped(), first, YEAR).marks
    for kind in BEGINNINGS:
        if kind == "overwintered":
            yield colony("1", f"{YEAR - 2}-06-01", kind, [short()])
        else:
            began = replace(colony("1", kind=kind, boxes=["deep"]), began=marks[BEGAN[kind]].begins.usual)
            yield replace(began, began_text=f"{told(began.began)} {kind}")


@cache
def made(region: str, program: str) -> tuple[tuple[Outfit, Plan], ...]:
    """A yard of one colony, at the region's reference place, planned on the season's first day, for each kind."""
    first = season_begins(region)
    law = shipped().regions[region].jurisdiction
    assert law is not None, f"{region} names no usual jurisdiction"
    yards = [replace(yard(one, region=region, program=program), jurisdiction=law) for one in colonies(region)]
    return tuple((kept, make_plan(kept, shipped(), first, YEAR)) for kept in map(outfit, yards))


EACH = [(region, program) for region in SHIPPED_REGIONS for program in PROGRAMS]


@pytest.mark.parametrize(("region", "program"), EACH)
def test_every_combination_is_a_plan_that_holds(region: str, program: str) -> None:
    assert len(made(region, program)) == len(BEGINNINGS)
    for kept, plan in made(region, program):
        check_plan(plan, kept, shipped())
        assert plan.visits, f"{kept.yards[0].colonies[0].kind}: nobody ever comes"


@pytest.mark.parametrize(("region", "program"), EACH)
def test_every_conflict_names_its_task_and_what_gives_way(region: str, program: str) -> None:
    for kept, plan in made(region, program):
        for conflict in plan.conflicts:
            about = f"{kept.yards[0].colonies[0].kind}: {conflict}"
            assert conflict.tasks, about
            titles = {shipped().methods[plan.task(i).method].title for i in conflict.tasks}
            title, _, rest = because_words(conflict.what).partition(": ")
            if rest.startswith("brood combs are lifted"):  # over what lies on the bars: only what can't wait
                assert all(plan.task(i).window.hard_stop is not None for i in conflict.tasks), about
                continue
            assert titles == {title}, about
            assert rest.startswith(GIVES_WAY), about
            assert because_words(conflict.helps).startswith("a day "), about


def summed(region: str, program: str) -> Counter[str]:
    """Visits, tasks, conflicts and refusals of all kinds of beginning together, and the kinds that have conflicts."""
    total: Counter[str] = Counter()
    for kept, plan in made(region, program):
        total["visits"] += len(plan.visits)
        total["tasks"] += sum(task.planned is not None for task in plan.tasks)
        total["conflicts"] += len(plan.conflicts)
        total["not offered"] += len(plan.refusals)
        if plan.conflicts:
            total[kept.yards[0].colonies[0].kind] += len(plan.conflicts)
    return total


def table() -> str:
    """The table as it is stored."""
    head = ("region", "program", "visits", "tasks", "conflicts", "not offered", "conflicts by beginning")
    rows = [
        "# Every region x program, five yards of one colony each (one of each beginning), on Saturdays",
        "",
        f"|{'|'.join(head)}|",
        "|---|---|" + "---:|" * 4 + "---|",
    ]
    for region, program in EACH:
        total = summed(region, program)
        kinds = ", ".join(f"{kind} {total[kind]}" for kind in BEGINNINGS if total[kind])
        rows.append("|".join(["", region, program, *(str(total[column]) for column in head[2:6]), kinds, ""]))
    every = sum((summed(region, program) for region, program in EACH), Counter[str]())
    kinds = ", ".join(f"{kind} {every[kind]}" for kind in BEGINNINGS if every[kind])
    rows.append("|".join(["", "all", "all", *(str(every[column]) for column in head[2:6]), kinds, ""]))
    return "\n".join(rows) + "\n"


def test_the_outcome_is_the_table_that_is_stored() -> None:
    now = table()
    if os.environ.get("COMBINATIONS") == "write":
        TABLE.write_text(now, encoding="utf-8", newline="\n")
    stored, rows = TABLE.read_text(encoding="utf-8").splitlines(), now.splitlines()
    differs = [f"stored {was!r}, now {row!r}" for was, row in zip(stored, rows, strict=False) if was != row]
    assert not differs, f"{len(differs)} rows differ (see the head of this file): " + "; ".join(differs[:5])
    assert len(stored) == len(rows)
