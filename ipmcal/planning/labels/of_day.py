"""Limits of the course's days: warmth, honey supers, brood. A function each.

In: a limit, a ``Case``. Out: ``Limited`` values, every reason. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Use, Weight
from ipmcal.model.rules.treatments import BroodLimit, Label, SupersLimit, TemperatureLimit
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.labelforms import label_words
from ipmcal.model.values.words import day_range, short_day
from ipmcal.planning.labels.case import AS_ITS_LIMIT, LOOK, Case, How, range_words, reason
from ipmcal.planning.labels.standing import Stay, supers_shut, wait_after
from ipmcal.planning.labels.weather import TEMPERATURES, WarmDays, warm_days

KIND_WORDS = {"high": "the day's high", "low": "the day's low", "mean": "the day's mean"}


def temperature(limit: TemperatureLimit, case: Case) -> Iterator[Limited]:
    """Warmth on the days that the limit is about: readings and a forecast where they reach, normals elsewhere."""
    told, key = case.weather.told, (id(limit), case.use.applications, case.use.last)
    if key not in told:
        told[key] = limit, tuple(_temperature(limit, case))  # the limit is held, so that no other takes its identity
    yield from told[key][1]


def _temperature(limit: TemperatureLimit, case: Case) -> Iterator[Limited]:
    for kind in TEMPERATURES:
        value = getattr(limit, kind)
        if value is not None:
            days = days_of(limit.days, case.use)
            found = warm_days(case.weather, kind, value.value.low, value.value.high, days)
            yield from _warm(limit, value, f"{KIND_WORDS[kind]} {range_words(value)}", found, case)


def days_of(days: Cited[Span | None], use: Use) -> set[int]:
    """The days (ordinals) that a limit of warmth is about: so many after each application, or all in the hive."""
    if days.value is None:
        return set(range(use.first, max(use.last, use.first) + 1))
    return {day + n for day in use.applications for n in range(days.value.low, days.value.high + 1)}


def _when(days: Cited[Span | None]) -> str:
    if days.value is None:
        return "all days that it is in"
    if days.value.high == 0:
        return "on the day itself"
    return f"days {days.value.low} to {days.value.high}"


def _warm(limit: TemperatureLimit, value: Cited[Any], what: str, found: WarmDays, case: Case) -> Iterator[Limited]:
    """A reading or forecast out of the limit; a chance too small; else a condition, for normals release no day."""
    says = f"{what}, {_when(limit.days)}"
    if found.out:
        many = len(found.out) - 1
        day, degrees = found.out[0]
        more = f", and {many} more" if many else ""
        told = f"{degrees_words(degrees, value)} on {short_day(day)}, read or forecast{more}"
        yield reason("temperature", limit, value, told, says=says)
    if not found.open_days:
        return
    when = day_range(*found.days)
    if found.chance is None:
        told = f"{when}: no normals and no forecast: watch the thermometer"
        yield reason("temperature", limit, value, told, says=says, how=How(weight=Weight.ASKS))
        return
    most = "at most " if found.at_most else ""
    held = Because(Code.USUALLY_SO if found.usual else Code.USUALLY_NOT)
    told = f"{when}: a chance of {most}{percent(found.chance)} by normals, and {because_words(held)}"
    # normals are no forecast: they can speak against a day, and never release one
    if found.chance < case.weather.enough and not found.usual:
        yield reason("temperature", limit, value, told, says=says)
    else:
        release = "only the forecast releases the day"
        plain = f"{what}, {when}: {release}"
        how = How(weight=Weight.ASKS, plain=plain)
        yield reason("temperature", limit, value, f"{told}; {release}", says=says, how=how)


def degrees_words(celsius: float, value: Cited[Any]) -> str:
    """A temperature in the label's own unit, to whole degrees unless it has a part."""
    fahrenheit = "F" in label_words(value)
    number = celsius * 1.8 + 32.0 if fahrenheit else celsius
    return f"{round(number, 1):g} °{'F' if fahrenheit else 'C'}"


def percent(share: float) -> str:
    """A chance in words: whole percent, never 0 or 100 where it is neither."""
    return "under 1 %" if 0 < share < 0.005 else f"{round(100 * share):d} %"


# Supers ---------------------------------------------------------------------------------------------------------------


