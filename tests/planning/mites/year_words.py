"""Year plans in words: what ``year_plans.md`` holds, and pages for readers who do not know the program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planning.mites.year_yards import PROGRAMS, Kept, begun, kept, todays_courses
from planning.yards import SHIPPED_REGIONS

from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.mites.accept import Odds, Outlook, outlook, over_first, years
from ipmcal.planning.mites.base import break_by
from ipmcal.planning.mites.plan import (
    Planned,
    YearPlan,
    in_time,
    least_courses,
    most_over,
    spares_winter_bees,
    year_plan,
)
from ipmcal.planning.mites.question import given_of
from ipmcal.planning.mites.second import Further, Second, earlier, further_rounds, missing, opened, plan_counts, seconds

ROUNDS = {
    "spring": "spring round",
    "summer": "summer round",
    "late_summer": "late-summer round",
    "autumn": "the law's treatment of autumn",
    "winter": "winter dose",
    "break": "dose in the brood break",
    "package": "dose before brood is capped",
    "": "beside the base",
}


def title(plan: YearPlan, product: str) -> str:
    """A product as it is called."""
    words = plan.known.asked.book.treatments[product].title
    return f"{words[0].lower()}{words[1:]}"


def course_lines(plan: YearPlan) -> Iterator[str]:
    """Each course with its days and its second choice."""
    for one, second in zip(plan.courses, seconds(plan), strict=True):
        answer = one.course.answer
        off = _off(answer.supers_off, answer.lost)
        yield (
            f"{_round(plan, one)}: {_break(one)}{title(plan, answer.product)} from {month_day(answer.day)}"
            f"{_to(answer.use.last, answer.day)}{off}. {_second(plan, second, answer.day)}"
        )
    if not plan.courses:
        yield "no course: none is let, or no product is named"


def _round(plan: YearPlan, one: Planned) -> str:
    """What a course is for, and the day by which advisers have it begin."""
    slot = next((served.slot for served in plan.known.rounds if served.slot.name == one.round), None)
    if slot is not None and slot.either and one.course.quick:
        return "the law's treatment of autumn, and the winter dose"
    if slot is None or slot.by is None or one.round in ("break", "package"):
        return ROUNDS[one.round]
    late = "LATE, " if one.course.day > slot.by else ""
    return f"{ROUNDS[one.round]} ({late}published day: by {month_day(slot.by)})"


def _off(day: int | None, lost: int) -> str:
    """Supers that come off for a course, and what of a flow is left to the bees."""
    if day is None:
        return ""
    return f", supers off that day ({lost} days of flow left to the bees)" if lost else ", supers off by that day"


def _break(one: Planned) -> str:
    """The work of the break that a course rests on."""
    rest = one.rests
    if rest is None:
        return ""
    work = f"queen caged {month_day(rest.caged)}, let out {month_day(rest.released)}, nothing capped then; "
    return f"{work}the same day " if rest.released == one.course.day else work


def _to(last: int, first: int) -> str:
    return f" to {month_day(last)}" if last > first else ""


def _second(plan: YearPlan, second: Second, day: int) -> str:
    latest = f"At the latest {month_day(second.last)}" if second.last > day else "No later day of yours is enough"
    if second.product is None or second.day is None or second.until is None:
        return f"{latest}; no other product does."
    until_ = f", at the latest {month_day(second.until)}" if second.until > second.day else ""
    return f"{latest}; else {title(plan, second.product)} from {month_day(second.day)}{until_}."


def share_words(plan: YearPlan) -> str:
    """The odds of a settled year."""
    return f"{round(100 * plan.over)} of 100 such hives over the line on the worst day of a settled year"


def verdict_words(plan: YearPlan) -> str:
    """Enough or not, with the odds and, where not, what is missing."""
    share = share_words(plan)
    if plan.enough:
        figures = plan.known.asked.book.planning.year_plans.enough
        edge = ", at the edge" if 100 * plan.over > figures.over.value.middle + 1e-9 else ""
        return f"Enough once settled{edge}: {share}"
    whys = "".join(f"; {why}" for why in short_of(plan))
    lacks = f". {missing_words(plan)}" if plan.known.asked.products else ""
    return f"NOT ENOUGH: {share}{whys}{lacks}"


def short_of(plan: YearPlan) -> Iterator[str]:
    """What a plan is short of beside its odds."""
    one = plan.known
    slot = next((served.slot for served in one.rounds if served.slot.name == "late_summer"), None)
    if not in_time(one, plan.chosen) and slot is not None and slot.by is not None:
        yield f"nothing may begin by {month_day(slot.by)}, the published day"
    if not spares_winter_bees(one, plan.made):
        most = one.asked.book.planning.year_plans.enough.winter_brood.value
        yield f"more than {most} of the first year's winter brood with a mite"
    if len(plan.courses) < least_courses(one):
        yield f"{len(plan.courses)} courses, and advisers have {least_courses(one)}"


def further_lines(plan: YearPlan) -> Iterator[str]:
    """A further round, where a count is over the line: in the first year of hives that nobody counted, and later."""
    one = opened(plan)
    if not plan.enough and plan.over > most_over(plan.known):
        found = further_rounds(plan, one, settled=True)
        if found:
            yield from _further(plan, found, "Would help: a further round", plan.over)
        yield _break_helps(plan)
    first = over_first(plan.made, plan.known.judging, plan.known.begins(plan.chosen.courses))
    if plan.known.asked.stock.young is None and first > most_over(plan.known):
        found = further_rounds(plan, one, settled=False)
        head = f"Year one, nobody having counted: {round(100 * first)} of 100 over the line"
        if found:
            yield from _further(plan, found, f"{head}. Over it at a count, a further round", first)
        else:
            yield f"{head}. {_sooner(plan, earlier(plan, one), first)}"


def _break_helps(plan: YearPlan) -> str:
    """What handwork does where products do not."""
    asked = plan.known.asked
    slot = next(one.slot for one in plan.known.rounds if one.slot.name == "late_summer")
    near = slot.by or slot.last
    made = break_by(asked.book, asked.season, asked.region, asked.days, near)
    count = max((day for day in plan_counts(plan) if day < near), default=near)
    told = f"a count on {month_day(count)} tells whether this year needs it"
    if asked.breaks or made is None or asked.stock.young is not None:
        return f"Would help: {told}."
    caged, out = month_day(made.caged), month_day(made.released)
    return f"Would help: a break, the queen caged {caged} and let out {out}, an acid that day; {told}."


def _sooner(plan: YearPlan, found: Further | None, before: float) -> str:
    """What is left where no further round is let: late summer's course at once, supers off for it."""
    if found is None or found.share > before - WORTH:
        return (
            "No further round of the list is let: over it at a count, harvest, begin late summer's course at once, and "
            "break the brood."
        )
    answer = found.course.answer
    count = max(day for day in plan_counts(plan) if day <= answer.day)
    return (
        f"No further round of the list is let: over it at the count of {month_day(count)}, take supers off and begin "
        f"late summer's course then, {title(plan, answer.product)} from {month_day(answer.day)} "
        f"({round(100 * found.share)} of 100 over then)."
    )


