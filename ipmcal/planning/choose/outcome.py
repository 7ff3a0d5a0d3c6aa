"""Outcome: the courses of a yard, second choices, what excluded the rest, what could give way, supers off by when.

In: a question. Out: ``Outcome``, data and short words. Pure. A label never gives way; advice never excludes; what may
give way is the keeper's days, or the supers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.altered import altered
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
from ipmcal.planning.choose.offer import SUPER_FLOWS, Hive, Question, barred, forbidding, offered, offers
from ipmcal.planning.choose.pick import Chosen, between_reasons, pick, picked, spell_of
from ipmcal.planning.choose.wants import Want, begin_days, needs_of
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import Standing, supers_from
from ipmcal.planning.labels.verdict import verdict
from ipmcal.planning.labels.weather import weather_of


@dataclass(frozen=True, slots=True)
class Excluded:
    """A product that does not serve a need: for ``keys``, the reasons on the day on which fewest stand against it.

    ``reasons`` empty: no limit is broken, and ``words`` say what puts it behind.
    """

    need: str
    treatment: str
    keys: tuple[str, ...]
    day: int | None
    reasons: tuple[Limited, ...]
    words: str


@dataclass(frozen=True, slots=True)
class GiveWay:
    """What would have to give way for a product to serve a need: ``supers`` or ``days``, begun on ``day``."""

    need: str
    what: str
    treatment: str
    day: int
    words: str


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
    """What is chosen, by when supers come off for it, and the hives left without anything, by need."""

    courses: tuple[Chosen, ...]
    supers_off: tuple[SupersOff, ...] = ()
    left: tuple[tuple[str, tuple[str, ...]], ...] = ()


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
    wanted = needs_of(season, [(hive.key, hive.standing) for hive in hives], book, as_of, keeper.treat)
    needs = tuple(_of_those_there(need, hives) for need in wanted)
    tried = begin_days((day for day in keeper.days if day >= as_of), needs)
    weather = weather_of(yard, book)
    return Question(needs, tuple(hives), tried, yard.jurisdiction, weather, book, keeper.products, as_of)


def _of_those_there(need: Want, hives: Sequence[Hive]) -> Want:
    """A need of the whole yard, without hives that only come when its time is over."""
    there = tuple(hive.key for hive in hives if hive.since <= need.last)
    return need if need.colonies is not None or len(there) == len(hives) else replace(need, colonies=there)


def decided(ask: Question) -> Outcome:
    """What is chosen, when supers come off for it, and the hives left out; no more than planning needs."""
    courses = picked(ask)
    off = (found for course in courses if (found := supers_off(ask, course)) is not None)
    return Outcome(courses, tuple(off), tuple(_left(ask, courses)))


def runners_up(ask: Question, courses: Sequence[Chosen]) -> Iterator[Chosen]:
    """For each course the best with another main product that leaves out none of its hives, as far as there is one."""
    for one in courses:
        other = pick(ask, one.need, [course for course in courses if course is not one], without=one.main)
        if other is not None and other.treated >= one.treated:
            yield other


def _left(ask: Question, courses: Sequence[Chosen]) -> Iterator[tuple[str, tuple[str, ...]]]:
    for need in ask.needs:
        treated = {key for c in courses if c.need.name == need.name for key in c.treated}
        keys = tuple(h.key for h in ask.hives if need.wants(h.key) and h.key not in treated)
        if keys:
            yield need.name, keys


# What excluded the rest ---------------------------------------------------------------------------------------------


def excluded(ask: Question, courses: Sequence[Chosen]) -> Iterator[Excluded]:
    """For each need and each product that does not serve it, why."""
    for need in ask.needs:
        course = next((c for c in courses if c.need.name == need.name), None)
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
    if not days:
        yield Excluded(need.name, name, keys, None, (), "none of the keeper's days is in time")
        return
    bars = {bar for hive in hives for day in days if (bar := barred(ask, hive, name, ask.use(name, label, day)))}
    if bars and all(barred(ask, hive, name, ask.use(name, label, day)) for hive in hives for day in days):
        yield Excluded(need.name, name, keys, None, (), " or ".join(BARS[bar] for bar in sorted(bars)))
        return
    refused: dict[tuple[int, tuple[Limited, ...]], list[str]] = {}
    for hive in hives:
        found = _least_refused(ask, hive, need, name, label, days)
        if found is not None:
            refused.setdefault(found, []).append(hive.key)
    for (day, reasons), who in refused.items():
        what = joined(dict.fromkeys(r.limit for r in reasons))
        few = len(who) * 2 <= len(hives)
        words = f"only {joined(who)} in the way of it: {what}" if few else f"forbidden: {what}"
        yield Excluded(need.name, name, tuple(who), day, reasons, words)
    free = tuple(hive.key for hive in hives if all(hive.key not in who for who in refused.values()))
    if free and course is not None and not refused:
        yield Excluded(need.name, name, free, None, (), "no limit of its rule file is broken; another comes first")


BARS = {"class": "its class has not rested since it was given", "cold": "it is usually too cold to begin"}
"""Walls that no count opens, in words."""


def _least_refused(
    ask: Question, hive: Hive, need: Want, name: str, label: Label, days: Sequence[int]
) -> tuple[int, tuple[Limited, ...]] | None:
    """The day on which fewest reasons forbid it, and the reasons; None where on some day none does."""
    best: tuple[int, tuple[Limited, ...]] | None = None
    for day in (day for day in days if day >= hive.since):
        use = ask.use(name, label, day)
        if offered(ask, hive, name, label, use, need):
            return None
        made = verdict(name, ask.where, hive.harvested, use, search=False)
        reasons = (*forbidding(made), *too_near(name, use, hive.standing.courses, ask.book))
        if best is None or len(reasons) < len(best[1]):
            best = day, reasons
    return best


# What could give way --------------------------------------------------------------------------------------------------


def gives_way(ask: Question, left: dict[str, tuple[str, ...]]) -> Iterator[GiveWay]:
    """For each need that some hive is not served in: the first way for each product that would serve one of them."""
    for need in ask.needs:
        hives = [hive for hive in ask.hives if hive.key in left.get(need.name, ())]
        if not hives:
            continue
        every = replace(ask, days=tuple(range(max(need.first, ask.since), need.last + 1)))
        freed = replace(need, takes_supers=True)
        for what, asked, wanted in (("days", every, need), ("supers", ask, freed)):
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
    return f"{title} could begin on {short_day(day)}, with the supers off by then"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A need without a course in some ``hives`` (none named: in all): what to say, and what could give way."""

    need: str
    what: Because
    helps: Because
    hives: tuple[str, ...]


