"""Drawn: the picture of each yard's season: what the mites do under the plan as it is packed.

In: an outfit, the rulebook, a plan of it. Out: ``MiteYear`` values, one for hives that came through winter and one for
those of this season. Pure: it reads the plan and changes nothing of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby

from ipmcal.biology.mites.draws import drawing
from ipmcal.biology.mites.figures import MiteFigures, figures_of
from ipmcal.biology.mites.handling import MiteReach
from ipmcal.biology.mites.year import YEAR_DAYS, Marks
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.mites import LoadRange, MiteBar, MiteLine, MiteOdds, MiteYear
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.ahead.given import (
    ColonyWork,
    GivenCourse,
    acts_until,
    courses_given,
    history_given,
    in_model,
    tasks_by_colony,
    traps_given,
)
from ipmcal.planning.ahead.lived import HiveLoads, HiveYear, KnownLives, PlaceOfBees, loads_of
from ipmcal.planning.ahead.points import anchors_of, count_points, on_bees
from ipmcal.planning.decide.tally import Count, announced, counts, title_of
from ipmcal.planning.mites.asking.question import marks_of, start_of
from ipmcal.planning.mites.enough import judged_days
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.ready import Ready, by_subject, ready
from ipmcal.planning.recall.courses import renamed
from ipmcal.planning.recall.roster import roster

DRAWS, FEWEST = 100, 12
"""Draws of all hives of a picture together, and the fewest of one hive: a matter of speed."""
OF_BEES = 100
"""Bees that lines are asked for: a line is a rate, so that any number gives the same."""
OLD, NEW = "overwintered", "new"
"""How the hives of a picture began: they came through winter, or are of this season."""
QUANTILES = (0.1, 0.5, 0.9)


def mite_years(outfit: Outfit, book: Rulebook, plan: Plan) -> tuple[MiteYear, ...]:
    """The picture of every season that a plan is about, in the order of its yards."""
    return tuple(made.picture for one in seasons_of(outfit, book, plan) for made in pictures_of(one))


def seasons_of(outfit: Outfit, book: Rulebook, plan: Plan) -> Iterator[YardSeason]:
    """The yards' seasons that a plan is about."""
    known = outfit
    if outfit.journal is not None:
        known = replace(outfit, journal=tuple(renamed(event, outfit, book) for event in outfit.journal))
    about, figures = by_subject(known.past), figures_of(book.mites)
    memory: dict[tuple[Marks, int], KnownLives] = {}
    yards = {yard.key: yard for yard in roster(known, book, plan.as_of).yards}
    for view in plan.yards:
        (one,) = ready(yards[view.key], about, known, book, plan.as_of, view.season)
        yield YardSeason(one, plan, figures, memory)


@dataclass(frozen=True)
class YardSeason:
    """A yard's season as it is known and planned.

    ``memory``: the colonies of yards that were drawn before, by marks and the number of draws: neighbours share them.
    """

    known: Ready
    plan: Plan
    figures: MiteFigures
    memory: dict[tuple[Marks, int], KnownLives] = field(default_factory=dict, compare=False)

    @property
    def ground(self) -> Ground:
        """The yard, its season, the rules."""
        return self.known.ground

    @property
    def region(self) -> Region:
        """The region of the yard."""
        return self.ground.book.regions[self.ground.yard.region]

    @property
    def days(self) -> tuple[int, int]:
        """The first and the last day that is drawn: a whole year, so that a winter dose is seen."""
        first = self.ground.season.first
        return first, first + YEAR_DAYS - 1

    @cached_property
    def work(self) -> dict[str, ColonyWork]:
        """What each colony gets, by its key."""
        ground, known = self.ground, self.known
        tasks = tasks_by_colony(self.plan.tasks, ground.yard.key, self.days)
        return {
            state.colony.key: ColonyWork(
                ground, state, known.courses.get(state.colony.key, ()), tasks.get(state.colony.key, ())
            )
            for state in known.treated
        }

    @cached_property
    def counted(self) -> dict[str, tuple[Count, ...]]:
        """The season's counts, by colony."""
        ground = self.ground
        return {state.colony.key: counts(state, ground.season, ground.book) for state in self.known.treated}


@dataclass(frozen=True)
class DrawnYear:
    """A picture, with the hives that it is of, what each comes to, and the draws."""

    picture: MiteYear
    states: tuple[ColonyState, ...]
    loads: Mapping[str, HiveLoads]
    place: PlaceOfBees