WORTH = 0.05
"""Share of hives below which nobody begins sooner, supers off for it."""


def _further(plan: YearPlan, found: Sequence[Further], head: str, before: float) -> Iterator[str]:
    counts, parts = plan_counts(plan), []
    for one in found:
        answer = one.course.answer
        told = [day for day in counts if day <= answer.day]
        count = f"counted {month_day(max(told))}, " if told else ""
        days = f"{month_day(answer.day)}{_to(answer.use.last, answer.day)}"
        parts.append(f"{count}{title(plan, answer.product)} from {days} ({round(100 * one.share)} of 100 over then)")
    yield f"{head}: {'; and '.join(parts)}; without it {round(100 * before)}."


def count_line(plan: YearPlan) -> str:
    """The days on which mites are counted."""
    return f"Counts: {joined([month_day(day) for day in plan_counts(plan)])}."


def handwork(it: Kept, plan: YearPlan) -> Iterator[str]:
    """Traps, counts, and what the law says."""
    yield from trap_line(plan)
    yield count_line(plan)
    yield from law_lines(it)


def trap_line(plan: YearPlan) -> Iterator[str]:
    """The days of trap combs."""
    traps = plan.known.asked.stock.traps
    if traps:
        yield f"Trap combs: laid in from {month_day(traps[0].laid)}, cut {joined([month_day(t.cut) for t in traps])}."


LAWS = {"mediterranean_spain_italy": ("es", "it")}
"""Regions over more than one country."""


def law_lines(it: Kept) -> Iterator[str]:
    """What the law where the yard lies says of mites."""
    book = it.question.book
    for name in LAWS.get(it.region, (it.question.jurisdiction,)):
        one = book.jurisdictions[name]
        if one.note and it.question.jurisdiction in MUST_TREAT:
            yield f"Law, {one.title}: {one.note}"
    counts = it.question.region.base.counts
    if counts is not None and counts.all_year is not None:
        yield f"Law: never more than {counts.all_year.value} between two counts, winter too; each result is told."


MUST_TREAT = ("es", "it", "de")
"""Jurisdictions whose law asks for a treatment."""


LIMITS = {
    "temperature": "its label's warmth",
    "hot": "heat",
    "cold": "cold",
    "supers": "supers on",
    "flow": "the main flow",
    "quick": "brood, which it does not reach",
    "drones": "it would come before drones are reared",
    "season": "its own season",
    "rested": "too soon after the last",
}


