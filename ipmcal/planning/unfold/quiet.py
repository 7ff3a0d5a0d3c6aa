"""Quiet: the days on which a hive stays shut for a course, those on which its brood nest does, and those without food.

In: a yard's errands, the days on which packing placed them. Out: what opens a hive on such days, errands that keep off
them. Pure. A hard stop goes before: what can be done on no other day stays, and is told.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.rules.labels import applications, removals
from ipmcal.planning.days.chain import pruned
from ipmcal.planning.labels.of_hive import quiet_days, unfed_days
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.owed.errand import Errand, ended_soon, task_id
from ipmcal.planning.owed.ground import Ground, Prescribed
from ipmcal.planning.owed.placed import Paths
from ipmcal.planning.owed.prescribed import prescribed

ShutDays = Mapping[int, int]
"""Days (ordinals), each with the day on which the course was given for which it is shut."""


@dataclass(frozen=True)
class Quiet:
    """The days (ordinals) on which a hive stays ``shut`` but for a course, those on which its brood ``nest`` does, and
    the day on which each course begins; ``unfed`` are those on which it is not fed.

    ``told`` says which course and what would open the hive, with the tasks. ``given`` are those of the ``nest`` days on
    which something goes in that asks for quiet: what is not put off keeps off these alone. ``off``: by course, the days
    on which it does not begin, since what is not put off would have to wait for it.
    """

    shut: frozenset[int] = frozenset()
    nest: frozenset[int] = frozenset()
    pins: Mapping[str, int] = field(default_factory=dict)
    told: tuple[Conflict, ...] = ()
    given: frozenset[int] = frozenset()
    off: Mapping[str, frozenset[int]] = field(default_factory=dict)
    unfed: frozenset[int] = frozenset()

    def with_more(self, more: Quiet) -> Quiet:
        """With more days shut; a course that has its day keeps it."""
        pins = {**more.pins, **self.pins}
        off = {key: self.off.get(key, frozenset()) | more.off.get(key, frozenset()) for key in {**self.off, **more.off}}
        shut, nest, given = self.shut | more.shut, self.nest | more.nest, self.given | more.given
        return Quiet(shut, nest, pins, more.told, given, off, self.unfed | more.unfed)


# The days -------------------------------------------------------------------------------------------------------------


def kept_shut(known: Prescribed, given: Sequence[int]) -> dict[int, int]:
    """Each day on which nobody should open the hive, with the application that it is for."""
    limit = known.label.limits.quiet
    return {} if limit is None else dict(quiet_days(limit, given))


def nest_days(known: Prescribed, given: Sequence[int], out: int | None) -> dict[int, int]:
    """Each day on which no comb of the nest should be lifted to look at it: the day of what asks for quiet, and, for
    what lies on the bars, all days until it comes out, but for those on which it is changed: then it is off the bars
    for a while. On the last day it comes out first. ``out`` None: it has no day yet.
    """
    found = dict.fromkeys(given, 0) if known.label.limits.quiet is not None else {}
    if _on_bars(known) and out is not None and given:
        found |= dict.fromkeys(set(range(given[0] + 1, out)) - changed_days(known, given), 0)
    return {day: max((app for app in given if app <= day), default=given[0]) for day in found}


def changed_days(known: Prescribed, given: Sequence[int]) -> frozenset[int]:
    """The days on which what lies on the bars is changed, and combs may be lifted before the next goes in."""
    return frozenset(given[1:]) if _on_bars(known) and known.label.limits.quiet is None else frozenset()


def _on_bars(known: Prescribed) -> bool:
    return known.treatment.lies is not None and known.treatment.lies.value == "on_bars"


def hungry_days(known: Prescribed, given: Sequence[int], out: int | None) -> range:
    """The days on which nobody feeds the hive, those before the course included; ``out`` None: it has no day yet."""
    last = given[-1:] if out is None else [out]
    return unfed_days(known.label.limits.feeding, given[0], last[0]) if given else range(0)


def days_of_course(ground: Ground, course: Errand, known: Prescribed, paths: Paths) -> tuple[list[int], int | None]:
    """The days on which a course is given, done or placed; and the day on which the last of it comes out."""
    steps = course.chain.done(paths.get(course.key, ()))
    on = {step: ground.days.ordinals[at] for (step, _), at in steps}
    on |= {step: fact.day for step, fact in course.cursor.facts.items() if step in known.label.steps}
    given = sorted(on[step] for step in applications(known.label, ground.book) if step in on)
    out = [on[step] for step in removals(known.label, ground.book) if step in on]
    return given, max(out, default=None)


# After packing --------------------------------------------------------------------------------------------------------


def disturbed(ground: Ground, errands: Sequence[Errand], paths: Paths) -> dict[str, Quiet]:
    """The hives in which other work falls into the days of a course: those days, and what has to be told."""
    hives: dict[str, list[Errand]] = {}
    for errand in errands:
        if errand.colony is not None:
            hives.setdefault(errand.colony.colony.key, []).append(errand)
    found = {hive: _quiet(ground, hive, some, paths) for hive, some in hives.items() if any(e.course for e in some)}
    return {hive: quiet for hive, quiet in found.items() if quiet.told}


def _quiet(ground: Ground, hive: str, errands: Sequence[Errand], paths: Paths) -> Quiet:
    found = Quiet()
    for course in errands:
        known = prescribed(ground, course.course, {}) if course.course else None
        if known is None:
            continue
        given, out = days_of_course(ground, course, known, paths)
        days, nest = kept_shut(known, given), nest_days(known, given, out)
        unfed = hungry_days(known, given, out)
        near = {*days, *nest, *unfed}
        others = [step for e in errands if e is not course for step in placed(ground, e, paths, near)]
        opened = [step for step in others if step.day in days]
        goes_in = frozenset(given if known.label.limits.quiet is not None else ())
        lifted = [step for step in others if step.nest and _rests(step, nest, goes_in) and step not in opened]
        fed = [step for step in others if step.feeds and step.day in unfed and step not in opened]
        if opened or lifted or fed:
            told = (
                *_told(ground, hive, known, days, opened),
                *_told_of_nest(ground, hive, known, nest, lifted),
                *_told_of_food(ground, hive, known, fed),
            )
            off = _made_way(ground, course, known, [step for step in (*opened, *lifted, *fed) if step.urgent])
            if off:
                found = found.with_more(Quiet(told=(*found.told, *told), off={course.key: off}))
                continue
            pins = dict((course.key, step.day) for step in placed(ground, course, paths)[:1])  # noqa: C402
            shut = frozenset(days if opened else ())
            told = (*found.told, *told)
            found = found.with_more(Quiet(shut, frozenset(nest), pins, told, goes_in, unfed=frozenset(unfed)))
    return found


def _rests(step: _Step, nest: ShutDays, goes_in: Collection[int]) -> bool:
    """Whether a step's day is one on which the nest is left alone: what is not put off keeps off the giving alone, of
    what asks for quiet; a tray that is changed is out of the way anyway."""
    return step.day in nest and (not step.urgent or step.day in goes_in)


def _made_way(ground: Ground, course: Errand, known: Prescribed, urgent: Sequence[_Step]) -> frozenset[int]:
    """The days on which a course to come would keep off what is not put off; none where it has no others."""
    chain, days = course.chain, ground.days.ordinals
    firsts = {days[chain.nodes[i].at] for i in chain.first.nodes}
    if not urgent or chain.steps[chain.first.nodes[0]][0] not in applications(known.label, ground.book):
        return frozenset()
    at, fed = {step.day for step in urgent}, {step.day for step in urgent if step.feeds}
    against = {first for first in firsts if at & _closed_by(known, first) or fed & _unfed_by(ground, known, first)}
    return frozenset(against) if against < firsts else frozenset()


def _closed_by(known: Prescribed, first: int) -> set[int]:
    """The days that a course begun on a day would close to what is not put off."""
    return {*kept_shut(known, [first]), *nest_days(known, [first], None)}


def _unfed_by(ground: Ground, known: Prescribed, first: int) -> set[int]:
    """The days on which a hive would not be fed for a course begun on a day."""
    return set(hungry_days(known, [first], use_of(known.label, first, ground.book).last))


@dataclass(frozen=True, slots=True)
class _Step:
    """A placed step: what its method is called, its day, the id of its task; whether combs of the nest are lifted,
    whether that is put off for nothing that lies on them, and whether bees are fed.
    """

    title: str
    day: int
    task: str
    nest: bool
    urgent: bool
    feeds: bool


def placed(ground: Ground, errand: Errand, paths: Paths, on: Collection[int] | None = None) -> list[_Step]:
    """The steps of an errand on the days on which packing placed them, from ``as_of`` on; with ``on``, those of these
    days alone.
    """
    done = ((step, ground.days.ordinals[at]) for step, at in errand.chain.done(paths.get(errand.key, ())))
    nodes = ((step, day) for step, day in done if on is None or day in on)
    method, planning = errand.frame.method, ground.book.planning
    return [
        _Step(
            method.title,
            day,
            task_id(errand, step, n),
            nest=logs in planning.nest_work,
            urgent=logs in planning.not_put_off,
            feeds=logs in planning.feeding,
        )
        for (step, n), day in nodes
        if day >= ground.as_of and (logs := method.steps[step].logs)
    ]


def _told(ground: Ground, hive: str, known: Prescribed, days: ShutDays, opened: Sequence[_Step]) -> Iterator[Conflict]:
    if opened:
        on = tuple(sorted({days[step.day] for step in opened}))
        what = Because(Code.NOT_QUIET, (known.treatment.title, on, _works(opened)))
        yield Conflict(ground.yard.key, hive, what, Because(Code.PUT_OFF), tuple(step.task for step in opened))


def _told_of_nest(
    ground: Ground, hive: str, known: Prescribed, days: ShutDays, lifted: Sequence[_Step]
) -> Iterator[Conflict]:
    if lifted:
        on = tuple(sorted({days[step.day] for step in lifted}))
        what = Because(Code.COMBS_LIFTED, (known.treatment.title, on, _works(lifted)))
        helps = Because(Code.GLOVES_OR_PUT_OFF)
        yield Conflict(ground.yard.key, hive, what, helps, tuple(step.task for step in lifted))


def _told_of_food(ground: Ground, hive: str, known: Prescribed, fed: Sequence[_Step]) -> Iterator[Conflict]:
    if fed:
        what = Because(Code.FED_MEANWHILE, (known.treatment.title, _works(fed)))
        yield Conflict(ground.yard.key, hive, what, Because(Code.FEED_BEFORE), tuple(step.task for step in fed))


def _works(steps: Iterable[_Step]) -> tuple[Because, ...]:
    """What is done on which day, each once."""
    return tuple(dict.fromkeys(Because(Code.WORK_ON, (step.title.lower(), step.day)) for step in steps))


# Before packing, the next time round ----------------------------------------------------------------------------------


def shut_for(ground: Ground, errand: Errand, quiet: Quiet) -> Errand:
    """An errand without the days on which its hive, or its nest, stays shut; a course of its own keeps its day.

    What can't wait keeps its days where it has no others; what can comes late, or not at all.
    """
    chain, days = errand.chain, errand.frame.days.ordinals
    if errand.key in quiet.pins:
        begins = set(chain.first.nodes)
        made = pruned(chain, lambda i: i not in begins or days[chain.nodes[i].at] == quiet.pins[errand.key])
        return errand if made is None else replace(errand, chain=made)
    if errand.key in quiet.off and chain.nodes:
        begins, off = set(chain.first.nodes), quiet.off[errand.key]
        made = pruned(chain, lambda i: i not in begins or days[chain.nodes[i].at] not in off)
        errand = errand if made is None else replace(errand, chain=made)
        chain = errand.chain
    if errand.course and chain.nodes:
        made = pruned(chain, lambda i: not _disturbs(ground, errand, i, quiet))
        return _waiting(ground, errand, quiet) if made is None else replace(errand, chain=made)
    return _waiting(ground, errand, quiet) if chain.nodes else errand


def _disturbs(ground: Ground, errand: Errand, node: int, quiet: Quiet) -> bool:
    """Whether a step of a course on a day opens a hive that stays shut, or lifts combs of a nest that does."""
    at = errand.chain.nodes[node]
    day, step = errand.frame.days.ordinals[at.at], errand.frame.method.steps[errand.chain.steps[node][0]]
    return day in quiet.shut or (day in quiet.nest and step.logs in ground.book.planning.nest_work)


def _waiting(ground: Ground, errand: Errand, quiet: Quiet) -> Errand:
    """An errand compiled anew, so that what can wait does."""
    frame, days = errand.frame, errand.frame.days.ordinals
    every, nest, given, unfed = (_bits(days, some) for some in (quiet.shut, quiet.nest, quiet.given, quiet.unfed))
    steps, planning = frame.method.steps, ground.book.planning
    combs = {name for name, step in steps.items() if step.logs in planning.nest_work}
    feeds = {n for n, s in steps.items() if unfed and s.logs in planning.feeding and s.logs not in planning.not_put_off}
    urgent, waits = {name for name in combs if steps[name].logs in planning.not_put_off}, frozenset(combs | feeds)
    masks = {name: (given if name in urgent else nest) if name in combs else 0 for name in steps}
    masks |= {name: masks[name] | unfed for name in feeds}
    shut = {name: every | mask for name, mask in masks.items() if every | mask}
    if not shut:
        return errand
    lies = Because(Code.FOR_WHAT_LIES)  # what keeps a course's own step from its last days is the other course
    why, name = lies if errand.course else frame.why or lies, f"{frame.name}, shut {shut}"
    frame = replace(frame, name=name, shut=shut, waits=waits, why=why, memo=frame.memo.off((name, waits)))
    made = ground.chain(frame, errand.cursor)
    return errand if made is None else ended_soon(replace(errand, frame=frame, chain=made))


def _bits(days: Sequence[int], some: Iterable[int]) -> int:
    """The positions of some days among the keeper's, as bits; looked up, for the keeper has many and few are shut."""
    found = ((bisect_left(days, day), day) for day in some)
    return sum([1 << i for i, day in found if i < len(days) and days[i] == day])
