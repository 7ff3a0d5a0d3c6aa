"""Outcome: the best courses of a yard, the runner-up, what excluded the rest, what could give way, supers off by when.

In: a question to ``choose``. Out: ``Outcome``, data and short words. Pure. A label never gives way; advice never
excludes; what may give way is the keeper's days, the supers, or the day by which it should have been done.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.words import counted, joined, short_day
from ipmcal.place.season import Season
from ipmcal.planning.choose.doses import Offer
from ipmcal.planning.choose.offer import Hive, Question, forbidding, offer_of, offers
from ipmcal.planning.choose.order import Order
from ipmcal.planning.choose.search import Chosen, CourseSet, between_reasons, choose, second
from ipmcal.planning.choose.wants import Want, begin_days, needs_of
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import weather_of


@dataclass(frozen=True, slots=True)
class Excluded:
    """A product that does not serve a need: for ``keys``, the reasons on the day on which fewest stand against it.

    ``reasons`` empty: nothing forbids it, and ``words`` say what puts it behind.
    """

    need: str
    treatment: str
    keys: tuple[str, ...]
    day: int | None
    reasons: tuple[Limited, ...]
    words: str


@dataclass(frozen=True, slots=True)
class GiveWay:
    """What would have to give way for a product to serve a need: ``supers``, ``days`` or ``late``, begun on ``day``."""

    need: str
    what: str
    treatment: str
    day: int
    words: str


HARVESTED = ("main", "autumn")
"""Flows that fill supers."""


@dataclass(frozen=True, slots=True)
class SupersOff:
    """Supers off by ``day``, for a course that begins then; by ``latest``, were it begun as late as it may."""

    need: str
    treatment: str
    day: int
    latest: int
    keys: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is chosen, and what is known about the choice. ``reservoirs``: hives left without anything, by need."""

    winner: CourseSet
    runner_up: CourseSet | None
    excluded: tuple[Excluded, ...]
    give_way: tuple[GiveWay, ...]
    supers_off: tuple[SupersOff, ...]
    reservoirs: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Terms:
    """What a keeper brings to the question: ``days`` to begin on; ``treat``, days on which counts said to treat, with
    words; ``products``, liked best first, and then the only ones.
    """

    days: Sequence[int]
    treat: Sequence[tuple[int, str]] = ()
    products: tuple[str, ...] = ()


def ask_for(
    yard: Yard,
    season: Season,
    book: Rulebook,
    as_of: int,
    hives: Sequence[Hive],
    keeper: Terms,
) -> Question:
    """The question for a yard: what it needs from ``as_of`` on, begun on the keeper's days, one a week."""
    region = book.regions[yard.region]
    needs = needs_of(season, region, [(hive.key, hive.standing) for hive in hives], book, as_of, keeper.treat)
    order = Order(tuple(book.planning.preference), keeper.products)
    tried = begin_days((day for day in keeper.days if day >= as_of), needs)
    weather = weather_of(yard, book)
    return Question(needs, tuple(hives), tried, yard.jurisdiction, weather, book, order, keeper.products, as_of)


def decided(ask: Question) -> Outcome:
    """The best choice, when supers come off for it, and the hives left out; no more than planning needs."""
    winner = choose(ask)
    return Outcome(winner, None, (), (), tuple(_supers_off(ask, winner)), tuple(_reservoirs(ask, winner)))


def outcome(ask: Question, winner: CourseSet | None = None) -> Outcome:
    """The best choice and all that is known about it. The runner-up serves what the winner serves."""
    winner = choose(ask) if winner is None else winner
    left = tuple(_reservoirs(ask, winner))
    return Outcome(
        winner,
        second(ask, winner),
        tuple(_excluded(ask, winner)),
        tuple(_gives_way(ask, dict(left))),
        tuple(_supers_off(ask, winner)),
        left,
    )


def _supers_off(ask: Question, winner: CourseSet) -> Iterator[SupersOff]:
    return (found for course in winner.courses if (found := supers_off(ask, course)) is not None)


def _reservoirs(ask: Question, winner: CourseSet) -> Iterator[tuple[str, tuple[str, ...]]]:
    for need in ask.needs:
        course = next((c for c in winner.courses if c.need.name == need.name), None)
        treated = {d.key for d in course.doses if d.treatment is not None} if course else set()
        keys = tuple(h.key for h in ask.hives if need.wants(h.key) and h.key not in treated)
        if keys:
            yield need.name, keys


