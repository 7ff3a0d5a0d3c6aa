"""Rhythm: the days on which mites are counted in a year: never far apart, before each course, and after it.

In: a season, the keeper's days, usual highs, courses, the figures of ``planning.yaml``, what the region asks for.
Out: days. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.base import BaseCounts, CountRhythm
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount, Bound
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of

CountWindow = tuple[int, int]
"""First and last day (ordinals), both inclusive."""


class CountFor(Enum):
    """What a count has to lie in a window for."""

    BEFORE = "before"
    AFTER = "after"
    LYING = "lying"
    DOSE = "dose"
    DECIDES = "decides"
    SPRING = "spring"
    AUTUMN = "autumn"
    FIRST = "first"


@dataclass(frozen=True, slots=True)
class AskedCount:
    """A window in which a count has to lie, and what for: a course, by its first or last day (``of``), or the year."""

    first: int
    last: int
    what: CountFor
    of: int = 0


@dataclass(frozen=True, slots=True)
class CountedCourse:
    """A course as counts see it: its first and last day (ordinals), a break of the brood from the caging on.

    ``dose``: in such a break, on which a count decides up to the caging; ``winter``: while there is least brood.
    """

    first: int
    last: int
    dose: bool = False
    winter: bool = False


@dataclass(frozen=True)
class CountSetting:
    """Where counts are made: the season, the keeper's days, usual highs, how often, and what the region asks for.

    ``decides``: days between which a count has to lie, whatever is given: before the published day of late summer.
    ``few``: drives are few, so that counts may lie further apart before midsummer, and one is made on the day of a
    course where it serves as well.
    """

    season: Season
    days: Sequence[int]
    high: Callable[[int], float]
    rhythm: CountRhythm
    region: BaseCounts | None
    decides: tuple[CountWindow, ...] = ()
    few: bool = False


def counting_time(setting: CountSetting) -> tuple[int, ...]:
    """The keeper's days on which combs may be lifted: warm enough, and not while there is least brood."""
    least, asked = setting.season.marks["brood_minimum"], setting.region
    assert least.ends is not None  # a period in every region
    opens = _edge(setting.season, None if asked is None else asked.opens, Rule.LATEST_OF)
    closes = _edge(setting.season, None if asked is None else asked.closes, Rule.EARLIEST_OF)
    warm = setting.rhythm.warm.value.low or 0.0

    def fits(day: int) -> bool:
        if opens is not None and closes is not None:
            return opens <= day <= closes
        rests = any(least.begins.usual + n <= day <= least.ends.usual + n for n in (-YEAR_DAYS, 0))  # type: ignore[union-attr]
        return setting.high(day) >= warm and not rests

    return tuple(day for day in setting.days if fits(day))


def apart_on(setting: CountSetting, day: int) -> int:
    """Days until the next count at most, from a day on which one was made."""
    rhythm, asked = setting.rhythm, setting.region
    late = setting.season.marks["winter_bee_rearing_start"].begins.usual - _most(rhythm.late_from)
    usual = _most(rhythm.late if day >= late else rhythm.few if setting.few else rhythm.apart)
    return usual if asked is None or asked.apart is None else min(usual, _most(asked.apart))


def counts_asked(setting: CountSetting, courses: Sequence[CountedCourse]) -> Iterator[AskedCount]:
    """The days between which a count has to lie: before and after each course, and what the region asks for."""
    rhythm, asked = setting.rhythm, setting.region
    for one in courses:
        if not one.winter:
            soonest = 0 if one.dose or setting.few else _least(rhythm.before)
            yield AskedCount(one.first - _most(rhythm.before), one.first - soonest, CountFor.BEFORE, one.first)
            last = one.last
            yield AskedCount(last + _least(rhythm.after), last + _most(rhythm.after), CountFor.AFTER, last)
            if one.last - one.first > _most(rhythm.after):
                lies = one.first + _least(rhythm.lying), one.first + _most(rhythm.lying)
                yield AskedCount(*lies, CountFor.LYING, one.first)
        elif asked is not None and asked.after_dose is not None:
            yield AskedCount(*_soonest(setting, one.last + _most(asked.after_dose)), CountFor.DOSE, one.last)
    for first, last in setting.decides:
        yield AskedCount(first, last, CountFor.DECIDES)
    yield from _turns_of_the_year(setting)
    if asked is not None and asked.first is not None:
        opens = _edge(setting.season, asked.first.opens, Rule.LATEST_OF)
        closes = _edge(setting.season, asked.first.closes, Rule.EARLIEST_OF)
        if opens is not None and closes is not None:
            yield AskedCount(opens, closes, CountFor.FIRST)


