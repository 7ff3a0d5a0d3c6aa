"""Counting checked: levels of one unit that rise, one rule for one time, sampling plans that cover every yard.

In: the rulebook and the places of its keys. Out: complaints.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from ipmcal.model.rules.anchors import AnchorWords
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import STEPS, Counting, Period, SamplingPlan, ThresholdRule, Thresholds
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import LEAP_YEAR, Amount, Bound, MonthDay
from ipmcal.reading.rules.methodcheck import bound_problem, known
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Tree

TELL_APART = "'phase', 'days', 'treatment' or 'kind'"


def count_complaints(book: Rulebook, trees: Mapping[str, Tree]) -> Iterator[Complaint]:
    """Everything in counting.yaml and in files of thresholds that a count could not be judged by."""
    yield from _counting(book, trees["counting"])
    for name, one in book.thresholds.items():
        yield from _authority(book, one, trees[f"thresholds/{name}"])


# How counting is done ------------------------------------------------------------------------------------------------


def _counting(book: Rulebook, tree: Tree) -> Iterator[Complaint]:
    counting = book.counting
    for phase in counting.phases.values():
        yield from _marks(book, phase.begins)
    for bounds in (counting.last_before_winter.opens, counting.last_before_winter.closes):
        yield from _marks(book, bounds)
    if not counting.phases:
        yield Complaint.at(tree.place(("phases",)), "phases: names no phase")
    figures = (counting.just_under, counting.together, *(value for _, value in counting.enough.of()))
    for value in figures:
        yield from _within(value, 0)
    yield from _shares(counting)


def _shares(counting: Counting) -> Iterator[Complaint]:
    confidence, effect = counting.confidence, counting.design_effect
    if not (confidence.value.closed and 0 < confidence.value.middle < 1):
        yield Complaint.at(confidence.place, "confidence: lies between 0 and 1, such as '0.95'")
    yield from _within(effect, 1)
    for name, share in counting.recovery.items():
        low, high = share.value.low, share.value.high
        if low is None or low <= 0 or (high is not None and high > 100):
            yield Complaint.at(share.place, f"recovery.{name}: is a share above 0 and at most 100 %")


def _marks(book: Rulebook, bounds: tuple[Bound, ...]) -> Iterator[Complaint]:
    """A bound that counts from the season alone: nothing has happened yet that it could count from."""
    words = AnchorWords({name: rule.kind for name, rule in book.marks.items()}, (), ())
    for one in bounds:
        problem = bound_problem(one, words)
        if not problem and not one.anchor.startswith("season.") and not one.anchor[0].isdigit():
            problem = "counts from the season only, such as 'usually season.first_pollen'"
        if problem:
            yield Complaint.about(one.text, problem)


def _within(cited: Cited[Amount], least: float) -> Iterator[Complaint]:
    if not cited.value.closed or cited.value.middle < least:
        key = ".".join(part for part in cited.key.split(".") if not part.isdigit())
        yield Complaint.at(cited.place, f"{key}: '{cited.value}' has to be a number, {least:g} or more")


# An authority --------------------------------------------------------------------------------------------------------


def _authority(book: Rulebook, one: Thresholds, tree: Tree) -> Iterator[Complaint]:
    yield from known(one.speaks_for, book.jurisdictions, tree, ("speaks_for",), "jurisdiction")
    if not (one.thresholds or one.sampling or one.fall_factors):
        yield Complaint.at(tree.place(()), "has neither 'thresholds' nor 'sampling' nor 'fall_factors'")
    for name, rule in one.thresholds.items():
        yield from known(rule.phase, book.counting.phases, tree, ("thresholds", name, "phase"), "phase")
        yield from known(rule.kind, BEGINNINGS, tree, ("thresholds", name, "kind"), "kind of colony")
        yield from _levels(name, rule, tree)
    for (first, a), (second, b) in combinations(one.thresholds.items(), 2):
        if a.unit is b.unit is not None and not _told_apart(a, b):
            line = tree.place(("thresholds", first)).line
            what = f"holds at the same time as '{first}' (line {line}); let {TELL_APART} tell them apart"
            yield Complaint.at(tree.key(("thresholds", second)), f"thresholds.{second}: {what}")
    if one.sampling:
        yield from _sampling(one.sampling, tree)
    for factor in one.fall_factors:
        yield from _within(factor.factor, 1)


def _levels(name: str, rule: ThresholdRule, tree: Tree) -> Iterator[Complaint]:
    steps = rule.steps
    if not steps.keys() - {"silent"}:
        names = ", ".join(f"'{step}'" for step in STEPS if step != "silent")
        yield Complaint.at(tree.place(("thresholds", name)), f"thresholds.{name}: gives no level; write one of {names}")
    for step, level in steps.items():
        if level.value.unit is not rule.unit:
            what = f"is in '{level.value.unit}', and another level in '{rule.unit}': make two rules of it"
            yield Complaint.at(level.place, f"thresholds.{name}.{step}: {what}")
            return
    order = [step for step in STEPS if step in steps and step != "silent"]
    rising = [step for step in steps if step != "silent"]
    if order != rising:
        wrong = next(a for a, b in zip(rising, order, strict=True) if a != b)
        what = "the levels do not rise: " + ", ".join(f"'{step}'" for step in order)
        yield Complaint.at(steps[wrong].place, f"thresholds.{name}: {what}")


def _told_apart(a: ThresholdRule, b: ThresholdRule) -> bool:
    """Whether a count can't fall under both rules."""
    by_words = [(set(a.phase), set(b.phase)), (set(a.kind), set(b.kind))]
    if any(one and other and not one & other for one, other in by_words):
        return True
    if a.treatment and b.treatment and a.treatment != b.treatment:
        return True
    return a.days is not None and b.days is not None and not _days_of(a.days) & _days_of(b.days)


def _days_of(period: Period) -> set[int]:
    """The days of a year that a period holds; it may cross the new year."""
    first, last = (day.in_year(LEAP_YEAR) for day in period)
    new_year = MonthDay(1, 1).in_year(LEAP_YEAR)
    days = range(first, last + 1) if first <= last else (*range(first, new_year + 366), *range(new_year, last + 1))
    return set(days)


def _sampling(plan: SamplingPlan, tree: Tree) -> Iterator[Complaint]:
    yield from known(plan.times_for, BEGINNINGS, tree, ("sampling", "times_for"), "kind of colony")
    if plan.times_for and not plan.times:
        yield Complaint.at(tree.place(("sampling", "times_for")), "sampling.times_for: there are no 'times' for them")
    limits = [row.up_to for row in plan.colonies]
    for i, row in enumerate(plan.colonies):
        place = tree.place(("sampling", "colonies", i))
        if row.all_ == (row.sample is not None):
            yield Complaint.at(place, "sampling.colonies: write either 'sample: 8' or 'all: yes'")
        if row.sample is not None and (row.sample.value.low is None or row.sample.value.low < 1):
            yield Complaint.at(row.sample.place, "sampling.colonies.sample: one colony at least")
        last = i == len(limits) - 1
        before = limits[i - 1] if i else 0
        if last != (row.up_to is None) or (row.up_to is not None and before is not None and row.up_to <= before):
            what = "'up_to' has to rise, and the last row, for all larger yards, has none"
            yield Complaint.at(place, f"sampling.colonies: {what}")
