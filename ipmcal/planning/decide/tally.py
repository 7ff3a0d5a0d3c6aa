"""Tally: what was counted in a season, and by which rule of which authority each count is judged.

In: colonies as recalled, the season, thresholds, how counting is done. Out: counts and the rules that they fall under.
Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from ipmcal.biology.counts import least_mites
from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import Counting, Period, SamplingPlan, ThresholdRule, Thresholds
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.forms import Bound
from ipmcal.model.values.lines import sample_of
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of
from ipmcal.planning.recall.broodless import spells


@dataclass(frozen=True, slots=True)
class Count:
    """A count: its day, its sample, and how the colony stood. ``treated``: after this season's main treatment.

    ``treated_on``: the day on which a course began in its hive since (None: none has).
    """

    colony: str
    day: int
    sample: Sample
    kind: str
    broodless: bool = False
    treated: bool = False
    event: Event | None = None
    treated_on: int | None = None


@dataclass(frozen=True, slots=True)
class Ruling:
    """The rule that a count falls under: whose it is, its key, and itself."""

    authority: str
    key: str
    rule: ThresholdRule


@dataclass(frozen=True)
class Yardstick:
    """What counts of a yard are held against: its season, how counting is done, its authorities, first choice first."""

    season: Season
    counting: Counting
    authorities: tuple[tuple[str, Thresholds], ...]

    @property
    def plan(self) -> SamplingPlan | None:
        """The first of the authorities' sampling plans that says how many colonies are to be counted."""
        plans = (one.sampling for _, one in self.authorities if one.sampling and one.sampling.colonies)
        return next(plans, None)

    @cached_property
    def phases(self) -> Mapping[str, int]:
        """The day on which each phase of the colony's year begins, but for those whose mark the season has not."""
        days = ((name, day_of(phase.begins, self.season)) for name, phase in self.counting.phases.items())
        return {name: first for name, first in days if first is not None}


def yardstick(season: Season, jurisdiction: str, book: Rulebook, region: Region | None = None) -> Yardstick:
    """The yardstick of a yard: its region's authorities before its jurisdiction's."""
    names = lines_asked(region, jurisdiction, book)
    return Yardstick(season, book.counting, tuple((name, book.thresholds[name]) for name in names))


def title_of(name: str, jurisdiction: str, book: Rulebook) -> str:
    """Whose lines they are: the authority's title; where it does not speak for a place, that it is another's."""
    one, place = book.thresholds[name], jurisdiction
    while one.speaks_for and place not in one.speaks_for:
        within = book.jurisdictions[place].within if place in book.jurisdictions else None
        if within is None:
            return because_words(Because(Code.BORROWED_LINE, (one.title,)))
        place = within
    return one.title


def lines_asked(region: Region | None, jurisdiction: str, book: Rulebook) -> tuple[str, ...]:
    """The authorities whose lines hold, first choice first."""
    nearer = () if region is None else region.thresholds
    return tuple(dict.fromkeys((*nearer, *book.jurisdictions[jurisdiction].thresholds)))


# Counts as they were written -----------------------------------------------------------------------------------------


def counts(state: ColonyState, season: Season, book: Rulebook, treated: Iterable[int] = ()) -> tuple[Count, ...]:
    """A colony's counts of a season, in the order of their days; ``treated`` are days of its main treatment."""
    waits, days = spells(state, book), sorted(treated)
    began = min(days, default=None)
    found = []
    for event in sorted(state.events, key=lambda e: e.day):
        rule = book.events[event.word]
        if rule.value != "count" or not season.first <= event.day <= season.last:
            continue
        broodless = any(spell.holds(event.day) for spell in waits)
        after = began is not None and began <= event.day
        sample = sample_of(event.value, Unit(rule.unit))
        since = next((day for day in days if day > event.day), None)
        found.append(Count(state.colony.key, event.day, sample, state.kind, broodless, after, event, since))
    return tuple(found)


