"""Every shipped region x program x kind of beginning, for a keeper who comes on Saturdays: a plan, or who gives way.

What comes out stands summed up in ``combinations.md`` beside this file. After a change of rules or planning, write it
anew with ``COMBINATIONS=write pytest tests/planning/test_every_combination.py``, and read what differs.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

import pytest
from planning.invariants import check_plan
from planning.yards import SHIPPED_REGIONS, YEAR, colony, outfit, season_begins, shipped, short, told, yard
from sweeps import grid

from ipmcal.model.outfit.outfit import Colony, Outfit
from ipmcal.model.plan.because import Code
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


@lru_cache(maxsize=2)
def made(region: str, program: str) -> tuple[tuple[Outfit, Plan], ...]:
    """A yard of one colony, at the region's reference place, planned on the season's first day, for each kind."""
    first = season_begins(region)
    law = shipped().regions[region].jurisdiction
    assert law is not None, f"{region} names no usual jurisdiction"
    yards = [replace(yard(one, region=region, program=program), jurisdiction=law) for one in colonies(region)]
    return tuple((kept, make_plan(kept, shipped(), first, YEAR)) for kept in map(outfit, yards))


EACH = [(region, program) for region in SHIPPED_REGIONS for program in PROGRAMS]


@pytest.mark.parametrize(("region", "program"), grid(SHIPPED_REGIONS, PROGRAMS))
def test_every_combination_is_a_plan_that_holds(region: str, program: str) -> None:
    """All that is asked of a combination at once: it is planned in one process only, and takes seconds there."""
    assert len(made(region, program)) == len(BEGINNINGS)
    for kept, plan in made(region, program):
        check_plan(plan, kept, shipped())
        assert plan.visits, f"{kept.yards[0].colonies[0].kind}: nobody ever comes"
        conflicts_name_what_gives_way(kept, plan)
    assert row(region, program) in stored().splitlines(), "see the head of this file"


def conflicts_name_what_gives_way(kept: Outfit, plan: Plan) -> None:
    for conflict in plan.conflicts:
        about = f"{kept.yards[0].colonies[0].kind}: {conflict}"
        assert conflict.tasks, about
        titles = {shipped().methods[plan.task(i).method].title for i in conflict.tasks}
        title, _, rest = because_words(conflict.what).partition(": ")
        if rest.startswith("brood combs are lifted"):  # over what lies on the bars: what can't wait, or is not put off
            lifted, goes_on = map(plan.task, conflict.tasks), shipped().planning.not_put_off
            assert all(task.window.hard_stop is not None or task.logs in goes_on for task in lifted), about
            continue
        if conflict.what.code is Code.NOT_QUIET:  # a course's quiet days, and the work that falls into them
            assert conflict.helps.code is Code.PUT_OFF, about
            continue
        assert titles == {title}, about
        assert rest.startswith(GIVES_WAY), about
        assert because_words(conflict.helps).startswith(("a day ", "an earlier day ")), about


# The table ------------------------------------------------------------------------------------------------------------

COLUMNS = ("visits", "tasks", "conflicts", "not offered")
HEAD = (
    "# Every region x program, five yards of one colony each (one of each beginning), on Saturdays",
    "",
    f"|region|program|{'|'.join(COLUMNS)}|conflicts by beginning|",
    "|---|---|" + "---:|" * len(COLUMNS) + "---|",
)


@cache
def stored() -> str:
    if os.environ.get("COMBINATIONS") == "write":
        rows = [*HEAD, *(row(region, program) for region, program in EACH)]
        text = "\n".join([*rows, all_of(rows[len(HEAD) :])]) + "\n"
        TABLE.write_text(text, encoding="utf-8", newline="\n")
    return TABLE.read_text(encoding="utf-8")


def row(region: str, program: str) -> str:
    """Visits, tasks, conflicts and refusals of all kinds of beginning together, and the kinds that have conflicts."""
    total: Counter[str] = Counter()
    for kept, plan in made(region, program):
        total["visits"] += len(plan.visits)
        total["tasks"] += sum(task.planned is not None for task in plan.tasks)
        total["conflicts"] += len(plan.conflicts)
        total["not offered"] += len(plan.refusals)
        if plan.conflicts:
            total[kept.yards[0].colonies[0].kind] += len(plan.conflicts)
    return told_row(region, program, total)


def told_row(region: str, program: str, total: Counter[str]) -> str:
    kinds = ", ".join(f"{kind} {total[kind]}" for kind in BEGINNINGS if total[kind])
    return "|".join(["", region, program, *(str(total[column]) for column in COLUMNS), kinds, ""])


def all_of(rows: Sequence[str]) -> str:
    """The last row: the sums of the others."""
    every: Counter[str] = Counter()
    for _, _, _, *numbers, kinds, _ in (one.split("|") for one in rows):
        every.update({column: int(number) for column, number in zip(COLUMNS, numbers, strict=True)})
        every.update({kind: int(number) for kind, number in (one.split() for one in kinds.split(", ") if one)})
    return told_row("all", "all", every)


def test_the_stored_table_has_a_row_for_each_and_their_sum() -> None:
    *rows, last = stored().splitlines()
    assert tuple(rows[: len(HEAD)]) == HEAD
    assert [tuple(one.split("|")[1:3]) for one in rows[len(HEAD) :]] == EACH
    assert last == all_of(rows[len(HEAD) :])
