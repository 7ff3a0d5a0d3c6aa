"""Asks: the counts that a plan asks for beside the season's own, and why.

In: what the counts of a yard say, the courses of its colonies. Out: ``CountRequest`` values by colony. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import counted, short_day
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import event_reason
from ipmcal.planning.decide.decide import Call, Decision, YardDecision
from ipmcal.planning.recall.courses import Course


@dataclass(frozen=True, slots=True)
class CountRequest:
    """A count is asked for from ``day`` on.

    ``again``: one on that very day does not answer it, since it failed. ``unless_due``: not where a count of the
    season's own is due by then anyway.
    """

    day: int
    why: str
    under: tuple[Reason, ...] = ()
    again: bool = False
    unless_due: bool = False


def asks(
    decision: YardDecision,
    states: Sequence[ColonyState],
    courses: Mapping[str, Sequence[Course]],
    follow_up: int,
    counted_after: Collection[str] = (),
) -> dict[str, list[CountRequest]]:
    """By colony: a count that failed or lies just under the line, one more for the yard, one after a course.

    ``states`` are the colonies that live and have begun; ``follow_up`` is how many days after a course's end mites are
    counted again, but for the products of ``counted_after``, whose own rules say so.
    """
    found: dict[str, list[CountRequest]] = {state.colony.key: [] for state in states}
    newest = max((d.count.day for d in decision.decisions), default=0)
    for one in decision.decisions:
        if one.call is Call.COUNT_AGAIN and one.count.colony in found:
            under = (event_reason(one.count.event),) if one.count.event else ()
            why = f"the count of {short_day(one.count.day)}: {one.causes[0]}"
            found[one.count.colony].append(CountRequest(one.count.day, why, under, again=True))
    told = {d.count.colony for d in decision.decisions}
    short = decision.missing - len(decision.again)
    for key in [key for key in found if key not in told][: max(0, short)] if decision.call is Call.COUNT_AGAIN else ():
        why = f"{counted(decision.missing, 'more colony', 'more colonies')} to count before the yard can be judged"
        told_by = tuple(event_reason(d.count.event) for d in decision.decisions if d.count.event)
        found[key].append(CountRequest(newest, why, told_by, again=True, unless_due=True))
    for key in found:
        for course in courses.get(key, ())[-1:]:
            if course.ended is not None and course.product not in counted_after:
                why = f"what did {course.product} do, that ended {short_day(course.ended)}?"
                found[key].append(CountRequest(course.ended + follow_up, why, (event_reason(course.lines[-1]),)))
    return {key: some for key, some in found.items() if some}


WATCH = "watch"
"""An authority's level below the line at which it says to treat, from which on mites are to be watched."""


def with_watched(
    asked: Mapping[str, Sequence[CountRequest]],
    decision: YardDecision,
    decided: Sequence[Decision],
    season: Season,
    book: Rulebook,
) -> dict[str, list[CountRequest]]:
    """The counts that are asked for, and one after each count below the line that its authority says to watch.

    Sooner between midsummer and the rearing of winter bees, when there is no time to lose; but once only: who counts
    until it fits learns nothing. ``decided`` is what each count of the season says.
    """
    found = {key: list(some) for key, some in asked.items()}
    watched = book.planning.watched
    soon, late = (int(value.value.middle) for value in (watched.soon, watched.late))
    begins = season.marks["winter_bee_rearing_start"].begins.usual
    midsummer = begins - int(book.planning.year_plans.counts.late_from.value.middle)
    for one in decision.decisions:
        if one.call is not Call.BELOW or one.level != WATCH or decision.call is Call.TREAT:
            continue
        day, key = one.count.day, one.count.colony
        again = any(d.count.colony == key and day - 2 * soon <= d.count.day < day for d in decided)
        hurry = midsummer <= day < begins and not again
        under = (event_reason(one.count.event),) if one.count.event else ()
        why = because_words(Because(Code.WATCHED_LATE if hurry else Code.WATCHED, (day,)))
        request = CountRequest(day + (late if hurry else soon), why, under, unless_due=not hurry)
        found.setdefault(key, []).append(request)
    return found


def with_neighbours(
    asked: Mapping[str, Sequence[CountRequest]], states: Sequence[ColonyState], dead: Sequence[ColonyState]
) -> dict[str, list[CountRequest]]:
    """The counts that are asked for, and one in each hive beside one that died: its mites go home with robbers."""
    found = {key: list(some) for key, some in asked.items()}
    for gone in dead:
        day = gone.dead
        if day is None:
            continue
        under = tuple(known.why for known in gone.days.values() if known.day == day)[:1]
        why = because_words(Because(Code.NEIGHBOUR_DIED, (gone.colony.key, day)))
        for state in states:
            found.setdefault(state.colony.key, []).append(CountRequest(day, why, under, unless_due=True))
    return found
