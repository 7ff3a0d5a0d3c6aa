"""What stands on a yard's season page. In: the plan and a yard. Out: a frozen view, grouped and counted.

The sentences around it are in ``templates/season.html.j2``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.plan import Conflict, Plan, Refusal
from ipmcal.model.plan.tasks import Status, Task, Visit
from ipmcal.model.plan.views import Choosing, CountView, MarkView, YardCall, YardView
from ipmcal.model.values.words import rough_range, sentence, year
from ipmcal.publishing.paper.ink.charts import Bar, timeline
from ipmcal.publishing.paper.naming import WorkLine, act_words, by_act, hives_of, lone_heads, up_to_colon
from ipmcal.publishing.paper.outlook.mites import MitesPicture, mites_pictures

_MANY = 22
"""Visits above which the page is set smaller: counted on the pages of the examples, with traps and two pictures."""
TREAT = "treat"
"""What a count says that is over its line, in a plan's words."""
HELD_TO = "Held to: "
"""Before an authority to whose lines all counts are held that differ in their number of bees."""


@dataclass(frozen=True, slots=True)
class VisitRow:
    """A visit, with what it serves."""

    visit: Visit
    works: tuple[WorkLine, ...]


@dataclass(frozen=True, slots=True)
class LastGoodDay:
    """A last good day, the day on which the work is planned, and for whom ("": the same as on the other days)."""

    by: int
    planned: int
    who: str


@dataclass(frozen=True, slots=True)
class LastGoodDays:
    """The last good days of an act: what must be done by them, for whom, and the harm of lateness ("": said before)."""

    do: str
    who: str
    days: tuple[LastGoodDay, ...]
    harm: str


@dataclass(frozen=True, slots=True)
class SaidCounts:
    """Counts that say the same: what, by whose line where there are several ("": one that is told), of which day where
    it is one for all (None: each has its own), and the counts."""

    call: str
    line: str
    day: int | None
    counts: tuple[CountView, ...]


@dataclass(frozen=True, slots=True)
class CourseWords:
    """A course that is chosen, in words, and what comes second to it."""

    chosen: str
    second: str


@dataclass(frozen=True, slots=True)
class Sum:
    """How often a step is done in the season, on how many visits."""

    do: str
    times: int
    visits: int


@dataclass(frozen=True, slots=True)
class NotOffered:
    """A method not offered, the hives (or traps) that share the reasons, and what would help."""

    title: str
    subjects: tuple[str, ...]
    whys: tuple[str, ...]
    helps: str


@dataclass(frozen=True, slots=True)
class SeasonPage:
    """All of a season page."""

    title: str
    chart: Markup
    visits: tuple[VisitRow, ...]
    minutes: int
    lines: int
    stops: tuple[LastGoodDays, ...]
    sums: tuple[Sum, ...]
    refusals: tuple[NotOffered, ...]
    conflicts: tuple[Conflict, ...]
    open_tasks: tuple[tuple[Status, tuple[WorkLine, ...]], ...]
    done: int
    calls: tuple[tuple[YardCall, str, tuple[SaidCounts, ...]], ...] = ()
    worth: str = ""
    choosing: Choosing | None = None
    courses: tuple[CourseWords, ...] = ()
    mites: tuple[MitesPicture, ...] = ()

    @property
    def many(self) -> bool:
        """Whether so many visits are listed that the page is set smaller: it stays a leaf, front and back."""
        return len(self.visits) > _MANY


def make_season(plan: Plan, yard: YardView) -> SeasonPage:
    """The view of a yard's season page."""
    own = [task for task in plan.tasks if task.yard == yard.key and task.season == yard.season]
    tasks = {task.id: task for task in own}
    visits = [visit for visit in plan.visits if visit.yard == yard.key and any(task in tasks for task in visit.tasks)]
    choosing = next((one for one in plan.choosing if (one.yard, one.season) == (yard.key, yard.season)), None)
    rows = [
        VisitRow(visit, _works([tasks[task_id] for task_id in visit.tasks if task_id in tasks], yard))
        for visit in visits
    ]
    stops = _stops(
        [tasks[task_id] for visit in visits for task_id in visit.tasks if task_id in tasks],
        yard,
    )
    return SeasonPage(
        title=_season_title(yard),
        chart=_chart(yard, visits, sorted(day.by for stop in stops for day in stop.days)),
        visits=tuple(_briefly(rows, own)),
        minutes=sum(visit.minutes for visit in visits),
        lines=sum(task in tasks for visit in visits for task in visit.tasks),
        stops=stops,
        sums=_sums(visits, tasks),
        refusals=_refusals([refusal for refusal in plan.refusals if refusal.yard == yard.key]),
        conflicts=merged([c for c in plan.conflicts if c.yard == yard.key and _about(c, tasks)]),
        open_tasks=tuple(_open(own, yard)),
        done=sum(task.status is Status.DONE for task in own),
        calls=tuple(_called(call) for call in plan.calls if call.yard == yard.key),
        worth=" ".join(_worth(plan, yard)),
        choosing=choosing,
        courses=tuple(_courses(choosing)) if choosing else (),
        mites=mites_pictures(plan, yard),
    )


