"""Compare: what a day is worth, by planning again without it, or with one weekday more.

In: an outfit, the rulebook, a plan of it. Out: numbers of visits and what gives way. Pure: it plans anew, no more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Conflict, Plan
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import day
from ipmcal.planning.plan import Scope, make_plan

WEEK = 7


@dataclass(frozen=True, slots=True)
class Without:
    """A plan without one day: its visits at that yard, and what it has that the plan with it has not.

    Conflicts, and courses in words.
    """

    visits: int
    conflicts: tuple[Conflict, ...]
    courses: tuple[str, ...] = ()


def without(outfit: Outfit, book: Rulebook, plan: Plan, visit: Visit) -> Without:
    """What would have to give if the keeper could not come on the day of a visit."""
    yards = tuple(
        replace(yard, away=(*yard.away, (visit.day, visit.day))) if yard.key == visit.yard else yard
        for yard in outfit.yards
    )
    season = _season(plan, visit.yard)
    other = make_plan(replace(outfit, yards=yards), book, plan.as_of, season, scope=Scope(only=visit.yard))
    known = {(c.yard, c.subject, c.what) for c in plan.conflicts}
    new = tuple(c for c in other.conflicts if c.yard == visit.yard and (c.yard, c.subject, c.what) not in known)
    before = {(one.yard, words) for one in plan.choosing for words in one.chosen}
    courses = [w for one in other.choosing if one.yard == visit.yard for w in one.chosen if (one.yard, w) not in before]
    return Without(_visits(other, visit.yard), new, tuple(courses))


def _season(plan: Plan, yard: str) -> int | None:
    """The one season that a plan is about; None where it is about two."""
    seasons = [view.season for view in plan.yards if view.key == yard]
    return seasons[0] if len(seasons) == 1 else None


def _visits(plan: Plan, yard: str) -> int:
    return sum(visit.yard == yard for visit in plan.visits)


def weekday_savings(outfit: Outfit, book: Rulebook, plan: Plan, key: str) -> tuple[tuple[int, int], ...]:
    """Each weekday (Monday 0) on which the keeper does not come to a yard, with the visits that it would save.

    Up to six plans of that yard, so it is worked out where it is asked for only. Nothing for a keeper of all days.
    """
    yard = next(one for one in outfit.yards if one.key == key)
    season = _season(plan, key)
    now = _visits(plan, key)
    found = []
    for weekday in range(WEEK) if yard.weekdays is not None else ():
        if weekday not in (yard.weekdays or ()):
            more = replace(yard, weekdays=tuple(sorted((*(yard.weekdays or ()), weekday))))
            wider = replace(outfit, yards=tuple(more if y.key == key else y for y in outfit.yards))
            saved = now - _visits(make_plan(wider, book, plan.as_of, season, scope=Scope(only=key)), key)
            if saved > 0:
                found.append((weekday, saved))
    return tuple(found)


def find_visit(plan: Plan, name: str) -> Visit | None:
    """A visit by its id (``orchard/2027-05-17``), or by its day where only one yard is visited then."""
    found = [v for v in plan.visits if v.id == name or day(v.day).isoformat() == name]
    return found[0] if len(found) == 1 else None
