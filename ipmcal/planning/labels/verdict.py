"""Limits: what a label says to a course in one colony, with every reason and the first day on which each falls away.

In: a treatment's id, the jurisdiction, the colony's standing, the course's days, the weather, the rulebook. Out: a
``Verdict``. Pure. Nothing here says what is lawful: it says what the rule file of its date says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from ipmcal.model.plan.verdict import Allowed, Limited, Use, Verdict, Weight
from ipmcal.model.rules.labels import label_holder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment, limits_of
from ipmcal.model.values.words import full_day
from ipmcal.planning.labels import of_colony, of_courses, of_day, of_hive
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.standing import Standing, use_of
from ipmcal.planning.labels.weather import Weather

HORIZON = 400
"""How many days ahead is looked for the first day on which a reason falls away: a year and a month."""


Check = Callable[[Any, Case], Iterator[Limited]]
LIMIT_CHECKS: dict[str, Check] = {
    "temperature": of_day.temperature,
    "supers": of_day.supers,
    "brood": of_day.brood,
    "strength": of_colony.strength,
    "chambers": of_colony.chambers,
    "kind": of_colony.kind,
    "queen": of_colony.queen,
    "flow": of_hive.flow,
    "entrance": of_hive.entrance,
    "floor": of_hive.floor,
    "quiet": of_hive.quiet,
    "feeding": of_hive.feeding,
    "rest": of_courses.rest,
    "course": of_courses.course,
    "winter": of_courses.winter,
    "class": of_courses.class_,
    "together": of_courses.other_products,
}
"""The check of each limit's word."""


@dataclass(frozen=True)
class Labelled:
    """A treatment with the label that holds somewhere: whose it is, and its limits, each with its word, in order."""

    treatment: Treatment
    label: Label
    holder: str
    limits: tuple[tuple[str, Any], ...]

    @cached_property
    def heavy(self) -> tuple[tuple[str, Any], ...]:
        """The limits that may bar a course."""
        asked = (one for one in self.limits if one[0] not in MENDED_BY_HAND)
        return tuple((name, limit) for name, limit in asked if name == "queen" or not limit.advice)


@dataclass(frozen=True)
class Where:
    """Where labels are asked: the country or state, its weather, the rules. ``memo`` only remembers."""

    jurisdiction: str
    weather: Weather
    book: Rulebook
    memo: dict[str, Labelled | None] = field(default_factory=dict, compare=False, repr=False)

    def labelled(self, name: str) -> Labelled | None:
        """A treatment by its name with the label that holds here; None: there is none. Looked up once."""
        if name not in self.memo:
            self.memo[name] = self._labelled(self.book.treatments.get(name))
        return self.memo[name]

    def _labelled(self, treatment: Treatment | None) -> Labelled | None:
        holder = None if treatment is None else label_holder(treatment, self.jurisdiction, self.book)
        if treatment is None or holder is None:
            return None
        label = treatment.labels[holder]
        return Labelled(treatment, label, holder, tuple(limits_of(label)))


def verdict(name: str, where: Where, standing: Standing, days: Use | int, *, search: bool = True) -> Verdict:
    """The verdict on a course of the treatment ``name``; ``days`` is its ``Use``, or the day on which it begins.

    ``search=False`` leaves out for each reason the first day on which it falls away, which takes most of the time.
    """
    made = verdict_unless(_never, name, where, standing, days, search=search)
    assert made is not None
    return made


def _never(reason: Limited) -> bool:
    return False


