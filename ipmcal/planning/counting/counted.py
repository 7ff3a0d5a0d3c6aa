"""Counted: a yard's counts, once packing has placed all else: each in its time, on visits that are made anyway.

In: a yard's seasons, what is owed in each, the days on which packing placed it. Out: the errands of counts with their
paths, and where none may be made, why. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Refusal
from ipmcal.planning.choose.treat import Treated
from ipmcal.planning.choose.wants import BREAK
from ipmcal.planning.counting.errands import RhythmOf, Washes, any_day, counts_done, errand_done, errands_to_come
from ipmcal.planning.counting.hive import HiveWork, Visited, question_of_counts
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.fitness import as_advice, fitness, methods_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.placed import Path
from ipmcal.planning.ready import Ready


@dataclass
class CountsLaid:
    """The counts of a season: errands, the path of each, and where none may be made, why. ``alike``: the washes of each
    kind of hive."""

    errands: list[Errand] = field(default_factory=list)
    paths: dict[str, Path] = field(default_factory=dict)
    refusals: list[Refusal] = field(default_factory=list)
    alike: list[Washes] = field(default_factory=list)

    def of_season(self, year: int, mark: str) -> CountsLaid:
        """The same as errands of one season; ``mark`` makes their keys its own. What had a season keeps its key."""
        keys = {errand.key: errand.key + ("" if errand.season else mark) for errand in self.errands}
        errands = [errand if errand.season else errand.of_season(year, mark) for errand in self.errands]
        return CountsLaid(errands, {keys[key]: path for key, path in self.paths.items()}, self.refusals)


def lay_counts(
    one: Ready, treated: Treated, errands: Sequence[Errand], paths: Mapping[str, Path], visited: Visited
) -> CountsLaid:
    """The counts of a yard's season. ``errands`` are those of all seasons; ``visited`` grows by what is added."""
    found = CountsLaid()
    rhythms = [name for name, method in one.ground.book.methods.items() if method.rhythm]
    breaks = {key for key, course in treated.chosen.items() if course.need.name.startswith(BREAK)}
    mine: dict[str, list[Errand]] = {}
    for errand in errands:
        if errand.colony is not None:
            mine.setdefault(errand.colony.colony.key, []).append(errand)
    for state in one.states:
        colony = state.colony
        names = set(methods_of(one.ground.yard, colony.added, colony.declined, one.ground.book)).intersection(rhythms)
        for name in sorted(names) if state.alive else ():
            work = HiveWork(one, state, mine.get(colony.key, ()), paths, breaks)
            _counted_in(found, work, name, visited)
    return found


def _counted_in(found: CountsLaid, work: HiveWork, name: str, visited: Visited) -> None:
    """The counts of one hive: those that were made, and those to come."""
    of, ground = _rhythm(work, name), work.one.ground
    done = counts_done(of)
    if done:
        found.errands.append(errand_done(of, done))
    days = _days_left(ground, work.state)
    if not days or not _meant(work, name):
        return
    counts, refused = question_of_counts(work, any_day(of, days), visited)
    found.refusals.extend(refused)
    if counts is None:
        return
    for errand, path in errands_to_come(of, counts, len(done), found.alike):
        found.errands.append(errand)
        found.paths[errand.key] = path
        for node in path:
            visited.comes(ground.days.ordinals[errand.chain.nodes[node].at])


def _days_left(ground: Ground, state: ColonyState) -> tuple[int, ...]:
    first = max(ground.as_of, ground.season.first, state.colony.began)
    return ground.days.of(ground.days.between(first, ground.season.last))


def _rhythm(work: HiveWork, name: str) -> RhythmOf:
    ground = work.one.ground
    method = ground.book.methods[name]
    fit = fitness(method, work.state, None, ground.season, ground.book)
    advice = causes_words((*fit.advice, *map(as_advice, fit.against)))
    return RhythmOf(work, name, ground.frame(name, method), tuple(advice))


def _meant(work: HiveWork, name: str) -> bool:
    """Whether a count is for this hive at all; what is against it, unfolding tells."""
    ground = work.one.ground
    fit = fitness(ground.book.methods[name], work.state, None, ground.season, ground.book)
    return fit.meant and not fit.against
