"""Accept: the full model under a set of courses, by draws that did not choose: loads, odds, harm, year by year.

In: the colony-years of a class, courses, the authority's line. Out: ``Outlook``. Pure. The model is linear in mites, so
that two runs a draw tell of every year: one of the mites that are there, one of those that come in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias, overload

import numpy as np

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.biology.mites.harm import bee_days, harmed_days
from ipmcal.biology.mites.run import Trace
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.many.columns import Array, ColonyColumns
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, ManyTraces, runs
from ipmcal.planning.mites.living.hazards import Hazards, handled_at_once
from ipmcal.planning.mites.living.lived import Lived, columns_of


@dataclass(frozen=True, slots=True)
class Judging:
    """How a year is judged: days (ordinals) on which loads are held against ``lines`` (mites a bee, as a wash reads).

    Days less than ``excused`` before a course do not count. ``settled_most``: mites with which a settled year begins at
    most.
    """

    days: tuple[int, ...]
    lines: tuple[float, ...]
    settled_most: float
    excused: int = 0

    def counted(self, courses: Sequence[int]) -> tuple[int, ...]:
        """The places of the days that count, where courses begin on some days (ordinals)."""
        return tuple(
            n for n, day in enumerate(self.days) if not any((c - day) % YEAR_DAYS < self.excused for c in courses)
        )


@dataclass(frozen=True)
class JudgedYear:
    """One draw under courses: the run of one mite, and the run of what comes in."""

    lived: Lived
    one: Trace
    came: Trace
    young: tuple[ColonyDays, Trace] | None = None

    @cached_property
    def factor(self) -> float:
        """Mites at the year's end for each at its beginning."""
        return self.one.all[-1]

    @cached_property
    def settled_free(self) -> float | None:
        """Where years like this one lead; None where they lead nowhere."""
        return self.came.all[-1] / (1.0 - self.factor) if self.factor < 1.0 else None

    def settled(self, most: float) -> float:
        """Mites with which the settled year begins."""
        return most if self.settled_free is None else min(self.settled_free, most)

    def after(self, mites: float) -> float:
        """Mites a year later."""
        return self.factor * mites + self.came.all[-1]

    @cached_property
    def end(self) -> float:
        """Mites as this year ends."""
        return self.young[1].all[-1] if self.young else self.after(self.lived.start)

    def this_loads(self, days: Sequence[int]) -> list[float]:
        """The load of some days of this year; 0 before the colony began."""
        if self.young is None:
            return self.loads(self.lived.start, days)
        made, trace = self.young
        return [
            _load(self.lived, made, day, trace.on_bees[day - trace.first]) if day >= trace.first else 0.0
            for day in days
        ]

    def this_winter_brood(self) -> float:
        """The share of this year's cells of winter bees that hold a mite."""
        made, trace = self.young or (self.lived.colony, self.one)
        skipped = trace.first - made.first
        days = range(self.lived.stock.first + YEAR_DAYS - trace.first)
        reared = [t for t in days if made.winter_cells[skipped + t]]
        if self.young:
            entered = [trace.entered[t] for t in reared]
        else:
            one, came, start = self.one.entered, self.came.entered, self.lived.start
            entered = [one[t] * start + came[t] for t in reared]
        return _share_of_cells(entered, [made.worker_cells[skipped + t] for t in reared])

    def loads(self, mites: float, days: Sequence[int]) -> list[float]:
        """The load of some days as a wash would read it, mites a bee."""
        first, one, came = self.lived.stock.first, self.one.on_bees, self.came.on_bees
        loose = [one[day - first] * mites + came[day - first] for day in days]
        return [_load(self.lived, self.lived.colony, day, on_bees) for day, on_bees in zip(days, loose, strict=True)]

    def trace(self, mites: float) -> Trace:
        """The run of so many mites to begin with."""
        one, came = self.one, self.came

        def mixed(a: list[float], b: list[float]) -> list[float]:
            return [x * mites + y for x, y in zip(a, b, strict=True)]

        return Trace(one.first, mixed(one.all, came.all), mixed(one.on_bees, came.on_bees),
                     mixed(one.entered, came.entered), one.cut, one.books)  # fmt: skip

    def harm(self, mites: float, until: int) -> float:
        """The share of the bee-days of a year and the next, up to the day ``until`` of it, from cells with a mite."""
        first, lives, colony = self.lived.stock.first, self.lived.stock.figures.lives, self.lived.colony
        this, then = (first, first + YEAR_DAYS - 1), (first, until)
        harmed = harmed_days(colony, self.trace(mites), lives, this)
        harmed += harmed_days(colony, self.trace(self.after(mites)), lives, then)
        reared = bee_days(colony, lives, this) + bee_days(colony, lives, then)
        return harmed / reared if reared else 0.0


