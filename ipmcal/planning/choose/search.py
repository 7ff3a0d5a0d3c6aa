"""Choose: the best set of courses for a yard over a year, exactly, in the keeper's total order of preference.

In: the needs for a treatment, the hives with their standing, the days on which a course may begin, limits as
``labels.verdict.verdict``. Out: the winner, the runner-up, what excluded the rest, what could give way. Pure.

The yard is the unit: a need is served on one day in all of its hives. The product may differ by hive, at a price.
The second choice gives something to every hive that the winner gives something, with another main product somewhere.
How it searches: every (day, main product) of a need has a static cost, which the limits between courses can only raise.
Costs are vectors compared from the left (an ordered group), so the sum of the least costs of the needs still open is a
lower bound: depth first, cheapest first, cut where the bound is not below the best. Courses are weighed together, hive
by hive, at the leaves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.verdict import Limited, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import limits_of
from ipmcal.planning.choose.cost import worth
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Offers, Question, offers
from ipmcal.planning.choose.order import Cost, added, nothing, unserved
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.labels.verdict import LIMIT_CHECKS

BETWEEN = ("rest", "course", "winter", "class", "together")
"""The limits that look at other courses."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A course of the yard: the need, the day on which it begins, the main product, and each hive's own."""

    need: Want
    day: int
    main: str
    doses: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class CourseSet:
    """A set of courses, one a need that is served, in the order of the needs."""

    courses: tuple[Chosen, ...]
    cost: Cost

    @property
    def signature(self) -> tuple[tuple[str, str], ...]:
        """Which main product serves which need: what makes one choice another."""
        return tuple((c.need.name, c.main) for c in self.courses)


@dataclass(frozen=True, slots=True)
class HiveClass:
    """Hives of equal standing: what is worked out for one holds for all."""

    hives: tuple[Hive, ...]
    offers: tuple[Offers, ...]


def choose(ask: Question) -> CourseSet:
    """The best choice; it may serve nothing at all."""
    found = _Search(ask, kinds_of(ask), None).found()
    assert found is not None
    return found


def second(ask: Question, winner: CourseSet) -> CourseSet | None:
    """The best choice that gives something to every hive that the winner gives something, need by need, and that has
    another main product for some need; None where there is none.
    """
    return _Search(ask, kinds_of(ask), winner).found() if winner.courses else None


def kinds_of(ask: Question) -> list[HiveClass]:
    """Hives grouped by what may be given to them, need by need."""
    groups: list[list[Hive]] = []
    for hive in ask.hives:
        same = (g for g in groups if _alike(ask, g[0], hive))
        group = next(same, None)
        if group is None:
            groups.append([hive])
        else:
            group.append(hive)
    return [HiveClass(tuple(g), tuple(offers(ask, g[0], need) for need in ask.needs)) for g in groups]


def _alike(ask: Question, one: Hive, other: Hive) -> bool:
    same = one.standing == other.standing and one.since == other.since
    return same and _wanted(ask, one) == _wanted(ask, other)


def _wanted(ask: Question, hive: Hive) -> list[bool]:
    return [need.wants(hive.key) for need in ask.needs]


# The search -----------------------------------------------------------------------------------------------------------

DayProduct = tuple[int, str] | None
"""The day and main product of a need; None: it is not served."""


def given(kind: HiveClass, i: int, plan: DayProduct) -> list[Offer | None]:
    """What a hive may get on the day of a plan; None: nothing."""
    if plan is None or not kind.offers[i]:
        return [None]
    return [*(dose for (day, _), dose in sorted(kind.offers[i].items()) if day == plan[0]), None]


def static(ask: Question, kind: HiveClass, i: int, plan: DayProduct, dose: Offer | None) -> Cost:
    """The cost of a dose, other planned courses apart."""
    need = ask.needs[i]
    if dose is None:
        wanted = need.wants(kind.hives[0].key)
        return unserved(ask.order, len(ask.needs), i) if wanted else nothing(ask.order, len(ask.needs))
    other = plan is not None and dose.treatment != plan[1]
    return worth(ask, kind.hives[0].standing, need, dose, other)


