"""Draws: a class of hives in an untreated year, draw by draw, as the arrays that the search composes; courses in them.

In: marks, a history, traps, figures, fixed draws, what a rule file says of a product. Out: ``DrawArrays`` and
``MappedCourse`` values of ``maps.py``. Pure; numpy. One untreated run a draw; the full model accepts what was found
(``accept.py``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ipmcal.biology.mites.colony import OVERWINTERED, ColonyDays, History
from ipmcal.biology.mites.courses import handled, hazard, kept_of_dose
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import UNHANDLED, Handling, MiteCourse, MiteReach, Trap
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.stretches import Untreated, untreated
from ipmcal.biology.mites.year import YEAR_DAYS, Marks
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.effects import Efficacy
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.planning.many.colonies import Array, colonies
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, runs, stacked
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.maps import DrawArrays, MappedCourse
from ipmcal.planning.mites.walls import WallSetting, whole_days


@dataclass(frozen=True, slots=True)
class Remembered:
    """What was worked out of classes at one place, by all that it depends on there: it changes no answer.

    Colonies by history and draw, their lists as arrays by history, draws and name, their untreated years by trap combs
    too, courses in them, and daily hazards in the usual colony of a history.
    """

    colonies: dict[tuple[object, ...], ColonyDays] = field(default_factory=dict)
    arrays: dict[tuple[object, ...], Array] = field(default_factory=dict)
    untreated: dict[tuple[object, ...], Untreated] = field(default_factory=dict)
    courses: dict[tuple[object, ...], MappedCourse] = field(default_factory=dict)
    hazards: dict[tuple[object, ...], tuple[float, ...]] = field(default_factory=dict)


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


@dataclass(frozen=True)
class Hazards:
    """The daily hazards of contact products in a class, read off the full model's in a usual colony.

    Solved there for five kills of a course's range and read between them; a colony with more of its mites in cells
    takes so much more. Solving them in each draw comes to the same, and takes forty times as long.
    """

    usual: Lived

    def of(self, one: MiteCourse, kills: Sequence[float], here: Sequence[Lived]) -> list[float]:
        """The daily hazard on bees at which a course kills so much of all mites in each colony."""
        most, whole, nodes = self.usual.stock.figures.acting.most_a_day, loose(self.usual, one), self._nodes(one)
        rows = zip(kills, here, strict=True)
        return [min(_read_between(nodes, one, kill) * whole / loose(lived, one), most) for kill, lived in rows]

    def _nodes(self, one: MiteCourse) -> tuple[float, ...]:
        stock, colony_ = self.usual.stock, self.usual.colony
        known, key = stock.memory.hazards, (stock.history, one)
        if key not in known:
            kills = (one.low + (one.high - one.low) * n / KILL_NODES for n in range(KILL_NODES + 1))
            known[key] = tuple(hazard(one, k, stock.figures, colony_, self.usual.draw) for k in kills)
        return known[key]


def _read_between(nodes: Sequence[float], one: MiteCourse, kill: float) -> float:
    """The hazard at which a course kills so much in the usual colony, on a line between two that were solved for."""
    where = 0.0 if one.high <= one.low else (kill - one.low) / (one.high - one.low) * KILL_NODES
    left = min(int(where), KILL_NODES - 1)
    return nodes[left] + (nodes[left + 1] - nodes[left]) * (where - left)


def handled_at_once(lives: Sequence[Lived], courses: Sequence[MiteCourse], hazards: Hazards) -> ManyHandlings:
    """Traps and courses, as each draw of a class has them."""
    stock = lives[0].stock
    made, shares = ManyHandlings(stock.traps), stock.figures.acting.in_cells_by_day
    contact = [one for one in courses if one.reach is MiteReach.CONTACT]
    for one in (*(one for one in courses if one not in contact), *contact):
        kills = [life.draw.kill(one.low, one.high, one.luck) for life in lives]
        if one.reach is MiteReach.CELLS:
            rows = [kept_of_dose(one.first, kill, shares) for kill in kills]
            for day in rows[0]:
                kept = np.array([row[day] for row in rows])
                made.keep(day, kept, kept)
        elif one.reach is MiteReach.DOSE:
            made.keep(one.first, 1.0 - np.array(kills))
        else:
            cut = within(one, stock.first + YEAR_DAYS)
            kept = 1.0 - np.array(hazards.of(cut, kills, lives))
            for day in range(cut.first, cut.first + cut.days):
                made.keep(day, kept)
    return made


def loose(one: Lived, course: MiteCourse) -> float:
    """The share of mites that sits on bees over a course, were it to stay as it is: by how many enter cells a day."""
    nest, made = one.stock.figures.nest, one.colony
    at = course.first - made.first
    worker = sum(made.into_worker[at : at + course.days]) / course.days
    drone = sum(made.into_drone[at : at + course.days]) / course.days
    return 1.0 / (1.0 + worker * nest.worker_capped + drone * nest.drone_capped)


KILL_NODES = 4
"""Parts of the range of a course's kill, between which its hazard is read off a straight line."""


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


