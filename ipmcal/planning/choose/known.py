"""Known: a colony's standing towards labels, out of what the keeper wrote, the season and the courses so far.

In: a colony's state, the yard and its season, courses. Out: ``Standing``. Pure. Temperatures: ``labels/weather.py``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from ipmcal.biology.brood import brood_from
from ipmcal.model.outfit.outfit import Event, Yard
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.reasons import Rule, Window
from ipmcal.model.rules.labels import label_for, last_step
from ipmcal.model.rules.methods import Method, Step
from ipmcal.model.rules.needs import FLOWS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.model.values.words import short_day
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, opening, span_of
from ipmcal.planning.labels.of_hive import NARROWS
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell, Standing, Stay, Stretch, use_of
from ipmcal.planning.owed.caging import cagings_owed
from ipmcal.planning.owed.cursors import DAYS_A_YEAR
from ipmcal.planning.owed.fitness import Fitness, fitness, methods_of
from ipmcal.planning.owed.ground import development
from ipmcal.planning.recall.broodless import CELLS, TO_COME, Break, breaks, castes_of, nothing_capped
from ipmcal.planning.recall.courses import Course
from ipmcal.planning.recall.situate import WANTED, harvested, keeper_days
from ipmcal.planning.recall.state import CAGED, full_on
from ipmcal.planning.recall.tender import cells_told_by

FROM_AUTUMN_ON = 183
"""What was seen in autumn tells of the winter that follows on it."""
LATER_FLOW = "autumn"
"""What labels call a flow after the main one."""
FLOOR = {"opens_floor": "open", "shuts_floor": "closed"}
"""What the mesh floor is after an event, by its effect."""


@dataclass(frozen=True)
class Setting:
    """What is known of a yard on ``as_of``, whichever colony is asked about.

    ``names`` map the keeper's products to ids; ``written`` are the lines about the yard as a whole.
    """

    yard: Yard
    season: Season
    book: Rulebook
    as_of: int
    names: Mapping[str, str]
    written: Sequence[Event] = ()

    @cached_property
    def flows(self) -> Mapping[str, tuple[Stretch, ...]]:
        """The periods of each flow."""
        return {word: tuple(_periods(self.season, mark)) for word, mark in FLOWS.items()}

    @cached_property
    def years(self) -> tuple[Stretch, ...]:
        """What counts as one year for a cap on courses."""
        return tuple(_years(self.yard, self.season, self.book))


def standing_of(state: ColonyState, there: Setting, courses: Sequence[Course]) -> Standing:
    """The standing of a colony in its yard. ``courses`` are all it had.

    Supers that nobody put on yet are taken from the season's marks where a method of the colony's puts them on.
    """
    yard, season, book, as_of, names = there.yard, there.season, there.book, there.as_of, there.names
    full = full_on(state, book.biology)
    this_season = [e for e in reversed(there.written) if season.first <= e.day]
    entrance = next((e.day for e in this_season if book.effect(e.word) == NARROWS), None)
    floor = next((e for e in reversed(state.events) if book.effect(e.word) in FLOOR), None)
    queen = state.queen - {"clipped", "unclipped", "marked"}
    winters = not book.regions[yard.region].rarely_broodless
    cells = cells_told_by(state, book)
    return Standing(
        kind=state.kind,
        full=None if full is None or full.span is None else full.span.usual,
        bee_frames=None if state.bees is None else max(state.bees[1], state.strength or 0),
        brood_frames=state.strength,
        frames=sum(box.frames for box in state.colony.boxes),
        chambers=len(state.colony.boxes),
        queen=(queen if cells is None else queen | {CELLS}) or None,
        lays_by=max((day for day in (_lays_by(state, book), cells) if day is not None), default=None),
        cagings=tuple(_cagings(state, there)),
        supers=tuple(_supers(state, yard, season, book, as_of)),
        brood=tuple(brood_spells(state, season, book, winters=winters)),
        flows={word: (*periods, *_named_flow(there, state, word)) for word, periods in there.flows.items()},
        courses=tuple(_past(course, yard, book, as_of, names) for course in courses),
        years=there.years,
        winters=tuple(_winters(season, book)),
        entrance="small" if entrance is not None else "",
        entrance_since=entrance,
        floor="" if floor is None else FLOOR[book.effect(floor.word)],
        floor_since=None if floor is None else floor.day,
        comb_honey=state.colony.comb_honey,
        suspect=state.suspect,
        traps=tuple(trap.frame.name for trap in state.traps.values() if trap.slot is not None),
        fed=tuple(e.day for e in state.events if e.word in book.planning.feeding and not book.events[e.word].look),
    )


def _lays_by(state: ColonyState, book: Rulebook) -> int | None:
    """The last day on which eggs of a queen who does not lay yet should be there; None where nobody knows one."""
    last = breaks(state, book)[-1:] if state.queen & {*TO_COME, CAGED} else ()
    return next((one.eggs.span.high for one in last if one.eggs is not None), None)


def _cagings(state: ColonyState, there: Setting) -> Iterator[Stretch]:
    """The days from a caging that a method of the colony's has to come, on its best day, to the eggs after it."""
    for one in cagings_owed(state, there.yard, there.season, there.book):
        if one.window.closes >= there.as_of:
            day = max(one.window.best, there.as_of)
            out = one.let_out(day, there.book)
            if out is not None:
                yield day, out.closes + there.book.biology.queen["lays_after_release"].value.high


