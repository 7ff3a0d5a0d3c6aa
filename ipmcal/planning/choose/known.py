"""Known: a colony's standing towards labels, out of what the keeper wrote, the season and the courses so far.

In: a colony's state, the yard and its season, courses. Out: ``Standing``. Pure. Temperatures: ``labels/weather.py``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from ipmcal.biology.brood import Castes, Development, Mating, walk_away
from ipmcal.model.outfit.outfit import Event, Yard
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.model.values.words import short_day
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import BroodSpell, Days, Past, Standing, Stay, use_of
from ipmcal.planning.owed.fitness import FLOWS, fitness, methods_of
from ipmcal.planning.recall.broodless import WITHOUT_BROOD
from ipmcal.planning.recall.courses import Course
from ipmcal.planning.recall.state import full_on

SMALL, OPEN, SHUT = "entrances_small", "floor_opened", "floor_closed"
YEAR = 365


def standing_of(
    state: ColonyState,
    yard: Yard,
    season: Season,
    book: Rulebook,
    as_of: int,
    courses: Sequence[Course],
    names: Mapping[str, str],
    written: Sequence[Event] = (),
) -> Standing:
    """The standing of a colony on ``as_of``. ``courses`` are all it had; ``names`` map the keeper's products to ids.

    ``written`` are the lines about the yard as a whole. Supers that nobody put on yet are taken from the season's marks
    where a method of the colony's puts them on.
    """
    full = full_on(state, book.biology)
    entrance = next((e.day for e in reversed(written) if e.word == SMALL and season.first <= e.day), None)
    floor = next((e for e in reversed(state.events) if e.word in (OPEN, SHUT)), None)
    queen = state.queen - {"clipped", "unclipped", "marked"}
    winters = not book.regions[yard.region].rarely_broodless
    return Standing(
        kind=state.kind,
        full=None if full is None or full.span is None else full.span.usual,
        brood_frames=state.strength,
        frames=sum(box.frames for box in state.colony.boxes),
        chambers=len(state.colony.boxes),
        queen=queen or None,
        supers=tuple(_supers(state, yard, season, book, as_of)),
        brood=tuple(brood_spells(state, season, book, winters=winters)),
        flows={word: tuple(_periods(season, mark)) for word, mark in FLOWS.items()},
        courses=tuple(_past(course, yard, book, as_of, names) for course in courses),
        years=tuple(_years(yard, season, book)),
        entrance="small" if entrance is not None else "",
        entrance_since=entrance,
        floor="" if floor is None else "open" if floor.word == OPEN else "closed",
        floor_since=None if floor is None else floor.day,
        suspect=state.suspect,
        traps=tuple(trap.frame.name for trap in state.traps.values() if trap.slot is not None),
    )


def _periods(season: Season, mark: str) -> Iterator[Days]:
    """A period of the season, and of the next and the last: courses reach across."""
    found = season.marks.get(mark)
    if found is not None and found.ends is not None:
        for shift in (0, -YEAR, YEAR):
            yield found.begins.usual + shift, found.ends.usual + shift


def _years(yard: Yard, season: Season, book: Rulebook) -> Iterator[Days]:
    """What counts as one year for a cap: a season; and a winter, which lies in two of them."""
    begins = book.regions[yard.region].season[0]
    starts = [begins.in_year(season.year + n) for n in (-1, 0, 1, 2)]
    yield from ((first, after - 1) for first, after in pairwise(starts))
    frost, pollen = season.marks.get("first_frost"), season.marks.get("first_pollen")
    if frost is not None and pollen is not None:
        for shift in (-YEAR, 0):
            yield frost.begins.usual + shift, pollen.begins.usual + YEAR + shift


def _past(course: Course, yard: Yard, book: Rulebook, as_of: int, names: Mapping[str, str]) -> Past:
    """A course as labels see it; one in the hive ends on its label's best day, if that is ahead."""
    name = names.get(course.product, course.product)
    treatment = book.treatments.get(name)
    ended = course.ended
    label = None if treatment is None else label_for(treatment, yard.jurisdiction, book)
    if ended is None and label is not None:
        planned = use_of(label, course.began, book).last
        ended = planned if planned > as_of else None
    return Past(name, treatment.class_ if treatment else "", course.began, ended)


# Supers ---------------------------------------------------------------------------------------------------------------


def _supers(state: ColonyState, yard: Yard, season: Season, book: Rulebook, as_of: int) -> Iterator[Stay]:
    """Supers on, and supers to come this season and the next."""
    on, off = season.marks.get("supers_on"), season.marks.get("supers_off")
    last = None if off is None else off.begins.usual
    if state.supers:
        since = state.days["supers.on"].day if "supers.on" in state.days else state.colony.began
        yield Stay(since, last if last is not None and last > as_of else None)
    if on is None or last is None or not _bears_supers(state, yard, season, book):
        return
    taken_off = state.days.get("supers.off")
    done = state.supers or (taken_off is not None and taken_off.day >= season.first)
    if not done and as_of < last:
        full = full_on(state, book.biology)
        ready = full.span.usual if full is not None and full.span is not None else 0
        first = max(on.begins.usual, ready)
        if first < last:
            yield Stay(first, last, planned=True)
    yield Stay(on.begins.usual + YEAR, last + YEAR, planned=True)