def supers(limit: SupersLimit, case: Case) -> Iterator[Limited]:
    """Honey supers from the first application on, and through the wait after the last day; comb honey."""
    block = supers_shut(case.label, case.use.first, case.use.last)
    if block is not None:
        for stay in case.standing.supers:
            # supers that come off on the first day of the course are off
            if stay.on <= block[1] and (stay.off is None or stay.off > block[0]):
                says = _off_words(case.label)
                heard = because_words(Because(Code.NONE_HEARD_OF))
                how = How(look=True, plain=f"{says}: {heard}") if stay.unheard else AS_ITS_LIMIT
                yield reason("supers", limit, limit.during, stay_words(stay), says=says, how=how)
    elif any(s.on <= case.use.last and (s.off is None or s.off > case.use.first) for s in case.standing.supers):
        told = (limit.why or "they may stay, as the rule file says") + _honey(limit, case.use)
        yield reason("supers", limit, limit.during, told, says="supers may be on", how=How(weight=Weight.ASKS))
    if limit.comb_honey is not None and limit.comb_honey.value == "no" and case.standing.comb_honey:
        told = "comb honey is taken from it"
        yield reason("supers", limit, limit.comb_honey, told, says="no comb honey, ever", how=How(stays=True))


def _honey(limit: SupersLimit, use: Use) -> str:
    """From when honey may be taken, where the label says so."""
    if limit.harvest is None:
        return ""
    return f"; honey from {short_day(use.last + int(limit.harvest.value.upper_end))} on"


def _off_words(label: Label) -> str:
    wait = wait_after(label)
    words = f", and for {label_words(wait)} after" if wait is not None and wait.value.upper_end else ""
    return f"supers off during the course{words}"


def stay_words(stay: Stay) -> str:
    """Supers in words: "supers on since Sat 8 May, off on Sat 11 Sept as planned"."""
    if stay.unheard:
        return because_words(Because(Code.SUPERS_WERE_DUE, (stay.on,)))
    if stay.planned:
        until = f" to {short_day(stay.off)}" if stay.off is not None else ""
        return f"supers planned from {short_day(stay.on)}{until}"
    off = f", off on {short_day(stay.off)} as planned" if stay.off is not None else ""
    return f"supers on since {short_day(stay.on)}{off}"


# Brood ----------------------------------------------------------------------------------------------------------------


def brood(limit: BroodLimit, case: Case) -> Iterator[Limited]:
    """Brood at each application: what the label asks for, and where it works best."""
    wanted, best = limit.state, limit.best
    if wanted.value != "any":
        yield from _brood(limit, wanted, wanted.value, case, None)
    elif best is not None and best.value == "none":
        yield from _brood(limit, best, "none", case, Weight.ADVISES)


def _brood(limit: BroodLimit, value: Cited[str], wanted: str, case: Case, weight: Weight | None) -> Iterator[Limited]:
    says = {"none": "nothing capped", "some": "with brood"}[wanted]
    says = f"best where there is {says}" if weight is Weight.ADVISES else says
    for day in case.use.applications:
        state, why = brood_on(case, day)
        if state == "unknown":
            told = f"brood on {short_day(day)} {LOOK}{why}"
            first = because_words(Because(Code.LOOK_FIRST, (says,)))
            yield reason("brood", limit, value, told, says=says, how=How(look=True, plain=first))
        elif state != wanted:
            told = f"{'capped brood' if state == 'some' else 'nothing capped'} on {short_day(day)}{why}"
            yield reason("brood", limit, value, told, says=says, how=How(weight=weight))
        elif state == "none" and case.standing.traps:
            told = f"trap comb hangs ({', '.join(case.standing.traps)}): take it out, its brood counts"
            yield reason("brood", limit, value, told, says=says, how=How(weight=Weight.ADVISES, by_hand=True))
        else:
            continue
        return


def brood_on(case: Case, day: int) -> tuple[str, str]:
    """Capped brood on a day: ``none``, ``some`` or ``unknown``, and why in words ("" where nothing was written)."""
    spells = [s for s in case.standing.brood if s.first <= day and (s.last is None or day <= s.last)]
    # a spell that is sure outweighs one in which somebody has to look
    for state in ("none", "unknown"):
        for spell in spells:
            if spell.state == state:
                return state, f" ({spell.why})"
    return ("some" if case.standing.brood_known else "unknown"), ""
