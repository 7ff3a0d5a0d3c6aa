"""Maps: what a stretch of days and a course do to a colony's mites and to its brood, as four numbers a draw.

In: for each draw and day of a year how mites grow, what share sits on bees, what comes in, the harm of a mite, what a
wash reads. Out: affine maps x -> a x + b with harm c x + d, and the state of any day. Pure; numpy for sums in fixed
order. Harm is linear in mites here; the full model judges what was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ipmcal.planning.many.columns import Array

Positions: TypeAlias = npt.NDArray[np.intp]


@dataclass(frozen=True)
class DrawArrays:
    """A class of hives in an untreated year, a row for each draw and a column for each day (day 0 opens the season).

    ``growth``: mites at the end of a day for each at its start; ``on_bees``: the share that sits on bees; ``coming``:
    mites that come in from elsewhere; ``harm``: share of the bee-days of two years lost by one mite on that day;
    ``reads``: what a wash reads (mites a bee) for each mite of the colony. ``start``: mites as the first day opens.
    """

    growth: Array
    on_bees: Array
    coming: Array
    harm: Array
    reads: Array
    start: Array

    def of_first(self, draws: int) -> DrawArrays:
        """The first draws alone."""
        rows = (self.growth, self.on_bees, self.coming, self.harm, self.reads, self.start)
        return DrawArrays(*(one[:draws] for one in rows))

    @property
    def days(self) -> int:
        """Days of the year."""
        return int(self.growth.shape[1])

    @cached_property
    def grown(self) -> Array:
        """What one mite of the first day has become by each day (one column more than days), nothing done."""
        ones = np.ones((len(self.growth), 1))
        return np.concatenate([ones, np.cumprod(self.growth, axis=1)], axis=1)

    @cached_property
    def arrived(self) -> Array:
        """What came in before each day, each mite divided by ``grown`` of its day."""
        return _summed(self.coming / self.grown[:, 1:])

    @cached_property
    def weight(self) -> Array:
        """Harm before each day of one mite that was there on the first, nothing done."""
        return _summed(self.harm * self.grown[:, :-1])

    @cached_property
    def weight_arrived(self) -> Array:
        """Harm before each day of what came in, nothing done."""
        return _summed(self.harm * self.grown[:, :-1] * self.arrived[:, :-1])


def _summed(daily: Array) -> Array:
    """Sums before each day."""
    return np.concatenate([np.zeros((len(daily), 1)), np.cumsum(daily, axis=1)], axis=1)


@dataclass(frozen=True)
class MappedCourse:
    """A course that may be chosen: days of the year from ``begins`` up to, not including, ``ends``.

    ``survives`` has for each draw and day of the course the share of all mites that live through it. ``toll`` is what
    the cure itself costs, in shares of the bee-days of two years, for one giving. ``harms``: what mites do from its
    first day to ``spread`` days after its last, for each that they would do sitting on bees and in cells as ever.
    """

    name: str
    begins: int
    ends: int
    survives: Array
    toll: float = 0.0
    harms: float = 1.0
    spread: int = 0


@dataclass(frozen=True)
class Maps:
    """The maps of all courses in question, by course and draw, in mites divided by ``grown``.

    From the morning of ``begins`` to that of ``ends``: y -> ``a`` y + ``b``, harm ``c`` y + ``d``; to the morning of
    each day in ``looks``, as long as nothing else is done: y -> ``la`` y + ``lb`` (by course, look and draw).
    """

    draws: DrawArrays
    begins: Positions
    ends: Positions
    a: Array
    b: Array
    c: Array
    d: Array
    toll: Array
    looks: Positions
    la: Array
    lb: Array


def maps_of(draws: DrawArrays, courses: Sequence[MappedCourse], looks: Sequence[int]) -> Maps:
    """The maps of courses; ``looks`` are days of the year on which loads will be asked for, ascending."""
    count, many = len(courses), len(draws.start)
    begins = np.array([course.begins for course in courses], dtype=np.intp)
    ends = np.array([course.ends for course in courses], dtype=np.intp)
    a, b = np.ones((count, many)), np.zeros((count, many))
    c, d = np.zeros((count, many)), np.zeros((count, many))
    at = np.array(looks, dtype=np.intp)
    asked = {day: np.flatnonzero(at == day) for day in looks}
    la, lb = np.ones((count, len(looks), many)), np.zeros((count, len(looks), many))
    longest = int((ends - begins).max(initial=0))
    lives = np.ones((longest, count, many))
    for i, course in enumerate(courses):
        lives[: course.ends - course.begins, i] = course.survives.T
    grown, harm, came = draws.grown.T, draws.harm.T, (draws.coming / draws.grown[:, 1:]).T
    for n in range(longest):
        on = np.flatnonzero(begins + n < ends)
        day = begins[on] + n
        for row, when in zip(on.tolist(), day.tolist(), strict=True):
            if when in asked:
                found = asked[when]
                la[row, found], lb[row, found] = a[row], b[row]
        a[on], b[on] = a[on] * lives[n, on], b[on] * lives[n, on]
        weight = harm[day] * grown[day]
        c[on], d[on] = c[on] + weight * a[on], d[on] + weight * b[on]
        b[on] += came[day]
    until = np.minimum(ends + np.array([course.spread for course in courses], dtype=np.intp), draws.days)
    spread = draws.weight.T[until] - draws.weight.T[ends]
    other = np.array([course.harms - 1.0 for course in courses]).reshape(count, 1)
    c, d = c + other * (c + a * spread), d + other * (d + b * spread)
    arrived = draws.arrived.T
    for k, when in enumerate(at):
        after = np.flatnonzero(ends <= when)
        la[after, k] = a[after]
        lb[after, k] = b[after] + arrived[when] - arrived[ends[after]]
    toll = np.array([course.toll for course in courses])
    return Maps(draws, begins, ends, a, b, c, d, toll, at, la, lb)


@dataclass(frozen=True)
class YearMaps:
    """A year under each of some sets of courses, by set and draw, in mites: x -> ``a`` x + ``b``, harm ``c`` x + ``d``.

    ``toll`` is by set.
    """

    a: Array
    b: Array
    c: Array
    d: Array
    toll: Array

    def settled(self, most: float) -> Array:
        """Mites with which the settled year begins: what the plan itself leaves, at most ``most``."""
        grows = self.a >= 1.0
        return np.minimum(np.where(grows, most, self.b / np.where(grows, 1.0, 1.0 - self.a)), most)

    def harms(self, start: Array) -> Array:
        """The mean harm over the draws in this year and the next, tolls of both years with it, rounded to 6 digits."""
        after = self.a * start + self.b
        both = self.c * (start + after) + 2.0 * self.d
        harms: Array = np.round(both.mean(axis=1) + 2.0 * self.toll, 6)
        return harms


def composed(maps: Maps, sets: Positions) -> YearMaps:
    """The year under each set: a row of positions of courses in the order of their days, -1 where there is none."""
    return _run(maps, sets)[0]


def loads(maps: Maps, sets: Positions, start: Array) -> Array:
    """What a wash reads on the days of ``looks``, by set, look and draw, with ``start`` mites on the first day."""
    _, states = _run(maps, sets)
    draws = maps.draws
    grown, arrived = draws.grown.T[maps.looks], draws.arrived.T[maps.looks]
    y = start[:, None, :] + arrived[None]
    for j, (a, b) in enumerate(states):
        here = sets[:, j]
        begun = (maps.begins[here][:, None] < maps.looks[None]) & (here >= 0)[:, None]
        then = maps.la[here] * (a * start + b)[:, None, :] + maps.lb[here]
        y = np.where(begun[:, :, None], then, y)
    read: Array = y * (grown * draws.reads.T[maps.looks])[None]
    return read


def _run(maps: Maps, sets: Positions) -> tuple[YearMaps, list[tuple[Array, Array]]]:
    """The year under each set, and for each place in the sets the state (a, b) on the morning its course begins."""
    draws = maps.draws
    arrived, weight, more = draws.arrived.T, draws.weight.T, draws.weight_arrived.T
    shape = (len(sets), len(draws.start))
    a, b, c, d = np.ones(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape)
    since = np.zeros(len(sets), dtype=np.intp)
    toll = np.zeros(len(sets))
    states = []

    def wait(until: Positions) -> None:
        nonlocal b, c, d
        w = weight[until] - weight[since]
        c = c + w * a
        d = d + w * (b - arrived[since]) + more[until] - more[since]
        b = b + arrived[until] - arrived[since]

    for j in range(sets.shape[1]):
        here = sets[:, j]
        there = (here >= 0)[:, None]
        until = np.where(here >= 0, maps.begins[here], since)
        wait(until)
        states.append((a, b))
        c = np.where(there, c + maps.c[here] * a, c)
        d = np.where(there, d + maps.c[here] * b + maps.d[here], d)
        a, b = np.where(there, maps.a[here] * a, a), np.where(there, maps.a[here] * b + maps.b[here], b)
        toll = toll + np.where(here >= 0, maps.toll[here], 0.0)
        since = np.where(here >= 0, maps.ends[here], since)
    wait(np.full(len(sets), draws.days, dtype=np.intp))
    last = draws.grown[:, -1]
    return YearMaps(a * last, b * last, c, d, toll), states
