"""The fewest visits, by a sweep over the keeper's days. In: strands woven together. Out: days to visit, a proven bound.

The sweep goes through the days once, visits or skips each, and keeps the best states. No step is given its day on the
way: a state holds, for each bundle, every knot that may be next, and the visits alone decide. A state that is dropped
for want of room leaves its bound behind, so that the sweep knows what it has proved. Where there are several yards, a
day branches into the sets of yards that may be visited on it; these double with each yard, so that they are counted.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Container, Iterable, Mapping, Sequence, Sized
from itertools import combinations

from ipmcal.planning.pack.layout import Left, lay_out, reaches_to, shares
from ipmcal.planning.pack.steps import Steps
from ipmcal.planning.pack.weave import Weave

_State = tuple[int, int, int]
"""The toll so far, the open knots (bits of a ``Layout``), and which visits."""

_Spans = tuple[list[int], list[int]]
"""Of each bundle, how many bits reach to its last open knot, and by the estimate what it has left to pay."""

Outing = tuple[tuple[int, ...], int, int, int]
"""Some yards to visit on a day: the bits of each, all of them, the toll, and the visits."""


class Fewest:
    """The sweep for the least toll: the fewest visits, or for several yards the fewest drives, then visits.

    ``rests[yard][day]`` is a proven least number of visits to a yard on that day or later, whatever was visited before,
    and ``drives[day]`` of drives; for a single yard they are worked out here. Each list ends with -1: what is due after
    the last day needs no visit, and none after it. ``steps`` are what may be spent on sets of yards; for a single yard
    there are none to go through.
    """

    def __init__(
        self, weave: Weave, rests: Sequence[list[int]] = (), drives: list[int] | None = None, steps: Steps | None = None
    ) -> None:
        self.weave = weave
        self.steps = steps
        self.rests = list(rests) or [[0] * (weave.length + 1) + [-1]]
        self.drives = drives or self.rests[0]
        self._layout = lay_out(weave)
        self._opened: list[dict[int, int]] = [{} for _ in range(weave.length)]
        self._hits: list[dict[int, list[tuple[int, int]]]] = [{} for _ in range(weave.length)]
        self._spans: dict[int, _Spans] = {}
        self._before: dict[int, int] = {}
        self._choices: dict[int, list[Outing]] = {}
        self._yards = slices(weave)
        self._span = len(self._layout.day_of) * len(weave.bundles) + 1
        self._left: list[Left] = []
        self._most = (weave.drive + weave.yards) * weave.length
        self._paid_for_visit, self._paid_for_left = 1, 0
        if not rests:
            self._reach = reaches_to(weave)
            for day in reversed(range(weave.length)):
                self._pierce(day)

    @property
    def rest(self) -> list[int]:
        """The bound on the visits of a single yard."""
        return self.rests[0]

    @property
    def bound(self) -> int:
        """The least toll that is proved without a sweep."""
        return self.weave.drive * self.drives[0] + sum([rest[0] for rest in self.rests])

    def within(self, days: Container[int], width: int, below: int) -> int | None:
        """Visits on some days only, for less toll than ``below``; None where none are found."""
        every = self._choices
        self._choices = {day: [] for day in range(self.weave.length) if day not in days}
        found, _ = self.run(width, below)
        self._choices = every
        return found

    def run(self, width: int, below: int, day: int = 0, opened: int | None = None) -> tuple[int | None, int]:
        """Visits that carry all bundles for the least toll found if it is less than ``below`` (else None), and a bound.

        At most ``width`` states are kept. The sweep may begin on a later ``day`` with the knots open on its morning.
        Raises OutOfSteps where there are too many sets of yards to go through.
        """
        states: list[_State] = [(0, self._layout.start if opened is None else opened, 0)]
        bound = below
        self._spans = {}
        for today in range(day, self.weave.length):
            if self._layout.gains[today]:
                if self.steps is not None:
                    self.steps.spend(len(states) * sets_of(self._layout.parts[today]) * len(self.weave.bundles))
                states = _undominated(self._branch(today, states), self.steps)
                # as long as no toll is ruled out and all states fit, ranking would drop none
                if len(states) > width or below <= self._most:
                    states, dropped = self._best(today, states, width, below)
                    bound = min(bound, dropped)
        return (states[0][2], min(bound, states[0][0])) if states else (None, bound)

    def tighten(self, parts: int, width: int) -> None:
        """Raise ``rest`` at the beginning of each of so many parts of the season but the first, and so before it.

        If even with every earlier day visited for nothing, a sweep proves that ``rest`` visits are too few, it rises.
        """
        opened = [self._layout.start]
        for day in range(self.weave.length):
            # every day visited for nothing: no visits leave more open than these
            opened.append(self._visit(day, opened[-1], -1))
        stride = max(1, -(-self.weave.length // parts))
        for day in reversed(range(self.weave.length)):
            self._pierce(day)
            while day and day % stride == 0:
                found, bound = self.run(width, self.rest[day] + 1, day, opened[day])
                if found is not None or bound <= self.rest[day]:
                    break
                self.rest[day] += 1

    def estimate(self) -> None:
        """From now on, keep those states for which the least is left to pay by an estimate, not only by the bound."""
        if self._left:
            return
        drive = 1 if self.weave.drive else 0
        paid, total = shares(self.weave, self._layout, drive)
        self._paid_for_visit = 10 * total
        self._paid_for_left = OPTIMISM * (sum([rest[0] for rest in self.rests]) + drive * self.drives[0])
        self._left = [Left(paid) for _ in self.weave.bundles]

    def thinned(self, visits: int) -> int:
        """Visits without those that are not needed: the latest goes first."""
        left = visits
        while left:
            bit = left & -left
            left ^= bit
            if self.carries(visits ^ bit):
                visits ^= bit
        return visits

    def carries(self, visits: int) -> bool:
        """Whether each bundle has a path on these visits."""
        layout, opened = self._layout, self._layout.start
        for day in sorted({day for yard in range(self.weave.yards) for day in self.weave.days(visits, yard)}):
            # who is lost on the days between has nothing open from then on
            opened &= layout.from_on[day]
            here = sum([bits for yard, bits in layout.parts[day].items() if visits & self.weave.bit(day, yard)])
            opened = self._visit(day, opened, here)
        return _all_in(opened & layout.from_on[self.weave.length], layout.whole)

    def _pierce(self, day: int) -> None:
        """Interval piercing: nobody gets past ``reaches_to`` without a visit from ``day`` on; then the rest begins."""
        self.rest[day] = max(self.rest[day + 1], 1 + self.rest[self._reach[day] + 1])

    def _visit(self, day: int, opened: int, part: int) -> int:
        """The knots open after a visit to the yards whose bits are ``part``."""
        layout = self._layout
        hit = (opened & part & layout.today[day]) >> layout.first[day]
        return opened & layout.later[day] | self._gain(day, hit)

    def _gain(self, day: int, hit: int) -> int:
        """What opens after a visit that some bits of a day meet, counted from the first of the day."""
        known = self._opened[day]
        gain = known.get(hit)
        if gain is None:
            gain, left, gains = 0, hit, self._layout.gains[day]
            while left:
                bit = left & -left
                gain |= gains[bit.bit_length() - 1]
                left ^= bit
            known[hit] = gain
        return gain

    def _ways(self, day: int) -> list[Outing]:
        """The sets of yards that may be visited on a day."""
        if day not in self._choices:
            self._choices[day] = choices(self.weave, day, self._layout.parts[day])
        return self._choices[day]

    def _branch(self, day: int, states: Iterable[_State]) -> Iterable[_State]:
        """Each state with the day skipped, and with each choice of yards that opens anything, where none is lost."""
        if self.weave.yards == 1:
            return self._branch_of_one(day, states)
        later, shut, ways = self._layout.later[day], self._layout.shut[day], self._ways(day)
        out: dict[int, _State] = {}
        self._before = before = {}
        for toll, opened, made in states:
            rest = opened & later
            for parts, part, more, visits in ways:
                wide = self._visit(day, opened, part)
                # a visit that opens nothing is none; of two ways to the same knots the cheaper is kept
                if wide == rest or (wide in out and toll + more >= out[wide][0]):
                    continue
                # the only yard of a day loses nobody by a visit; of several, each visited one needs work on that day,
                # and no bundle of the others may be left with nothing open
                if len(ways) == 1 or (_all_in(opened, parts) and _all_in(wide, shut)):
                    out[wide], before[wide] = (toll + more, wide, made | visits), opened
            if _all_in(rest, shut) and (rest not in out or toll < out[rest][0]):
                out[rest], before[rest] = (toll, rest, made), opened
        return out.values()

    def _branch_of_one(self, day: int, states: Iterable[_State]) -> Iterable[_State]:
        """The same for a single yard, which loses nobody by a visit."""
        layout, known = self._layout, self._opened[day]
        today, first, later, shut = layout.today[day], layout.first[day], layout.later[day], layout.shut[day]
        visit, open_to_visits = self.weave.bit(day), bool(self._ways(day))
        out: dict[int, _State] = {}
        self._before = before = {}
        for toll, opened, made in states:
            rest = opened & later
            hit = (opened & today) >> first
            if hit and open_to_visits:
                wide = rest | (known.get(hit) or self._gain(day, hit))
                if wide != rest and (wide not in out or toll + 1 < out[wide][0]):
                    out[wide], before[wide] = (toll + 1, wide, made | visit), opened
            for bundle in shut:
                if not rest & bundle:
                    break
            else:
                if rest not in out or toll < out[rest][0]:
                    out[rest], before[rest] = (toll, rest, made), opened
        return out.values()

    def _best(self, day: int, states: list[_State], width: int, below: int) -> tuple[list[_State], int]:
        """The best states, and the least bound of those dropped.

        They are ranked by bound and the time that all bundles have, or by the estimate where there is one.
        """
        bounded, spanned = self._bounded if self.weave.drive else self._bounded_for_one, self._spanned
        known: dict[int, _Spans] = {}
        ranked: list[tuple[int, int, _State]] = []
        paid, ahead, span = self._paid_for_visit, self._paid_for_left, self._span
        for state in states:
            toll, opened, _ = state
            known[opened] = lasts, left = spanned(day, opened)
            bound = bounded(toll, lasts)
            if bound < below:
                # by the estimate, a drive counts as one visit more
                made = sum(divmod(toll, self.weave.drive)) if left and self.weave.drive else toll
                rank = made * paid + sum(left) * ahead if left else bound * span - sum(lasts)
                ranked.append((rank, bound, state))
        self._spans = known
        ranked.sort()
        dropped = min([bound for _, bound, _ in ranked[width:]], default=below)
        return [state for _, _, state in ranked[:width]], dropped

    def _bounded(self, toll: int, lasts: Sequence[int]) -> int:
        """The least toll in the end: whoever has to be served first takes a visit by then; then the rest begins."""
        day_of = self._layout.day_of
        bound = toll + self.weave.drive * (1 + self.drives[day_of[min(lasts) - 1] + 1])
        for where, rest in zip(self._yards, self.rests, strict=True):
            bound += 1 + rest[day_of[min(lasts[where]) - 1] + 1]
        return bound

    def _bounded_for_one(self, toll: int, lasts: Sequence[int]) -> int:
        """The same for a single yard."""
        return toll + 1 + self.rests[0][self._layout.day_of[min(lasts) - 1] + 1]

    def _spanned(self, day: int, opened: int) -> _Spans:
        """What is known of each bundle of a state after a day: but for who had work on it, as before."""
        before = self._before[opened]
        known = self._spans.get(before)
        if known is None:
            parts = [opened & bundle for bundle in self._layout.whole]
            paid = [left[part] for left, part in zip(self._left, parts, strict=True)] if self._left else []
            return [part.bit_length() for part in parts], paid
        hit = (before & self._layout.today[day]) >> self._layout.first[day]
        if not hit:
            return known
        lasts, paid = known[0].copy(), known[1].copy()
        for c, whole in self._who(day, hit):
            part = opened & whole
            lasts[c] = part.bit_length()
            if paid:
                paid[c] = self._left[c][part]
        return lasts, paid

    def _who(self, day: int, hit: int) -> list[tuple[int, int]]:
        """The bundles of some bits of a day, counted from its first, each with all its bits."""
        found = self._hits[day].get(hit)
        if found is None:
            layout = self._layout
            bits = (i for i in range(hit.bit_length()) if hit >> i & 1)
            bundles = dict.fromkeys([layout.knots[layout.first[day] + i][0] for i in bits])
            found = self._hits[day][hit] = [(c, layout.whole[c]) for c in bundles]
        return found


OPTIMISM = 9
"""Tenths of the bound that the estimate of what is left comes to at the start: less looks more at what was paid."""


def sets_of(yards: Sized) -> int:
    """How many sets of these yards ``choices`` has."""
    return (1 << len(yards)) - 1


def choices(weave: Weave, day: int, parts: Mapping[int, int]) -> list[Outing]:
    """All sets of yards that may be visited on a day."""
    found: list[Outing] = []
    for size in range(1, len(parts) + 1):
        for yards in combinations(sorted(parts), size):
            bits = tuple([parts[yard] for yard in yards])
            found.append((bits, sum(bits), weave.drive + size, sum([weave.bit(day, yard) for yard in yards])))
    return found


def slices(weave: Weave) -> list[slice]:
    """Where the bundles of each yard stand."""
    yards = [bundle.yard for bundle in weave.bundles]
    return [slice(bisect_left(yards, yard), bisect_right(yards, yard)) for yard in range(weave.yards)]


def _all_in(opened: int, sets: Iterable[int]) -> bool:
    """Whether something of each set is open."""
    return all(opened & bits for bits in sets)


def _undominated(states: Iterable[_State], steps: Steps | None) -> list[_State]:
    """The states of which no other has all open knots for no more toll, by toll."""
    kept: list[_State] = []
    for state in sorted(states):
        if steps is not None:
            steps.spend(len(kept))
        opened = state[1]
        for other in kept:
            if opened | other[1] == other[1]:
                break
        else:
            kept.append(state)
    return kept
