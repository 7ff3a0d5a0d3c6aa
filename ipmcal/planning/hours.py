"""Hours: no visit longer than the keeper has, by moving hives to another visit in their windows, or to a new day.

In: a yard's errands, the paths that packing chose, how long each takes, the hours a visit. Out: paths, and the days
that stay too long. Pure.

What leaves the least slack stays; of the rest, hives stay in walking order, so that the first half of a yard is one
afternoon and the second half the next. A hive is opened once: all that is due in it that day moves together if it can,
else a task by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ipmcal.model.colony import ColonyState
from ipmcal.model.strand import Stop, Strand
from ipmcal.model.words import hives, short_day
from ipmcal.planning.errand import Errand
from ipmcal.planning.ground import Ground

Path = tuple[int, ...]
YARD = ""
"""Stands for the yard itself among its hives: its tasks never move."""


def minutes_of(ground: Ground, states: Sequence[ColonyState | None], steps: float) -> float:
    """Minutes of a visit: drive in, open each hive and lift what stands on its brood boxes, do the steps."""
    return visit_minutes(ground) + sum(hive_minutes(ground, hive) for hive in states if hive is not None) + steps


def visit_minutes(ground: Ground) -> float:
    """Minutes to unload, light the smoker, write and load: the keeper's own, else the rule's."""
    return ground.yard.pace.get("visit", ground.book.planning.minutes_per_visit.value.middle)


def hive_minutes(ground: Ground, state: ColonyState) -> float:
    """Minutes to open and close a hive: the more, the more boxes have to be lifted off the bottom one."""
    planning, pace = ground.book.planning, ground.yard.pace
    hive = pace.get("hive", planning.minutes_per_hive.value.middle)
    box = pace.get("box", planning.minutes_per_box.value.middle)
    return hive + box * (len(state.colony.boxes) - 1 + state.supers)


@dataclass(frozen=True, slots=True)
class Fitted:
    """Paths within the hours; the days (ordinals) that stay too long; and in words, what was moved whither."""

    paths: Mapping[str, Path]
    overlong: frozenset[int] = frozenset()
    moved: tuple[str, ...] = ()


def fit(ground: Ground, errands: Sequence[Errand], paths: Mapping[str, Path]) -> Fitted:
    """The paths with no day longer than the yard's hours, where that can be.

    A hive goes to the next visit that has room, then to a new day, each in all of its windows; what counts from a step
    keeps its own day. Days are looked at from first to last, so that what moves on is looked at again.
    """
    if ground.yard.hours is None:
        return Fitted(paths)
    table = _Table(ground, errands, dict(paths))
    over: set[int] = set()
    for day, ordinal in enumerate(ground.days.ordinals):
        if table.minutes(day) > ground.yard.hours * 60 and not table.relieve(day, ground.yard.hours * 60):
            over.add(ordinal)
    return Fitted(table.paths, frozenset(over), tuple(table.words()))


@dataclass
class _Table:
    """Who is visited on which day, while it is changed. Days are positions of the keeper's days."""

    ground: Ground
    errands: Sequence[Errand]
    paths: dict[str, Path]
    on: dict[int, dict[str, list[tuple[Errand, int]]]] = field(init=False)
    strands: dict[str, Strand] = field(init=False)
    moves: dict[tuple[int, int], list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.strands = {e.key: e.strand for e in self.errands if e.key in self.paths}
        self._fill()

    def _fill(self) -> None:
        """By day and hive: what is done, as errands with the place of the step in their path."""
        self.on = {}
        for errand in self.errands:
            hive = errand.colony.colony.key if errand.colony else YARD
            for k, node in enumerate(self.paths.get(errand.key, ())):
                self.on.setdefault(errand.chain.nodes[node].at, {}).setdefault(hive, []).append((errand, k))

    def minutes(self, day: int) -> float:
        """How long a day takes."""
        work = self.on.get(day)
        return visit_minutes(self.ground) + sum(map(self._cost, work.values())) if work else 0.0

    def _cost(self, work: Sequence[tuple[Errand, int]]) -> float:
        """Minutes of one hive on one day."""
        steps = sum(self._step(errand, k) for errand, k in work)
        state = work[0][0].colony
        return steps + (hive_minutes(self.ground, state) if state is not None else 0.0)

    def _step(self, errand: Errand, k: int) -> float:
        step, _ = errand.chain.steps[self.paths[errand.key][k]]
        return errand.frame.method.steps[step].minutes.value.middle

    def relieve(self, day: int, most: float) -> bool:
        """Move hives away from a day until it takes no longer than ``most``; False where that can't be."""
        while self.minutes(day) > most:
            choices = self._choices(day)
            if any(self._move(self.on[day][hive], day, target, most) for hive, target in choices):
                continue
            if not any(self._move([one], day, target, most) for hive, target in choices for one in self.on[day][hive]):
                return False
        return True

    def _choices(self, day: int) -> list[tuple[str, int]]:
        """Hives that may go, and whither: the last in walking order first, to the next visit, else to a new day."""
        here = [hive for hive in self.on[day] if hive != YARD]
        if len(here) <= 1:  # one hive is not split
            return []
        visits = sorted(d for d in self.on if d > day)
        others = [d for d in range(len(self.ground.days)) if d not in self.on and d != day]
        new = [d for d in others if d > day] + [d for d in reversed(others) if d < day]
        targets = [*visits, *new]
        slack = {hive: self._last(hive, day) for hive in here}
        loose = sorted(here, key=lambda hive: (-slack[hive], -here.index(hive)))
        return [(hive, target) for target in targets for hive in loose]

    def _last(self, hive: str, day: int) -> int:
        """The last position to which all that is due in a hive could be put off."""
        last = len(self.ground.days)
        for errand, k in self.on[day][hive]:
            stop = self._stop(errand, k)
            last = min(last, stop.days.bit_length() - 1)
        return last

    def _stop(self, errand: Errand, k: int) -> Stop:
        """The stop of which a path takes its k-th node."""
        path = self.paths[errand.key]
        strand = self.strands[errand.key]
        stop = strand.first if k == 0 else strand.nodes[path[k - 1]].then
        assert stop is not None
        return stop

    def _move(self, work: Sequence[tuple[Errand, int]], day: int, target: int, most: float) -> bool:
        """Move what is due in a hive to another day, if each of its windows, and that day's hours, allow it."""
        state = work[0][0].colony
        hive = state.colony.key if state else YARD
        here = self.on.get(target, {}).get(hive, [])
        extra = sum(self._step(errand, k) for errand, k in work) if here else self._cost(work)
        if (self.minutes(target) or visit_minutes(self.ground)) + extra > most:
            return False
        moved: dict[str, Path] = {}
        for errand, k in work:
            path = rerouted(self.strands[errand.key], self.paths[errand.key], k, target)
            if path is None:
                return False
            moved[errand.key] = path
        self.paths.update(moved)
        self.moves.setdefault((day, target), []).append(hive)
        self._fill()
        return True

    def words(self) -> Iterator[str]:
        """What was moved, for the keeper to read: forty hives are two afternoons."""
        everyone = list(dict.fromkeys(e.colony.colony.key for e in self.errands if e.colony))
        for (day, target), some in sorted(self.moves.items()):
            names = hives([name for name in everyone if name in some], everyone)
            was, now = (short_day(self.ground.days.ordinals[d]) for d in (day, target))
            yield f"{was} would take more than {self.ground.yard.hours:g} h: {names} on {now}"


def rerouted(strand: Strand, path: Path, k: int, target: int) -> Path | None:
    """A path with its k-th step on another day, and the later ones on theirs; None where there is none."""
    stop: Stop | None = strand.first if k == 0 else strand.nodes[path[k - 1]].then
    days = [target, *(strand.nodes[node].at for node in path[k + 1 :])]
    found: list[int] = []
    for at in days:
        node = None if stop is None else next((n for n in stop.nodes if strand.nodes[n].at == at), None)
        if node is None:
            return None
        found.append(node)
        stop = strand.nodes[node].then
    return None if stop is not None else (*path[:k], *found)
