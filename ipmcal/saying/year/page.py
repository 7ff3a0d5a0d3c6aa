"""The page of a year's courses: what is to be done, counted and known, in the order in which a keeper asks for it.

In: a ``YearPlan``; laws that hold where the yard lies. Out: lines of text, lists begun with "- ".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.led import Led, led, opened
from ipmcal.planning.advise.over import Open, every_product, open_to
from ipmcal.planning.mites.accept import Outlook
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.answers import over_words
from ipmcal.saying.year.counting import NO_LINE, count_line, count_lines, how_line, line_words, no_line_words
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.head import head
from ipmcal.saying.year.lawful import lawful_words, winter_words
from ipmcal.saying.year.offers import reach_of
from ipmcal.saying.year.products import called, named_in, product_line, titles
from ipmcal.saying.year.work import course_lines, led_lines, trap_lines


def year_lines(
    plan: YearPlan, out: Outlook, by_count: Led, opened: Open, laws: Sequence[Jurisdiction]
) -> Iterator[str]:
    """The page of a program with products. ``opened`` is what may be done where a count is over the line."""
    asked = plan.known.asked
    laws_ = list(law_lines(plan, laws))
    yield from head(plan, out, by_count)
    yield from (line for line in laws_ if line.startswith(BROKEN))
    yield ""
    yield f"To choose from: {titles(asked.book, [p for p in asked.products if p in plan.known.answers.refused])}."
    yield ""
    given = sorted((*course_lines(plan, opened, laws), *led_lines(plan, by_count)), key=lambda one: one[0])
    work = [*(line for _, line in given), *trap_lines(plan)]
    counts = list(count_lines(plan, opened, by_count))
    yield "Treatments"
    yield from (f"- {line}" for line in work)
    yield ""
    yield "Counts"
    yield from (f"- {line}" for line in counts)
    yield f"- {how_line(plan)}"
    yield from queen_lines(plan, "\n".join(counts))
    winter = winter_dose_of(plan, opened) is not None
    yield f"- {low_words(winter)}"
    yield f"- {more_words(plan, winter)}"
    yield ""
    yield "Products, by their labels"
    named = [one.course.answer.product for one in plan.courses]
    yield from product_lines(plan, named, "\n".join((*work, *counts)))
    yield from yourself_lines(plan, "\n".join((*work, *counts)))
    yield ""
    yield from (f"- {line}" for line in laws_ if not line.startswith(BROKEN))


def low_words(winter: bool) -> str:
    """What a low count excuses, in a year with or without a dose of winter."""
    stand = "Late summer's course and the winter dose stand" if winter else "Late summer's course stands"
    drops = "them" if winter else "it"
    return (
        f"What a low count excuses: a round that waits for a count is not given. {stand} (unless its line above says "
        f"otherwise) until a new plan, made with the count, drops {drops}: mites come in from other hives until autumn."
    )


def more_words(plan: YearPlan, winter: bool) -> str:
    """What a round that a count asked for does to those that are planned, a dose of ``winter`` among them or not."""
    apart = whole_days(plan.known.setting.walls.between)
    stays = ", and the winter dose stays" if winter else ""
    moves = f"late summer's course and what law asks for move behind these days{stays}"
    if any(one.rests for one in plan.courses):  # later it would stop the rearing of winter bees
        moves = (
            f"what law asks for moves behind these days{stays}; a caging moves nowhere: it falls away, the added "
            "course is then late summer's, and the count after it decides whether another has to begin by the advised "
            "day"
        )
    return (
        f"What a high count adds: of the courses above, what would begin less than {apart} days after the added one "
        f"has come out falls away, but {moves}. Count again two to four weeks after its end. A new plan, made with the "
        "count, says it by days."
    )


def queen_lines(plan: YearPlan, text: str) -> Iterator[str]:
    """A look for eggs behind what may cost a queen and is named in the text of counts."""
    asked = plan.known.asked
    tolls = {name: asked.book.treatments[name].common.toll.queens for name in asked.book.treatments}
    costly = [
        name
        for name in named_in(asked.book, asked.jurisdiction, text)
        if (toll := tolls[name]) is not None and (toll.value.low or 0.0) > 0
    ]
    if costly:
        yield (
            f"- After {titles(asked.book, costly, 'or')} that a count asked for: eggs have to be there two to three "
            "weeks after it went in; none: a new queen, or unite (late in the year look for the queen herself)."
        )


def product_lines(plan: YearPlan, first: Sequence[str], text: str) -> Iterator[str]:
    """What labels say of each product that is named: those that are planned, ``first``, and all that stand in text."""
    asked = plan.known.asked
    for name in dict.fromkeys((*first, *named_in(asked.book, asked.jurisdiction, text))):
        yield f"- {product_line(asked.book, asked.jurisdiction, name)}"


def yourself_lines(plan: YearPlan, text: str) -> Iterator[str]:
    """What whoever handles the products that are named needs for eyes, lungs and hands."""
    book, law = plan.known.asked.book, plan.known.asked.jurisdiction
    names, told, before = list(named_in(book, law, text)), list[str](), ""
    for word in book.planning.year_plans.offered.yourself:
        mine = [name for name in names if word in book.treatments[name].cautions]
        if mine:
            alone = f"With {called(book, mine[0])}: " if len(mine) == 1 and len(names) > 1 else ""
            told.append(f"{'' if alone == before else alone}{book.planning.cautions[word]}")
            before = alone
    if told:
        yield f"- For yourself: {' '.join(told)}"


def counting_lines(plan: YearPlan, opened: Open, laws: Sequence[Jurisdiction]) -> Iterator[str]:
    """The page of a program without products. ``opened``: what any product with a label there may do over the line."""
    laws_ = list(law_lines(plan, laws))
    broken = [line for line in laws_ if line.startswith(BROKEN)]
    yield from broken
    beside = lawful_words(plan, every_product(plan)) if broken else ""
    if beside:
        yield beside
    yield (
        "Counts only: NO TREATMENT of its own is planned, and without one hives here do not last. At or over the line "
        f"at any count: treat the whole yard within {reach_of(plan)} days, with what stands beside that count."
    )
    yield ""
    yield "Counts"
    counts = []
    for day in plan_counts(plan):
        words = line_words(plan, day)
        over = "" if NO_LINE in words or "too many" in words else over_words(plan, opened, day, ())
        none = no_line_words(plan, opened, day) if NO_LINE in words else ""
        counts.append(count_line(plan, day, "", f"At or over it: {over}." if over else none))
    yield from (f"- {line}" for line in counts)
    yield f"- {how_line(plan)}"
    winter = winter_words(plan, opened, laws)
    last = "; where no other may begin, the winter dose as soon as nothing is capped" if winter else ""
    yield (
        "- After a treatment: count again two to four weeks after its end; at or over the line it failed: give another "
        f"class then, never the same again within its label's rest{last}."
    )
    yield from queen_lines(plan, "\n".join(counts))
    yield from (f"- {line}" for line in [winter] if line)
    yield ""
    yield "Products, by their labels"
    yield from product_lines(plan, (), "\n".join((*counts, beside, winter)))
    yield from yourself_lines(plan, "\n".join((*counts, beside, winter)))
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
                f"{BROKEN} BY ITSELF, {one.title}: law there asks for {what}{when}, whatever is counted, and this "
                f"program plans {len(plan.courses) or 'none'}. Take a program with treatments, or treat beside it."
            )
        if one.note:
            yield f"Law, {one.title}: {one.note}"
    if least:
        yield f"Law: never more than {least} days between two counts, winter too; report each result."


def year_parts(plan: YearPlan) -> tuple[Open, Led]:
    """What may be done over the line, and the rounds that wait for a count."""
    return open_to(plan), led(plan, opened(plan), plan_counts(plan))
