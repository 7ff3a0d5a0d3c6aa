"""Visits: the tasks of a day at one yard, with what to bring, what can't wait, and when it rains.

In: placed tasks. Out: ``Visit`` values, ascending by day. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from ipmcal.model.plan.tasks import BringItem, Task, Visit
from ipmcal.model.plan.views import Lying
from ipmcal.model.values.words import day_range, short_day
from ipmcal.planning.days.chain import Made
from ipmcal.planning.days.frame import Cursor, after, opening_at
from ipmcal.planning.labels.amounts import need_words, shopping
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import prescribed, use_on, warmth_words
from ipmcal.planning.pack.hours import minutes_of


@dataclass(frozen=True, slots=True)
class Placed:
    """A task, the errand it belongs to, its place in the chain, its day, and what to do the evening before.

    ``asked`` is where the method stands when its findings are asked for; ``last`` is the last day on which it could be
    placed, given the steps before it; ``was`` the day from which the keeper's hours moved it (None: they did not).
    """

    task: Task
    errand: Errand
    made: Made
    day: int
    prepare: str
    asked: Cursor
    last: int
    was: int | None = None


def rain_dates(ground: Ground, placed: Iterable[Placed]) -> dict[int, int | None]:
    """By day of a visit: the keeper's next day, if everything on it can wait for that."""
    found: dict[int, int | None] = {}
    for one in placed:
        if one.day >= ground.as_of:
            after = found[one.day] if one.day in found else ground.days.next_after(one.day)
            found[one.day] = after if after is not None and _waits(one, after) else None
    return found


def _waits(one: Placed, day: int) -> bool:
    """Whether a task can be done on a later day instead: not after its last day as printed, nor on a closed one.

    That is its window's ``by``, and each day by which a trap frame would have to be emptied, whatever is found in it.
    What is late already is no reason to come sooner still, unless each day does more harm.
    """
    window, cursor = one.task.window, one.made.cursor
    if one.errand.frame.method.steps[one.made.step].at_once:
        return False
    if day > window.by and (window.hard_stop is not None or window.by >= one.day):
        return False
    shut = () if cursor.begun else cursor.closed
    if any(first <= day <= last for first, last in shut):
        return False
    return all(a.cut_by is None or day <= a.cut_by for a in one.task.answers if a.day == one.day)


def visits(ground: Ground, placed: Sequence[Placed], lying: Sequence[Lying] = ()) -> tuple[Visit, ...]:
    """The visits from ``as_of`` on, with what protects from what is ``lying`` in the hives.

    Within a visit tasks keep the order of walking, then a hive is worked down and built up again: supers come off and
    what lies in it comes out before its other work, what goes in follows, and supers go on last: combs are lifted over
    nothing that burns or hangs between them, and below no super. Else they keep the program's.
    """
    by_day: dict[int, list[Placed]] = {}
    for one in placed:
        if one.day >= ground.as_of:
            by_day.setdefault(one.day, []).append(one)
    behind = {a.task.id: b for a, b in pairwise(placed) if a.errand is b.errand}
    room: Room = {}
    made = []
    for day in sorted(by_day):
        opened = {one.task.colony for one in by_day[day]}
        inside = {one.title for one in lying if one.colony in opened and one.on(day)}
        made.append(_visit(ground, day, by_day[day], behind, room, worn(ground, inside)))
    return tuple(made)


def worn(ground: Ground, titles: Collection[str]) -> tuple[str, ...]:
    """What is worn where products lie in a hive that is opened: of all that their labels' steps ask for."""
    book = ground.book
    known = (prescribed(ground, name, {}) for name, treatment in book.treatments.items() if treatment.title in titles)
    asked = {item for one in known if one is not None for step in one.label.steps.values() for item in step.bring}
    return tuple(name for name, item in book.planning.items.items() if item.worn and name in asked)


_WORKED_DOWN, _BUILT_UP = ("begins", "supers_off", "strips_out"), ("treats", "strips_in", "supers_on")
"""Effects of what comes before all other work at a hive, and of what follows on it, in this order."""

Room = dict[object, tuple[int, int]]
"""The days within which a step's next step keeps its own, remembered for steps that are alike."""