def pictures_of(one: YardSeason) -> Iterator[DrawnYear]:
    """The pictures of a season: of hives that came through winter, and of those of this season."""
    groups: dict[str, list[ColonyState]] = {}
    for state in one.known.treated:
        groups.setdefault(OLD if state.kind == OLD else NEW, []).append(state)
    for kind in (one for one in (OLD, NEW) if one in groups):
        states = sorted(groups[kind], key=lambda state: state.colony.walk)
        there = [state for state in states if state.colony.began <= one.days[1]]
        if there:
            yield _picture(one, kind, there)


def _picture(one: YardSeason, kind: str, states: Sequence[ColonyState]) -> DrawnYear:
    ground = one.ground
    place = _place(one, len(states))
    courses = {state.colony.key: courses_given(one.work[state.colony.key]) for state in states}
    hives = [_hive(one, state, courses[state.colony.key], n) for n, state in enumerate(states)]
    lived = dict(zip(courses, loads_of(hives, place), strict=True))
    first = min(loads.begins for loads in lived.values())
    planned = _ranges([loads.planned for loads in lived.values()], lived, first)
    bare = _ranges([loads.untreated for loads in lived.values()], lived, first)
    lines = tuple(lines_between(ground, (first, one.days[1])))
    own = [count for state in states for count in one.counted[state.colony.key]]
    winter = _winter(one)
    picture = MiteYear(
        yard=ground.yard.key,
        season=ground.season.year,
        hives=tuple(state.colony.key for state in states),
        kind=kind,
        first=first,
        days=planned,
        untreated=tuple(one.median for one in bare),
        lines=lines,
        counts=tuple(count_points(own, _far(states, one, lived), ground.stick.counting, one.figures)),
        courses=tuple(_bars(one, states, courses)),
        cuts=tuple(sorted({t.cut for s in states for t in traps_given(one.work[s.colony.key]) if t.cut is not None})),
        winter=winter,
        whose=_whose(ground, (first, one.days[1])),
        on_winter=_at(planned, winter[0] - first),
        untreated_on_winter=_at(bare, winter[0] - first),
        odds=_odds(one, lived, lines),
        stray=sum(on_bees(count.sample, one.figures) is None for count in own),
    )
    return DrawnYear(picture, tuple(states), lived, place)


def _at(ranges: Sequence[LoadRange], place: int) -> LoadRange | None:
    return ranges[place] if 0 <= place < len(ranges) else None


