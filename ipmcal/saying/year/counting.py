"""Counts in words: on which days, how, at how many mites to treat, and with what.

In: a ``YearPlan``, its rounds by count. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Unit
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.led import Led
from ipmcal.planning.decide.tally import Yardstick, announced, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.question import YearKnown
from ipmcal.planning.mites.search import fits
from ipmcal.saying.year.products import called, may_stay

BOARD_DAYS = 3
"""Days for which a board lies: sheets ask for as many."""
KIND = "overwintered"


def how_line(plan: YearPlan) -> str:
    """How mites are counted, and whose line it is."""
    stick = _stick(plan)
    found = announced(plan_counts(plan)[0], stick, KIND, SAMPLE) if plan_counts(plan) else None
    whose = ""
    if found is not None:
        book = plan.known.asked.book
        authority = book.thresholds[found[0].authority]
        line = found[0].rule.line
        memory = line is not None and any(cite.basis is Basis.MEMORY for cite in line.cites)
        whose = f" The line is that of: {authority.title}{' (from memory: look it up)' if memory else ''}."
    return (
        f"How to count. Wash: {SAMPLE} bees (half a cup) off a brood comb, the queen looked for and not among them, "
        "shaken in alcohol or soapy water. Board, where it is too cold to lift combs: greased, under the mesh floor "
        f"for {BOARD_DAYS} days. Every hive, or eight of a large yard; one hive over the line treats the yard.{whose}"
    )


def count_lines(plan: YearPlan, one: YearKnown, by_count: Led) -> Iterator[str]:
    """Each count: its day, how, the number of mites at which to treat, what it is for, what is given over the line."""
    for day in plan_counts(plan):
        what = _for(plan, by_count, day)
        told = f"{month_day(day)}, {line_words(plan, day)}{f' ({what})' if what else ''}."
        yield f"{told} {_over(plan, one, by_count, day)}".rstrip()


NO_LINE = "no line is published for it here"


def line_words(plan: YearPlan, day: int) -> str:
    """How a count of a day is made, and at how many mites to treat."""
    stick = _stick(plan)
    if _cold(plan, day):
        board = announced(day, stick, KIND, BOARD_DAYS, Unit.DAYS)
        if board is None:
            return f"board (too cold to lift combs): {NO_LINE}; does more fall than last time?"
        return f"board: treat at {board[1]} or more in {BOARD_DAYS} days"
    found = announced(day, stick, KIND, SAMPLE)
    if found is None:
        return "wash: no line is published here"
    board = announced(day, stick, KIND, BOARD_DAYS, Unit.DAYS)
    other = "" if board is None else f", by board at {board[1]} or more in {BOARD_DAYS} days"
    return f"wash: treat at {found[1]} or more in {SAMPLE}{other}"


def low_words(plan: YearPlan, day: int) -> str:
    """Up to how many mites a count is low, by the authority's lower level; "" where it has none."""
    found = announced(day, _stick(plan), KIND, SAMPLE)
    if found is None or found[0].rule.watch is None or _cold(plan, day):
        return ""
    watch = found[0].rule.watch.value
    least = watch.rate * SAMPLE
    return f"{max(int(least) - (0 if watch.above else 1), 0)} or fewer in {SAMPLE}"


def _stick(plan: YearPlan) -> Yardstick:
    asked = plan.known.asked
    return yardstick(asked.season, asked.jurisdiction, asked.book)


def _cold(plan: YearPlan, day: int) -> bool:
    warm = plan.known.asked.book.planning.year_plans.counts.warm.value.low or 0.0
    return plan.known.setting.high(day) < warm


def _for(plan: YearPlan, by_count: Led, day: int) -> str:
    """What a count is for: it decides, it looks into a course, it tells what one did."""
    rhythm = plan.known.asked.book.planning.year_plans.counts
    book, after = plan.known.asked.book, round(rhythm.after.value.high or 0)
    said = [f"decides on the {called(book, r.course.answer.product)} above" for r in by_count.rounds if r.count == day]
    for one in plan.courses:
        answer, name = one.course.answer, called(book, one.course.answer.product)
        first = one.rests.caged if one.rests else answer.day
        winter = one.course.quick and one.rests is None
        if first - round(rhythm.before.value.high or 0) <= day <= first and not winter:
            said.append(f"before the {'caging' if one.rests else name}")
        elif answer.day < day <= answer.use.last:
            said.append(f"with the {name} in: reads low, and tells only whether it works")
        elif answer.use.last < day <= answer.use.last + after and not winter:
            said.append(f"after the {name}: did it work?")
    return joined(said)


def _over(plan: YearPlan, one: YearKnown, by_count: Led, day: int) -> str:
    """What is given where the count is over the line."""
    book = plan.known.asked.book
    waits = next((r for r in by_count.rounds if r.count == day), None)
    if waits is not None:
        name, begins = called(book, waits.course.answer.product), month_day(waits.course.day)
        return f"At {waits.mites} or more in {SAMPLE}: {name} from {begins}."
    if NO_LINE in line_words(plan, day):
        return ""
    reach = round(plan.known.asked.book.planning.year_plans.enough.excused.value.middle) - 1
    caged = next((c for c in plan.courses if c.rests and c.rests.caged < day <= c.course.day), None)
    if caged is not None:
        name, when = called(book, caged.course.answer.product), month_day(caged.course.day)
        return f"At or over it: the queen is caged, and the {name} on {when} answers it."
    lies = next((c for c in plan.courses if c.course.day < day <= c.course.answer.use.last), None)
    if lies is not None:
        return "At or over it: do the bees reach it? Count again a week after it is out."
    soon = next((c for c in plan.courses if day <= (c.rests.caged if c.rests else c.course.day) <= day + reach), None)
    if soon is not None:
        return f"At or over it: {_course_words(book, soon)} as planned."
    words = at_once(plan, one, day, reach)
    if words:
        return f"At or over it: {words}; then a new plan, as it may take a later course's place."
    nxt = next((c for c in plan.courses if c.course.day > day), None)
    if nxt is None:
        return "At or over it: nothing on this list may be given now; next year's first course on its first day."
    then = (
        "the queen is caged as planned" if nxt.rests else f"{called(book, nxt.course.answer.product)} on its first day"
    )
    none = f"nothing on this list may be given within {reach} days"
    return f"At or over it: {none}; count again then, and {then}."


def at_once(plan: YearPlan, one: YearKnown, day: int, reach: int) -> str:
    """The products that may be begun so soon after a day, each with its first day; "" for none."""
    mine = {(c.course.answer.product, c.course.day) for c in plan.courses if c.course.day < day}
    places = [i for i, c in enumerate(one.candidates) if (c.answer.product, c.day) in mine]
    found: dict[str, str] = {}
    for i, c in sorted(enumerate(one.candidates), key=lambda pair: (pair[1].answer.lost > 0, pair[1].day)):
        if not day <= c.day <= day + reach or c.answer.product in found or (c.quick and one.asked.breaks):
            continue
        if i in places or fits(one.field, i, places):
            off = "" if may_stay(one.asked.book, one.asked.jurisdiction, c.answer.product) else ", honey supers off"
            found[c.answer.product] = f"{called(one.asked.book, c.answer.product)} from {month_day(c.day)}{off}"
    return joined(list(found.values())[:MOST_NAMED], "or")


MOST_NAMED = 2
"""Products that are named beside a count: more would not be read."""


def _course_words(book: Rulebook, one: Planned) -> str:
    return "cage the queen" if one.rests else called(book, one.course.answer.product)
