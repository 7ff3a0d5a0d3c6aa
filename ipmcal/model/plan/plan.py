"""The plan: what every document is made from. Made once, in ``planning/settle/settle.py``, and never changed.

All days are ordinals (``date.toordinal``); temperatures are °C, volumes mL, masses g. Text in here is either the
keeper's own, or comes from ``rules/``; sentences around it belong to ``templates/``.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.mites import MiteYear
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.plan.review import YearReview
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.plan.views import (
    Choosing,
    CourseView,
    Lying,
    YardCall,
    YardView,
)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something in the plan that the keeper has to read, and what would mend it; ``causes.py`` has the words."""

    yard: str
    subject: str
    what: Because
    helps: Because
    tasks: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Refusal:
    """A method that is not offered to a colony (or trap frame), with every reason; ``causes.py`` has the words."""

    yard: str
    subject: str
    method: str
    title: str
    whys: tuple[Because, ...]
    helps: tuple[Because, ...] = ()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class YardWorth:
    """The visits planned at a yard, and a proven least number.

    Where the hours of a visit spread the work over more days, or courses keep the days that were printed for them, the
    least number is that without it. ``spared``: the drives that it spares to move courses away from their printed days;
    0 where none was moved for that.
    """

    yard: str
    visits: int
    least: int
    spared: int = 0


@dataclass(frozen=True, slots=True)
class Drive:
    """A day on which several yards are visited: which drive it is, the visits in their order, and why in that order.

    ``minutes`` are those in the yards together; ``mind`` is what to mind between yards.
    """

    name: str
    day: int
    visits: tuple[str, ...]
    minutes: int
    reason: str
    mind: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole outcome for an outfit. ``tasks`` and ``visits`` are ordered by day, then walking order, then id.

    ``mites`` and ``reviews`` are made where documents show them (``planning/ahead``); elsewhere there are none.
    """

    outfit: str
    outfit_name: str
    as_of: int
    yards: tuple[YardView, ...]
    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    refusals: tuple[Refusal, ...]
    notes: tuple[str, ...] = ()
    rules_checked: tuple[str, ...] = field(default=())
    calls: tuple[YardCall, ...] = ()
    courses: tuple[CourseView, ...] = ()
    lying: tuple[Lying, ...] = ()
    worth: tuple[YardWorth, ...] = ()
    drives: tuple[Drive, ...] = ()
    choosing: tuple[Choosing, ...] = ()
    mites: tuple[MiteYear, ...] = ()
    reviews: tuple[YearReview, ...] = ()

    def task(self, task_id: str) -> Task:
        """The task with this id. Raises KeyError."""
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise KeyError(task_id)
