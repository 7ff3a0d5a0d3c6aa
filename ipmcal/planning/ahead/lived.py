"""Lived: a hive's season draw by draw, moved by each count: mites in 100 bees by day, as a wash would read them.

In: what hives go through, what was counted, fixed draws. Out: ``HiveLoads``. Pure. No search: what is drawn on paper is
the full model.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from ipmcal.biology.mites.colony import History
from ipmcal.biology.mites.counted import weigh
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import MiteCourse, Trap
from ipmcal.biology.mites.year import Marks
from ipmcal.planning.many.colonies import colonies
from ipmcal.planning.many.courses import handled_by_draw
from ipmcal.planning.many.loads import among, loads_on, washed
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, ManyHandlings, ManyTraces, runs


@dataclass(frozen=True, slots=True)
class Anchor:
    """A count that moves the draws: ``mites`` among ``bees`` on a day; ``pooled``: of other hives of the yard."""

    day: int
    mites: int
    bees: float
    pooled: bool = False


@dataclass(frozen=True)
class HiveYear:
    """What a hive goes through from ``first`` to ``last`` (ordinals): equal ones share colonies and courses.

    ``start``: the median of its mites on the first day, or on the day on which it began; ``place`` tells hives of one
    yard apart. ``given`` are courses that were, ``ahead`` those that lie ahead.
    """

    first: int
    last: int
    history: History
    traps: tuple[Trap, ...]
    given: tuple[MiteCourse, ...]
    ahead: tuple[MiteCourse, ...]
    start: float
    place: int
    anchors: tuple[Anchor, ...] = ()

    @property
    def begins(self) -> int:
        """The first day on which it is there."""
        began = self.history.began
        return self.first if began is None else max(self.first, began.day)


@dataclass(frozen=True)
class HiveLoads:
    """Loads by draw and day, index 0 being ``begins``: as planned, and without the courses that lie ahead.

    ``ends``: mites of each draw on the last day, as planned. ``far``: of each anchor that was not pooled, whether the
    draws had expected it: "more", "fewer" or "".
    """

    begins: int
    planned: tuple[list[float], ...]
    untreated: tuple[list[float], ...]
    ends: tuple[float, ...]
    far: tuple[str, ...]


@dataclass(frozen=True)
class HiveLives:
    """The colonies of hives that go through the same, a draw each, and what is done to them: as planned, and without
    the courses that lie ahead.
    """

    many: ManyColonies
    planned: ManyHandlings
    bare: ManyHandlings


KnownLives = dict[tuple[object, ...], HiveLives]
"""By all that they depend on in one place."""


@dataclass(frozen=True)
class PlaceOfBees:
    """What all hives of a yard share: its marks, figures and draws; ``neighbours``: sparse, usual or dense."""

    marks: Marks
    figures: MiteFigures
    draws: tuple[Draw, ...]
    neighbours: str = "usual"
    known: KnownLives = field(default_factory=dict, compare=False)

    def lived(self, hive: HiveYear) -> HiveLives:
        """The colonies of a hive, with what is done."""
        key = _life(hive)
        if key not in self.known:
            columns = colonies(self.marks, hive.history, self.figures, self.draws, (hive.first, hive.last))
            many = ManyColonies(self.figures.nest, columns, [draw.lives for draw in self.draws])
            untouched = ManyHandlings(hive.traps)
            bare = handled_by_draw(untouched, _inside(hive.given, hive), self.figures, many, self.draws)
            planned = handled_by_draw(bare, _inside(hive.ahead, hive), self.figures, many, self.draws)
            self.known[key] = HiveLives(many, planned, bare)
        return self.known[key]


def _life(hive: HiveYear) -> tuple[object, ...]:
    """What its colonies depend on, and what is done to them."""
    return (hive.history, hive.traps, hive.given, hive.ahead, hive.first, hive.last)


def _inside(courses: Sequence[MiteCourse], hive: HiveYear) -> list[MiteCourse]:
    """Courses that lie in a hive's days; what reaches beyond the last is cut off there."""
    found = []
    for one in courses:
        days = min(one.days, hive.last - one.first)
        if hive.begins <= one.first and days >= 1:
            found.append(MiteCourse(one.reach, one.first, days, one.low, one.high, one.luck))
    return found


