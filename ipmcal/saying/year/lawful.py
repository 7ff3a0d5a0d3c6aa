"""What a keeper without a plan of treatments is still told to give: what law asks for, and the dose of winter.

In: a ``YearPlan`` without courses, what labels let. Out: text.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.over import Open, listed_by
from ipmcal.planning.mites.asking.known import YearKnown
from ipmcal.planning.mites.enough import SAMPLE
from ipmcal.planning.mites.plan import YearPlan
from ipmcal.planning.mites.walls import whole_days
from ipmcal.saying.year.counting import after_dose_words, line_words
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.excuse import low_count
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import given_again, off_words, out_day
from ipmcal.saying.year.winter import asking_for_no_brood, caged_for, caging_words

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


def winter_words(plan: YearPlan, opened: Open, laws: Sequence[Jurisdiction]) -> str:
    """The dose of the broodless weeks, which is no answer to a count but what next year begins with."""
    found = winter_dose_of(plan, opened)
    if found is None:
        return ""
    (product, day), asked = found, plan.known.asked
    name, base = called(asked.book, product), asked.region.base.rounds
    notes = "".join(f" {note.rstrip('.')}." for note in base["winter"].notes)
    goes_on = _brood_goes_on(plan, day, laws) if asked.region.rarely_broodless else ""
    told = after_dose_words(plan, day)
    given = f"Winter: {name} on {month_day(day)}, nothing capped (look first), in every hive."
    return f"{given}{_excused(plan, day, laws)}{notes}{goes_on}{told}"


def _excused(plan: YearPlan, day: int, laws: Sequence[Jurisdiction]) -> str:
    """What excuses the dose: the last wash, where it is not old, and no law asks for the dose."""
    ahead = whole_days(plan.known.asked.book.planning.year_plans.offered.excuses)
    counts = [d for d in plan_counts(plan) if day - ahead <= d < day and "wash: treat at" in line_words(plan, d)]
    low = low_count(plan, counts[-1]) if counts else None
    if low is None:
        return ""
    least = plan.known.asked.book.planning.year_plans.led.at_least.value.middle / 100.0
    most = min(low, round(least * SAMPLE) - 1)
    law = asking_for_no_brood(laws)
    never = f"; {law} it is never left out" if law else ""
    return (
        f" It may be left out only where the wash of {month_day(counts[-1])} found {most} or fewer in {SAMPLE} in all "
        f"of them, and nothing was over the line after it{never}."
    )


def _brood_goes_on(plan: YearPlan, day: int, laws: Sequence[Jurisdiction]) -> str:
    """Where brood hardly stops: left out, or the queen caged where law asks for a treatment without brood."""
    caged, law = caged_for(plan, day, None), asking_for_no_brood(laws)
    if not law or caged is None:
        return " Brood hardly stops here: where something is capped, leave it out."
    return f" Brood hardly stops here: {caging_words(caged, day, law)}."
