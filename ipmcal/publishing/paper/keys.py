"""The key of a sheet: what to do for each thing that may be found below a short frame, and when to be back.

In: the answers of tasks. Out: tables, as frozen values: days across, findings down.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.tasks import Answer, Task

Own = dict[str, tuple[Answer, ...]]
"""By task id: the answers that are this trap frame's own."""

WhoWords = Callable[[Sequence[Task]], str]
"""Names the trap frames of some tasks."""


@dataclass(frozen=True, slots=True)
class Dates:
    """When to be back, from and to, and the day to write on the lid after the words ``lid``."""

    back: tuple[int, int] | None
    by: int | None
    lid: str


@dataclass(frozen=True, slots=True)
class KeyRow:
    """Findings that ask for the same, and what to do then: once, or day by day where it depends on the day.

    Each of ``acts`` comes with whether it is forced.
    """

    titles: tuple[str, ...]
    acts: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class Band:
    """Rows with the same days, which are printed once: a cell for each day of the key, or none where there are none."""

    dates: tuple[Dates, ...]
    rows: tuple[KeyRow, ...]


@dataclass(frozen=True, slots=True)
class AnswerPart:
    """What holds for some trap frames, named by ``who`` ("": for any), and from when to when they are due."""

    who: str
    due: tuple[int, int] | None
    bands: tuple[Band, ...]


@dataclass(frozen=True, slots=True)
class AnswerTable:
    """The answer to "what is below the short frame?": days across, findings down."""

    days: tuple[int, ...]
    parts: tuple[AnswerPart, ...]

    @property
    def long_back(self) -> bool:
        """Whether some days to be back are a span, which takes a wider column: "Wed 7 to Fri 16 July"."""
        backs = (dates.back for part in self.parts for band in part.bands for dates in band.dates)
        return any(back is not None and back[0] != back[1] for back in backs)

    @property
    def one_line(self) -> bool:
        """Whether the days of an answer stand on one line: those of one day, with one day to be back."""
        backs = (dates.back for part in self.parts for band in part.bands for dates in band.dates)
        return len(self.days) == 1 and all(back is None or back[0] == back[1] for back in backs)


def split_answers(tasks: Sequence[Task]) -> tuple[tuple[Answer, ...], Own]:
    """The answers that every trap frame of the visit shares, and what is left for each.

    Where all are at one stage, nothing is left. Else the findings whose answers hold for each (young drones hatching,
    honey) are said once, and each trap frame has the rest for itself, with its own days.
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


def _bands(answers: Sequence[Answer], lid: str, days: Sequence[int]) -> tuple[Band, ...]:
    """Rows of answers, with the words for the lid.

    Findings with the same days stand together, and those with the same act share a row; short bands come first.
    """
    bands: dict[tuple[Dates, ...], dict[tuple[tuple[str, bool], ...], list[str]]] = {}
    for said in _by_finding(answers).values():
        here = {answer.day: answer for answer in said}
        dates = tuple(_dates(here.get(day), lid) for day in days)
        acts = tuple((here[day].do, here[day].forced) if day in here else ("", False) for day in days)
        same = bands.setdefault(dates if any(d.back or d.by for d in dates) else (), {})
        same.setdefault(acts[:1] if len(set(acts)) == 1 else acts, []).append(said[0].title)
    return tuple(
        Band(dates, tuple(KeyRow(tuple(titles), acts) for acts, titles in rows.items()))
        for dates, rows in sorted(bands.items(), key=lambda band: len(band[1]))
    )


def yard_key(tasks: Sequence[Task], shared: Sequence[Answer], own: Own, who: WhoWords) -> AnswerTable | None:
    """One table for all trap frames of a visit: first what depends on how far each is, then what holds for any.

    Trap frames with the same answers share their rows. None where nothing is looked for.
    """
    stages: dict[tuple[tuple[Answer, ...], str], list[Task]] = {}
    for task in tasks:
        if task.id in own:
            stages.setdefault((own[task.id], task.lid), []).append(task)
    everything = (*shared, *(answer for answers, _ in stages for answer in answers))
    days = tuple(sorted({answer.day for answer in everything}))
    parts = [AnswerPart(who(some), _due(some), _bands(*key, days)) for key, some in stages.items()]
    if shared:
        lid = next(task.lid for task in tasks if task.answers)
        parts.append(AnswerPart("", None, _bands(shared, lid, days)))
    return AnswerTable(days, tuple(parts)) if parts else None


def _due(tasks: Sequence[Task]) -> tuple[int, int]:
    """From the first to the last day on which these trap frames are due."""
    return min(task.window.opens for task in tasks), max(task.window.closes for task in tasks)


def _dates(answer: Answer | None, lid: str) -> Dates:
    if answer is None:
        return Dates(None, None, lid)
    back: tuple[int, int] | None = None
    if answer.back_on is not None:
        back = (answer.back_on, answer.back_on)
    elif answer.back_from is not None and answer.back_by is not None:
        back = (answer.back_from, answer.back_by)
    return Dates(back, answer.cut_by, lid)
