"""Chains: a method's steps compiled against the keeper's days, as packing wants them.

In: a ``Frame`` (a method in a yard's season), a ``Cursor`` (where the method stands), the keeper's days. Out: a
``Chain``: nodes that are "this step on this day", and for each the one stop owed next. Chains know nothing of
colonies, so that all colonies in the same state share one. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.strand import Node, Stop
from ipmcal.model.rules.methods import Method
from ipmcal.model.values.days import KeeperDays, Span, positions
from ipmcal.model.values.fields import Bounds
from ipmcal.model.values.words import counted, day_range
from ipmcal.planning.days.anchored import needed_by, read_by
from ipmcal.planning.days.bounds import Clockwork, Footing, Opening, bound_days, opening, span_of

A_WEEK = 7
"""From one of the days of a keeper of weekends to the next."""


class Ease(IntEnum):
    """How far the keeper's days have to be bent. Each grade allows what the ones before it allow."""

    STRICT = 0
    BENT = 1
    """A soft step may come late; a hard one early, on the last day before its stop."""
    CUT_SHORT = 2
    """A chain may end where no day would be in time."""
    OVERDUE = 3
    """What has to be done, but can't be in time, is done on the next day there is."""


class FrameMemo:
    """What was worked out once for a method in a yard: openings, last days of repeats, explored ways, planned days."""

    __slots__ = ("explored", "openings", "plans", "untils")

    def __init__(self) -> None:
        self.openings: dict[object, Opening | None] = {}
        self.untils: dict[object, int | None] = {}
        self.explored: dict[Ease, _Explored] = {}
        self.plans: dict[tuple[str, int], Known] = {}


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

    def barred_till(self, step: str, window: Window) -> bool:
        """Whether a step is barred to the last week of its window, or beyond."""
        return any(a <= window.closes < b + A_WEEK for a, b in self.barred.get(step, ()))

    def over(self, cursor: Cursor, window: Window) -> bool:
        """True where a repeated step may not begin anew: done often enough, or it would open after its ``until``."""
        again = self.method.steps[cursor.step].again
        if again is None:
            return False
        until = self._last(again.until)
        if cursor.n > again.at_most or until is None:
            return cursor.n > again.at_most
        # The first time is owed in any case: a season that begins late must not make a check of it vanish.
        return cursor.n > 1 and window.opens > until

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

    def _last(self, bounds: Bounds) -> int | None:
        """The day after which a step may not begin (anew); the season alone decides it."""
        if bounds not in self.memo.untils:
            day = bound_days(self.work, bounds, Footing({}, {}), Rule.LATEST_OF)
            self.memo.untils[bounds] = None if day is None else span_of(day).usual
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


@dataclass(frozen=True)
class Made:
    """A step on a day, the window that it had, given the steps before it, and why it fell on that day."""

    step: str
    n: int
    day: int
    opening: Opening
    cursor: Cursor
    why: Reason

    @cached_property
    def bent(self) -> str:
        """How the keeper's days bent it: "early", "late", "overdue", or "" where they did not."""
        window = self.opening.window
        if self.day < window.opens:
            return "early"
        if self.day <= window.closes:
            return ""
        return "late" if window.hard_stop is None else "overdue"


@dataclass(frozen=True)
class Chain:
    """A compiled chain; ``steps[i]`` is the step and number of ``nodes[i]``; ``missed`` holds, by node, the window that
    nobody can be in time for, where the chain was cut short behind it. ``along`` has, by node, the steps that are done
    on the same day, behind its own."""

    first: Stop
    nodes: tuple[Node, ...]
    steps: tuple[tuple[str, int], ...]
    ease: Ease
    missed: Mapping[int, Opening]
    along: Mapping[int, tuple[tuple[str, int], ...]] = field(default_factory=dict)

    def done(self, path: Iterable[int]) -> Iterator[tuple[tuple[str, int], int]]:
        """The steps of a path as they are done: step and number, and the position of its day."""
        for node in path:
            for step in (self.steps[node], *self.along.get(node, ())):
                yield step, self.nodes[node].at


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