def _visit(
    ground: Ground, day: int, placed: list[Placed], behind: Mapping[str, Placed], memo: Room, more: Sequence[str]
) -> Visit:
    tasks = _in_order(ground, placed)
    rain, after = tasks[0].rain_date, ground.days.next_after(day)
    unwaiting = [p.task for p in placed if after is not None and not _waits(p, after)]
    opens, closes = _room(ground, day, placed, behind, memo)
    chances = _last_chances(ground, tasks, day)
    forced = _forced(placed, {task.id for task in unwaiting})
    return Visit(
        id=f"{ground.yard.key}/{date.fromordinal(day).isoformat()}",
        yard=ground.yard.key,
        day=day,
        rain_date=rain,
        earliest=opens,
        latest=closes,
        tasks=tuple(t.id for t in tasks),
        minutes=_minutes(ground, placed),
        bring=(*_bring(ground, tasks, more), *_supplies(ground, placed)),
        prepare=tuple(dict.fromkeys(p.prepare for p in placed if p.prepare)),
        must=tuple(_must(tasks, unwaiting)),
        short=_short(ground, tasks, chances, {task.id for task in unwaiting}),
        stop_if=_stop_if(ground, placed),
        forced_by=forced.task.id,
        rain_help=_rain_help(day, unwaiting),
        unwaiting=tuple(t.id for t in unwaiting),
        because=_because(ground, forced, waits=forced.task not in unwaiting),
    )


def _in_order(ground: Ground, placed: Sequence[Placed]) -> list[Task]:
    """The tasks hive by hive, each hive's in the order in which it is taken apart and put together again."""
    hives = list(dict.fromkeys(one.task.colony for one in placed))
    turns = {effect: i for i, effect in enumerate((*_WORKED_DOWN, None, *_BUILT_UP))}

    def rank(one: Placed) -> tuple[int, int]:
        return hives.index(one.task.colony), turns.get(ground.book.effect(one.task.logs), turns[None])

    return [one.task for one in sorted(placed, key=rank)]


def _rain_help(day: int, unwaiting: Sequence[Task]) -> str:
    """What would give a rain date; "" where there is one, or no day of the keeper's comes behind."""
    stop = min((t.window.by for t in unwaiting), default=None)
    if stop is None:
        return ""
    return f"a day of yours in {day_range(day + 1, stop)} would give one" if stop > day else "this is the last good day"


KEPT = "kept to this day by what goes with it"
"""Said of a task that has later days in its window, but none that leaves its course, or its next step, in time."""


def _forced(placed: Sequence[Placed], unwaiting: Collection[str]) -> Placed:
    """The task that was the first to run out of days; what hours moved hither, or is late, only if alone.

    Where that one has later days, one of the ``unwaiting`` (by id), to which the keeper's next day is closed.
    """

    def soonest(p: Placed) -> tuple[int, bool, int, str]:
        return p.last, p.task.window.by < p.day, p.task.window.by, p.task.id

    first = min(placed, key=lambda p: (p.was is not None, soonest(p)))
    if first.was is not None or first.last <= first.day:
        return first
    alone = [p for p in placed if p.task.id in unwaiting and p.was is None and p.task.window.by >= p.day]
    return min(alone, key=soonest, default=first)


def _because(ground: Ground, forced: Placed, *, waits: bool) -> str:
    """Why a visit is on its day, by the task that was the first to run out of days; ``waits``: it has later ones."""
    task = forced.task
    who = " ".join(name for name in (task.colony, task.trap) if name)
    what = f"{who}: {task.do}" if who else task.do
    if forced.was is not None:
        return f"since {short_day(forced.was)} would take more than {ground.yard.hours:g} h"
    if task.window.by < forced.day:
        return f"because of {what}, which is late"
    last = f"last day {short_day(task.window.by)}"
    if forced.last > forced.day and waits:
        return f"to spare a drive; first due is {what}, {last}"
    later = ground.days.between(forced.day + 1, task.window.closes)
    # One day is held back for rain; where there are more, a course or the next step leaves none of them.
    return f"because of {what}, {last}" if not later & (later - 1) else f"because of {what}, {KEPT} ({last})"


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
    return found is not None and found.days.opens <= following.day <= found.days.closes


def _last_chances(ground: Ground, tasks: Sequence[Task], day: int) -> dict[int, int]:
    """By the day on which a window closes: the last of the keeper's days on which a task could still be done."""
    masks = {closes: ground.days.between(day, max(closes, day)) for closes in {t.window.closes for t in tasks}}
    return {closes: ground.days.ordinals[m.bit_length() - 1] if m else day for closes, m in masks.items()}