def _about(conflict: Conflict, tasks: Mapping[str, Task]) -> bool:
    """Whether a conflict is about these tasks, or about none that has a name."""
    return not conflict.tasks or any(name in tasks for name in conflict.tasks)


def _worth(plan: Plan, yard: YardView) -> Iterable[str]:
    """How good the number of visits is; nothing more than what is proven."""
    for one in plan.worth:
        if one.yard != yard.key or not one.visits:
            continue
        if one.visits == one.least:
            yield "No plan with these days has fewer visits: that is proven."
        else:
            yield f"Fewer than {one.least} there can't be, however long a visit takes."


def merged(conflicts: Sequence[Conflict]) -> tuple[Conflict, ...]:
    """Conflicts of one yard that say the same, as one for all whom they are about."""
    same: dict[tuple[str, Because, Because], list[Conflict]] = {}
    for conflict in conflicts:
        same.setdefault((conflict.yard, conflict.what, conflict.helps), []).append(conflict)
    return tuple(
        replace(some[0], subject=", ".join(dict.fromkeys(c.subject for c in some if c.subject)))
        for some in same.values()
    )


def _season_title(yard: YardView) -> str:
    """A season is named by the year it begins in, and by both where it crosses the new year."""
    first, last = year(yard.begins), year(yard.ends)
    return str(first) if first == last else f"{first}/{last % 100:02d}"


def _works(tasks: Sequence[Task], yard: YardView) -> tuple[WorkLine, ...]:
    return tuple(
        WorkLine(do, _whose(group, yard), _earliest_stop(group), group[0]) for do, group in by_act(tasks).items()
    )


def _whose(tasks: Sequence[Task], yard: YardView) -> str:
    """The hives of some tasks; "" where it is the whole yard: that needs no name in a list of it."""
    everyone, here = {colony.key for colony in yard.colonies}, {task.colony for task in tasks}
    return "" if here == everyone and not any(task.trap for task in tasks) else hives_of(tasks, yard)


def _earliest_stop(tasks: Sequence[Task]) -> int | None:
    return min((task.window.hard_stop for task in tasks if task.window.hard_stop is not None), default=None)


def _briefly(rows: Sequence[VisitRow], tasks: Sequence[Task]) -> Iterable[VisitRow]:
    """The rows; what a row above has in full is named by its words up to the colon, where these can't mean another
    kind of work: work that comes back all season is a word on its day's line."""
    lone = lone_heads(tasks)
    said: set[str] = set()
    for row in rows:
        brief = (
            replace(work, do=up_to_colon(work.do)) if work.do in said and up_to_colon(work.do) in lone else work
            for work in row.works
        )
        yield replace(row, works=tuple(brief))
        said.update(work.do for work in row.works)


def _called(call: YardCall) -> tuple[YardCall, str, tuple[SaidCounts, ...]]:
    """What counts say of a yard, by whose line where it is one, and the counts by what each says: those that ask for
    something first. Where lines differ by the number of bees alone, whose they are is said once."""
    lines = list(dict.fromkeys(one.line for one in call.counts if one.line))
    whose = {line.partition(" (")[2].removesuffix(")") for line in lines}
    once = len(lines) > 1 and len(whose) == 1 and "" not in whose
    alike: dict[tuple[str, str], list[CountView]] = {}
    for one in call.counts:
        alike.setdefault((one.call, one.line if len(lines) > 1 else ""), []).append(one)
    said = [
        SaidCounts(
            words,
            line.partition(" (")[0] if once else line,
            some[0].day if len({one.day for one in some}) == 1 else None,
            tuple(some),
        )
        for (words, line), some in sorted(alike.items(), key=lambda item: item[0][0] != TREAT)
    ]
    by = f"{HELD_TO}{whose.pop()}" if once else lines[0] if len(lines) == 1 else ""
    return call, by, tuple(said)