# What excluded the rest ---------------------------------------------------------------------------------------------


def _excluded(ask: Question, winner: CourseSet) -> Iterator[Excluded]:
    for need in ask.needs:
        course = next((c for c in winner.courses if c.need.name == need.name), None)
        for name, label in ask.names():
            if course is not None and course.main == name:
                continue
            yield from _why_not(ask, need, name, label, course)


def _why_not(ask: Question, need: Want, name: str, label: Label, course: Chosen | None) -> Iterator[Excluded]:
    hives = [hive for hive in ask.hives if need.wants(hive.key)]
    keys = tuple(hive.key for hive in hives)
    if not need.suits(label):
        yield Excluded(need.name, name, keys, None, (), "it does not work best where nothing is capped")
        return
    days = [day for day in ask.days if need.first <= day <= need.last]
    inside = [day for day in days if need.holds(ask.use(name, label, day))]
    if not inside:
        words = "none of the keeper's days is in time" if not days else _too_late(ask, need, name, label, days[0])
        yield Excluded(need.name, name, keys, None, (), words)
        return
    refused: dict[tuple[int, tuple[Limited, ...]], list[str]] = {}
    for hive in hives:
        found = _least_refused(ask, hive, need, name, label, inside)
        if found is not None:
            refused.setdefault(found, []).append(hive.key)
    for (day, reasons), who in refused.items():
        what = joined(dict.fromkeys(r.limit for r in reasons))
        few = len(who) * 2 <= len(hives)
        words = f"only {joined(who)} in the way of it: {what}" if few else f"forbidden: {what}"
        yield Excluded(need.name, name, tuple(who), day, reasons, words)
    free = tuple(hive.key for hive in hives if all(hive.key not in who for who in refused.values()))
    if free and course is not None and not refused:
        yield Excluded(need.name, name, free, None, (), "nothing forbids it; the order of preference puts it behind")


def _too_late(ask: Question, need: Want, name: str, label: Label, day: int) -> str:
    last = ask.use(name, label, day).last
    by = short_day(need.ended_by) if need.ended_by is not None else ""
    return f"begun on {short_day(day)} it ends on {short_day(last)}, and {by} is the last day for it"


def _least_refused(
    ask: Question, hive: Hive, need: Want, name: str, label: Label, days: Sequence[int]
) -> tuple[int, tuple[Limited, ...]] | None:
    """The day on which fewest reasons forbid it, and the reasons; None where on some day none does."""
    best: tuple[int, tuple[Limited, ...]] | None = None
    for day in (day for day in days if day >= hive.since):
        use = ask.use(name, label, day)
        if offer_of(ask, hive, name, label, use, need) is not None:
            return None
        made = verdict(name, Where(ask.jurisdiction, ask.weather, ask.book), hive.standing, use, search=False)
        reasons = (*forbidding(made), *too_near(name, use, hive.standing.courses, ask.book))
        if best is None or len(reasons) < len(best[1]):
            best = day, reasons
    return best


# What could give way --------------------------------------------------------------------------------------------------


def _gives_way(ask: Question, left: dict[str, tuple[str, ...]]) -> Iterator[GiveWay]:
    """For each need that some hive is not served in: the first way for each product that would serve one of them."""
    for need in ask.needs:
        hives = [hive for hive in ask.hives if hive.key in left.get(need.name, ())]
        if not hives:
            continue
        every = replace(ask, days=tuple(range(max(need.first, ask.since), need.last + 1)))
        freed = replace(need, takes_supers=True)
        late = replace(need, ended_by=None)
        for what, asked, wanted in (("days", every, need), ("supers", ask, freed), ("late", ask, late)):
            found = sorted({key for hive in hives for key in offers(asked, hive, wanted)})
            told: set[str] = set()
            for day, name in found:
                if name not in told:
                    told.add(name)
                    yield GiveWay(need.name, what, name, day, _way(ask, need, what, name, day))


def _way(ask: Question, need: Want, what: str, name: str, day: int) -> str:
    title = ask.book.treatments[name].title
    if what == "days":
        return f"{title} could begin on {short_day(day)}, which is none of the keeper's days"
    if what == "supers":
        return f"{title} could begin on {short_day(day)}, with the supers off by then"
    label = label_for(ask.book.treatments[name], ask.jurisdiction, ask.book)
    assert label is not None
    late = ask.use(name, label, day).last - (need.ended_by or 0)
    return f"{title} could begin on {short_day(day)}, and would end {counted(late, 'day')} too late"