def _periods(season: Season, mark: str) -> Iterator[Stretch]:
    """A period of the season as it is harvested, and of the next and the last: courses reach across."""
    found = harvested(season, mark)
    if found is not None:
        for shift in (0, -DAYS_A_YEAR, DAYS_A_YEAR):
            yield found[0] + shift, found[1] + shift


def _named_flow(there: Setting, state: ColonyState, word: str) -> Iterator[Stretch]:
    """The later flow for which the yard file wants supers back, whether its region has one or not: it is harvested from
    the day that is named to that on which they come off again, this season, the last and the next."""
    back = _wanted_back(state, there.yard, there.season, there.book) if word == LATER_FLOW else None
    if back is not None:
        first = there.season.marks[WANTED].begins.usual
        for shift in (0, -DAYS_A_YEAR, DAYS_A_YEAR):
            yield first + shift, back[1] - 1 + shift


def _years(yard: Yard, season: Season, book: Rulebook) -> Iterator[Stretch]:
    """What counts as one year for a cap: a season; and a winter, which lies in two of them."""
    begins = book.regions[yard.region].season[0]
    starts = [begins.in_year(season.year + n) for n in (-1, 0, 1, 2)]
    yield from ((first, after - 1) for first, after in pairwise(starts))
    frost, pollen = season.marks.get("first_frost"), season.marks.get("first_pollen")
    if frost is not None and pollen is not None:
        for shift in (-DAYS_A_YEAR, 0):
            yield frost.begins.usual + shift, pollen.begins.usual + DAYS_A_YEAR + shift


def _winters(season: Season, book: Rulebook) -> Iterator[Stretch]:
    """Last winter's bees and this winter's: from the day they are reared until they are gone in spring."""
    reared, pollen = season.marks.get("winter_bee_rearing_start"), season.marks.get("first_pollen")
    if reared is not None and pollen is not None:
        gone = int(book.planning.winter_bees_gone.value.upper_end)
        spring = pollen.begins.usual + (DAYS_A_YEAR if pollen.begins.usual < reared.begins.usual else 0)
        for shift in (-DAYS_A_YEAR, 0):
            yield reared.begins.usual + shift, spring + gone + shift


def _past(course: Course, yard: Yard, book: Rulebook, as_of: int, names: Mapping[str, str]) -> CourseSpell:
    """A course as labels see it; one in the hive ends on its label's best day or, where that is over, at the keeper's
    next visit, by its last good day."""
    name = names.get(course.product, course.product)
    treatment = book.treatments.get(name)
    ended = course.ended
    label = None if treatment is None else label_for(treatment, yard.jurisdiction, book)
    if ended is None and label is not None:
        use, end = use_of(label, course.began, book), last_step(label, book)
        ended = use.last if use.last >= as_of else _next_visit(yard, as_of)
        stops = [step.closes if step.hard_stop is None else step.hard_stop for step in use.steps if step.step == end]
        ended = min([ended, *(stop for stop in stops if stop >= as_of)])
    return CourseSpell(name, treatment.class_ if treatment else "", course.began, ended)


