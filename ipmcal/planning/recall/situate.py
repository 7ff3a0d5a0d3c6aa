"""Situate: the region's season at a yard, and the days on which its keeper can come.

In: a yard, the rulebook, what was seen there. Out: ``Season``, ``KeeperDays``. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date

from ipmcal.model.outfit.outfit import Event, Yard
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.needs import FLOW_DONE, FLOWS, FORETOLD
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import KeeperDays, Span
from ipmcal.model.values.forms import MonthDay
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, SeasonMark, Seen, season_at, season_year, season_years


def seasons_on(yard: Yard, book: Rulebook, as_of: int) -> tuple[int, ...]:
    """The seasons that a yard is planned for on a day, each by the year in which it begins. A season ends when its last
    task is done: for some weeks it is planned beside the next."""
    planning = book.planning
    within, runs_on = (int(value.value.middle) for value in (planning.next_season_within, planning.season_runs_on))
    return season_years(book.regions[yard.region], as_of, within, runs_on)


def season_of(yard: Yard, book: Rulebook, as_of: int, year: int | None, lines: Sequence[Event] = ()) -> Season:
    """Situate: the region's season, moved to the yard, and by what ``lines`` say was seen there up to ``as_of``.

    Without ``year``: the season that holds ``as_of``.
    """
    region = book.regions[yard.region]
    site = Site(yard.latitude, yard.longitude, yard.elevation)
    if year is None:
        year = season_year(region, as_of)
    observed = _observed(yard, book, as_of, year, lines)
    readings = {day: pair for day, pair in yard.readings.items() if day < as_of}
    return _as_kept(season_at(region, book.marks, book.planning, site, year, Seen(observed, readings)), yard)


HARVEST, WANTED, OFF = "harvest", "supers_wanted", "supers_off"
"""Marks that a yard file names: when honey is taken, when supers are wanted back; and when they usually come off."""
FLOW = FLOWS["main"]


def _as_kept(season: Season, yard: Yard) -> Season:
    """The season with the days that the yard file names: by the harvest supers are off, whatever is usual there."""
    marks = dict(season.marks)
    for name, said in ((HARVEST, yard.harvest), (WANTED, yard.supers_wanted)):
        if said is not None:
            day = said.on_or_after(season.first)
            why = Reason(Rule.NAMED, name, Span.exact(day), (), (), str(said))
            marks[name] = SeasonMark(Span.exact(day), None, why, None)
    if HARVEST in marks:
        marks[OFF] = marks[HARVEST]
    done = _flow_done(marks)
    return replace(season, marks=marks if done is None else {**marks, FLOW_DONE: done})


def _flow_done(marks: Mapping[str, SeasonMark]) -> SeasonMark | None:
    """The end of the main flow, or the harvest before it, where no supers are wanted back before it ends."""
    flow, harvest, wanted = (marks.get(name) for name in (FLOW, HARVEST, WANTED))
    if flow is None or flow.ends is None or flow.why_ends is None:
        return None
    if harvest is not None and harvest.begins.usual < flow.ends.usual:
        taken = harvest.begins.usual
        if wanted is None or not taken < wanted.begins.usual <= flow.ends.usual:
            return harvest
    return SeasonMark(flow.ends, None, flow.why_ends, None)


def harvested(season: Season, flow: str) -> tuple[int, int] | None:
    """The usual first and last day of a flow, the main flow as long as its honey is taken; None where there is none."""
    mark = season.marks.get(flow)
    if mark is None or mark.ends is None:
        return None
    last = season.marks[FLOW_DONE].begins.usual if flow == FLOW and FLOW_DONE in season.marks else mark.ends.usual
    return (mark.begins.usual, last) if mark.begins.usual <= last else None


def _observed(yard: Yard, book: Rulebook, as_of: int, year: int, lines: Sequence[Event]) -> dict[str, int]:
    """The first day on which each mark was seen in a season, from the yard's file and from lines."""
    first = book.regions[yard.region].season[0].in_year(year)
    seen = [(event.value, event.day) for event in lines if book.events[event.word].effect == "marks_season"]
    days: dict[str, int] = {}
    for mark, day in (*yard.observed.items(), *seen):
        if first <= day <= as_of:
            days[mark] = min(day, days.get(mark, day))
    return days


def keeper_days(yard: Yard, first: int, last: int, rest: Collection[MonthDay] = ()) -> KeeperDays:
    """The days from ``first`` to ``last`` on which the keeper can come; holidays are days to ``rest``, if it can be.

    A day on which bought bees come to the yard, as its file has it, is one of them, whatever its weekday.
    """
    away = {day for begin, end in yard.away for day in range(max(begin, first), min(end, last) + 1)}
    came = {colony.began for colony in yard.colonies if colony.kind in FORETOLD}
    days = [d for d in range(first, last + 1) if d not in away]
    days = [d for d in days if d in came or yard.weekdays is None or date.fromordinal(d).weekday() in yard.weekdays]
    resting: set[int] = set()
    for year in sorted({date.fromordinal(d).year for d in days}):
        resting.update(one.in_year(year) for one in rest)
        resting |= yard.holidays.in_year(year) if yard.holidays is not None else frozenset()
    return KeeperDays(tuple(days), sum(1 << i for i, d in enumerate(days) if d in resting))