def _load(lived: Lived, made: ColonyDays, day: int, on_bees: float) -> float:
    at, wash = day - made.first, lived.stock.figures.weighing.wash_reads
    return on_bees / made.bees[at] * (wash if made.brood[at] else 1.0)


FirstYears: TypeAlias = tuple[ColonyColumns, ManyTraces]
"""The colonies of draws that began this season, and their mites from that day on."""


class JudgedYears(Sequence[JudgedYear]):
    """Each draw of a class under courses, all at once: ``JudgedYear`` values where one is asked for."""

    def __init__(self, lives: Sequence[Lived], both: ManyTraces, young: FirstYears | None) -> None:
        self.lives, self.both, self.young = lives, both, young
        self._made: dict[int, JudgedYear] = {}

    def __len__(self) -> int:
        return len(self.lives)

    @overload
    def __getitem__(self, place: int) -> JudgedYear: ...
    @overload
    def __getitem__(self, place: slice) -> list[JudgedYear]: ...
    def __getitem__(self, place: int | slice) -> JudgedYear | list[JudgedYear]:
        if isinstance(place, slice):
            return [self[n] for n in range(*place.indices(len(self)))]
        if not -len(self) <= place < len(self):
            raise IndexError(place)
        at = place % len(self)
        if at not in self._made:
            one, came = self.both.trace(at), self.both.trace(at + len(self))
            young = None if self.young is None else (self.young[0].colony(at), self.young[1].trace(at))
            self._made[at] = JudgedYear(self.lives[at], one, came, young)
        return self._made[at]

    @cached_property
    def factors(self) -> Array:
        """Mites at the year's end for each at its beginning, by draw."""
        return self._halves(self.both.all[-1])[0]

    @cached_property
    def ends(self) -> Array:
        """Mites as this year ends, by draw."""
        one, came = self._halves(self.both.all[-1])
        ends: Array = one * np.array([life.start for life in self.lives]) + came
        return ends if self.young is None else self.young[1].all[-1]

    @cached_property
    def settled_free(self) -> Array:
        """Mites with which the settled year begins, by draw, were there no most; infinite where it leads nowhere."""
        one, came = self._halves(self.both.all[-1])
        leads = one < 1.0
        free: Array = np.where(leads, came / np.where(leads, 1.0 - one, 1.0), np.inf)
        return free

    def loads(self, mites: Array, days: Sequence[int]) -> Array:
        """As ``JudgedYear.loads``, a row a day, each draw begun with its own mites."""
        stock = self.lives[0].stock
        one, came = self._halves(self.both.on_bees[[day - stock.first for day in days]])
        return _loads(self.lives, columns_of(self.lives, stock.history), days, one * mites + came)

    def this_loads(self, days: Sequence[int]) -> Array:
        """As ``JudgedYear.this_loads``, a row a day."""
        if self.young is None:
            return self.loads(np.array([one.start for one in self.lives]), days)
        columns, traces = self.young
        there = [day for day in days if day >= traces.first]
        loads = np.zeros((len(days), len(self)))
        loads[len(days) - len(there) :] = _loads(
            self.lives, columns, there, traces.on_bees[[day - traces.first for day in there]]
        )
        return loads

    @cached_property
    def winter_brood(self) -> tuple[float, ...]:
        """As ``JudgedYear.this_winter_brood``, by draw."""
        stock, columns, traces = self.lives[0].stock, columns_of(self.lives, self.lives[0].stock.history), self.both
        if self.young:
            columns, traces = self.young
        skipped = traces.first - columns.first
        rows = [t for t in range(stock.first + YEAR_DAYS - traces.first) if columns.winter_cells[skipped + t]]
        cells = columns.arrays["worker_cells"][[skipped + t for t in rows]]
        entered = traces.entered[rows]
        if not self.young:
            one, came = self._halves(entered)
            entered = one * np.array([one.start for one in self.lives]) + came
        return tuple(_share_of_cells(mine, of) for mine, of in zip(entered.T.tolist(), cells.T.tolist(), strict=True))

    def _halves(self, both: Array) -> tuple[Array, Array]:
        """What comes of one mite, and of those that come in."""
        return both[..., : len(self)], both[..., len(self) :]


