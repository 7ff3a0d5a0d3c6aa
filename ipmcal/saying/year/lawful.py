"""What a keeper without a plan of treatments is still told to give: what law asks for, and the dose of winter.

In: a ``YearPlan`` without courses, what labels let. Out: text.
"""

from __future__ import annotations

from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.over import Open, listed_by
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.question import YearKnown
from ipmcal.saying.year.products import called

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
            capped = ", nothing capped" if one.quick else ""
            parts.append(f"{called(book, one.answer.product)} from {month_day(one.day)}{capped}")
    return f"What it asks for, beside this program: {joined(parts)}." if parts else ""


def winter_words(plan: YearPlan, opened: Open) -> str:
    """The dose of the broodless weeks, which is no answer to a count but what next year begins with."""
    slot = next((one.slot for one in plan.known.rounds if one.slot.name == "winter"), None)
    if slot is None:
        return ""
    acids = [c for c in opened.all if c.quick and slot.first <= c.day <= slot.last]
    if not acids:
        return ""
    middle = slot.by if slot.by is not None else (slot.first + slot.last) // 2
    listing = listed_by(plan.known.asked.book)
    one = min(acids, key=lambda c: (abs(c.day - middle), -listing[c.answer.product], c.answer.product))
    name = called(plan.known.asked.book, one.answer.product)
    return (
        f"Winter: over the line at the last count, or not counted in autumn: {name} on {month_day(one.day)}, nothing "
        "capped."
    )