# Courses --------------------------------------------------------------------------------------------------------------


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


def mapped_course(
    years: Sequence[Lived], base: DrawArrays, name: str, courses: Sequence[MiteCourse], toll: float
) -> MappedCourse:
    """A course as the search composes it; what reaches beyond the year's end is cut off there."""
    first = years[0].stock.first
    inside = [within(one, first + YEAR_DAYS) for one in courses]
    begins = min(one.first for one in inside) - first
    ends = min(max(one.first + _lasts(years[0], one) for one in inside) - first, YEAR_DAYS)
    survives = np.ones((len(years), ends - begins))
    for part in inside:
        kills = np.array([one.draw.kill(part.low, part.high, part.luck) for one in years])
        at = part.first - first
        days = min(_lasts(years[0], part), YEAR_DAYS - at)
        kept = _kept(years[0], base, part, at, days, kills)
        survives[:, at - begins : at - begins + days] *= kept
    return MappedCourse(name, begins, ends, survives, toll)


def mapped_courses(
    years: Sequence[Lived], middle: Lived, asked: Iterable[tuple[str, Sequence[MiteCourse], float]]
) -> list[MappedCourse]:
    """Courses of products, each with what it costs, in a class, as the search composes them."""
    stock, rows = middle.stock, [(name, tuple(courses), toll) for name, courses, toll in asked]
    known, of = stock.memory.courses, (stock.history, stock.traps, len(years))
    new = [row for row in dict.fromkeys(rows) if (*of, *row) not in known]
    # the usual colony is mapped with the draws, as the last of them
    everyone = (*years, middle)
    base = draws_of(everyone)
    made = tuned([mapped_course(everyone, base, *row) for row in new], middle, base, [row[1] for row in new])
    known.update({(*of, *row): one for row, one in zip(new, made, strict=True)})
    return [known[*of, *row] for row in rows]


def tuned(
    made: Sequence[MappedCourse], middle: Lived, base: DrawArrays, parts: Sequence[Sequence[MiteCourse]]
) -> list[MappedCourse]:
    """Courses, each leaving in the end what the full model has it leave in a usual colony, the last of their draws.

    Maps take what is left to sit on bees and in cells as in an untreated colony. It does not: a course that spares the
    cells leaves most of its mites in them, and those come out weeks later to an emptier colony.
    """
    if not made:
        return []
    stock, last = middle.stock, middle.stock.first + YEAR_DAYS
    traps = UNHANDLED.with_traps(stock.traps)
    inside = [[within(part, last) for part in some] for some in parts]
    handlings = [handled(traps, some, stock.figures, middle.colony, middle.draw) for some in inside]
    many = ManyColonies(stock.figures.nest, [middle.colony] * len(made), [middle.draw.lives] * len(made))
    traces = runs(many, ManyBegin((stock.first, last), [1.0] * len(made), [0.0] * len(made)), stacked(handlings))
    return [_tuned(one, base, trace) for one, trace in zip(made, traces, strict=True)]


def _tuned(one: MappedCourse, base: DrawArrays, treated: Trace) -> MappedCourse:
    """A course of the draws that choose, scaled on its last day by what the run in the usual colony, the last of the
    draws, has left of what its map has left.
    """
    day = min(one.ends + SPREAD, YEAR_DAYS)
    told = float(base.grown[-1, day] * one.survives[-1].prod())
    survives = one.survives[:-1].copy()
    survives[:, -1] = np.minimum(survives[:, -1] * (treated.all[day] / told), 1.0)
    return replace(one, survives=survives)


