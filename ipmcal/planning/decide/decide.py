"""Decide: from what was counted to what to do, for each count and for the yard.

In: colonies as recalled, the season, an authority's thresholds, how counting is done. Out: decisions with their causes
as data. Pure.

The point count of a proper sample decides, against the authority's line for that unit and that time; the interval
stands beside it and decides nothing. The yard is the unit of treatment: some colonies stand for all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from ipmcal.biology.counts import Cause, CountVerdict, Interval, interval, judge, pooled, reaches
from ipmcal.model.rules.thresholds import Counting, SamplingPlan, ThresholdRule
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.count import Sample, Threshold, Unit
from ipmcal.model.values.forms import Amount
from ipmcal.planning.decide.tally import Count, Ruling, Yardstick, day_of, ruling


class Call(StrEnum):
    """What a count says to do."""

    TREAT = "treat"
    BELOW = "below"
    COUNT_AGAIN = "count again"
    NOT_JUDGED = "recorded, not judged"


class Note(StrEnum):
    """Why a decision is what it is, beyond what the sample itself says (``biology.counts.Cause``)."""

    LAST_BEFORE_WINTER = "just under the line, at the last count before winter bees"
    NO_RULE = "there is no threshold for this unit at this time"
    NO_LINE = "the source gives levels, but none to treat at"
    SILENT = "the source says nothing between two of its levels"
    NO_COUNT = "nothing was counted"
    TOO_FEW_COLONIES = "fewer colonies were counted than stand for the yard"


@dataclass(frozen=True, slots=True)
class Decision:
    """What a count says to do, and why.

    ``level`` is the highest level reached (watch, treat, ...), ``line`` the one to treat at, ``least`` the whole mites
    at which a sample of this size reaches it. ``interval`` is in mites to one bee (gram, day, cell).
    """

    count: Count
    call: Call
    causes: tuple[Cause | Note, ...]
    ruling: Ruling | None = None
    level: str | None = None
    line: Cited[Threshold] | None = None
    least: int | None = None
    interval: Interval | None = None


@dataclass(frozen=True, slots=True)
class YardDecision:
    """What the counts of a yard say to do for all of its colonies.

    ``decisions`` are those that decide: the latest of each colony, none much older than the newest. ``over`` and
    ``again`` name colonies; ``missing`` is how many more have to be counted. ``pooled`` is all of one unit together.
    """

    call: Call
    causes: tuple[Cause | Note, ...]
    decisions: tuple[Decision, ...] = ()
    over: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    missing: int = 0
    pooled: Sample | None = None
    interval: Interval | None = None


# One count -----------------------------------------------------------------------------------------------------------


def decide(count: Count, stick: Yardstick, *, last: bool = False) -> Decision:
    """What one count says to do. ``last``: no count follows before winter bees, so one just under is repeated.

    Only there, and where the sample is bad, is it repeated: who counts until it fits learns nothing.
    """
    found = ruling(count, stick)
    if found is None:
        return Decision(count, Call.NOT_JUDGED, (Note.NO_RULE,), interval=_interval(count.sample, stick.counting))
    rule, counting, sample = found.rule, stick.counting, count.sample
    against = rule.line or next(iter(rule.steps.values()))
    judged = judge(
        sample,
        against.value,
        enough=_enough(counting)[sample.unit],
        broodless=count.broodless and not rule.without_brood,
        confidence=counting.confidence.value.middle,
        deff=counting.design_effect.value.middle,
    )
    level = _level(sample, rule) if judged.verdict in (CountVerdict.OVER, CountVerdict.UNDER) else None
    made = Decision(count, _call(judged.verdict), judged.causes, found, level, rule.line, None, judged.interval)
    if rule.line is None:
        lacks = made.call in (Call.TREAT, Call.BELOW)
        return replace(made, call=Call.NOT_JUDGED, causes=(Note.NO_LINE,)) if lacks else made
    made = replace(made, least=judged.least)
    if level == "silent":
        made = replace(made, causes=(*made.causes, Note.SILENT))
    if made.call is Call.BELOW and last and _just_under(made, counting):
        return replace(made, call=Call.COUNT_AGAIN, causes=(Note.LAST_BEFORE_WINTER, *made.causes))
    return made


def _call(verdict: CountVerdict) -> Call:
    return {
        CountVerdict.OVER: Call.TREAT,
        CountVerdict.UNDER: Call.BELOW,
        CountVerdict.BAD_SAMPLE: Call.COUNT_AGAIN,
        CountVerdict.NOT_JUDGED: Call.NOT_JUDGED,
    }[verdict]


def _level(sample: Sample, rule: ThresholdRule) -> str | None:
    reached = [name for name, level in rule.steps.items() if reaches(sample, level.value)]
    return reached[-1] if reached else None


def _just_under(made: Decision, counting: Counting) -> bool:
    """A few mites below the line, if any were found at all."""
    short = (made.least or 0) - made.count.sample.mites
    return made.count.sample.mites > 0 and short <= counting.just_under.value.middle


def _interval(sample: Sample, counting: Counting) -> Interval | None:
    if not sample.size:
        return None
    return interval(sample, counting.confidence.value.middle, counting.design_effect.value.middle)


def _enough(counting: Counting) -> dict[Unit, int]:
    return {unit: math.ceil(value.value.middle) for unit, value in counting.enough.of()}


def decide_all(found: Sequence[Count], stick: Yardstick) -> tuple[Decision, ...]:
    """What each count of one colony says to do, in the order of their days.

    The last one in the weeks before winter bees is repeated if it lies just under its line, but only once: where a
    proper one went before it in those weeks, the two have spoken.
    """
    time = stick.counting.last_before_winter
    opens, closes = day_of(time.opens, stick.season), day_of(time.closes, stick.season)
    if opens is None or closes is None:
        return tuple(decide(count, stick) for count in found)
    late = [i for i, count in enumerate(found) if opens <= count.day <= closes]
    made = [decide(count, stick) for count in found]
    proper = [i for i in late if made[i].call in (Call.TREAT, Call.BELOW)]
    if len(proper) == 1 and proper[0] == late[-1]:
        made[proper[0]] = decide(found[proper[0]], stick, last=True)
    return tuple(made)


# The yard ------------------------------------------------------------------------------------------------------------


def colonies_to_sample(plan: SamplingPlan | None, colonies: int) -> int:
    """How many of so many colonies have to be counted: 1 where no plan says, all where it says so."""
    for row in plan.colonies if plan else ():
        if row.up_to is None or colonies <= row.up_to:
            return min(colonies, colonies if row.sample is None else _least(row.sample))
    return min(colonies, 1)


def _least(sample: Cited[Amount]) -> int:
    assert sample.value.low is not None  # checked at load
    return math.ceil(sample.value.low)


def decide_yard(made: Iterable[Decision], colonies: int, stick: Yardstick) -> YardDecision:
    """What the counts of a yard of so many colonies say to do: for all of them, within a few days.

    One colony over its line is enough: mites go from hive to hive, and the ones not counted may be like it. All those
    that were counted below speak for the yard if they are as many as the plan asks; if not, more are to be counted.
    """
    latest = _latest(made, int(stick.counting.together.value.middle))
    if not latest:
        return YardDecision(Call.NOT_JUDGED, (Note.NO_COUNT,))
    by_call = {call: [d for d in latest if d.call is call] for call in Call}
    over, again, below = by_call[Call.TREAT], by_call[Call.COUNT_AGAIN], by_call[Call.BELOW]
    wanted = colonies_to_sample(stick.plan, colonies)
    missing = max(0, wanted - len(over) - len(below)) if below or again else 0
    together = _together([*over, *below], latest)
    whole = YardDecision(
        Call.BELOW,
        (Cause.BELOW,),
        latest,
        tuple(d.count.colony for d in over),
        tuple(d.count.colony for d in again),
        missing,
        together,
        None if together is None else _interval(together, stick.counting),
    )
    if over:
        return replace(whole, call=Call.TREAT, causes=_causes(over), missing=0)
    if again:
        return replace(whole, call=Call.COUNT_AGAIN, causes=_causes(again))
    if not below:
        return replace(whole, call=Call.NOT_JUDGED, causes=_causes(latest))
    if missing:
        return replace(whole, call=Call.COUNT_AGAIN, causes=(Note.TOO_FEW_COLONIES,))
    return whole


def _latest(made: Iterable[Decision], together: int) -> tuple[Decision, ...]:
    """The decision of each colony that counts: the latest that judges, else the latest.

    Only those close enough to the newest of all; what was counted in a hive before it was treated tells nothing of it
    any more, once anything was counted in a hive that was.
    """
    ordered = sorted(made, key=lambda d: d.count.day)
    by_colony: dict[str, Decision] = {}
    newest = max((d.count.day for d in ordered), default=0)
    after = any(d.count.treated for d in ordered if d.count.day == newest)
    for one in ordered:
        near = newest - one.count.day <= together
        judges = one.call is not Call.NOT_JUDGED or by_colony.get(one.count.colony, one).call is Call.NOT_JUDGED
        since = one.count.treated_on
        if near and judges and not (after and since is not None and since <= newest):
            by_colony[one.count.colony] = one
    return tuple(by_colony.values())


def _together(judged: Sequence[Decision], latest: Sequence[Decision]) -> Sample | None:
    """The samples that were judged as one, in the unit of the newest of them; None where there is none."""
    if not judged:
        return None
    unit = max(judged, key=lambda d: d.count.day).count.sample.unit
    return pooled([d.count.sample for d in judged if d.count.sample.unit is unit])


def _causes(made: Iterable[Decision]) -> tuple[Cause | Note, ...]:
    return tuple(dict.fromkeys(cause for one in made for cause in one.causes))