# Supers off, and until when a course may still begin ------------------------------------------------------------------


def supers_off(ask: Question, course: Chosen) -> SupersOff | None:
    """The day by which supers have to be off for a course, worked back from the day by which it has to be over.

    None where the label lets them stay, or where none are on or planned then.
    """
    label = label_for(ask.book.treatments[course.main], ask.jurisdiction, ask.book)
    assert label is not None
    limit = label.limits.supers
    if limit is None or limit.during.value != "off":
        return None
    use = ask.use(course.main, label, course.day)
    standing = {hive.key: hive.standing for hive in ask.hives}
    doses = [d for d in course.doses if d.treatment is not None]
    keys = tuple(d.key for d in doses if d.supers_off is not None or _come_off(standing[d.key], course))
    if not keys:
        return None
    long, need = use.last - use.first, course.need
    latest = need.last if need.ended_by is None else min(need.last, need.ended_by - long)
    title = ask.book.treatments[course.main].title
    over = f", over by {short_day(need.ended_by)}" if need.ended_by is not None else ""
    words = f"{title}: {counted(long, 'day')} from first to last{over}: {need.why}"
    lost = max((_flow_lost(standing[key], course) for key in keys), default=0)
    words = because_words(Because(Code.FLOW_GIVEN_UP, (words, lost))) if lost else words
    return SupersOff(need.name, course.main, course.day, max(latest, course.day), keys, words)


def _flow_lost(standing: Standing, course: Chosen) -> int:
    """Days of main and autumn flow from the day on which supers come off for a course to that on which they would."""
    ends = [s.off for s in standing.supers if s.on < course.day and s.off is not None and s.off > course.day]
    until = min(ends, default=course.day)
    flows = [flow for word in HARVESTED for flow in standing.flows.get(word, ())]
    return sum(any(first <= day <= last for first, last in flows) for day in range(course.day, until))


def _come_off(standing: Standing, course: Chosen) -> bool:
    """True where supers are on in the time of the need, and have come off before the course as planned."""
    return any(s.on < course.day and (s.off is None or s.off > course.need.first) for s in standing.supers)


def window_of(ask: Question, choice: CourseSet, course: Chosen, most: int = 6) -> tuple[int, int]:
    """The days around the chosen one, ``most`` on each side, on which all of its doses would be allowed as well.

    None before it where supers come off for it: they come off for that day.
    """
    doses = _unlike(ask, [dose for dose in course.doses if dose.treatment is not None])

    def still(day: int) -> bool:
        return all(_still(ask, choice, course, dose, day) for dose in doses)

    first = last = course.day
    while last < course.day + most and still(last + 1):
        last += 1
    early = supers_off(ask, course) is None
    while early and first > course.day - most and still(first - 1):
        first -= 1
    return first, last


def _unlike(ask: Question, doses: Sequence[Offer]) -> list[Offer]:
    """One dose for all hives of equal standing that get the same."""
    standing = {hive.key: (hive.standing, hive.since) for hive in ask.hives}
    found: list[Offer] = []
    for dose in doses:
        same = (o for o in found if o.treatment == dose.treatment and standing[o.key] == standing[dose.key])
        if next(same, None) is None:
            found.append(dose)
    return found


def _still(ask: Question, choice: CourseSet, course: Chosen, dose: Offer, day: int) -> bool:
    assert dose.treatment is not None
    label = label_for(ask.book.treatments[dose.treatment], ask.jurisdiction, ask.book)
    assert label is not None
    hive = next(h for h in ask.hives if h.key == dose.key)
    use = ask.use(dose.treatment, label, day)
    made = offer_of(ask, hive, dose.treatment, label, use, course.need) if course.need.holds(use) else None
    if made is None or (dose.supers_off is None) != (made.supers_off is None):
        return False
    others = [d for c in choice.courses if c is not course for d in c.doses if d.key == dose.key]
    at = hive.standing.with_course(*(past for d in others if (past := _past(ask, d)) is not None))
    return not any(r.weight is Weight.FORBIDS for r in between_reasons(ask, at, made))


def _past(ask: Question, dose: Offer) -> CourseSpell | None:
    if dose.treatment is None or dose.use is None:
        return None
    return CourseSpell(dose.treatment, ask.book.treatments[dose.treatment].class_, dose.use.first, dose.use.last)
