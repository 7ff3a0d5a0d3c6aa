"""Settled: what the same courses come to next year, and when they are kept up year after year.

In: a yard's season, its hives, what they carry at its end. Out: ``OddsByYear``. Pure. The model is linear in mites, so
that a year is a map, x to a·x + b, and its own end b / (1 - a) the start that it leads to.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.biology.mites.colony import History
from ipmcal.biology.mites.draws import Draw, usual
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.compared import OddsByYear
from ipmcal.planning.ahead.drawn import DrawnYear, YardSeason, line_on, lines_between, load_is_over
from ipmcal.planning.ahead.given import courses_given, history_given, in_model, traps_given
from ipmcal.planning.mites.accept import JudgedYears, years
from ipmcal.planning.mites.asking.question import marks_of
from ipmcal.planning.mites.enough import judged_days
from ipmcal.planning.mites.living.hazards import Hazards
from ipmcal.planning.mites.living.lived import Lived, Stock, lived

EACH = 100.0
"""Loads of the judged years are mites a bee; lines are mites in 100."""


def odds_by_year(one: YardSeason, drawn: DrawnYear) -> OddsByYear | None:
    """The odds of the hives of a picture; None where the authority has no line for mites on bees."""
    lines = tuple(lines_between(one.ground, one.days))
    judged = judged_days(one.ground.season, one.region, one.ground.book)
    days = [day for day in judged if one.days[0] <= day <= one.days[1] and line_on(lines, day) is not None]
    if not days or drawn.picture.odds is None:
        return None
    most = one.ground.book.planning.year_plans.enough.settled_most.value.middle
    next_: list[list[float]] = []
    settled: list[list[float]] = []
    for state in drawn.states:
        rows = zip(_years(one, state, drawn.place.draws), drawn.loads[state.colony.key].ends, strict=True)
        for year, end in rows:
            next_.append(year.loads(end, days))
            settled.append(year.loads(year.settled(most), days))

    def worst(rows: Sequence[Sequence[float]]) -> float:
        over = (sum(load_is_over(EACH * row[n], line_on(lines, day)) for row in rows) for n, day in enumerate(days))
        return max(over) / len(rows)

    return OddsByYear(drawn.picture.odds.planned, worst(next_), worst(settled))


def _years(one: YardSeason, state: ColonyState, draws: Sequence[Draw]) -> JudgedYears:
    """A year like this one with all of its courses, of a colony that is there from its first day on."""
    work = one.work[state.colony.key]
    courses = [part for course in courses_given(work) for part in in_model(work, course)]
    pauses = history_given(work, one.figures.beginnings).pauses
    stock = Stock(
        marks=marks_of(one.ground.season, one.region),
        figures=one.figures,
        first=one.days[0],
        start=1.0,
        history=History(pauses=pauses),
        traps=traps_given(work),
    )
    hazards = Hazards(Lived(stock, usual(one.figures, one.region.rarely_broodless)))
    inside = [part for part in courses if one.days[0] <= part.first <= one.days[1]]
    return years(lived(stock, draws), inside, hazards)
