"""Plan: the choice of a year's courses: the base by itself, then the fewest further ones that are enough.

In: a ``YearQuestion``. Out: a ``YearPlan``, enough or not, judged by draws that did not choose. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.planning.mites.accept import JudgedYears, Outlook, odds, outlook, over_first, over_settled
from ipmcal.planning.mites.asking.caged import unbroken
from ipmcal.planning.mites.asking.known import YearKnown, year_known
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import in_good_time
from ipmcal.planning.mites.search import Set, bases, beside, needing
from ipmcal.planning.mites.walls import Candidate

Memory = dict[tuple[object, ...], "YearPlan"]
"""Plans by all that they depend on: days and answers, not places, so that neighbours share them."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A course of the plan, and the round of the base that it serves ("": it stands beside the base).

    ``rests``: the break in laying without which it would be no course.
    """

    place: int
    course: Candidate
    round: str
    rests: CagedBreak | None = None


@dataclass(frozen=True)
class YearPlan:
    """The courses of a year, and what they come to.

    ``over``: the share of draws over the line in the settled year, of those that did not choose. ``base``: the base
    that was taken; ``fewer``: the least share that one course less would come to, where one more was taken for it.
    """

    known: YearKnown
    chosen: Set
    courses: tuple[Planned, ...]
    enough: bool
    over: float
    made: JudgedYears = field(repr=False, compare=False)

    def outlook(self) -> Outlook:
        """What the courses come to, by draws that did not choose."""
        begins = self.known.begins(self.chosen.courses)
        return outlook(self.made, self.known.judging, begins)

    def untreated(self) -> Outlook:
        """What the year comes to without them."""
        return judged(self.known, ())


def judged(one: YearKnown, courses: Sequence[int]) -> Outlook:
    """What courses come to, by draws that did not choose."""
    return outlook(one.under(courses), one.judging, one.begins(courses))


def until(asked: YearQuestion) -> int:
    """The last day of the season's rearing of winter bees, in the year from its first day on."""
    least = asked.season.marks["brood_minimum"].begins.usual
    return asked.season.first + (least - 1 - asked.season.first) % YEAR_DAYS


def year_plan(asked: YearQuestion, memory: Memory | None = None) -> YearPlan:
    """The courses of a year. ``memory`` holds what was answered before; equal questions are answered once."""
    key = (id(asked.book), *question_key(asked))
    if memory is not None and key in memory:
        return memory[key]
    made = _with_breaks(asked) if asked.breaks else _chosen(year_known(asked))
    if memory is not None:
        memory[key] = made
    return made


def _with_breaks(asked: YearQuestion) -> YearPlan:
    """The year with its breaks, or without: nobody cages a queen for nothing, nor is a year called enough by a break
    without its dose."""
    known = year_known(asked) if asked.breaks_if == "always" else None
    if known is not None:
        caged = _chosen(known)
        if _rests_on(caged):
            return caged
    free = _chosen(year_known(unbroken(asked)))
    if asked.breaks_if != "better" and free.enough and not fails_at_first(free):
        return free
    caged = _chosen(_resting(known or year_known(asked)))
    if not _rests_on(caged) or free.enough > caged.enough:
        return free
    band = 1.0 + asked.book.planning.year_plans.band.value.middle / 100.0
    worth = asked.book.planning.year_plans.offered.caging.value.middle / 100.0
    spared = first_over(free) + free.over - first_over(caged) - caged.over
    less = asked.breaks_if == "better" and spared >= worth
    worse = asked.breaks_if == "better" and spared <= -worth
    kinder = caged.chosen.harm * band < free.chosen.harm and not worse
    better = less or kinder or fails_at_first(free) > fails_at_first(caged)
    return caged if better or caged.enough > free.enough else free


def _resting(one: YearKnown) -> YearKnown:
    """The same, every set with a dose that rests on the break."""
    doses = [i for i in range(len(one.candidates)) if _rests(one, i) is not None]
    return replace(one, field=needing(one.field, doses))


def _rests_on(made: YearPlan) -> bool:
    return any(planned.rests for planned in made.courses)


def first_over(made: YearPlan) -> float:
    """The share of draws over the line in this year, nobody having counted."""
    return over_first(made.made, made.known.judging, made.known.begins(made.chosen.courses))


def fails_at_first(made: YearPlan) -> bool:
    """Whether more of the hives than may be are over the line in this year."""
    return first_over(made) > made.known.asked.book.planning.year_plans.enough.first_year.value.middle / 100.0


def question_key(asked: YearQuestion) -> tuple[object, ...]:
    """All that a plan depends on beside the rules, the place left out: marks by their days."""
    marks = tuple((name, mark.begins, mark.ends) for name, mark in asked.season.marks.items())
    flows = tuple(sorted(asked.standing.flows.items()))
    how = (asked.named, asked.counting, asked.over, asked.package, asked.breaks_if, asked.few, asked.packed)
    rest = (asked.days, asked.products, asked.jurisdiction, *how)
    standing = tuple(
        getattr(asked.standing, name)
        for name in asked.standing.__dataclass_fields__
        if name not in ("flows", "in_hand")
    )
    stock = asked.stock
    colony = (stock.start, stock.history, stock.young, stock.traps, stock.neighbours)
    in_hand = tuple(sorted(asked.standing.in_hand.items()))
    done = (asked.breaks, asked.own_breaks, asked.own_doses, asked.fixed, asked.banned)
    return (asked.region.title, marks, flows, rest, standing, colony, in_hand, done)


