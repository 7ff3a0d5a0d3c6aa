"""Asked: a yard's season as a question to the search of a year, as it stood on the morning of a day.

In: a yard that is ready, the keeper's names of products, courses planned for the season before. Out: ``YearQuestion``.
Pure. What was written later than that day is not known to it, so that the question of a day stays the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ipmcal.biology.mites.colony import OVERWINTERED
from ipmcal.biology.mites.figures import MiteFigures, figures_of
from ipmcal.biology.mites.handling import Trap
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.ahead.given import ColonyWork, built_again, history_given
from ipmcal.planning.choose.asked import Earlier, products_of
from ipmcal.planning.choose.known import Setting, standing_of
from ipmcal.planning.labels.standing import CourseSpell, Standing, use_of
from ipmcal.planning.mites.asking.caged import with_cagings
from ipmcal.planning.mites.asking.question import YearQuestion, marks_of, start_of
from ipmcal.planning.mites.living.lived import Remembered, Stock
from ipmcal.planning.mites.walls import is_quick
from ipmcal.planning.owed.fitness import methods_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.ready import Ready
from ipmcal.planning.recall.courses import Course
from ipmcal.planning.recall.situate import keeper_days
from ipmcal.planning.recall.state import recall
from ipmcal.planning.yearly.caged import break_to_come
from ipmcal.planning.yearly.remembered import KeptYears, Latest

_OLD, _WEEK = "overwintered", 7


@dataclass(frozen=True)
class YearOfYard:
    """A yard's season of which the year is asked. ``banned``: treatments and days on which none may begin."""

    one: Ready
    outfit: Outfit
    earlier: Earlier
    banned: frozenset[tuple[str, int]]
    kept: KeptYears

    @cached_property
    def products(self) -> tuple[str, ...]:
        """What may be planned with, liked best first."""
        return products_of(self.one).kept

    @property
    def ground(self) -> Ground:
        """The yard, its season, the rules."""
        return self.one.ground

    @property
    def region(self) -> Region:
        """The region of the yard."""
        return self.ground.book.regions[self.ground.yard.region]

    @cached_property
    def leading(self) -> tuple[ColonyState, ...]:
        """The hives whose year is asked: those that came through winter; where there are none, the most that began as
        one kind on one day.
        """
        old = [state for state in self.one.treated if state.kind == _OLD]
        if old:
            return tuple(old)
        began = Counter((state.kind, state.colony.began) for state in self.one.treated)
        most = max(began, key=lambda key: (began[key], -key[1], key[0]))
        return tuple(state for state in self.one.treated if (state.kind, state.colony.began) == most)

    @cached_property
    def first(self) -> int:
        """The first day of the season on which the hives that lead are there, and anything is known of them."""
        return max(self.ground.season.first, min(state.colony.began for state in self.leading), self.ground.since)

    @property
    def last(self) -> int:
        """The last day on which a course may be begun: a season with a leap day is as long as the others."""
        season = self.ground.season
        return min(season.last, season.first + YEAR_DAYS - 1)

    @cached_property
    def visiting(self) -> KeeperDays:
        """The keeper's days of the season, those that are over too."""
        ground = self.ground
        return keeper_days(ground.yard, ground.season.first, self.last, ground.book.planning.no_visits)

    @cached_property
    def days(self) -> tuple[int, ...]:
        """The keeper's days of the season on which a course may be begun: the first of each week."""
        weeks: dict[int, int] = {}
        for day in self.visiting.of(self.visiting.between(self.ground.season.first, self.last)):
            weeks.setdefault((day - self.ground.season.first) // _WEEK, day)
        return tuple(weeks.values())

    def last_chance(self, first: int, last: int) -> int:
        """The last of the keeper's days in a stretch: by the morning after, it has gone by. Without any, its end."""
        return max(self.visiting.of(self.visiting.between(first, last)), default=last)

    def courses(self, state: ColonyState) -> Sequence[Course]:
        """What a hive was given."""
        return self.one.courses.get(state.colony.key, ())

    def spells(self, state: ColonyState, before: int) -> tuple[CourseSpell, ...]:
        """What a hive was given before a day, as labels see it: this season's, and all those before."""
        courses = [course for course in self.courses(state) if course.began < before]
        ended = [
            course if course.ended is None or course.ended < before else replace(course, ended=None)
            for course in courses
        ]
        known = standing_of(self.on(state, before), self._setting(before), ended).courses
        planned = [course for course in self.earlier.get(state.colony.key, ()) if course.began < before]
        return (*known, *planned)

    def on(self, state: ColonyState, day: int) -> ColonyState:
        """A hive as it stood on the morning of a day."""
        colony = replace(state.colony, history=())
        return recall(colony, state.events, self.ground.season, day - 1, self.ground.book)

    def _setting(self, day: int) -> Setting:
        ground = self.ground
        written = tuple(line for line in ground.written if line.day < day)
        return Setting(ground.yard, ground.season, ground.book, day, self.outfit.products, written)

    def standing(self, state: ColonyState, day: int) -> Standing:
        """A hive's standing on the morning of a day."""
        made = standing_of(self.on(state, day), self._setting(day), ())
        return replace(made, courses=self.spells(state, day))

    @cached_property
    def pauses(self) -> tuple[int, ...]:
        """The days on which the brood of the hive that leads stopped, or a swarm left it, in this season."""
        work = ColonyWork(self.ground, self.leading[0], (), ())
        history = history_given(work, figures_in(self.ground.book).beginnings)
        return tuple(sorted([first for first, _ in history.pauses] + [one.day for one in history.left]))


def asked_on(year: YearOfYard, day: int, fixed: Iterable[CourseSpell] = (), own: Sequence[str] = ()) -> YearQuestion:
    """The question as it stood on the morning of a day; ``fixed`` are courses of the season that are in every set.
    ``own``: products of doses to come in a break of the hives' own, which is no work of the year.

    A caging that the hives' own method has to come is work of the year: it is taken where a dose rests on it.
    """
    ground, region = year.ground, year.region
    yard, book, season = ground.yard, ground.book, ground.season
    state = year.leading[0]
    program = book.programs[yard.program]
    standing = year.standing(state, day)
    given = tuple(fixed)
    known = {(one.treatment, one.began) for one in standing.courses}
    more = tuple(one for one in given if (one.treatment, one.began) not in known)
    days = tuple(one for one in year.days if one >= day)
    asked = YearQuestion(
        book=book,
        region=region,
        season=season,
        jurisdiction=yard.jurisdiction,
        standing=replace(
            standing,
            courses=(*standing.courses, *more),
            brood=tuple(spell for spell in standing.brood if not spell.pays),
        ),
        stock=_stock(year, state, day),
        days=days,
        products=year.products,
        named=yard.treatments is not None,
        few="swarm_check" not in program.methods,
        fixed=given,
        banned=year.banned,
        packed=True,
        own_breaks=tuple(spell for spell in standing.brood if spell.pays),
        own_doses=tuple(own),
    )
    caged = break_to_come(ground, year.on(state, day), region, days)
    return with_cagings(asked, () if caged is None else (caged,))


def _stock(year: YearOfYard, state: ColonyState, day: int) -> Stock:
    ground, figures = year.ground, figures_in(year.ground.book)
    marks = marks_of(ground.season, year.region)
    work = ColonyWork(replace(ground, as_of=day), year.on(state, day), (), ())
    history = history_given(work, figures.beginnings)
    young = state.kind != _OLD
    return Stock(
        marks=marks,
        figures=figures,
        first=ground.season.first,
        start=_start(year, state, figures),
        history=OVERWINTERED if young else history,
        traps=() if young else tuple(_traps(year, state)),
        young=history if young else None,
        memory=_PLACES.of(ground.book, (marks, ground.season.first), Remembered),
    )


def _start(year: YearOfYard, state: ColonyState, figures: MiteFigures) -> float:
    """The median of mites to begin with, by what is known of the last weeks of least brood, or of how it began."""
    medians, ground = figures.starts.medians, year.ground
    if state.kind != _OLD:
        return medians["package" if state.kind == "package" else "swarm_or_nucleus"]
    least = ground.season.marks["brood_minimum"].begins.low
    first = ground.season.first - (ground.season.first - least) % YEAR_DAYS
    if any(first <= spell.began and _is_dose(year, spell) for spell in year.spells(state, ground.season.first)):
        return start_of(year.region, figures, "dosed")
    return start_of(year.region, figures, "undosed" if 0 < ground.since <= first else "unknown")


def _is_dose(year: YearOfYard, spell: CourseSpell) -> bool:
    book = year.ground.book
    treatment = book.treatments.get(spell.treatment)
    label = None if treatment is None else label_for(treatment, year.ground.yard.jurisdiction, book)
    return treatment is not None and label is not None and is_quick(treatment, use_of(label, spell.began, book), book)


def _traps(year: YearOfYard, state: ColonyState) -> Iterator[Trap]:
    """Trap combs as the year has room for them: laid once drones are reared, cut on a day of the keeper's once most of
    their cells are capped and before the first drone is out, built again, until drones are wanted no more.
    """
    ground, book = year.ground, year.ground.book
    names = methods_of(ground.yard, state.colony.added, state.colony.declined, book)
    if not any(book.methods[name].per == "trap_frame" and _cuts(book, name) for name in names):
        return
    drone = book.biology.castes.drone
    capped, emerges = round(drone.capped.value.high or 0), round(drone.emerges.value.low or 0)
    begins, ends = (ground.season.marks[name].begins.usual for name in ("drone_rearing_start", "drone_rearing_end"))
    days = keeper_days(ground.yard, ground.season.first, ground.season.last)
    for frame in state.colony.traps[:1]:
        built, laid = built_again(book, frame.kind), begins
        while laid + emerges <= ends:
            ripe = [day for day in days if laid + built + capped <= day < laid + emerges]
            if ripe:
                yield Trap(laid, ripe[0])
            laid = (ripe[0] if ripe else laid + emerges) + built


def _cuts(book: Rulebook, name: str) -> bool:
    return any(book.effect(step.logs) == "empties_trap" for step in book.methods[name].steps.values())


_PLACES: Latest[Remembered] = Latest(4)
_FIGURES: Latest[MiteFigures] = Latest(4)


def figures_in(book: Rulebook) -> MiteFigures:
    """The figures of a rulebook's mites, worked out once."""
    return _FIGURES.of(book, (), lambda: figures_of(book.mites))
