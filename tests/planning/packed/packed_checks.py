"""What the year of a plan must show, as packed, whatever its courses: a family of faults each.

In: a plan of one yard, made on its season's first day. Out: what is wrong, in words; nothing where all is well. Days
and figures are those of ``planning.yaml`` (``year_plans``), with their sources. What holds for any plan is asserted of
each (``year_invariants``): labels, warmth, main flow, rests, no acid alone over brood.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from planning.count_gaps import too_far
from planning.course_invariants import Given, courses_of
from planning.enough_checks import SHORT, called_enough
from planning.yards import outfit

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import month_day, short_day
from ipmcal.place.season import Season
from ipmcal.planning.decide.rhythm import CountSetting
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.mites.answers import usual_weather
from ipmcal.planning.mites.base import rounds_of
from ipmcal.planning.mites.walls import is_quick
from ipmcal.planning.recall.situate import keeper_days, season_of

TO_COME = 35
"""Days from a new colony's beginning in which none of its own bees are counted (``year_plans.counts.young``)."""


@dataclass(frozen=True)
class PackedYear:
    """A yard of one colony, its plan, and the rules."""

    yard: Yard
    plan: Plan
    book: Rulebook

    @cached_property
    def season(self) -> Season:
        """The season that was planned."""
        return season_of(self.yard, self.book, self.plan.as_of, self.plan.yards[0].season)

    @cached_property
    def courses(self) -> list[Given]:
        """The colony's courses, by their first day."""
        mine = [t for t in self.plan.tasks if t.colony is not None]
        found = [one for one in courses_of(mine, self.yard, self.book) if one.applied]
        return sorted(found, key=lambda one: one.applied[0])

    @cached_property
    def counts(self) -> list[int]:
        """The days on which its mites are counted, by wash, sugar or board."""
        words = {name for name, rule in self.book.events.items() if rule.value == "count"}
        days = (t.planned for t in self.plan.tasks if t.logs in words and t.planned is not None)
        return sorted(set(days))

    @property
    def begins(self) -> int:
        """The first day on which the colony is there and its own bees fly."""
        colony = self.yard.colonies[0]
        young = colony.kind != "overwintered"
        return max(self.season.first, colony.began + (TO_COME if young else 0))

    def quick(self, one: Given) -> bool:
        """Whether a course is a dose on the bees alone."""
        treatment = self.book.treatments[one.name]
        return is_quick(treatment, Use(tuple(one.applied), one.last or one.applied[-1]), self.book)

    @property
    def has_a_dose(self) -> bool:
        """Whether any of the keeper's products that is a dose on the bees alone has a label there."""
        named = self.yard.treatments
        products = named if named is not None else self.book.programs[self.yard.program].treatments
        day = self.season.first
        for treatment in (self.book.treatments[name] for name in products):
            label = label_for(treatment, self.yard.jurisdiction, self.book)
            if label is not None and is_quick(treatment, use_of(label, day, self.book), self.book):
                return True
        return False

    def says_since_when(self, course: Given) -> bool:
        """Whether the page says, with a course, from which day on mites are counted in a young colony."""
        title, since = self.book.treatments[course.name].title, f"from {short_day(self.begins)} on"
        begins = f"{title} (1) from {month_day(course.applied[0])}: "
        return any(
            words.startswith(begins) and "no count tells before it" in words and since in words
            for one in self.plan.choosing
            for words in one.chosen
        )

    @property
    def short(self) -> bool:
        """Whether the page says that the year is not enough."""
        return any(words.startswith(SHORT) for one in self.plan.choosing for words in one.left)