# Which rule ----------------------------------------------------------------------------------------------------------


def phase_on(day: int, stick: Yardstick) -> str | None:
    """The phase of the colony's year, the last one until the first begins; None where the season has no mark of any."""
    begins = stick.phases
    begun = {name: first for name, first in begins.items() if first <= day} or begins
    return max(begun, key=lambda name: begun[name], default=None)


def day_of(bounds: Sequence[Bound], season: Season) -> int | None:
    """The day of bounds that count from the season alone, the latest of them; None where it has no such mark."""
    reason = bound_days(Clockwork(season, {}, {}, {}), bounds, Footing({}, {}), Rule.LATEST_OF)
    return None if reason is None else span_of(reason).usual


def ruling(count: Count, stick: Yardstick) -> Ruling | None:
    """The first authority's rule for this unit and time; None where none of them has one."""
    phase = phase_on(count.day, stick)
    for name, one in stick.authorities:
        for key, rule in one.thresholds.items():
            if rule.unit is count.sample.unit and _fits(rule, count, phase):
                return Ruling(name, key, rule)
    return None


def _fits(rule: ThresholdRule, count: Count, phase: str | None) -> bool:
    return (
        (not rule.phase or phase in rule.phase)
        and (not rule.kind or count.kind in rule.kind)
        and (rule.days is None or holds(rule.days, count.day))
        and (rule.treatment is None or (rule.treatment == "after") == count.treated)
    )


def holds(period: Period, day: int) -> bool:
    """Whether a period of the year, which may cross the new year, holds a day."""
    year = date.fromordinal(day).year
    first, last = (end.in_year(year) for end in period)
    return first <= day <= last if first <= last else day >= first or day <= last


def announced(day: int, stick: Yardstick, kind: str, size: int, unit: Unit = Unit.BEES) -> tuple[Ruling, int] | None:
    """The line that a count on a day will be held to, and its whole mites in a sample of ``size``, to print beforehand.

    None where no authority gives one. What hangs on the main treatment is taken as before it.
    """
    found = ruling(Count("", day, Sample(0, size, unit), kind), stick)
    if found is None or found.rule.line is None:
        return None
    return found, least_mites(found.rule.line.value, size)


@dataclass(frozen=True, slots=True)
class AnnouncedLine:
    """What a count of bees to come will be held to: whole mites in a sample of ``size``.

    From ``treat`` on the yard is treated; from ``watch`` on mites are watched (0: the authority has no such level).
    ``doubt``: the line is from memory.
    """

    size: int
    treat: int
    watch: int
    doubt: bool


def announced_line(day: int, stick: Yardstick, kind: str) -> AnnouncedLine | None:
    """The line of a count of bees on a day; None where no authority has one.

    The sample is that of the first authority which says how many bees.
    """
    size = next(
        (one.sampling.bees.value.low for _, one in stick.authorities if one.sampling and one.sampling.bees), None
    )
    found = announced(day, stick, kind, round(size)) if size else None
    if found is None or size is None:
        return None
    rule, treat = found[0].rule, found[1]
    watch = 0 if rule.watch is None else least_mites(rule.watch.value, round(size))
    doubt = rule.line is not None and rule.line.basis is Basis.MEMORY
    return AnnouncedLine(round(size), treat, watch if watch < treat else 0, doubt)


def announced_words(line: AnnouncedLine | None) -> str:
    """What stands on the sheet beside a count of bees to come: "Treat every hive at 7 or more
    mites in 300 bees."; "" for no line.

    A line from memory says so.
    """
    if line is None:
        return ""
    return " ".join(causes_words((Because(Code.TREAT_AT, (line.treat, line.size)), *in_doubt(line))))


def in_doubt(line: AnnouncedLine) -> tuple[Because, ...]:
    """What is said behind a line that is from memory."""
    return (Because(Code.CHECK_GUIDE),) if line.doubt else ()