SPREAD = 30
"""Days after a course by which what it left is spread over bees and cells as ever: two generations of capped cells."""


def _lasts(one: Lived, part: MiteCourse) -> int:
    """Days on which a part of a course acts."""
    by_day = one.stock.figures.acting.in_cells_by_day
    return {MiteReach.CELLS: len(by_day), MiteReach.DOSE: 1, MiteReach.CONTACT: part.days}[part.reach]


def _kept(one: Lived, base: DrawArrays, part: MiteCourse, at: int, days: int, kills: Array) -> Array:
    """The share of mites that live through each day of a part, by draw: as ``stretches.kept_by_day``, all at once."""
    shares, growth = base.on_bees[:, at : at + days], base.growth[:, at : at + days]
    if part.reach is MiteReach.CELLS:
        by_day = one.stock.figures.acting.in_cells_by_day
        logs = [share / sum(by_day) for share in by_day[:days]]
        return np.array([[math.exp(math.log1p(-kill) * share) for share in logs] for kill in kills])
    if part.reach is MiteReach.DOSE:
        return 1.0 - kills[:, None] * shares
    return 1.0 - _hazards(shares, growth, kills, one.stock.figures.acting.most_a_day)[:, None] * shares


def _hazards(shares: Array, growth: Array, kills: Array, most: float) -> Array:
    """The daily hazard on bees at which each draw's course kills its share of all that it meets, by bisection."""
    low, high = np.zeros(len(kills)), np.full(len(kills), most)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        mites, killed = np.ones(len(kills)), np.zeros(len(kills))
        for t in range(shares.shape[1]):
            gone = mites * middle * shares[:, t]
            killed = killed + gone
            mites = (mites - gone) * growth[:, t]
        enough = killed >= kills * (mites + killed)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high


HALVINGS = 14
"""Halvings of the range of hazards: to a ten-thousandth."""


def within(part: MiteCourse, last: int) -> MiteCourse:
    """A course, cut off where the year ends."""
    if part.reach is not MiteReach.CONTACT or part.first + part.days <= last:
        return part
    return MiteCourse(part.reach, part.first, max(last - part.first, 1), part.low, part.high, part.luck)


# What the cure costs --------------------------------------------------------------------------------------------------


def toll_of(setting: WallSetting, usual: Lived, answer: AllowedCourse) -> float:
    """The cost of a course in a usual colony: brood, queens, laying and bees lost, at the middle of their ranges."""
    toll = setting.book.treatments[answer.product].common.toll
    reared = usual.untreated.reared[:YEAR_DAYS]
    at = answer.day - usual.stock.first
    hot = toll.hot is not None and setting.high(answer.day) >= (toll.hot.high.value.low or 0.0)

    def say(word: str) -> float:
        heat: Cited[Amount] | None = getattr(toll.hot, word) if hot else None
        return _middle(heat or getattr(toll, word))

    lies = max(answer.use.last - answer.use.first, 1)
    queens = whole_days(setting.book.planning.year_plans.queen_costs)
    lost = say("brood") * reared[at % YEAR_DAYS]
    lost += say("queens") / 100.0 * _over(reared, at, queens)
    lost += say("laying") / 100.0 * _over(reared, at, lies)
    lost += say("bees") / 100.0 * _bee_days(usual, at % YEAR_DAYS)
    return lost / (2.0 * sum(reared))


def _middle(cited: Cited[Amount] | None) -> float:
    return 0.0 if cited is None else cited.value.middle


def _over(reared: list[float], first: int, days: int) -> float:
    """Bee-days reared over so many days, the year begun again at its end."""
    return sum(reared[(first + n) % YEAR_DAYS] for n in range(days))


def _bee_days(usual: Lived, at: int) -> float:
    """Days of life left in all bees of a day: half a life, of winter bees once they are reared or brood is over."""
    summer, winter = usual.stock.figures.lives
    place = at + usual.stock.first - usual.colony.first
    is_winter = usual.colony.winter_cells[place] or not usual.colony.brood[place]
    return usual.colony.bees[place] * (winter if is_winter else summer) / 2.0
