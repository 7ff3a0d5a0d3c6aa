"""Fixed draws: the same points for every plan that is compared, spread evenly, with no randomness anywhere.

In: figures with their spreads. Out: draws, each a set of numbers. Points of Richtmyer's sequence (multiples of square
roots of primes; R. D. Richtmyer 1951, Los Alamos report LA-1342), and in every dimension only their ranks, so that each
figure is drawn once from every nth part of its law, as in a Latin hypercube (McKay, Beckman & Conover 1979,
Technometrics 21:239-245).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

from ipmcal.biology.mites.figures import MiteFigures

KILLS = 8
"""Quantiles of efficacy that a draw holds: one for each product or turn, as the caller deals them out."""
PRIMES = (2, 3, 5, 7, 11, 13, 17, 31, 37, 47, 61, 73, 83, 157, 191, 197, 229, 251, 307, 389, 409, 439)
"""One a dimension: fourteen figures and ``KILLS``. Left out are those whose points go together with another's."""
TURN = (math.sqrt(5) - 1) / 2
"""What the start's quantile turns by from hive to hive: the golden section leaves the widest gaps filled."""
_STANDARD = NormalDist()


@dataclass(frozen=True, slots=True)
class Brood:
    """What a draw says of brood: eggs a day at the peak; shares 0 to 1 of it in the pause, lost in a dearth; drones."""

    peak: float
    least: float
    less_in_dearth: float
    drones: float
    worker_survive: float


@dataclass(frozen=True, slots=True)
class Lives:
    """What a draw says of mites. Shares 0 to 1; ``die_*`` a day on bees; daughters a mother that live to enter."""

    in_trap_comb: float
    mothers_survive: float
    daughters_of_worker: float
    daughters_of_drone: float
    die_with_brood: float
    die_broodless: float


@dataclass(frozen=True, slots=True)
class Draw:
    """One draw: brood, mites, and quantiles (0 to 1, open) of what is drawn by yard, by hive and by course."""

    brood: Brood
    lives: Lives
    start_at: float
    coming_at: float
    kills_at: tuple[float, ...]

    def start(self, median: float, figures: MiteFigures, hive: int = 0) -> float:
        """Mites of an uncounted colony of that ``median``; ``hive`` (0, 1, ...) tells hives of one yard apart."""
        return median * log_normal((self.start_at + hive * TURN) % 1.0 or 0.5, figures.starts.sd_of_log)

    def coming(self, neighbours: str, figures: MiteFigures) -> float:
        """Mites a day from elsewhere, drawn once a yard; ``neighbours`` is sparse, usual or dense."""
        return figures.coming.medians[neighbours] * log_normal(self.coming_at, figures.coming.sd_of_log)

    def kill(self, low: float, high: float, luck: int) -> float:
        """The efficacy, 0 to 1, of a course that kills from ``low`` to ``high``; ``luck`` names its quantile."""
        return low + (high - low) * self.kills_at[luck % KILLS]


def log_normal(quantile: float, sd: float) -> float:
    """A log-normal factor of median 1 at a quantile, ``sd`` being the standard deviation of its logarithm."""
    return math.exp(sd * _STANDARD.inv_cdf(quantile))


def draws_for_choice(figures: MiteFigures, rarely_broodless: bool) -> tuple[Draw, ...]:
    """The draws to choose by."""
    return _draws(figures, rarely_broodless, 0, figures.draws[0])


def accepting(figures: MiteFigures, rarely_broodless: bool) -> tuple[Draw, ...]:
    """Other draws, to accept by and to draw the band."""
    return _draws(figures, rarely_broodless, figures.draws[0], figures.draws[1])


def drawing(figures: MiteFigures, rarely_broodless: bool, count: int) -> tuple[Draw, ...]:
    """``count`` draws that did not choose, spread as evenly as all of them: for a picture, of many hives together."""
    return _draws(figures, rarely_broodless, figures.draws[0], count)


def usual(figures: MiteFigures, rarely_broodless: bool) -> Draw:
    """The draw of all usual values."""
    return _draw(figures, rarely_broodless, (0.5,) * len(PRIMES))


@lru_cache(maxsize=8)
def points(skipped: int, count: int) -> tuple[tuple[float, ...], ...]:
    """``count`` points after the first ``skipped`` of the sequence, each coordinate (rank + 1/2) / count."""
    columns = []
    for prime in PRIMES:
        root = math.sqrt(prime)
        raw = [(i * root) % 1.0 for i in range(skipped + 1, skipped + count + 1)]
        order = sorted(range(count), key=raw.__getitem__)
        column = [0.0] * count
        for rank, i in enumerate(order):
            column[i] = (rank + 0.5) / count
        columns.append(column)
    return tuple(zip(*columns, strict=True))


def _draws(figures: MiteFigures, rarely: bool, skipped: int, count: int) -> tuple[Draw, ...]:
    return tuple(_draw(figures, rarely, point) for point in points(skipped, count))


def _draw(figures: MiteFigures, rarely: bool, q: tuple[float, ...]) -> Draw:
    drawn = figures.drawn
    daughters = drawn.daughters_survive.at(q[6])
    return Draw(
        brood=Brood(
            peak=drawn.peak.at(q[0]),
            least=_least(figures, rarely, q[1]),
            less_in_dearth=drawn.less_in_dearth.at(q[2]),
            drones=drawn.drones.at(q[3]),
            worker_survive=drawn.worker_survive.at(q[4]),
        ),
        lives=Lives(
            in_trap_comb=drawn.in_trap_comb.at(q[11]),
            mothers_survive=drawn.mothers_survive.at(q[5]),
            daughters_of_worker=drawn.daughters_in_worker.at(q[7]) * daughters,
            daughters_of_drone=drawn.daughters_in_drone.at(q[8]) * daughters,
            die_with_brood=drawn.die_with_brood.at(q[9]),
            die_broodless=drawn.die_broodless.at(q[10]),
        ),
        start_at=q[12],
        coming_at=q[13],
        kills_at=q[14:],
    )


def _least(figures: MiteFigures, rarely: bool, quantile: float) -> float:
    """Laying in the pause as a share of the peak: some in every draw where rarely broodless, elsewhere in a few."""
    seasonal = figures.seasonal
    if rarely:
        return seasonal.least_rarely
    none = 1 - seasonal.draws_with_some
    return 0.0 if quantile <= none else seasonal.least_elsewhere * (quantile - none) / seasonal.draws_with_some