def counted_all_along(one: PackedYear) -> Iterator[str]:
    """No stretch of the season of brood is too long without a count. While something lies on the bars no comb is lifted
    for one, as its label has it, and a board reads what it fells: then mites are counted on the day when it comes out.
    """
    region = one.book.regions[one.yard.region]
    weather = usual_weather(region, one.season.first - YEAR_DAYS, one.season.last + YEAR_DAYS)
    days = keeper_days(one.yard, one.season.first, one.season.last).ordinals
    inside = [day for day in days if day >= one.begins]
    rhythm = one.book.planning.year_plans.counts
    few = "swarm_check" not in one.book.programs[one.yard.program].methods
    high = lambda day: weather.readings[day][0]  # noqa: E731
    setting = CountSetting(one.season, inside, high, rhythm, region.base.counts, (), few)
    for first, last in too_far(setting, one.counts):
        if any(course.on_bars and course.applied[0] <= first and course.last == last for course in one.courses):
            continue
        yield f"no count from {month_day(first)} to {month_day(last)}"


def counted_before(one: PackedYear) -> Iterator[str]:
    """A count tells before each course, but for winter's dose and what a young colony is given: there the page says
    from when on mites are counted, and that none tells before.
    """
    before = round(one.book.planning.year_plans.counts.before.value.high or 0)
    for course in one.courses:
        first = course.applied[0]
        told = any(0 <= first - day <= before for day in one.counts)
        if not told and not one.quick(course) and (first >= one.begins or not one.says_since_when(course)):
            yield f"no count before {course.name} on {month_day(first)}"


def counted_after(one: PackedYear) -> Iterator[str]:
    """A count tells what each course did, after its end, but for winter's dose."""
    after = one.book.planning.year_plans.counts.after.value
    low, high = round(after.low or 0), round(after.high or 0)
    for course in one.courses:
        last = course.last if course.last is not None else course.applied[-1]
        told = any(low <= day - last <= high for day in one.counts)
        if not told and not one.quick(course) and last + high <= one.season.last:
            yield f"no count after {course.name}, which ends on {month_day(last)}"


def supers_stay_in_the_flow(one: PackedYear) -> Iterator[str]:
    """No supers are taken off in the main flow."""
    flow = one.season.marks["flow_main"]
    assert flow.ends is not None
    for task in one.plan.tasks:
        inside = task.planned is not None and flow.begins.usual <= task.planned < flow.ends.usual
        if task.logs == "supers_off" and inside:
            yield f"supers off on {month_day(task.planned or 0)}, in the main flow"


def more_than_one_course(one: PackedYear) -> Iterator[str]:
    """Where brood hardly stops one course is not enough, or the page says that it is not."""
    old = one.yard.colonies[0].kind == "overwintered"
    if old and one.book.regions[one.yard.region].rarely_broodless and len(one.courses) < 2 and not one.short:
        yield "a single course where brood hardly stops"


def dose_at_least_brood(one: PackedYear) -> Iterator[str]:
    """The mites on bees get a dose while there is least brood, where the region's base year has one: but where
    no product of the program's that is one has a label (in New Zealand the rule files know of slow strips alone, and
    no label of a dose was found).
    """
    if not one.has_a_dose:
        return
    region = one.book.regions[one.yard.region]
    slots = [slot for slot in rounds_of(region, one.season) if slot.dose]
    for slot in slots:
        begun = [course.applied[0] for course in one.courses if one.quick(course)]
        if not any(slot.first <= day + n <= slot.last for day in begun for n in (0, YEAR_DAYS)) and not one.short:
            yield "no dose at least brood"


def not_enough_is_said(one: PackedYear) -> Iterator[str]:
    """Where more than one in five hives would be over the line, year by year, the page says so."""
    if one.yard.colonies[0].kind == "overwintered":
        yield from called_enough(one.plan, outfit(one.yard), one.book)


CHECKS: dict[str, Callable[[PackedYear], Iterator[str]]] = {
    "counted all along": counted_all_along,
    "counted before": counted_before,
    "counted after": counted_after,
    "supers stay in the flow": supers_stay_in_the_flow,
    "more than one course": more_than_one_course,
    "a dose at least brood": dose_at_least_brood,
    "not enough is said": not_enough_is_said,
}
"""Each family, with its check."""


def faults(one: PackedYear) -> dict[str, list[str]]:
    """What is wrong with a year, by family; empty where nothing is."""
    found = {name: list(check(one)) for name, check in CHECKS.items()}
    return {name: some for name, some in found.items() if some}
