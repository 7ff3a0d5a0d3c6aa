"""The first words of a year's page: whether it is enough, year one first, with the odds and, where not, what would do.

In: a ``YearPlan``, its rounds by count. Out: text.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.causes import because_words
from ipmcal.model.values.text import quoted
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.led import Led
from ipmcal.planning.advise.missing import Help, Missing, missing
from ipmcal.planning.mites.accept import Outlook
from ipmcal.planning.mites.base import CAGING
from ipmcal.planning.mites.plan import YearPlan, first_over, most_over, short_of
from ipmcal.saying.year.counting import line_words
from ipmcal.saying.year.products import called

ROUNDS_MISSED = {
    "spring": "spring",
    "summer": "summer",
    "late_summer": "late summer",
    "early_autumn": "early autumn",
    "autumn": "the law's treatment of autumn",
    "winter": "the winter dose",
    "break": "a dose in the brood break",
    "package": "a dose before anything is capped",
}
"""Rounds as they are called where one is missing."""


def odds_words(out: Outlook, by_count: Led) -> str:
    """The odds of the first year, the second, and from about the third on."""
    years = (
        ("year one", out.over_one, by_count.one),
        ("year two", out.over_two, out.over_two),
        ("from about year three", out.over_settled, by_count.settled),
    )
    parts = [f"{name} {round(100 * plain)}{_acted(plain, led_, by_count)}" for name, plain, led_ in years]
    return f"Of 100 such hives, over the line on the worst day: {'; '.join(parts)}"


def _acted(plain: float, led_: float, by_count: Led) -> str:
    """How many where every count is acted on, if that is fewer."""
    told = bool(by_count.rounds) and round(100 * led_) < round(100 * plain)
    return f" ({round(100 * led_)} where every count below is acted on)" if told else ""


def first_word(plan: YearPlan, out: Outlook, by_count: Led) -> str:
    """Year one's word first, then that of the years to come."""
    figures = plan.known.asked.book.planning.year_plans.enough
    most = most_over(plan.known)
    settled = min(plan.over, by_count.settled)
    one = min(by_count.one, out.over_one) if by_count.rounds else out.over_one
    sound = not list(short_of(plan))
    later = "" if sound and settled <= most else "NOT ENOUGH"
    who = "" if plan.known.asked.stock.young is not None else " for hives that nobody counted"
    acted = " if the counts are acted on"
    led, led_later = (acted if by_count.rounds and over > most else "" for over in (out.over_one, plan.over))
    most_hives = figures.first_year.value.middle / 100.0
    if one > most_hives:
        first = f"YEAR ONE FAILS{who}: most are over the line"
    elif out.over_one > most_hives:
        even = "" if one <= most else ", and too many even then"
        first = f"YEAR ONE FAILS{who} unless every count below is made and acted on{even}"
    elif one > most:
        first = f"SHORT in year one{who}"
    else:
        first = f"Enough in year one{led}"
    if later:
        return f"NOT ENOUGH{'' if plan.known.asked.stock.young is None else ' IN LATER YEARS'}. {first}"
    return (
        f"{first}; enough from about year three{led_later}"
        if one > most or out.over_one > most_hives
        else f"{first} and later"
    )


def head(plan: YearPlan, out: Outlook, by_count: Led) -> Iterator[str]:
    """The first lines of the page."""
    figures = plan.known.asked.book.planning.year_plans.enough
    word = first_word(plan, out, by_count)
    most, doubt = figures.over.value.middle, figures.error.value.middle
    yield f"{word}. {odds_words(out, by_count)} (enough is up to {most:.0f}, give or take {doubt:.0f})."
    whys = [because_words(one) for one in short_of(plan)]
    if whys:
        yield f"Why not: {'; '.join(whys)}."
    fails = "YEAR ONE FAILS" in word
    short = "SHORT" in word
    if fails:
        yield failing_words(plan)
    elif short:
        first = _first_count(plan)
        yield f"Year one hangs on the counts: the first {first}, and each answered at its line, as it stands below."
    if (fails or short or word.startswith("NOT ENOUGH")) and plan.known.asked.products:
        lacks = missing(plan)
        if lacks.helps or not short or word.startswith("NOT ENOUGH"):
            yield missing_words(plan, lacks)


def failing_words(plan: YearPlan) -> str:
    """What a keeper does whose hives fail in year one, whatever stands below."""
    return (
        f"What to do: count {_first_count(plan)} and on every day below, and treat at the line at once, as it stands "
        "there, harvest or not. Who can't come on those days keeps fewer hives."
    )


def _first_count(plan: YearPlan) -> str:
    """The day of the first count that has a line."""
    counts = [day for day in plan_counts(plan) if "treat at" in line_words(plan, day)]
    return f"on {month_day(counts[0])}" if counts else "as soon as combs may be lifted"


def _programs(plan: YearPlan, products: tuple[str, ...]) -> Iterator[str]:
    """Programs that have one of the products."""
    found = [
        one.title for one in plan.known.asked.book.programs.values() if not set(products).isdisjoint(one.treatments)
    ]
    if found:
        yield f"it is in the program{'s' if len(found) > 1 else ''} {joined([quoted(title) for title in found])}"


def missing_words(plan: YearPlan, lacks: Missing) -> str:
    """What would help where the list does not do."""
    parts = [_help_words(plan, one) for one in lacks.helps]
    if not parts:
        parts = ["No other product with a label here makes it better, nor does a brood break by itself"]
    if lacks.rounds:
        parts.append(f"nothing on the list may be given for {joined([ROUNDS_MISSED[r] for r in lacks.rounds])}")
    return f"{'Would help: ' if lacks.helps else ''}{'; '.join(parts)}."


def _help_words(plan: YearPlan, one: Help) -> str:
    """One thing that would help, and what year one and later ones come to with it."""
    asked, most = plan.known.asked, most_over(plan.known)
    short = "" if one.later <= most else ", still too many"
    fails = asked.book.planning.year_plans.enough.first_year.value.middle / 100.0
    first = ", still too many" if one.one > fails and not short else ""
    comes = f"then year one {round(100 * one.one)}{first}, later {round(100 * one.later)} of 100{short}"
    if one.one > first_over(plan) + 0.1 or (one.caged is not None and asked.stock.young is not None):
        comes = f"from year two on: later {round(100 * one.later)} of 100{short}"
    caged = "" if one.caged is None or one.released is None else _caging_words(plan, one.caged, one.released)
    if one.product is None:
        return f"{caged} ({comes})"
    where = "" if caged else "".join(f"; {words}" for words in _programs(plan, (one.product,)))
    both = f", and {caged}, both together" if caged else ""
    return f"{called(asked.book, one.product)}, bought as well{both} ({comes}{where})"


def _caging_words(plan: YearPlan, caged: int, released: int) -> str:
    """The caging, and the program that has it."""
    book = plan.known.asked.book
    caging = book.methods[CAGING].title
    has = [p.title for p in book.programs.values() if CAGING in p.methods]
    where = f", as in {quoted(has[0])}" if has else ""
    return f"{caging[0].lower()}{caging[1:]} from {month_day(caged)} to {month_day(released)}{where}"
