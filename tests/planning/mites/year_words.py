"""Year plans in words: what ``year_plans.md`` holds, and pages for readers who do not know the program."""

from __future__ import annotations

from collections.abc import Iterator

from planning.mites.year_yards import PROGRAMS, Kept, begun, kept, todays_courses
from planning.yards import SHIPPED_REGIONS

from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.mites.accept import Odds, Outlook, outlook, years
from ipmcal.planning.mites.plan import YearPlan, until, year_plan
from ipmcal.planning.mites.question import given_of
from ipmcal.planning.mites.second import Second, missing, seconds

ROUNDS = {
    "spring": "spring round",
    "summer": "summer round",
    "late_summer": "late-summer round",
    "autumn": "autumn round",
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
        off = f", supers off that day ({answer.lost} days early)" if answer.lost else ""
        yield (
            f"{ROUNDS[one.round]}: {title(plan, answer.product)} from {month_day(answer.day)}"
            f"{_to(answer.use.last, answer.day)}{off}. {_second(plan, second, answer.day)}"
        )
    if not plan.courses:
        yield "no course: none is let, or no product is named"


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
        return f"enough{edge}: {share}"
    lacks = f". {missing_words(plan)}" if plan.known.asked.products else ""
    return f"NOT ENOUGH: {share}{lacks}"


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
        parts.append("No product with a label here makes it better")
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
    made = years(one.accept, givens, one.hazards)
    then = outlook(made, one.judging, [c.day for c in today], until(asked))
    return [("this plan", plan.outlook()), ("no treatment", plan.untreated()), ("today's plan", then)]


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
    yield ""
    yield from table(it, plan)
    yield ""
    today = [f"{title(plan, c.answer.product)} {month_day(c.day)}" for c in todays_courses(it)]
    yield f"Today's plan: {joined(today) or 'none'}."
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
    yield f"No products: {share_words(plan)}."
    yield ""
    yield from table(it, plan)
    yield ""


FIRST_YEARS = ("us_northeast", "us_mid_atlantic", "england_south_midlands", "germany_central_europe")
"""Regions of which packages and nuclei are shown too."""
HEAD = """# Year plans of every region and program

An uncounted yard of one hive at the region's reference place, a keeper who comes on Saturdays, as chosen by what the
courses do to the mites. Medians with the range from the 10th to the 90th of 100 draws that did not choose; a wash reads
one and a half times the colony's mean while there is brood; above 10 in 100 nothing is told apart. A drawing, not a
promise.
"""


def pages() -> str:
    """The whole of ``year_plans.md``."""
    parts = [HEAD]
    for region in SHIPPED_REGIONS:
        title_ = kept(region, "full").question.region.title
        parts.append(f"## {title_} ({region})\n")
        parts += ["\n".join(page(it, year_plan(it.question))) for it in (kept(region, program) for program in PROGRAMS)]
        parts.append("\n".join(projection(kept(region, "counting_only"))))
        if region in FIRST_YEARS:
            begun_ = [begun(region, kind) for kind in ("package", "nucleus")]
            parts += ["\n".join(page(it, year_plan(it.question))) for it in begun_]
    return "\n".join(parts).rstrip() + "\n"
