"""Whys: what each count is for, as the reason behind its days.

In: the question that a count answers, its day, the counts before and after it. Out: a ``Reason``. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.base import CountRhythm
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.planning.counting.chosen import CountQuestion
from ipmcal.planning.decide.rhythm import AskedCount, CountFor, CountSetting, apart_on

_OF_A_COURSE = (CountFor.BEFORE, CountFor.AFTER, CountFor.LYING)


def why_counted(step: str, asked: CountQuestion, day: int, near: tuple[int, int]) -> Reason:
    """What the count of a day is for, with the counts before and after it: a course first, then a turn of the year,
    then the days that went by.
    """
    found = min(_served(asked, day, near), key=lambda one: (one.what not in _OF_A_COURSE, one.last), default=None)
    if found is not None:
        because, value = _because(found), _cited(asked.setting, found)
    else:
        most = apart_on(asked.setting, near[0])
        value = _apart(asked.setting, most)
        because = Because(Code.COUNT_APART, (most,))
        if day > max(near[0], asked.setting.season.first) + most:
            because = Because(Code.COUNT_OVERDUE)
    return Reason(Rule.RHYTHM, step, Span.exact(day), (value,), (), because_words(because))


def _served(asked: CountQuestion, day: int, near: tuple[int, int]) -> Iterator[AskedCount]:
    """The windows that hold this count, and neither the one before nor the one after it."""
    for one in asked.asked:
        if one.first <= day <= one.last and not any(one.first <= other <= one.last for other in near):
            yield one


def _because(one: AskedCount) -> Because:
    if one.what is CountFor.BEFORE:
        return Because(Code.COUNT_BEFORE, (one.of,))
    if one.what is CountFor.AFTER:
        return Because(Code.COUNT_AFTER, (one.of,))
    if one.what is CountFor.LYING:
        return Because(Code.COUNT_LYING, (one.of,))
    if one.what is CountFor.SPRING:
        return Because(Code.COUNT_OF_SPRING)
    return Because(Code.COUNT_OF_AUTUMN if one.what is CountFor.AUTUMN else Code.COUNT_OF_REGION)


def _cited(setting: CountSetting, one: AskedCount) -> Cited[object]:
    """The figure that a window comes from."""
    rhythm, region = setting.rhythm, setting.region
    if one.what is CountFor.FIRST and region is not None and region.first is not None:
        bound = region.first.closes[0]
        return Cited(bound.shift, bound.cites, bound.text.place, bound.text.key, str(bound.text))
    if one.what is CountFor.DOSE and region is not None and region.after_dose is not None:
        return region.after_dose
    return {
        CountFor.BEFORE: rhythm.before,
        CountFor.AFTER: rhythm.after,
        CountFor.LYING: rhythm.lying,
        CountFor.SPRING: rhythm.spring,
        CountFor.AUTUMN: rhythm.autumn,
    }.get(one.what, rhythm.apart)


def _apart(setting: CountSetting, most: int) -> Cited[object]:
    """The figure by which counts lie no further apart than so many days."""
    rhythm: CountRhythm = setting.rhythm
    region = None if setting.region is None else setting.region.apart
    figures = [rhythm.late, rhythm.few, rhythm.apart, *([] if region is None else [region])]
    return next((one for one in figures if round(one.value.high or 0) == most), rhythm.apart)
