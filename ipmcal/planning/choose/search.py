"""Choose: the best set of courses for a yard over a year, exactly, in the keeper's total order of preference.

In: the needs for a treatment, the hives with their standing, the days on which a course may begin, limits as
``labels.verdict.verdict``. Out: the winner, the runner-up, what excluded the rest, what could give way. Pure.

The yard is the unit: a need is served on one day in all of its hives. The product may differ by hive, at a price.
How it searches: every (day, main product) of a need has a static cost, which the limits between courses can only raise.
Costs are vectors compared from the left (an ordered group), so the sum of the least costs of the needs still open is a
lower bound: depth first, cheapest first, cut where the bound is not below the best. Courses are weighed together, hive
by hive, at the leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.verdict import Limited, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import limits_of
from ipmcal.planning.choose.cost import Cost, added, nothing, unserved, worth
from ipmcal.planning.choose.doses import Dose
from ipmcal.planning.choose.offer import Ask, Hive, Options, options
from ipmcal.planning.choose.wants import Need
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.standing import Past, Standing
from ipmcal.planning.labels.verdict import CHECKS

BETWEEN = ("rest", "course", "class", "together")
"""The limits that look at other courses."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A course of the yard: the need, the day on which it begins, the main product, and each hive's own."""

    need: Need
    day: int
    main: str
    doses: tuple[Dose, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """A set of courses, one a need that is served, in the order of the needs."""

    courses: tuple[Chosen, ...]
    cost: Cost

    @property
    def signature(self) -> tuple[tuple[str, str], ...]:
        """Which main product serves which need: what makes one choice another."""
        return tuple((c.need.name, c.main) for c in self.courses)


@dataclass(frozen=True, slots=True)
class Kind:
    """Hives of equal standing: what is worked out for one holds for all."""

    hives: tuple[Hive, ...]
    options: tuple[Options, ...]


def choose(ask: Ask, without: frozenset[tuple[tuple[str, str], ...]] = frozenset()) -> Choice:
    """The best choice but for those whose signature is in ``without``; it may serve nothing at all."""
    kinds = kinds_of(ask)
    plans = [_candidates(ask, kinds, i) for i in range(len(ask.needs))]
    least = [min((cost for cost, _ in found), default=nothing(ask.order, len(ask.needs))) for found in plans]
    bounds = [nothing(ask.order, len(ask.needs))]
    for cost in reversed(least):
        bounds.append(added(bounds[-1], cost))
    search = _Search(ask, kinds, plans, bounds[::-1], without)
    search.go(0, (), nothing(ask.order, len(ask.needs)))
    assert search.best is not None
    return search.best


def kinds_of(ask: Ask) -> list[Kind]:
    """Hives grouped by what may be given to them, need by need."""
    groups: list[list[Hive]] = []
    for hive in ask.hives:
        same = (g for g in groups if g[0].standing == hive.standing and _wanted(ask, g[0]) == _wanted(ask, hive))
        group = next(same, None)
        if group is None:
            groups.append([hive])
        else:
            group.append(hive)
    return [Kind(tuple(g), tuple(options(ask, g[0], need) for need in ask.needs)) for g in groups]


def _wanted(ask: Ask, hive: Hive) -> list[bool]:
    return [need.wants(hive.key) for need in ask.needs]


# The search -----------------------------------------------------------------------------------------------------------

Plan = tuple[int, str] | None
"""The day and main product of a need; None: it is not served."""


def _candidates(ask: Ask, kinds: Sequence[Kind], i: int) -> list[tuple[Cost, Plan]]:
    """Every way to serve a need, or not to, cheapest first, each with a cost that it has at the least."""
    keys = sorted({key for kind in kinds for key in kind.options[i]})
    found: list[tuple[Cost, Plan]] = []
    for plan in (None, *keys):
        total = nothing(ask.order, len(ask.needs))
        for kind in kinds:
            costs = [static(ask, kind, i, plan, dose) for dose in given(kind, i, plan)]
            total = added(total, min(costs), len(kind.hives))
        found.append((total, plan))
    return sorted(found, key=lambda item: (item[0], item[1] is None, item[1] or (0, "")))


def given(kind: Kind, i: int, plan: Plan) -> list[Dose | None]:
    """What a hive may get on the day of a plan; None: nothing."""
    if plan is None or not kind.options[i]:
        return [None]
    return [*(dose for (day, _), dose in sorted(kind.options[i].items()) if day == plan[0]), None]


def static(ask: Ask, kind: Kind, i: int, plan: Plan, dose: Dose | None) -> Cost:
    """The cost of a dose, other planned courses apart."""
    need = ask.needs[i]
    if dose is None:
        wanted = need.wants(kind.hives[0].key)
        return unserved(ask.order, len(ask.needs), i) if wanted else nothing(ask.order, len(ask.needs))
    other = plan is not None and dose.treatment != plan[1]
    return worth(ask.order, len(ask.needs), ask.book, ask.jurisdiction, kind.hives[0].standing, need, dose, other)


class _Search:
    """Depth first over the needs; the best choice so far."""

    def __init__(
        self,
        ask: Ask,
        kinds: Sequence[Kind],
        plans: Sequence[Sequence[tuple[Cost, Plan]]],
        bounds: Sequence[Cost],
        without: frozenset[tuple[tuple[str, str], ...]],
    ) -> None:
        self.ask, self.kinds, self.plans, self.bounds, self.without = ask, kinds, plans, bounds, without
        self.best: Choice | None = None
        self.rows: Rows = {}

    def go(self, i: int, plans: tuple[Plan, ...], cost: Cost) -> None:
        """Serve the needs from the ``i``-th on."""
        if i == len(self.plans):
            self._leaf(plans)
            return
        for least, plan in self.plans[i]:
            partial = added(cost, least)
            if self.best is not None and added(partial, self.bounds[i + 1]) > self.best.cost:
                return
            self.go(i + 1, (*plans, plan), partial)

    def _leaf(self, plans: tuple[Plan, ...]) -> None:
        if tuple((n.name, p[1]) for n, p in zip(self.ask.needs, plans, strict=True) if p) in self.without:
            return
        made = weighed(self.ask, self.kinds, plans, self.rows, None if self.best is None else self.best.cost)
        if made is None:
            return
        if self.best is None or (made.cost, rank(made)) < (self.best.cost, rank(self.best)):
            self.best = made


def rank(choice: Choice) -> tuple[tuple[str, int, str], ...]:
    """What decides between choices of equal cost: the days, then the names, need by need."""
    return tuple((c.need.name, c.day, c.main) for c in choice.courses)


Row = list[tuple[Cost, str, Dose | None]]
Rows = dict[tuple[int, int, Plan], Row]
"""What a kind of hive (by number) may get for a need (by number) on the day of a plan, cheapest first."""


def weighed(
    ask: Ask, kinds: Sequence[Kind], plans: Sequence[Plan], rows: Rows, at_most: Cost | None = None
) -> Choice | None:
    """A choice with the limits between courses, each kind of hive at its best; None where none gets a main product.

    None too where it costs more than ``at_most``: nobody wants it then.
    """
    total = nothing(ask.order, len(ask.needs))
    found: list[tuple[Kind, tuple[Dose | None, ...]]] = []
    for k, kind in enumerate(kinds):
        cost, best = _at_best(ask, kind, [_row(ask, kind, k, i, plan, rows) for i, plan in enumerate(plans)])
        total = added(total, cost, len(kind.hives))
        if at_most is not None and total > at_most:
            return None
        found.append((kind, best))
    for i, plan in enumerate(plans):
        if plan is not None and not any(_name(best[i]) == plan[1] for _, best in found):
            return None
    return _built(ask, plans, found, total)


def _built(
    ask: Ask, plans: Sequence[Plan], found: Sequence[tuple[Kind, tuple[Dose | None, ...]]], total: Cost
) -> Choice:
    """A choice with its doses, hive by hive."""
    doses: list[list[Dose]] = [[] for _ in plans]
    for kind, best in found:
        for i, dose in enumerate(best):
            if ask.needs[i].wants(kind.hives[0].key):
                doses[i].extend(replace(dose, key=h.key) if dose else Dose(h.key, None) for h in kind.hives)
    courses: list[Chosen] = []
    place = {hive.key: n for n, hive in enumerate(ask.hives)}
    for i, plan in enumerate(plans):
        if plan is not None:
            mine = tuple(sorted(doses[i], key=lambda d: place[d.key]))
            courses.append(Chosen(ask.needs[i], plan[0], plan[1], mine))
    return Choice(tuple(courses), total)


def _row(ask: Ask, kind: Kind, k: int, i: int, plan: Plan, rows: Rows) -> Row:
    """What the ``k``-th kind of hive may get for the ``i``-th need on the day of a plan, cheapest first."""
    if (k, i, plan) not in rows:
        row = [(static(ask, kind, i, plan, d), _name(d), d) for d in given(kind, i, plan)]
        rows[k, i, plan] = sorted(row, key=lambda item: item[:2])
    return rows[k, i, plan]


def _at_best(ask: Ask, kind: Kind, rows: Sequence[Row]) -> tuple[Cost, tuple[Dose | None, ...]]:
    """What a hive of a kind gets of each row, at its best, with its whole cost: depth first, cut early."""
    zero = nothing(ask.order, len(ask.needs))
    rest = [zero]
    for row in reversed(rows):
        rest.append(added(rest[-1], row[0][0]))
    rest.reverse()
    best: list[tuple[Cost, tuple[str, ...], tuple[Dose | None, ...]]] = []

    def go(i: int, cost: Cost, doses: tuple[Dose | None, ...]) -> None:
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
    return best[0][0], best[0][2]


def _name(dose: Dose | None) -> str:
    """What decides between doses of equal cost; nothing comes last."""
    return "~" if dose is None or dose.treatment is None else dose.treatment


def _between(ask: Ask, standing: Standing, doses: Sequence[Dose | None]) -> Cost | None:
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


def between_reasons(ask: Ask, standing: Standing, dose: Dose) -> Iterator[Limited]:
    """What the limits that look at other courses say to a dose."""
    assert dose.treatment is not None
    assert dose.use is not None
    treatment = ask.book.treatments[dose.treatment]
    label = label_for(treatment, ask.jurisdiction, ask.book)
    assert label is not None
    case = Case(dose.treatment, treatment, label, standing, dose.use, ask.weather, ask.book)
    for word, limit in limits_of(label):
        if word in BETWEEN:
            yield from CHECKS[word](limit, case)


def _past(book: Rulebook, dose: Dose) -> Past:
    assert dose.treatment is not None
    assert dose.use is not None
    return Past(dose.treatment, book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)
