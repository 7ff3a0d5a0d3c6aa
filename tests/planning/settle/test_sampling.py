"""What an authority says of a colony that began in one way is said of no other."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import colony, on, outfit, shipped, yard

from ipmcal.planning.plan import make_plan

HIVED = "after it was hived"


@pytest.mark.parametrize(("kind", "said"), [("swarm", True), ("package", False), ("overwintered", False)])
def test_when_a_swarm_is_counted_is_said_of_swarms_alone(kind: str, *, said: bool) -> None:
    hive = colony("1", "2026-10-02" if kind != "overwintered" else "2024-01-01", kind)
    plan = make_plan(outfit(replace(yard(hive, region="au_nsw"), jurisdiction="au")), shipped(), on("2026-10-01"))
    counts = [task for task in plan.tasks if task.logs == "count"]
    assert counts
    assert any(HIVED in note for task in counts for note in (*task.notes, *task.how)) is said