class _Search:
    """Depth first over the needs; the best choice so far. ``winner``: the choice to be second to, if there is one."""

    def __init__(self, ask: Question, kinds: Sequence[HiveClass], winner: CourseSet | None) -> None:
        self.ask, self.kinds, self.winner = ask, kinds, winner
        self.best: CourseSet | None = None
        self.rows: GivenRows = {}
        self.zero = nothing(ask.order, len(ask.needs))
        self.mains = [_main(winner, need) for need in ask.needs]
        self.plans = [self._candidates(i) for i in range(len(ask.needs))]
        self.free: list[Cost | None] = [self.zero]
        """The least that the needs from each on cost."""
        self.unlike: list[Cost | None] = [None]
        """The same, where one of them has another main product than the winner's."""
        for found, main in zip(reversed(self.plans), reversed(self.mains), strict=True):
            other = [item for item in found if _product(item[1]) != main]
            least = _least((_sum(_cheapest(other), self.free[-1]), _sum(_cheapest(found), self.unlike[-1])))
            self.unlike.append(least)
            self.free.append(_sum(_cheapest(found), self.free[-1]))
        self.free.reverse()
        self.unlike.reverse()

    def found(self) -> CourseSet | None:
        """The best choice of all; None where none is left."""
        self.go(0, (), self.zero, like=self.winner is not None)
        return self.best

    def go(self, i: int, plans: tuple[DayProduct, ...], cost: Cost, *, like: bool) -> None:
        """Serve the needs from the ``i``-th on. ``like``: those before it have the winner's main products."""
        if i == len(self.plans):
            self._leaf(plans)
            return
        for least, plan in self.plans[i]:
            still = like and _product(plan) == self.mains[i]
            rest = (self.unlike if still else self.free)[i + 1]
            if rest is None:
                continue
            partial = added(cost, least)
            if self.best is not None and added(partial, rest) > self.best.cost:
                if still:
                    continue  # what is unlike the winner may cost less from here on
                return
            self.go(i + 1, (*plans, plan), partial, like=still)

    def _leaf(self, plans: tuple[DayProduct, ...]) -> None:
        leaf = Leaf(self.ask, self.kinds, plans, self._row)
        made = weighed(leaf, None if self.best is None else self.best.cost)
        if made is None:
            return
        if self.best is None or (made.cost, rank(made)) < (self.best.cost, rank(self.best)):
            self.best = made

    def _candidates(self, i: int) -> list[tuple[Cost, DayProduct]]:
        """Every way to serve a need, or not to, cheapest first, each with a cost that it has at the least.

        A main product is what some hive gets: where each would rather have another dose of that day, the one that gives
        the least up for it has to.
        """
        found: list[tuple[Cost, DayProduct]] = []
        for plan in (None, *sorted({key for kind in self.kinds for key in kind.offers[i]})):
            total, forced = self.zero, []
            rows = [self._row(k, i, plan) for k in range(len(self.kinds))]
            if not all(rows):
                continue  # a hive that the winner serves would get nothing
            for kind, row in zip(self.kinds, rows, strict=True):
                total = added(total, row[0][0], len(kind.hives))
                main = next((cost for cost, name, _ in row if plan is not None and name == plan[1]), None)
                if main is not None:
                    forced.append(added(self.zero, added(main, row[0][0], -1), len(kind.hives)))
            found.append((added(total, min(forced, default=self.zero)), plan))
        return sorted(found, key=lambda item: (item[0], item[1] is None, item[1] or (0, "")))

    def _row(self, k: int, i: int, plan: DayProduct) -> GivenRow:
        """What the ``k``-th kind of hive may get for the ``i``-th need on the day of a plan, cheapest first."""
        if (k, i, plan) not in self.rows:
            kind = self.kinds[k]
            row = [(static(self.ask, kind, i, plan, d), _name(d), d) for d in given(kind, i, plan)]
            served = self.winner is not None and _served(self.winner, self.ask.needs[i], kind.hives[0].key)
            self.rows[k, i, plan] = sorted([one for one in row if one[2] or not served], key=lambda item: item[:2])
        return self.rows[k, i, plan]


