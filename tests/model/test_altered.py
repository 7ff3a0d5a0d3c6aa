"""A value altered quickly is the one that is altered in the common way."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields, replace

import pytest

from ipmcal.model.altered import altered
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.planning.days.frame import Cursor
from ipmcal.planning.labels.standing import CourseSpell, Standing

DAYS = KeeperDays((1, 2, 3))
SPELL = CourseSpell("a", "b", 1, None)
HIVE = Standing(kind="split", full=7, brood_known=False, flows={"main": ((1, 2),)}, courses=(SPELL,))


@pytest.mark.parametrize("value", [HIVE, SPELL, DAYS], ids=lambda one: type(one).__name__)
def test_each_part_changed_alone_as_in_the_common_way(value: Standing | CourseSpell | KeeperDays) -> None:
    for one in fields(value):
        quick = altered(value, **{one.name: "other"})
        assert quick == replace(value, **{one.name: "other"})  # type: ignore[arg-type]
        assert repr(quick) == repr(replace(value, **{one.name: "other"}))  # type: ignore[arg-type]
        assert getattr(quick, one.name) == "other"
        assert getattr(value, one.name) != "other"


def test_it_stays_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        altered(SPELL, began=2).began = 3  # type: ignore[misc]


def test_what_it_has_not_is_refused() -> None:
    with pytest.raises(TypeError, match="CourseSpell has no begun"):
        altered(SPELL, begun=2)


@pytest.mark.parametrize("value", [Span(1, 2, 3), Cursor("a", 1, {})], ids=["checked", "without slots"])
def test_what_is_checked_or_remembers_is_made_in_the_common_way(value: Span | Cursor) -> None:
    with pytest.raises(TypeError, match="common way"):
        altered(value)


def test_tasks_are_of_the_quick_kind() -> None:
    task = Task("1/a/1", "y", "1", None, "a", "b", 1, 2027, "do", None, 1, None, Status.PLANNED)  # type: ignore[arg-type]
    assert altered(task, colony="2") == replace(task, colony="2")
