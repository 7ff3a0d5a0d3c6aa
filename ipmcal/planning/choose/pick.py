"""Pick: for each need of a yard's own the course that fits it best: a day, and what each hive gets on it.

In: the needs by their weight, the hives with their standing, the days on which a course may begin. Out: ``Chosen``
values. Pure.

Needs are few: a count over the line, breaks in the brood. The weightiest chooses first, and what comes after keeps
clear of it. All hives of a need begin on one day, with one product; a hive whose label forbids it gets the first of the
keeper's that its own lets it have, as long as that reaches the mites and gives up no harvest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.verdict import Limited, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import limits_of
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Offers, Question, offers
from ipmcal.planning.choose.wants import COUNTED, Want
from ipmcal.planning.labels.case import Case
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.of_day import brood_on
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

    @property
    def treated(self) -> frozenset[str]:
        """The hives that get anything."""
        return frozenset(dose.key for dose in self.doses if dose.treatment is not None)


def picked(ask: Question) -> tuple[Chosen, ...]:
    """A course for each need, the weightiest first, as far as labels leave any."""
    found: list[Chosen] = []
    for need in ask.needs:
        one = pick(ask, need, found)
        if one is not None:
            found.append(one)
    return tuple(found)


def pick(ask: Question, need: Want, others: Sequence[Chosen], without: str = "") -> Chosen | None:
    """The best course for a need beside others; None where no label leaves any. ``without``: with another product."""
    let = dict(_let(ask, need, others))
    plans = sorted({key for some in let.values() for key in some if key[1] != without})
    made = [_on(ask, need, let, plan) for plan in plans]
    return min(made, key=lambda one: _cost(ask, one), default=None)


def _let(ask: Question, need: Want, others: Sequence[Chosen]) -> Iterator[tuple[str, Offers]]:
    """What each hive that wants it may get, day by day; hives of equal standing are asked once."""
    known: list[tuple[Hive, Offers]] = []
    for hive in (hive for hive in ask.hives if need.wants(hive.key)):
        same = (some for one, some in known if (one.standing, one.since) == (hive.standing, hive.since))
        found = next(same, None)
        if found is None:
            found = offers(ask, hive, need)
            known.append((hive, found))
        mine = {key: replace(dose, key=hive.key) for key, dose in found.items()}
        there = [dose for course in others for dose in course.doses if dose.key == hive.key and dose.use is not None]
        yield hive.key, {key: dose for key, dose in mine.items() if _go_together(ask, hive.standing, dose, there)}


def _go_together(ask: Question, standing: Standing, dose: Offer, there: Sequence[Offer]) -> bool:
    """Whether a dose and those of other courses of its hive let each other be."""
    every = [dose, *there]
    for one in every:
        at = standing.with_course(*(spell_of(ask.book, other) for other in every if other is not one))
        if any(reason.weight is Weight.FORBIDS for reason in between_reasons(ask, at, one)):
            return False
    return True


def _on(ask: Question, need: Want, let: dict[str, Offers], plan: tuple[int, str]) -> Chosen:
    """A course begun on a day: the main product; else of those that a hive may have then the first of the keeper's that
    reaches the mites in cells and gives up least harvest.
    """
    day, main = plan
    standing = {hive.key: hive.standing for hive in ask.hives}

    def worth(dose: Offer) -> tuple[bool, int]:
        at = standing[dose.key]
        return not _reaches(ask, at, dose), _supers_lost(at, dose)

    others = {key: [some[day, name] for name, _ in ask.names() if (day, name) in some] for key, some in let.items()}
    least = {key: min(some, key=worth, default=Offer(key, None)) for key, some in others.items()}
    return Chosen(need, day, main, tuple(some.get((day, main), least[key]) for key, some in let.items()))


def _cost(ask: Question, one: Chosen) -> tuple[object, ...]:
    """What decides, from the left: hives left without; doses that cannot reach what is capped; how many days later than
    at once what a count asks for begins; harvest given up; the keeper's order of products; other products than the
    yard's; advice against; looks; handwork; minutes; how far from the best day; the day itself.
    """
    given = [dose for dose in one.doses if dose.treatment is not None]
    standing = {hive.key: hive.standing for hive in ask.hives}
    names = [name for name, _ in ask.names()]
    told = [r for dose in given if dose.verdict is not None for r in dose.verdict.reasons if r.limit not in BETWEEN]
    advice = [r for r in told if r.weight is Weight.ADVISES]
    return (
        len(one.doses) - len(given),
        sum(not _reaches(ask, standing[dose.key], dose) for dose in given),
        max(0, one.day - last_at_once(ask, one.need)) if one.need.name == COUNTED else 0,
        sum(_supers_lost(standing[dose.key], dose) for dose in given),
        names.index(one.main),
        sum(dose.treatment != one.main for dose in given),
        sum(not r.look for r in advice),
        sum(r.look for r in advice),
        sum(r.by_hand for r in told),
        sum(dose.figures.minutes for dose in given),
        abs(one.day - one.need.best),
        one.day,
    )


def last_at_once(ask: Question, need: Want) -> int:
    """The last day that still is at once for what is wanted, counted from the count: it moves with no day on which the
    plan is made.
    """
    return need.first + int(ask.book.planning.year_plans.offered.at_once.value.upper_end)


def _reaches(ask: Question, standing: Standing, dose: Offer) -> bool:
    """False for what works best with nothing capped, where there is brood at one of its applications."""
    assert dose.treatment is not None
    assert dose.use is not None
    treatment = ask.book.treatments[dose.treatment]
    label = label_for(treatment, ask.jurisdiction, ask.book)
    assert label is not None
    limit = label.limits.brood
    if limit is None or limit.best is None or limit.best.value != "none":
        return True
    case = Case(dose.treatment, treatment, label, standing, dose.use, ask.weather, ask.book)
    return all(brood_on(case, day)[0] != "some" for day in dose.use.applications)


def _supers_lost(standing: Standing, dose: Offer) -> int:
    """Days of supers given up; at least one where nobody knows when they would come off."""
    day = dose.supers_off
    if day is None:
        return 0
    lost = [1 if s.off is None else s.off - day for s in standing.supers if s.on < day and (s.off or day + 1) > day]
    return max(lost, default=0)


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


def spell_of(book: Rulebook, dose: Offer) -> CourseSpell:
    """A dose that is given, as labels see it."""
    assert dose.treatment is not None
    assert dose.use is not None
    return CourseSpell(dose.treatment, book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)