def _chosen(one: YearKnown) -> YearPlan:
    """The first set, in the order of taking, that the other draws accept; the best where none is."""
    nearest: tuple[tuple[bool, bool, float], YearPlan] | None = None
    for chosen in _in_order(one):
        plan = _plan(one, chosen)
        if plan.enough:
            return plan
        far = not in_time(one, chosen), not spares_winter_bees(one, plan.made), plan.over
        if nearest is None or far < nearest[0]:
            nearest = far, plan
    best = _plan(one, best_without(one))
    far = not in_time(one, best.chosen), not spares_winter_bees(one, best.made), best.over
    return best if nearest is None or far <= nearest[0] else nearest[1]


def _in_order(one: YearKnown) -> Iterator[Set]:
    """Sets that the draws of choosing find enough: a base, with ever more beside it; another base where none does.

    What comes before the counts that decide is planned only where nothing else is enough.
    """
    figures = one.asked.book.planning.year_plans.enough
    tries = round(figures.tries.value.middle)
    there = bases(one.field)
    for blind in (False, True) if one.asked.region.base.before_flow is None else (False,):
        for base in there:
            for many in range(max(0, least_courses(one) - len(base.courses)), most_further(one) + 1):
                found = beside(one.field, base, many, blind=blind)
                yield from found[:tries]
                yield from sorted(found[tries:], key=lambda s: (s.over, s.harm))[:1]


def spares_winter_bees(one: YearKnown, made: JudgedYears) -> bool:
    """Whether few enough of the first year's winter bees come from a cell with a mite: colonies are lost by them."""
    most = one.asked.book.planning.year_plans.enough.winter_brood.value.middle / 100.0
    return odds(made.winter_brood).median <= most


def least_courses(one: YearKnown) -> int:
    """So many courses at least as months with brood ask for, or the region's advisers."""
    base = one.asked.region.base
    months = base.brood_months.value.middle
    rows = (row.rounds.value.middle for row in one.asked.book.planning.rounds if months >= row.months.value.middle)
    asked = 0.0 if base.a_year is None else base.a_year.value.middle
    return round(max([asked, *rows]))


def in_time(one: YearKnown, chosen: Set) -> bool:
    """Whether late summer's course is in good time; where nothing is published, always."""
    slot = next((served.slot for served in one.rounds if served.slot.name == "late_summer"), None)
    if slot is None or slot.by is None:
        return True
    courses = [one.candidates[i] for i in chosen.courses]
    return any(slot.first <= course.day and in_good_time(one.setting, slot, course) for course in courses)


def short_of(plan: YearPlan) -> Iterator[Because]:
    """What a year is short of beside its odds: late summer's course in good time, winter bees, so many courses."""
    one = plan.known
    slot = next((served.slot for served in one.rounds if served.slot.name == "late_summer"), None)
    if not in_time(one, plan.chosen) and slot is not None and slot.by is not None:
        late = Because(Code.SHORT_BY, (slot.by,))
        yield late if slot.acted is None else Because(Code.SHORT_WORKED, (slot.acted,))
    if not spares_winter_bees(one, plan.made):
        most = one.asked.book.planning.year_plans.enough.winter_brood.value
        yield Because(Code.SHORT_WINTER_BEES, (str(most),))
    if len(plan.courses) < least_courses(one):
        yield Because(Code.SHORT_COURSES, (len(plan.courses), least_courses(one)))


def most_over(one: YearKnown) -> float:
    """The share of hives over the line up to which the draws that accept let courses pass."""
    figures = one.asked.book.planning.year_plans.enough
    return (figures.over.value.middle + figures.error.value.middle) / 100.0 + 1e-12


def most_further(one: YearKnown) -> int:
    """So many courses at most beside the base."""
    figures = one.asked.book.planning.year_plans.enough
    little_pause = one.asked.region.rarely_broodless
    return round((figures.further_little_pause if little_pause else figures.further).value.middle)


def is_likely(one: YearKnown) -> bool:
    """Whether the draws that choose find any set enough."""
    return next(_in_order(one), None) is not None


def best_without(one: YearKnown) -> Set:
    """The best of all sets where none is enough: the fewest hives over the line, then the least harm."""
    best = Set((), frozenset(), 0.0, 1.0)
    for base in bases(one.field):
        for many in range(most_further(one) + 1):
            found = least_over(one, base, many)
            if found is not None and (not best.courses or (found.over, found.harm) < (best.over, best.harm)):
                best = found
    return best


def least_over(one: YearKnown, base: Set, many: int) -> Set | None:
    """The set with the fewest hives over the line."""
    found = beside(one.field, base, many, enough_only=False, blind=one.asked.region.base.before_flow is None)
    return min(found, key=lambda s: (s.over, s.harm), default=None)


def _plan(one: YearKnown, chosen: Set) -> YearPlan:
    """The set judged by draws that did not choose: enough where its odds, winter bees, day and number are."""
    made = one.under(chosen.courses)
    over = over_settled(made, one.judging, one.begins(chosen.courses))
    holds = over <= most_over(one) and in_time(one, chosen) and len(chosen.courses) >= least_courses(one)
    enough = holds and spares_winter_bees(one, made)
    names: dict[int, str] = {}
    for served in one.rounds:
        mine = [i for i in (*served.candidates, *served.wide) if i in chosen.base and i not in names]
        names.update((i, served.slot.name) for i in mine[:1])
    new = [i for i in chosen.courses if i not in one.fixed]
    planned = tuple(Planned(i, one.candidates[i], names.get(i, ""), _rests(one, i)) for i in new)
    return YearPlan(one, chosen, planned, enough, over, made)


def _rests(one: YearKnown, place: int) -> CagedBreak | None:
    """The break of the year's work that a quick course rests on."""
    course = one.candidates[place]
    return next((b for b in one.asked.breaks if course.quick and b.holds(course.day)), None)