def _next_visit(yard: Yard, as_of: int) -> int:
    """The first day from ``as_of`` on which the keeper can come; that day itself where no other is known."""
    return next(iter(keeper_days(yard, as_of, as_of + DAYS_A_YEAR)), as_of)


# Supers ---------------------------------------------------------------------------------------------------------------


def _supers(state: ColonyState, yard: Yard, season: Season, book: Rulebook, as_of: int) -> Iterator[Stay]:
    """Supers on, and supers to come this season and the next."""
    on, off = season.marks.get("supers_on"), season.marks.get("supers_off")
    last = None if off is None else off.begins.usual
    back = _wanted_back(state, yard, season, book)
    if state.supers:
        since = state.days["supers.on"].day if "supers.on" in state.days else state.colony.began
        ends = [day for day in (last, back[1] if back else None) if day is not None and day > max(as_of, since)]
        yield Stay(since, min(ends, default=None))
    if back is not None and as_of < back[1] and not (state.supers and as_of >= back[0]):
        yield Stay(*back[:2], planned=True, due=back[2])
    if on is None or last is None or not _bears_supers(state, yard, season, book):
        return
    taken_off = state.days.get("supers.off")
    done = state.supers or (taken_off is not None and taken_off.day >= season.first)
    if taken_off is not None and taken_off.day >= season.first and not state.supers and as_of < last:
        again = back_on(state, yard, season, book, taken_off)
        if again is not None and again.best < last:
            yield Stay(again.best, last, planned=True, due=again.closes)
    window = None if done or as_of >= last else _put_on(state, yard, season, book)
    if window is not None and window.best < last:
        yield Stay(window.best, last, planned=True, due=window.closes)
    yield Stay(on.begins.usual + DAYS_A_YEAR, last + DAYS_A_YEAR, planned=True)


def _wanted_back(state: ColonyState, yard: Yard, season: Season, book: Rulebook) -> tuple[int, int, int] | None:
    """The days on which supers are on again for a later flow, and the last on which they are put on: as a method of the
    colony's has it that puts them on from the day that the yard file names."""
    for name in methods_of(yard, state.colony.added, state.colony.declined, book):
        steps = list(book.methods[name].steps.values())
        named = any(bound.anchor == f"season.{WANTED}" for bound in steps[0].opens)
        if not named or WANTED not in season.marks or len(steps) < 2:
            continue
        fits = fitness(book.methods[name], state, None, season, book)
        bounds = [*(step.best or step.opens for step in (steps[0], steps[-1])), steps[0].closes or ()]
        days = [bound_days(_bare(season), one, Footing({}, {}), Rule.LATEST_OF) for one in bounds]
        on, off, due = (None if one is None else span_of(one).usual for one in days)
        if not fits.meant or fits.against or on is None or off is None:
            continue
        due = off if due is None else due
        if fits.not_before is None or span_of(fits.not_before).usual <= due:  # a box that is full too late gets none
            return on, off, due
    return None


def _bare(season: Season) -> Clockwork:
    return Clockwork(season, {}, {}, {})


def _bears_supers(state: ColonyState, yard: Yard, season: Season, book: Rulebook) -> bool:
    """True where a method of the colony's puts supers on it."""
    return any(True for _ in _putting_on(state, yard, season, book))


def _put_on(state: ColonyState, yard: Yard, season: Season, book: Rulebook) -> Window | None:
    """The days on which supers go on this season, as planning opens that step; None where it never does: a box that is
    full too late gets none."""
    for method, step, fit in _putting_on(state, yard, season, book):
        work = Clockwork(season, method.clock, development(book.biology), method.seen)
        found = opening(work, step, {}, {}, fit.not_before)
        if found is not None:
            return found.window
    return None


