"""The season of a place: the region's marks moved there, spread, and shifted by what the keeper saw.

In: a region, the words of the season, planning figures, a site, a year, observed days. Out: a ``Season`` of marks as
Spans, each with its reason. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import MarkRule, Planning, Region
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount, MarkDays
from ipmcal.model.values.words import counted
from ipmcal.place.hopkins import Rates, Reach, Site, degrees_east, reach, shift_days
from ipmcal.place.warmth import Reached, Readings, reached

NO_READINGS: Readings = {}


class TooFar(ValueError):
    """Raised where a yard lies too far from its region's reference for its season to be moved there."""


@dataclass(frozen=True, slots=True)
class SeasonMark:
    """A mark at the yard: its day, or the begin of its period, and the end; None where the region has none."""

    begins: Span
    ends: Span | None
    why_begins: Reason
    why_ends: Reason | None


@dataclass(frozen=True, slots=True)
class Season:
    """A season at a yard. ``year`` is the year it begins in; ``first`` and ``last`` are its days, inclusive."""

    year: int
    first: int
    last: int
    marks: Mapping[str, SeasonMark]
    notes: tuple[str, ...]


def season_year(region: Region, day: int) -> int:
    """The season that holds a day, named by the year in which it begins."""
    year = date.fromordinal(day).year
    return year if region.season[0].in_year(year) <= day else year - 1


def season_years(region: Region, as_of: int, next_within: int, runs_on: int) -> tuple[int, ...]:
    """The seasons to plan on a day: the one that holds it; before it the last, for ``runs_on`` days after its end; and
    behind it the next, where fewer than ``next_within`` days are left. Ascending.
    """
    held = season_year(region, as_of)
    first = region.season[0].in_year(held)
    left = _last_day(region, first) - as_of + 1
    before = (held - 1,) if as_of - first < runs_on else ()
    return (*before, held, *((held + 1,) if left < next_within else ()))


def _last_day(region: Region, first: int) -> int:
    return region.season[1].on_or_after(first)


@dataclass(frozen=True)
class Seen:
    """What the keeper saw there: marks by name on their days (ordinals), and the readings of a thermometer."""

    marks: Mapping[str, int] = field(default_factory=dict)
    readings: Readings = field(default_factory=dict)


def season_at(
    region: Region,
    words: Mapping[str, MarkRule],
    planning: Planning,
    site: Site,
    year: int,
    seen: Seen | None = None,
) -> Season:
    """The season ``year`` at a site. Raises TooFar where the region's reference is too far away.

    A mark is moved by Hopkins' rule (later in spring, the other way in autumn), spread by k standard deviations, the
    spread doubled where the reference is far; an observed mark shifts the later marks of its class; one that the region
    has a sum of warmth for goes by the keeper's readings, unless it was seen; order is kept.
    """
    reference = Site(region.place.latitude, region.place.longitude, region.place.elevation)
    distance = _distance(region, planning, reference, site)
    far = distance.beyond(planning.far_latitude.value.middle, planning.far_elevation.value.middle)
    later = shift_days(reference, site, _rates(planning), longitude_counts=region.longitude_counts)
    first = region.season[0].in_year(year)
    mover = _Mover(planning, later, planning.spread_factor.value.middle * (2 if far else 1), first)
    marks = {n: mover.mark(n, cited, words[n]) for n, cited in region.marks.items() if cited.value.begins}
    last = _last_day(region, first)
    seen = seen or Seen()
    observed = {name: day for name, day in seen.marks.items() if name in marks and first <= day <= last}
    marks = _observe(marks, words, observed)
    for name in marks:
        found = None if name in observed else reached(region, name, first, last, seen.readings, later)
        if found and region.degree_days:
            values = (region.degree_days.sums[name], region.degree_days.base)
            marks[name] = _by_warmth(name, marks[name], values, found)
    marks = _keep_order(marks, words, observed)
    note = (
        f"The yard lies {distance.latitude:.1f}° of latitude and {distance.elevation:.0f} m from its region's "
        "reference: its season is less sure than elsewhere, and its spread is doubled."
    )
    return Season(year, first, last, marks, (note,) if far else ())


def _rates(planning: Planning) -> Rates:
    return Rates(
        planning.days_per_degree_latitude.value.middle,
        planning.days_per_degree_longitude.value.middle,
        planning.days_per_metre.value.middle,
    )


def _distance(region: Region, planning: Planning, reference: Site, site: Site) -> Reach:
    limit, aside = planning.too_far_latitude.value.middle, planning.too_far_longitude.value.middle
    if reference.latitude * site.latitude < 0:
        raise TooFar(
            f"the yard lies on the other side of the equator from '{region.title}': choose another region, or is a "
            "minus sign wrong? South is negative"
        )
    east = abs(degrees_east(reference.longitude, site.longitude))
    if east > aside:
        turned = abs(degrees_east(reference.longitude, -site.longitude)) <= aside
        mend = "is a minus sign wrong? West is negative" if turned else "choose a nearer region"
        raise TooFar(
            f"the yard lies {east:.0f} degrees of longitude from the reference of '{region.title}' "
            f"({region.reference}): {mend}"
        )
    distance = reach(reference, site)
    if distance.beyond(limit):
        raise TooFar(
            f"the yard lies {distance.latitude:.1f} degrees of latitude from the reference of '{region.title}' "
            f"({region.reference}); a season is moved by {limit:.0f} degrees at most: choose a nearer region"
        )
    return distance


