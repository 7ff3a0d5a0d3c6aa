"""Apart: what may not fall into a course's days: other work in a hive on its quiet days, supers while it lasts; and
what belongs on one day: a caged queen is let out, and her hive treated.

In: a yard's errands, its courses, the days on which packing placed them. Out: errands that keep apart. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.colony import Known
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.labels import applications, last_step
from ipmcal.model.values.words import joined, short_day
from ipmcal.planning.days.chain import Ease, opening_at, pruned
from ipmcal.planning.labels.standing import wait_after
from ipmcal.planning.owed.errand import Errand, task_id
from ipmcal.planning.owed.ground import Ground, effects_of
from ipmcal.planning.owed.placed import Paths
from ipmcal.planning.owed.prescribed import Prescribed, prescribed


@dataclass(frozen=True)
class Quiet:
    """The days (ordinals) on which a hive stays shut but for a course, and the day on which each course begins.

    ``told`` says which course and what would open the hive, with the tasks.
    """

    shut: frozenset[int] = frozenset()
    pins: Mapping[str, int] = field(default_factory=dict)
    told: tuple[Conflict, ...] = ()

    def with_more(self, more: Quiet) -> Quiet:
        """With more days shut; a course that has its day keeps it."""
        return Quiet(self.shut | more.shut, {**more.pins, **self.pins}, more.told)


# Before packing -------------------------------------------------------------------------------------------------------


def kept_apart(
    ground: Ground, errands: Iterable[Errand], off_by: Mapping[str, Known], quiet: Mapping[str, Quiet]
) -> tuple[Errand, ...]:
    """The errands without the days that a course of the same hive closes to them.

    ``off_by`` has the day by which a course wants supers off that are not on yet. What can't keep apart stays as it
    was, to be told about; supers that can't go on at all are left out.
    """
    some = tuple(errands)
    if not any(errand.course for errand in some):
        return some
    blocks: dict[str, list[tuple[int, int]]] = {}
    for errand in some:
        block = _block(ground, errand)
        if block is not None and errand.colony is not None:
            blocks.setdefault(errand.colony.colony.key, []).append(block)
    found = []
    for errand in some:
        hive = errand.colony.colony.key if errand.colony is not None else ""
        logs = errand.frame.method.steps[errand.cursor.step].logs
        puts_on = ground.book.events[logs].effect == "supers_on" and errand.chain.nodes
        kept = _supers(ground, errand, blocks.get(hive, ()), off_by.get(hive)) if puts_on else errand
        if kept is not None:
            found.append(_shut(kept, quiet[hive]) if hive in quiet else kept)
    return tuple(_with_release(ground, found))


def _with_release(ground: Ground, errands: Sequence[Errand]) -> list[Errand]:
    """Where a queen is let out, and what works best with nothing capped is given, on days that they share, both are."""
    found = list(errands)
    doses = [i for i, errand in enumerate(errands) if _wants_broodless(ground, errand)]
    hives = {errands[i].key.partition("/")[0] for i in doses}
    for i, release in enumerate(errands):
        days = _days_at(ground, release, "starts_laying") if release.key.partition("/")[0] in hives else set()
        for j in doses if days else ():
            shared = days & _days_at(ground, errands[j], "treats") if errands[j].colony is release.colony else set()
            if shared:
                found[i] = _only_on(ground, found[i], "starts_laying", shared)
                found[j] = _only_on(ground, found[j], "treats", shared)
    return found


def _wants_broodless(ground: Ground, errand: Errand) -> bool:
    known = prescribed(ground, errand.course, {}) if errand.course else None
    brood = known.label.limits.brood if known is not None else None
    return brood is not None and brood.best is not None and brood.best.value == "none"


def _days_at(ground: Ground, errand: Errand, effect: str) -> set[int]:
    """The days on which an errand may have a step of this effect."""
    effects = effects_of(ground, errand.frame.method)
    if effect not in effects.values():
        return set()
    chain, days = errand.chain, ground.days.ordinals
    return {days[chain.nodes[i].at] for i, (step, _) in enumerate(chain.steps) if effects[step] == effect}


def _only_on(ground: Ground, errand: Errand, effect: str, days: Collection[int]) -> Errand:
    effects, ordinals = effects_of(ground, errand.frame.method), ground.days.ordinals
    steps, nodes = errand.chain.steps, errand.chain.nodes
    made = pruned(errand.chain, lambda i: effects[steps[i][0]] != effect or ordinals[nodes[i].at] in days)
    return errand if made is None else replace(errand, chain=made)


def _block(ground: Ground, errand: Errand) -> tuple[int, int] | None:
    """The days (both inclusive) on which no supers may be put on for a course; None where they may stay on.

    They end when the wait is over after the last day on which packing may still place its end.
    """
    known = prescribed(ground, errand.course, {}) if errand.course else None
    if known is None or known.label.limits.supers is None or known.label.limits.supers.during.value != "off":
        return None
    given, end = tuple(applications(known.label, ground.book)), last_step(known.label, ground.book)
    days = [(errand.chain.steps[i][0], ground.days.ordinals[n.at]) for i, n in enumerate(errand.chain.nodes)]
    days += [(step, errand.cursor.facts[step].day) for step in (*given, end) if step in errand.cursor.facts]
    first = min((day for step, day in days if step in given), default=ground.season.first)
    last = max((day for step, day in days if step == end), default=ground.season.last)
    wait = wait_after(known.label)
    high = getattr(wait.value, "high", 0) if wait is not None else 0
    return first, max(last + int(high or 0), first + 1) - 1


def _supers(ground: Ground, errand: Errand, blocks: Sequence[tuple[int, int]], by: Known | None) -> Errand | None:
    """Supers that are still to be put on keep away from courses that want them off; None where no day is left.

    They come off in time for a course by whose first day they are wanted off; where they can't, they go on after it. A
    course before their own time is over first.
    """
    found = opening_at(errand.frame, errand.cursor)
    early = None if by is None else _off_in_time(ground, errand, by)
    due = 0 if found is None else found.window.best
    if early is None and by is not None:
        due = max(due, by.day)
    closed = tuple((ground.season.first if first <= due else first, last) for first, last in blocks)
    one = early or errand
    cursor = replace(one.cursor, closed=(*one.cursor.closed, *closed))
    chain = ground.chain(one.frame, cursor) if closed else one.chain
    return None if chain is None else replace(one, cursor=cursor, chain=chain)


def _off_in_time(ground: Ground, errand: Errand, by: Known) -> Errand | None:
    """Supers that come off by a day; None where that is too soon after they went on."""
    effects = effects_of(ground, errand.frame.method)
    step = next((name for name, effect in effects.items() if effect == "supers_off"), None)
    rule = next(iter(ground.book.methods[ground.book.planning.supers_off_by].steps.values()))
    steps = {name: rule if name == step else old for name, old in errand.frame.method.steps.items()}
    frame = ground.frame(errand.frame.name + EARLY, errand.frame.method.model_copy(update={"steps": steps}))
    cursor = replace(errand.cursor, facts={**errand.cursor.facts, ASKED: by})
    chain = ground.chain(frame, cursor)
    in_time = chain is not None and chain.ease < Ease.CUT_SHORT
    return replace(errand, frame=frame, cursor=cursor, chain=chain) if chain is not None and in_time else None


EARLY = ", off for a course"
"""Marks the frame of a method whose supers come off early."""


def _shut(errand: Errand, quiet: Quiet) -> Errand:
    """An errand without the days on which its hive stays shut; a course of its own keeps its day."""
    chain, days = errand.chain, errand.frame.days.ordinals
    if errand.key in quiet.pins:
        begins = set(chain.first.nodes)
        made = pruned(chain, lambda i: i not in begins or days[chain.nodes[i].at] == quiet.pins[errand.key])
    else:
        made = pruned(chain, lambda i: days[chain.nodes[i].at] not in quiet.shut)
    return errand if made is None else replace(errand, chain=made)


# After packing --------------------------------------------------------------------------------------------------------


def disturbed(ground: Ground, errands: Sequence[Errand], paths: Paths) -> dict[str, Quiet]:
    """The hives in which other work is placed on the quiet days of a course: those days, and what has to be told."""
    hives: dict[str, list[Errand]] = {}
    for errand in errands:
        if errand.colony is not None:
            hives.setdefault(errand.colony.colony.key, []).append(errand)
    found = {hive: _quiet(ground, hive, some, paths) for hive, some in hives.items() if any(e.course for e in some)}
    return {hive: quiet for hive, quiet in found.items() if quiet.told}


def _quiet(ground: Ground, hive: str, errands: Sequence[Errand], paths: Paths) -> Quiet:
    shut: set[int] = set()
    pins: dict[str, int] = {}
    told: list[Conflict] = []
    for course in errands:
        known = prescribed(ground, course.course, {}) if course.course else None
        days = {} if known is None else _quiet_days(ground, course, known, paths)
        if known is None or not days:
            continue
        others = [e for e in errands if e is not course]
        opened = [step for e in others for step in placed(ground, e, paths) if step.day in days]
        if opened:
            shut |= set(days)
            pins.update((course.key, step.day) for step in placed(ground, course, paths)[:1])
            told.append(_told(ground, hive, known, {days[step.day] for step in opened}, opened))
    return Quiet(frozenset(shut), pins, tuple(told))


@dataclass(frozen=True, slots=True)
class _Step:
    """A placed step: what its method is called, its day, the id of its task."""

    title: str
    day: int
    task: str


def placed(ground: Ground, errand: Errand, paths: Paths) -> list[_Step]:
    """The steps of an errand on the days on which packing placed them, from ``as_of`` on."""
    nodes = [(errand.chain.steps[i], ground.days.ordinals[errand.chain.nodes[i].at]) for i in paths.get(errand.key, ())]
    return [
        _Step(errand.frame.method.title, day, task_id(errand, ground.season.year, step, n))
        for (step, n), day in nodes
        if day >= ground.as_of
    ]


def _quiet_days(ground: Ground, course: Errand, known: Prescribed, paths: Paths) -> dict[int, int]:
    """Each day on which nobody should open the hive, with the application that it is for."""
    limit = known.label.limits.quiet
    if limit is None:
        return {}
    given = tuple(applications(known.label, ground.book))
    nodes = [(course.chain.steps[i][0], course.chain.nodes[i].at) for i in paths.get(course.key, ())]
    on = [ground.days.ordinals[at] for step, at in nodes if step in given]
    on += [course.cursor.facts[step].day for step in given if step in course.cursor.facts]
    before, after = (int(v.value.high or 0) if v is not None else 0 for v in (limit.before, limit.after))
    found = {day + n: day for day in on for n in range(-before, after + 1) if n != 0}
    return {day: app for day, app in found.items() if day not in on}


def _told(ground: Ground, hive: str, known: Prescribed, begins: set[int], opened: Sequence[_Step]) -> Conflict:
    works = joined(dict.fromkeys(f"{step.title.lower()} on {short_day(step.day)}" for step in opened))
    on = joined(map(short_day, sorted(begins)))
    what = f"{known.treatment.title} on {on}: its quiet days are not kept, {works}"
    helps = "leave that hive shut, or put the work off by some days"
    return Conflict(ground.yard.key, hive, what, helps, tuple(step.task for step in opened))
