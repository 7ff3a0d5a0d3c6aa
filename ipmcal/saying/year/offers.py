"""Offers: what may be begun where a count is over the line, in words, and what is done without it.

In: a ``YearPlan``, what may be done over the line, a day, the courses given so far. Out: text without its full stop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.values.words import joined, month_day
from ipmcal.planning.advise.over import Open, Remedy, Sought, brought_forward, caged_now, remedies
from ipmcal.planning.mites.plan import Planned, YearPlan
from ipmcal.planning.mites.walls import Candidate, whole_days
from ipmcal.saying.year.dose import winter_dose_of
from ipmcal.saying.year.products import called
from ipmcal.saying.year.spans import frames_words, given_again, off_words, supers_back

Only = Literal["", "worked", "heat"]
MOST_NAMED = 2
"""Products that are named beside a count: more would not be read."""
NOT_LISTED = " (not on this plan's list, but with a label here)"


@dataclass(frozen=True, slots=True)
class NamedOffer:
    """Products that may be begun, in words: the ``day`` of the first, whether they are on the list (``ours``), what
    they hang on (``only``), whether a flow is given up (``lost``)."""

    words: str
    day: int
    ours: bool
    only: Only
    lost: bool

    @property
    def list_(self) -> str:
        """That they are not on the list, where they are not."""
        return "" if self.ours else NOT_LISTED


def reach_of(plan: YearPlan) -> int:
    """Days within which what a count asks for is begun at the latest."""
    return whole_days(plan.known.asked.book.planning.year_plans.enough.excused) - 1


def at_once(plan: YearPlan) -> int:
    """Days to the keeper's next visit: begun by then, it is begun at once."""
    return whole_days(plan.known.asked.book.planning.year_plans.offered.at_once)


def first_of(
    plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned], *, sure: bool = False
) -> NamedOffer | None:
    """What may be begun at once from ``sought.day`` on, what hangs on something last, else within two weeks. ``sure``:
    nothing that hangs on how the last course of its class worked."""
    again = {name for name in plan.known.asked.book.planning.year_plans.walls.synthetic if name != sought.but}
    second = [[one for one in among if one.answer.class_ in again] for among in (opened.listed, opened.all)]
    now, late = at_once(plan), reach_of(plan)
    tries: list[tuple[int, Sequence[Candidate], bool, Only]] = [
        (now, opened.listed, True, ""),
        (now, second[0], True, "worked"),
        (now, opened.all, False, ""),
        (now, _hot(plan, opened), True, "heat"),
        (now, second[1], False, "worked"),
        (now, opened.hot, False, "heat"),
        (late, opened.listed, True, ""),
        (late, opened.all, False, ""),
    ]
    for reach, among, ours, only in tries:
        if sure and only == "worked":
            continue
        found = [r for r in remedies(opened, among, replace(sought, reach=reach, only=only), before) if not r.dose]
        if found:
            lost = all(gives_up(plan, one) for one in found[:MOST_NAMED])
            return NamedOffer(named(plan, found), found[0].day, ours or not plan.known.asked.products, only, lost)
    return None


def lacking(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned], one: NamedOffer) -> str:
    """What is done by who has not got what is offered, or where it hangs on what is not so; a flow kept, where it is
    given up: words that begin with "; ", or none."""
    kept = _under_supers(plan, opened, sought, before) if one.lost else None
    harvest = f"; or, the harvest kept, {remedy_words(plan, kept)}" if kept else ""
    if not plan.known.asked.products:
        return harvest
    if one.only == "worked" and one.ours:
        other = first_of(plan, opened, sought, before, sure=True)
        return f"; else{other.list_} {other.words}" if other else _unlisted(plan, opened, sought, before, "; else")
    if one.ours:
        return harvest
    return _unlisted(plan, opened, sought, before, "; without it,")


