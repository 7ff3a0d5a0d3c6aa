"""What a plan says is so, for any plan: of a time without a day of the keeper's there is none in it;
who has half an hour gets the order of the sheet."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.because import Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import hives, short_day

PUT_IN, TAKEN_OUT = ("strips_in", "treated"), ("supers_off", "strips_out")
"""Words of the journal for what goes into a hive, and for what comes out of it before."""
EVERYWHERE = ((12, 25), (1, 1))
"""Days on which nobody drives, whatever the country: common practice."""
WAY_THERE = 20
"""Minutes of a visit that no hive takes, with what is rounded."""


BORNE = 2
"""Hives of ten over the line that the rules bear (20 %): a year with fewer falls short in something else."""


def told_holds(plan: Plan, outfit: Outfit) -> None:
    """Everything that holds for what any plan says."""
    short_visits_keep_the_order(plan)
    barred_on_days_to_come(plan, outfit)
    hours_are_why(plan, outfit)
    what_lies_comes_out_first_and_goes_in_last(plan)
    not_enough_for_a_reason(plan)
    yards = {yard.key: yard for yard in outfit.yards}
    for conflict in plan.conflicts:
        if conflict.what.code in (Code.LATE_NO_DAY, Code.EARLY_NO_DAY):
            for task in map(plan.task, conflict.tasks):
                written = any(e.colony == task.colony and e.day == plan.as_of for e in outfit.journal or ())
                first = max(task.window.opens, plan.as_of + written)
                days = [d for d in range(first, task.window.closes + 1) if comes(yards[task.yard], d)]
                assert not days, f"{task.id}: {because_words(conflict.what)}: {date.fromordinal(days[0])}"


def not_enough_for_a_reason(plan: Plan) -> None:
    """Who reads that a year is not enough reads of more hives over the line than the rules bear, or why else."""
    for words in (words for one in plan.choosing for words in one.left):
        told = re.match(r"not enough: with these courses ([0-9]+) of 10 ", words)
        assert told is None or int(told[1]) >= BORNE, words


def short_visits_keep_the_order(plan: Plan) -> None:
    """Who has half an hour opens a hive once, and does its tasks in the order of the sheet: acid goes in last."""
    for visit in plan.visits:
        place = {task: i for i, task in enumerate(visit.tasks)}
        hives = [plan.task(i).colony for i in visit.short]
        opened = 1 + sum(a != b for a, b in pairwise(hives))
        assert not hives or opened == len(set(hives)), f"{visit.id}: {visit.short}"
        for hive in set(hives):
            order = [place[i] for i in visit.short if plan.task(i).colony == hive]
            assert order == sorted(order), f"{visit.id}: {visit.short}"
            given = [i for i in visit.short if plan.task(i).colony == hive and plan.task(i).logs in PUT_IN]
            out = [i for i in visit.tasks if plan.task(i).colony == hive and plan.task(i).logs in TAKEN_OUT]
            assert not given or set(out) <= set(visit.short), f"{visit.id}: {given} goes in, and {out} stays"
        must = {i for i in visit.must if plan.task(i).colony is not None}
        assert not must or must & set(visit.short), f"{visit.id}: {visit.must} must be done, and {visit.short} is short"


def barred_on_days_to_come(plan: Plan, outfit: Outfit) -> None:
    """A label bars a course of the year on days of the keeper's that are still to come, not on those that went by."""
    yards = {yard.key: yard for yard in outfit.yards}
    year = {short_day(day): day for day in range(plan.as_of - 200, plan.as_of + 300)}
    for chosen in plan.choosing:
        for words in chosen.left:
            told = re.search(r"on each of your days from (.+) to (.+)\.$", words)
            if told is not None and told[1] in year and told[2] in year:
                days = range(max(year[told[1]], plan.as_of), year[told[2]] + 1)
                assert any(comes(yards[chosen.yard], day) for day in days), f"{chosen.yard}: {words}"


def hours_are_why(plan: Plan, outfit: Outfit) -> None:
    """A day of which all hives left one and the same other for want of hours would not fit into that one with them."""
    most = {yard.key: yard.hours for yard in outfit.yards}
    for view in plan.yards:
        visits = {short_day(visit.day): visit for visit in plan.visits if visit.yard == view.key}
        everyone = [colony.key for colony in view.colonies]
        for note in view.notes:
            told = re.fullmatch(r"(.+) would take more than .* h: (.+) on (.+)", note)
            hours = most.get(view.key)
            if told is None or hours is None or told[1] not in visits or told[3] not in visits:
                continue
            one, two = visits[told[1]], visits[told[3]]
            there = {plan.task(i).colony for i in two.tasks}
            if told[2] == hives([key for key in everyone if key in there], everyone):
                both = one.minutes + two.minutes - WAY_THERE
                assert both > hours * 60 - WAY_THERE, f"{note}: {one.minutes} and {two.minutes} min"


def what_lies_comes_out_first_and_goes_in_last(plan: Plan) -> None:
    """Lines are worked down: combs are lifted before a product goes in, and after the one before it is out; supers are
    off before and on again after both; bees that come are put in before all else.
    """
    rank = {"began": -2, "supers_off": -1, "strips_out": 0, "treated": 2, "strips_in": 3, "supers_on": 4}
    for visit in plan.visits:
        tasks = [plan.task(i) for i in visit.tasks]
        for hive in {task.colony for task in tasks}:
            order = [rank.get(task.logs, 1) for task in tasks if task.colony == hive]
            assert order == sorted(order), f"{visit.id}, {hive}: {visit.tasks}"


def comes(yard: Yard, day: int) -> bool:
    """Whether the keeper comes to a yard on a day, if it can be chosen."""
    found = date.fromordinal(day)
    public = yard.holidays.in_year(found.year) if yard.holidays is not None else ()
    rests = (found.month, found.day) in EVERYWHERE or day in public
    away = any(first <= day <= last for first, last in yard.away)
    came = any(one.began == day and one.kind in ("package", "nucleus") for one in yard.colonies)
    return not rests and not away and (came or yard.weekdays is None or found.weekday() in yard.weekdays)