def _courses(choosing: Choosing) -> Iterable[CourseWords]:
    """Each course with what comes second to it: another that is for the same stands without saying so again, what is
    told of a product without its name. Where a product has courses of which nothing is told, nobody could say whose it
    is: it stands by its name behind the last of them."""
    whose = {words.partition(": ")[2]: words for words in choosing.chosen}
    told: dict[str, list[str]] = {}
    seconds: dict[str, list[str]] = {}
    for words in choosing.second:
        head, _, why = words.partition(": ")
        if why in whose:
            told.setdefault(whose[why], []).append(sentence(f"Second: {head}"))
        else:
            seconds.setdefault(head, []).append(words)
    for title, some in seconds.items():
        named = [one for one in choosing.chosen if one.startswith(f"{title} ")]
        if len(named) == len(some):
            for chosen, words in zip(named, some, strict=True):
                told.setdefault(chosen, []).append(sentence(words.partition(": ")[2]))
        else:
            told.setdefault(named[-1] if named else "", []).extend(map(sentence, some))
    for chosen in ("", *choosing.chosen) if "" in told else choosing.chosen:
        yield CourseWords(chosen, " ".join(told.get(chosen, ())))


def _stops(tasks: Sequence[Task], yard: YardView) -> tuple[LastGoodDays, ...]:
    """Last good days ahead, by what has to be done: earliest first, one for tasks that share act, day and plan."""
    groups: dict[str, dict[tuple[int, int], list[Task]]] = {}
    for task in sorted(tasks, key=lambda task: task.window.hard_stop or 0):
        by = task.window.hard_stop
        if by is not None and task.planned is not None:
            groups.setdefault(act_words(task), {}).setdefault((by, task.planned), []).append(task)
    said: set[str] = set()
    return tuple(_last_days(do, days, yard, said) for do, days in groups.items())


def _last_days(do: str, days: Mapping[tuple[int, int], Sequence[Task]], yard: YardView, said: set[str]) -> LastGoodDays:
    """The last good days of one act; ``said`` are the harms that were told, and grows."""
    who = {key: hives_of(some, yard) for key, some in days.items()}
    same = len(set(who.values())) == 1
    told = dict.fromkeys(task.harm for some in days.values() for task in some if task.harm and task.harm not in said)
    said.update(told)
    return LastGoodDays(
        do=do,
        who=next(iter(who.values())) if same else "",
        days=tuple(LastGoodDay(by, planned, "" if same else who[by, planned]) for by, planned in sorted(days)),
        harm=" ".join(told),
    )


def _sums(visits: Sequence[Visit], tasks: dict[str, Task]) -> tuple[Sum, ...]:
    seen: dict[str, tuple[int, int]] = {}
    for visit in visits:
        for do, group in by_act(tasks[task_id] for task_id in visit.tasks if task_id in tasks).items():
            times, on = seen.get(do, (0, 0))
            seen[do] = (times + len(group), on + 1)
    return tuple(Sum(do, times, on) for do, (times, on) in seen.items())


def _refusals(refusals: Sequence[Refusal]) -> tuple[NotOffered, ...]:
    groups: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
    for refusal in refusals:
        helps = "; ".join(causes_words(refusal.helps))
        groups.setdefault((refusal.title, causes_words(refusal.whys), helps), []).append(refusal.subject)
    return tuple(
        NotOffered(title, tuple(dict.fromkeys(subjects)), whys, helps)
        for (title, whys, helps), subjects in groups.items()
    )


def _open(tasks: Sequence[Task], yard: YardView) -> Iterable[tuple[Status, tuple[WorkLine, ...]]]:
    """What needs a word: missed, unknown, declined and impossible tasks."""
    for status in (Status.MISSED, Status.UNKNOWN, Status.ASSUMED, Status.IMPOSSIBLE):
        works = _works([task for task in tasks if task.status is status], yard)
        if works:
            yield status, works


# The chart -----------------------------------------------------------------------------------------------------------


def _chart(yard: YardView, visits: Sequence[Visit], stops: Sequence[int]) -> Markup:
    highs = [_high(celsius, yard.fahrenheit) for celsius in yard.highs]
    days = [visit.day for visit in visits]
    return timeline(yard.begins, yard.ends, [_bar(mark) for mark in yard.marks], days, stops, highs)


def _bar(mark: MarkView) -> Bar:
    begins, ends = mark.begins, mark.ends or mark.begins
    return Bar(
        title=mark.title,
        low=begins.low,
        begins=begins.usual,
        ends=max(ends.usual, begins.usual),
        high=max(ends.high, begins.high),
        label=rough_range(begins.usual, max(ends.usual, begins.usual)),
    )


def _high(celsius: float, fahrenheit: bool) -> str:
    return f"{round(celsius * 9 / 5 + 32) if fahrenheit else round(celsius)}°"