def _main(winner: CourseSet | None, need: Want) -> str:
    """The main product of a need in a choice; "" where it is not served."""
    return next((c.main for c in winner.courses if c.need.name == need.name), "") if winner is not None else ""


def _served(choice: CourseSet, need: Want, key: str) -> bool:
    """True where a choice gives a hive something for a need."""
    mine = (c for c in choice.courses if c.need.name == need.name)
    return any(d.key == key and d.treatment is not None for c in mine for d in c.doses)


def _product(plan: DayProduct) -> str:
    return plan[1] if plan is not None else ""


def _cheapest(found: Sequence[tuple[Cost, DayProduct]]) -> Cost | None:
    return found[0][0] if found else None


def _sum(one: Cost | None, other: Cost | None) -> Cost | None:
    return None if one is None or other is None else added(one, other)


def _least(costs: Sequence[Cost | None]) -> Cost | None:
    return min((cost for cost in costs if cost is not None), default=None)


def rank(choice: CourseSet) -> tuple[tuple[str, int, str], ...]:
    """What decides between choices of equal cost: the days, then the names, need by need."""
    return tuple((c.need.name, c.day, c.main) for c in choice.courses)


GivenRow = list[tuple[Cost, str, Offer | None]]
"""Doses with their costs and names, cheapest first."""
GivenRows = dict[tuple[int, int, DayProduct], GivenRow]
"""What a kind of hive (by number) may get for a need (by number) on the day of a plan, cheapest first."""


@dataclass(frozen=True)
class Leaf:
    """What is weighed: the question, its kinds of hives, the plan of each need, and what each kind may get for it."""

    ask: Question
    kinds: Sequence[HiveClass]
    plans: Sequence[DayProduct]
    row: Callable[[int, int, DayProduct], GivenRow]


def weighed(
    leaf: Leaf, at_most: Cost | None = None, forced: frozenset[tuple[int, int]] = frozenset()
) -> CourseSet | None:
    """A choice with the limits between courses, each kind of hive at its best; None where nothing fits.

    None too where it costs more than ``at_most``: nobody wants it then. Some hive gets the main product of each need:
    where each would rather have another dose, every kind in turn is made to. ``forced``: kinds (by number) that get the
    main product of a need (by number).
    """
    total = nothing(leaf.ask.order, len(leaf.ask.needs))
    found: list[tuple[HiveClass, tuple[Offer | None, ...]]] = []
    for k, kind in enumerate(leaf.kinds):
        made = _at_best(leaf.ask, kind, [_row(leaf, k, i, forced) for i in range(len(leaf.plans))])
        if made is None:
            return None
        cost, best = made
        total = added(total, cost, len(kind.hives))
        if at_most is not None and total > at_most:
            return None
        found.append((kind, best))
    for i, plan in enumerate(leaf.plans):
        if plan is not None and not any(_name(best[i]) == plan[1] for _, best in found):
            return _with_main(leaf, i, at_most, forced)
    return _built(leaf.ask, leaf.plans, found, total)


def _with_main(leaf: Leaf, i: int, at_most: Cost | None, forced: frozenset[tuple[int, int]]) -> CourseSet | None:
    """The best of the choices in which one kind of hive or another takes the main product of the ``i``-th need."""
    best: CourseSet | None = None
    for k in range(len(leaf.kinds)):
        if not _row(leaf, k, i, frozenset({(k, i)})):
            continue
        made = weighed(leaf, at_most if best is None else best.cost, forced | {(k, i)})
        if made is not None and (best is None or made.cost < best.cost):
            best = made
    return best


def _row(leaf: Leaf, k: int, i: int, forced: frozenset[tuple[int, int]]) -> GivenRow:
    """What a kind of hive may get for a need, cheapest first; the main product alone where it is forced to."""
    plan = leaf.plans[i]
    row = leaf.row(k, i, plan)
    return row if (k, i) not in forced else [one for one in row if one[1] == _product(plan)]


