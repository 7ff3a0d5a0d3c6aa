"""Answers: what the labels let, as data: which product may be begun on which of the keeper's days, and what stands by.

In: a hive's standing, a season, days, products, a jurisdiction. Out: ``Answers``. Pure. Weeks ahead warmth is judged by
usual highs; the forecast decides on the day. Every check is one of ``limits.py``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.verdict import Limited, Use, Verdict, Weight
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.cited import Basis
from ipmcal.place.climate import Climate
from ipmcal.place.season import Season
from ipmcal.planning.choose.offer import SUPER_FLOWS, forbids, harvesting, taken_off
from ipmcal.planning.days.bounds import Clockwork, opening
from ipmcal.planning.labels.standing import Standing, use_of
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import Weather


@dataclass(frozen=True, slots=True)
class AllowedCourse:
    """A course that the label lets begin on a day: its days, what is advised against it, the harvest it costs.

    ``supers_off`` is the day by which supers come off for it (None: they stay as they are); ``lost`` are days of supers
    given up, ``fallow`` those of them on which none may be on. ``looks`` are things that are not known and have to be
    looked at first.
    """

    product: str
    class_: str
    use: Use
    supers_off: int | None = None
    lost: int = 0
    advice: int = 0
    looks: int = 0
    fallow: int = 0

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

    lets: tuple[AllowedCourse, ...]
    refused: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    unlabelled: tuple[str, ...] = ()


@dataclass(frozen=True)
class LabelQuestion:
    """Whom is asked for: one hive's standing in a yard's season, the keeper's days, the products liked best first.

    ``no_loss``: supers that come off so few days before they usually do are no harvest given up. ``any_season``: the
    usual season of a product, which is practice and not its label's, is not asked.
    """

    book: Rulebook
    region: Region
    season: Season
    jurisdiction: str
    standing: Standing
    days: tuple[int, ...]
    products: tuple[str, ...]
    no_loss: int
    any_season: bool = False

    def labelled(self) -> Iterator[tuple[str, Label]]:
        """The products in question that have a label here."""
        for name in self.products:
            label = label_for(self.book.treatments[name], self.jurisdiction, self.book)
            if label is not None:
                yield name, label


def usual_weather(region: Region, first: int, last: int) -> Weather:
    """The usual high and low of each day as if they were read: weeks ahead nobody knows more."""
    high = Climate(*(tuple(v.value for v in row) for row in (region.normals.high, region.normals.sd)))
    low = Climate(*(tuple(v.value for v in row) for row in (region.normals.low, region.normals.sd)))
    return Weather({day: (high.mean(day), low.mean(day)) for day in range(first, last + 1)})


def answers_of(asked: LabelQuestion) -> Answers:
    """Every product and day that the labels let."""
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)
    where = Where(asked.jurisdiction, weather, asked.book)
    work = Clockwork(asked.season, {}, {}, {})
    kept = harvesting(asked.standing)
    lets: list[AllowedCourse] = []
    refused: dict[str, Counter[str]] = {}
    for name, label in asked.labelled():
        counts = refused.setdefault(name, Counter())
        first = use_of(label, asked.season.first, asked.book)
        window = None if asked.any_season and _by_practice(label) else _window(work, label)
        for day in asked.days:
            if window is not None and not any(window[0] <= day + n <= window[1] for n in (0, -YEAR_DAYS, YEAR_DAYS)):
                counts["season"] += 1
                continue
            use = first.moved(day - first.first)
            found, words = _asked_once(asked.standing, kept, where, name, use, asked.any_season)
            counts.update(words)
            if found is not None:
                lets.append(replace(found, lost=0) if found.lost <= asked.no_loss else found)
    known = set(refused)
    return Answers(tuple(lets), refused, tuple(name for name in asked.products if name not in known))


def _window(work: Clockwork, label: Label) -> tuple[int, int] | None:
    """The first and last day on which a course's first step may be done in its season; None where it is not said."""
    found = opening(work, next(iter(label.steps.values())), {}, {})
    return None if found is None else (found.window.opens, found.window.closes)


def _by_practice(label: Label) -> bool:
    """Whether the season of a course's first step is practice alone."""
    step = next(iter(label.steps.values()))
    cites = [cite for bound in (*(step.opens or ()), *(step.closes or ())) for cite in bound.cites]
    return all(cite.basis is Basis.PRACTICE for cite in cites)


def _asked_once(
    standing: Standing, kept: Standing, where: Where, name: str, use: Use, ends: bool
) -> tuple[AllowedCourse | None, frozenset[str]]:
    """The answer for one day: with supers as they are, else with supers off; else the limits that forbid both.

    ``ends``: with the supers gone the flow is not harvested any longer, and those that would go on soon wait.
    """
    made = verdict(name, where, kept, use, search=False)
    class_ = where.book.treatments[name].class_
    if not forbids(made):
        return _answer(class_, made, use), frozenset()
    words = {reason.limit for reason in made.reasons if reason.weight is Weight.FORBIDS and not reason.by_hand}
    if words <= {"supers", "flow"}:
        held = _held_back(standing, where, name, use) if ends else standing
        off_ = harvesting(taken_off(held, use.first))
        if ends:
            off_ = replace(off_, flows={w: p for w, p in off_.flows.items() if w not in SUPER_FLOWS})
        again = verdict(name, where, off_, use, search=False)
        if not forbids(again):
            off = _answer(class_, again, use)
            lost = _lost(standing, use.first) + (held is not standing)
            fallow = _lost(standing, use.first, use.last + _wait(where, name))
            return replace(off, supers_off=use.first, lost=lost, fallow=fallow), frozenset()
    return None, frozenset(words)


def _held_back(standing: Standing, where: Where, name: str, use: Use) -> Standing:
    """The same hive, without supers that would go on while a course is in it, or waits after it."""
    stays = tuple(s for s in standing.supers if not use.first <= s.on <= use.last + _wait(where, name))
    return standing if len(stays) == len(standing.supers) else replace(standing, supers=stays)


def _wait(where: Where, name: str) -> int:
    """Days from the end of a course to that on which honey supers may be on."""
    label = label_for(where.book.treatments[name], where.jurisdiction, where.book)
    limit = None if label is None else label.limits.supers
    return 0 if limit is None or limit.after is None else round(limit.after.value.high or 0)


def _answer(class_: str, made: Verdict, use: Use) -> AllowedCourse:
    against = [reason for reason in made.reasons if reason.weight is Weight.ADVISES and _weighs(reason)]
    looks = sum(reason.look for reason in against)
    return AllowedCourse(made.treatment, class_, use, advice=len(against) - looks, looks=looks)


def _weighs(reason: Limited) -> bool:
    """Advice on what a course may change, or a hand mends, is not counted."""
    return not reason.by_hand and reason.limit not in ("class", "rest", "course", "together")


def _lost(standing: Standing, day: int, until: int | None = None) -> int:
    """Days of a flow given up where supers come off on a day, up to another on which they may be back; one where nobody
    knows when they would come off.

    What stands on without a flow, until somebody fetches it, is no harvest.
    """
    flows = [period for word in SUPER_FLOWS for period in standing.flows.get(word, ())]
    on = (s for s in standing.supers if s.on < day and (s.off is None or s.off > day))
    offs = [None if s.off is None else s.off if until is None else min(s.off, until + 1) for s in on]
    return max((1 if off is None else sum(_shared(day, off, *flow) for flow in flows) for off in offs), default=0)


def _shared(day: int, off: int, first: int, last: int) -> int:
    """Days that a stretch up to ``off`` has in common with a flow."""
    return max(0, min(off - 1, last) - max(day, first) + 1)