@dataclass(frozen=True, slots=True)
class _Mover:
    """Moves the marks of one region to one site."""

    planning: Planning
    later: float
    spreads: float
    first: int

    def mark(self, name: str, cited: Cited[MarkDays], rule: MarkRule) -> SeasonMark:
        days = cited.value
        assert days.begins is not None  # marks of 'none' are left out before
        begins = days.begins.on_or_after(self.first)
        why = self._edge(name, cited, rule, begins)
        if days.ends is None:
            return SeasonMark(_span(why), None, why, None)
        why_ends = self._edge(f"{name}.ends", cited, rule, days.ends.on_or_after(begins))
        return SeasonMark(_span(why), _span(why_ends), why, why_ends)

    def _edge(self, name: str, cited: Cited[MarkDays], rule: MarkRule, day: int) -> Reason:
        base = Reason(Rule.REGION_MARK, name, Span.exact(day), (cited,))
        sign = {"later": 1, "earlier": -1, "stays": 0}[rule.moves]
        shift = math.floor(sign * self.later + 0.5)
        planning = self.planning
        moved = base
        if shift:
            rates = (planning.days_per_degree_latitude, planning.days_per_degree_longitude, planning.days_per_metre)
            note = f"{abs(shift)} days {'later' if shift > 0 else 'earlier'} than at the reference"
            moved = Reason(Rule.MOVED, name, Span.exact(day + shift), rates, (base,), note)
        spread = math.ceil(self.spreads * cited.value.sd)
        if not spread:
            return moved
        usual = day + shift
        return Reason(
            Rule.SPREAD, name, Span(usual - spread, usual, usual + spread), (planning.spread_factor,), (moved,)
        )


def _span(reason: Reason) -> Span:
    assert reason.span is not None
    return reason.span


def _observe(
    marks: Mapping[str, SeasonMark], words: Mapping[str, MarkRule], observed: Mapping[str, int]
) -> dict[str, SeasonMark]:
    """An observed mark is exact, and shifts the later marks of its class by what it was early or late.

    What was seen stays where it was seen: one observation doesn't shift another.
    """
    result = dict(marks)
    seen_before: set[str] = set()
    for name, day in sorted(observed.items(), key=lambda item: (item[1], item[0])):
        was = result[name].begins.usual
        seen = Reason(Rule.OBSERVED, name, Span.exact(day), (), (result[name].why_begins,))
        seen_before.add(name)
        for other, mark in result.items():
            later = words[other].season == words[name].season and mark.begins.usual >= was
            if later and other not in seen_before:
                result[other] = _shift(mark, day - was, seen)
        result[name] = replace(_shift(result[name], day - was, seen), begins=Span.exact(day), why_begins=seen)
    return result


def _shift(mark: SeasonMark, days: int, because: Reason) -> SeasonMark:
    def moved(reason: Reason) -> Reason:
        note = f"{abs(days)} days {'later' if days > 0 else 'earlier'}, as '{because.subject}' was"
        return Reason(Rule.OBSERVED, reason.subject, _span(reason) + days, (), (because, reason), note)

    if not days:
        return mark
    why_begins, why_ends = moved(mark.why_begins), moved(mark.why_ends) if mark.why_ends else None
    return SeasonMark(_span(why_begins), _span(why_ends) if why_ends else None, why_begins, why_ends)


def _by_warmth(name: str, mark: SeasonMark, values: tuple[Cited[Amount], ...], found: Reached) -> SeasonMark:
    """A mark moved whole to the day on which its sum is reached. Its spread stays: warmth explains only a part."""
    by = found.day - mark.begins.usual
    note = f"{counted(found.measured, 'day')} of yours, {counted(found.usual, 'day')} of the region's normals"
    why = Reason(Rule.DEGREE_DAYS, name, mark.begins + by, values, (mark.why_begins,), note)
    if mark.ends is None or mark.why_ends is None:
        return SeasonMark(mark.begins + by, None, why, None)
    why_ends = Reason(Rule.DEGREE_DAYS, f"{name}.ends", mark.ends + by, values, (mark.why_ends,), note)
    return SeasonMark(mark.begins + by, mark.ends + by, why, why_ends)


def _keep_order(
    marks: Mapping[str, SeasonMark], words: Mapping[str, MarkRule], observed: Mapping[str, int]
) -> dict[str, SeasonMark]:
    """No mark's usual day lies before that of one which it follows; one that would is moved to it, whole.

    What was not seen gives way to what was: marks that come before one that the keeper saw are moved to it, earlier.
    """
    result = dict(marks)
    for name in sorted(observed, key=lambda n: (observed[n], n)):
        for before in _before(name, words):
            if before in result and before not in observed:
                _move(result, before, name, min(0, result[name].begins.usual - result[before].begins.usual))
    for name in dict.fromkeys(mark for one in marks for mark in (*reversed(_before(one, words)), one)):
        for before in words[name].after:
            if name in result and name not in observed and before in result:
                _move(result, name, before, max(0, result[before].begins.usual - result[name].begins.usual))
    return result


def _before(name: str, words: Mapping[str, MarkRule]) -> list[str]:
    """All marks that a mark follows, at one or more removes; each stands before those that it follows itself."""
    found: list[str] = []

    def visit(one: str) -> None:
        for before in words[one].after:
            if before not in found:
                visit(before)
                found.insert(0, before)

    visit(name)
    return found


def _move(marks: dict[str, SeasonMark], name: str, because: str, by: int) -> None:
    if not by:
        return
    mark, cause = marks[name], marks[because].why_begins
    why = Reason(Rule.OUT_OF_ORDER, name, mark.begins + by, (), (mark.why_begins, cause))
    if mark.ends is None or mark.why_ends is None:
        marks[name] = replace(mark, begins=mark.begins + by, why_begins=why)
        return
    why_ends = Reason(Rule.OUT_OF_ORDER, f"{name}.ends", mark.ends + by, (), (mark.why_ends, cause))
    marks[name] = SeasonMark(mark.begins + by, mark.ends + by, why, why_ends)
