"""The key of a sheet: what to do for each thing that may be found below a short frame, and when to be back.

In: the answers of tasks. Out: tables, as frozen values: days across, findings down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ipmcal.model.plan.tasks import Answer, Task

Own = dict[str, tuple[Answer, ...]]
"""By task id: the answers that are this trap frame's own."""


@dataclass(frozen=True, slots=True)
class Dates:
    """When to be back, from and to, and the day to write on the lid after the words ``lid``."""

    back: tuple[int, int] | None
    by: int | None
    lid: str


@dataclass(frozen=True, slots=True)
class KeyRow:
    """Findings that ask for the same, and what to do then: once, or day by day where it depends on the day.

    Each of ``acts`` comes with whether it is forced. ``trap`` and ``age`` say which trap frame the row is about (""
    where it is about any); ``age`` tells it from the hive's other one.
    """

    titles: tuple[str, ...]
    acts: tuple[tuple[str, bool], ...]
    trap: str = ""
    age: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """Rows with the same days, which are printed once: a cell for each day of the key, or none where there are none."""

    dates: tuple[Dates, ...]
    rows: tuple[KeyRow, ...]


@dataclass(frozen=True, slots=True)
class Key:
    """The answer to "what is below the short frame?": days across, findings down.

    ``stages`` holds the tasks of a hive's trap frames where the key is theirs alone: their windows say how far each is.
    """

    days: tuple[int, ...]
    bands: tuple[Band, ...]
    stages: tuple[Task, ...] = ()


def split_answers(tasks: Sequence[Task]) -> tuple[tuple[Answer, ...], Own]:
    """The answers that every trap frame of the visit shares, and what is left for each.

    Where all are at one stage, nothing is left. Else the findings whose answers hold for each (young drones hatching,
    honey) are said once, and at its hive each trap frame has the rest, with its own days.
    """
    asked = [task for task in tasks if task.answers]
    if not asked:
        return (), {}
    by_finding = [_by_finding(task.answers) if task.lid == asked[0].lid else {} for task in asked]
    same = [finding for finding, said in by_finding[0].items() if all(o.get(finding) == said for o in by_finding[1:])]
    shared = tuple(answer for answer in asked[0].answers if answer.finding in same)
    left = {task.id: tuple(answer for answer in task.answers if answer.finding not in same) for task in asked}
    return shared, {task_id: answers for task_id, answers in left.items() if answers}


def _by_finding(answers: Sequence[Answer]) -> dict[str, tuple[Answer, ...]]:
    return {f: tuple(a for a in answers if a.finding == f) for f in dict.fromkeys(answer.finding for answer in answers)}


def make_key(answers: Sequence[Answer], lid: str, trap: str = "", age: str = "") -> Key:
    """Answers as a table, with the words for the lid.

    Findings with the same days stand together, and those with the same act share a row; short bands come first.
    """
    days = tuple(sorted({answer.day for answer in answers}))
    bands: dict[tuple[Dates, ...], dict[tuple[tuple[str, bool], ...], list[str]]] = {}
    for said in _by_finding(answers).values():
        here = {answer.day: answer for answer in said}
        dates = tuple(_dates(here.get(day), lid) for day in days)
        acts = tuple((here[day].do, here[day].forced) if day in here else ("", False) for day in days)
        same = bands.setdefault(dates if any(d.back or d.by for d in dates) else (), {})
        same.setdefault(acts[:1] if len(set(acts)) == 1 else acts, []).append(said[0].title)
    return Key(
        days,
        tuple(
            Band(dates, tuple(KeyRow(tuple(titles), acts, trap, age) for acts, titles in rows.items()))
            for dates, rows in sorted(bands.items(), key=lambda band: len(band[1]))
        ),
    )


def hive_key(tasks: Sequence[Task], own: Own) -> Key | None:
    """One table for the trap frames of a hive that have answers of their own, the trap named in each row."""
    traps = [task for task in tasks if task.id in own]
    if not traps:
        return None
    keys = [make_key(own[task.id], task.lid, task.trap or "", _age(task, traps)) for task in traps]
    days = tuple(sorted({day for key in keys for day in key.days}))
    return Key(days, tuple(band for key in keys for band in key.bands), tuple(traps))


def _age(task: Task, traps: Sequence[Task]) -> str:
    """Older or younger than the hive's other trap, by their last good days; "" where that does not tell them apart."""
    stops = sorted({stop for other in traps if (stop := other.window.hard_stop) is not None})
    mine = task.window.hard_stop
    if len(stops) < 2 or mine is None:
        return ""
    if len(stops) == 2:
        return "older" if mine == stops[0] else "younger"
    return "oldest" if mine == stops[0] else "youngest" if mine == stops[-1] else ""


def _dates(answer: Answer | None, lid: str) -> Dates:
    if answer is None:
        return Dates(None, None, lid)
    back: tuple[int, int] | None = None
    if answer.back_on is not None:
        back = (answer.back_on, answer.back_on)
    elif answer.back_from is not None and answer.back_by is not None:
        back = (answer.back_from, answer.back_by)
    return Dates(back, answer.cut_by, lid)
