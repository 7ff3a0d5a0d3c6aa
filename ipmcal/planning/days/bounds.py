"""Bounds and clocks: from the words of a rule to days, each with its reason.

In: a season, a method's clock, the days of what happened or is planned, what was seen. Out: ``Reason`` trees whose
``span`` is the day, and ``Window``. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

from ipmcal.model.outfit.outfit import Colony, Event
from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.rules.methods import Again, Step
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span, earliest, latest
from ipmcal.model.values.forms import Bound, ClockDay, month_and_day
from ipmcal.model.values.words import short_day
from ipmcal.place.season import Season


@dataclass(frozen=True, slots=True)
class Edge:
    """What was seen of a clock day: it is on or after ``low``, on or before ``high`` (None: not known), and by what."""

    low: int | None
    high: int | None
    why: tuple[Reason, ...]


Edges = dict[str, Edge]
Told = dict[str, Reason]
SEASON = "season."
"""What days of the season begin with."""
BROOD = "brood."
"""What days of the brood model begin with: known where laying stopped, and comes back."""
DATE = "date"
"""What a plain date is told as: its day stands beside it."""


@dataclass(frozen=True, slots=True)
class _Shift:
    """How a bound is told: its rule, and in words. The bound is held, so that no other takes its identity."""

    bound: Bound
    rule: tuple[Cited[object], ...]
    note: str


@dataclass(frozen=True, slots=True)
class _Fixed:
    """Several bounds, held as well; whether the season alone decides them, and then their day."""

    bounds: Sequence[Bound]
    by_season: bool
    day: int | None = None


class Unknown(LookupError):
    """Raised for an anchor that has no day here: an event that has not happened."""


class NoMark(Unknown):
    """Raised for a mark that the region has not; in a list, the other days then stand without it."""


@dataclass(frozen=True)
class Clockwork:
    """A method's clock in one season: what bounds are worked out against, but for the days of events. ``memo`` only
    remembers: how each bound is told, and the days of bounds that the season alone decides.
    """

    season: Season
    clock: Mapping[str, tuple[ClockDay, ...]]
    development: Mapping[str, Cited[Span]]
    seen: Mapping[str, Mapping[str, str]]
    memo: dict[tuple[int, str], _Shift] = field(default_factory=dict, compare=False, repr=False)
    fixed: dict[tuple[int, Rule, str | None], _Fixed] = field(default_factory=dict, compare=False, repr=False)

    def day(self, anchor: str, facts: Mapping[str, Known], edges: Edges, told: Told | None = None) -> Reason:
        """The day of an anchor, as a reason with a span. Raises Unknown where there is none.

        ``told`` has the days of the clock that were worked out before from these facts and edges.
        """
        if anchor in self.clock:
            told = {} if told is None else told
            if anchor not in told:
                told[anchor] = self._clock_day(anchor, facts, edges, told)
            return told[anchor]
        if anchor in facts:
            return facts[anchor].why
        if anchor.startswith(SEASON):
            return self._mark(anchor.removeprefix(SEASON))
        if re.fullmatch(r"\d\d-\d\d", anchor):
            return Reason(Rule.OWN_TASK, DATE, Span.exact(month_and_day(anchor).on_or_after(self.season.first)))
        if re.fullmatch(r"\d{4}-\d\d-\d\d", anchor):
            return Reason(Rule.OWN_TASK, DATE, Span.exact(date.fromisoformat(anchor).toordinal()))
        raise Unknown(anchor)

    def _mark(self, name: str) -> Reason:
        base, _, edge = name.partition(".")
        mark = self.season.marks.get(base)
        if mark is None:
            raise NoMark(name)
        if edge == "ends":
            assert mark.why_ends is not None  # a period has an end: checked at load
            return mark.why_ends
        return mark.why_begins

    def _clock_day(self, name: str, facts: Mapping[str, Known], edges: Edges, told: Told) -> Reason:
        parts = []
        for one in self.clock[name]:
            try:
                parts.append(self._lagged(name, one, facts, edges, told))
            except NoMark:
                continue
            except Unknown:
                if not one.anchor.startswith(BROOD):  # no break of hers is known that keeps it back
                    raise
        if not parts:
            raise NoMark(name)
        whole = _combined(name, parts, Rule.LATEST_OF)
        return _narrowed(name, whole, edges)

    def _lagged(self, name: str, one: ClockDay, facts: Mapping[str, Known], edges: Edges, told: Told) -> Reason:
        base = self.day(one.anchor, facts, edges, told)
        lag = one.lag or (self.development[one.development] if one.development else None)
        if lag is None:
            return base
        return Reason(Rule.DEVELOPMENT, name, span_of(base) + lag.value, (lag,), (base,))

    def edges(self, sightings: Iterable[Sighting]) -> Edges:
        """What sightings say of the clock: carried back to its first day, and kept for each day that they name.

        Something seen on day D is there "by" D, or comes "after" it: on D + 1 or later.
        """
        result: Edges = {}
        first = next(iter(self.clock), None)
        for sighting in sightings:
            for name, edge in self.seen.get(sighting.finding, {}).items():
                low, high = (sighting.day + 1, None) if edge == "after" else (None, sighting.day)
                why = event_reason(sighting.event)
                _tighten(result, name, Edge(low, high, (why,)))
                lag = self._from_first(name)
                if first and lag is not None and name != first:
                    back_low = None if low is None else low - lag.high
                    back_high = None if high is None else high - lag.low
                    _tighten(result, first, Edge(back_low, back_high, (why,)))
        return result

    def _from_first(self, name: str) -> Span | None:
        """The days from the clock's first day to another, where one chain of lags leads there; None otherwise."""
        total = Span(0, 0, 0)
        first = next(iter(self.clock))
        while name != first:
            days = self.clock.get(name, ())
            if len(days) != 1:
                return None
            lag = days[0].lag or (self.development[days[0].development] if days[0].development else None)
            total = total + (lag.value if lag else 0)
            name = days[0].anchor
        return total


