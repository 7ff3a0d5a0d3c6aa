"""Visits: the tasks of a day at one yard, with what to bring, what can't wait, and when it rains.

In: placed tasks. Out: ``Visit`` values, ascending by day. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from ipmcal.model.plan.tasks import BringItem, Task, Visit
from ipmcal.model.values.words import day_range
from ipmcal.planning.days.chain import Cursor, Made, after, opening_at
from ipmcal.planning.labels.amounts import need_words, shopping
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import use_on
from ipmcal.planning.pack.hours import minutes_of


@dataclass(frozen=True, slots=True)
class Placed:
    """A task, the errand it belongs to, its place in the chain, its day, and what to do the evening before.

    ``asked`` is where the method stands when its findings are asked for.
    """

    task: Task
    errand: Errand
    made: Made
    day: int
    prepare: str
    asked: Cursor


def rain_dates(ground: Ground, made: Iterable[Made]) -> dict[int, int | None]:
    """By day of a visit: the next of the keeper's days, where nothing that is due would be past its last good day."""
    stops: dict[int, int | None] = {}
    for one in made:
        if one.day >= ground.as_of:
            known = [stop for stop in (stops.get(one.day), one.opening.window.hard_stop) if stop is not None]
            stops[one.day] = min(known, default=None)
    return {day: ground.days.next_after(day, stop) for day, stop in stops.items()}


def visits(ground: Ground, placed: Sequence[Placed]) -> tuple[Visit, ...]:
    """The visits from ``as_of`` on. Within a visit tasks keep the order of walking, then of the program."""
    by_day: dict[int, list[Placed]] = {}
    for one in placed:
        if one.day >= ground.as_of:
            by_day.setdefault(one.day, []).append(one)
    behind = {a.task.id: b for a, b in pairwise(placed) if a.errand is b.errand}
    room: Room = {}
    return tuple(_visit(ground, day, by_day[day], behind, room) for day in sorted(by_day))


Room = dict[object, tuple[int, int]]
"""The days within which a step's next step keeps its own, remembered for steps that are alike."""


def _visit(ground: Ground, day: int, placed: list[Placed], behind: Mapping[str, Placed], memo: Room) -> Visit:
    tasks = [p.task for p in placed]
    stops = [t.window.hard_stop for t in tasks if t.window.hard_stop is not None]
    rain = tasks[0].rain_date
    opens, closes = _room(ground, day, placed, behind, memo)
    chances = _last_chances(ground, tasks, day)
    forced = min(tasks, key=lambda t: (chances[t.window.closes], t.window.closes, t.id))
    return Visit(
        id=f"{ground.yard.key}/{date.fromordinal(day).isoformat()}",
        yard=ground.yard.key,
        day=day,
        rain_date=rain,
        earliest=opens,
        latest=closes,
        tasks=tuple(t.id for t in tasks),
        minutes=_minutes(ground, placed),
        bring=(*_bring(ground, tasks), *_supplies(ground, placed)),
        prepare=tuple(dict.fromkeys(p.prepare for p in placed if p.prepare)),
        must=tuple(_must(ground, tasks, day)),
        short=_short(ground, tasks, chances),
        stop_if=_stop_if(ground, placed),
        forced_by=forced.id,
        rain_help=_rain_help(day, rain, min(stops, default=None)),
    )


def _rain_help(day: int, rain: int | None, stop: int | None) -> str:
    """What would give a rain date; "" where there is one, or the season is over."""
    if rain is not None or stop is None:
        return ""
    return f"a day of yours in {day_range(day + 1, stop)} would give one" if stop > day else "this is the last good day"


def _room(
    ground: Ground, day: int, placed: Sequence[Placed], behind: Mapping[str, Placed], memo: Room
) -> tuple[int, int]:
    """The first and last day to which a visit could be moved: all stays in its window, and what counts from it too."""
    windows = [p.task.window for p in placed if not p.made.bent]
    first = max(max((w.opens for w in windows), default=day), ground.as_of)
    last = min((w.closes for w in windows), default=day)
    for one in placed:
        following = behind.get(one.task.id)
        if following is not None and not following.made.bent:
            key = (one.errand.frame.name, one.made.cursor.key, day, following.day, first, last)
            if key not in memo:
                memo[key] = _narrowed(one, following, first, last)
            first, last = memo[key]
    return first, last


def _narrowed(one: Placed, following: Placed, first: int, last: int) -> tuple[int, int]:
    while first < one.day and not _still_in_time(one, following, first):
        first += 1
    while last > one.day and not _still_in_time(one, following, last):
        last -= 1
    return first, last