def left_out(ask: Question, made: Outcome) -> Iterator[LeftOut]:
    """Needs without a course in some hives. Days and supers may give way; never a label."""
    needs = {need.name: need for need in ask.needs}
    give_way = list(gives_way(ask, dict(made.left))) if made.left else []
    for name, keys in made.left:
        ways = tuple(way.words for way in give_way if way.need == name)[:MOST_WAYS]
        everyone = len(keys) == len([hive for hive in ask.hives if needs[name].wants(hive.key)])
        why = needs[name].why
        what = Because(Code.NO_COURSE, (why,)) if everyone else Because(Code.NO_COURSE_IN, (tuple(keys), why))
        helps = Because(Code.WAYS_OUT, (ways,)) if ways else Because(Code.OTHER_PRODUCT)
        yield LeftOut(name, what, helps, () if everyone else tuple(keys))


MOST_WAYS = 3
"""So many ways out are told."""


# Supers off, and until when a course may still begin ------------------------------------------------------------------


def supers_off(ask: Question, course: Chosen) -> SupersOff | None:
    """The day by which supers have to be off for a course.

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
    title = ask.book.treatments[course.main].title
    words = f"{title}: {counted(long, 'day')} from first to last: {need.why}"
    free = supers_from(label, use.last)
    lost = max((_flow_lost(standing[key], course, free) for key in keys), default=0)
    words = because_words(Because(Code.FLOW_GIVEN_UP, (words, lost))) if lost else words
    return SupersOff(need.name, course.main, course.day, max(need.last, course.day), keys, words)


def _flow_lost(standing: Standing, course: Chosen, free: int | None) -> int:
    """Days of main and autumn flow on which no supers may be on for a course, and would be: from the day on which they
    come off to that on which its label lets them on again (``free``), or on which they come off anyway.
    """
    ends = [s.off for s in standing.supers if s.on < course.day and s.off is not None and s.off > course.day]
    until = min([*ends, free] if ends and free is not None else ends, default=course.day)
    flows = [flow for word in SUPER_FLOWS for flow in standing.flows.get(word, ())]
    return sum(any(first <= day <= last for first, last in flows) for day in range(course.day, until))


def _come_off(standing: Standing, course: Chosen) -> bool:
    """True where supers are on in the time of the need, and have come off before the course as planned."""
    return any(s.on < course.day and (s.off is None or s.off > course.need.first) for s in standing.supers)


def window_of(ask: Question, courses: Sequence[Chosen], course: Chosen) -> tuple[int, int]:
    """The days of its need around the chosen one on which all of a course's doses would be allowed as well.

    None before it where supers come off for it: they come off for that day.
    """
    doses = _unlike(ask, [dose for dose in course.doses if dose.treatment is not None])
    beside = [(dose, _with_others(ask, courses, course, dose)) for dose in doses]

    def still(day: int) -> bool:
        return all(_still(ask, course, dose, at, day) for dose, at in beside)

    first = last = course.day
    while still(last + 1):
        last += 1
    early = supers_off(ask, course) is None
    while early and still(first - 1):
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


def _with_others(ask: Question, courses: Sequence[Chosen], course: Chosen, dose: Offer) -> Standing:
    """The hive of a dose with all that it gets of other courses."""
    hive = next(h for h in ask.hives if h.key == dose.key)
    others = [d for c in courses if c is not course for d in c.doses if d.key == dose.key and d.use is not None]
    return hive.standing.with_course(*(spell_of(ask.book, d) for d in others))


def _still(ask: Question, course: Chosen, dose: Offer, at: Standing, day: int) -> bool:
    """Whether a dose would be allowed on a day as well, in its hive as it stands beside other courses."""
    assert dose.treatment is not None
    label = label_for(ask.book.treatments[dose.treatment], ask.jurisdiction, ask.book)
    assert label is not None
    hive = next(h for h in ask.hives if h.key == dose.key)
    use = ask.use(dose.treatment, label, day)
    if not course.need.holds(use):
        return False
    on = altered(dose, use=use)
    if any(r.weight is Weight.FORBIDS for r in between_reasons(ask, at, on)):
        return False
    wanted = "as_is" if dose.supers_off is None else "off"
    return offered(ask, hive, dose.treatment, label, use, course.need) == wanted
