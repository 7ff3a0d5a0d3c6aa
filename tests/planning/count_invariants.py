"""What holds for the counts of any plan: as often as the mites want it, and one before each course. In: a plan.

Days and figures are those of ``planning.yaml`` (``year_plans``, ``counts``), with their sources; what is held is said
here by itself: of a hive that came through winter, in which nothing but visits was written, on days that nothing bars.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from planning.count_gaps import too_far

from ipmcal.model.outfit.outfit import Colony, Event, Outfit, Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import month_day
from ipmcal.place.season import Season
from ipmcal.planning.decide.rhythm import CountSetting, counting_time
from ipmcal.planning.mites.answers import usual_weather
from ipmcal.planning.options import standings
from ipmcal.planning.owed.fitness import methods_of
from ipmcal.planning.recall.broodless import spells
from ipmcal.planning.recall.situate import keeper_days, season_of

PLAIN = (
    "none", "treats", "strips_in", "strips_out", "supers_on", "supers_off", "hangs_trap", "empties_trap",
    "takes_trap_out", "moves_trap", "narrows_clock", "does_own", "not_done", "shuts_floor", "opens_floor",
    "narrows_entrance",
)  # fmt: skip
"""Effects of lines after which no count has to wait: others may mean no brood, few bees, a hive that looks sick."""
WARM = 16.0
"""Usual high, degrees Celsius: from 15 on combs may be lifted; a degree to spare for places away from the reference."""


@dataclass(frozen=True)
class _Hive:
    """A hive of a yard in a plan, its tasks of a season, the rules."""

    plan: Plan
    yard: Yard
    colony: Colony
    season: Season
    tasks: Sequence[Task]
    book: Rulebook

    def days(self, *logs: str) -> list[int]:
        """The days, done or planned, of its tasks with these words."""
        some = (t.planned if t.planned is not None else t.done for t in self.tasks if t.logs in logs)
        return sorted(day for day in some if day is not None)

    @property
    def spells(self) -> list[tuple[int, int]]:
        """First and last day of all that is given in it, by method."""
        found: dict[str, list[int]] = {}
        for task in self.tasks:
            day = task.planned if task.planned is not None else task.done
            if day is not None and task.method not in self.book.methods:
                found.setdefault(task.method, []).append(day)
        return [(min(days), max(days)) for days in found.values()]


def counts_hold(plan: Plan, outfit: Outfit, book: Rulebook) -> None:
    """A hive is counted all along while there is brood, and before each course, on days on which nothing bars it."""
    for hive in _plain_hives(plan, outfit, book):
        mine = (e for e in _lines(outfit) if e.colony == hive.colony.key)
        written = [e.day for e in mine if e.word in book.planning.counts]
        counts = sorted({*written, *hive.days(*book.planning.counts)})
        free = list(_free(hive))
        counted_all_along(hive, counts, free)
        counted_before(hive, counts, free)
    for yard in outfit.yards:
        for colony in yard.colonies:
            mine = [t for t in plan.tasks if t.colony == colony.key and t.yard == yard.key]
            nothing_told_twice(mine, book, partial(_bare, plan, outfit, yard, colony, book))


def _plain_hives(plan: Plan, outfit: Outfit, book: Rulebook) -> Iterator[_Hive]:
    """The hives that came through winter, in which nothing upset the brood, of yards in which none looks sick."""
    lines = _lines(outfit)
    upset = {e.colony for e in lines if book.effect(e.word) not in PLAIN}
    upset |= {e.value.split()[0] for e in lines if e.value and e.word in ("united", "split_from")}
    sick = {e.yard for e in lines if book.effect(e.word) == "suspects"}
    for yard in (yard for yard in outfit.yards if yard.key not in sick and yard.hours is None and not yard.away):
        season = season_of(yard, book, plan.as_of, plan.yards[0].season)
        for colony in yard.colonies:
            names = methods_of(yard, colony.added, colony.declined, book)
            tasks = [t for t in plan.tasks if t.colony == colony.key and t.yard == yard.key]
            caged = any(book.effect(t.logs) not in PLAIN for t in tasks)
            mine = any(book.methods[name].rhythm for name in names) and not caged and bool(tasks)
            if mine and colony.kind == "overwintered" and colony.began < season.first and colony.key not in upset:
                yield _Hive(plan, yard, colony, season, tasks, book)


def _lines(outfit: Outfit) -> list[Event]:
    """All that was written, in the journal and in yard files."""
    return [*(outfit.journal or ()), *(e for yard in outfit.yards for c in yard.colonies for e in c.history)]


def _free(hive: _Hive) -> Iterator[int]:
    """The keeper's days to come on which combs may be lifted, and nothing lies in the hive."""
    plan, season = hive.plan, hive.season
    region = hive.book.regions[hive.yard.region]
    weather = usual_weather(region, season.first, season.last)
    days = keeper_days(hive.yard, max(plan.as_of, season.first), season.last, hive.book.planning.no_visits)
    for day in days:
        lies = any(first - 3 <= day <= last for first, last in hive.spells)
        if weather.readings[day][0] >= WARM and day not in hive.yard.readings and not lies and not days.rests(day):
            yield day


