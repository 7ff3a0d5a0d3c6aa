"""Why: the chain of reasons behind a task's days, in words, down to value, source, basis and the day counted from.

In: a task, the bibliography. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Conflict, Plan, YardWorth
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.rules.files import Source
from ipmcal.model.values.cited import Basis, Cited
from ipmcal.model.values.days import Span, day
from ipmcal.model.values.text import nearest
from ipmcal.model.values.words import DAYS, counted, day_range, duration, short_day

SOME = 6
"""So many tasks are named where one of them is meant."""

RULE_WORDS = {
    Rule.REGION_MARK: "the region's own day",
    Rule.MOVED: "moved to this yard by Hopkins' rule",
    Rule.OBSERVED: "as you saw it",
    Rule.NAMED: "as your yard file names it",
    Rule.EVENT: "written down",
    Rule.ASSUMED: "printed for that day, not heard of",
    Rule.PLANNED: "planned",
    Rule.DEVELOPMENT: "counted on",
    Rule.LATEST_OF: "the latest of",
    Rule.EARLIEST_OF: "the earliest of",
    Rule.SHIFTED: "counted from it",
    Rule.SEEN: "narrowed by what was found",
    Rule.LAST_GOOD_DAY: "the last good day: later does harm",
    Rule.LOOK: "a look: nothing is sure before the hard stop",
    Rule.KEEPER_DAY: "your days",
    Rule.NEED: "needed",
    Rule.SPREAD: "with its spread",
    Rule.COLONY: "the colony",
    Rule.OWN_TASK: "as you wrote it",
    Rule.OUT_OF_ORDER: "moved to keep the season's order",
    Rule.LIMIT: "its label allows a course then",
    Rule.ASKED: "asked for",
    Rule.RHYTHM: "in the rhythm of counts",
    Rule.DEGREE_DAYS: "by the sum of warmth that it needs",
}


def why_lines(task: Task, sources: Mapping[str, Source]) -> Iterator[str]:
    """The whole chain of a task, one reason a line, indented under what it serves."""
    yield f"{task.id}  {task.do}"
    window = task.window
    if task.planned is not None:
        rain = f", rain date {_date(task.rain_date)}" if task.rain_date else ", no rain date"
        yield f"planned {_date(task.planned)}{rain}"
    elif task.done is not None:
        yield f"done {_date(task.done)}"
    for reason in task.why_planned:
        if reason.note:
            yield f"  R{reason.rule} {RULE_WORDS[reason.rule]}: {reason.note}"
    told: set[Reason] = set()
    for name, ordinal, reason in (
        ("opens", window.opens, window.why_opens),
        ("best", window.best, window.why_best),
        ("closes", window.closes, window.why_closes),
    ):
        last = ", CUT BY" if name == "closes" and task.trap and window.hard_stop is not None else ""
        yield f"{name} {_date(ordinal)}{last}"
        yield from _reason(reason, sources, "  ", told)


def visit_lines(plan: Plan, visit: Visit) -> Iterator[str]:
    """A visit: what forced its day, what else it serves, within which days it could be moved."""
    tasks = {task.id: task for task in plan.tasks}
    rain = (
        f"rain date {_date(visit.rain_date)}"
        if visit.rain_date
        else f"no rain date: {visit.rain_help or 'no later day'}"
    )
    yield f"{visit.id}  {_date(visit.day)}, about {duration(visit.minutes)}, {rain}"
    if visit.earliest != visit.latest:
        yield f"any day in {day_range(visit.earliest, visit.latest)} would do for what is planned on it"
    if visit.because:
        yield f"on this day {visit.because}"
    if visit.forced_by in tasks:
        task = tasks[visit.forced_by]
        window = day_range(task.window.opens, task.window.closes)
        yield f"held by {task.id}: {task.do} ({window}), the first to run out of days"
    yield f"it serves {counted(len(visit.tasks), 'task')}:"
    for task_id in visit.tasks:
        task = tasks[task_id]
        yield f"  {task.id}  {task.do} ({day_range(task.window.opens, task.window.closes)})"


def without_lines(now: int, visits: int, conflicts: Sequence[Conflict], courses: Sequence[str]) -> Iterator[str]:
    """What planning again without that day comes to: visits, what gives way, courses that begin on other days."""
    rest = "" if conflicts or courses else ", and nothing gives way"
    yield f"without that day: {counted(visits, 'visit')} instead of {now}{rest}"
    for words in courses:
        yield f"  another course: {words}"
    for conflict in conflicts:
        whose = f"{conflict.subject}: " if conflict.subject else ""
        yield f"  gives way: {whose}{because_words(conflict.what)}. Would help: {because_words(conflict.helps)}."


def weekday_lines(worth: YardWorth, savings: Sequence[tuple[int, int]]) -> Iterator[str]:
    """How many visits a yard takes, the least there can be, and what one more weekday (Monday 0) would save."""
    least = "proven to be the fewest" if worth.visits == worth.least else f"fewer than {worth.least} there can't be"
    yield f"{worth.yard}: {counted(worth.visits, 'visit')} with your days, {least}"
    for weekday, saved in sorted(savings, key=lambda one: (-one[1], one[0])):
        yield f"with {DAYS[weekday]}s too: {counted(worth.visits - saved, 'visit')}"
    if not savings:
        yield "no other weekday would save one"


def _reason(reason: Reason, sources: Mapping[str, Source], indent: str, told: set[Reason]) -> Iterator[str]:
    """A reason and what it rests on; what was told before is not told again."""
    when = f" {_span(reason.span)}" if reason.span is not None else ""
    note = f" ({reason.note})" if reason.note else ""
    again = ", as above" if reason in told and (reason.under or reason.values) else ""
    yield f"{indent}R{reason.rule} {reason.subject}{when}: {RULE_WORDS[reason.rule]}{note}{again}"
    if again:
        return
    told.add(reason)
    for value in reason.values:
        yield from _value(value, sources, indent + "    ")
    for under in reason.under:
        yield from _reason(under, sources, indent + "  ", told)


def _value(value: Cited[object], sources: Mapping[str, Source], indent: str) -> Iterator[str]:
    yield f"{indent}{value.text.partition('@')[0].strip()}  [{value.place.file}:{value.place.line}]"
    for cite in value.cites:
        source = sources.get(cite.source)
        title = f"{source.author}{f' {source.year}' if source.year else ''}, {source.title}" if source else cite.source
        locus = f", {cite.locus}" if cite.locus else ""
        doubt = ": check your label" if cite.basis is Basis.MEMORY else ""
        yield f"{indent}  {title}{locus} ({cite.basis}{doubt})"


def _date(ordinal: int) -> str:
    return f"{short_day(ordinal)} {day(ordinal).year}"


def _span(span: Span) -> str:
    return short_day(span.low) if span.certain else f"{day_range(span.low, span.high)}, usually {short_day(span.usual)}"


def which_words(task: str, found: Sequence[str], ids: Sequence[str]) -> str:
    """What is said where a name is that of several tasks, or of none."""
    if found:
        return f"'{task}' could be {', '.join(found[:SOME])}{', ...' if len(found) > SOME else ''}"
    return f"there is no task '{task}'{nearest(task, ids)}"
