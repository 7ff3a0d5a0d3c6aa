"""Missing: why no courses are enough, and what would help: another class first, the queen caged, never what is weak.

In: a ``YearPlan`` that is not enough. Out: ``Missing``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.rules.labels import efficacy_of, label_for
from ipmcal.planning.advise.over import strong_enough
from ipmcal.planning.mites.accept import over_first, over_settled
from ipmcal.planning.mites.asking.caged import with_cagings
from ipmcal.planning.mites.asking.known import YearKnown, year_known
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import OWN_BREAK, break_by
from ipmcal.planning.mites.plan import YearPlan, best_without, first_over, is_likely, most_over, year_plan
from ipmcal.planning.mites.search import fits, free, over_line, over_line_first, row_of
from ipmcal.planning.mites.walls import whole_days


@dataclass(frozen=True, slots=True)
class Help:
    """What would help: a ``product`` more, the queen ``caged`` on that day, or both; and the shares of hives over the
    line with it in year ``one`` and ``later``."""

    product: str | None
    one: float
    later: float
    caged: int | None = None
    released: int | None = None

    @property
    def bad(self) -> float:
        """Both shares together."""
        return round(self.one + self.later, 3)


@dataclass(frozen=True, slots=True)
class Missing:
    """Why no courses are enough. ``helps``: what would do most, the best first; none where nothing makes it better.

    ``rounds`` of the base that nothing on the list serves.
    """

    helps: tuple[Help, ...]
    rounds: tuple[str, ...]


def missing(plan: YearPlan) -> Missing:
    """What a plan that is not enough lacks: the likeliest few are tried in full; two at once where none is enough."""
    most = most_over(plan.known)
    rest = _a_break(plan)
    found = [one for one in _products(plan) if _spares(plan, one)]
    caged = [] if rest is None else [one for one in _caged(plan, rest) if _spares(plan, one)]
    if rest is not None and found and caged and min(one.later for one in (*found, *caged)) > most:
        best = min(found, key=lambda one: one.bad)
        assert best.product is not None
        with_it = year_plan(_with(plan, best.product))
        both = [replace(one, product=best.product) for one in _caged(with_it, rest) if _spares(plan, one)]
        return Missing(tuple(_named(plan, [*both, *found, *caged])), rounds_left(plan))
    return Missing(tuple(_named(plan, [*found, *caged])), rounds_left(plan))


def _spares(plan: YearPlan, one: Help) -> bool:
    """Whether it brings more than draws can't tell from nothing."""
    worth = plan.known.asked.book.planning.year_plans.led.worth.value.middle / 100.0
    later = plan.over > most_over(plan.known) and one.later <= plan.over - 2 * worth
    return later or one.bad <= first_over(plan) + plan.over - worth


def _named(plan: YearPlan, found: Sequence[Help]) -> Iterator[Help]:
    """What does most, what does about as much, and what is enough in later years where these are not."""
    worth = plan.known.asked.book.planning.year_plans.led.worth.value.middle / 100.0
    order = sorted(found, key=lambda one: (one.bad, one.product or ""))
    near = [one for one in order if one.bad <= order[0].bad + 2 * worth][:NAMED]
    yield from near
    most = most_over(plan.known)
    later = min(order, key=lambda one: one.later, default=None)
    if later is not None and later.later <= most < min(one.later for one in near):
        yield later


def _products(plan: YearPlan) -> Iterator[Help]:
    """A product more."""
    with_it = {name: year_known(_with(plan, name)) for name in _others(plan)}
    for name in sorted(with_it, key=lambda n: (not is_likely(with_it[n]), best_without(with_it[n]).over, n))[:TRIED]:
        made = year_plan(with_it[name].asked)
        if any(one.course.answer.product == name for one in made.courses):
            yield Help(name, first_over(made), made.over)


def _a_break(plan: YearPlan) -> CagedBreak | None:
    """A caging that the plan has not, in time for late summer."""
    asked = plan.known.asked
    slot = next((one.slot for one in plan.known.rounds if one.slot.name == "late_summer"), None)
    if slot is None or any(one.rests for one in plan.courses):
        return None
    return break_by(asked.book, asked.season, asked.region, asked.days, slot.by or slot.last)


def _caged(plan: YearPlan, rest: CagedBreak) -> Iterator[Help]:
    """The plan with a caging: chosen anew, and else with a dose of acid in late summer's place."""
    asked = plan.known.asked
    one = year_known(with_cagings(asked, (rest,)))
    keys = {(c.course.answer.product, c.course.day) for c in plan.courses if c.round != "late_summer"}
    kept = [i for i, c in enumerate(one.candidates) if (c.answer.product, c.day) in keys]
    doses = [i for i, c in enumerate(one.candidates) if c.quick and c.day == rest.released]
    tried = []
    for dose in doses:
        base = (*kept, dose)
        for more in ((), _one_more(one, base)):
            places = sorted((*base, *more), key=lambda i: one.candidates[i].day)
            made, begins = one.under(places), one.begins(places)
            tried.append((over_first(made, one.judging, begins), over_settled(made, one.judging, begins)))
    doses_first = sorted(asked.products, key=lambda name: name not in {one.candidates[i].answer.product for i in doses})
    anew = year_plan(replace(one.asked, products=tuple(doses_first)))
    if any(planned.rests for planned in anew.courses):
        tried.append((first_over(anew), anew.over))
    if tried:
        first, later = min(tried, key=lambda shares: round(sum(shares), 3))
        yield Help(None, first, later, rest.caged, rest.released)


def _one_more(one: YearKnown, base: Sequence[int]) -> tuple[int, ...]:
    """The course beside a caged plan that would spare most hives; none where none fits."""
    fit = [i for i in free(one.field) if i not in base and fits(one.field, i, base)]
    if not fit:
        return ()
    rows = [row_of(one.field, (*base, i))[0] for i in fit]
    shares = over_line(one.field, rows) + over_line_first(one.field, rows)
    return (min(zip(fit, shares, strict=True), key=lambda pair: (round(float(pair[1]), 2), pair[0]))[0],)


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
    """Rounds of the base that no course of the plan serves; a further one before the flow does spring's work."""
    served = {one.round for one in plan.courses}
    served |= {OWN_BREAK for one in plan.courses if one.rests}
    further = [one.course.day for one in plan.courses if not one.round and not one.course.quick]
    served |= {"spring" for day in further if day <= plan.known.setting.mark("flow_main")}
    near = whole_days(plan.known.setting.walls.between)
    slots = [one.slot for one in plan.known.rounds]
    served |= {slot.name for slot in slots if any(slot.first - near <= day <= slot.last for day in further)}
    either = {one.slot.name for one in plan.known.rounds if one.slot.either}
    served |= {"winter" for one in plan.courses if one.round in either and one.course.quick}
    return tuple(one.slot.name for one in plan.known.rounds if one.slot.name not in served)
