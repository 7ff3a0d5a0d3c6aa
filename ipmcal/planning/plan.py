"""The pipeline on one page: an outfit and a rulebook become a plan.

In: what was read, and ``as_of``. Out: a ``Plan``. Pure: no files, no clock, no randomness.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from ipmcal.model.days import KeeperDays
from ipmcal.model.outfit import Event, Outfit, Yard
from ipmcal.model.plan import Conflict, Plan, Refusal, Task, Visit, YardView
from ipmcal.model.rules import Rulebook
from ipmcal.model.words import short_day
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, season_at, season_year
from ipmcal.planning.ground import Ground
from ipmcal.planning.pack import pack
from ipmcal.planning.recall import recall
from ipmcal.planning.settle import settle
from ipmcal.planning.tally import yardstick
from ipmcal.planning.unfold import unfold
from ipmcal.planning.views import yard_view


@dataclass(frozen=True, slots=True)
class _Part:
    """One yard's part of the plan."""

    view: YardView
    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    refusals: tuple[Refusal, ...]


def make_plan(
    outfit: Outfit,
    book: Rulebook,
    as_of: int,
    season: int | None = None,
    tell: Callable[[str], None] = lambda yard: None,
) -> Plan:
    """The plan of an outfit on the morning of ``as_of``, for the season named by the year it begins in.

    Without ``season``: the one that holds ``as_of``, or the next where little of it is left. ``tell`` is called with
    each yard's name as its turn comes. Raises ``place.season.TooFar`` for a yard too far from its region's reference.
    """
    parts = []
    for yard in outfit.yards:
        tell(yard.name)
        lines = [e for e in outfit.journal or () if e.yard == yard.key]
        parts.append(_yard(yard, lines, outfit.journal is not None, book, as_of, season))
    walk = {(p.view.key, c.key): i for p in parts for i, c in enumerate(p.view.colonies)}
    tasks = [task for part in parts for task in part.tasks]
    return Plan(
        outfit=outfit.id,
        outfit_name=outfit.name,
        as_of=as_of,
        yards=tuple(p.view for p in parts),
        tasks=tuple(sorted(tasks, key=lambda t: (_day(t), t.yard, walk.get((t.yard, t.colony or ""), -1), t.id))),
        visits=tuple(sorted((v for p in parts for v in p.visits), key=lambda v: (v.day, v.yard))),
        conflicts=tuple(c for p in parts for c in p.conflicts),
        refusals=tuple(r for p in parts for r in p.refusals),
        notes=_notes(outfit, tasks, as_of),
        rules_checked=tuple(_checked(book, key, as_of) for key in _used(outfit, tasks, book)),
    )


def _day(task: Task) -> int:
    return next(day for day in (task.planned, task.done, task.window.best) if day is not None)


def season_of(yard: Yard, book: Rulebook, as_of: int, year: int | None, lines: Sequence[Event] = ()) -> Season:
    """Situate: the region's season, moved to the yard, and by what ``lines`` say was seen there up to ``as_of``."""
    region = book.regions[yard.region]
    site = Site(yard.latitude, yard.longitude, yard.elevation)
    if year is None:
        year = season_year(region, as_of, int(book.planning.next_season_within.value.middle))
    observed = _observed(yard, book, as_of, year, lines)
    readings = {day: pair for day, pair in yard.readings.items() if day < as_of}
    return season_at(region, book.marks, book.planning, site, year, observed, readings)


def _observed(yard: Yard, book: Rulebook, as_of: int, year: int, lines: Sequence[Event]) -> dict[str, int]:
    """The first day on which each mark was seen in a season, from the yard's file and from lines."""
    first = book.regions[yard.region].season[0].in_year(year)
    seen = [(event.value, event.day) for event in lines if book.events[event.word].effect == "marks_season"]
    days: dict[str, int] = {}
    for mark, day in (*yard.observed.items(), *seen):
        if first <= day <= as_of:
            days[mark] = min(day, days.get(mark, day))
    return days


def keeper_days(yard: Yard, first: int, last: int) -> KeeperDays:
    """The days from ``first`` to ``last`` on which the keeper can come."""
    away = {day for begin, end in yard.away for day in range(max(begin, first), min(end, last) + 1)}
    days = (d for d in range(first, last + 1) if d not in away)
    return KeeperDays(tuple(d for d in days if yard.weekdays is None or date.fromordinal(d).weekday() in yard.weekdays))


def _yard(yard: Yard, lines: Sequence[Event], recorded: bool, book: Rulebook, as_of: int, year: int | None) -> _Part:
    season = season_of(yard, book, as_of, year, [*lines, *(e for c in yard.colonies for e in c.history)])
    first = max(season.first, as_of) if recorded else season.first
    written = tuple(e for e in lines if e.colony is None and e.day <= as_of)
    days, past = keeper_days(yard, first, season.last), keeper_days(yard, season.first, first - 1)
    stick = yardstick(season, yard.jurisdiction, book)
    ground = Ground(yard, book, season, days, as_of, recorded, past, stick, written)
    states = tuple(
        recall(colony, [e for e in lines if e.colony == colony.key], season, as_of, book) for colony in yard.colonies
    )
    unfolded = unfold(ground, states)
    placing = pack([errand.strand for errand in unfolded.errands if errand.chain.nodes], ground.days)
    settled = settle(ground, unfolded.errands, placing.paths)
    view = yard_view(ground, states)
    return _Part(view, settled.tasks, settled.visits, settled.conflicts, unfolded.refusals)


def _notes(outfit: Outfit, tasks: Sequence[Task], as_of: int) -> tuple[str, ...]:
    if outfit.journal is None and any(task.done is not None for task in tasks):
        return (f"There is no journal: what was due before {short_day(as_of)} is taken as done as planned.",)
    return ()


def _used(outfit: Outfit, tasks: Sequence[Task], book: Rulebook) -> list[str]:
    """The rule files that this plan rests on, by key."""
    keys = {"biology", "hives", "marks", "planning", *(f"methods/{task.method}" for task in tasks)}
    for yard in outfit.yards:
        keys |= {f"regions/{yard.region}", f"jurisdictions/{yard.jurisdiction}", f"programs/{yard.program}"}
        keys |= {"counting", *(f"thresholds/{name}" for name in book.jurisdictions[yard.jurisdiction].thresholds)}
    return sorted(keys & set(book.files))


def _checked(book: Rulebook, key: str, as_of: int) -> str:
    checked = book.files[key].checked.toordinal()
    old = as_of - checked > book.planning.review_after.value.middle
    return f"{date.fromordinal(checked).isoformat()} {key}" + (
        " (not checked for long: check your label)" if old else ""
    )
