"""Courses: what a rule file says of a product, as the model takes it and as the search composes it.

In: efficacy, a use, a class of hives. Out: ``MiteCourse``, ``MappedCourse``. Pure; numpy. The full model accepts
what was found (``accept.py``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from ipmcal.biology.mites.courses import handled
from ipmcal.biology.mites.handling import UNHANDLED, MiteCourse, MiteReach
from ipmcal.biology.mites.harm import weights
from ipmcal.biology.mites.run import Trace
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.effects import Efficacy
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.planning.many.columns import Array, columns_of_lists
from ipmcal.planning.many.hazards import hazards_at_once
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, runs, stacked
from ipmcal.planning.mites.living.hazards import within
from ipmcal.planning.mites.living.lived import Lived
from ipmcal.planning.mites.maps import DrawArrays, MappedCourse


def model_courses(efficacy: Efficacy, use: Use, luck: int, *, damp: bool, broodless: bool) -> tuple[MiteCourse, ...]:
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
        return tuple(MiteCourse(MiteReach.CELLS, day, 1, *each, luck) for day in use.applications)
    if acts is not None and acts.high == 0:
        low, high = _shares(efficacy.on_bees or whole or efficacy.broodless)
        return tuple(MiteCourse(MiteReach.DOSE, day, 1, low, high, luck) for day in use.applications)
    low, high = _shares(whole or efficacy.broodless or efficacy.with_brood or efficacy.on_bees)
    days = max(use.last - use.first, 1) if acts is None else acts.high + 1
    return (MiteCourse(MiteReach.CONTACT, use.first, days, low, high, luck),)


def _shares(cited: Cited[Amount] | None) -> tuple[float, float]:
    assert cited is not None, "checked at load: a product says what it kills"
    low, high = cited.value.low or 0.0, cited.value.high or 0.0
    return low / 100.0, min(high, 99.9) / 100.0


AskedCourse: TypeAlias = tuple[str, tuple[MiteCourse, ...], float]
"""A product's name, its course in parts, and what the cure itself costs."""


def _mapped(
    years: Sequence[Lived], base: DrawArrays, asked: AskedCourse, daily: dict[MiteCourse, Array]
) -> MappedCourse:
    """A course as the search composes it; what reaches beyond the year's end is cut off there."""
    name, courses, toll = asked
    first = years[0].stock.first
    inside = [within(one, first + YEAR_DAYS) for one in courses]
    begins = min(one.first for one in inside) - first
    ends = min(max(one.first + _lasts(years[0], one) for one in inside) - first, YEAR_DAYS)
    survives = np.ones((len(years), ends - begins))
    for part in inside:
        at = part.first - first
        days = min(_lasts(years[0], part), YEAR_DAYS - at)
        if part.reach is MiteReach.CONTACT:
            kept = 1.0 - daily[part][:, None] * base.on_bees[:, at : at + days]
        else:
            kept = _kept(years[0], base, part, (at, days), _kills(years, part))
        survives[:, at - begins : at - begins + days] *= kept
    return MappedCourse(name, begins, ends, survives, toll)


def mapped_courses(
    years: Sequence[Lived], middle: Lived, base: DrawArrays, asked: Iterable[AskedCourse]
) -> list[MappedCourse]:
    """Courses of products, each with what it costs, in a class, as the search composes them; ``base``: of its draws,
    and behind them of the usual colony."""
    stock, rows = middle.stock, list(asked)
    known, of = stock.memory.courses, (stock.history, stock.traps, len(years))
    new = [row for row in dict.fromkeys(rows) if (*of, *row) not in known]
    everyone = (*years, middle)  # the usual colony is mapped with the draws, as the last of them
    daily = _hazards_of(everyone, base, [part for _, courses, _ in new for part in courses])
    made = tuned([_mapped(everyone, base, row, daily) for row in new], middle, base, [row[1] for row in new])
    known.update({(*of, *row): one for row, one in zip(new, made, strict=True)})
    return [known[*of, *row] for row in rows]


def tuned(
    made: Sequence[MappedCourse], middle: Lived, base: DrawArrays, parts: Sequence[Sequence[MiteCourse]]
) -> list[MappedCourse]:
    """Courses, each leaving what the full model has it leave in a usual colony, the last of their draws, and harming
    as there.

    Maps take what is left to sit on bees and in cells as in an untreated colony. It does not: a course that spares the
    cells leaves most of its mites in them, and those come out weeks later to an emptier colony; under a product that
    kills on bees for weeks, few are there to go into cells.
    """
    if not made:
        return []
    stock, last = middle.stock, middle.stock.first + YEAR_DAYS
    traps = UNHANDLED.with_traps(stock.traps)
    inside = [[within(part, last) for part in some] for some in parts]
    lying = dict.fromkeys(part for some in inside for part in some if part.reach is MiteReach.CONTACT)
    kills = [(part, middle.draw.kill(part.low, part.high, part.luck)) for part in lying]
    daily = dict(zip(lying, hazards_at_once(kills, stock.figures, middle.colony, middle.draw), strict=True))
    handlings = [handled(traps, some, stock.figures, middle.colony, middle.draw, daily) for some in inside]
    columns = columns_of_lists([middle.colony] * len(made))
    many = ManyColonies(stock.figures.nest, columns, [middle.draw.lives] * len(made))
    begin = ManyBegin((stock.first, last), [1.0] * len(made), [0.0] * len(made))
    traces = runs(many, begin, stacked(handlings)).traces()
    whole = 2.0 * sum(middle.untreated.reared[:YEAR_DAYS])
    weight = np.array(weights(middle.colony, stock.figures.lives, (stock.first, last - 1))) / whole
    return [_tuned(one, base, weight, trace) for one, trace in zip(made, traces, strict=True)]