def back_on(state: ColonyState, yard: Yard, season: Season, book: Rulebook, off: Known) -> Window | None:
    """When supers that came off go on again, where that is still worth it."""
    for method, _, _ in _putting_on(state, yard, season, book):
        work = Clockwork(season, method.clock, development(book.biology), method.seen)
        for (before, taken), (_, step) in pairwise(method.steps.items()):
            if book.effect(step.logs) != "supers_on" or book.effect(taken.logs) != "supers_off":
                continue
            found = opening(work, step, {before: off}, {}, None)
            worth = bound_days(work, step.worth_until or (), Footing({}, {}), Rule.LATEST_OF)
            if found is not None and (worth is None or found.window.opens <= span_of(worth).usual):
                return found.window
    return None


def _putting_on(
    state: ColonyState, yard: Yard, season: Season, book: Rulebook
) -> Iterator[tuple[Method, Step, Fitness]]:
    """The methods of the colony's that begin with supers put on, as far as they fit it, with that step."""
    for method in (book.methods[name] for name in methods_of(yard, state.colony.added, state.colony.declined, book)):
        first = next(iter(method.steps.values()))
        if book.effect(first.logs) == "supers_on":
            fit = fitness(method, state, None, season, book)
            if fit.meant and not fit.against:
                yield method, first, fit


# Brood ----------------------------------------------------------------------------------------------------------------


def brood_spells(state: ColonyState, season: Season, book: Rulebook, *, winters: bool = True) -> Iterator[BroodSpell]:
    """Spells without capped brood, sure or to be looked at, by what was written; ``winters`` are to be looked at.

    Nothing is capped once the last drone is out, and until the first egg's cell could be: 25 days after the last egg,
    and 8 days after the first.
    """
    rests = []
    for pause in breaks(state, book):
        rests += [pause] if pause.rests else []
        yield from _spells_of(pause, state.kind, book)
    own = [e for e in state.events if e.trap is None]
    for seen in (e for e in own if book.effect(e.word) == "no_brood"):
        last = seen.day + book.biology.castes.worker.capped.value.low
        yield BroodSpell("none", seen.day, last, f"none found on {short_day(seen.day)}")
    mark = season.marks.get("brood_minimum")
    if winters and mark is not None and mark.ends is not None:
        for shift in (0, -DAYS_A_YEAR, DAYS_A_YEAR):
            first, last = mark.begins.low + shift, mark.ends.high + shift
            # where eggs were looked for in autumn, and her seen, the last brood is out so long after, and not before
            told = [one for one in rests if 0 < last - one.since < FROM_AUTUMN_ON]
            first = max((first, *(nothing_capped(one, book.biology).opens.usual for one in told)))
            yield BroodSpell("unknown", first, last, "least brood of the year: found, not dated")


def _spells_of(pause: Break, kind: str, book: Rulebook) -> Iterator[BroodSpell]:
    """From the day on which nothing is capped any more to the day before something may be; without eggs: no end."""
    days, stop = nothing_capped(pause, book.biology), pause.stop
    if pause.rests and days.closes is not None and stop is not None:
        why = because_words(Because(Code.LAST_BROOD_OUT, (stop.day,)))
        yield BroodSpell("unknown", days.opens.usual, days.closes.low, why, last_brood=True)
        return
    begun = f"a {kind} on bare comb" if pause.bare else pause.why.note
    why = begun if stop is None else f"{book.events[stop.word].title} on {short_day(stop.day)}"
    sure = days.opens.high
    if days.closes is None or pause.eggs is None:
        yield BroodSpell("none", sure, None, why, pays=True)
        yield BroodSpell("unknown", days.opens.low, None, why)
        return
    latest = brood_from(Span.exact(pause.eggs.span.high), castes_of(book.biology)).capped.low - 1
    if sure <= days.closes.low:
        yield BroodSpell("none", sure, days.closes.low, why, pays=True)
    elif sure <= latest:
        yield BroodSpell("unknown", sure, latest, f"{why}: look for eggs first", pays=True)
    if days.opens.low <= days.closes.high:
        yield BroodSpell("unknown", days.opens.low, days.closes.high, why)
