"""Status: where an outfit stands, in a few lines; or a line a yard, for a mentor with many keepers.

In: a plan. Out: lines of text.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import counted, inside, joined, short_day, year
from ipmcal.publishing.paper.season import merged

_Days = TypeVar("_Days", int, tuple[int, int])

TOLD_AHEAD = 14
"""Days ahead that are told one by one; a matter of reading, not of bees."""


def status_lines(plan: Plan, counts: frozenset[str]) -> Iterator[str]:
    """What is due in a yard, yard by yard; ``counts`` are the journal's words for counts of mites."""
    yield f"{plan.outfit_name}, {short_day(plan.as_of)}"
    for yard in yards_once(plan):
        yield f"  {yard.name}: {next_visit(plan, yard)}"
        for head, words in matters_of(plan, yard, counts):
            yield f"    {head}: {words}"


def roster_lines(plans: Sequence[Plan], counts: frozenset[str]) -> Iterator[str]:
    """A table, a line a yard: next visit, due to count, over the line, strips in, last heard of."""
    head = ("yard", "next visit", "count due", "over the line", "to take out", "last line written")
    rows = [head]
    for plan in plans:
        for yard in yards_once(plan):
            some = dict(matters_of(plan, yard, counts))
            rows.append(
                (
                    f"{plan.outfit_name}, {yard.name}" if len(yards_once(plan)) > 1 else plan.outfit_name,
                    next_visit(plan, yard).removeprefix("next visit "),
                    some.get("count mites", ""),
                    some.get("over the line", ""),
                    some.get("take out", ""),
                    _heard(plan, yard),
                )
            )
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def yards_once(plan: Plan) -> list[YardView]:
    """The yards, each once, however many of its seasons are planned."""
    return list({yard.key: yard for yard in reversed(plan.yards)}.values())[::-1]


def next_visit(plan: Plan, yard: YardView) -> str:
    """The next visit of a yard, in words."""
    visit = next((v for v in plan.visits if v.yard == yard.key), None)
    if visit is None:
        return "no visit is planned"
    later = "" if year(visit.day) == year(plan.as_of) else f" {year(visit.day)}"
    return f"next visit {short_day(visit.day)}{later}"


def matters_of(plan: Plan, yard: YardView, counts: frozenset[str]) -> Iterator[tuple[str, str]]:
    """What is to be told of a yard, each with its head; ``counts`` are the journal's words for counts of mites."""
    own = [task for task in plan.tasks if task.yard == yard.key]
    due = [t for t in own if t.planned is not None and t.planned <= plan.as_of + TOLD_AHEAD]
    if yard.sick_words:
        yield "looks sick", yard.sick_words.removeprefix("Looks sick: ")
    yield from _listed("at once", _at_once(plan, yard))
    yield from _listed("LATE, was due", _late(plan, due))
    yield from _listed("comes too late", _too_late(plan, due))
    yield from _listed("conflicts", _conflicts(plan, yard))
    yield from _listed("over the line", _over(plan, yard))
    yield from _listed("counted", _treated_since(plan, yard))
    yield from _listed("count mites", _days([t for t in due if t.logs in counts]))
    yield from _listed("count again", [f"{c}" for call in plan.calls if call.yard == yard.key for c in call.again])
    yield from _listed("last good days", _stops([t for t in due if not _is_over(plan, t)]))
    yield from _listed("take out", _courses(plan, yard))
    yield from _listed("mind", _warnings(yard))
    missed = [t for t in own if t.status is Status.MISSED and _recent(plan, t)]
    yield from _listed("missed", [_who(t) for t in missed if t.done is None])
    yield from _listed("done too late", [f"{_who(t)} on {short_day(t.done)}" for t in missed if t.done is not None])
    yield from _listed("not in the journal", _asked(plan, own))
    yield from _listed("printed, not heard of", _printed(own))
    yield from _listed("nothing heard of", _silent(plan, yard))


def _listed(head: str, words: Sequence[str]) -> Iterator[tuple[str, str]]:
    if words:
        yield head, joined(words)


def _over(plan: Plan, yard: YardView) -> list[str]:
    calls = [call for call in plan.calls if call.yard == yard.key and call.over]
    return [
        f"{joined(call.over)}" + (f" (treated since {short_day(call.treated)})" if call.treated is not None else "")
        for call in calls
    ]


def _treated_since(plan: Plan, yard: YardView) -> list[str]:
    """What was over the line and treated since, until a count tells whether it worked."""
    calls = (call for call in plan.calls if call.yard == yard.key and call.treated is not None and not call.over)
    return [f"{call.words[:1].lower()}{call.words[1:].rstrip('.')}" for call in calls]


def _days(tasks: Sequence[Task]) -> list[str]:
    """Hives by the day on which they are due."""
    days: dict[int, list[str]] = {}
    for task in tasks:
        if task.planned is not None:
            days.setdefault(task.planned, []).append(task.colony or "the yard")
    return [f"{joined(dict.fromkeys(who))} on {short_day(day)}" for day, who in sorted(days.items())]


def _is_over(plan: Plan, task: Task) -> bool:
    """True where a task's last good day has gone by, or will have on the day for which it is planned."""
    return _stop(task) < max(plan.as_of, task.planned or 0)