def loads_of(hives: Sequence[HiveYear], there: PlaceOfBees) -> list[HiveLoads]:
    """The loads of hives, each count taken in turn: the past is left as it was drawn."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for n, hive in enumerate(hives):
        alike.setdefault(_life(hive), []).append(n)
    found: dict[int, HiveLoads] = {}
    for places in alike.values():
        found.update(zip(places, _Alike([hives[n] for n in places], there).loads(), strict=True))
    return [found[n] for n in range(len(hives))]


class _Alike:
    """Hives that go through the same: each has its own start, and its own counts. ``factors``: by hive and draw, by
    day, what counts have scaled its mites by.
    """

    def __init__(self, hives: Sequence[HiveYear], there: PlaceOfBees) -> None:
        self.hives, self.there, self.lives = hives, there, there.lived(hives[0])
        self.first, self.last = hives[0].begins, hives[0].last
        self.many = self.lives.many if len(hives) == 1 else self.lives.many.repeated(len(hives))
        self.factors: list[list[dict[int, float]]] = [[{} for _ in there.draws] for _ in hives]
        self.far: list[list[str]] = [[] for _ in hives]

    def loads(self) -> Iterator[HiveLoads]:
        """Hive by hive."""
        for turn in range(max(len(hive.anchors) for hive in self.hives)):
            self._count(turn)
        planned = self._run(self.lives.planned, self.last)
        bare = self._run(self.lives.bare, self.last) if self.hives[0].ahead else planned
        for n, far in enumerate(self.far):
            with_all, ends = self._washed(planned, n), self._of(planned, n).all[-1].tolist()
            without = self._washed(bare, n) if bare is not planned else with_all
            yield HiveLoads(self.first, with_all, without, tuple(ends), tuple(far))

    def _count(self, turn: int) -> None:
        """Each hive's next count moves its draws; one on a day on which the hive is not there moves nothing."""
        rows = [(n, hive.anchors[turn]) for n, hive in enumerate(self.hives) if turn < len(hive.anchors)]
        there = [(n, one) for n, one in rows if self.first <= one.day <= self.last]
        traces = self._run(self.lives.planned, max(one.day for _, one in there)) if there else None
        for n, one in rows:
            told = ""
            if traces is not None and (n, one) in there:
                loads = loads_on(self.lives.many.columns, self._of(traces, n), one.day)
                factors, told = self._weighed(loads, one)
                for mine, factor in zip(self.factors[n], factors, strict=True):
                    mine[one.day] = mine.get(one.day, 1.0) * factor
            self.far[n] += [] if one.pooled else [told]

    def _weighed(self, loads: Sequence[float], one: Anchor) -> tuple[tuple[float, ...], str]:
        """The factor of each draw, and whether the count was expected. Draws of nothing are left as they are."""
        if min(loads) <= 0:
            return (1.0,) * len(loads), ""
        columns = self.lives.many.columns
        brood = bool(columns.arrays["brood"][one.day - columns.first][0])
        found = weigh(loads, one.mites, one.bees, self.there.figures.weighing, brood=brood, pooled=one.pooled)
        if found.agrees:
            return found.factors, ""
        return found.factors, "more" if sum(found.factors) > len(loads) else "fewer"

    def _washed(self, traces: ManyTraces, n: int) -> tuple[list[float], ...]:
        return tuple(washed(self.lives.many.columns, self._of(traces, n), self.there.figures.weighing.wash_reads))

    def _of(self, traces: ManyTraces, n: int) -> ManyTraces:
        """The draws of one hive."""
        draws = len(self.there.draws)
        return among(traces, n * draws, (n + 1) * draws)

    def _run(self, done: ManyHandlings, last: int) -> ManyTraces:
        """All draws of all hives, one hive behind the other, to a day."""
        figures, draws = self.there.figures, self.there.draws
        starts = [draw.start(hive.start, figures, hive.place) for hive in self.hives for draw in draws]
        coming = [draw.coming(self.there.neighbours, figures) for draw in draws] * len(self.hives)
        counted = [mine for factors in self.factors for mine in factors]
        handlings = done.repeated(len(self.hives)).with_anchors(counted)
        return runs(self.many, ManyBegin((self.first, last), starts, coming), handlings)
