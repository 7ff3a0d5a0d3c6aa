"""Programs: a yard's season planned by one program and by another, to be laid side by side.

In: an outfit, the rulebook, programs by name. Out: ``ProgramYear`` values. Pure: it plans anew, no more. All else stays
as the yard file has it: hives, days, the keeper's own products, what was written.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.compared import ProgramYear
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.ahead.drawn import YardSeason, pictures_of, seasons_of
from ipmcal.planning.ahead.settled import odds_by_year
from ipmcal.planning.plan import make_plan


def by_programs(
    outfit: Outfit, book: Rulebook, as_of: int, season: int | None, programs: Sequence[str]
) -> Iterator[ProgramYear]:
    """Each yard's season under each program, yard by yard; of two seasons that are planned the later one.

    Raises ``place.season.TooFar``, and KeyError for a program that there is no rule file for.
    """
    made: list[tuple[str, Outfit, Plan]] = []
    for name in programs:
        other = replace(outfit, yards=tuple(replace(yard, program=name) for yard in outfit.yards))
        made.append((name, other, make_plan(other, book, as_of, season)))
    for key in (yard.key for yard in outfit.yards):
        for name, other, plan in made:
            view = [one for one in plan.yards if one.key == key][-1]
            there = replace(plan, yards=(view,))
            (season_there,) = seasons_of(other, book, there)
            yield _year(season_there, there, name)


def _year(one: YardSeason, plan: Plan, program: str) -> ProgramYear:
    (view,), book = plan.yards, one.ground.book
    key = view.key
    tasks = {t.id: t for t in plan.tasks if t.yard == key and t.season == view.season and t.planned is not None}
    visits = [v for v in plan.visits if v.yard == key and any(task in tasks for task in v.tasks)]
    counted = {t.planned for t in tasks.values() if book.events[t.logs].value == "count"}
    drawn = [(made.picture, odds_by_year(one, made)) for made in pictures_of(one)]
    return ProgramYear(
        program=program,
        title=book.programs[program].title,
        yard=key,
        yard_name=view.name,
        season=view.season,
        visits=len(visits),
        minutes=sum(visit.minutes for visit in visits),
        counts=len(counted),
        cuts=len({day for made, _ in drawn for day in made.cuts if day >= plan.as_of}),
        conflicts=sum(conflict.yard == key for conflict in plan.conflicts),
        mites=tuple(made for made, _ in drawn),
        odds=tuple(odds for _, odds in drawn),
    )
