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

from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.strand import Node, Stop
from ipmcal.model.values.days import Span, positions
from ipmcal.model.values.words import counted, day_range
from ipmcal.planning.days.bounds import OpenDays, Opening
from ipmcal.planning.days.frame import (
    Cursor,
    Frame,
    after,
    goes_along,
    opening_at,
    step_after,
)


class Ease(IntEnum):
    """How far the keeper's days have to be bent. Each grade allows what the ones before it allow."""

    STRICT = 0
    BENT = 1
    """A soft step may come late; a hard one early, on the last day before its stop."""
    CUT_SHORT = 2
    """A chain may end where no day would be in time."""
    OVERDUE = 3
    """What has to be done, but can't be in time, is done on the next day there is."""


@dataclass(frozen=True)
class Made:
    """A step on a day, in its method's frame, and the window that it had, given the steps before it."""

    step: str
    n: int
    day: int
    opening: Opening
    cursor: Cursor
    frame: Frame = field(compare=False, repr=False)

    @cached_property
    def why(self) -> Reason:
        """Why this day and no other: the window, and how many of the keeper's days lie in it."""
        window = self.opening.window
        inside = self.frame.days.between(window.opens, window.closes).bit_count()
        note = f"{counted(inside, 'day')} of yours in {day_range(window.opens, window.closes)}"
        return Reason(Rule.KEEPER_DAY, self.step, Span.exact(self.day), (), (window.why_opens, window.why_closes), note)

    @cached_property
    def bent(self) -> str:
        """How the keeper's days bent it: "early", "late", "overdue", or "" where they did not."""
        window = self.opening.days
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
        yield Made(step, n, day, found, here, frame)
        following = after(frame, here, day)
        if following is None:
            return
        cursor = following


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
        if found is None or self.frame.over(cursor, found.days):
            return self._following(cursor, at)
        days = self.frame.days
        window = found.days
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

    def _left_out(self, cursor: Cursor, mask: int, window: OpenDays) -> bool:
        """True for a soft step that is barred all but to its end, where the same is owed again behind it."""
        following, steps = step_after(self.frame.method, cursor.step), self.frame.method.steps
        if following is None or window.hard_stop is not None or steps[following].logs != steps[cursor.step].logs:
            return False
        return self.frame.barred_till(cursor.step, window) and not mask & ~self.frame.off(cursor.step)

    def _barred_next(self, step: str, earliest: int) -> bool:
        """True where the first day of the keeper's that is left for a step is barred to it."""
        left = self.frame.days.between(earliest, self.frame.days.ordinals[-1])
        return bool(left & -left & self.frame.off(step))

    def _off_shut(self, step: str, mask: int, window: OpenDays) -> int:
        """The days of a mask on which a step is not shut out; all of them where it has no others, and can't wait."""
        free = mask & ~self.frame.shut.get(step, 0)
        return free if free or (window.hard_stop is None and step in self.frame.waits) else mask

    def _following(self, cursor: Cursor, at: int) -> _Owed | None:
        """What is owed where the step at a cursor is not, or no more."""
        following = step_after(self.frame.method, cursor.step)
        return self.owed(cursor.at(following, 1), at) if following else None

    def _bend(self, cursor: Cursor, window: OpenDays, last: int, *, first: bool) -> int:
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
        window, day = owed.opening.days, self.frame.days.ordinals[raw.at]
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
            return Stop(sum(1 << r.at for r in raws), tuple(numbers[id(r)] for r in raws), one.opening.days.best)

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
