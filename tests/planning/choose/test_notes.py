"""What is to be read beside the work of a day: which entrances stay wide though all are made small."""

from __future__ import annotations

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
