"""The page of a year's courses: what is to be done, counted and known, in the order in which a keeper asks for it.

In: a ``YearPlan``; laws that hold where the yard lies. Out: lines of text, lists begun with "- ".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.led import Led, led, opened
from ipmcal.planning.mites.accept import Outlook
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.question import YearKnown
from ipmcal.saying.year.counting import at_once, count_lines, how_line, line_words
from ipmcal.saying.year.head import head
from ipmcal.saying.year.products import called, product_line, titles
from ipmcal.saying.year.work import course_lines, led_lines, trap_lines

LOW = (
    "What a low count excuses: a round that waits for a count is not given. Late summer's course and the winter dose "
    "stand (unless its line above says otherwise) until a new plan, made with the count, drops them: mites come in "
    "from other hives until autumn."
)


def year_lines(
    plan: YearPlan, out: Outlook, by_count: Led, one: YearKnown, laws: Sequence[Jurisdiction]
) -> Iterator[str]:
    """The page of a program with products. ``one`` is what may be done where a count is over the line."""
    asked = plan.known.asked
    laws_ = list(law_lines(plan, laws))
    yield from head(plan, out, by_count)
    yield from (line for line in laws_ if line.startswith(BROKEN))
    yield ""
    yield f"To choose from: {titles(asked.book, [p for p in asked.products if p in plan.known.answers.refused])}."
    yield ""
    yield "Treatments"
    yield from (f"- {line}" for line in course_lines(plan))
    yield from (f"- {line}" for line in led_lines(plan, by_count))
    yield from (f"- {line}" for line in trap_lines(plan))
    yield ""
    yield "Counts"
    yield from (f"- {line}" for line in count_lines(plan, one, by_count))
    yield f"- {how_line(plan)}"
    yield f"- {LOW}"
    yield ""
    yield "Products, by their labels"
    given = [*(one_.course for one_ in plan.courses), *(one_.course for one_ in by_count.rounds)]
    used = dict.fromkeys(course.answer.product for course in given)
    yield from (f"- {product_line(asked.book, asked.jurisdiction, name)}" for name in used)
    yield ""
    yield from (f"- {line}" for line in laws_ if not line.startswith(BROKEN))


def counting_lines(plan: YearPlan, every: YearKnown, laws: Sequence[Jurisdiction]) -> Iterator[str]:
    """The page of a program without products. ``every``: what any product with a label there may do over the line."""
    reach = round(plan.known.asked.book.planning.year_plans.enough.excused.value.middle) - 1
    laws_ = list(law_lines(plan, laws))
    yield from (line for line in laws_ if line.startswith(BROKEN))
    yield (
        "Counts only: NO TREATMENT is planned, and without one hives here do not last. At or over the line at any "
        f"count: treat the whole yard within {reach} days, with what stands beside that count."
    )
    yield ""
    yield "Counts"
    used: list[str] = []
    for day in plan_counts(plan):
        words = at_once(plan, every, day, reach)
        named = dict.fromkeys(c.answer.product for c in every.candidates)
        used += [n for n in named if n not in used and f"{called(plan.known.asked.book, n)} from" in words]
        what = words or "nothing has a label for these weeks: wash again in two weeks, treat as soon as something has"
        yield f"- {month_day(day)}, {line_words(plan, day)}. At or over it: {what}."
    yield f"- {how_line(plan)}"
    yield "- After a treatment: count again two to four weeks after its end; at or over the line it failed."
    yield ""
    yield "Products, by their labels"
    yield from (f"- {product_line(plan.known.asked.book, plan.known.asked.jurisdiction, name)}" for name in used)
    yield ""
    yield from (f"- {line}" for line in laws_ if not line.startswith(BROKEN))


BROKEN = "AGAINST THE LAW"


def law_lines(plan: YearPlan, laws: Sequence[Jurisdiction]) -> Iterator[str]:
    """What the law says of mites, and first where this program alone does not keep it."""
    counts = plan.known.asked.region.base.counts
    least = 0 if counts is None or counts.all_year is None else round(counts.all_year.value.high or 0)
    slots = [one.slot for one in plan.known.rounds if one.slot.either]
    outside = slots and not any(s.first <= c.course.day <= s.last for s in slots for c in plan.courses)
    for one in laws:
        asked = 0 if one.treatments_a_year is None else round(one.treatments_a_year.value.middle)
        if len(plan.courses) < asked or (asked and outside and one.treatment_time):
            what = f"{asked} treatment{'s' if asked > 1 else ''} a year at least"
            when = f" ({one.treatment_time})" if one.treatment_time else ""
            yield (
                f"{BROKEN} ALONE, {one.title}: law there asks for {what}{when}, whatever is counted, and this program "
                f"plans {len(plan.courses) or 'none'}. Take a program with treatments, or treat beside it."
            )
        if one.note:
            yield f"Law, {one.title}: {one.note}"
    if least:
        yield f"Law: never more than {least} days between two counts, winter too; report each result."


def year_parts(plan: YearPlan) -> tuple[YearKnown, Led]:
    """What may be done over the line, and the rounds that wait for a count."""
    one = opened(plan)
    return one, led(plan, one, plan_counts(plan))