def _still_in_time(one: Placed, following: Placed, day: int) -> bool:
    """Whether the next step keeps its day if the one before it is done on another."""
    cursor = after(one.errand.frame, one.made.cursor, day)
    if cursor is None:
        return True
    found = opening_at(one.errand.frame, replace(cursor, step=following.made.step, n=following.made.n))
    return found is not None and found.window.opens <= following.day <= found.window.closes


def _last_chances(ground: Ground, tasks: Sequence[Task], day: int) -> dict[int, int]:
    """By the day on which a window closes: the last of the keeper's days on which a task could still be done."""
    masks = {closes: ground.days.between(day, max(closes, day)) for closes in {t.window.closes for t in tasks}}
    return {closes: ground.days.ordinals[m.bit_length() - 1] if m else day for closes, m in masks.items()}


def _minutes(ground: Ground, placed: Sequence[Placed]) -> int:
    hives = {p.task.colony: p.errand.colony for p in placed if p.task.colony is not None}
    return int(minutes_of(ground, list(hives.values()), sum(p.task.minutes for p in placed)))


def _bring(ground: Ground, tasks: Sequence[Task]) -> tuple[BringItem, ...]:
    """What to pack, by load; frames and boxes are counted, one for each task that asks for one."""
    planning = ground.book.planning
    hive_items = planning.hive_items if any(t.colony is not None for t in tasks) else ()
    counts = dict.fromkeys(hive_items, 0)
    for task in tasks:
        for item in task.bring:
            counts[item] = counts.get(item, 0) + 1
    loads = list(planning.loads)
    order = {name: i for i, name in enumerate(planning.items)}
    items = sorted(counts, key=lambda name: (loads.index(planning.items[name].load), order[name]))
    return tuple(
        BringItem(
            load=planning.loads[planning.items[name].load],
            title=planning.items[name].title,
            count=counts[name] if planning.items[name].counted else 0,
        )
        for name in items
    )


def _supplies(ground: Ground, placed: Sequence[Placed]) -> Iterable[BringItem]:
    """What treatments take on this visit, summed over the hives."""
    treating = [p for p in placed if p.errand.course]
    uses = [use for p in treating if (use := use_on(ground, p.errand, p.task.step, p.day)) is not None]
    for need in shopping(uses, ground.book):
        yield BringItem(load=ground.book.planning.loads["treating"], title=need_words(need))


def _must(ground: Ground, tasks: Sequence[Task], day: int) -> Iterable[str]:
    """What can't wait: hard stops first, by their day; then what no later day of the keeper's would be in time for."""
    hard = sorted((t for t in tasks if t.window.hard_stop is not None), key=lambda t: (t.window.hard_stop or 0, t.id))
    soft = [
        t for t in tasks
        if t.window.hard_stop is None and t.colony is not None and ground.days.next_after(day, t.window.closes) is None
    ]  # fmt: skip
    soft.sort(key=lambda t: t.window.closes)
    return [t.id for t in (*hard, *soft)]


def _short(ground: Ground, tasks: Sequence[Task], chances: Mapping[int, int]) -> tuple[str, ...]:
    """The tasks that fit into a short visit, most urgent first by their last ``chances``; a hive is opened once."""
    planning = ground.book.planning
    left = planning.short_visit.value.middle
    place = {t.id: i for i, t in enumerate(tasks)}
    urgent = sorted(
        (t for t in tasks if t.colony is not None),
        key=lambda t: (t.window.hard_stop is None, chances[t.window.closes], t.window.closes, place[t.id]),
    )
    opened: set[str | None] = set()
    chosen: list[str] = []
    for task in urgent:
        cost = task.minutes + (0 if task.colony in opened else planning.minutes_per_hive.value.middle)
        if cost > left and chosen:
            continue
        left -= cost
        opened.add(task.colony)
        chosen.append(task.id)
    return tuple(chosen)


def _stop_if(ground: Ground, placed: Sequence[Placed]) -> tuple[str, ...]:
    """When to close up and go home: the coldest that any of the methods bears, then rain, robbing."""
    coldest = max((_least_warmth(p.errand) for p in placed), default=None)
    words: list[str] = []
    if coldest is not None and coldest > float("-inf"):
        words.append(f"below {round(coldest * 9 / 5 + 32)} °F" if ground.yard.fahrenheit else f"below {coldest:.0f} °C")
    return (*words, *ground.book.planning.stop_if)


def _least_warmth(errand: Errand) -> float:
    needs = errand.frame.method.needs
    need = needs.temperature if needs else None
    low = need.value.value.low if need else None
    return low if low is not None else float("-inf")
