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
from ipmcal.planning.many.colonies import colonies
from ipmcal.planning.many.columns import ColonyColumns, columns_among
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, ManyTraces, runs, total
from ipmcal.planning.mites.maps import DrawArrays, MappedCourse


@dataclass(frozen=True, slots=True)
class Remembered:
    """What was worked out of classes at one place, by all that it depends on there: it changes no answer.

    Colonies by history and draws, as arrays, and one by one where they are asked for; their untreated years by trap
    combs too, courses in them, and daily hazards in the usual colony of a history. Of some histories only: each takes
    MBs.
    """

    columns: dict[tuple[object, ...], ColonyColumns] = field(default_factory=dict)
    places: dict[tuple[object, ...], tuple[ColonyColumns, int]] = field(default_factory=dict)
    colonies: dict[tuple[object, ...], ColonyDays] = field(default_factory=dict)
    untreated: dict[tuple[object, ...], Untreated] = field(default_factory=dict)
    courses: dict[tuple[object, ...], MappedCourse] = field(default_factory=dict)
    hazards: dict[tuple[object, ...], tuple[float, ...]] = field(default_factory=dict)
    histories: list[History] = field(default_factory=list)

    def begin(self, history: History) -> None:
        """Make room for what is worked out of one more history."""
        if history in self.histories:
            return
        if len(self.histories) == HISTORIES:
            colonies = self.columns, self.places, self.colonies
            for known in (*colonies, self.untreated, self.courses, self.hazards, self.histories):
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
        return colony_of(self, self.stock.history)

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
    if made:
        columns_of(made, stock.history)
    return made


def columns_of(lives: Sequence[Lived], history: History) -> ColonyColumns:
    """The colonies of a class with a history, their own or how they began, to the year's end."""
    stock, draws = lives[0].stock, tuple(one.draw for one in lives)
    stock.memory.begin(history)
    known, places, days = stock.memory.columns, stock.memory.places, (stock.first, stock.first + YEAR_DAYS)
    if (history, draws) in known:
        return known[history, draws]
    there = [places[history, draw] for draw in draws if (history, draw) in places]
    if len(there) == len(draws):
        made = columns_among(there)
    else:
        made = colonies(stock.marks, history, stock.figures, draws, days)
        places.update({(history, draw): (made, n) for n, draw in enumerate(draws)})
    known[history, draws] = made
    return made


def colony_of(one: Lived, history: History) -> ColonyDays:
    """The colony of one draw with a history."""
    memory, key = one.stock.memory, (history, one.draw)
    if key not in memory.places:
        columns_of([one], history)
    if key not in memory.colonies:
        made, place = memory.places[key]
        memory.colonies[key] = made.colony(place)
    return memory.colonies[key]


def draws_of(years: Sequence[Lived]) -> DrawArrays:
    """The arrays of a class of hives."""
    stock = years[0].stock
    columns, days = columns_of(years, stock.history), slice(0, YEAR_DAYS)
    traces = _untreated_runs(years, columns)
    at = stock.first - columns.first
    bees, cells, brood = (columns.arrays[name][at:][days] for name in ("bees", "worker_cells", "brood"))
    summer, winter = stock.figures.lives
    weight = np.array([float(winter if one else summer) for one in columns.winter_cells[at:][days]])[:, None]
    every, on_bees = traces.all[days], traces.on_bees[days] / traces.all[days]
    coming = np.array([one.coming for one in years]) * columns.is_open[at + 1 :][days]
    harm = weight * traces.entered[days] / every / (2.0 * total(weight * cells, YEAR_DAYS))
    reads = on_bees * np.where(brood > 0.0, stock.figures.weighing.wash_reads, 1.0) / bees
    if stock.young is not None:
        _settle_untreated([one for one in years if one.untreated_key not in stock.memory.untreated])
    return DrawArrays(
        growth=(traces.all[1:] / every).T.copy(),
        on_bees=on_bees.T.copy(),
        coming=coming.T.copy(),
        harm=harm.T.copy(),
        reads=reads.T.copy(),
        start=np.array([one.start for one in years]),
    )


def _untreated_runs(years: Sequence[Lived], columns: ColonyColumns) -> ManyTraces:
    """The year of one mite in each draw of a class, with nothing done but traps."""
    stock = years[0].stock
    many = ManyColonies(stock.figures.nest, columns, [one.draw.lives for one in years])
    begin = ManyBegin((stock.first, stock.first + YEAR_DAYS), [1.0] * len(years), [0.0] * len(years))
    return runs(many, begin, ManyHandlings(stock.traps))


def _settle_untreated(years: Sequence[Lived]) -> None:
    """Runs the untreated years of a class at once, for each to find."""
    if not years:
        return
    stock = years[0].stock
    traces = _untreated_runs(years, columns_of(years, stock.history)).traces()
    for one, trace in zip(years, traces, strict=True):
        stock.memory.untreated[one.untreated_key] = untreated(one.colony, trace, 0.0, stock.figures)
