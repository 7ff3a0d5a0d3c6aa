"""Frame: a method in a yard's season, and where it stands: when its next step may be done, and what follows on it.

In: a method, its clock, the season and the keeper's days. Out: ``Cursor``, ``Opening``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.rules.methods import Method
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.model.values.fields import Bounds
from ipmcal.planning.days.anchored import needed_by, read_by
from ipmcal.planning.days.bounds import Clockwork, Footing, OpenDays, Opening, day_of_bounds, opening

A_WEEK = 7
"""From one of the days of a keeper of weekends to the next."""


class FrameMemo:
    """What was worked out once for a method in a yard: openings, last days of repeats, explored ways, planned days."""

    __slots__ = ("altered", "explored", "openings", "plans", "untils")

    def __init__(self) -> None:
        self.openings: dict[object, Opening | None] = {}
        self.untils: dict[object, int | None] = {}
        self.explored: dict[int, dict[tuple[object, ...], dict[int, Any]]] = {}  # by ease, as chain.py has them
        self.plans: dict[tuple[str, int], Known] = {}
        self.altered: dict[object, FrameMemo] = {}

    def off(self, name: object) -> FrameMemo:
        """The memo of a frame that differs by days barred or shut alone, by its name: openings don't know of them, ways
        do."""
        if name not in self.altered:
            self.altered[name] = made = FrameMemo()
            made.openings, made.untils, made.plans = self.openings, self.untils, self.plans
        return self.altered[name]


@dataclass(frozen=True)
class Frame:
    """What chains of one method in one yard have in common.

    ``sets``: by step, the words that get a new day when it is done; ``names``: the words that the method counts from;
    by step, ``needed``: those for it and all behind it, ``reads``: those for itself. ``shut``: by step, days (by
    position, as bits) on which it is done only where it has no others; what ``waits`` is late rather, if it has no hard
    stop. ``barred``: by step, periods (days, inclusive) in which it is not done at all. ``why`` says of both what for.
    ``spared``: steps that are not owed where the first day left for them is barred. ``memo`` only remembers.
    """

    name: str
    method: Method
    work: Clockwork
    days: KeeperDays
    sets: Mapping[str, tuple[str, ...]]
    names: frozenset[str]
    needed: Mapping[str, frozenset[str]]
    reads: Mapping[str, frozenset[str]]
    shut: Mapping[str, int] = field(default_factory=dict)
    waits: frozenset[str] = frozenset()
    barred: Mapping[str, tuple[tuple[int, int], ...]] = field(default_factory=dict)
    why: Because | None = None
    spared: frozenset[str] = frozenset()
    memo: FrameMemo = field(default_factory=FrameMemo, compare=False, repr=False)

    def off(self, step: str) -> int:
        """The keeper's days, by position, as bits, that are barred to a step."""
        found = 0
        for first, last in self.barred.get(step, ()):
            found |= self.days.every(first, last)
        return found

    def kept_from(self, steps: Iterable[str], periods: Sequence[tuple[int, int]], mark: str) -> Frame:
        """The same frame, its steps barred in more periods (days, inclusive); ``mark`` says why, in its name."""
        more = {step: (*self.barred.get(step, ()), *periods) for step in steps}
        name = f"{self.name},{mark}{sorted(more.items())}"
        return replace(self, name=name, barred={**self.barred, **more}, memo=self.memo.off(name))

    def barred_till(self, step: str, window: Window | OpenDays) -> bool:
        """Whether a step is barred to the last week of its window, or beyond."""
        return any(a <= window.closes < b + A_WEEK for a, b in self.barred.get(step, ()))

    def over(self, cursor: Cursor, window: Window | OpenDays) -> bool:
        """True where a step is not owed any more: one that would open later than it is worth being done; a repeated one
        done often enough, or opened after its ``until``.
        """
        again = self.method.steps[cursor.step].again
        if again is None or self.worthless(cursor.step, window):
            return self.worthless(cursor.step, window)
        until = self._last(again.until)
        if cursor.n > again.at_most or until is None:
            return cursor.n > again.at_most
        # The first time is owed in any case: a season that begins late must not make a check of it vanish.
        return cursor.n > 1 and window.opens > until

    def worthless(self, step: str, window: Window | OpenDays) -> bool:
        """Whether a step would open later than it is worth being done."""
        bounds = self.method.steps[step].worth_until
        last = None if bounds is None else self._last(bounds)
        return last is not None and window.opens > last

    def too_late(self, step: str, day: int) -> bool:
        """True where a repeated step that comes late would come after its ``until``: then it is over."""
        again = self.method.steps[step].again
        until = self._last(again.until) if again else None
        return until is not None and day > until

    def late_until(self, step: str) -> int | None:
        """The last day on which a step is worth doing where its time went by; None: its own last day."""
        bounds = self.method.steps[step].late_until
        return None if bounds is None else self._last(bounds)

    def planned(self, step: str, day: int) -> Known:
        """A day on which a step is planned, as what later steps count from."""
        if (step, day) not in self.memo.plans:
            self.memo.plans[step, day] = Known(day, Reason(Rule.PLANNED, step, Span.exact(day)))
        return self.memo.plans[step, day]

    def tells(self, day: int) -> bool:
        """Whether a line of that day may be of the method's steps, and not of another's that logs the same."""
        since, until = self._told_from
        return (since is None or since <= day) and (until is None or day <= until)

    @cached_property
    def _told_from(self) -> tuple[int | None, int | None]:
        bounds = (self.method.lines_from, self.method.lines_until)
        since, until = (None if one is None else self._last(one) for one in bounds)
        return since, until

    def _last(self, bounds: Bounds) -> int | None:
        """The latest of days that the season alone decides; None where it has none of their marks."""
        if bounds not in self.memo.untils:
            self.memo.untils[bounds] = day_of_bounds(self.work, bounds, Footing({}, {}), Rule.LATEST_OF)
        return self.memo.untils[bounds]


