"""Limits of the hive and the season: flow, entrance, mesh floor, days on which nobody opens it. A function each.

In: a limit, a ``Case``. Out: ``Limited`` values, every reason. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.verdict import Limited, Use, Weight
from ipmcal.model.rules.treatments import EntranceLimit, FloorLimit, QuietLimit, WordLimit
from ipmcal.model.values.labelforms import words_of
from ipmcal.model.values.words import joined, rough_range, short_day
from ipmcal.planning.labels.case import Case, plain_word, range_words, reason, words_for
from ipmcal.planning.labels.standing import Days


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
        if not any(first <= case.use.first <= last for first, last in periods):
            yield reason("flow", limit, limit.is_[0], "no such flow on that day", says=words_for(limit))


def overlap(use: Use, period: Days) -> bool:
    """Whether a course has a day in a period."""
    return use.first <= period[1] and period[0] <= use.last


def quiet(limit: QuietLimit, case: Case) -> Iterator[Limited]:
    """Days around each application on which nobody opens the hive."""
    for value, sign, word in ((limit.before, -1, "before"), (limit.after, 1, "after")):
        if value is None:
            continue
        span = range(1, int(value.value.high or 0) + 1)
        shut = {day + sign * n for day in case.use.applications for n in span}
        says = f"nobody opens it {words_of(value)} {word}"
        opened = sorted(shut & set(case.standing.openings))
        if opened:
            told = f"work is planned on {joined(map(short_day, opened))}"
            yield reason("quiet", limit, value, told, says=says)
        else:
            yield reason("quiet", limit, value, "plan no other work then", says=says, weight=Weight.ASKS)


def entrance(limit: EntranceLimit, case: Case) -> Iterator[Limited]:
    """Width and height of the entrance; in a dearth, what speaks against a wide one."""
    if limit.width.value != "full":
        return
    at, height = case.standing, f", {range_words(limit.height)} high" if limit.height else ""
    says = f"full width{height}"
    if at.entrance == "small":
        since = f" since {short_day(at.entrance_since)}" if at.entrance_since is not None else ""
        told = f"entrance made small{since}: open it for the course"
        yield reason("entrance", limit, limit.width, told, says=says, stays=True, by_hand=True)
    else:
        told = "open" if at.entrance == "full" else "open it on the day, reducers and guards out"
        yield reason("entrance", limit, limit.width, told, says=says, weight=Weight.ASKS, by_hand=True)
    yield from _robbing(limit, says, case)


def _robbing(limit: EntranceLimit, says: str, case: Case) -> Iterator[Limited]:
    """Two rules against each other: a wide entrance for the course, a small one against robbers in a dearth."""
    for period in case.standing.flows.get("dearth", ()):
        if overlap(case.use, period):
            small = next(
                ((m, s) for m in case.book.methods.values() for s in m.steps.values() if s.logs == SMALL), None
            )
            cites = limit.width.cites + (small[1].opens[0].cites if small else ())
            told = f"against robbers in the dearth {rough_range(*period)} it should be small"
            rule = f" ({small[0].title})" if small else ""
            weight = Weight.ADVISES
            yield Limited("entrance", weight, says, told + rule, limit.width, tuple(dict.fromkeys(cites)))


SMALL = "entrances_small"
"""The journal's word for small entrances."""


def floor(limit: FloorLimit, case: Case) -> Iterator[Limited]:
    """The mesh floor."""
    wanted, at = limit.value.value, case.standing
    if wanted == "any":
        return
    if at.floor and at.floor != wanted:
        since = f" since {short_day(at.floor_since)}" if at.floor_since is not None else ""
        told = f"mesh floor {at.floor}{since}: {'shut' if wanted == 'closed' else 'open'} it for the course"
        yield reason("floor", limit, limit.value, told, stays=True, by_hand=True)
    elif not at.floor:
        told = f"is there a mesh floor? {'Shut' if wanted == 'closed' else 'Open'} it"
        yield reason("floor", limit, limit.value, told, weight=Weight.ASKS, by_hand=True)
