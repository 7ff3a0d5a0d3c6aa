"""Counts in words: on which days, how, at how many mites to treat, and with what.

In: a ``YearPlan``, its rounds by count. Out: lines of text.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import mites_on_board, plan_counts
from ipmcal.planning.advise.led import Led, LedRound
from ipmcal.planning.advise.over import Open, Sought, remedies
from ipmcal.planning.decide.tally import Count, Yardstick, announced, ruling, title_of, yardstick
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.answers import answer, is_caged
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.excuse import excuse
from ipmcal.saying.year.offers import at_once, remedy_words
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import frames_words, given_again, off_words, out_day

KIND = "overwintered"


def how_line(plan: YearPlan) -> str:
    """How mites are counted, and whose line it is."""
    whose, lies = _whose(plan), _board_days(plan)
    caged = " (while she is caged, the comb with her cage)" if any(one.rests for one in plan.courses) else ""
    return (
        f"How to count. Wash: {SAMPLE} bees (half a cup) off a brood comb{caged}, the queen looked for and not among "
        "them, shaken in alcohol or soapy water. Board, where it is too cold for a wash: greased, under the mesh floor "
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
            title = title_of(told[0].authority, asked.jurisdiction, asked.book)
            found[title] = memory or found.get(title, False)
    words = [f"{title}{' (from memory: look it up)' if memory else ''}" for title, memory in found.items()]
    return f" The lines are those of: {'; '.join(words)}." if words else ""


def count_lines(plan: YearPlan, opened: Open, by_count: Led) -> Iterator[str]:
    """Each count: its day, how, the number of mites at which to treat, what it is for, what is given over the line."""
    for day in plan_counts(plan):
        what = _for(plan, by_count, day)
        waits = next((r for r in by_count.rounds if r.count == day), None)
        yield count_line(plan, day, what, _over(plan, opened, by_count, day), None if waits is None else waits.mites)


def count_line(plan: YearPlan, day: int, what: str, over: str, sooner: int | None = None) -> str:
    """A count on one line: its day, how, what it is for, what is given over the line, or ``sooner``."""
    words = line_words(plan, day)
    if sooner is not None and f"treat at {sooner} " not in words:
        words = words.replace("treat at", f"treat at {sooner} or more in {SAMPLE}; the published line is", 1)
    return f"{month_day(day)}, {words}{f' ({what})' if what else ''}. {over}".rstrip()


NO_LINE = "no line is published for it here"


def line_words(plan: YearPlan, day: int) -> str:
    """How a count of a day is made, and at how many mites to treat."""
    stick, lies = _stick(plan), _board_days(plan)
    board = announced(day, stick, KIND, lies, Unit.DAYS)
    if _cold(plan, day):
        least = _watched(plan, day)
        if board is None and least is not None:
            return f"board, four weeks after the dose, if you gave one: {least} or more in {lies} days are too many"
        if board is None:
            return f"board (too cold for a wash): {NO_LINE}; write down what falls"
        return f"board: treat at {board[1]} or more in {lies} days"
    found = announced(day, stick, KIND, SAMPLE)
    if found is None:
        return f"wash: {NO_LINE}; write down how many"
    other = "" if board is None or _fells(plan, day) else f", by board at {board[1]} or more in {lies} days"
    return f"wash: treat at {found[1]} or more in {SAMPLE}{other}"


def _fells(plan: YearPlan, day: int) -> bool:
    """Whether a course is in the hive, or was so lately that what it felled lies on the board yet."""
    after = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
    return any(c.course.day < day <= c.course.answer.use.last + after for c in plan.courses)


def after_dose_words(plan: YearPlan, dose: int) -> str:
    """The board that tells what a dose of winter did, as a sentence; "" where nobody asks for it."""
    asked = plan.known.asked
    counts = asked.region.base.counts
    if counts is None or counts.after_dose is None:
        return ""
    day = dose + whole_days(counts.after_dose)
    season = asked.season  # lines are of its days
    least = _watched(plan, day if day <= season.last else day - (season.last + 1 - season.first))
    if least is None:
        return ""
    lies = _board_days(plan)
    return f" Board on {month_day(day)}, what that dose did: {least} or more in {lies} days are too many."


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
            reads = "a board reads high, since it fells them" if _cold(plan, day) else "reads low"
            said.append(f"with the {name} in: {reads}, and tells only whether it works")
        elif answer.use.last < day <= answer.use.last + after and not winter:
            said.append(f"after the {name}: did it work?")
    return joined(said)


def _over(plan: YearPlan, opened: Open, by_count: Led, day: int) -> str:
    """What is given where the count is over the line."""
    words = line_words(plan, day)
    waits = next((r for r in by_count.rounds if r.count == day), None)
    if waits is not None:
        return _led_words(plan, opened, waits)
    if "too many" in words:
        return "So many: the dose did not do its work. No second one: count again as soon as combs may be lifted."
    if NO_LINE in words:
        return no_line_words(plan, opened, day)
    here = f"At or over it: {answer(plan, opened, day, plan.courses)}."
    return f"{here}{_left_out(plan, opened, day)}{_given_by_count(plan, opened, by_count, day)}"


def _given_by_count(plan: YearPlan, opened: Open, by_count: Led, day: int) -> str:
    """What is given where the last round that waited for a count before this one was given: it lies in the hive yet, or
    its label's rest is not over."""
    book, law = plan.known.asked.book, plan.known.asked.jurisdiction
    if is_caged(plan.courses, day) is not None:
        return ""
    found = []
    for one in by_count.rounds:
        label = label_for(book.treatments[one.course.answer.product], law, book)
        rest = None if label is None else label.limits.rest
        told = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
        until = out_day(plan, one.course.answer) + max(told, 0 if rest is None else round(rest.value.value.high or 0))
        if one.course.day < day <= until:
            found.append(one)
    if not found:
        return ""
    given = sorted((*plan.courses, Planned(-1, found[-1].course, "")), key=lambda c: c.course.day)
    here, else_ = answer(plan, opened, day, plan.courses), answer(plan, opened, day, given)
    name = called(book, found[-1].course.answer.product)
    return "" if else_ in here else f" With the {name} of {month_day(found[-1].course.day)} given: {else_}."


