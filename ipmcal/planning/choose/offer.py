"""Offer: what the labels allow each hive of a yard for each need, day by day, other planned courses apart.

In: the question to ``picked``: needs, hives, days, products, weather. Out: doses. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from ipmcal.model.altered import altered
from ipmcal.model.plan.verdict import Limited, Use, Verdict, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.planning.choose.doses import Figures, Offer, figures
from ipmcal.planning.choose.wants import Want
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import Standing, use_of
from ipmcal.planning.labels.verdict import Where, reasons_of, verdict, verdict_unless
from ipmcal.planning.labels.weather import Weather
from ipmcal.planning.recall.broodless import SWARM, WITHOUT_BROOD


@dataclass(frozen=True)
class Hive:
    """A hive of the yard, by its key, and its standing."""

    key: str
    standing: Standing
    since: int = 0

    @cached_property
    def harvested(self) -> Standing:
        """The same, its flows those that are harvested: labels are asked for many days and products."""
        return harvesting(self.standing)


@dataclass(frozen=True)
class Question:
    """The question: needs in the order of their weight, hives, days to begin on, products, liked best first.

    No day before ``since`` is ever spoken of.
    """

    needs: tuple[Want, ...]
    hives: tuple[Hive, ...]
    days: tuple[int, ...]
    jurisdiction: str
    weather: Weather
    book: Rulebook
    products: tuple[str, ...] = ()
    since: int = 0
    uses: dict[tuple[str, int], Use] = field(default_factory=dict, compare=False)
    first_use: dict[str, Use] = field(default_factory=dict, compare=False)
    figured: dict[str, Figures] = field(default_factory=dict, compare=False)
    said: dict[tuple[str, Use], list[tuple[Standing, Verdict]]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def where(self) -> Where:
        """Where its labels are asked."""
        return Where(self.jurisdiction, self.weather, self.book)

    def names(self) -> Iterator[tuple[str, Label]]:
        """The products in question that have a label here: those named, or all."""
        for name in self.products or tuple(sorted(self.book.treatments)):
            label = label_for(self.book.treatments[name], self.jurisdiction, self.book)
            if label is not None:
                yield name, label

    def use(self, name: str, label: Label, day: int) -> Use:
        """The days of a course: its steps hang on each other alone, so that one begun later is the same, moved."""
        if (name, day) not in self.uses:
            if name not in self.first_use:
                self.first_use[name] = use_of(label, day, self.book)
            first = self.first_use[name]
            self.uses[name, day] = first.moved(day - first.first)
        return self.uses[name, day]

    def verdict_on(self, name: str, standing: Standing, use: Use) -> Verdict:
        """What the label says to a course on its days in a hive that stands so, its flows those that it harvests; of
        equal hives one is asked for all.
        """
        said = self.said.setdefault((name, use), [])
        found = next((made for one, made in said if one == standing), None)
        if found is None:
            found = verdict(name, self.where, harvesting(standing), use, search=False)
            said.append((standing, found))
        return found

    def figures(self, name: str, label: Label) -> Figures:
        """What a label comes to in work and in memory, worked out once."""
        if name not in self.figured:
            self.figured[name] = figures(label)
        return self.figured[name]


Offers = dict[tuple[int, str], Offer]
"""What a hive may get for a need, by day and product, as far as no other course is in the way."""


def offers(ask: Question, hive: Hive, need: Want) -> Offers:
    """Every product and day that a hive's labels allow for a need, other planned courses apart."""
    if not need.wants(hive.key):
        return {}
    found: Offers = {}
    for name, label in ask.names():
        if not need.suits(label):
            continue
        for day in ask.days:
            use = ask.use(name, label, day)
            if need.holds(use):
                dose = None if barred(ask, hive, name, use) else offer_of(ask, hive, name, label, use, need)
                if dose is not None:
                    found[day, name] = dose
    return found


def barred(ask: Question, hive: Hive, name: str, use: Use) -> Literal["", "class", "cold"]:
    """The wall that no count over the line opens (``year_plans.walls``): a synthetic class that has not rested, or days
    too cold for what lies in the hive.
    """
    walls, class_ = ask.book.planning.year_plans.walls, ask.book.treatments[name].class_
    rest = walls.synthetic_rest.value.middle
    before = [one for one in hive.standing.courses if one.class_ == class_ and one.began <= use.first]
    if class_ in walls.synthetic and any(use.first - one.began < rest for one in before):
        return "class"
    worker = ask.book.biology.castes.worker
    lies = use.last - use.first >= worker.emerges.value.usual - worker.capped.value.usual
    if not lies or ask.weather.normals is None:
        return ""
    asked = [floor.published or floor.after_flow for floor in walls.floors if class_ in floor.classes]
    least = max((one.value.low or 0.0 for one in asked if one is not None), default=-99.0)
    return "cold" if ask.weather.normals["high"].mean(use.first) < least else ""