def compile_chain(frame: Frame, cursor: Cursor) -> Chain | None:
    """The chain from a cursor on, bent no further than it has to be; None where nothing is owed in this season."""
    for ease in Ease:
        compiler = _Compiler(frame, ease)
        owed = compiler.owed(cursor, -1)
        if owed is None:
            return None
        if compiler.leads_on(owed):
            return compiler.numbered(owed)
    return None


def replay(frame: Frame, cursor: Cursor, steps: Sequence[tuple[str, int]], days: Sequence[int]) -> Iterator[Made]:
    """The story of a path: each step with the window that it had, given the days of those before it."""
    for (step, n), day in zip(steps, days, strict=True):
        here = cursor.at(step, n)
        found = opening_at(frame, here)
        assert found is not None  # the chain was compiled from it
        yield Made(step, n, day, found, here, _why(frame, step, found.window, day))
        following = after(frame, here, day)
        if following is None:
            return
        cursor = following


def _why(frame: Frame, step: str, window: Window, day: int) -> Reason:
    """Why this day and no other: the window, and how many of the keeper's days lie in it."""
    inside = frame.days.between(window.opens, window.closes).bit_count()
    note = f"{counted(inside, 'day')} of yours in {day_range(window.opens, window.closes)}"
    return Reason(Rule.KEEPER_DAY, step, Span.exact(day), (), (window.why_opens, window.why_closes), note)


def one_way(chain: Chain) -> tuple[int, ...]:
    """A way through a chain, as its nodes: the earliest day of each step. Others are bent and cut short as much."""
    path, stop = [], chain.first
    while stop.nodes:
        path.append(stop.nodes[0])
        then = chain.nodes[path[-1]].then
        if then is None:
            break
        stop = then
    return tuple(path)


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
    return found is not None and found.window.opens <= day <= found.window.closes and not shut


def step_after(method: Method, step: str) -> str | None:
    """The next step of a method, None behind the last."""
    steps = list(method.steps)
    i = steps.index(step) + 1
    return steps[i] if i < len(steps) else None


@dataclass(eq=False)
class _Owed:
    """A step owed, and the keeper's days (by position, ascending) on which it may be done. ``ends``: or not at all."""

    cursor: Cursor
    opening: Opening
    options: tuple[int, ...]
    ends: bool
    kept: list[_Raw] | None = None
    rank: _Rank | None = None


@dataclass(eq=False)
class _Raw:
    """A step on a day, while the chain is explored; ``rank`` is None where no way leads to the end.

    ``along`` are the steps that are done on that day, too.
    """

    step: tuple[str, int]
    at: int
    then: _Owed | None
    along: tuple[tuple[str, int], ...] = ()
    rank: _Rank | None = None


_Explored = dict[tuple[object, ...], dict[int, _Raw]]
"""What was explored so far: by step, number and the days that later steps count from, then by position of the day."""

_Rank = tuple[int, int, int]
"""How well a way goes on, the less the better: 1 where it is cut short, then minus its steps; those bent or shut."""


