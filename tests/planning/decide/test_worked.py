"""What failed by its counts twice running is not planned with: another class is, while there is one.

Below 80 % twice: an assumption of ``rules/planning.yaml``; that mites which withstand one product of a class withstand
the others of it is common practice.
"""

from __future__ import annotations

from dataclasses import replace

from planning.yards import YEAR, colony, lines, on, outfit, shipped, yard

from ipmcal.model.plan.because import Code
from ipmcal.model.plan.plan import Plan
from ipmcal.planning.plan import make_plan

STRIPS = ("amitraz_strip", "formic_strips_pair")


def august(year: int, after: str) -> tuple[str, ...]:
    """A course of amitraz in August, counted on the day before and three weeks after."""
    return (
        f"{year}-07-31 count 24/300",
        f"{year}-08-01 strips_in amitraz_strip 2 lot K by AB",
        f"{year}-09-12 strips_out amitraz_strip 2 by AB",
        f"{year}-10-02 count {after}",
    )


def plan(*told: str, products: tuple[str, ...] = STRIPS) -> Plan:
    """The season after two Augusts of amitraz, with a keeper who names products, amitraz first."""
    mine = replace(yard(colony("1", f"{YEAR - 3}-06-01")), treatments=products)
    return make_plan(outfit(mine, journal=lines(*told)), shipped(), on(f"{YEAR}-01-10"), YEAR)


def given(made: Plan) -> set[str]:
    return {task.method.rstrip("_0123456789") for task in made.tasks if task.product and task.planned is not None}


def refused(made: Plan) -> list[str]:
    return [one.method for one in made.refusals if any(why.code is Code.CLASS_FAILED for why in one.whys)]


def test_a_class_that_failed_twice_running_is_not_planned() -> None:
    made = plan(*august(YEAR - 2, "12/300"), *august(YEAR - 1, "12/300"))
    assert "amitraz_strip" not in given(made)
    assert "formic_strips_pair" in given(made)
    assert refused(made) == ["amitraz_strip"]


def test_one_failure_is_no_reason() -> None:
    made = plan(*august(YEAR - 2, "2/300"), *august(YEAR - 1, "12/300"))
    assert refused(made) == []


def test_where_no_other_class_is_left_it_is_planned_all_the_same() -> None:
    made = plan(*august(YEAR - 2, "12/300"), *august(YEAR - 1, "12/300"), products=("amitraz_strip",))
    assert "amitraz_strip" in given(made)
    assert refused(made) == []
