"""What a keeper without a plan of treatments is still told to give: what law asks for, and the dose of winter.

In: a ``YearPlan`` without courses, what labels let. Out: text.
"""

from __future__ import annotations

from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.over import Open, listed_by
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.question import YearKnown
from ipmcal.saying.year.counting import line_words
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.excuse import low_count
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import given_again, off_words, out_day

LAWS_ASK_FOR = ("late_summer", "autumn", "winter")
"""Rounds that laws on mites ask for."""


def lawful_words(plan: YearPlan, every: YearKnown) -> str:
    """For each round that advisers or law there have, a product with a label and a day."""
    book, parts = plan.known.asked.book, []
    listing, used = listed_by(book), set[str]()
    for served in every.rounds:
        found = [every.candidates[i] for i in served.candidates]
        if served.slot.name in LAWS_ASK_FOR and found:
            one = min(
                found,
                key=lambda c: (c.answer.class_ in used, c.answer.lost > 0, -listing[c.answer.product], c.day),
            )
            used.add(one.answer.class_)
            name, answer = called(book, one.answer.product), one.answer
            if one.quick:
                parts.append(f"{name} on {month_day(one.day)}, nothing capped")
                continue
            days = f"in on {month_day(one.day)}{given_again(plan, answer)}, out on {month_day(out_day(plan, answer))}"
            parts.append(f"{name}, {days}{off_words(plan, answer)}")
    return f"What it asks for, beside this program: {'; '.join(parts)}." if parts else ""


def winter_words(plan: YearPlan, opened: Open) -> str:
    """The dose of the broodless weeks, which is no answer to a count but what next year begins with."""
    found = winter_dose_of(plan, opened)
    if found is None:
        return ""
    name, asked = called(plan.known.asked.book, found[0]), plan.known.asked
    counts = [d for d in plan_counts(plan) if d < found[1] and "wash: treat at" in line_words(plan, d)]
    most = low_count(plan, counts[-1]) if counts else None
    unless = ", in every hive."
    if most is not None:
        unless = (
            f", in every hive. It may be left out only where the wash of {month_day(counts[-1])} found {most} or fewer "
            f"in {SAMPLE} in all of them, and nothing was over the line after it."
        )
    look = " Brood hardly stops here: where something is capped, leave it out." if asked.region.rarely_broodless else ""
    return f"Winter: {name} on {month_day(found[1])}, nothing capped (look first){unless}{look}"
