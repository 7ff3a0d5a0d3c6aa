"""Calls: what the counts of a yard say to do, and what treatments did, in words for paper and screen.

In: decisions, courses, the yardstick. Out: ``YardCall`` and ``CourseView`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.biology.comb import Measure
from ipmcal.biology.counts import Interval, corrected, efficacy
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.views import CountView, CourseView, YardCall
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Sample, Unit, found_words
from ipmcal.model.values.lines import wash_way
from ipmcal.model.values.words import counted, inside, joined, mites_gone, short_day
from ipmcal.planning.decide.decide import Call, Decision, YardDecision
from ipmcal.planning.decide.tally import Count, title_of
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.recall.courses import Course


def yard_call(
    ground: Ground, decision: YardDecision, all_: Sequence[Decision], courses: Mapping[str, Sequence[Course]]
) -> YardCall | None:
    """What the counts of a yard say to do; None where nothing was counted this season."""
    if not decision.decisions:
        return None
    newest = max(d.count.day for d in decision.decisions)
    over = {d.count.colony: d.count.day for d in decision.decisions if d.count.colony in decision.over}
    since = [[c.began for c in courses.get(colony, ()) if c.began >= day] for colony, day in over.items()]
    treated = max(min(days) for days in since) if since and all(since) else None
    stale = newest < ground.as_of - ground.stick.counting.together.value.middle
    answered = stale and treated is not None and treated < ground.as_of
    return YardCall(
        yard=ground.yard.key,
        day=newest,
        call=decision.call.value,
        words=because_words(Because(Code.COUNT_ANSWERED, (decision.over, newest, treated or 0)))
        if answered
        else _words(decision, treated, stale=stale),
        over=() if answered else decision.over,
        again=decision.again,
        missing=decision.missing,
        treated=treated,
        counts=tuple(_view(ground, d) for d in sorted(decision.decisions, key=lambda d: (d.count.day, d.count.colony))),
        efficacy=tuple(_did(ground, all_, courses)),
    )


def _words(decision: YardDecision, treated: int | None, *, stale: bool) -> str:
    """The decision in a sentence or two; ``stale``: the counts are too old for another to be added to them."""
    over, again = joined(decision.over), joined(decision.again)
    if decision.call is Call.TREAT:
        said = f"Treat the yard, every colony within a few days: {over} {_is(decision.over)} over the line."
        return f"{said} Treatment began {short_day(treated)}." if treated is not None else said
    if decision.call is Call.BELOW:
        return "Below the line: count again at the next time."
    if decision.call is Call.COUNT_AGAIN:
        if stale:
            return "Too few proper counts to speak for the yard: the next count tells."
        words = [f"Count again in {again}."] if again else []
        more = decision.missing - len(decision.again)
        if more > 0:
            words.append(f"Count {counted(more, 'more colony', 'more colonies')}: too few to speak for the yard.")
        return " ".join(words) or "Count again."
    return f"Written down, not judged: {joined(decision.causes)}."


def _is(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"


# One count -----------------------------------------------------------------------------------------------------------


def _view(ground: Ground, one: Decision) -> CountView:
    return CountView(
        colony=one.count.colony,
        day=one.count.day,
        found=found_words(one.count.sample),
        sure="; ".join(
            part for part in (_sure(one.count.sample, one.interval), _on_the_bees(ground, one.count)) if part
        ),
        call=one.call.value,
        why=joined(one.causes),
        line=_line(ground, one),
    )


def _sure(sample: Sample, interval: Interval | None) -> str:
    """The interval beside a count, in the same unit as its rate."""
    if interval is None:
        return ""
    times = 1 if sample.unit is Unit.DAYS else 100
    return f"likely {interval.low * times:.1f} to {interval.high * times:.1f}"


def _on_the_bees(ground: Ground, count: Count) -> str:
    """What is on the bees if the way of counting brings off only a share; for a second thought, it decides nothing."""
    way = wash_way(count.event.value) if count.event else ""
    share = ground.stick.counting.recovery.get(way)
    if share is None or count.sample.unit is not Unit.BEES or share.value.low is None:
        return ""
    recovery = Measure(share.value.low / 100, (share.value.high or 100) / 100)
    there = corrected(count.sample, recovery)
    return (
        f"{way} brings off {recovery.low:.0%} to {recovery.high:.0%}: {there.low:.1f} to {there.high:.1f} on the bees"
    )


def _line(ground: Ground, one: Decision) -> str:
    """The line that it is held to: "treat at 6 or more in 300 (AUTHORITY)"; what is from memory says so."""
    if one.ruling is None or one.line is None or one.least is None:
        return ""
    doubt = "; from memory: check your guide" if one.line.basis is Basis.MEMORY else ""
    size = f"{float(one.count.sample.size):g}{' days' if one.count.sample.unit is Unit.DAYS else ''}"
    whose = title_of(one.ruling.authority, ground.yard.jurisdiction, ground.book)
    return f"treat at {one.least} or more in {size} ({whose}{doubt})"


# What a treatment did ------------------------------------------------------------------------------------------------


def _did(ground: Ground, all_: Sequence[Decision], courses: Mapping[str, Sequence[Course]]) -> Iterator[str]:
    """For each course with counts before and after: the share of mites gone; over the line again: how long after."""
    follow = ground.book.planning.follow_up.value
    for colony, some in courses.items():
        mine = [d for d in all_ if d.count.colony == colony]
        for course in some:
            if course.ended is None:
                continue
            name = inside(ground.book.product(course.product))
            before = [d.count for d in mine if course.began - follow.middle <= d.count.day <= course.began]
            low, high = course.ended + follow.lower_end, course.ended + follow.upper_end
            after = [d.count for d in mine if low <= d.count.day <= high]
            gone = _gone(ground, before, after)
            if gone:
                yield f"{colony}: {name}, ended {short_day(course.ended)}: {gone}"
            later = [d for d in mine if d.count.day > high]
            if course is some[-1] and later and later[-1].call is Call.TREAT:
                weeks = (later[-1].count.day - course.ended) // 7
                yield f"{colony}: over the line again {counted(weeks, 'week')} after {name}: {_risen(gone)}"


def _gone(ground: Ground, before: Sequence[Count], after: Sequence[Count]) -> str:
    """How many of the mites were gone, with the interval; "" where the counts can't tell."""
    pairs = [(b, a) for b in reversed(before) for a in after if a.sample.unit is b.sample.unit and b.sample.mites]
    if not pairs:
        return ""
    counting = ground.stick.counting
    one = efficacy(
        pairs[0][0].sample, pairs[0][1].sample, counting.confidence.value.middle, counting.design_effect.value.middle
    )
    return mites_gone(float(one.share), one.interval.low, one.interval.high)


def _risen(gone: str) -> str:
    if gone:
        return f"mites came in from outside, or bred up again; the treatment itself left {gone}"
    return "mites came in from outside, or the treatment failed: no count after it tells which"


def course_views(ground: Ground, courses: Mapping[str, Sequence[Course]]) -> Iterator[CourseView]:
    """The courses of a yard's colonies as documents show them."""
    for colony, some in courses.items():
        for course in some:
            amount = f"{float(course.left):g}" if course.left > 0 else "what is left"
            left = "" if course.ended is not None else amount
            began, ended = course.began, course.ended
            yield CourseView(ground.yard.key, colony, course.product, began, ended, left, course.assumed)