def span_of(reason: Reason) -> Span:
    """The span of a reason that has one."""
    assert reason.span is not None, reason
    return reason.span


def event_reason(event: Event) -> Reason:
    """A line of the journal as a reason."""
    rule = Rule.ASSUMED if event.assumed else Rule.EVENT
    where = f"{event.place.file}:{event.place.line}" if event.place.line else ""
    words = " ".join(w for w in (event.word, event.trap or "", event.value) if w)
    return Reason(rule, event.word, Span.exact(event.day), (), (), f"{words} ({where})" if where else words)


def beginning_reason(colony: Colony, word: str) -> Reason:
    """The beginning of a colony as a reason; ``word`` is the journal's for it."""
    return Reason(Rule.COLONY, word, Span.exact(colony.began), (), (), beginning(colony))


def beginning(colony: Colony) -> str:
    """How a colony began: ``split on Wed 12 May``; where the yard file says no more than a year, its words."""
    dated = colony.began_text.startswith(date.fromordinal(colony.began).isoformat())
    return f"{colony.kind} on {short_day(colony.began)}" if dated else colony.began_text


def _tighten(edges: Edges, name: str, edge: Edge) -> None:
    was = edges.get(name, Edge(None, None, ()))
    lows = [x for x in (edge.low, was.low) if x is not None]
    highs = [x for x in (edge.high, was.high) if x is not None]
    edges[name] = Edge(
        max(lows) if lows else None, min(highs) if highs else None, tuple(dict.fromkeys(was.why + edge.why))
    )


def _narrowed(name: str, reason: Reason, edges: Edges) -> Reason:
    """A clock day narrowed by what was seen. Where that contradicts the rule's range, what was seen stands.

    Where findings contradict each other, the earlier day stands: early costs bait, late lets mites out.
    """
    edge = edges.get(name)
    span = span_of(reason)
    if edge is None:
        return reason
    low, high = edge.low, edge.high
    if (low is None or low <= span.low) and (high is None or high >= span.high):
        return reason
    narrow = span.narrow(low, high)
    note = ""
    if narrow is None:
        outside = low if high is None or (low is not None and span.high < low <= high) else high
        assert outside is not None
        narrow, note = Span.exact(outside), "later or earlier than the rule's range: what was seen stands"
    return Reason(Rule.SEEN, name, narrow, (), (*edge.why, reason), note)


