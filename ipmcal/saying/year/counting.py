"""Counts in words: on which days, how, at how many mites to treat, and with what.

In: a ``YearPlan``, its rounds by count. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import mites_on_board, plan_counts
from ipmcal.planning.advise.led import Led
from ipmcal.planning.advise.over import Open, Remedy, caged_now, remedies
from ipmcal.planning.advise.second import seconds
from ipmcal.planning.decide.tally import Count, Yardstick, announced, ruling, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.excuse import excuse
from ipmcal.saying.year.products import called, may_stay

KIND = "overwintered"


def how_line(plan: YearPlan) -> str:
    """How mites are counted, and whose line it is."""
    whose, lies = _whose(plan), _board_days(plan)
    return (
        f"How to count. Wash: {SAMPLE} bees (half a cup) off a brood comb, the queen looked for and not among them, "
        "shaken in alcohol or soapy water. Board, where it is too cold to lift combs: greased, under the mesh floor "
        f"for {lies} days. Every hive, or eight of a large yard; one hive over the line treats the yard.{whose}"
    )


def _whose(plan: YearPlan) -> str:
    """Whose lines they are that the counts are held to."""
    asked, stick = plan.known.asked, _stick(plan)
    found: dict[str, bool] = {}
    for day in plan_counts(plan):
        for size, unit in ((SAMPLE, Unit.BEES), (_board_days(plan), Unit.DAYS)):
            told = announced(day, stick, KIND, size, unit)
            if told is None or (unit is Unit.BEES and _cold(plan, day)):
                continue
            line = told[0].rule.line
            memory = line is not None and any(cite.basis is Basis.MEMORY for cite in line.cites)
            title = asked.book.thresholds[told[0].authority].title
            found[title] = memory or found.get(title, False)
    words = [f"{title}{' (from memory: look it up)' if memory else ''}" for title, memory in found.items()]
    return f" The lines are those of: {'; '.join(words)}." if words else ""


def count_lines(plan: YearPlan, opened: Open, by_count: Led) -> Iterator[str]:
    """Each count: its day, how, the number of mites at which to treat, what it is for, what is given over the line."""
    for day in plan_counts(plan):
        what = _for(plan, by_count, day)
        yield count_line(plan, day, what, _over(plan, opened, by_count, day))


def count_line(plan: YearPlan, day: int, what: str, over: str) -> str:
    """A count on one line: its day, how, what it is for, what is given over the line."""
    words = line_words(plan, day)
    stop = "" if words.endswith("?") and not what else "."
    return f"{month_day(day)}, {words}{f' ({what})' if what else ''}{stop} {over}".rstrip()


NO_LINE = "no line is published for it here"


def line_words(plan: YearPlan, day: int) -> str:
    """How a count of a day is made, and at how many mites to treat."""
    stick, lies = _stick(plan), _board_days(plan)
    board = announced(day, stick, KIND, lies, Unit.DAYS)
    if _cold(plan, day):
        least = _watched(plan, day)
        if board is None and least is not None:
            return f"board: {least} or more in {lies} days are too many"
        if board is None:
            return f"board (too cold to lift combs): {NO_LINE}; does more fall than last time?"
        return f"board: treat at {board[1]} or more in {lies} days"
    found = announced(day, stick, KIND, SAMPLE)
    if found is None:
        return f"wash: {NO_LINE}; are there more than last time?"
    other = "" if board is None else f", by board at {board[1]} or more in {lies} days"
    return f"wash: treat at {found[1]} or more in {SAMPLE}{other}"


def _board_days(plan: YearPlan) -> int:
    """Days for which a board lies."""
    return whole_days(plan.known.asked.book.planning.year_plans.counts.board)


def _watched(plan: YearPlan, day: int) -> int | None:
    """Mites on a board from which the authority has it looked into, where it has no line to treat at."""
    lies = _board_days(plan)
    found = ruling(Count("", day, Sample(0, lies, Unit.DAYS), KIND), _stick(plan))
    if found is None or found.rule.watch is None:
        return None
    return mites_on_board(found.rule.watch.value, lies)


def _stick(plan: YearPlan) -> Yardstick:
    asked = plan.known.asked
    return yardstick(asked.season, asked.jurisdiction, asked.book, asked.region)


def _cold(plan: YearPlan, day: int) -> bool:
    """Whether no comb is lifted; where law asks for washes in winter too, the warmest hour has to do."""
    asked = plan.known.asked
    counts = asked.region.base.counts
    if counts is not None and counts.all_year is not None:
        return False
    warm = asked.book.planning.year_plans.counts.warm.value.low or 0.0
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


def _over(plan: YearPlan, opened: Open, by_count: Led, day: int) -> str:
    """What is given where the count is over the line."""
    book, words = plan.known.asked.book, line_words(plan, day)
    waits = next((r for r in by_count.rounds if r.count == day), None)
    if waits is not None:
        name, begins = called(book, waits.course.answer.product), month_day(waits.course.day)
        return f"At {waits.mites} or more in {SAMPLE}: {name} from {begins}."
    if "too many" in words:
        return "So many: the dose did not do its work. No second one: count again as soon as combs may be lifted."
    if NO_LINE in words:
        return ""
    return f"At or over it: {_answer(plan, opened, day)}.{_left_out(plan, opened, day)}"


def _answer(plan: YearPlan, opened: Open, day: int) -> str:
    """What is given where a count over the line finds the plan's courses given so far."""
    book, reach = plan.known.asked.book, reach_of(plan)
    caged = next((c for c in plan.courses if c.rests and c.rests.caged < day <= c.course.day), None)
    if caged is not None:
        name, when = called(book, caged.course.answer.product), month_day(caged.course.day)
        return (
            f"the queen is caged, so mites come to sit on bees and a wash reads high; the {name} on {when} answers it"
        )
    lies = next((c for c in plan.courses if c.course.day < day <= c.course.answer.use.last), None)
    if lies is not None:
        return _failing(plan, opened, lies, day)
    soon = next((c for c in plan.courses if day <= (c.rests.caged if c.rests else c.course.day) <= day + reach), None)
    if soon is not None:
        return f"{'cage the queen' if soon.rests else called(book, soon.course.answer.product)} as planned"
    return over_words(plan, opened, day, plan.courses)


