"""The page on which a phone answers a yard's sheets: buttons for what a sheet has to tick, to circle, to write.

In: the plan, a yard, the codes of its sheets. Out: a frozen view. The page around it, which makes the message that
``ipmcal log --from`` reads, is ``templates/answering.html.j2``: one file, no request, without a network too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.signs import printed_code
from ipmcal.model.values.words import month_day, short_day
from ipmcal.publishing.paper.naming import hive_name
from ipmcal.publishing.paper.sheet import sheet_lines

SAYS_DONE, SAYS_NOT = "done", "not done"
MITES = ("mites", "with mites")
"""The first blank of what is counted."""
FRAMES = "frames of bees"
"""The blank of the frames that bees cover."""
TAKEN_OUT = "out"
"""The blank of strips that come out."""


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """A line of a sheet: its number, whose it is, what to do, its last good day in words ("": none).

    ``words`` are buttons, ``counted`` the names of the two numbers of a count, ``given`` those of what is written of a
    product (how much; of which lot, where it goes in), ``noted`` what its label wants noted besides, ``written`` what
    else has to be written. ``frames``: frames of bees may be told besides.
    """

    number: int
    who: str
    do: str
    by: str
    words: tuple[str, ...]
    counted: tuple[str, ...] = ()
    given: tuple[str, ...] = ()
    written: str = ""
    frames: bool = False
    noted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AnswerSheet:
    """A sheet to answer: its code and day as they stand in the message, its day in words, its lines."""

    code: str
    day: str
    title: str
    lines: tuple[AnswerLine, ...]


def answer_sheets(plan: Plan, yard: YardView, codes: Mapping[str, str]) -> tuple[AnswerSheet, ...]:
    """The sheets of a yard's visits that have a code, by the visit's id, in order of day."""
    visits = sorted((v for v in plan.visits if v.yard == yard.key and v.id in codes), key=lambda v: v.day)
    return tuple(_sheet(plan, yard, visit, codes[visit.id]) for visit in visits)


def _sheet(plan: Plan, yard: YardView, visit: Visit, code: str) -> AnswerSheet:
    tasks = {task.id: task for task in plan.tasks}
    lines = tuple(_line(n, tasks[name], yard) for n, name in enumerate(sheet_lines(plan, visit), 1))
    return AnswerSheet(printed_code(code), month_day(visit.day), short_day(visit.day), lines)


def _line(number: int, task: Task, yard: YardView) -> AnswerLine:
    who = " ".join(part for part in (hive_name(task, yard) or "Yard", task.trap) if part)
    by = "" if task.window.hard_stop is None else f"{task.lid or 'BY'} {short_day(task.window.hard_stop)}"
    counted = task.blanks if task.blanks[:1] and task.blanks[0] in MITES else ()
    late = tuple(name for name in task.beside if name != FRAMES)  # what a finding asks to count on the spot
    given = tuple(name for name in task.blanks if name == TAKEN_OUT)
    if task.product and not counted and not given:
        given = task.blanks[-2:]
    noted = tuple(name for name in task.blanks if name not in given) if given else ()
    written = "" if counted or given else ", ".join(task.blanks)
    done = () if counted or given or task.look else (SAYS_DONE,)  # where a finding decides, it would not say which
    words = (*(word.lower() for word in task.circle), *done, SAYS_NOT)
    return AnswerLine(number, who, task.do, by, words, counted or late, given, written, FRAMES in task.beside, noted)
