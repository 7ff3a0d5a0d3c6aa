"""Missing: why no courses are enough, and what would help: another class first, the queen caged, never what is weak.

In: a ``YearPlan`` that is not enough. Out: ``Missing``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ipmcal.model.rules.labels import efficacy_of, label_for
from ipmcal.planning.advise.over import strong_enough
from ipmcal.planning.mites.accept import over_first, over_settled
from ipmcal.planning.mites.base import OWN_BREAK, CagedBreak, break_by
from ipmcal.planning.mites.plan import YearPlan, best_without, first_over, is_likely, unbroken, year_plan
from ipmcal.planning.mites.question import YearQuestion, year_known


@dataclass(frozen=True, slots=True)
class Help:
    """What would help: a ``product`` more, or, where that is None, the queen ``caged`` on that day; and the shares of
    hives over the line with it in year ``one`` and ``later``."""

    product: str | None
    one: float
    later: float
    caged: int | None = None
    released: int | None = None


@dataclass(frozen=True, slots=True)
class Missing:
    """Why no courses are enough. ``helps``: what would do most, the best first; none where nothing makes it better.

    ``rounds`` of the base that nothing on the list serves.
    """

    helps: tuple[Help, ...]
    rounds: tuple[str, ...]


def missing(plan: YearPlan) -> Missing:
    """What a plan that is not enough lacks: the likeliest few are tried in full."""
    worth = plan.known.asked.book.planning.year_plans.led.worth.value.middle / 100.0
    found = [one for one in _tried(plan) if _bad(one) <= first_over(plan) + plan.over - worth]
    order = sorted(found, key=lambda one: (_bad(one), one.product or ""))
    near = [one for one in order if _bad(one) <= _bad(order[0]) + 2 * worth]
    return Missing(tuple(near[:NAMED]), rounds_left(plan))


def _bad(one: Help) -> float:
    return round(one.one + one.later, 3)


def _tried(plan: YearPlan) -> Iterator[Help]:
    with_it = {name: year_known(_with(plan, name)) for name in _others(plan)}
    for name in sorted(with_it, key=lambda n: (not is_likely(with_it[n]), best_without(with_it[n]).over, n))[:TRIED]:
        made = year_plan(with_it[name].asked)
        if any(one.course.answer.product == name for one in made.courses):
            yield Help(name, first_over(made), made.over)
    rest = _a_break(plan)
    if rest is not None:
        yield from _caged(plan, rest)


def _a_break(plan: YearPlan) -> CagedBreak | None:
    """A caging that the plan has not, in time for late summer."""
    asked = plan.known.asked
    slot = next((one.slot for one in plan.known.rounds if one.slot.name == "late_summer"), None)
    if slot is None or any(one.rests for one in plan.courses):
        return None
    return break_by(asked.book, asked.season, asked.region, asked.days, slot.by or slot.last)


def _caged(plan: YearPlan, rest: CagedBreak) -> Iterator[Help]:
    """The plan with a caging: chosen anew, and else with a dose of acid in late summer's place."""
    asked = unbroken(plan.known.asked) if plan.known.asked.breaks else plan.known.asked
    pauses = (*asked.stock.history.pauses, (rest.caged, rest.lays))
    stock = replace(asked.stock, history=replace(asked.stock.history, pauses=pauses))
    standing = replace(asked.standing, brood=(*asked.standing.brood, rest.spell))
    one = year_known(replace(asked, breaks=(rest,), breaks_if="always", stock=stock, standing=standing))
    keys = {(c.course.answer.product, c.course.day) for c in plan.courses if c.round != "late_summer"}
    kept = [i for i, c in enumerate(one.candidates) if (c.answer.product, c.day) in keys]
    doses = [i for i, c in enumerate(one.candidates) if c.quick and c.day == rest.released]
    tried = []
    for dose in doses:
        places = sorted((*kept, dose), key=lambda i: one.candidates[i].day)
        made, begins = one.under(places), one.begins(places)
        tried.append((over_first(made, one.judging, begins), over_settled(made, one.judging, begins)))
    if tried:
        first, later = min(tried)
        yield Help(None, first, later, rest.caged, rest.released)


def _others(plan: YearPlan) -> Iterator[str]:
    """Products with a label here that are not on the list: of another class, or of one of which the list has doses
    alone; none that spares half of the mites where there is brood."""
    asked = plan.known.asked
    book = asked.book
    never = book.planning.year_plans.walls.never
    mine = {name for name in asked.products if name in plan.known.answers.refused}
    lasting = {book.treatments[name].class_ for name in mine if _outlasts(asked, name)}
    for name, one in book.treatments.items():
        label = label_for(one, asked.jurisdiction, book)
        if name in asked.products or label is None or one.class_ in (*never, *lasting) or not _outlasts(asked, name):
            continue
        if strong_enough(book, one, label):
            yield name


def _outlasts(asked: YearQuestion, name: str) -> bool:
    """Whether a product reaches what is in cells, or acts until it has come out."""
    book = asked.book
    one = book.treatments[name]
    label = label_for(one, asked.jurisdiction, book)
    assert label is not None  # what has none is not asked for
    acts, worker = efficacy_of(one, label).acts.value, book.biology.castes.worker
    capped = worker.emerges.value.usual - worker.capped.value.usual
    return one.common.kills.in_cells.value != "no" or acts is None or acts.high >= capped


NAMED = 2
"""What is named: more would not be bought."""
TRIED = 2
"""So many products are tried in full: a matter of speed."""


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