def _tuned(one: MappedCourse, base: DrawArrays, weight: Array, treated: Trace) -> MappedCourse:
    """A course of the draws that choose, scaled on its last day by what the run in the usual colony, the last of the
    draws, has left of what its map has left, and its harm, ``weight`` a mite that enters a cell, likewise.
    """
    day = min(one.ends + SPREAD, YEAR_DAYS)
    told = float(base.grown[-1, day] * one.survives[-1].prod())
    survives = one.survives.copy()
    survives[:, -1] = np.minimum(survives[:, -1] * (treated.all[day] / told), 1.0)
    lives = np.cumprod(survives[-1])
    stays = np.concatenate([lives, np.full(day - one.ends, lives[-1])])
    mapped = float((base.harm[-1, one.begins : day] * base.grown[-1, one.begins : day] * stays).sum())
    harmed = float((weight[one.begins : day] * np.array(treated.entered[one.begins : day])).sum())
    harms = harmed / mapped if mapped else 1.0
    return replace(one, survives=survives[:-1], harms=harms, spread=SPREAD)


SPREAD = 30
"""Days after a course by which what it left is spread over bees and cells as ever: two generations of capped cells."""


def _lasts(one: Lived, part: MiteCourse) -> int:
    """Days on which a part of a course acts."""
    by_day = one.stock.figures.acting.in_cells_by_day
    return {MiteReach.CELLS: len(by_day), MiteReach.DOSE: 1, MiteReach.CONTACT: part.days}[part.reach]


def _kills(years: Sequence[Lived], part: MiteCourse) -> Array:
    """What a part of a course kills, by draw."""
    return np.array([one.draw.kill(part.low, part.high, part.luck) for one in years])


def _kept(one: Lived, base: DrawArrays, part: MiteCourse, lies: tuple[int, int], kills: Array) -> Array:
    """The share of mites that live through each day of a part that ``lies`` from a day of the year on for some days, by
    draw: as ``stretches.kept_by_day``, all at once."""
    at, days = lies
    if part.reach is MiteReach.CELLS:
        by_day = one.stock.figures.acting.in_cells_by_day
        logs = [share / sum(by_day) for share in by_day[:days]]
        return np.array([[math.exp(math.log1p(-kill) * share) for share in logs] for kill in kills])
    return 1.0 - kills[:, None] * base.on_bees[:, at : at + days]


def _hazards_of(years: Sequence[Lived], base: DrawArrays, parts: Iterable[MiteCourse]) -> dict[MiteCourse, Array]:
    """The daily hazards of contact products by draw; of all that lie for as many days at once."""
    first, most = years[0].stock.first, years[0].stock.figures.acting.most_a_day
    lying: dict[int, list[MiteCourse]] = {}
    for part in dict.fromkeys(within(one, first + YEAR_DAYS) for one in parts):
        if part.reach is MiteReach.CONTACT:
            lying.setdefault(min(part.days, YEAR_DAYS - part.first + first), []).append(part)
    found: dict[MiteCourse, Array] = {}
    for days, mine in lying.items():
        spans = [slice(part.first - first, part.first - first + days) for part in mine]
        shares = np.concatenate([base.on_bees[:, span] for span in spans])
        growth = np.concatenate([base.growth[:, span] for span in spans])
        daily = _hazards(shares, growth, np.concatenate([_kills(years, part) for part in mine]), most)
        found.update(zip(mine, np.split(daily, len(mine)), strict=True))
    return found


def _hazards(shares: Array, growth: Array, kills: Array, most: float) -> Array:
    """The daily hazard on bees at which each draw's course kills its share of all that it meets, by bisection."""
    low, high = np.zeros(len(kills)), np.full(len(kills), most)
    by_day, grown = shares.T.copy(), growth.T.copy()
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        mites, killed = np.ones(len(kills)), np.zeros(len(kills))
        for share, grows in zip(by_day, grown, strict=True):
            gone = mites * middle * share
            killed = killed + gone
            mites = (mites - gone) * grows
        enough = killed >= kills * (mites + killed)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high


HALVINGS = 14
"""Halvings of the range of hazards: to a ten-thousandth."""