def _led_words(plan: YearPlan, opened: Open, one: LedRound) -> str:
    """The round that a count decides on, and what is quicker where the authority's own line is reached."""
    book, product = plan.known.asked.book, one.course.answer.product
    name = called(book, product)
    answer_ = one.course.answer
    given = f"{name} from {month_day(one.course.day)}{given_again(plan, answer_)}{off_words(plan, answer_)}"
    given += frames_words(plan, answer_)
    words = f"At {one.mites} or more in {SAMPLE}: {given}."
    line = announced(one.count, _stick(plan), KIND, SAMPLE)
    slow = book.treatments[product].common.kills.in_cells.value == "no"
    if line is None or line[1] <= one.mites or not (slow or one.course.day > one.count):
        return words
    fast = {n for n, t in book.treatments.items() if t.common.kills.in_cells.value != "no" or n == product}
    mine = [c for c in opened.listed if c.answer.product in fast and (c.answer.product != product or not slow)]
    quick = remedies(opened, mine, Sought(one.count, at_once(plan)), plan.courses)
    if not quick or (not slow and quick[0].day >= one.course.day):
        return words
    why = "which is quicker" if slow else "at once"
    return f"{words} At {line[1]} or more: {remedy_words(plan, quick[0])}, {why}; then a new plan."


def no_line_words(plan: YearPlan, opened: Open, day: int) -> str:
    """What more mites than last time are answered by, where no authority has a line; boards are held to boards."""
    near = whole_days(plan.known.asked.book.planning.year_plans.counts.apart)
    before = [d for d in plan_counts(plan) if day - near <= d < day and _cold(plan, d) == _cold(plan, day)]
    if not before or (_cold(plan, day) and any(_fells(plan, one) for one in (day, before[-1]))):
        return "There is nothing yet to hold it against: it is the first of its row."
    times = plan.known.asked.book.planning.year_plans.offered.clearly.value.middle
    many = "Twice" if times == 2 else f"{times:g} times"
    more = f"{many} as many as on {month_day(before[-1])}, or more"
    dose = winter_dose_of(plan, opened)
    ahead = whole_days(plan.known.asked.book.planning.year_plans.offered.dose_ahead)
    if dose is not None and day <= dose[1] <= day + ahead:
        name = called(plan.known.asked.book, dose[0])
        return f"{more}: the {name} on the first day on which nothing is capped, by {month_day(dose[1])}."
    nxt = next((count for count in plan_counts(plan) if count > day and not _cold(plan, count)), None)
    if nxt is None:
        return f"{more}: wash on the first mild day of spring, and treat at the line then."
    return f"{more}: wash on the first day that is warm enough, not only on {month_day(nxt)}."


def _left_out(plan: YearPlan, opened: Open, day: int) -> str:
    """What is given where the last course before a count was left out by a low one."""
    after = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
    if is_caged(plan.courses, day) is not None:
        return ""
    found = [
        one
        for one in plan.courses
        if one.course.day < day <= out_day(plan, one.course.answer) + after and excuse(plan, one)
    ]
    if not found:
        return ""
    others = [other for other in plan.courses if other is not found[-1]]
    here, else_ = answer(plan, opened, day, plan.courses), answer(plan, opened, day, others)
    name = called(plan.known.asked.book, found[-1].course.answer.product)
    return "" if else_ in here else f" With the {name} left out by a low count: {else_}."