def _unlisted(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned], head: str) -> str:
    """What is planned within the week; else what the list has soon; else the queen caged, by who comes often enough;
    else what the list has in heat, or later; else the queen caged, the winter dose, or the next course."""
    week = [o for o in before if sought.day < o.course.day <= sought.day + at_once(plan) and o.rests is None]
    due = next((o.course for o in week if not o.course.quick and o.course.answer.class_ != sought.but), None)
    if due is not None:
        return f"{head} {called(plan.known.asked.book, due.answer.product)} on {month_day(due.day)}, as planned"
    hot, later = hot_words(plan, opened, sought, before), _later(plan, opened, sought, before)
    near = whole_days(plan.known.asked.book.planning.year_plans.offered.near)
    early = _before_laws(plan, opened, sought, before, later)
    if early:
        return f"{head} {early}"
    soon, few = later is not None and later.day <= sought.day + near, plan.known.asked.few
    caged = caged_now(plan, opened, sought.day)
    cage = "" if caged is None else forward_words(plan, caged, brought_forward(plan, sought.day))
    told = (
        remedy_words(plan, later) if later is not None and soon else "",
        "" if few else cage,
        hot,
        remedy_words(plan, later) if later is not None else "",
        cage,
    )
    if any(told):
        return f"{head} {next(words for words in told if words)}"
    dose = dose_ahead_words(plan, opened, sought.day)
    if dose:
        return f"{head} the {dose}"
    near = round(plan.known.asked.book.planning.year_plans.counts.after.value.high or 0)
    nxt = next((o for o in before if sought.day < o.course.day <= sought.day + near and o.rests is None), None)
    if nxt is None:
        return ""
    return f"{head} the {called(plan.known.asked.book, nxt.course.answer.product)} on {month_day(nxt.course.day)}"


def _before_laws(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned], later: Remedy | None) -> str:
    """What the list has in heat, and is kept for law's treatment, where another may stand in for it then; or none."""
    if later is None or later.day <= sought.day + whole_days(plan.known.asked.book.planning.year_plans.offered.near):
        return ""
    now = replace(sought, reach=at_once(plan), only="heat", law=False)
    found = [one for one in remedies(opened, _hot(plan, opened), now, before) if one.product != later.product]
    laws = {one.course.answer.product for one in before if one.round == "autumn" and one.course.day >= sought.day}
    if not found or found[0].product not in laws:
        return ""
    return f"{named(plan, found)}; and for law's treatment then {remedy_words(plan, later)}"


def once_more(plan: YearPlan, opened: Open, day: int, before: Sequence[Planned]) -> str:
    """What is left to who has not got another class, and whose course of this one is out."""
    among = [c for c in opened.listed if not c.quick]
    found = remedies(opened, among, Sought(day, at_once(plan)), before)
    return f"; without it, the same once more: {remedy_words(plan, found[0])}" if found else ""


def hot_words(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned]) -> str:
    """What of the list may be begun at once, and is poor in that heat; "" where nothing is."""
    found = remedies(opened, _hot(plan, opened), replace(sought, reach=at_once(plan), only="heat"), before)
    return named(plan, found) if found else ""


def _later(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned]) -> Remedy | None:
    """The first product of the list that may begin before the next count would be due."""
    reach = whole_days(plan.known.asked.book.planning.year_plans.counts.apart)
    among = [c for c in opened.listed if not c.quick]
    found = remedies(opened, among, replace(sought, reach=reach, only=""), before)
    return min(found, key=lambda one: one.day, default=None)


def _under_supers(plan: YearPlan, opened: Open, sought: Sought, before: Sequence[Planned]) -> Remedy | None:
    """What of the list may lie under supers, and begins no later than a second choice would."""
    mine = bool(plan.known.asked.products)
    reach = whole_days(plan.known.asked.book.planning.year_plans.offered.near) if mine else reach_of(plan)
    listed = opened.listed if mine else opened.all
    among = [c for c in listed if not c.quick and not off_words(plan, c.answer)]
    found = remedies(opened, among, replace(sought, reach=reach, only=""), before)
    return min(found, key=lambda one: one.day, default=None)