@dataclass(frozen=True)
class Cursor:
    """Where a method stands: the step owed, its number, the days that it counts from, what was seen in this cycle.

    ``not_before`` and ``closed`` (periods, inclusive) hold back the first step, until the method has ``begun``.
    """

    step: str
    n: int
    facts: Mapping[str, Known]
    sightings: tuple[Sighting, ...] = ()
    begun: bool = False
    not_before: Reason | None = None
    closed: tuple[tuple[int, int], ...] = ()

    def at(self, step: str, n: int) -> Cursor:
        """The same, with another step owed."""
        return Cursor(step, n, self.facts, self.sightings, self.begun, self.not_before, self.closed)

    @cached_property
    def key(self) -> tuple[object, ...]:
        """Cursors with equal keys compile to equal chains."""
        facts = tuple(sorted((name, known.day) for name, known in self.facts.items()))
        seen = tuple((s.day, s.finding) for s in self.sightings)
        held = self.not_before.span if self.not_before and not self.begun else None
        return (self.step, self.n, facts, seen, held, () if self.begun else self.closed)

    @cached_property
    def since(self) -> int:
        """The last day of which something is known in this cycle; 0 for none. What is owed comes after it."""
        words = (known.day for name, known in self.facts.items() if "." not in name)
        return max((*words, *(s.day for s in self.sightings)), default=0) if self.begun else 0

    @cached_property
    def told(self) -> tuple[object, ...]:
        """The lines that its days rest on: cursors with equal keys have equal days, but not always the same reasons."""
        held = (self.not_before,) if self.not_before and not self.begun else ()
        whys = (*(self.facts[name].why for name in sorted(self.facts)), *held)
        return (*map(line, whys), *(str(s.event.place) for s in self.sightings))


def line(why: Reason) -> object:
    """What tells a known day from another of equal days: what it rests on, in words.

    Who asks for a count says it in the same words for each hive, whatever it rests on there.
    """
    if why.rule is Rule.ASKED:
        return why.note, why.under
    return why.note or (line(why.under[0]) if why.under else "")


def frame_of(
    name: str, method: Method, work: Clockwork, days: KeeperDays, groups: Mapping[str, tuple[str, ...]]
) -> Frame:
    """The frame of a method in a yard's season."""
    needed = needed_by(method)
    first = next(iter(method.steps))

    def sets(step: str) -> tuple[str, ...]:
        logs = method.steps[step].logs
        words = (logs, step, *(group for group, members in groups.items() if logs in members))
        return tuple(word for word in words if word in needed[first])

    by_step = {step: sets(step) for step in method.steps}
    return Frame(name, method, work, days, by_step, needed[first], needed, read_by(method))


def opening_at(frame: Frame, cursor: Cursor) -> Opening | None:
    """When the step at a cursor may be done; None where one of its bounds has no day."""
    step = frame.method.steps[cursor.step]
    repeated = step.again if step.again and cursor.n > 1 and step.again.opens else None
    known, reads = cursor.facts, frame.reads[cursor.step]
    whys = ((name, known[name].day, known[name].why) for name in reads if name in known)
    days = tuple([(name, day, why.subject, line(why)) for name, day, why in whys])
    seen = tuple([(s.day, s.finding, str(s.event.place)) for s in cursor.sightings])
    held = None if cursor.begun else cursor.not_before
    # Reasons name the line or the planned step that they come from: what shares an opening shares these too.
    key = (cursor.step, repeated is None, days, seen, (held.span, line(held)) if held else None)
    if key not in frame.memo.openings:
        edges = frame.work.edges(cursor.sightings)
        frame.memo.openings[key] = opening(frame.work, repeated or step, cursor.facts, edges, held)
    return frame.memo.openings[key]


def after(frame: Frame, cursor: Cursor, day: int) -> Cursor | None:
    """The cursor once its step is done on a day: its event has happened, and what was seen before is over.

    The steps of a method that is asked for keep its number: it may be asked for more than once a season.
    """
    step = frame.method.steps[cursor.step]
    facts = {**cursor.facts, **dict.fromkeys(frame.sets[cursor.step], frame.planned(cursor.step, day))}
    if step.again:  # whether that was the last time, its opening says: it would lie after ``until``
        return Cursor(cursor.step, cursor.n + 1, facts, (), True)
    following = step_after(frame.method, cursor.step)
    return Cursor(following, cursor.n if frame.method.asked else 1, facts, (), True) if following else None


def goes_along(frame: Frame, cursor: Cursor, day: int) -> bool:
    """True where the step owed may be done on the day of the step before it, and that day lies in its window."""
    if not frame.method.steps[cursor.step].along:
        return False
    found = opening_at(frame, cursor)
    shut = any(first <= day <= last for first, last in frame.barred.get(cursor.step, ()))
    return found is not None and found.days.opens <= day <= found.days.closes and not shut


def step_after(method: Method, step: str) -> str | None:
    """The next step of a method, None behind the last."""
    steps = list(method.steps)
    i = steps.index(step) + 1
    return steps[i] if i < len(steps) else None
