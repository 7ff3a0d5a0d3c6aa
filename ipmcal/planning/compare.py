"""Compare: what a day is worth, by planning again without it, or with one weekday more.

In: an outfit, the rulebook, a plan of it. Out: numbers of visits and what gives way. Pure: it plans anew, no more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.plan import Conflict, Plan, YardWorth
from ipmcal.model.plan.tasks import Visit
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import day
from ipmcal.planning.plan import make_plan

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
    season = next(view.season for view in plan.yards if view.key == visit.yard)
    other = make_plan(replace(outfit, yards=yards), book, plan.as_of, season, only=visit.yard)
    known = {(c.yard, c.subject, c.what) for c in plan.conflicts}
    new = tuple(c for c in other.conflicts if c.yard == visit.yard and (c.yard, c.subject, c.what) not in known)
    before = {(one.yard, words) for one in plan.choosing for words in one.chosen}
    courses = [w for one in other.choosing if one.yard == visit.yard for w in one.chosen if (one.yard, w) not in before]
    return Without(_visits(other, visit.yard), new, tuple(courses))


def _visits(plan: Plan, yard: str) -> int:
    return sum(visit.yard == yard for visit in plan.visits)


def with_worth(outfit: Outfit, book: Rulebook, plan: Plan) -> Plan:
    """The plan with what one more weekday would save each yard."""
    by_key = {yard.key: yard for yard in outfit.yards}
    worth = tuple(
        replace(one, saves=tuple(_saves(outfit, book, plan, by_key[one.yard], one))) if one.yard in by_key else one
        for one in plan.worth
    )
    return replace(plan, worth=worth)


def _saves(outfit: Outfit, book: Rulebook, plan: Plan, yard: Yard, worth: YardWorth) -> Iterator[tuple[int, int]]:
    """Each weekday on which the keeper does not come, with the visits that it would save."""
    if yard.weekdays is None:
        return
    season = next(view.season for view in plan.yards if view.key == yard.key)
    for weekday in range(WEEK):
        if weekday not in yard.weekdays:
            more = replace(yard, weekdays=tuple(sorted((*yard.weekdays, weekday))))
            alone = replace(outfit, yards=tuple(more if y.key == yard.key else y for y in outfit.yards))
            saved = worth.visits - _visits(make_plan(alone, book, plan.as_of, season, only=yard.key), yard.key)
            if saved > 0:
                yield weekday, saved


def find_visit(plan: Plan, name: str) -> Visit | None:
    """A visit by its id (``orchard/2027-05-17``), or by its day where only one yard is visited then."""
    found = [v for v in plan.visits if v.id == name or day(v.day).isoformat() == name]
    return found[0] if len(found) == 1 else None
