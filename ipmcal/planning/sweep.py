"""The fewest visits, by a sweep over the keeper's days. In: strands woven together. Out: days to visit, a proven bound.

The sweep goes through the days once, visits or skips each, and keeps the best states. No step is given its day on the
way: a state holds, for each bundle, every knot that may be next, and the visits alone decide. A state that is dropped
for want of room leaves its bound behind, so that the sweep knows what it has proved.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate

END = 0
"""The knot that stands for "finished": on a day after the last, open once a bundle's last step is done."""


@dataclass(frozen=True, slots=True)
class Bundle:
    """Equal strands as one: the knots of the first stop, ascending by day, what each deviates, how many they are."""

    first: tuple[int, ...]
    costs: tuple[int, ...]
    weight: int


@dataclass(frozen=True, slots=True)
class Weave:
    """Distinct strands over ``length`` days. Nodes on one day and with one future are one knot.

    Knots are numbered from the last day back, ``END`` first: ``at`` is a knot's day (a position), ``then`` the knots of
    which one is owed next, ascending by day (``(END,)`` after the last step), ``costs`` what each deviates, in days.
    """

    length: int
    at: tuple[int, ...]
    then: tuple[tuple[int, ...], ...]
    costs: tuple[tuple[int, ...], ...]
    bundles: tuple[Bundle, ...]

    def bit(self, day: int) -> int:
        """A day in a set of visits. Earlier days are higher bits: of two sets of one size, the greater is earlier."""
        return 1 << (self.length - 1 - day)

    def days(self, visits: int) -> tuple[int, ...]:
        """The positions in a set of visits, ascending."""
        return tuple([day for day in range(self.length) if visits & self.bit(day)])

    def reached(self, bundle: Bundle) -> set[int]:
        """The knots on a bundle's paths, ``END`` included."""
        seen = fresh = set(bundle.first)
        while fresh:
            fresh = {after for knot in fresh if knot != END for after in self.then[knot]} - seen
            seen = seen | fresh
        return seen


@dataclass(frozen=True, slots=True)
class _Layout:
    """The bits of a state: one for each knot of each bundle, by day and bundle; the ``END`` of each bundle comes last.

    On a day's morning, the bits of the days before it, ``base[day]`` in number, have been shifted out of a state.
    ``gains[day]``: what each bit of that day opens after it (everything, for a bundle that is over);
    ``open_after[day]``: for each bundle, all its bits after that day;
    ``shut[day]``: the same, for the bundles that have a stop closing on that day.
    """

    start: int
    day_of: list[int]
    base: list[int]
    gains: list[list[int]]
    open_after: list[list[int]]
    shut: list[list[int]]


def _lay_out(weave: Weave) -> _Layout:
    reached = [weave.reached(bundle) for bundle in weave.bundles]
    spots = sorted((weave.at[knot], c, -knot) for c, knots in enumerate(reached) for knot in knots)
    where = {(c, -knot): i for i, (_, c, knot) in enumerate(spots)}
    sizes = [0] * (weave.length + 1)
    for day, _, _ in spots:
        sizes[day] += 1
    base = list(accumulate(sizes, initial=0))
    whole = [sum([1 << where[c, knot] for knot in knots]) for c, knots in enumerate(reached)]
    gains: list[list[int]] = [[] for _ in range(weave.length)]
    closing: list[set[int]] = [set() for _ in range(weave.length + 1)]
    for c, bundle in enumerate(weave.bundles):
        closing[weave.at[bundle.first[-1]]].add(c)
    for day, c, knot in spots[: base[weave.length]]:
        then, after = weave.then[-knot], base[day + 1]
        closing[weave.at[then[-1]]].add(c)
        over = then[0] == END
        gains[day].append(whole[c] >> after if over else sum([1 << where[c, knot] - after for knot in then]))
    open_after = [[bits >> base[day + 1] for bits in whole] for day in range(weave.length)]
    return _Layout(
        start=sum(1 << where[c, knot] for c, bundle in enumerate(weave.bundles) for knot in bundle.first),
        day_of=[day for day, _, _ in spots],
        base=base,
        gains=gains,
        open_after=open_after,
        shut=[[bits[c] for c in sorted(bundles)] for bits, bundles in zip(open_after, closing, strict=False)],
    )


_State = tuple[int, int, int]
"""How many visits, the open knots (bits of a ``_Layout``), and which visits."""


