"""Hours: no visit longer than the keeper has, by moving hives to another visit in their windows, or to a new day.

In: a yard's errands, the paths that packing chose, how long each takes, the hours a visit. Out: paths, and the days
that stay too long. Pure.

What leaves the least slack stays; of the rest, hives stay in the order of the keeper's ``walk`` numbers, else of their
keys, so that the first half of a yard is one afternoon and the second half the next. Where a hive stands in the file
decides nothing. A hive is opened once: all that is due in it that day moves together if it can, else a task by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import fsum

from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.strand import Stop, Strand
from ipmcal.model.values.words import hives, short_day
from ipmcal.planning.owed.errand import Errand, one_with
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Path

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
    table.back(ground.yard.hours * 60)
    return Fitted(table.paths, frozenset(over), tuple(table.words()))


DueWork = list[tuple[Errand, int]]
"""What is due in a hive on a day: errands, each with the place of the step in its path."""


@dataclass
class _Table:
    """Who is visited on which day, while it is changed. Days are positions of the keeper's days."""

    ground: Ground
    errands: Sequence[Errand]
    paths: dict[str, Path]
    on: dict[int, dict[str, DueWork]] = field(init=False)
    spent: dict[int, float] = field(init=False)
    strands: dict[str, Strand] = field(init=False)
    moves: dict[tuple[int, int], list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """By day and hive what is done, and by day how long it takes."""
        self.strands = {e.key: e.strand for e in self.errands if e.key in self.paths}
        self.on, self.spent = {}, {}
        for errand in self.errands:
            for k, node in enumerate(self.paths.get(errand.key, ())):
                self.on.setdefault(errand.chain.nodes[node].at, {}).setdefault(_hive(errand), []).append((errand, k))
        for day in self.on:
            self._reckon(day)

    def _reckon(self, day: int) -> None:
        work = {hive: some for hive, some in self.on.get(day, {}).items() if some}
        self.on[day] = work
        self.spent[day] = fsum((visit_minutes(self.ground), *map(self._cost, work.values()))) if work else 0.0

    def minutes(self, day: int) -> float:
        """How long a day takes."""
        return self.spent.get(day, 0.0)

    def _cost(self, work: DueWork) -> float:
        """Minutes of one hive on one day."""
        state = work[0][0].colony
        return self._steps(work) + (hive_minutes(self.ground, state) if state is not None else 0.0)

    def _steps(self, work: DueWork) -> float:
        some = ((errand, errand.chain.done([self.paths[errand.key][k]])) for errand, k in work)
        longest, each = dict[tuple[str, str], float](), list[float]()
        for errand, name in ((errand, name) for errand, done in some for (name, _), _ in done):
            spent = errand.frame.method.steps[name].minutes.value.middle
            same = one_with(errand, name, self.ground.book.planning)
            if same is None:
                each.append(spent)
            else:
                longest[same] = max(spent, longest.get(same, 0.0))
        return fsum((*each, *longest.values()))

    def relieve(self, day: int, most: float) -> bool:
        """Move hives away from a day until it takes no longer than ``most``; False where that can't be.

        First hives with all that is due in them, to each later visit and then to each new day in turn; where that does
        not do, single tasks.
        """
        for whole in (True, False):
            for target in self._targets(day):
                for hive in self._loose(day):
                    if self.minutes(day) <= most:
                        return True
                    work = self.on[day][hive]
                    for some in [work] if whole else [[one] for one in work]:
                        self._move(list(some), day, target, most)
        return self.minutes(day) <= most

    def back(self, most: float) -> None:
        """A new day whose hives all have room again on the day that they left, since more left it, is given up."""
        for day, target in sorted(self.moves, reverse=True):
            gone, there = self.moves[day, target], dict(self.on.get(target, {}))
            others = [way for way in self.moves if way != (day, target) and target in way]
            here = self.on.get(day, {})
            costs = (self._steps(work) if here.get(hive) else self._cost(work) for hive, work in there.items())
            if others or not set(there) <= set(gone) or not here or self.minutes(day) + fsum(costs) > most:
                continue
            before = (
                dict(self.paths),
                dict(self.on),
                dict(self.spent),
                {way: [*some] for way, some in self.moves.items()},
            )
            for work in there.values():
                self._move(list(work), target, day, most)
            if self.on.get(target):  # some of it can't go back: it all stays
                self.paths, self.on, self.spent, self.moves = before
            else:
                self.moves.pop((day, target))
                self.moves.pop((target, day))

    def _loose(self, day: int) -> list[str]:
        """The hives that may go, the loosest and last on the way first; one hive alone is not split."""
        here = {hive: work[0][0].colony for hive, work in self.on[day].items()}
        mine = {hive: state.colony for hive, state in here.items() if state is not None}
        if len(mine) <= 1:
            return []
        # the hive whose work can wait longest goes first: it finds room most easily
        last = {hive: self._open(self.on[day][hive]).bit_length() for hive in mine}
        return sorted(mine, key=lambda hive: (last[hive], on_the_way(mine[hive])), reverse=True)

    def _targets(self, day: int) -> list[int]:
        """Whither: the visits to come, in turn; then days without a visit, those to come first."""
        visits = sorted(d for d in self.on if d > day and self.on[d])
        others = [d for d in range(len(self.ground.days)) if not self.on.get(d)]
        return [*visits, *(d for d in others if d > day), *(d for d in reversed(others) if d < day)]

    def _open(self, work: DueWork) -> int:
        """The days on which all of it could be done, each step by itself, as bits."""
        days = -1
        for errand, k in work:
            days &= self._stop(errand, k).days
        return days

    def _stop(self, errand: Errand, k: int) -> Stop:
        """The stop of which a path takes its k-th node."""
        path = self.paths[errand.key]
        strand = self.strands[errand.key]
        stop = strand.first if k == 0 else strand.nodes[path[k - 1]].then
        assert stop is not None
        return stop

    def _move(self, work: DueWork, day: int, target: int, most: float) -> None:
        """Move what is due in a hive to another day, if each of its windows, and that day's hours, allow it."""
        if not self._open(work) >> target & 1:
            return
        hive = _hive(work[0][0])
        # a hive that is opened on that day anyway is not opened twice
        extra = self._steps(work) if self.on.get(target, {}).get(hive) else self._cost(work)
        if (self.minutes(target) or visit_minutes(self.ground)) + extra > most:
            return
        moved: dict[str, Path] = {}
        for errand, k in work:
            path = rerouted(self.strands[errand.key], self.paths[errand.key], k, target)
            if path is None:
                return
            moved[errand.key] = path
        self.paths.update(moved)
        self.moves.setdefault((day, target), []).append(hive)
        self.on[day][hive] = [one for one in self.on[day][hive] if one not in work]
        mine = self.on.setdefault(target, {})
        mine[hive] = [*mine.get(hive, ()), *work]
        for changed in (day, target):
            self._reckon(changed)

    def words(self) -> Iterator[str]:
        """What was moved, for the keeper to read: forty hives are two afternoons."""
        everyone = list(dict.fromkeys(e.colony.colony.key for e in self.errands if e.colony))
        for (day, target), some in sorted(self.moves.items()):
            names = hives([name for name in everyone if name in some], everyone)
            was, now = (short_day(self.ground.days.ordinals[d]) for d in (day, target))
            yield f"{was} would take more than {self.ground.yard.hours:g} h: {names} on {now}"


def on_the_way(colony: Colony) -> tuple[float, list[tuple[bool, int, str]], str]:
    """Where a hive comes, whatever the order of the file: by its ``walk``, where told, then by its key, ``2`` before
    ``10``.
    """
    parts = [part for part in re.split(r"([0-9]+)", colony.key) if part]
    numbers = [(False, int(part), "") if part[0] in "0123456789" else (True, 0, part) for part in parts]
    return colony.walk if colony.walk_told else float("inf"), numbers, colony.key


def _hive(errand: Errand) -> str:
    return errand.colony.colony.key if errand.colony else YARD


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