def _place(one: YardSeason, hives: int) -> PlaceOfBees:
    many, marks = max(FEWEST, -(-DRAWS // hives)), marks_of(one.ground.season, one.region)
    draws = drawing(one.figures, one.region.rarely_broodless, many)
    return PlaceOfBees(marks, one.figures, draws, known=one.memory.setdefault((marks, many), {}))


def _hive(one: YardSeason, state: ColonyState, courses: Sequence[GivenCourse], place: int) -> HiveYear:
    key, ground = state.colony.key, one.ground
    work = one.work[key]
    others = [count for other, some in one.counted.items() if other != key for count in some]
    together = int(ground.stick.counting.together.value.middle)
    return HiveYear(
        first=one.days[0],
        last=one.days[1],
        history=history_given(work, one.figures.beginnings),
        traps=traps_given(work),
        given=tuple(part for course in courses if not course.planned for part in in_model(work, course)),
        ahead=tuple(part for course in courses if course.planned for part in in_model(work, course)),
        start=_start(one, work),
        place=place,
        anchors=anchors_of(one.counted[key], others, together, one.figures),
    )


def _start(one: YardSeason, work: ColonyWork) -> float:
    """The median of mites to begin with, by what is known of the weeks of least brood, or of how it began.

    An acid is never taken for given: only where it is written; that there was none, only where a journal was kept.
    """
    state, ground = work.state, one.ground
    medians = one.figures.starts.medians
    if state.kind != OLD:
        return medians["package" if state.kind == "package" else "swarm_or_nucleus"]
    least = ground.season.marks["brood_minimum"]
    assert least.ends is not None
    first = ground.season.first - (ground.season.first - least.begins.low) % YEAR_DAYS
    dosed = any(
        part.reach is MiteReach.DOSE and first <= part.first <= ground.as_of
        for course in courses_given(work)
        if not course.planned and course.use.first <= least.ends.high
        for part in in_model(work, course)
        if part.first < ground.season.first
    )
    if dosed:
        return start_of(one.region, one.figures, "dosed")
    return start_of(one.region, one.figures, "undosed" if 0 < ground.since <= first else "unknown")


# Over draws and hives -------------------------------------------------------------------------------------------------


def _ranges(rows: Sequence[Sequence[list[float]]], lived: Mapping[str, HiveLoads], first: int) -> tuple[LoadRange, ...]:
    """Median and band by day, over all hives that are there and all draws."""
    begins = [loads.begins - first for loads in lived.values()]
    days = max(len(some[0]) + begin for some, begin in zip(rows, begins, strict=True))
    found = []
    for t in range(days):
        values = [draw[t - begin] for some, begin in zip(rows, begins, strict=True) if t >= begin for draw in some]
        values.sort()
        last = len(values) - 1
        found.append(LoadRange(*(round(values[round(last * q)], 3) for q in QUANTILES)))
    return tuple(found)


def _odds(one: YardSeason, lived: Mapping[str, HiveLoads], lines: Sequence[MiteLine]) -> MiteOdds | None:
    """How many are over the line on the day on which most are, of the days that are judged and still lie ahead."""
    judged = judged_days(one.ground.season, one.region, one.ground.book)
    days = [day for day in judged if one.ground.as_of <= day <= one.days[1]]
    days = [day for day in days if line_on(lines, day) is not None]
    if not days:
        return None

    def worst(rows: Mapping[str, Sequence[list[float]]]) -> float:
        return max(_share(rows, lived, day, line_on(lines, day)) for day in days)

    planned = worst({key: loads.planned for key, loads in lived.items()})
    bare = worst({key: loads.untreated for key, loads in lived.items()})
    most = one.ground.book.planning.year_plans.enough.over.value.middle / 100
    return MiteOdds(days[0], days[-1], planned, bare, planned <= most)


def _share(
    rows: Mapping[str, Sequence[list[float]]], lived: Mapping[str, HiveLoads], day: int, line: MiteLine | None
) -> float:
    values = [draw[day - lived[key].begins] for key, some in rows.items() if day >= lived[key].begins for draw in some]
    return sum(load_is_over(value, line) for value in values) / len(values) if values else 0.0


def load_is_over(load: float, line: MiteLine | None) -> bool:
    """Whether a load, mites in 100 bees, is over a line."""
    return line is not None and (load > line.load or (load == line.load and not line.above))


def line_on(lines: Sequence[MiteLine], day: int) -> MiteLine | None:
    """The line of a day."""
    return next((line for line in lines if line.first <= day <= line.last), None)


def lines_between(ground: Ground, days: tuple[int, int]) -> Iterator[MiteLine]:
    """The authority's line, day by day, in spans on which it stays the same."""

    def line_of(day: int) -> tuple[float, bool] | None:
        found = announced(day, ground.stick, OLD, OF_BEES)
        line = None if found is None else found[0].rule.line
        return None if line is None else (100.0 * float(line.value.rate), line.value.above)

    for line, run in groupby(range(days[0], days[1] + 1), key=line_of):
        if line is not None:
            same = list(run)
            yield MiteLine(same[0], same[-1], *line)


def _whose(ground: Ground, days: tuple[int, int]) -> str:
    """Whose line it is, by its title; "" where there is none."""
    found = (announced(day, ground.stick, OLD, OF_BEES) for day in range(days[0], days[1] + 1, 30))
    first = next((one[0].authority for one in found if one is not None), "")
    return title_of(first, ground.yard.jurisdiction, ground.book) if first else ""


def _winter(one: YardSeason) -> tuple[int, int]:
    """The days on which winter bees are reared."""
    marks = one.ground.season.marks
    begins, least = marks["winter_bee_rearing_start"].begins.usual, marks["brood_minimum"].begins.usual
    first = one.days[0] + (begins - one.days[0]) % YEAR_DAYS
    return first, first + (least - 1 - first) % YEAR_DAYS


def _far(states: Sequence[ColonyState], one: YardSeason, lived: Mapping[str, HiveLoads]) -> dict[tuple[str, int], str]:
    """Counts that the draws had not expected."""
    found: dict[tuple[str, int], str] = {}
    for state in states:
        key = state.colony.key
        own = sorted(c.day for c in one.counted[key] if on_bees(c.sample, one.figures) is not None)
        found |= {(key, day): told for day, told in zip(own, lived[key].far, strict=True) if told}
    return found


def _bars(
    one: YardSeason, states: Sequence[ColonyState], courses: Mapping[str, Sequence[GivenCourse]]
) -> Iterator[MiteBar]:
    """The courses of all hives, each once."""
    found: dict[tuple[str, int, int, bool], None] = {}
    for state in states:
        work = one.work[state.colony.key]
        for course in courses[state.colony.key]:
            last = acts_until(work, course)
            if last >= one.days[0] and course.use.first <= one.days[1]:
                title = one.ground.book.treatments[course.product].title
                found[(title, course.use.first, last, course.planned)] = None
    for title, first, last, planned in sorted(found, key=lambda bar: (bar[1], bar[0])):
        yield MiteBar(title, first, last, planned)
