"""Accept: the full model under a set of courses, by draws that did not choose: loads, odds, harm, year by year.

In: the colony-years of a class, courses, the authority's line. Out: ``Outlook``. Pure. The model is linear in mites, so
that two runs a draw tell of every year: one of the mites that are there, one of those that come in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.handling import MiteCourse
from ipmcal.biology.mites.harm import bee_days, harmed_days
from ipmcal.biology.mites.run import Trace
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, runs
from ipmcal.planning.mites.living.hazards import Hazards, handled_at_once
from ipmcal.planning.mites.living.lived import Lived, colonies_of


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
        winter, cells = made.winter_cells[skipped:], made.worker_cells[skipped:]
        reared = [t for t in days if winter[t] and cells[t] > 0]
        if not reared:
            return 0.0
        if self.young:
            entered = [trace.entered[t] for t in reared]
        else:
            one, came, start = self.one.entered, self.came.entered, self.lived.start
            entered = [one[t] * start + came[t] for t in reared]
        of = [cells[t] for t in reared]
        return sum([c * -math.expm1(-m / c) for c, m in zip(of, entered, strict=True)]) / sum(of)

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


def years(colonies: Sequence[Lived], courses: Sequence[MiteCourse], hazards: Hazards) -> tuple[JudgedYear, ...]:
    """Each draw under courses."""
    done = handled_at_once(colonies, courses, hazards)
    rows = zip(colonies, one_and_came(colonies, done), first_years(colonies, done), strict=True)
    return tuple(JudgedYear(one, alone, came, young) for one, (alone, came), young in rows)


def one_and_came(lives: Sequence[Lived], done: ManyHandlings) -> list[tuple[Trace, Trace]]:
    """Of each draw of a class the year of one mite, and of what comes in from elsewhere and what comes of it."""
    stock, many = lives[0].stock, _many((*lives, *lives), [one.colony for one in (*lives, *lives)])
    ones, nothing = [1.0] * len(lives), [0.0] * len(lives)
    coming = [one.coming for one in lives]
    begin = ManyBegin((stock.first, stock.first + YEAR_DAYS), [*ones, *nothing], [*nothing, *coming])
    both = runs(many, begin, done.twice())
    return list(zip(both[: len(lives)], both[len(lives) :], strict=True))


def first_years(lives: Sequence[Lived], done: ManyHandlings) -> list[tuple[ColonyDays, Trace] | None]:
    """The year in which each draw's colony began, from that day on; None for one that was there before."""
    stock = lives[0].stock
    if stock.young is None or stock.young.began is None:
        return [None] * len(lives)
    made = colonies_of(lives, stock.young)
    mites = [one.drawn for one in lives]
    days = (stock.young.began.day, stock.first + YEAR_DAYS)
    traces = runs(_many(lives, made), ManyBegin(days, mites, [one.coming for one in lives]), done)
    return list(zip(made, traces, strict=True))


def _many(lives: Sequence[Lived], colonies: Sequence[ColonyDays]) -> ManyColonies:
    stock, draws = lives[0].stock, tuple([one.draw for one in lives])
    of = stock.history if colonies[0] is lives[0].colony else stock.young, draws
    return ManyColonies(stock.figures.nest, colonies, [one.lives for one in draws], stock.memory.arrays, of)


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


def outlook(made: Sequence[JudgedYear], judging: Judging, begins: Sequence[int]) -> Outlook:
    """What is known of a set of courses, begun on some days."""
    one = [year.this_loads(judging.days) for year in made]
    two = [year.loads(year.end, judging.days) for year in made]
    settled = [year.loads(year.settled(judging.settled_most), judging.days) for year in made]
    return Outlook(
        over_one=_share(one, judging, begins),
        over_two=_share(two, judging, begins),
        over_settled=_share(settled, judging, begins),
        load=odds([max(loads) for loads in one]),
        settled_load=odds([max(loads) for loads in settled]),
        winter_brood=odds([year.this_winter_brood() for year in made]),
        factor=odds([year.factor for year in made]),
    )


def over_settled(made: Sequence[JudgedYear], judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line in the settled year."""
    return _share([year.loads(year.settled(judging.settled_most), judging.days) for year in made], judging, begins)


def over_first(made: Sequence[JudgedYear], judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line in this year."""
    return _share([year.this_loads(judging.days) for year in made], judging, begins)


def _share(loads: Sequence[Sequence[float]], judging: Judging, begins: Sequence[int]) -> float:
    """The share of draws over the line on the day on which most are."""
    lines, days = judging.lines, judging.counted(begins)
    return max((sum(some[n] > lines[n] for some in loads) for n in days), default=0) / len(loads)


def odds(values: Sequence[float]) -> Odds:
    """Median and band, by the nearest of the sorted values.

    >>> odds([3.0, 1.0, 2.0])
    Odds(low=1.0, median=2.0, high=3.0)
    """
    ordered = sorted(values)
    last = len(ordered) - 1
    return Odds(*(ordered[round(last * q)] for q in (0.1, 0.5, 0.9)))