class _Compiler:
    """Explores (step, number, day) from a cursor, keeps what leads to the end, and numbers it."""

    def __init__(self, frame: Frame, ease: Ease) -> None:
        self.frame, self.ease = frame, ease
        self.raw = frame.memo.explored.setdefault(ease, {})

    def owed(self, cursor: Cursor, at: int) -> _Owed | None:
        """The step owed at a cursor, when the last one was done at position ``at``; None at the method's end."""
        found = opening_at(self.frame, cursor)
        if found is None or self.frame.over(cursor, found.window):
            return self._following(cursor, at)
        days = self.frame.days
        window = found.window
        last = days.ordinals[at] if at >= 0 else cursor.since
        earliest = max(window.opens, last + 1)
        # Closed days hold back a beginning only: what has begun must be ended, whatever else is going on.
        shut = self.frame.off(cursor.step)
        for begin, end in () if cursor.begun else cursor.closed:
            shut |= days.every(begin, end)
        mask = self._off_shut(cursor.step, days.between(earliest, window.closes) & ~shut, window)
        if not mask and window.hard_stop is not None:
            mask = days.every(earliest, window.closes) & ~shut  # a holiday, rather than too late
            mask = self._off_shut(cursor.step, mask, window)
        if mask & (mask - 1):
            mask &= ~(1 << mask.bit_length() - 1)  # hold the last of several days back for rain
        if not mask and window.hard_stop is None and not days.between(earliest, days.ordinals[-1] if len(days) else 0):
            return self._following(cursor, at)  # its window lies beyond the season; what must come out may lie within
        if not mask and self._left_out(cursor, days.between(earliest, window.closes), window):
            return self._following(cursor, at)
        if not mask and cursor.step in self.frame.spared and self._barred_next(cursor.step, earliest):
            return self._following(cursor, at)
        if not mask and self.ease >= Ease.BENT:
            mask = self._bend(cursor, window, last, first=at < 0)
            # A soft repeat that would come after its ``until`` is not late: it is over.
            if window.hard_stop is None and mask and self.frame.too_late(cursor.step, days.of(mask)[0]):
                return self._following(cursor, at)
        # Cut short only behind a step that was done: a chain without any is no chain, but a conflict.
        ends = not mask and window.hard_stop is not None and at >= 0 and self.ease >= Ease.CUT_SHORT
        return _Owed(cursor, found, tuple(positions(mask)), ends)

    def _left_out(self, cursor: Cursor, mask: int, window: Window) -> bool:
        """True for a soft step that is barred all but to its end, where the same is owed again behind it."""
        following, steps = step_after(self.frame.method, cursor.step), self.frame.method.steps
        if following is None or window.hard_stop is not None or steps[following].logs != steps[cursor.step].logs:
            return False
        return self.frame.barred_till(cursor.step, window) and not mask & ~self.frame.off(cursor.step)

    def _barred_next(self, step: str, earliest: int) -> bool:
        """True where the first day of the keeper's that is left for a step is barred to it."""
        left = self.frame.days.between(earliest, self.frame.days.ordinals[-1])
        return bool(left & -left & self.frame.off(step))

    def _off_shut(self, step: str, mask: int, window: Window) -> int:
        """The days of a mask on which a step is not shut out; all of them where it has no others, and can't wait."""
        free = mask & ~self.frame.shut.get(step, 0)
        return free if free or (window.hard_stop is None and step in self.frame.waits) else mask

    def _following(self, cursor: Cursor, at: int) -> _Owed | None:
        """What is owed where the step at a cursor is not, or no more."""
        following = step_after(self.frame.method, cursor.step)
        return self.owed(cursor.at(following, 1), at) if following else None

    def _bend(self, cursor: Cursor, window: Window, last: int, *, first: bool) -> int:
        """Days outside the window: the first after it for a soft step, the last before its stop for a hard one.

        All come after ``last``, and none lies in a closed period. Only the ``first`` step may pass its hard stop:
        with any other, whoever did the one before it could have ended it.
        """
        days = self.frame.days
        end = days.ordinals[-1] if len(days) else 0
        shut = self.frame.off(cursor.step)
        for begin, until in () if cursor.begun else cursor.closed:
            shut |= days.every(begin, until)
        if window.hard_stop is None:
            late = self._off_shut(cursor.step, days.between(max(window.closes, last) + 1, end) & ~shut, window)
            return late & -late
        early = days.between(last + 1, window.hard_stop) & ~shut or days.every(last + 1, window.hard_stop) & ~shut
        early = self._off_shut(cursor.step, early, window)
        if early:
            return 1 << early.bit_length() - 1
        over = days.every(max(window.hard_stop, last) + 1, end) & ~shut if self.ease is Ease.OVERDUE and first else 0
        return over & -over

    def leads_on(self, owed: _Owed) -> bool:
        """True where some day of ``owed`` leads to the end; the days that don't are dropped.

        Ways that go on worse than others are dropped too: nobody wants to stop early, or come late, to save a visit.
        """
        if owed.kept is None:
            ranks = [(raw, self._ranked(owed, raw)) for raw in self._raws(owed)]
            owed.rank = min((rank for _, rank in ranks if rank is not None), default=(1, 0, 0) if owed.ends else None)
            owed.kept = [raw for raw, rank in ranks if rank is not None and rank == owed.rank]
        return owed.rank is not None

    def _ranked(self, owed: _Owed, raw: _Raw) -> _Rank | None:
        """The rank of a way that begins with a step on a day, counted from the step on."""
        if raw.rank is None:
            return None
        short, steps, bent = raw.rank
        window, day = owed.opening.window, self.frame.days.ordinals[raw.at]
        bent += not window.opens <= day <= window.closes
        return short, steps - 1 if short else 0, bent + (self.frame.shut.get(owed.cursor.step, 0) >> raw.at & 1)

    def _raws(self, owed: _Owed) -> list[_Raw]:
        """A step on each day on which it may be done; what goes on from the same facts is explored once."""
        cursor = owed.cursor
        lasting = self.frame.needed[cursor.step].difference(self.frame.sets[cursor.step])
        # Days that no later step counts from don't tell ways apart: without them, thousands of ways fall into one.
        live = tuple(sorted([(name, known.day) for name, known in cursor.facts.items() if name in lasting]))
        known = self.raw.setdefault((cursor.step, cursor.n, live), {})
        return [known[at] if at in known else self._raw(cursor, at, known) for at in owed.options]

    def _raw(self, cursor: Cursor, at: int, known: dict[int, _Raw]) -> _Raw:
        day = self.frame.days.ordinals[at]
        following = after(self.frame, cursor, day)
        along: list[tuple[str, int]] = []
        while following is not None and goes_along(self.frame, following, day):
            along.append((following.step, following.n))
            following = after(self.frame, following, day)
        then = self.owed(following, at) if following else None
        # Known before what follows is explored, so that a day met again on the way is not explored twice.
        raw = known[at] = _Raw((cursor.step, cursor.n), at, then, tuple(along))
        raw.rank = (0, 0, 0) if then is None else then.rank if self.leads_on(then) else None
        return raw

    def numbered(self, owed: _Owed) -> Chain:
        """The explored chain with its nodes numbered, first come first."""
        kept: list[_Raw] = []
        numbers: dict[int, int] = {}

        def number(one: _Owed) -> None:
            for raw in one.kept or ():
                if id(raw) not in numbers:
                    numbers[id(raw)] = len(kept)
                    kept.append(raw)
                    if raw.then is not None:
                        number(raw.then)

        def stop(one: _Owed) -> Stop:
            raws = one.kept or []
            return Stop(sum(1 << r.at for r in raws), tuple(numbers[id(r)] for r in raws), one.opening.window.best)

        number(owed)
        nodes = tuple(
            Node("/".join(map(str, r.step)), r.at, stop(r.then) if r.then and r.then.kept else None) for r in kept
        )
        missed = {i: r.then.opening for i, r in enumerate(kept) if r.then is not None and not r.then.kept}
        along = {i: r.along for i, r in enumerate(kept) if r.along}
        return Chain(stop(owed), nodes, tuple(raw.step for raw in kept), self.ease, missed, along)


