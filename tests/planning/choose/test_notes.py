"""What is to be read beside the work of a day: which entrances stay wide though all are made small."""

from __future__ import annotations

import pytest
from planning.yards import SAT, colony, plan, shipped, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task


def small(made: Plan) -> Task:
    return next(task for task in made.tasks if task.logs == "entrances_small")


def test_entrances_stay_wide_where_formic_acid_lies() -> None:
    """Labels of formic strips ask for the entrance over its whole width: a narrow one keeps the fumes in."""
    hives = (colony("1"), colony("2"))
    made = plan(yard(*hives, region="germany_central_europe", program="full", weekdays=(SAT,)), book=shipped())
    task, strips = small(made), [t for t in made.tasks if t.logs == "strips_in" and "formic" in t.method]
    assert {t.colony for t in strips if t.planned == task.planned} == {"1", "2"}
    assert [note for note in task.notes if "whole width there" in note] == [
        "Not 1 and 2: open over the whole width there, for formic acid, paired strips."
    ]


def test_nothing_is_said_where_nothing_wants_them_wide() -> None:
    made = plan(yard(colony("1"), region="us_northeast", program="full", weekdays=(SAT,)), book=shipped())
    assert not any("whole width there" in note for note in small(made).notes)


@pytest.mark.parametrize(("region", "weekday"), [("us_mid_atlantic", 2), ("canada_ontario", 2), ("us_northeast", SAT)])
def test_a_hive_is_not_fed_where_formic_acid_lies(region: str, weekday: int) -> None:
    """Labels of formic strips forbid feeding while they lie: the weighing of such a visit says so, and no other."""
    made = plan(yard(colony("1"), region=region, program="full", weekdays=(weekday,)), book=shipped())
    strips = {t.logs: t.planned or 0 for t in made.tasks if t.method == "formic_strips_pair" and t.logs != "inspected"}
    fed = [t for t in made.tasks if t.logs == "winter_fed" and t.planned is not None]
    lie = [strips["strips_in"] <= (t.planned or 0) < strips["strips_out"] for t in fed]
    told = [any("No feed while formic acid, paired strips is in" in note for note in t.notes) for t in fed]
    assert told == lie
    assert any(lie) == (region != "us_northeast")
