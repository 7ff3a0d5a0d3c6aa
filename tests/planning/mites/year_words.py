"""Year plans in words: what ``year_plans.md`` holds, and pages for readers who do not know the program.

The words of a year are the product's (``ipmcal/saying/year``); figures beside them are for whoever judges the choice.
"""

from __future__ import annotations

from collections.abc import Iterator

from planning.mites.year_yards import PROGRAMS, Kept, begun, kept
from planning.yards import SHIPPED_REGIONS

from ipmcal.model.rules.files import Jurisdiction
from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.over import open_to
from ipmcal.planning.mites.accept import Odds, Outlook, outlook, years
from ipmcal.planning.mites.plan import YearPlan, year_plan
from ipmcal.saying.year.page import counting_lines, year_lines, year_parts

LAWS = {"mediterranean_spain_italy": ("es", "it")}
"""Regions over more than one country."""


def laws_of(it: Kept) -> list[Jurisdiction]:
    """The jurisdictions whose law holds in a region."""
    return [it.question.book.jurisdictions[name] for name in LAWS.get(it.region, (it.question.jurisdiction,))]


# Figures --------------------------------------------------------------------------------------------------------------


def in_100(odds: Odds) -> str:
    """Mites in 100 bees, median and band; above 10 nothing is told apart."""
    low, median, high = (100 * x for x in (odds.low, odds.median, odds.high))
    return f"{_short(median)} ({_short(low)}..{_short(high)})"


def _short(x: float) -> str:
    return "over 10" if x > 10 else f"{x:.1f}" if x < 1 else f"{x:.0f}"


def factor(odds: Odds) -> str:
    """Mites at the year's end for each at its beginning."""
    low, median, high = (
        f"{x:.0f}" if x >= 2 else f"{x:.1f}" if x >= 0.1 else "under 0.1" for x in (odds.low, odds.median, odds.high)
    )
    return f"{median} ({low}..{high})"


def figures(plan: YearPlan, mine: Outlook) -> list[tuple[str, Outlook]]:
    """What this plan and nothing come to, by draws that did not choose."""
    one = plan.known
    nothing = outlook(years(one.accept[:COMPARED], (), one.hazards), one.judging, ())
    return [("this plan, no count acted on", mine), ("no treatment", nothing)]


COMPARED = 40
"""Draws of what a plan is compared with: a matter of speed."""


def table(plan: YearPlan, mine: Outlook) -> Iterator[str]:
    """The figures as a table."""
    heads = (
        " ",
        "wash on the worst day of year one, mites in 100 bees",
        "hives over the line in year one, two, from about year three, of 100",
    )
    yield "|".join(
        ["", *heads, "winter bees from a cell with a mite", "mites at the year's end for each at its start", ""]
    )
    yield "|---|---|---|---|---|"
    for name, out in figures(plan, mine):
        over = ", ".join(str(round(100 * x)) for x in (out.over_one, out.over_two, out.over_settled))
        yield f"|{name}|{in_100(out.load)}|{over}|{in_100(out.winter_brood)} %|{factor(out.factor)}|"


def page(it: Kept, plan: YearPlan) -> Iterator[str]:
    """One program in one region."""
    kind = it.outfit.yards[0].colonies[0].kind
    one, by_count = year_parts(plan)
    out = plan.outlook()
    yield f"### {it.program}" + ("" if kind == "overwintered" else f", {kind}")
    yield ""
    yield brief_of(plan)
    yield ""
    yield from year_lines(plan, out, by_count, one, laws_of(it))
    yield ""
    yield from table(plan, out)
    yield ""


def brief_of(plan: YearPlan) -> str:
    """The courses of a plan on one line: for the test that runs every time."""
    courses = ", ".join(f"{c.course.answer.product} {month_day(c.course.day)}" for c in plan.courses)
    return f"<!-- {'enough' if plan.enough else 'not enough'}: {courses or 'none'} -->"


def projection(it: Kept) -> Iterator[str]:
    """A program without products: counts, and what mites come to."""
    plan = year_plan(it.question)
    yield f"### {it.program}"
    yield ""
    yield from counting_lines(plan, open_to(plan), laws_of(it))
    yield ""
    yield from table(plan, plan.outlook())
    yield ""


FIRST_YEARS = ("us_northeast", "us_mid_atlantic", "england_south_midlands", "germany_central_europe")
"""Regions of which packages and nuclei are shown too."""
HEAD = """# Year plans of every region and program

A yard of one hive at the region's reference place, its mites not counted before; a keeper who comes on Saturdays. Each
plan as the search chose it by what the courses do to the mites, in the product's own words; the first line of each says
what to expect. "Over the line": at or above the authority's number at which to treat, which stands beside each count.
"Of 100": of 100 hives drawn by chance within what is known; the same hives for all that is compared. Figures in
brackets run from the tenth to the ninetieth of 100; above 10 mites in 100 bees nothing is told apart. A wash reads one
and a half times the colony's mean while there is brood. A drawing, not a promise.
"""


def yards(region: str) -> Iterator[Kept]:
    """The yards of a region that have a page."""
    yield from (kept(region, program) for program in (*PROGRAMS, "counting_only"))
    if region in FIRST_YEARS:
        yield from (begun(region, kind) for kind in ("package", "nucleus"))


def heading(region: str) -> str:
    """The heading of a region's part."""
    return f"## {kept(region, 'full').question.region.title} ({region})\n"


def text(it: Kept) -> str:
    """The page of one yard."""
    if it.program == "counting_only":
        return "\n".join(projection(it))
    return "\n".join(page(it, year_plan(it.question)))


def pages() -> str:
    """The whole of ``year_plans.md``."""
    parts = [HEAD]
    for region in SHIPPED_REGIONS:
        parts += [heading(region), *(text(it) for it in yards(region))]
    return "\n".join(parts).rstrip() + "\n"