def _minutes(ground: Ground, placed: Sequence[Placed]) -> int:
    hives = {p.task.colony: p.errand.colony for p in placed if p.task.colony is not None}
    return int(minutes_of(ground, list(hives.values()), sum(p.task.minutes for p in placed)))


def _bring(ground: Ground, tasks: Sequence[Task], more: Sequence[str]) -> tuple[BringItem, ...]:
    """What to pack, by load, and ``more``; frames and boxes are counted, one for each task that asks for one."""
    planning = ground.book.planning
    hive_items = planning.hive_items if any(t.colony is not None for t in tasks) else ()
    counts = dict.fromkeys((*hive_items, *more), 0)
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


def _must(tasks: Sequence[Task], unwaiting: Sequence[Task]) -> Iterable[str]:
    """Hard stops first, by their day; then what can't wait for the keeper's next day, though lateness does no harm."""
    hard = sorted((t for t in tasks if t.window.hard_stop is not None), key=lambda t: (t.window.by, t.id))
    soft = sorted((t for t in unwaiting if t.window.hard_stop is None), key=lambda t: t.window.by)
    return [t.id for t in (*hard, *soft)]


def _short(
    ground: Ground, tasks: Sequence[Task], chances: Mapping[int, int], unwaiting: Collection[str]
) -> tuple[str, ...]:
    """The tasks that fit into a short visit, the hive of the most urgent first: hard stops, then what can't wait for
    the keeper's next day, then by their last ``chances``.

    A hive is opened once, and its tasks keep their order: what goes in comes behind what lifts its combs.
    """
    planning = ground.book.planning
    left = planning.short_visit.value.middle
    place = {t.id: i for i, t in enumerate(tasks)}
    urgent = sorted(
        (t for t in tasks if t.colony is not None),
        key=lambda t: (
            *(t.window.hard_stop is None, t.id not in unwaiting),
            *(chances[t.window.closes], t.window.closes, place[t.id]),
        ),
    )
    opened: set[str | None] = set()
    chosen: list[Task] = []
    for task in urgent:
        some = [one for one in (*_before_it(ground, tasks, task), task) if one not in chosen]
        to_it = 0 if task.colony in opened else planning.minutes_per_hive.value.middle
        cost = to_it + sum(one.minutes for one in some)
        if cost > left and chosen:
            continue
        left -= cost
        opened.add(task.colony)
        chosen += some
    hives = list(dict.fromkeys(task.colony for task in chosen))
    return tuple(t.id for t in sorted(chosen, key=lambda t: (hives.index(t.colony), place[t.id])))


def _before_it(ground: Ground, tasks: Sequence[Task], task: Task) -> list[Task]:
    """What has to come out of a hive before a task puts something in: supers, and what lay there before."""
    if ground.book.effect(task.logs) not in _BUILT_UP:
        return []
    return [t for t in tasks if t.colony == task.colony and ground.book.effect(t.logs) in _WORKED_DOWN]


def _stop_if(ground: Ground, placed: Sequence[Placed]) -> tuple[str, ...]:
    """When to close up and go home: the coldest that any method bears, rain, robbing, the warmth of what is given."""
    coldest = max((_least_warmth(ground, p) for p in placed), default=None)
    words: list[str] = []
    if coldest is not None and coldest > float("-inf"):
        words.append(f"below {round(coldest * 9 / 5 + 32)} °F" if ground.yard.fahrenheit else f"below {coldest:.0f} °C")
    given = {p.errand.course for p in placed if use_on(ground, p.errand, p.task.step, p.day) is not None}
    warm = (warmth for name in sorted(given) for warmth in warmth_words(ground, name))
    return (*words, *ground.book.planning.stop_if, *warm)


def _least_warmth(ground: Ground, one: Placed) -> float:
    """The coldest that a task bears, °C: as its method needs, or as a count for which combs are lifted."""
    needs = one.errand.frame.method.needs
    wanted = (needs.temperature.value if needs and needs.temperature else None,)
    counted = (ground.book.counting.combs_from,) if one.task.logs in ground.book.washes else ()
    lows = (need.value.low for need in (*wanted, *counted) if need is not None)
    return max((low for low in lows if low is not None), default=float("-inf"))