def _built(
    ask: Question, plans: Sequence[DayProduct], found: Sequence[tuple[HiveClass, tuple[Offer | None, ...]]], total: Cost
) -> CourseSet:
    """A choice with its doses, hive by hive."""
    doses: list[list[Offer]] = [[] for _ in plans]
    for kind, best in found:
        for i, dose in enumerate(best):
            if ask.needs[i].wants(kind.hives[0].key):
                doses[i].extend(replace(dose, key=h.key) if dose else Offer(h.key, None) for h in kind.hives)
    courses: list[Chosen] = []
    place = {hive.key: n for n, hive in enumerate(ask.hives)}
    for i, plan in enumerate(plans):
        if plan is not None:
            mine = tuple(sorted(doses[i], key=lambda d: place[d.key]))
            courses.append(Chosen(ask.needs[i], plan[0], plan[1], mine))
    return CourseSet(tuple(courses), total)


def _at_best(ask: Question, kind: HiveClass, rows: Sequence[GivenRow]) -> tuple[Cost, tuple[Offer | None, ...]] | None:
    """What a hive of a kind gets of each row, at its best, with its whole cost: depth first, cut early.

    None where the limits between courses leave nothing.
    """
    zero = nothing(ask.order, len(ask.needs))
    rest = [zero]
    for row in reversed(rows):
        rest.append(added(rest[-1], row[0][0]))
    rest.reverse()
    best: list[tuple[Cost, tuple[str, ...], tuple[Offer | None, ...]]] = []

    def go(i: int, cost: Cost, doses: tuple[Offer | None, ...]) -> None:
        if i == len(rows):
            between = _between(ask, kind.hives[0].standing, doses)
            if between is not None:
                found = (added(cost, between), tuple(map(_name, doses)), doses)
                if not best or found[:2] < best[0][:2]:
                    best[:] = [found]
            return
        for least, _, dose in rows[i]:
            partial = added(cost, least)
            if best and added(partial, rest[i + 1]) > best[0][0]:
                return
            go(i + 1, partial, (*doses, dose))

    go(0, zero, ())
    return (best[0][0], best[0][2]) if best else None


def _name(dose: Offer | None) -> str:
    """What decides between doses of equal cost; nothing comes last."""
    return "~" if dose is None or dose.treatment is None else dose.treatment


def _between(ask: Question, standing: Standing, doses: Sequence[Offer | None]) -> Cost | None:
    """What courses of one hive cost each other: advice; None where one forbids another."""
    total = nothing(ask.order, len(ask.needs))
    some = [dose for dose in doses if dose is not None and dose.use is not None and dose.treatment is not None]
    pasts = [_past(ask.book, dose) for dose in some]
    for i, dose in enumerate(some):
        at = standing.with_course(*(p for j, p in enumerate(pasts) if j != i))
        for reason in between_reasons(ask, at, dose):
            if reason.weight is Weight.FORBIDS:
                return None
            if reason.weight is Weight.ADVISES:
                total = added(total, ask.order.advice(len(ask.needs)))
    return total


def between_reasons(ask: Question, standing: Standing, dose: Offer) -> Iterator[Limited]:
    """What the limits that look at other courses say to a dose, and the record, which has to tell them apart."""
    assert dose.treatment is not None
    assert dose.use is not None
    treatment = ask.book.treatments[dose.treatment]
    label = label_for(treatment, ask.jurisdiction, ask.book)
    assert label is not None
    yield from too_near(dose.treatment, dose.use, standing.courses, ask.book)
    case = Case(dose.treatment, treatment, label, standing, dose.use, ask.weather, ask.book)
    for word, limit in limits_of(label):
        if word in BETWEEN:
            yield from LIMIT_CHECKS[word](limit, case)


def _past(book: Rulebook, dose: Offer) -> CourseSpell:
    assert dose.treatment is not None
    assert dose.use is not None
    return CourseSpell(dose.treatment, book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)
