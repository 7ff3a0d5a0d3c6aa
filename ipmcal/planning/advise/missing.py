"""Missing: why no courses are enough, and what would do.

In: a ``YearPlan`` that is not enough. Out: ``Missing``. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ipmcal.model.rules.labels import label_for
from ipmcal.planning.mites.base import OWN_BREAK
from ipmcal.planning.mites.plan import YearPlan, best_without, is_likely, year_plan
from ipmcal.planning.mites.question import YearQuestion, year_known


@dataclass(frozen=True, slots=True)
class Missing:
    """Why no courses are enough. ``helps``: products with a label here, each of which, joined to the list, would do.

    ``nearest``: where none does, the one that brings most, and the share of hives over the line with it.
    ``unlabelled``: products of the list, or of the rules, that have no label here. ``walls``: for each product of the
    list what keeps it off most of the days, in a word of limits or walls. ``rounds`` of the base that nothing serves.
    """

    helps: tuple[str, ...]
    nearest: tuple[str, float] | None
    unlabelled: tuple[str, ...]
    walls: tuple[tuple[str, str], ...]
    rounds: tuple[str, ...]


def missing(plan: YearPlan) -> Missing:
    """What a plan that is not enough lacks: of the products with a label here, the likeliest few are tried in full."""
    asked = plan.known.asked
    never = asked.book.planning.year_plans.walls.never
    others = [n for n, t in asked.book.treatments.items() if n not in asked.products and t.class_ not in never]
    labelled = [n for n in others if label_for(asked.book.treatments[n], asked.jurisdiction, asked.book) is not None]
    with_it = {n: year_known(_with(plan, n)) for n in labelled}
    likely = sorted(labelled, key=lambda n: (not is_likely(with_it[n]), best_without(with_it[n]).over, n))[:TRIED]
    tried = {n: year_plan(with_it[n].asked) for n in likely}
    helps = tuple(n for n, made in tried.items() if made.enough)
    better = [(n, made.over) for n, made in tried.items() if made.over < plan.over]
    nearest = None if helps else min(better, key=lambda one: one[1], default=None)
    every = {*others, *plan.known.answers.unlabelled}
    return Missing(
        helps,
        nearest,
        tuple(sorted(n for n in every if n not in labelled)),
        tuple(_walls(plan)),
        rounds_left(plan),
    )


def _with(plan: YearPlan, product: str) -> YearQuestion:
    """The plan's question with one product more, the break of the brood taken or not as it was."""
    asked = replace(plan.known.asked, products=(*plan.known.asked.products, product))
    return replace(asked, breaks_if="always") if asked.breaks else asked


def rounds_left(plan: YearPlan) -> tuple[str, ...]:
    """Rounds of the base that no course of the plan serves."""
    served = {one.round for one in plan.courses}
    served |= {OWN_BREAK for one in plan.courses if one.rests}
    either = {one.slot.name for one in plan.known.rounds if one.slot.either}
    served |= {"winter" for one in plan.courses if one.round in either and one.course.quick}
    return tuple(one.slot.name for one in plan.known.rounds if one.slot.name not in served)


TRIED = 2
"""So many products are tried in full: a matter of speed."""


def _walls(plan: YearPlan) -> Sequence[tuple[str, str]]:
    """For each product of the list, the limit or wall that keeps it off most of the keeper's days."""
    found = []
    for product, counts in plan.known.answers.refused.items():
        whole = {**counts}
        for wall, days in plan.known.walled.get(product, {}).items():
            whole[wall] = whole.get(wall, 0) + days
        if whole:
            found.append((product, max(sorted(whole), key=lambda word: whole[word])))
    return found