def missing_words(plan: YearPlan) -> str:
    """What is missing, each product by name."""
    lacks = missing(plan)
    parts = []
    if lacks.helps:
        parts.append(f"Missing from the list, and would do: {joined([title(plan, n) for n in lacks.helps], 'or')}")
    elif lacks.nearest is not None:
        name, over = lacks.nearest
        parts.append(f"No one product more does; nearest {title(plan, name)} ({round(100 * over)} of 100)")
    else:
        parts.append("No other product with a label here brings more as one course")
    if lacks.rounds:
        parts.append(f"nothing serves the {joined([ROUNDS[r] for r in lacks.rounds])}")
    if lacks.walls:
        kept_off = joined([f"{title(plan, n)} ({LIMITS.get(word, word)})" for n, word in lacks.walls])
        parts.append(f"what keeps them off most days: {kept_off}")
    listed = [n for n in lacks.unlabelled if n in plan.known.asked.products]
    if listed:
        parts.append(f"no label here for {joined([title(plan, n) for n in listed])}")
    return "; ".join(parts)


# Figures --------------------------------------------------------------------------------------------------------------


def in_100(odds: Odds) -> str:
    """Mites in 100 bees, median and band; above 10 nothing is told apart."""
    low, median, high = (100 * x for x in (odds.low, odds.median, odds.high))
    return f"{_short(median)} ({_short(low)}..{_short(high)})"


def _short(x: float) -> str:
    return "over 10" if x > 10 else f"{x:.1f}" if x < 1 else f"{x:.0f}"


def factor(odds: Odds) -> str:
    return " ".join(f"{x:.2g}" for x in (odds.median,)) + f" ({odds.low:.2g}..{odds.high:.2g})"


def figures(it: Kept, plan: YearPlan) -> list[tuple[str, Outlook]]:
    """What this plan, nothing, and today's plan come to, by draws that did not choose."""
    one = plan.known
    today = todays_courses(it)
    asked = one.asked
    givens = [given for course in today for given in given_of(asked, course)]
    made = years(one.accept[:COMPARED], givens, one.hazards)
    then = outlook(made, one.judging, [c.day for c in today])
    nothing = outlook(years(one.accept[:COMPARED], (), one.hazards), one.judging, ())
    return [("this plan", plan.outlook()), ("no treatment", nothing), ("today's plan", then)]


COMPARED = 40
"""Draws of what a plan is compared with: a matter of speed."""


def table(it: Kept, plan: YearPlan) -> Iterator[str]:
    """The figures as a table."""
    heads = (" ", "wash on the worst day, mites in 100", "over the line in year 1, 2, settled, of 100 hives")
    yield "|".join(["", *heads, "winter brood with a mite", "year factor", ""])
    yield "|---|---|---|---|---|"
    for name, out in figures(it, plan):
        over = ", ".join(str(round(100 * x)) for x in (out.over_one, out.over_two, out.over_settled))
        yield f"|{name}|{in_100(out.load)}|{over}|{in_100(out.winter_brood)} %|{factor(out.factor)}|"


def page(it: Kept, plan: YearPlan) -> Iterator[str]:
    """One program in one region."""
    kind = it.outfit.yards[0].colonies[0].kind
    yield f"### {it.program}" + ("" if kind == "overwintered" else f", {kind}")
    yield ""
    yield f"{verdict_words(plan)}."
    yield ""
    yield brief_of(plan)
    yield ""
    yield from (f"- {line}" for line in course_lines(plan))
    yield from (f"- {line}" for line in handwork(it, plan))
    yield from (f"- {line}" for line in further_lines(plan))
    yield ""
    yield from table(it, plan)
    yield ""
    today = [f"{title(plan, c.answer.product)} {month_day(c.day)}" for c in todays_courses(it)]
    yield f"For comparison, today's planning would give: {joined(today) or 'nothing'}."
    yield ""


def brief_of(plan: YearPlan) -> str:
    """The courses of a plan on one line: for the test that runs every time."""
    courses = ", ".join(f"{c.course.answer.product} {month_day(c.course.day)}" for c in plan.courses)
    return f"`{'enough' if plan.enough else 'not enough'}: {courses or 'none'}`"


def projection(it: Kept) -> Iterator[str]:
    """A program without products: handwork, and what mites come to."""
    plan = year_plan(it.question)
    yield f"### {it.program}"
    yield ""
    yield f"No products, so NOT ENOUGH: {share_words(plan)}. Over the line at a count: treat within 14 days."
    yield ""
    yield from (f"- {line}" for line in handwork(it, plan))
    yield ""
    yield from table(it, plan)
    yield ""


FIRST_YEARS = ("us_northeast", "us_mid_atlantic", "england_south_midlands", "germany_central_europe")
"""Regions of which packages and nuclei are shown too."""
HEAD = """# Year plans of every region and program

An uncounted yard of one hive at the region's reference place, a keeper who comes on Saturdays, as chosen by what the
courses do to the mites. Medians with the range from the 10th to the 90th of 100 of the draws that did not choose (fewer
for what is compared); a wash reads one and a half times the colony's mean while there is brood; above 10 in 100 nothing
is told apart. "Over the line" is the authority's line for treating. "Enough once settled" is said of a yard that has
been kept so for some years; the first year of hives that nobody counted has a line of its own. A drawing, not a
promise.
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