def _failing(plan: YearPlan, opened: Open, lies: Planned, day: int) -> str:
    """What is done where mites are over the line with a course in: moved to the bees, or changed for another class."""
    name, asked = called(plan.known.asked.book, lies.course.answer.product), plan.known.asked
    lying = round(asked.book.planning.year_plans.counts.lying.value.low or 0)
    if day - lies.course.day < lying:
        return f"move the {name} to where the bees are, and count again in two weeks"
    others = [one for one in plan.courses if one is not lies]
    words = over_words(plan, opened, day, others, but=lies.course.answer.class_)
    if words.startswith(NO_LABEL):
        return f"move the {name} to where the bees are; {words}"
    withstood = asked.book.planning.year_plans.walls.synthetic
    why = " (mites may withstand it)" if lies.course.answer.class_ in withstood else ""
    return f"it fails{why}: take the {name} out, and give another class at once: {words}"


def _left_out(plan: YearPlan, opened: Open, day: int) -> str:
    """What is given where the last course before a count was left out, or waits, by a low one."""
    after = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
    found = [
        (one, second)
        for one, second in zip(plan.courses, seconds(plan), strict=True)
        if one.course.day < day <= one.course.answer.use.last + after and excuse(plan, one)
    ]
    if not found:
        return ""
    one, second = found[-1]
    answer = one.course.answer
    mine = {c.day for c in opened.listed if c.answer.product == answer.product}
    if day <= second.last and day in mine:
        what = (
            f"give the {called(plan.known.asked.book, answer.product)} now (last useful day {month_day(second.last)})"
        )
    else:
        what = over_words(plan, opened, day, [other for other in plan.courses if other is not one])
    return f" Where it was left out by a low count: {what}."


def reach_of(plan: YearPlan) -> int:
    """Days within which what a count asks for is begun."""
    return round(plan.known.asked.book.planning.year_plans.enough.excused.value.middle) - 1


def over_words(plan: YearPlan, opened: Open, day: int, before: Sequence[Planned], *, but: str = "") -> str:
    """What may be begun so soon after a day; what is not on the list, and caging the queen, where nothing on it may."""
    reach = reach_of(plan)
    mine = remedies(opened, opened.listed, day, reach, before, but=but)
    if mine:
        return f"{_named(plan, mine)}; then a new plan, as it may take a later course's place"
    others = remedies(opened, opened.all, day, reach, before, but=but)
    caged = caged_now(plan, opened, day)
    if others and not plan.known.asked.products:
        return _named(plan, others)
    parts = [] if caged is None else [_cage_words(plan, caged)]
    if others:
        parts.append(f"not on this plan's list, but with a label here: {_named(plan, others)}")
    if parts:
        return "; or, ".join(parts)
    return _none(plan, day)


NO_LABEL = "no label here fits these weeks"


def _none(plan: YearPlan, day: int) -> str:
    """What is said where nothing at all may be given."""
    nxt = next((c for c in plan.courses if c.course.day > day), None)
    said = NO_LABEL
    if nxt is None:
        return f"{said}: count again in two weeks, and treat as soon as one does"
    name = called(plan.known.asked.book, nxt.course.answer.product)
    return f"{said}; the {name} on {month_day(nxt.course.day)} is the next that does"


def _named(plan: YearPlan, found: Sequence[Remedy]) -> str:
    """Products with the first day of each, when they are given again, and supers."""
    return joined([_remedy_words(plan, one) for one in found[:MOST_NAMED]], "or")


def _remedy_words(plan: YearPlan, one: Remedy) -> str:
    asked = plan.known.asked
    again = f", again on {joined([month_day(day) for day in one.again])}" if one.again else ""
    off = "" if may_stay(asked.book, asked.jurisdiction, one.product) else ", honey supers off"
    return f"{called(asked.book, one.product)} from {month_day(one.day)}{again}{off}"


def _cage_words(plan: YearPlan, one: Remedy) -> str:
    asked = plan.known.asked
    off = "" if may_stay(asked.book, asked.jurisdiction, one.product) else ", honey supers off"
    name = called(asked.book, one.product)
    return f"cage the queen that day and give {name} on {month_day(one.day)}, nothing capped{off}"


MOST_NAMED = 2
"""Products that are named beside a count: more would not be read."""
