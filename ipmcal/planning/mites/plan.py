"""Plan: the choice of a year's courses: the base by itself, then the fewest further ones that are enough.

In: a ``YearQuestion``. Out: a ``YearPlan``, enough or not, judged by draws that did not choose. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.mites.accept import JudgedYear, Outlook, outlook, over_settled
from ipmcal.planning.mites.question import YearKnown, YearQuestion, year_known
from ipmcal.planning.mites.search import Set, bases, beside
from ipmcal.planning.mites.walls import Candidate

Memory = dict[tuple[object, ...], "YearPlan"]
"""Plans by all that they depend on: days and answers, not places, so that neighbours share them."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A course of the plan, and the round of the base that it serves ("": it stands beside the base)."""

    place: int
    course: Candidate
    round: str


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
    made: tuple[JudgedYear, ...] = field(repr=False, compare=False)

    def outlook(self) -> Outlook:
        """What the courses come to, by draws that did not choose."""
        begins = self.known.begins(self.chosen.courses)
        return outlook(self.made, self.known.judging, begins, until(self.known.asked))

    def untreated(self) -> Outlook:
        """What the year comes to without them."""
        return judged(self.known, ())


def judged(one: YearKnown, courses: Sequence[int]) -> Outlook:
    """What courses come to, by draws that did not choose."""
    return outlook(one.under(courses), one.judging, one.begins(courses), until(one.asked))


def until(asked: YearQuestion) -> int:
    """The last day of the season's rearing of winter bees, in the year from its first day on."""
    least = asked.season.marks["brood_minimum"].begins.usual
    return asked.season.first + (least - 1 - asked.season.first) % YEAR_DAYS


def year_plan(asked: YearQuestion, memory: Memory | None = None) -> YearPlan:
    """The courses of a year. ``memory`` holds what was answered before; equal questions are answered once."""
    key = _key(asked)
    if memory is not None and key in memory:
        return memory[key]
    one = year_known(asked)
    made = _chosen(one)
    if memory is not None:
        memory[key] = made
    return made


def _key(asked: YearQuestion) -> tuple[object, ...]:
    """All that a plan depends on, the place left out: marks by their usual days."""
    marks = tuple(
        (name, mark.begins.usual, None if mark.ends is None else mark.ends.usual)
        for name, mark in asked.season.marks.items()
    )
    flows = tuple(sorted(asked.standing.flows.items()))
    rest = (asked.days, asked.products, asked.jurisdiction, asked.named, asked.counting, asked.over, asked.package)
    standing = tuple(
        getattr(asked.standing, name)
        for name in asked.standing.__dataclass_fields__
        if name not in ("flows", "in_hand")
    )
    stock = asked.stock
    colony = (stock.start, stock.history, stock.young, stock.traps, stock.neighbours)
    in_hand = tuple(sorted(asked.standing.in_hand.items()))
    return (id(asked.book), asked.region.title, marks, flows, rest, standing, colony, in_hand)


def _chosen(one: YearKnown) -> YearPlan:
    """The first set, in the order of taking, that the other draws accept; the best where none is."""
    nearest: tuple[float, Set, tuple[JudgedYear, ...]] | None = None
    for chosen in _in_order(one):
        made = one.under(chosen.courses)
        over = over_settled(made, one.judging, one.begins(chosen.courses))
        if over <= most_over(one):
            return _plan(one, chosen, made, over, enough=True)
        if nearest is None or over < nearest[0]:
            nearest = over, chosen, made
    best = best_without(one)
    made = one.under(best.courses)
    over = over_settled(made, one.judging, one.begins(best.courses))
    if nearest is not None and nearest[0] < over:
        over, best, made = nearest
    return _plan(one, best, made, over, enough=False)


def _in_order(one: YearKnown) -> Iterator[Set]:
    """Sets that the draws of choosing find enough: a base, with ever more beside it; another base where none does.

    What comes before the counts that decide is planned only where nothing else is enough.
    """
    figures = one.asked.book.planning.year_plans.enough
    tries = round(figures.tries.value.middle)
    there = bases(one.field)
    for blind in (False, True):
        for base in there:
            for many in range(most_further(one) + 1):
                found = beside(one.field, base, many, blind=blind)
                yield from found[:tries]
                yield from sorted(found[tries:], key=lambda s: (s.over, s.harm))[:1]


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
    found = beside(one.field, base, many, enough_only=False, blind=True)
    return min(found, key=lambda s: (s.over, s.harm), default=None)


def _plan(one: YearKnown, chosen: Set, made: tuple[JudgedYear, ...], over: float, *, enough: bool) -> YearPlan:
    names: dict[int, str] = {}
    for served in one.rounds:
        mine = [i for i in (*served.candidates, *served.wide) if i in chosen.base and i not in names]
        names.update((i, served.slot.name) for i in mine[:1])
    planned = tuple(Planned(i, one.candidates[i], names.get(i, "")) for i in chosen.courses)
    return YearPlan(one, chosen, planned, enough, over, made)
