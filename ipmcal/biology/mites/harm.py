"""Harm: the share of the bee-days reared that come from cells with a mite.

In: a colony and a trace, or its mites that entered worker cells. Out: bee-days. A cell counts as many days as its bee
lives, a winter bee six times a summer bee; mites sit in cells by chance, so that of cells with m mites each on average
1 - exp(-m) have one.
"""

from __future__ import annotations

import math

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.run import Trace


def bee_days(colony: ColonyDays, lives: tuple[int, int], days: tuple[int, int]) -> float:
    """Bee-days of all cells capped from the first of ``days`` to the last; ``lives`` of a summer and a winter bee."""
    cells = colony.worker_cells[days[0] - colony.first : days[1] + 1 - colony.first]
    return sum(map(float.__mul__, cells, weights(colony, lives, days)))


def weights(colony: ColonyDays, lives: tuple[int, int], days: tuple[int, int]) -> list[float]:
    """Days that a bee lives, by the day on which its cell is capped."""
    winter = colony.winter_cells[days[0] - colony.first : days[1] + 1 - colony.first]
    return [float(lives[1] if is_winter else lives[0]) for is_winter in winter]


def harmed_days(colony: ColonyDays, trace: Trace, lives: tuple[int, int], days: tuple[int, int]) -> float:
    """Bee-days of cells with a mite, capped from the first of ``days`` to the last (within the trace)."""
    cells = colony.worker_cells[days[0] - colony.first : days[1] + 1 - colony.first]
    mites = trace.entered[days[0] - trace.first : days[1] + 1 - trace.first]
    weight = weights(colony, lives, days)
    return sum(w * c * -math.expm1(-m / c) for w, c, m in zip(weight, cells, mites, strict=True) if w and c > 0)


def harm(colony: ColonyDays, trace: Trace, lives: tuple[int, int], days: tuple[int, int]) -> float:
    """The measure that is printed and accepted by, 0 to 1; 0 where no bees are reared."""
    reared = bee_days(colony, lives, days)
    return harmed_days(colony, trace, lives, days) / reared if reared else 0.0


def with_mite(colony: ColonyDays, trace: Trace, days: tuple[int, int], *, winter: bool = True) -> float:
    """The share of worker cells, of winter bees only unless told, capped in those days, that hold a mite."""
    lives = (0, 1) if winter else (1, 1)
    return harm(colony, trace, lives, days)