def _loads(lives: Sequence[Lived], columns: ColonyColumns, days: Sequence[int], on_bees: Array) -> Array:
    """What a wash reads on some days, of so many mites on bees."""
    at, wash = [day - columns.first for day in days], lives[0].stock.figures.weighing.wash_reads
    reads = np.where(columns.arrays["brood"][at] > 0.0, wash, 1.0)
    found: Array = on_bees / columns.arrays["bees"][at] * reads
    return found


def _share_of_cells(entered: Sequence[float], cells: Sequence[float]) -> float:
    """The share of cells that hold a mite, of all days on which any are capped."""
    reared = [(m, c) for m, c in zip(entered, cells, strict=True) if c > 0]
    if not reared:
        return 0.0
    return sum([c * -math.expm1(-m / c) for m, c in reared]) / sum([c for _, c in reared])


def years(colonies: Sequence[Lived], courses: Sequence[MiteCourse], hazards: Hazards) -> JudgedYears:
    """Each draw under courses."""
    done = handled_at_once(colonies, courses, hazards)
    return JudgedYears(colonies, one_and_came(colonies, done), first_years(colonies, done))


def one_and_came(lives: Sequence[Lived], done: ManyHandlings) -> ManyTraces:
    """Of each draw of a class the year of one mite, and behind all of these what comes in and what comes of it."""
    stock = lives[0].stock
    of = [one.draw.lives for one in lives]
    many = ManyColonies(stock.figures.nest, columns_of(lives, stock.history).twice, [*of, *of])
    ones, nothing = [1.0] * len(lives), [0.0] * len(lives)
    coming = [one.coming for one in lives]
    begin = ManyBegin((stock.first, stock.first + YEAR_DAYS), [*ones, *nothing], [*nothing, *coming])
    return runs(many, begin, done.twice())


def first_years(lives: Sequence[Lived], done: ManyHandlings) -> FirstYears | None:
    """The year in which the draws' colonies began, from that day on; None of those that were there before."""
    stock = lives[0].stock
    if stock.young is None or stock.young.began is None:
        return None
    columns = columns_of(lives, stock.young)
    many = ManyColonies(stock.figures.nest, columns, [one.draw.lives for one in lives])
    days = (stock.young.began.day, stock.first + YEAR_DAYS)
    begin = ManyBegin(days, [one.drawn for one in lives], [one.coming for one in lives])
    return columns, runs(many, begin, done)


@dataclass(frozen=True, slots=True)
class Odds:
    """A figure over the draws: its median, and the tenth and ninetieth of a hundred."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """What courses come to: shares of draws over the line in years one, two and settled; loads, winter brood.

    ``load`` is the worst judged day of year one and ``settled_load`` of the settled year, mites a bee as a wash reads;
    ``winter_brood`` the share of winter bees' cells with a mite in year one; ``factor`` mites at the year's end for
    each at its beginning.
    """

    over_one: float
    over_two: float
    over_settled: float
    load: Odds
    settled_load: Odds
    winter_brood: Odds
    factor: Odds


def outlook(made: JudgedYears, judging: Judging, begins: Sequence[int]) -> Outlook:
    """What is known of a set of courses, begun on some days."""
    one = made.this_loads(judging.days)
    two = made.loads(made.ends, judging.days)
    settled = made.loads(np.minimum(made.settled_free, judging.settled_most), judging.days)
    return Outlook(
        over_one=_share(one, judging, begins),
        over_two=_share(two, judging, begins),
        over_settled=_share(settled, judging, begins),
        load=odds(one.max(axis=0).tolist()),
        settled_load=odds(settled.max(axis=0).tolist()),
        winter_brood=odds(made.winter_brood),
        factor=odds(made.factors.tolist()),
    )


def over_settled(made: JudgedYears, judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line in the settled year."""
    begun = np.minimum(made.settled_free, judging.settled_most)
    return _share(made.loads(begun, judging.days), judging, begins)


def over_first(made: JudgedYears, judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line in this year."""
    return _share(made.this_loads(judging.days), judging, begins)


def _share(loads: Array, judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line on the day on which most are."""
    days = list(judging.counted(begins))
    over = (loads[days] > np.array(judging.lines)[days, None]).sum(axis=1)
    return float(over.max(initial=0)) / int(loads.shape[1])


def odds(values: Sequence[float]) -> Odds:
    """Median and band, by the nearest of the sorted values.

    >>> odds([3.0, 1.0, 2.0])
    Odds(low=1.0, median=2.0, high=3.0)
    """
    ordered = sorted(values)
    last = len(ordered) - 1
    return Odds(*(ordered[round(last * q)] for q in (0.1, 0.5, 0.9)))
