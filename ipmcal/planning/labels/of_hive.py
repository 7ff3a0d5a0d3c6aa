"""Limits of the hive and the season: flow, entrance, mesh floor, days on which nobody opens it. A function each.

In: a limit, a ``Case``. Out: ``Limited`` values, every reason. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Use, Weight
from ipmcal.model.rules.treatments import EntranceLimit, FeedingLimit, FloorLimit, QuietLimit, WordLimit
from ipmcal.model.values.labelforms import label_words
from ipmcal.model.values.words import joined, rough_range, short_day
from ipmcal.planning.labels.case import Case, How, plain_word, range_words, reason, words_for
from ipmcal.planning.labels.standing import Stretch


def flow(limit: WordLimit, case: Case) -> Iterator[Limited]:
    """Flow and dearth on any day of the course."""
    for value in limit.not_:
        for period in case.standing.flows.get(value.value, ()):
            if overlap(case.use, period):
                yield reason(
                    "flow", limit, value, f"{plain_word(value.value)} {rough_range(*period)}", says=words_for(limit)
                )
    if limit.is_:
        periods = [p for value in limit.is_ for p in case.standing.flows.get(value.value, ())]
        # a flow that is wanted has to be on when the course begins; one that is barred, on none of its days
        if not any(first <= case.use.first <= last for first, last in periods):
            yield reason("flow", limit, limit.is_[0], "no such flow on that day", says=words_for(limit))


def overlap(use: Use, period: Stretch) -> bool:
    """Whether a course has a day in a period."""
    return use.first <= period[1] and period[0] <= use.last


def quiet(limit: QuietLimit, case: Case) -> Iterator[Limited]:
    """Days around each application on which nobody opens the hive."""
    days = quiet_days(limit, case.use.applications)
    opened_then = {day for day, _ in days}.intersection(case.standing.openings)
    if limit.before is not None and limit.after is not None and not opened_then:
        before, after = (int(value.value.upper_end) for value in (limit.before, limit.after))
        says = because_words(Because(Code.NOBODY_OPENS, (before, after)))
        yield reason("quiet", limit, limit.after, "", says=says, how=How(weight=Weight.ASKS))
        return
    for value, word in ((limit.before, "before"), (limit.after, "after")):
        if value is None:
            continue
        shut = {day for day, given in days if (day < given) == (word == "before")}
        says = f"nobody opens it {label_words(value)} {word}"
        opened = sorted(shut & set(case.standing.openings))
        if opened:
            told = f"work is planned on {joined(map(short_day, opened))}"
            yield reason("quiet", limit, value, told, says=says)
        else:
            yield reason("quiet", limit, value, "plan no other work then", says=says, how=How(weight=Weight.ASKS))


def quiet_days(limit: QuietLimit, given: Iterable[int]) -> list[tuple[int, int]]:
    """Each day on which nobody should open the hive, with the application that it is for; no application is one."""
    before, after = (int(v.value.upper_end) if v is not None else 0 for v in (limit.before, limit.after))
    on = tuple(given)
    return [(day + n, day) for day in on for n in range(-before, after + 1) if day + n not in on]


def feeding(limit: FeedingLimit, case: Case) -> Iterator[Limited]:
    """Food while the course lasts: planning keeps it apart (``unfold/quiet.py``), and the keeper is told."""
    if limit.during.value != "no":
        return
    says, when = because_words(Because(Code.NO_FEEDING)), case.use
    left = sorted(set(unfed_days(limit, when.first, when.last)) & set(case.standing.fed))
    if left:
        yield reason("feeding", limit, limit.during, because_words(Because(Code.FED_ON, (tuple(left),))), says=says)
    else:
        days = 0 if limit.before is None else int(limit.before.value.upper_end)
        told = because_words(Because(Code.LAST_FOOD, (days,))) if days else ""
        yield reason("feeding", limit, limit.during, told, says=says, how=How(weight=Weight.ASKS))


def unfed_days(limit: FeedingLimit | None, first: int, out: int) -> range:
    """The days on which a hive is not fed for a course that goes in on ``first`` and comes out on ``out``.

    On that day it comes out before anything is fed. A dose that leaves nothing in is out on the day after.
    """
    if limit is None or limit.during.value != "no":
        return range(0)
    before = 0 if limit.before is None else int(limit.before.value.upper_end)
    return range(first - before, max(out, first + 1))


def entrance(limit: EntranceLimit, case: Case) -> Iterator[Limited]:
    """Width and height of the entrance; in a dearth, what speaks against a wide one."""
    if limit.width.value != "full":
        return
    at, height = case.standing, f", {range_words(limit.height)} high" if limit.height else ""
    says = f"full width{height}"
    if at.entrance == "small":
        since = f" since {short_day(at.entrance_since)}" if at.entrance_since is not None else ""
        told = f"entrance made small{since}: open it for the course"
        yield reason("entrance", limit, limit.width, told, says=says, how=How(stays=True, by_hand=True))
    else:
        told = "open" if at.entrance == "full" else "open it on the day, reducers and guards out"
        how = How(weight=Weight.ASKS, by_hand=True, plain=because_words(Because(Code.ENTRANCE_WIDE, (says,))))
        yield reason("entrance", limit, limit.width, told, says=says, how=how)
    yield from _robbing(limit, says, case)


def _robbing(limit: EntranceLimit, says: str, case: Case) -> Iterator[Limited]:
    """Two rules against each other: a wide entrance for the course, a small one against robbers in a dearth."""
    for period in case.standing.flows.get("dearth", ()):
        if overlap(case.use, period):
            steps = ((m, s) for m in case.book.methods.values() for s in m.steps.values())
            small = next(((m, s) for m, s in steps if case.book.effect(s.logs) == NARROWS), None)
            cites = limit.width.cites + (small[1].opens[0].cites if small else ())
            told = f"against robbers in the dearth {rough_range(*period)} it should be small"
            rule = f" ({small[0].title})" if small else ""
            weight = Weight.ADVISES
            yield Limited("entrance", weight, says, told + rule, limit.width, tuple(dict.fromkeys(cites)))


NARROWS = "narrows_entrance"
"""The effect of what makes entrances small."""


def floor(limit: FloorLimit, case: Case) -> Iterator[Limited]:
    """The mesh floor."""
    wanted, at = limit.value.value, case.standing
    if wanted == "any":
        return
    # shut or opened by hand on the day: no later day would change it, so that none is looked for
    if at.floor and at.floor != wanted:
        since = f" since {short_day(at.floor_since)}" if at.floor_since is not None else ""
        told = f"mesh floor {at.floor}{since}: {'shut' if wanted == 'closed' else 'open'} it for the course"
        yield reason("floor", limit, limit.value, told, how=How(stays=True, by_hand=True))
    elif not at.floor:
        told = f"is there a mesh floor? {'Shut' if wanted == 'closed' else 'Open'} it"
        plain = because_words(Because(Code.FLOOR_SHUT if wanted == "closed" else Code.FLOOR_OPEN))
        yield reason("floor", limit, limit.value, told, how=How(weight=Weight.ASKS, by_hand=True, plain=plain))
