"""All yards of an outfit by date: day, yards in driving order, what must be done, sheet codes, what to load.

In: the plan, the codes of its sheets. Out: frozen values; ``templates/dates.html.j2`` and ``saying/dates.py`` say them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.plan import Drive, Plan
from ipmcal.model.plan.tasks import BringItem, Task, Visit
from ipmcal.model.plan.views import YardView
from ipmcal.publishing.memory.codes import known_code
from ipmcal.publishing.memory.ledger import Ledger
from ipmcal.publishing.paper.leaf import SEVERAL, head_words
from ipmcal.publishing.paper.naming import WorkLine, by_act, hives_of
from ipmcal.publishing.paper.sheet import sheet_lines, yard_of

SheetCodes = Mapping[str, str]
"""By a visit's id: the code of its sheet. A visit without a sheet has none."""
Load = tuple[tuple[str, tuple[str, ...]], ...]
"""Things by where they go."""


@dataclass(frozen=True, slots=True)
class YardStop:
    """A yard on a day: the code of its sheet ("" without one), what must be done there, what else, how long."""

    yard: str
    code: str
    visit: Visit
    musts: tuple[WorkLine, ...]
    others: tuple[WorkLine, ...]


@dataclass(frozen=True, slots=True)
class DatedDay:
    """A day with its yards in driving order, why in that order, and what to load for all of them together."""

    day: int
    stops: tuple[YardStop, ...]
    minutes: int
    reason: str
    mind: str
    load: Load


def codes_known(plan: Plan, ledger: Ledger) -> SheetCodes:
    """The codes that visits have as they were last published."""
    named = ((v.id, known_code(ledger, v.yard, v.day, sheet_lines(plan, v))) for v in plan.visits)
    return {visit: code for visit, code in named if code}


def dated_days(plan: Plan, codes: SheetCodes) -> tuple[DatedDay, ...]:
    """The days on which there is a visit, from the plan's own day on."""
    days: dict[int, list[Visit]] = {}
    for visit in plan.visits:
        if visit.day >= plan.as_of:
            days.setdefault(visit.day, []).append(visit)
    tasks = {task.id: task for task in plan.tasks}
    return tuple(_dated(plan, tasks, days[day], codes) for day in sorted(days))


def loaded_always(days: Sequence[DatedDay]) -> tuple[tuple[str, ...], tuple[DatedDay, ...]]:
    """What is loaded on each of some days, and the days without that: it is said once."""
    if len(days) < SEVERAL:
        return (), tuple(days)
    first = [title for _, titles in days[0].load for title in titles]
    always = tuple(t for t in first if all(any(t in titles for _, titles in day.load) for day in days))
    return always, tuple(replace(day, load=_without(day.load, always)) for day in days)


def _without(load: Load, said: Sequence[str]) -> Load:
    left = ((room, tuple(title for title in titles if title not in said)) for room, titles in load)
    return tuple((room, titles) for room, titles in left if titles)


def _dated(plan: Plan, tasks: Mapping[str, Task], visits: Sequence[Visit], codes: SheetCodes) -> DatedDay:
    drives = [drive for drive in plan.drives if drive.day == visits[0].day]
    ordered = sorted(visits, key=lambda visit: _place(visit, drives))
    stops = tuple(_stop(visit, tasks, yard_of(plan, visit.yard), codes) for visit in ordered)
    drive = next(iter(drives), None)
    minutes = sum(visit.minutes for visit in visits)
    load = _load(item for visit in ordered for item in visit.bring)
    return DatedDay(visits[0].day, stops, minutes, drive.reason if drive else "", drive.mind if drive else "", load)


def _place(visit: Visit, drives: Sequence[Drive]) -> tuple[int, int]:
    """Where a visit comes on its day: in its drive's order, and alone behind all drives."""
    found = ((i, drive.visits.index(visit.id)) for i, drive in enumerate(drives) if visit.id in drive.visits)
    return next(found, (len(drives), 0))


def _stop(visit: Visit, tasks: Mapping[str, Task], yard: YardView, codes: SheetCodes) -> YardStop:
    some = [tasks[name] for name in dict.fromkeys(visit.tasks) if name in tasks]
    pressing = set(visit.must)
    musts = _works([task for task in some if task.id in pressing], yard)
    others = _works([task for task in some if task.id not in pressing], yard)
    undated = tuple(replace(one, do=head_words(one.do, some), by=None) for one in others)
    return YardStop(yard.name, codes.get(visit.id, ""), visit, musts, undated)


def _works(tasks: Sequence[Task], yard: YardView) -> tuple[WorkLine, ...]:
    return tuple(
        WorkLine(do, hives_of(some, yard), min(task.window.by for task in some), some[0])
        for do, some in by_act(tasks).items()
    )


def _load(items: Iterable[BringItem]) -> Load:
    """Things for all yards of a day, by where they go; what is counted is added up."""
    counts: dict[tuple[str, str], int] = {}
    for item in items:
        key = item.load.replace("_", " "), item.title
        counts[key] = counts.get(key, 0) + item.count
    loads: dict[str, list[str]] = {}
    for (load, title), number in counts.items():
        loads.setdefault(load, []).append(f"{number} × {title}" if number > 1 else title)
    return tuple((load, tuple(titles)) for load, titles in loads.items())
