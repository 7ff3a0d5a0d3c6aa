"""Answers: what the labels let, as data: which product may be begun on which of the keeper's days, and what stands by.

In: a hive's standing, a season, days, products, a jurisdiction. Out: ``Answers``. Pure. Weeks ahead warmth is judged by
usual highs; the forecast decides on the day. Every check is one of ``limits.py``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.verdict import Limited, Use, Verdict, Weight
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment
from ipmcal.place.climate import Climate
from ipmcal.place.season import Season
from ipmcal.planning.choose.offer import forbids, taken_off
from ipmcal.planning.days.bounds import Clockwork, opening
from ipmcal.planning.labels.standing import Standing, use_of
from ipmcal.planning.labels.verdict import verdict
from ipmcal.planning.labels.weather import Weather

YEAR = 365
FLOWS = ("main", "autumn")
"""Flows that a label may speak of, and that a yard harvests where supers are on in them."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A course that the label lets begin on a day: its days, what is advised against it, the harvest it costs.

    ``supers_off`` is the day by which supers come off for it (None: they stay as they are); ``lost`` are days of supers
    given up. ``looks`` are things that are not known and have to be looked at first.
    """

    product: str
    class_: str
    use: Use
    supers_off: int | None = None
    lost: int = 0
    advice: int = 0
    looks: int = 0

    @property
    def day(self) -> int:
        """The day on which it begins (ordinal)."""
        return self.use.first


@dataclass(frozen=True, slots=True)
class Answers:
    """What the labels let, by product and day; and what refused the other days, as words of limits, by product.

    ``refused`` counts, for each product with a label here, on how many days a limit forbade it. ``unlabelled`` are
    products asked for that have no label here.
    """

    lets: tuple[Answer, ...]
    refused: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    unlabelled: tuple[str, ...] = ()


@dataclass(frozen=True)
class Asked:
    """Whom is asked for: one hive's standing in a yard's season, the keeper's days, the products liked best first.

    ``no_loss``: supers that come off so few days before they usually do are no harvest given up.
    """

    book: Rulebook
    region: Region
    season: Season
    jurisdiction: str
    standing: Standing
    days: tuple[int, ...]
    products: tuple[str, ...]
    no_loss: int

    def labelled(self) -> Iterator[tuple[str, Treatment, Label]]:
        """The products in question that have a label here."""
        for name in self.products:
            treatment = self.book.treatments[name]
            label = label_for(treatment, self.jurisdiction, self.book)
            if label is not None:
                yield name, treatment, label


def usual_weather(region: Region, first: int, last: int) -> Weather:
    """The usual high and low of each day as if they were read: weeks ahead nobody knows more."""
    high = Climate(*(tuple(v.value for v in row) for row in (region.normals.high, region.normals.sd)))
    low = Climate(*(tuple(v.value for v in row) for row in (region.normals.low, region.normals.sd)))
    return Weather({day: (high.mean(day), low.mean(day)) for day in range(first, last + 1)})


def answers(asked: Asked) -> Answers:
    """Every product and day that the labels let."""
    weather = usual_weather(asked.region, asked.season.first - YEAR, asked.season.last + YEAR)
    work = Clockwork(asked.season, {}, {}, {})
    kept = _harvesting(asked.standing)
    lets: list[Answer] = []
    refused: dict[str, Counter[str]] = {}
    for name, treatment, label in asked.labelled():
        counts = refused.setdefault(name, Counter())
        first = use_of(label, asked.season.first, asked.book)
        window = _window(work, label)
        for day in asked.days:
            if window is not None and not any(window[0] <= day + n <= window[1] for n in (0, -YEAR, YEAR)):
                counts["season"] += 1
                continue
            use = first.moved(day - first.first)
            found = _asked_once(asked, name, treatment, use, kept, weather, counts)
            if found is not None:
                lets.append(found)
    known = set(refused)
    return Answers(tuple(lets), refused, tuple(name for name in asked.products if name not in known))


def _window(work: Clockwork, label: Label) -> tuple[int, int] | None:
    """The first and last day on which a course's first step may be done in its season; None where it is not said."""
    found = opening(work, next(iter(label.steps.values())), {}, {})
    return None if found is None else (found.window.opens, found.window.closes)


def _asked_once(
    asked: Asked,
    name: str,
    treatment: Treatment,
    use: Use,
    kept: Standing,
    weather: Weather,
    counts: Counter[str],
) -> Answer | None:
    """The answer for one day: with supers as they are, else with supers off; None where the label forbids both."""

    def ask(standing: Standing) -> Verdict:
        return verdict(name, asked.jurisdiction, standing, use, weather, asked.book, search=False)

    made = ask(kept)
    if not forbids(made):
        return _answer(name, treatment, made, use, None, 0)
    words = {reason.limit for reason in made.reasons if reason.weight is Weight.FORBIDS and not reason.by_hand}
    if words <= {"supers", "flow"}:
        off = _harvesting(taken_off(asked.standing, use.first))
        again = ask(off)
        if not forbids(again):
            lost = _lost(asked.standing, use.first)
            return _answer(name, treatment, again, use, use.first, 0 if lost <= asked.no_loss else lost)
    counts.update(words)
    return None


def _answer(name: str, treatment: Treatment, made: Verdict, use: Use, off: int | None, lost: int) -> Answer:
    against = [reason for reason in made.reasons if reason.weight is Weight.ADVISES and _weighs(reason)]
    looks = sum(reason.look for reason in against)
    return Answer(name, treatment.class_, use, off, lost, len(against) - looks, looks)


def _weighs(reason: Limited) -> bool:
    """Advice on what a course may change, or a hand mends, is not counted."""
    return not reason.by_hand and reason.limit not in ("class", "rest", "course", "together")


def _harvesting(standing: Standing) -> Standing:
    """The same hive, its flows only those in which supers are on: a label means a flow that the yard harvests."""
    flows = {
        word: tuple(p for p in periods if word not in FLOWS or _super_on(standing, *p))
        for word, periods in standing.flows.items()
    }
    return replace(standing, flows=flows)


def _super_on(standing: Standing, first: int, last: int) -> bool:
    """Whether supers are on in a period, which the yard then harvests."""
    return any(stay.on <= last and (stay.off is None or stay.off > first) for stay in standing.supers)


def _lost(standing: Standing, day: int) -> int:
    """Days of supers given up where they come off on a day; one where nobody knows when they would come off."""
    on = (s for s in standing.supers if s.on < day and (s.off is None or s.off > day))
    return max((1 if s.off is None else s.off - day for s in on), default=0)