def nodes_left(chain: Chain, keep: Callable[[int], bool]) -> list[int] | None:
    """The nodes of a chain that are to be kept and lead to its end over others that are; None where none does."""
    alive: dict[int, bool] = {}

    def lives(i: int) -> bool:
        if i not in alive:
            then = chain.nodes[i].then
            alive[i] = keep(i) and (then is None or any(list(map(lives, then.nodes))))
        return alive[i]

    if not any(list(map(lives, chain.first.nodes))):
        return None
    return [i for i in range(len(chain.nodes)) if alive.get(i)]


def pruned(chain: Chain, keep: Callable[[int], bool]) -> Chain | None:
    """A chain without the nodes that are not to be kept, nor those that lead nowhere then; None where none is left."""
    kept = nodes_left(chain, keep)
    if kept is None or len(kept) == len(chain.nodes):
        return chain if kept is not None else None
    number = {i: n for n, i in enumerate(kept)}

    def stop(old: Stop) -> Stop:
        left = [i for i in old.nodes if i in number]
        return Stop(sum(1 << chain.nodes[i].at for i in left), tuple(number[i] for i in left), old.best_day)

    nodes = [chain.nodes[i] for i in kept]
    return Chain(
        stop(chain.first),
        tuple(Node(node.label, node.at, stop(node.then) if node.then else None) for node in nodes),
        tuple(chain.steps[i] for i in kept),
        chain.ease,
        {number[i]: missed for i, missed in chain.missed.items() if i in number},
        {number[i]: along for i, along in chain.along.items() if i in number},
    )