def _bears_supers(state: ColonyState, yard: Yard, season: Season, book: Rulebook) -> bool:
    """True where a method of the colony's puts supers on it."""
    names = methods_of(yard, state.colony.added, state.colony.declined, book)
    for method in (book.methods[name] for name in names):
        if any(book.events[step.logs].effect == "supers_on" for step in method.steps.values()):
            fits = fitness(method, state, None, season, book)
            if fits.meant and not fits.against:
                return True
    return False


# Brood ----------------------------------------------------------------------------------------------------------------


def brood_spells(state: ColonyState, season: Season, book: Rulebook, *, winters: bool = True) -> Iterator[BroodSpell]:
    """Spells without capped brood, sure or to be looked at, by what was written; ``winters`` are to be looked at.

    Nothing is capped once the last drone is out, and until the first egg's cell could be: 25 days after the last egg,
    and 8 days after the first.
    """
    effects = {word: rule.effect for word, rule in book.events.items()}
    own = [e for e in state.events if e.trap is None]
    biology = book.biology
    if state.kind in WITHOUT_BROOD:
        eggs = Span.exact(state.colony.began) + biology.queen["lays_after_release"].value
        yield from _gap(state.colony.began, state.colony.began, eggs, biology, f"a {state.kind} on bare comb")
    for stop in (e for e in own if effects[e.word] == "stops_laying"):
        drones, workers = biology.castes.drone.emerges.value.high, biology.castes.worker.emerges.value.low
        why = f"{book.events[stop.word].title} on {short_day(stop.day)}"
        yield from _gap(stop.day + drones, stop.day + workers, _eggs(stop, own, effects, biology), biology, why)
    for seen in (e for e in own if effects[e.word] == "no_brood"):
        last = seen.day + biology.castes.worker.capped.value.low
        yield BroodSpell("none", seen.day, last, f"none found on {short_day(seen.day)}")
    mark = season.marks.get("brood_minimum")
    if winters and mark is not None and mark.ends is not None:
        for shift in (0, -YEAR, YEAR):
            first, last = mark.begins.low + shift, mark.ends.high + shift
            yield BroodSpell("unknown", first, last, "least brood of the year: found, not dated")


def _gap(sure: int, perhaps: int, eggs: Span | None, biology: Biology, why: str) -> Iterator[BroodSpell]:
    """From the day on which nothing is capped any more to the day before something may be; ``eggs`` None: no end."""
    capped = biology.castes.worker.capped.value
    last = None if eggs is None else eggs.low + capped.low - 1
    if last is None or sure <= last:
        yield BroodSpell("none", sure, last, why, pays=True)
    elif eggs is not None and sure <= eggs.high + capped.low - 1:
        yield BroodSpell("unknown", sure, eggs.high + capped.low - 1, f"{why}: look for eggs first", pays=True)
    end = None if eggs is None else eggs.high + capped.high - 1
    if end is None or perhaps <= end:
        yield BroodSpell("unknown", perhaps, end, why)


def _eggs(stop: Event, events: Sequence[Event], effects: Mapping[str, str], biology: Biology) -> Span | None:
    """The first eggs after laying stopped; None while the queen is caged, as far as is written."""
    for event in events:
        if event.day > stop.day and effects[event.word] == "starts_laying":
            return Span.exact(event.day) + biology.queen["lays_after_release"].value
        if event.day > stop.day and effects[event.word] == "queen" and event.value == "laying":
            return Span(max(stop.day, event.day - biology.hatches.value.high), event.day, event.day)
    if stop.word == "caged":
        return None
    known, queen = biology.castes, biology.queen
    mating = Mating(queen["mature_after_emerging"].value, queen["lays_after_mating"].value)
    if stop.word == "swarmed":  # cells are capped when a swarm leaves
        left = Span.exact(stop.day) + Span(
            known.queen.emerges.value.low - known.queen.capped.value.high,
            known.queen.emerges.value.usual - known.queen.capped.value.usual,
            known.queen.emerges.value.high - known.queen.capped.value.low,
        )
        return left + mating.flies + mating.lays
    castes = Castes(
        biology.hatches.value,
        *(Development(c.capped.value, c.emerges.value) for c in (known.worker, known.drone, known.queen)),
    )
    return walk_away(Span.exact(stop.day), queen["larva_age_when_chosen"].value, castes, mating).queen.first_egg
