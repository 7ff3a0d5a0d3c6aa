"""What holds of any picture of mites: families of what must never be drawn. In: a plan, its pictures. Out: nothing."""

from __future__ import annotations

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.mites import MiteYear
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.rules.labels import treatment_of
from ipmcal.model.rules.rulebook import Rulebook


def check_mites(made: Plan, pictures: tuple[MiteYear, ...], book: Rulebook) -> None:
    """A hive stands in one picture; every course of the plan is a bar on its day; ranges are ranges."""
    for one in pictures:
        assert all(0 <= day.low <= day.median <= day.high for day in one.days), one.hives
        assert len(one.untreated) == len(one.days) <= YEAR_DAYS
        assert all(a.last < b.first for a, b in zip(one.lines, one.lines[1:], strict=False))
        assert one.winter[0] < one.winter[1]
        assert all(c.low <= c.load <= c.high and c.day <= made.as_of for c in one.counts)
        if not any(bar.planned for bar in one.courses):
            assert one.untreated == tuple(day.median for day in one.days)
    for view in made.yards:
        mine = [one for one in pictures if (one.yard, one.season) == (view.key, view.season)]
        hives = [key for one in mine for key in one.hives]
        assert len(set(hives)) == len(hives), hives
        _every_course(made, mine, book)


def _every_course(made: Plan, mine: list[MiteYear], book: Rulebook) -> None:
    for task in made.tasks:
        for one in mine:
            inside = task.colony in one.hives and one.first <= (task.planned or 0) <= one.last
            if not inside or not _gives(task, book):
                continue
            title = book.treatments[treatment_of(task.method, book)].title
            assert any(b.title == title and b.first <= (task.planned or 0) <= b.last for b in one.courses), task.id


def _gives(task: Task, book: Rulebook) -> bool:
    return bool(treatment_of(task.method, book)) and book.effect(task.logs) in ("treats", "strips_in")