def offer_of(ask: Question, hive: Hive, name: str, label: Label, use: Use, need: Want) -> Offer | None:
    """What a hive gets; with the supers off early where the need may ask for that; None where its label forbids it,
    where the hive is not there yet or not settled, or where it would be one course with another.

    What a label has for bees that have just come, a spray over a package, waits for nothing.
    """
    if _too_soon(ask, hive, label, use) or any(too_near(name, use, hive.standing.courses, ask.book)):
        return None
    where = ask.where
    bars = _excludes_but_for_supers if need.takes_supers else excludes
    made = verdict_unless(bars, name, where, hive.harvested, use)
    if made is None:
        return None
    if not forbids(made):
        return Offer(hive.key, name, use, made, None, ask.figures(name, label))
    made = verdict_unless(excludes, name, where, harvesting(taken_off(hive.standing, use.first)), use)
    return None if made is None else Offer(hive.key, name, use, made, use.first, ask.figures(name, label))


def _too_soon(ask: Question, hive: Hive, label: Label, use: Use) -> bool:
    """True where a hive is not there yet, or its bees, shaken from their combs, have not settled."""
    shaken = hive.standing.kind in WITHOUT_BROOD and hive.standing.kind != SWARM  # a swarm hangs together at once
    loose = shaken and label.limits.kind is None
    return use.first < hive.since + (int(ask.book.planning.settles.value.middle) if loose else 0)


def offered(ask: Question, hive: Hive, name: str, label: Label, use: Use, need: Want) -> Literal["", "as_is", "off"]:
    """Whether ``offer_of`` has anything for a hive, and whether with its supers taken off; nothing is worded for it."""
    if _too_soon(ask, hive, label, use) or any(too_near(name, use, hive.standing.courses, ask.book)):
        return ""
    over = False
    for reason in filter(excludes, reasons_of(name, ask.where, hive.harvested, use)):
        if not need.takes_supers or reason.limit != "supers":
            return ""
        over = True
    if not over:
        return "as_is"
    free = harvesting(taken_off(hive.standing, use.first))
    return "" if any(map(excludes, reasons_of(name, ask.where, free, use))) else "off"


def taken_off(standing: Standing, day: int) -> Standing:
    """The same hive with the supers that are on by then taken off on a day."""
    stays = (replace(s, off=day) if s.on < day and (s.off is None or s.off > day) else s for s in standing.supers)
    return altered(standing, supers=tuple(stays))


SUPER_FLOWS = ("main", "autumn")
"""Flows that a label may speak of, and that a yard harvests where supers are on in them."""


def harvesting(standing: Standing) -> Standing:
    """The same hive, its flows only those in which supers are on: a label means a flow that the yard harvests."""
    flows = {
        word: tuple(p for p in periods if word not in SUPER_FLOWS or _super_on(standing, *p))
        for word, periods in standing.flows.items()
    }
    return altered(standing, flows=flows)


def _super_on(standing: Standing, first: int, last: int) -> bool:
    """Whether supers are on in a period, which the yard then harvests; those that nobody wrote of are looked for."""
    known = (stay for stay in standing.supers if not stay.unheard)
    return any(stay.on <= last and (stay.off is None or stay.off > first) for stay in known)


def forbidding(made: Verdict) -> list[Limited]:
    """The reasons that exclude a course: what the keeper mends at the hive does not, nor a class that may change."""
    return [r for r in made.reasons if excludes(r)]


def excludes(reason: Limited) -> bool:
    """True for a reason that excludes a course: what the label forbids, and what its advice would keep from a queen."""
    if reason.limit == "queen" and reason.weight is Weight.ADVISES:
        return not reason.look  # the hive waits until her eggs are seen, or gets something else
    return reason.weight is Weight.FORBIDS and not reason.by_hand and not _other_first(reason)


def _excludes_but_for_supers(reason: Limited) -> bool:
    return excludes(reason) and reason.limit != "supers"


def forbids(made: Verdict) -> bool:
    """True where a label excludes a course."""
    return bool(forbidding(made))


def _other_first(reason: Limited) -> bool:
    """A course between may lift it: it is weighed with all courses together."""
    return reason.limit == "class" and reason.value is not None and reason.value.value == "other_first"
