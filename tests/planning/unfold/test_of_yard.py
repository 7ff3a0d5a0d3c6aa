"""Work of a whole yard that asks about its hives: frames for traps are made where some hive has a place for one."""

from __future__ import annotations

import pytest
from planning.yards import colony, on, outfit, shipped, short, yard

from ipmcal.planning.plan import make_plan

MADE = "frames_made"


@pytest.mark.parametrize("trapped", [True, False])
def test_frames_for_traps_are_made_where_a_hive_has_a_place_for_one(*, trapped: bool) -> None:
    hives = (colony("1"), colony("2", traps=[short()] if trapped else []))
    plan = make_plan(outfit(yard(*hives, program="full")), shipped(), on("11-10"))
    assert any(task.logs == MADE for task in plan.tasks) is trapped