def _combined(subject: str, parts: Sequence[Reason], rule: Rule) -> Reason:
    if len(parts) == 1:
        return parts[0]
    spans = [span_of(part) for part in parts]
    return Reason(rule, subject, latest(spans) if rule is Rule.LATEST_OF else earliest(spans), (), tuple(parts))


# Windows -------------------------------------------------------------------------------------------------------------

_EDGE = {"earliest": "low", "usually": "usual", "latest": "high", None: "usual"}


@dataclass(frozen=True)
class Footing:
    """What a bound counts from: what happened, and what sightings say of the clock. ``told`` keeps days worked out."""

    facts: Mapping[str, Known]
    edges: Edges
    told: Told = field(default_factory=dict)


def bound_day(work: Clockwork, one: Bound, on: Footing, pick: str | None = None) -> Reason:
    """The one day that a bound means (``pick`` overrides its first word). Raises Unknown."""
    base = work.day(one.anchor, on.facts, on.edges, on.told)
    span = span_of(base)
    if span.certain and not one.shift:
        return base
    edge: int = getattr(span, _EDGE[pick or one.pick])
    word = "" if span.certain else (pick or one.pick or "")
    told = work.memo.get((id(one), word)) or _shift(work, one, word)
    return Reason(Rule.SHIFTED, one.anchor, Span.exact(edge + one.shift), told.rule, (base,), told.note)


def _shift(work: Clockwork, one: Bound, word: str) -> _Shift:
    """How a bound is told, the edge of its anchor by ``word``; remembered."""
    rule = Cited(one.shift, one.cites, one.text.place, one.text.key, str(one.text))
    note = " ".join(filter(None, (word, f"{one.shift:+d} d" if one.shift else "")))
    made = work.memo[id(one), word] = _Shift(one, (rule,), note)
    return made


def bound_days(
    work: Clockwork, bounds: Sequence[Bound], on: Footing, rule: Rule, pick: str | None = None
) -> Reason | None:
    """Several bounds as one day: the latest of them, or the earliest; None where there is none.

    A mark that the region has not is left out; an event that has not happened leaves no day at all.
    """
    days = []
    for one in bounds:
        try:
            days.append(bound_day(work, one, on, pick))
        except NoMark:
            continue
        except Unknown:
            return None
    return _combined(days[0].subject, days, rule) if days else None


def day_of_bounds(
    work: Clockwork, bounds: Sequence[Bound] | None, on: Footing, rule: Rule, pick: str | None = None
) -> int | None:
    """The day of ``bound_days`` alone, without its reasons: there are many windows that nobody is ever told of."""
    if not bounds:
        return None
    key = (id(bounds), rule, pick)
    known = work.fixed.get(key)
    if known is None:
        by_season = all(one.anchor.startswith(SEASON) for one in bounds)
        day = _day_of_bounds(work, bounds, on, rule, pick) if by_season else None
        known = work.fixed[key] = _Fixed(bounds, by_season, day)
    return known.day if known.by_season else _day_of_bounds(work, bounds, on, rule, pick)


def _day_of_bounds(work: Clockwork, bounds: Sequence[Bound], on: Footing, rule: Rule, pick: str | None) -> int | None:
    days: list[int] = []
    for one in bounds:
        try:
            span = span_of(work.day(one.anchor, on.facts, on.edges, on.told))
        except NoMark:
            continue
        except Unknown:
            return None
        edge: int = getattr(span, _EDGE[pick or one.pick])
        days.append(edge + one.shift)
    return None if not days else max(days) if rule is Rule.LATEST_OF else min(days)


@dataclass(frozen=True, slots=True)
class OpenDays:
    """The days of a window, as in ``Window``."""

    opens: int
    best: int
    closes: int
    hard_stop: int | None


