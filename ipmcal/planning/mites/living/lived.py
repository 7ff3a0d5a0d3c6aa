"""Lived: a class of hives in an untreated year, draw by draw, and as the arrays that the search composes.

In: marks, a history, traps, figures, fixed draws. Out: ``Lived``, ``DrawArrays``. Pure; numpy. One untreated run
a draw.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from ipmcal.biology.mites.colony import OVERWINTERED, ColonyDays, History
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import Handling, Trap
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.stretches import Untreated, untreated
from ipmcal.biology.mites.year import YEAR_DAYS, Marks
from ipmcal.planning.many.colonies import Array, colonies
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, runs
from ipmcal.planning.mites.maps import DrawArrays, MappedCourse


@dataclass(frozen=True, slots=True)
class Remembered:
    """What was worked out of classes at one place, by all that it depends on there: it changes no answer.

    Colonies by history and draw, their lists as arrays by history, draws and name, their untreated years by trap combs
    too, courses in them, and daily hazards in the usual colony of a history. Of some histories only: each takes 25 MB.
    """

    colonies: dict[tuple[object, ...], ColonyDays] = field(default_factory=dict)
    arrays: dict[tuple[object, ...], Array] = field(default_factory=dict)
    untreated: dict[tuple[object, ...], Untreated] = field(default_factory=dict)
    courses: dict[tuple[object, ...], MappedCourse] = field(default_factory=dict)
    hazards: dict[tuple[object, ...], tuple[float, ...]] = field(default_factory=dict)
    histories: list[History] = field(default_factory=list)

    def begin(self, history: History) -> None:
        """Make room for what is worked out of one more history."""
        if history in self.histories:
            return
        if len(self.histories) == HISTORIES:
            for known in (self.colonies, self.arrays, self.untreated, self.courses, self.hazards, self.histories):
                known.clear()
        self.histories.append(history)


HISTORIES = 8
"""So many histories are remembered at one place before all of them are forgotten."""


@dataclass(frozen=True)
class Stock:
    """Hives of one brood history in a year like this one: what their runs depend on.

    ``first`` is the season's first day (ordinal); ``start``: the median of mites on it, or on the day on which a colony
    of this season began, as far as anything is known; ``neighbours``: sparse, usual or dense. ``young``: how it began;
    what chooses is its years to come, as of any colony that lives through winter. ``memory`` may be shared by stocks of
    one place and season, of equal figures.
    """

    marks: Marks
    figures: MiteFigures
    first: int
    start: float
    history: History = OVERWINTERED
    traps: tuple[Trap, ...] = ()
    neighbours: str = "usual"
    young: History | None = None
    memory: Remembered = field(default_factory=Remembered, compare=False, repr=False)


@dataclass(frozen=True)
class Lived:
    """One draw of a class: its colony, and what runs of a year in it come to."""

    stock: Stock
    draw: Draw

    @cached_property
    def colony(self) -> ColonyDays:
        """Bees and cells of the year and its next first day."""
        return colonies_of([self], self.stock.history)[0]

    @cached_property
    def coming(self) -> float:
        """Mites that come in, a day."""
        return self.draw.coming(self.stock.neighbours, self.stock.figures)

    @cached_property
    def drawn(self) -> float:
        """Mites of an uncounted colony on the season's first day, or on the day on which it began."""
        return self.draw.start(self.stock.start, self.stock.figures)

    @cached_property
    def start(self) -> float:
        """Mites on the first day: of a colony that began later, those that would have become what it began with."""
        young = self.stock.young
        if young is None or young.began is None:
            return self.drawn
        return self.drawn / self.untreated.sums.one[young.began.day - self.stock.first]

    def run(self, mites: float, coming: float, handling: Handling, days: int = YEAR_DAYS) -> Trace:
        """A year, or so many days of it, with so many mites to begin with, and so many a day coming in."""
        first = self.stock.first
        begin = Begin(first, mites, first + days)
        return run(self.stock.figures.nest, self.colony, self.draw.lives, begin, coming, handling)

    @cached_property
    def untreated(self) -> Untreated:
        """The year with nothing done but traps."""
        _settle_untreated([self] if self.untreated_key not in self.stock.memory.untreated else [])
        return self.stock.memory.untreated[self.untreated_key]

    @property
    def untreated_key(self) -> tuple[object, ...]:
        """What an untreated year at one place depends on."""
        return self.stock.history, self.stock.traps, self.draw


def lived(stock: Stock, draws: Iterable[Draw]) -> tuple[Lived, ...]:
    """The colony-years of a class."""
    made = tuple(Lived(stock, draw) for draw in draws)
    colonies_of(made, stock.history)
    return made


def colonies_of(lives: Sequence[Lived], history: History) -> list[ColonyDays]:
    """The colonies of a class with a history, their own or how they began, to the year's end."""
    if not lives:
        return []
    stock = lives[0].stock
    stock.memory.begin(history)
    known, days = stock.memory.colonies, (stock.first, stock.first + YEAR_DAYS)
    new = [one.draw for one in lives if (history, one.draw) not in known]
    there = colonies(stock.marks, history, stock.figures, new, days)
    known.update({(history, draw): one for draw, one in zip(new, there, strict=True)})
    return [known[history, one.draw] for one in lives]


def draws_of(years: Sequence[Lived]) -> DrawArrays:
    """The arrays of a class of hives."""
    _settle_untreated([one for one in years if one.untreated_key not in one.stock.memory.untreated])
    rows = [_row(one) for one in years]
    growth, on_bees, coming, harm, reads = (np.array([row[i] for row in rows]) for i in range(5))
    return DrawArrays(growth, on_bees, coming, harm, reads, np.array([one.start for one in years]))


def _settle_untreated(years: Sequence[Lived]) -> None:
    """Runs the untreated years of a class at once, for each to find."""
    if not years:
        return
    stock = years[0].stock
    many = ManyColonies(stock.figures.nest, [one.colony for one in years], [one.draw.lives for one in years])
    begin = ManyBegin((stock.first, stock.first + YEAR_DAYS), [1.0] * len(years), [0.0] * len(years))
    traces = runs(many, begin, ManyHandlings(stock.traps))
    for one, trace in zip(years, traces, strict=True):
        stock.memory.untreated[one.untreated_key] = untreated(one.colony, trace, 0.0, stock.figures)


def _row(one: Lived) -> tuple[list[float], ...]:
    run_, at = one.untreated, one.stock.first + 1 - one.colony.first
    coming = [one.coming * share for share in one.colony.open_to_others[at : at + YEAR_DAYS]]
    whole = 2.0 * sum(run_.reared[:YEAR_DAYS])
    harm = [share / whole for share in run_.harm[:YEAR_DAYS]]
    return run_.growth[:YEAR_DAYS], run_.on_bees[:YEAR_DAYS], coming, harm, run_.reads[:YEAR_DAYS]
