"""Lived: a hive's season draw by draw, moved by each count: mites in 100 bees by day, as a wash would read them.

In: what a hive goes through, what was counted, fixed draws. Out: ``HiveLoads``. Pure. Plain biology, no search: what is
drawn on paper is the full model.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ipmcal.biology.mites.colony import ColonyDays, History, colony
from ipmcal.biology.mites.counted import weigh
from ipmcal.biology.mites.courses import handled
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import UNHANDLED, Handling, MiteCourse, Trap
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.year import Marks


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


KnownLives = dict[tuple[object, ...], tuple[ColonyDays, Handling, Handling]]
"""Colonies and what is done to them, by all that they depend on in one place."""


@dataclass(frozen=True)
class PlaceOfBees:
    """What all hives of a yard share: its marks, figures and draws; ``neighbours``: sparse, usual or dense."""

    marks: Marks
    figures: MiteFigures
    draws: tuple[Draw, ...]
    neighbours: str = "usual"
    known: KnownLives = field(default_factory=dict, compare=False)

    def lived(self, hive: HiveYear, draw: int) -> tuple[ColonyDays, Handling, Handling]:
        """The colony of a hive in a draw, with what is done: as planned, and without what lies ahead."""
        key = (hive.history, hive.traps, hive.given, hive.ahead, hive.first, hive.last, draw)
        if key not in self.known:
            one = self.draws[draw]
            made = colony(self.marks, hive.history, self.figures, one, (hive.first, hive.last))
            bare = handled(UNHANDLED.with_traps(hive.traps), _inside(hive.given, hive), self.figures, made, one)
            self.known[key] = made, handled(bare, _inside(hive.ahead, hive), self.figures, made, one), bare
        return self.known[key]


def _inside(courses: Sequence[MiteCourse], hive: HiveYear) -> list[MiteCourse]:
    """Courses that lie in a hive's days; what reaches beyond the last is cut off there."""
    found = []
    for one in courses:
        days = min(one.days, hive.last - one.first)
        if hive.begins <= one.first and days >= 1:
            found.append(MiteCourse(one.reach, one.first, days, one.low, one.high, one.luck))
    return found


def loads_of(hive: HiveYear, there: PlaceOfBees) -> HiveLoads:
    """The loads of a hive, each count taken in turn: the past is left as it was drawn."""
    anchors: list[dict[int, float]] = [{} for _ in there.draws]
    far: list[str] = []
    for one in hive.anchors:
        if not hive.begins <= one.day <= hive.last:
            far += [] if one.pooled else [""]
            continue
        loads = [_on(hive, there, i, anchors[i], one.day) for i in range(len(there.draws))]
        weighed, told = _weighed(hive, there, loads, one)
        far += [] if one.pooled else [told]
        for mine, factor in zip(anchors, weighed, strict=True):
            mine[one.day] = mine.get(one.day, 1.0) * factor
    traces = [_run(hive, there, i, mine, (hive.last, True)) for i, mine in enumerate(anchors)]
    planned = tuple(_loads(hive, there, i, trace) for i, trace in enumerate(traces))
    bare = planned
    if hive.ahead:
        untreated = (_run(hive, there, i, mine, (hive.last, False)) for i, mine in enumerate(anchors))
        bare = tuple(_loads(hive, there, i, trace) for i, trace in enumerate(untreated))
    return HiveLoads(hive.begins, planned, bare, tuple(trace.all[-1] for trace in traces), tuple(far))


def _weighed(hive: HiveYear, there: PlaceOfBees, loads: Sequence[float], one: Anchor) -> tuple[tuple[float, ...], str]:
    """The factor of each draw, and whether the count was expected. Draws of nothing are left as they are."""
    if min(loads) <= 0:
        return (1.0,) * len(loads), ""
    made = there.lived(hive, 0)[0]
    brood = made.brood[one.day - made.first]
    found = weigh(loads, one.mites, one.bees, there.figures.weighing, brood=brood, pooled=one.pooled)
    if found.agrees:
        return found.factors, ""
    return found.factors, "more" if sum(found.factors) > len(loads) else "fewer"


def _on(hive: HiveYear, there: PlaceOfBees, draw: int, anchors: Mapping[int, float], day: int) -> float:
    """Mites a bee on a day, the colony's mean, before the count of that day."""
    made = there.lived(hive, draw)[0]
    trace = _run(hive, there, draw, anchors, (day, True))
    return trace.on_bees[-1] / made.bees[day - made.first]


def _loads(hive: HiveYear, there: PlaceOfBees, draw: int, trace: Trace) -> list[float]:
    made = there.lived(hive, draw)[0]
    at, wash = trace.first - made.first, there.figures.weighing.wash_reads
    rows = zip(trace.on_bees, made.bees[at:], made.brood[at:], strict=False)
    return [100.0 * mites / bees * (wash if brood else 1.0) for mites, bees, brood in rows]


def _run(hive: HiveYear, there: PlaceOfBees, draw: int, anchors: Mapping[int, float], until: tuple[int, bool]) -> Trace:
    (last, ahead), one = until, there.draws[draw]
    made, planned, bare = there.lived(hive, draw)
    handling = planned if ahead else bare
    for day, factor in anchors.items():
        handling = handling.with_anchor(day, factor)
    begin = Begin(hive.begins, one.start(hive.start, there.figures, hive.place), last)
    return run(there.figures.nest, made, one.lives, begin, one.coming(there.neighbours, there.figures), handling)