def _turns_of_the_year(setting: CountSetting) -> Iterator[AskedCount]:
    """The first count of spring, and the last of autumn, which tells what came in since the summer's course."""
    pollen, least = (setting.season.marks[name].begins.usual for name in ("first_pollen", "brood_minimum"))
    spring, autumn = setting.rhythm.spring, setting.rhythm.autumn
    yield AskedCount(pollen + _least(spring), pollen + _most(spring), CountFor.SPRING)
    yield AskedCount(least - _most(autumn), least - _least(autumn), CountFor.AUTUMN)


def count_days(setting: CountSetting, courses: Sequence[CountedCourse]) -> tuple[int, ...]:
    """The keeper's days on which mites are counted, ascending: each as late as what it has to serve lets it be."""
    times, stretches = counting_time(setting), seasons_of_brood(setting)
    asked = {_this_year(setting, (one.first, one.last)) for one in counts_asked(setting, courses)}
    asked |= {(first, first + grace(setting)) for first, _ in stretches}
    unmet = {one for one in asked if any(one[0] <= day <= one[1] for day in setting.days)}
    at, found = setting.season.first - 1, list[int]()
    while True:
        reach = _reach(setting, at, stretches, found)
        limit = min([last for _, last in unmet] + ([] if reach is None else [reach]), default=None)
        if limit is None:
            return tuple(found)
        lift = setting.days if all_year(setting) is not None else times
        free = [day for day in lift if at < day <= limit]
        held = [day for day in setting.days for a, b in unmet if max(a, at + 1) <= day <= min(b, limit)]
        at = _chosen(setting, [*free, *held], courses) if free or held else limit
        found += [at] if free or held else []
        unmet = {(a, b) for a, b in unmet if not a <= at <= b and b > at}


def _chosen(setting: CountSetting, days: Sequence[int], courses: Sequence[CountedCourse]) -> int:
    """The latest of days; where drives are few, that of a course begun not long before it."""
    latest = max(days)
    near = [one.first for one in courses if one.first in days and latest - one.first <= grace(setting)]
    return max(near, default=latest) if setting.few else latest


def _reach(setting: CountSetting, at: int, stretches: Sequence[CountWindow], found: Sequence[int]) -> int | None:
    """The day by which the next count has to be made, after one on ``at``; None where none has to."""
    whole = all_year(setting)
    next_year = found[0] + YEAR_DAYS if found else setting.season.last
    held = whole is None or next_year - at <= whole or at >= setting.season.last
    reach = [] if held or whole is None else [min(at + whole, setting.season.last)]
    for first, last in stretches:
        if first <= at and at + apart_on(setting, at) < last:
            reach.append(at + apart_on(setting, at))
    return min(reach, default=None)


def all_year(setting: CountSetting) -> int | None:
    """Days between any two counts of the year, where the region asks for that."""
    asked = setting.region
    return None if asked is None or asked.all_year is None else _most(asked.all_year)


def seasons_of_brood(setting: CountSetting) -> list[CountWindow]:
    """The stretches of a season in which mites are counted: from the first to the last warm day of each."""
    return list(_stretches(counting_time(setting), _most(setting.rhythm.apart)))


def _soonest(setting: CountSetting, due: int) -> CountWindow:
    """The keeper's first day from one on, alone: what has fallen by then is compared with figures of that day."""
    first, last = _this_year(setting, (due, due + grace(setting)))
    day = next((day for day in setting.days if first <= day <= last), None)
    return (first, last) if day is None else (day, day)


def _this_year(setting: CountSetting, window: CountWindow) -> CountWindow:
    """What is asked for after the season's end, of last year's like course at this one's beginning."""
    later = YEAR_DAYS if window[0] > setting.season.last else 0
    return window[0] - later, window[1] - later


def _stretches(times: Sequence[int], gap: int) -> Iterator[CountWindow]:
    """Stretches of days without a longer gap."""
    first: int | None = None
    for n, day in enumerate(times):
        first = day if first is None else first
        if n + 1 == len(times) or times[n + 1] - day > gap:
            yield first, day
            first = None


def _edge(season: Season, bounds: Sequence[Bound] | None, rule: Rule) -> int | None:
    found = bound_days(Clockwork(season, {}, {}, {}), bounds, Footing({}, {}), rule) if bounds else None
    return None if found is None else span_of(found).usual


def new_after(setting: CountSetting) -> int:
    """Days from a count to the first that tells anything new."""
    return _most(setting.rhythm.anew)


def grace(setting: CountSetting) -> int:
    """Days by which a count may be later than was asked."""
    return _most(setting.rhythm.after) - _least(setting.rhythm.after)


def _least(cited: Cited[Amount]) -> int:
    return round(cited.value.low or 0)


def _most(cited: Cited[Amount]) -> int:
    return round(cited.value.high or 0)
