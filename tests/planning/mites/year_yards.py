"""Yards of every region and program as questions to the search, their handwork on the days that planning has for it.

In: a region, a program, a kind of beginning, weekdays. Out: ``YearQuestion``. Invented yards.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from planning.yards import YEAR, colony, outfit, season_begins, shipped, short, told, yard

from ipmcal.biology.mites.figures import figures_of
from ipmcal.biology.mites.handling import Trap
from ipmcal.biology.mites.histories import nucleus, package
from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.mites.asking.caged import with_cagings
from ipmcal.planning.mites.asking.question import BreaksIf, YearQuestion, marks_of, start_of
from ipmcal.planning.mites.base import break_by, made_break, rounds_of
from ipmcal.planning.mites.living.lived import Stock
from ipmcal.planning.options import standings
from ipmcal.planning.plan import make_plan
from ipmcal.planning.recall.roster import roster
from ipmcal.planning.recall.situate import keeper_days, season_of

SAT = (5,)
PROGRAMS = ("full", "acids_and_handwork", "trap_combs", "few_drives")
REBUILT = 3
"""Days until there are eggs in a trap comb that was cut (biology of ``trap_comb_cut``: 1 to 3 to 7)."""


@dataclass(frozen=True)
class Kept:
    """A yard as it is kept: the outfit, today's plan of its season, the question to the search."""

    region: str
    program: str
    outfit: Outfit
    today: Plan
    question: YearQuestion


def the_yard(region: str, program: str, weekdays: tuple[int, ...] = SAT) -> Yard:
    """A yard of one overwintered colony with a short frame at the region's reference place."""
    one = colony("1", f"{YEAR - 2}-06-01", "overwintered", [short()])
    law = shipped().regions[region].jurisdiction
    assert law is not None
    return replace(yard(one, region=region, program=program, weekdays=weekdays), jurisdiction=law)


@cache
def without_products() -> Rulebook:
    """The rules as shipped, no program with products: its handwork alone."""
    programs = {name: one.model_copy(update={"treatments": ()}) for name, one in shipped().programs.items()}
    return replace(shipped(), programs=programs)


@lru_cache(maxsize=4)
def kept(region: str, program: str, weekdays: tuple[int, ...] = SAT) -> Kept:
    """A yard of one overwintered colony."""
    first = season_begins(region)
    mine = outfit(the_yard(region, program, weekdays))
    today = make_plan(mine, without_products(), first, YEAR)
    return Kept(region, program, mine, today, question(mine, today))


def question(mine: Outfit, today: Plan, as_of: int | None = None) -> YearQuestion:
    """The question of a yard: its handwork as today's plan has it."""
    book, one = shipped(), mine.yards[0]
    region = book.regions[one.region]
    first = season_begins(one.region) if as_of is None else as_of
    season = season_of(one, book, first, YEAR)
    standing = standings(mine, roster(mine, book, first).yards[0], book, first, YEAR)[0].standing
    days = keeper_days(one, season.first, season.last).ordinals
    breaks, breaks_if = _breaks_of(one, today, region, season, days)
    figures = figures_of(book.mites)
    asked = YearQuestion(
        book=book,
        region=region,
        season=season,
        jurisdiction=one.jurisdiction,
        standing=standing,
        stock=Stock(
            marks=marks_of(season, region),
            figures=figures,
            first=season.first,
            start=start_of(region, figures, "unknown"),
            traps=tuple(_traps(today, season.marks["drone_rearing_start"].begins.usual)),
        ),
        days=days,
        products=book.programs[one.program].treatments,
        few="swarm_check" not in book.programs[one.program].methods,
    )
    return with_cagings(asked, breaks, breaks_if)


def _breaks_of(
    one: Yard, today: Plan, region: Region, season: Season, days: tuple[int, ...]
) -> tuple[tuple[CagedBreak, ...], BreaksIf]:
    """Breaks that a program's keeper may make, and when: as its own work; who cages queens now and then, where that is
    better; who lifts combs for traps, where it is needed; who drives out little, never."""
    methods = shipped().programs[one.program].methods
    if "brood_break_caging" in methods:
        return tuple(_breaks(today, region, season, days)), "always"
    slot = next(s for s in rounds_of(region, season) if s.name == "late_summer")
    made = break_by(shipped(), season, region, days, slot.by or slot.last)
    if made is None or "trap_comb_cut" not in methods:
        return (), "always"
    return (made,), "better" if "queen_caged" in methods else "needed"


def _breaks(today: Plan, region: Region, season: Season, days: tuple[int, ...]) -> Iterator[CagedBreak]:
    """The break of the program: on today's plan's days, but in time for the published day of the summer treatment."""
    done = {t.step: t.planned for t in today.tasks if t.method == "brood_break_caging" and t.planned is not None}
    if "cage" not in done or "release" not in done:
        return
    caged, released = done["cage"], done["release"]
    assert caged is not None
    assert released is not None
    slot = next(one for one in rounds_of(region, season) if one.name == "late_summer")
    in_time = break_by(shipped(), season, region, days, released)
    if slot.by is not None and not slot.first <= released <= slot.by and in_time is not None:
        yield in_time
    else:
        yield made_break(shipped(), caged, released)


def _traps(today: Plan, drones: int) -> Iterator[Trap]:
    """Trap combs by the days of today's plan."""
    steps = sorted((t.planned, t.step) for t in today.tasks if t.method == "trap_comb_cut" and t.planned is not None)
    laid: int | None = None
    for day, step in steps:
        if laid is not None and step in ("cut", "take_out"):
            yield Trap(laid, day)
        laid = max(day + REBUILT, drones) if step in ("hang", "cut") else None


@lru_cache(maxsize=4)
def begun(region: str, kind: str, program: str = "first_year", mark: str = "drone_rearing_start") -> Kept:
    """A yard of one package or nucleus, hived on the usual day of a mark, and asked for on that day."""
    book = shipped()
    plain = the_yard(region, program)
    day = season_of(plain, book, season_begins(region), YEAR).marks[mark].begins.usual
    one = replace(colony("1", kind=kind, boxes=["deep"]), began=day, began_text=f"{told(day)} {kind}")
    mine = outfit(replace(plain, colonies=(one,)))
    today = make_plan(mine, without_products(), day, YEAR)
    asked = question(mine, today, day)
    figures = asked.stock.figures
    eggs = day + book.biology.queen["lays_after_release"].value.usual
    how = package(day, eggs, figures.beginnings) if kind == "package" else nucleus(day, figures.beginnings)
    median = figures.starts.medians["package" if kind == "package" else "swarm_or_nucleus"]
    stock = replace(asked.stock, young=how, start=median)
    days = tuple(d for d in asked.days if d >= day)
    return Kept(region, program, mine, today, replace(asked, stock=stock, days=days, package=kind == "package"))
