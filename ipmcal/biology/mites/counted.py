"""A count beats what was assumed: the law of a day's load, weighed by what was counted on it.

In: the load that each draw projects for the day, mites and bees counted. Out: a factor for each draw, by which all its
mites of that day are scaled. The load is mites a bee on bees, the colony's mean; a wash reads brood-nest bees, which
carry more while there is brood.

The draws' loads are taken for a normal law in their logarithm. On a grid in log load it is multiplied by the Poisson
likelihood of so many mites among so many bees, flattened so that its standard error is ``widened`` times as wide
(mites sit unevenly). Each draw keeps its quantile in the new law. A count of zero has a falling likelihood, so that it
moves no quantile up; one that says nothing moves none.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from statistics import NormalDist, fmean, pstdev

from ipmcal.biology.mites.figures import Weighing

REACH = 5.0
"""Standard deviations to which the grid reaches on either side."""
LEAST_SD = 1e-6
"""Draws that do not differ at all are spread so much, in log load."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The factor of each draw; the chance, as projected, of a count at least as far out on its side; whether the two
    agree.
    """

    factors: tuple[float, ...]
    chance: float
    agrees: bool


def weigh(
    loads: Sequence[float], mites: int, bees: float, figures: Weighing, *, brood: bool, pooled: bool = False
) -> Weighed:
    """Weighs loads (mites a bee, above 0, one a draw) by ``mites`` counted among ``bees``.

    ``brood``: there is some, so that a wash reads more than the colony's mean. ``pooled``: the count is of other hives
    of the yard, and says less of this one. Raises ValueError for no draws, no bees, or loads of nothing.
    """
    if not loads or bees <= 0 or mites < 0 or min(loads) <= 0:
        raise ValueError("a count is weighed against loads above 0, and has bees and no fewer mites than none")
    logs = [math.log(load) for load in loads]
    prior = NormalDist(fmean(logs), max(pstdev(logs), LEAST_SD))
    edges = _grid(prior, logs, figures.grid)
    before = _law(edges, [prior.cdf(edge) for edge in edges])
    expected = bees * (figures.wash_reads if brood else 1.0)
    likely = _likelihood(edges, mites, expected, figures, pooled)
    after = list(accumulate((high - low) * w for low, high, w in zip(before, before[1:], likely, strict=False)))
    after = [0.0, *(part / after[-1] for part in after)]
    factors = tuple(math.exp(_moved(x, edges, before, after) - x) for x in logs)
    chance = _chance(edges, before, mites, expected)
    return Weighed(factors, chance, chance >= figures.disagrees_below)


def _grid(prior: NormalDist, logs: Sequence[float], points: int) -> list[float]:
    low = min(prior.mean - REACH * prior.stdev, *logs)
    high = max(prior.mean + REACH * prior.stdev, *logs)
    return [low + (high - low) * i / points for i in range(points + 1)]


def _law(edges: Sequence[float], below: Sequence[float]) -> list[float]:
    """A distribution on the grid, from 0 at its first edge to 1 at its last."""
    return [(b - below[0]) / (below[-1] - below[0]) for b in below]


def _likelihood(edges: Sequence[float], mites: int, expected: float, figures: Weighing, pooled: bool) -> list[float]:
    """The likelihood of the count at the middle of each cell of the grid, the highest being 1."""
    middles = [(low + high) / 2 for low, high in pairwise(edges)]
    logs = [(mites * x - expected * math.exp(x)) / figures.widened**2 for x in middles]
    most = max(logs)
    likely = [math.exp(value - most) for value in logs]
    return _blurred(middles, likely, figures.pooled_sd) if pooled else likely


def _blurred(middles: Sequence[float], likely: Sequence[float], sd: float) -> list[float]:
    """A likelihood made as much wider as hives of one yard differ; beyond the grid it goes on level."""
    made = []
    for x in middles:
        weights = [math.exp(-(((x - y) / sd) ** 2) / 2) for y in middles]
        made.append(sum(w * p for w, p in zip(weights, likely, strict=True)) / sum(weights))
    return made


def _moved(x: float, edges: Sequence[float], before: Sequence[float], after: Sequence[float]) -> float:
    """Where the quantile that ``x`` has in one law lies in the other; straight lines between the grid's edges."""
    return _between(_between(x, edges, before), after, edges)


def _between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    i = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    width = xs[i + 1] - xs[i]
    return ys[i] + (ys[i + 1] - ys[i]) * min(max((x - xs[i]) / width, 0.0), 1.0) if width > 0 else ys[i]


def _chance(edges: Sequence[float], before: Sequence[float], mites: int, expected: float) -> float:
    """The chance of a count as far out as this or farther on its side, by the law before it; half of a tie counts."""
    below = at = 0.0
    for low, high, first, last in zip(before, before[1:], edges, edges[1:], strict=False):
        mean = expected * math.exp((first + last) / 2)
        under, equal = _poisson(mites, mean)
        below += (high - low) * under
        at += (high - low) * equal
    under = below + at / 2
    return min(under, 1 - under)


def _poisson(k: int, mean: float) -> tuple[float, float]:
    """The chances of fewer than ``k`` and of exactly ``k``."""
    below, at = 0.0, math.exp(-mean)
    for i in range(k):
        below += at
        at *= mean / (i + 1)
    return below, at