class Fewest:
    """The sweep for the fewest visits.

    ``rest[day]`` is a proven least number of visits on that day or later, whatever was visited before.
    """

    def __init__(self, weave: Weave) -> None:
        self.weave = weave
        self.rest = [0] * (weave.length + 2)
        self._layout = _lay_out(weave)
        self._opened: list[dict[int, int]] = [{} for _ in range(weave.length)]
        self._reach = _reach(weave)
        for day in reversed(range(weave.length)):
            self._pierce(day)

    def run(self, width: int, below: int, day: int = 0, opened: int | None = None) -> tuple[int | None, int]:
        """The fewest visits that carry all bundles if less than ``below`` (else None), and a proven lower bound.

        At most ``width`` states are kept. The sweep may begin on a later ``day`` with the knots open on its morning.
        """
        states: list[_State] = [(0, self._layout.start if opened is None else opened, 0)]
        bound = below
        for today in range(day, self.weave.length):
            if self._layout.gains[today]:
                states = _undominated(self._branch(today, states))
                if len(states) > width or below <= self.weave.length:
                    states, dropped = self._best(today, states, width, below)
                    bound = min(bound, dropped)
        return (states[0][2], min(bound, states[0][0])) if states else (None, bound)

    def tighten(self, parts: int, width: int) -> None:
        """Raise ``rest`` at the beginning of each of so many parts of the season but the first, and so before it.

        If even with every earlier day visited for nothing, a sweep proves that ``rest`` visits are too few, it rises.
        """
        opened = [self._layout.start]
        for day in range(self.weave.length):
            opened.append(self._visit(day, opened[-1]))
        stride = max(1, -(-self.weave.length // parts))
        for day in reversed(range(self.weave.length)):
            self._pierce(day)
            while day and day % stride == 0:
                found, bound = self.run(width, self.rest[day] + 1, day, opened[day])
                if found is not None or bound <= self.rest[day]:
                    break
                self.rest[day] += 1

    def thinned(self, visits: int) -> int:
        """Visits without those that are not needed: the latest goes first."""
        for day in reversed(self.weave.days(visits)):
            fewer = visits & ~self.weave.bit(day)
            if self._carries(fewer):
                visits = fewer
        return visits

    def _carries(self, visits: int) -> bool:
        """Whether each bundle has a path on these visits."""
        opened = self._layout.start
        for day, gains in enumerate(self._layout.gains):
            if visits & self.weave.bit(day):
                opened = self._visit(day, opened)
            else:
                opened >>= len(gains)
                if not all(opened & bundle for bundle in self._layout.shut[day]):
                    return False
        return True

    def _pierce(self, day: int) -> None:
        """Interval piercing: nobody gets past ``reach`` without a visit from ``day`` on, and then the rest begins."""
        last = self._reach[day]
        self.rest[day] = max(self.rest[day + 1], 1 + self.rest[last + 1] if last < self.weave.length else 0)

    def _visit(self, day: int, opened: int) -> int:
        """The knots open after a visit."""
        gains = self._layout.gains[day]
        rest = opened >> len(gains)
        hit = opened & ((1 << len(gains)) - 1)
        if not hit:
            return rest
        gain = self._opened[day].get(hit)
        if gain is None:
            gain = 0
            for i, more in enumerate(gains):
                if hit >> i & 1:
                    gain |= more
            self._opened[day][hit] = gain
        return rest | gain

    def _branch(self, day: int, states: Iterable[_State]) -> Iterable[_State]:
        """Each state with the day visited, where that opens anything, and skipped, where no bundle is lost by it."""
        size = len(self._layout.gains[day])
        shut, bit = self._layout.shut[day], self.weave.bit(day)
        out: dict[int, _State] = {}
        for visits, opened, made in states:
            rest = opened >> size
            wide = self._visit(day, opened)
            if wide != rest and (wide not in out or visits + 1 < out[wide][0]):
                out[wide] = visits + 1, wide, made | bit
            for bundle in shut:
                if not rest & bundle:
                    break
            else:
                if rest not in out or visits < out[rest][0]:
                    out[rest] = visits, rest, made
        return out.values()

    def _best(self, day: int, states: list[_State], width: int, below: int) -> tuple[list[_State], int]:
        """The best states, and the least bound of those dropped. Bound first, then the time that all bundles have."""
        open_after, length = self._layout.open_after[day], self.weave.length
        day_of, base, rest = self._layout.day_of, self._layout.base[day + 1] - 1, self.rest
        ranked = []
        for state in states:
            visits, opened, _ = state
            lasts = [(opened & bundle).bit_length() for bundle in open_after]
            due = day_of[min(lasts) + base]
            bound = visits if due == length else visits + 1 + rest[due + 1]
            if bound < below:
                ranked.append((bound, -sum(lasts), state))
        ranked.sort()
        dropped = ranked[width][0] if len(ranked) > width else below
        return [state for _, _, state in ranked[:width]], dropped


def _undominated(states: Iterable[_State]) -> list[_State]:
    """The states of which no other has all open knots with no more visits, by visits."""
    kept: list[_State] = []
    for state in sorted(states):
        opened = state[1]
        for other in kept:
            if opened | other[1] == other[1]:
                break
        else:
            kept.append(state)
    return kept


def _reach(weave: Weave) -> list[int]:
    """For each day, the latest next visit that any bundle allows if the last one was before it; ``length`` for none."""
    reach = [weave.length] * (weave.length + 1)
    for bundle in weave.bundles:
        lasts = [0] * (weave.length + 1)
        lasts[0] = weave.at[bundle.first[-1]]
        for knot in weave.reached(bundle) - {END}:
            after = weave.at[knot] + 1
            lasts[after] = max(lasts[after], weave.at[weave.then[knot][-1]])
        reach = list(map(min, reach, accumulate(lasts, max)))
    return reach
