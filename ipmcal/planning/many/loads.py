"""Loads: mites a bee in many draws at once, the same to the bit as one by one. In: colonies, runs. Out: lists. Pure."""

from __future__ import annotations

import numpy as np

from ipmcal.planning.many.columns import ColonyColumns
from ipmcal.planning.many.runs import ManyTraces


def loads_on(columns: ColonyColumns, traces: ManyTraces, day: int) -> list[float]:
    """Mites on bees a bee on a day (ordinal), the colony's mean, draw by draw."""
    found: list[float] = (traces.on_bees[day - traces.first] / columns.arrays["bees"][day - columns.first]).tolist()
    return found


def washed(columns: ColonyColumns, traces: ManyTraces, reads: float) -> list[list[float]]:
    """Mites in 100 bees as a wash would read them, by draw and day: ``reads`` times the mean while there is brood."""
    rows = _rows(columns, traces)
    brood = columns.arrays["brood"][rows] > 0.0
    each = 100.0 * traces.on_bees / columns.arrays["bees"][rows] * np.where(brood, reads, 1.0)
    found: list[list[float]] = each.T.tolist()
    return found


def _rows(columns: ColonyColumns, traces: ManyTraces) -> slice:
    at = traces.first - columns.first
    return slice(at, at + len(traces.on_bees))


def among(traces: ManyTraces, first: int, last: int) -> ManyTraces:
    """The traces of some draws, from one place up to another."""
    mine = slice(first, last)
    return ManyTraces(
        first=traces.first,
        all=traces.all[:, mine],
        on_bees=traces.on_bees[:, mine],
        entered=traces.entered[:, mine],
        cut=traces.cut[:, mine],
        killed=traces.killed[mine],
    )
