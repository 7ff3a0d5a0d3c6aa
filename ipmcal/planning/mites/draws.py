"""Draws: a class of hives in an untreated year, draw by draw, as the arrays that the search composes; courses in them.

In: marks, a history, traps, figures, fixed draws, what a rule file says of a product. Out: ``Draws`` and ``Course``
values of ``maps.py``. Pure; numpy. One untreated run a draw; the full model accepts what was found (``accept.py``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ipmcal.biology.mites import courses as model
from ipmcal.biology.mites.colony import OVERWINTERED, Colony, History, colony
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import Figures
from ipmcal.biology.mites.handling import NOTHING, Handling, Reach, Trap
from ipmcal.biology.mites.handling import Course as Given
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.stretches import Untreated, kept_by_day, untreated
from ipmcal.biology.mites.year import Marks
from ipmcal.model.cited import Cited
from ipmcal.model.forms import Amount
from ipmcal.model.treatments import Efficacy
from ipmcal.model.verdict import Use
from ipmcal.planning.mites.answers import YEAR
from ipmcal.planning.mites.maps import Course, Draws


@dataclass(frozen=True)
class Stock:
    """Hives of one brood history in a year like this one: what their runs depend on.

    ``first`` is the season's first day (ordinal); ``start``: the median of mites on it, as far as anything is known;
    ``neighbours``: sparse, usual or dense.
    """

    marks: Marks
    figures: Figures
    first: int
    start: float
    history: History = OVERWINTERED
    traps: tuple[Trap, ...] = ()
    neighbours: str = "usual"


@dataclass(frozen=True)
class Lived:
    """One draw of a class: its colony, and what runs of a year in it come to."""

    stock: Stock
    draw: Draw

    @cached_property
    def colony(self) -> Colony:
        """Bees and cells of the year and its next first day."""
        stock = self.stock
        return colony(stock.marks, stock.history, stock.figures, self.draw, (stock.first, stock.first + YEAR))

    @cached_property
    def coming(self) -> float:
        """Mites that come in, a day."""
        return self.draw.coming(self.stock.neighbours, self.stock.figures)

    @cached_property
    def start(self) -> float:
        """Mites on the first day of an uncounted colony."""
        return self.draw.start(self.stock.start, self.stock.figures)

    def handled(self, given: Sequence[Given]) -> Handling:
        """Traps and courses, as this draw has them."""
        traps = NOTHING.with_traps(self.stock.traps)
        return model.handled(traps, given, self.stock.figures, self.colony, self.draw)

    def run(self, mites: float, coming: float, handling: Handling) -> Trace:
        """A year with so many mites to begin with, and so many a day coming in."""
        first = self.stock.first
        begin = Begin(first, mites, first + YEAR)
        return run(self.stock.figures.nest, self.colony, self.draw.lives, begin, coming, handling)

    @cached_property
    def untreated(self) -> Untreated:
        """The year with nothing done but traps."""
        trace = self.run(1.0, 0.0, NOTHING.with_traps(self.stock.traps))
        return untreated(self.colony, trace, 0.0, self.stock.figures)


def lived(stock: Stock, draws: Iterable[Draw]) -> tuple[Lived, ...]:
    """The colony-years of a class."""
    return tuple(Lived(stock, draw) for draw in draws)


def draws_of(years: Sequence[Lived]) -> Draws:
    """The arrays of a class of hives."""
    rows = [_row(one) for one in years]
    growth, on_bees, coming, harm, reads = (np.array([row[i] for row in rows]) for i in range(5))
    return Draws(growth, on_bees, coming, harm, reads, np.array([one.start for one in years]))


def _row(one: Lived) -> tuple[list[float], ...]:
    run_, at = one.untreated, one.stock.first + 1 - one.colony.first
    coming = [one.coming * share for share in one.colony.open_to_others[at : at + YEAR]]
    whole = 2.0 * sum(run_.reared[:YEAR])
    harm = [share / whole for share in run_.harm[:YEAR]]
    return run_.growth[:YEAR], run_.on_bees[:YEAR], coming, harm, run_.reads[:YEAR]


# Courses --------------------------------------------------------------------------------------------------------------


def given(efficacy: Efficacy, use: Use, luck: int, *, damp: bool, broodless: bool) -> tuple[Given, ...]:
    """A course of a product as the model takes it; ``luck`` names the quantile of a draw that its efficacy takes.

    ``damp``: the region's autumns are, where the rule file knows of that; ``broodless``: nothing is capped in it.
    """
    acts = efficacy.acts.value
    state = efficacy.broodless if broodless else efficacy.with_brood
    whole = (efficacy.damp if damp else None) or state or efficacy.any_
    if efficacy.in_cells is not None:
        low, high = _shares(efficacy.any_ or efficacy.in_cells)
        parts = len(use.applications)
        each = (1.0 - (1.0 - low) ** (1.0 / parts), 1.0 - (1.0 - high) ** (1.0 / parts))
        return tuple(Given(Reach.CELLS, day, 1, *each, luck) for day in use.applications)
    if acts is not None and acts.high == 0:
        low, high = _shares(efficacy.on_bees or whole or efficacy.broodless)
        return tuple(Given(Reach.DOSE, day, 1, low, high, luck) for day in use.applications)
    low, high = _shares(whole or efficacy.broodless or efficacy.with_brood or efficacy.on_bees)
    days = max(use.last - use.first, 1) if acts is None else acts.high + 1
    return (Given(Reach.CONTACT, use.first, days, low, high, luck),)


def _shares(cited: Cited[Amount] | None) -> tuple[float, float]:
    assert cited is not None, "checked at load: a product says what it kills"
    low, high = cited.value.low or 0.0, cited.value.high or 0.0
    return low / 100.0, min(high, 99.9) / 100.0


def course(years: Sequence[Lived], name: str, courses: Sequence[Given], toll: float) -> Course:
    """A course as the search composes it, moved into the year that begins with the season where it reaches beyond."""
    first = years[0].stock.first
    begins = min(one.first for one in courses) - first
    rows = []
    for one in years:
        run_ = one.untreated
        kept: dict[int, float] = {}
        for part in courses:
            kill = one.draw.kill(part.low, part.high, part.luck)
            inside = part if part.first + part.days <= run_.last else _cut(part, run_.last)
            for day, share in kept_by_day(run_, inside, kill, one.stock.figures).items():
                kept[day - first] = kept.get(day - first, 1.0) * share
        rows.append(kept)
    ends = min(max(max(kept) for kept in rows) + 1, YEAR)
    survives = np.array([[kept.get(day, 1.0) for day in range(begins, ends)] for kept in rows])
    return Course(name, begins, ends, survives, toll)


def _cut(part: Given, last: int) -> Given:
    """A course that lies beyond the year's end, cut off there."""
    return Given(part.reach, part.first, max(last - part.first, 1), part.low, part.high, part.luck)
