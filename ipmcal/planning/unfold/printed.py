"""Printed: a course keeps the days that the last plan printed for it, while its windows still hold them.

In: errands, the days that were printed. Out: by errand, the nodes of its chain that stay. Pure. A window holds the days
that are as good by the mites, so that another of them would do no more; nobody trusts a calendar that moves by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import partial

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


def to_keep(errand: Errand, ordinals: Sequence[int], printed: PrintedDays) -> dict[str, frozenset[int]]:
    """The steps of a course that can stand on days that were printed for them, one after the other, with these days."""
    if not printed or not errand.course or errand.colony is None or not errand.chain.nodes:
        return {}
    chain, found = errand.chain, dict[str, frozenset[int]]()
    for step in dict.fromkeys(name for name, _ in errand.chain.steps):
        days = printed.get((errand.colony.colony.key, errand.course, step), frozenset())
        left = pruned(chain, partial(_stays, chain, ordinals, {step: days})) if days else None
        if left is not None:
            chain, found[step] = left, days
    return found


def as_printed(errand: Errand, ordinals: Sequence[int], printed: PrintedDays) -> tuple[Strand, tuple[int, ...] | None]:
    """An errand as packing sees it: where it can, on the days that were printed for it; with the nodes of its chain
    that its own stand for (None: all of them).
    """
    days = to_keep(errand, ordinals, printed)
    keep = partial(_stays, errand.chain, ordinals, days)
    kept = nodes_left(errand.chain, keep) if days else None
    chain = pruned(errand.chain, keep) if kept is not None else None
    if kept is None or chain is None:
        return errand.strand, None
    return Strand(errand.key, chain.first, chain.nodes), tuple(kept)


def _stays(chain: Chain, ordinals: Sequence[int], days: Mapping[str, frozenset[int]], node: int) -> bool:
    """Whether a node is of a step that may be done on any day, or on one of its printed days."""
    step, _ = chain.steps[node]
    return step not in days or ordinals[chain.nodes[node].at] in days[step]
