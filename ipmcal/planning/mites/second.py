"""Second: another product in each course's place, the last day that is still enough; and what is missing where none is.

In: a ``YearPlan``. Out: ``Second`` values, ``Missing``. Pure. Places are judged by the draws that choose, all at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ipmcal.model.rules.labels import label_for
from ipmcal.planning.mites.plan import Planned, YearPlan, is_likely, year_plan
from ipmcal.planning.mites.question import YearKnown, year_known
from ipmcal.planning.mites.search import harms_of, over_line, row_of


@dataclass(frozen=True, slots=True)
class Second:
    """What else may stand in a course's place: ``last``: the last day on which its own product may begin and be enough;

    ``product`` another that would be enough, begun best on ``day`` and at the latest on ``until``; None: there is none.
    Days are ordinals.
    """

    last: int
    product: str | None = None
    day: int | None = None
    until: int | None = None


def seconds(plan: YearPlan) -> tuple[Second, ...]:
    """The second choice of each course, in the order of the plan's."""
    return tuple(_second(plan, one) for one in plan.courses)


def _second(plan: YearPlan, planned: Planned) -> Second:
    one, field = plan.known, plan.known.field
    others = [i for i in plan.chosen.courses if i != planned.place]
    places = [i for i in _places(plan, planned) if _fits(one, i, others)]
    rows = [row_of(field, (*others, i))[0] for i in places]
    if not rows:
        return Second(planned.course.day)
    shares, harms = over_line(field, rows), harms_of(field, rows)
    most = max(field.measures.over, plan.chosen.over) + 1e-12
    enough = [(i, float(harm)) for i, share, harm in zip(places, shares, harms, strict=True) if share <= most]
    product = planned.course.answer.product
    own = [one.candidates[i].day for i, _ in enough if one.candidates[i].answer.product == product]
    last = max([*own, planned.course.day])
    rest = [(i, harm) for i, harm in enough if one.candidates[i].answer.product != product]
    if not rest:
        return Second(last)
    best = _preferred(one, rest)
    mine = [(i, harm) for i, harm in rest if one.candidates[i].answer.product == best]
    days = [one.candidates[i].day for i, _ in mine]
    if planned.course.quick:  # a dose stays as near as may be
        near = min(days, key=lambda day: (abs(day - planned.course.day), day))
        return Second(last, best, near, max(days))
    least = min(harm for _, harm in mine)
    good = [one.candidates[i].day for i, harm in mine if harm <= least * (1.0 + field.measures.same_harm)]
    return Second(last, best, max(good), max(days))


def _places(plan: YearPlan, planned: Planned) -> Sequence[int]:
    """What may stand in a course's place: its round's candidates, or any that may stand beside the base."""
    for served in plan.known.rounds:
        if served.slot.name == planned.round:
            more = served.wide if planned.course.quick else ()
            return tuple(dict.fromkeys((*served.candidates, *more)))
    field = plan.known.field
    seen, blind = [int(i) for i in field.further], [int(i) for i in field.blind]
    return [*seen, *blind] if planned.place in blind else seen


def _fits(one: YearKnown, place: int, others: Sequence[int]) -> bool:
    """Whether a candidate goes with the other courses."""
    field = one.field
    whole = [*others, place]
    together = all(bool(field.apart[a, b]) for a, b in combinations(whole, 2))
    return together and all(sum(bool(flags[i]) for i in whole) <= most for flags, most in field.caps)


def _preferred(one: YearKnown, rest: Sequence[tuple[int, float]]) -> str:
    """The product of the rest that comes first in the keeper's order, of those within a band of the least harm."""
    edge = min(harm for _, harm in rest) * (1.0 + one.field.measures.band)
    near = (i for i, harm in rest if harm <= edge)
    first = min(near, key=lambda i: (one.field.costs[i].lost > 0, one.field.costs[i].product))
    return one.candidates[first].answer.product


# What is missing ------------------------------------------------------------------------------------------------------


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
    with_it = {n: year_known(replace(asked, products=(*asked.products, n))) for n in labelled}
    likely = sorted(labelled, key=lambda n: (not is_likely(with_it[n]), n))[:TRIED]
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
        plan.known.unserved,
    )


TRIED = 3
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