def _late(plan: Plan, tasks: Sequence[Task]) -> list[str]:
    """What is over, the longest first."""
    late = sorted((t for t in tasks if _stop(t) < plan.as_of), key=lambda t: (_stop(t), t.id))
    return [f"{short_day(stop)}: {who} {what}" for what, stop, who in _together((t, _stop(t)) for t in late)]


def _too_late(plan: Plan, tasks: Sequence[Task]) -> list[str]:
    """What will be over on the day for which it is planned, the soonest first."""
    some = sorted((t for t in tasks if plan.as_of <= _stop(t) < (t.planned or 0)), key=lambda t: (_stop(t), t.id))
    told = _together((t, (_stop(t), t.planned or 0)) for t in some)
    return [
        f"{who} {what} on {short_day(planned)}, its last good day is {short_day(stop)}"
        for what, (stop, planned), who in told
    ]


def _stop(task: Task) -> int:
    """The last good day of a task; what has none is never over."""
    return sys.maxsize if task.window.hard_stop is None else task.window.hard_stop


def _at_once(plan: Plan, yard: YardView) -> list[str]:
    """What is due by today and waits for no better weather though it has no last good day: a dead hive is shut."""
    visits = [v for v in plan.visits if v.yard == yard.key and v.day <= plan.as_of + TOLD_AHEAD]
    some = [plan.task(i) for visit in visits for i in visit.unwaiting]
    due = [t for t in some if t.window.hard_stop is None and t.window.closes <= plan.as_of]
    return [f"{_who(t)}: {t.do[:1].lower()}{t.do[1:]}" for t in due]


def _warnings(yard: YardView) -> list[str]:
    return [f"{colony.key}: {words}" for colony in yard.colonies for words in causes_words(colony.warnings)]


def _conflicts(plan: Plan, yard: YardView) -> list[str]:
    """What does not fit, each with what would help."""
    return [
        f"{f'{c.subject}: ' if c.subject else ''}{because_words(c.what)} (would help: {because_words(c.helps)})"
        for c in merged(plan.conflicts)
        if c.yard == yard.key
    ]


def _stops(tasks: Sequence[Task]) -> list[str]:
    some = _together((t, t.window.hard_stop) for t in tasks if t.window.hard_stop is not None)
    return [f"{who} {what} by {short_day(stop)}" for what, stop, who in some]


def _together(tasks: Iterable[tuple[Task, _Days]]) -> Iterator[tuple[str, _Days, str]]:
    """What is to be done, on which days, and whose it is: hives with the same work on the same days are named once."""
    found: dict[tuple[str, _Days], list[str]] = {}
    for task, days in tasks:
        what = task.step.replace("_", " ") if task.trap else re.split("[:;.?]", task.do)[0]
        found.setdefault((f"{what[:1].lower()}{what[1:]}", days), []).append(_who(task))
    for (what, days), who in found.items():
        yield what, days, joined(dict.fromkeys(who))


def _who(task: Task) -> str:
    return " ".join(part for part in (task.colony or "", task.trap or "") if part) or "the yard"


def _courses(plan: Plan, yard: YardView) -> list[str]:
    """What is in hives, with their numbers."""
    titles = {(one.colony, one.since): one.title for one in plan.lying if one.yard == yard.key}
    found: dict[str, dict[str, list[str]]] = {}
    for one in (c for c in plan.courses if c.yard == yard.key and c.left):
        title = inside(titles.get((one.colony, one.began), one.product.replace("_", " ")))
        since = f"since {short_day(one.began)}{' (not heard of)' if one.assumed else ''}"
        found.setdefault(f"{one.left} {title}", {}).setdefault(since, []).append(one.colony)
    return [f"{what} in {joined(hives)} {since}" for what, some in found.items() for since, hives in some.items()]


def _recent(plan: Plan, task: Task) -> bool:
    return task.window.closes >= plan.as_of - 2 * TOLD_AHEAD


def _asked(plan: Plan, tasks: Sequence[Task]) -> list[str]:
    """How many tasks nobody wrote about, since when, and of which hives: of a season that is over the last weeks'."""
    over = {view.season for view in plan.yards if view.ends < plan.as_of}
    open_ = (task for task in tasks if task.status is Status.UNKNOWN)
    some = [task for task in open_ if task.season not in over or _recent(plan, task)]
    if not some:
        return []
    first = short_day(min(task.window.closes for task in some))
    return [f"{counted(len(some), 'task')} since {first} ({', '.join(dict.fromkeys(_who(task) for task in some))})"]


def _printed(tasks: Sequence[Task]) -> list[str]:
    """How much was printed for days that are over, and since when nothing was heard of it."""
    days = [task.done for task in tasks if task.status is Status.ASSUMED and task.done is not None]
    return [f"{counted(len(days), 'task')} since {short_day(min(days))}"] if days else []


def _silent(plan: Plan, yard: YardView) -> list[str]:
    return [colony.key for colony in yard.colonies if not colony.last and colony.there_on(plan.as_of - 1)]


def _heard(plan: Plan, yard: YardView) -> str:
    days = [colony.last.partition(":")[0] for colony in yard.colonies if colony.last]
    return f"{len(days)} of {len(yard.colonies)} hives" if len(days) < len(yard.colonies) else "all hives"