@dataclass(frozen=True)
class Opening:
    """When a step may be done; ``look``: nothing is certain enough to act on before the hard stop.

    ``told`` makes the window with its reasons: few are asked for them.
    """

    days: OpenDays
    look: bool
    told: Callable[[], Window] = field(compare=False, repr=False)

    @cached_property
    def window(self) -> Window:
        """The same days with their reasons."""
        made = self.told()
        assert OpenDays(made.opens, made.best, made.closes, made.hard_stop) == self.days, (made, self.days)
        return made


def opening(
    work: Clockwork, step: Step | Again, facts: Mapping[str, Known], edges: Edges, not_before: Reason | None = None
) -> Opening | None:
    """When a step may be done, given what happened; None where one of its bounds has no day here.

    ``opens`` is the latest of its bounds, ``closes`` and the hard stop the earliest. Where ``opens`` falls after the
    hard stop, the hard stop stands, and the task is a look on the last good day. A late start pushes ``closes``;
    a step that closes before ``not_before`` is not owed at all.
    """
    on = Footing(facts, edges)
    hard = day_of_bounds(work, step.hard_stop, on, Rule.EARLIEST_OF)
    closes = day_of_bounds(work, step.closes, on, Rule.EARLIEST_OF) if step.closes else hard
    opens = day_of_bounds(work, step.opens, on, Rule.LATEST_OF)
    if opens is None or closes is None or (step.hard_stop and hard is None):
        return None
    best = day_of_bounds(work, step.best, on, Rule.LATEST_OF)
    best = opens if best is None else best
    if not_before is not None:
        since = span_of(not_before).usual
        if since > closes:
            return None
        opens = max(opens, since)
    look = False
    if hard is None:
        closes = max(closes, opens)
    else:
        closes = min(closes, hard)
        if opens > closes:
            early = day_of_bounds(work, step.opens, on, Rule.LATEST_OF, "earliest")
            opens, best, look = min(opens if early is None else early, closes), closes, True
    days = OpenDays(opens, min(max(best, opens), closes), closes, hard)
    return Opening(days, look, lambda: _told(work, step, on, not_before))


def _told(work: Clockwork, step: Step | Again, on: Footing, not_before: Reason | None) -> Window:
    """The window of ``opening``, each of its days with its reason."""

    def found(bounds: Sequence[Bound] | None, rule: Rule, pick: str | None = None) -> Reason | None:
        return bound_days(work, bounds, on, rule, pick) if bounds else None

    hard = found(step.hard_stop, Rule.EARLIEST_OF)
    closes = found(step.closes, Rule.EARLIEST_OF) if step.closes else hard
    opens = found(step.opens, Rule.LATEST_OF)
    assert opens is not None
    assert closes is not None  # it opens
    best = found(step.best, Rule.LATEST_OF) or opens
    if not_before is not None:
        opens = _combined("opens", [opens, not_before], Rule.LATEST_OF)
    if hard is None:
        return _soft(opens, best, closes)
    stop = span_of(hard).usual
    hard = Reason(Rule.LAST_GOOD_DAY, "hard_stop", Span.exact(stop), (), (hard,))
    closes = hard if span_of(closes).usual >= stop else closes
    if span_of(opens).usual <= span_of(closes).usual:
        return _window(opens, best, closes, stop)
    early = found(step.opens, Rule.LATEST_OF, "earliest") or opens
    useful = min(span_of(early).usual, span_of(closes).usual)
    opens = Reason(Rule.LOOK, early.subject, Span.exact(useful), (), (early, opens))
    return _window(opens, closes, closes, stop)


def _soft(opens: Reason, best: Reason, closes: Reason) -> Window:
    if span_of(closes).usual < span_of(opens).usual:
        closes = replace(opens)
    return _window(opens, best, closes, None)


def _window(opens: Reason, best: Reason, closes: Reason, hard_stop: int | None) -> Window:
    first, last = span_of(opens).usual, span_of(closes).usual
    return Window(first, min(max(span_of(best).usual, first), last), last, hard_stop, opens, best, closes)