def gives_up(plan: YearPlan, one: Remedy) -> bool:
    """Whether the main flow is given up for it, or more days of it than are no loss."""
    back, none = supers_back(plan, one.answer), whole_days(plan.known.setting.walls.no_loss)
    if one.answer.lost or back is None:
        return one.answer.lost > 0
    if not plan.known.asked.products:  # nobody knows which flows are harvested there
        return one.day < plan.known.setting.mark("winter_bee_rearing_start")
    return any(min(back, last + 1) - max(one.day, first) > none for first, last in plan.known.setting.flows)


def _hot(plan: YearPlan, opened: Open) -> list[Candidate]:
    """What is on the list, and poor in the heat of its day."""
    return [one for one in opened.hot if one.answer.product in plan.known.asked.products]


def quicker(plan: YearPlan, opened: Open, one: Planned, day: int, before: Sequence[Planned]) -> str:
    """What of the list has worked sooner than a planned course that is slow, begun at once: words that end in "; ", or
    none."""
    book = plan.known.asked.book
    slow = book.treatments[one.course.answer.product].common.kills.in_cells.value == "no" and not one.course.quick
    fast = [c for c in opened.listed if book.treatments[c.answer.product].common.kills.in_cells.value != "no"]
    found = remedies(opened, fast, Sought(day, at_once(plan)), before) if slow else []
    return f"{remedy_words(plan, found[0])}, which is quicker; else " if found and not found[0].answer.lost else ""


def forward_words(plan: YearPlan, caged: Remedy, soon: CagedBreak | None) -> str:
    """A caging that is begun at once; ``soon``: the planned one that it stands for."""
    name = called(plan.known.asked.book, caged.product)
    instead = "" if soon is None else f" instead of on {month_day(soon.caged)},"
    apart = whole_days(plan.known.asked.book.planning.year_plans.offered.caged_apart)
    rests = [c.rests for c in plan.courses if c.rests and soon is None]
    later = next((rest for rest in rests if (caged.caged or 0) <= rest.caged <= caged.day + apart), None)
    falls = "" if later is None else f"; the caging of {month_day(later.caged)} falls away"
    return (
        f"cage the queen today{instead} and give {name} on {month_day(caged.day)}, as she comes out, nothing "
        f"capped{off_words(plan, caged.answer)}{falls}"
    )


def dose_ahead_words(plan: YearPlan, opened: Open, day: int, *, last: bool = False) -> str:
    """The winter dose, given as soon as nothing is capped, where the weeks of least brood are near, or nothing else is
    to come before it (``last``).
    """
    dose = winter_dose_of(plan, opened)
    figures = plan.known.asked.book.planning.year_plans.offered
    if dose is None or dose[1] < day or (not last and dose[1] > day + whole_days(figures.dose_ahead)):
        return ""
    name = called(plan.known.asked.book, dose[0])
    when = f"as soon as nothing is capped (look first), else on {month_day(dose[1])} as planned"
    return f"{name}, {when}"


def named(plan: YearPlan, found: Sequence[Remedy]) -> str:
    """Products with the first day of each, when they are given again, and supers."""
    return joined([remedy_words(plan, one) for one in found[:MOST_NAMED]], "or")


def remedy_words(plan: YearPlan, one: Remedy) -> str:
    """A product with its first day, when it is given again, and supers."""
    again, off = given_again(plan, one.answer), off_words(plan, one.answer)
    trap = ", the trap comb taken out first" if one.trap else ""
    name = called(plan.known.asked.book, one.product)
    frames = frames_words(plan, one.answer)
    return f"{name} from {month_day(one.day)}{again}{off}{trap}{frames}{LAST_LEFT[one.only]}"


LAST_LEFT = {
    "": "",
    "worked": " (only if the count after the last ones showed that they worked)",
    "heat": " (poor in that heat: in parts, as its label says)",
}
"""What a product hangs on that is named as the last one left."""
