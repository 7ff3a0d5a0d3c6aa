"""Printed: a course keeps the days that the last plan printed for it, while its windows still hold them.

In: errands, the days that were printed. Out: by errand, the nodes of its chain that stay. Pure. A window holds the days
that are as good by the mites, so that another of them would do no more; nobody trusts a calendar that moves by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ipmcal.model.outfit.outfit import PrintedDay
from ipmcal.model.plan.strand import Strand
from ipmcal.planning.days.chain import Chain, nodes_left, pruned
from ipmcal.planning.owed.errand import Errand

PrintedDays = Mapping[tuple[str, str, str], frozenset[int]]
"""The printed days by colony, treatment and step."""


def days_printed(printed: Iterable[PrintedDay]) -> PrintedDays:
    """The days that were printed, by what they were printed for."""
    found: dict[tuple[str, str, str], set[int]] = {}
    for one in printed:
        found.setdefault((one.colony, one.treatment, one.step), set()).add(one.day)
    return {key: frozenset(days) for key, days in found.items()}


def as_printed(errand: Errand, ordinals: Sequence[int], printed: PrintedDays) -> tuple[Strand, tuple[int, ...] | None]:
    """An errand as packing sees it: where it can, on the days that were printed for it; with the nodes of its chain
    that its own stand for (None: all of them).
    """
    if not printed or not errand.course or errand.colony is None or not errand.chain.nodes:
        return errand.strand, None
    kept: tuple[int, ...] | None = None
    chain = errand.chain
    for step in dict.fromkeys(name for name, _ in errand.chain.steps):
        days = printed.get((errand.colony.colony.key, errand.course, step))
        left = _left(chain, step, days, ordinals) if days else None
        if left is not None and len(left) < len(chain.nodes):
            kept = tuple(left) if kept is None else tuple(kept[i] for i in left)
            among = frozenset(left)
            made = pruned(chain, among.__contains__)
            assert made is not None
            chain = made
    return (errand.strand, None) if kept is None else (Strand(errand.key, chain.first, chain.nodes), kept)


def _left(chain: Chain, step: str, days: frozenset[int], ordinals: Sequence[int]) -> list[int] | None:
    """The nodes that are left where a step is done on one of its printed days; None where no path does it on one."""
    return nodes_left(chain, lambda i: chain.steps[i][0] != step or ordinals[chain.nodes[i].at] in days)