def verdict_unless(
    bars: Callable[[Limited], bool],
    name: str,
    where: Where,
    standing: Standing,
    days: Use | int,
    *,
    search: bool = False,
) -> Verdict | None:
    """As ``verdict``, but None at the first reason that ``bars``: whoever only asks whether needs no more of them."""
    book, known = where.book, where.labelled(name)
    if known is None:
        nothing = _no_label(name, book.treatments.get(name), where.jurisdiction, book)
        use = days if isinstance(days, Use) else None
        return None if bars(nothing) else Verdict(name, Allowed.FORBIDDEN, (nothing,), (), (), "", use)
    use = days if isinstance(days, Use) else use_of(known.label, days, book)
    case = Case(name, known.treatment, known.label, standing, use, where.weather, book)
    found: list[Limited] = []
    for one in _found(case, known.limits):
        if bars(one):
            return None
        found.append(one)
    if search:
        found = [replace(one, until=_until(case, one)) if one.until is None else one for one in found]
    reasons = [one for one in found if one.weight is not Weight.ASKS]
    # what forbids is told first; else the order of the label stays
    reasons.sort(key=lambda one: one.weight is not Weight.FORBIDS)
    word = Allowed.ALLOWED if not reasons else Allowed.ADVISED_AGAINST
    if any(one.weight is Weight.FORBIDS for one in reasons):
        word = Allowed.FORBIDDEN
    conditions = tuple(one for one in found if one.weight is Weight.ASKS)
    return Verdict(name, word, tuple(reasons), conditions, tuple(_remarks(known.label, book)), known.holder, use)


MENDED_BY_HAND = ("entrance", "floor")
"""Limits that the keeper mends at the hive: what they say is advice, or done on the day."""


def reasons_of(name: str, where: Where, standing: Standing, use: Use) -> Iterator[Limited]:
    """The reasons of a verdict as they are found: for whoever only asks whether, and stops at the first. Limits that
    are advice, or mended by hand, bar nothing, but for advice about the queen; they are not asked.
    """
    known = where.labelled(name)
    if known is None:
        yield _no_label(name, where.book.treatments.get(name), where.jurisdiction, where.book)
        return
    case = Case(name, known.treatment, known.label, standing, use, where.weather, where.book)
    yield from _found(case, known.heavy)


def _found(case: Case, limits: Iterable[tuple[str, Any]]) -> Iterator[Limited]:
    """Every reason and condition of limits, in the order of the label, then what no label has to say."""
    for word, limit in limits:
        yield from LIMIT_CHECKS[word](limit, case)
    yield from of_colony.hand_checks(case)


def _until(case: Case, reason: Limited) -> int | None:
    """The first day on which the course could begin without this reason; None where there is none within a year."""
    if reason.weight is Weight.ASKS or reason.limit not in LIMIT_CHECKS or reason.stays:
        return None
    limits = [limit for word, limit in limits_of(case.label) if word == reason.limit]
    for later in range(1, HORIZON + 1):
        moved = replace(case, use=case.use.moved(later))
        # tried day by day: limits hang on seasons, spells and other courses, and no formula has them all
        if not any(_same(one, reason) for limit in limits for one in LIMIT_CHECKS[reason.limit](limit, moved)):
            return moved.use.first
    return None


def _same(one: Limited, reason: Limited) -> bool:
    """Whether it is the same reason on another day: the same value of the same limit, as heavy or heavier."""
    heavy = one.weight is Weight.FORBIDS or one.weight is reason.weight
    return one.weight is not Weight.ASKS and heavy and one.says == reason.says


def _no_label(name: str, treatment: Treatment | None, jurisdiction: str, book: Rulebook) -> Limited:
    rule = book.jurisdictions.get(jurisdiction)
    place = rule.title if rule else jurisdiction
    if treatment is None:
        return Limited("label", Weight.FORBIDS, "", f"there is no rule file for {name.replace('_', ' ')}", stays=True)
    checked = full_day(treatment.checked.toordinal())
    known = f"no label in the rule file for {place}, checked {checked}"
    return Limited("label", Weight.FORBIDS, "", known, stays=True)


def _remarks(label: Label, book: Rulebook) -> Iterator[str]:
    """Whose words these are, and who may use it."""
    if label.like:
        rule = book.jurisdictions.get(label.like)
        yield f"from another country's label ({rule.title if rule else label.like}): check your label"
    asks = label.needs.value if label.needs else "unknown"
    yield from {
        "none": (),
        "prescription": ("on a vet's prescription",),
        "licence": ("for holders of an applicator's licence",),
        "unknown": ("prescription or licence needed? Read it off the label",),
    }[asks]