def counted_all_along(hive: _Hive, counts: Sequence[int], free: Collection[int]) -> None:
    """No stretch of the season of brood goes by without a count on a day that was free for one."""
    region, rhythm = hive.book.regions[hive.yard.region], hive.book.planning.year_plans.counts
    weather = usual_weather(region, hive.season.first, hive.season.last)
    few = "swarm_check" not in hive.book.programs[hive.yard.program].methods
    days = keeper_days(hive.yard, hive.season.first, hive.season.last).ordinals
    high = {day: weather.readings[day][0] for day in days}
    setting = CountSetting(hive.season, days, high.__getitem__, rhythm, region.base.counts, (), few)
    combs = set(counting_time(setting))  # while there is least brood no comb is lifted, however warm it is
    soon = hive.plan.as_of + round(hive.book.planning.year_plans.offered.at_once.value.high or 0)
    most = round((rhythm.few if few else rhythm.apart).value.high or 0)
    for first, last in too_far(setting, counts):
        open_ = [day for day in free if first < day < last and day in combs]
        in_time = [day for day in open_ if day <= max(first + most, soon)]
        late = [day for day in open_ if max(first + most, soon) < day]
        told = f"{hive.colony.key}: no count from {month_day(first)} to {month_day(last)}"
        assert not (in_time and late), f"{told}, and {month_day(in_time[-1])} was free"


def counted_before(hive: _Hive, counts: Sequence[int], free: Collection[int]) -> None:
    """A course that the year chose has a count before it, where one of its days was free for one."""
    before = round(hive.book.planning.year_plans.counts.before.value.high or 0)
    given = [t for t in hive.tasks if t.planned is not None and hive.book.effect(t.logs) in ("treats", "strips_in")]
    for task in given:
        day = task.planned
        name = task.method if task.method in hive.book.treatments else task.method.rpartition("_")[0]
        first = min(t.planned or t.done or 0 for t in hive.tasks if t.method == task.method and t.logs == task.logs)
        quick = hive.book.treatments[name].common.kills.in_cells.value == "no" and task.logs == "treated"
        if day is None or day != first or quick:
            continue
        days = [one for one in free if day - before <= one < day]
        told = any(day - before <= one <= day for one in counts)
        assert told or len(days) < 2, f"{task.id}: no count before it, and {month_day(days[-1])} was free"


SEALED = 10
"""Days, an assumption: a worker's cell is sealed for 12 (BEEBOOK, Human et al. 2013), so that most of
what sat in cells at a count is out."""
OF_THE_RHYTHM = "days without a count while there is brood"
"""What a count says of itself that no course and no turn of the year asks for."""


def _bare(plan: Plan, outfit: Outfit, yard: Yard, colony: Colony, book: Rulebook, day: int) -> bool:
    """Whether a hive had no brood on a day, so that a count made on it judges nothing."""
    stood = standings(outfit, yard, book, plan.as_of)
    mine = (one.state for one in stood if one.state.colony.key == colony.key)
    return any(spell.holds(day) for state in mine for spell in spells(state, book))


def nothing_told_twice(tasks: Sequence[Task], book: Rulebook, bare: Callable[[int], bool]) -> None:
    """No count that the rhythm alone asks for lies so near another of its hive that both tell the same."""
    counts = [(t.planned if t.planned is not None else t.done or 0, t) for t in tasks if t.logs in book.planning.counts]
    for day, one in counts:
        if one.planned is None or OF_THE_RHYTHM not in one.window.why_best.note:
            continue
        near = [other.id for on, other in counts if other is not one and on and abs(day - on) < SEALED and not bare(on)]
        assert not near, f"{one.id} on {month_day(day)} tells nothing new beside {near[0]}"
