"""Second: another product in each course's place, the last day that is still enough; a further round, where a count is
over the line; and what is missing where nothing is enough.

In: a ``YearPlan``. Out: ``Second`` values, ``Further``, ``Missing``. Pure. Places are judged by the draws that
choose, all at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ipmcal.model.rules.labels import label_for
from ipmcal.planning.decide.rhythm import CountedCourse, CountSetting, count_days
from ipmcal.planning.mites.accept import over_first, over_settled, years
from ipmcal.planning.mites.base import OWN_BREAK
from ipmcal.planning.mites.plan import Planned, YearPlan, best_without, is_likely, year_plan
from ipmcal.planning.mites.question import YearKnown, year_known
from ipmcal.planning.mites.search import harms_of, over_line, over_line_first, row_of
from ipmcal.planning.mites.walls import Candidate, whole_days


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
            places = tuple(dict.fromkeys((*served.candidates, *more)))
            day = {i: plan.known.candidates[i].day for i in places}
            inside = [i for i in places if served.slot.first <= day[i] <= served.slot.last]
            return inside if planned.place in inside else places
    return [i for i in _free(plan.known) if _between(plan, planned, plan.known.candidates[i].day)]


def _free(one: YearKnown) -> list[int]:
    """Candidates that may stand beside the base."""
    return [int(i) for i in (*one.field.further, *one.field.blind)]


def _between(plan: YearPlan, planned: Planned, day: int) -> bool:
    """Whether a day lies between the courses before and after: a spring round has no second choice in autumn."""
    others = [one.course.day for one in plan.courses if one is not planned]
    before = [other for other in others if other < planned.course.day]
    after = [other for other in others if other > planned.course.day]
    inside = max(before, default=day - 1) < day < min(after, default=day + 1)
    return inside and abs(day - planned.course.day) <= _apart(plan.known)


def _apart(one: YearKnown) -> int:
    """Days between two counts: a course moved by more than that would answer another one."""
    return whole_days(one.asked.book.planning.year_plans.counts.apart)


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


# A further round ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Further:
    """A round more, where a count by then is over the line, which opens the flow to what may lie under supers.

    ``share``: of hives over the line with it, by the draws that did not choose.
    """

    course: Candidate
    share: float


def opened(plan: YearPlan) -> YearKnown:
    """What may be done where a count is over the line: it opens the main flow to what may lie under supers."""
    return year_known(replace(plan.known.asked, over=True))


def further_rounds(plan: YearPlan, one: YearKnown, *, settled: bool) -> tuple[Further, ...]:
    """The one round, or two, that bring most in this year or in the ``settled`` one; none where none brings anything.

    ``one`` is what ``opened`` says.
    """
    places = {(c.answer.product, c.day): i for i, c in enumerate(one.candidates)}
    mine = [places[key] for c in plan.courses if (key := (c.course.answer.product, c.course.day)) in places]
    if len(mine) < len(plan.courses):
        return ()
    found: list[Further] = []
    share = plan.over if settled else over_first(plan.made, plan.known.judging, plan.known.begins(plan.chosen.courses))
    most = one.field.measures.over
    while len(found) < MOST_FURTHER and share > most:
        better = _bettered(plan, one, mine, settled=settled)
        if better is None or better[1] > share - most / 4.0:
            break
        mine, share = [*mine, better[0]], better[1]
        found.append(Further(one.candidates[better[0]], share))
    return tuple(found)


def earlier(plan: YearPlan, one: YearKnown) -> Further | None:
    """Late summer's course begun sooner in this year, flow or not, supers off for it; None where that brings nothing.

    ``one`` is what ``opened`` says.
    """
    main = next((c for c in plan.courses if c.round == "late_summer" and c.rests is None), None)
    if main is None:
        return None
    places = {(c.answer.product, c.day): i for i, c in enumerate(one.candidates)}
    others = [(c.course.answer.product, c.course.day) for c in plan.courses if c is not main]
    mine = [places[key] for key in others if key in places]
    sooner = [i for i, c in enumerate(one.candidates) if c.answer.product == main.course.answer.product]
    sooner = [i for i in sooner if _told(plan, one.candidates[i].day) and one.candidates[i].day < main.course.day]
    fits = [i for i in sooner if len(mine) == len(others) and _fits(one, i, mine)]
    if not fits:
        return None
    rows = [row_of(one.field, (*mine, i))[0] for i in fits]
    shares = over_line_first(one.field, rows)
    best = min(range(len(fits)), key=lambda n: (round(float(shares[n]), 2), -one.candidates[fits[n]].day))
    chosen = sorted((*mine, fits[best]), key=lambda i: one.candidates[i].day)
    made = years(plan.known.accept[:TOLD_BY], one.givens(chosen), plan.known.hazards)
    return Further(one.candidates[fits[best]], over_first(made, one.judging, one.begins(chosen)))


def _told(plan: YearPlan, day: int) -> bool:
    """Whether a count shortly before a day tells that a course is needed then."""
    reach = whole_days(plan.known.asked.book.planning.year_plans.counts.after)
    return any(0 <= day - count <= reach for count in plan_counts(plan))


TOLD_BY = 60
"""Draws by which a further round is told of: a matter of speed; the standard error of one in five is 5 in 100."""
MOST_FURTHER = 2
"""Rounds more that are told of: who needs a third has to count again first."""


def _bettered(plan: YearPlan, one: YearKnown, mine: Sequence[int], *, settled: bool) -> tuple[int, float] | None:
    """The candidate beside a set that leaves the fewest hives over the line, and how many it leaves."""
    free = (i for i in _free(one) if i not in mine and _told(plan, one.candidates[i].day))
    fits = [i for i in free if not one.candidates[i].answer.lost and _fits(one, i, mine)]
    if not fits:
        return None
    rows = [row_of(one.field, (*mine, i))[0] for i in fits]
    shares = (over_line if settled else over_line_first)(one.field, rows)
    harms = harms_of(one.field, rows)
    best = min(range(len(fits)), key=lambda n: (round(float(shares[n]), 2), float(harms[n])))
    chosen = sorted((*mine, fits[best]), key=lambda i: one.candidates[i].day)
    made = years(plan.known.accept[:TOLD_BY], one.givens(chosen), plan.known.hazards)
    share = over_settled if settled else over_first
    return fits[best], share(made, one.judging, one.begins(chosen))


# Counts ---------------------------------------------------------------------------------------------------------------


def plan_counts(plan: YearPlan) -> tuple[int, ...]:
    """The keeper's days (ordinals) on which mites are counted, where these courses are given."""
    return count_days(count_setting(plan), [_counted(planned) for planned in plan.courses])


def count_setting(plan: YearPlan) -> CountSetting:
    """Where and how often mites are counted in the hives of a plan."""
    one, asked = plan.known, plan.known.asked
    young = asked.stock.young
    began = None if young is None or young.began is None else young.began.day
    first = asked.season.first if began is None else began + whole_days(asked.book.planning.year_plans.counts.young)
    days = [day for day in asked.days if day >= first]
    rhythm, region = asked.book.planning.year_plans.counts, asked.region.base.counts
    return CountSetting(asked.season, days, one.setting.high, rhythm, region)


def _counted(planned: Planned) -> CountedCourse:
    course = planned.course
    winter = course.quick and planned.rests is None and planned.round != "package"
    return CountedCourse(course.day, course.answer.use.last, course.quick, winter)


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
