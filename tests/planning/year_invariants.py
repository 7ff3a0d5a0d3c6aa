"""What holds for the courses that a year's search chose, on the days of any plan. In: a plan, and what made it.

The walls of a year (``rules/planning.yaml``, ``year_plans``, with their sources) on the days that packing chose, and in
the light of what was given: what an apiarist would cross out without reckoning. Courses that a count over the line asks
for, and doses in a break of a hive's own, are no matter of the year.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.labels import applications, label_for, last_step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.labels.weather import weather_of
from ipmcal.planning.mites.walls import is_quick, worked_by
from ipmcal.planning.recall.situate import harvested, season_of

ROUNDS = {
    because_words(Because(code)): name
    for code, name in (
        (Code.ROUND_SPRING, "spring"),
        (Code.ROUND_SUMMER, "summer"),
        (Code.ROUND_LATE_SUMMER, "late_summer"),
        (Code.ROUND_EARLY_AUTUMN, "early_autumn"),
        (Code.ROUND_AUTUMN, "autumn"),
        (Code.ROUND_WINTER, "winter"),
        (Code.ROUND_FURTHER, "further"),
    )
}


class YearsCourse:
    """A course of one colony in a plan: the round that it is for ("" where the year did not choose it), its days."""

    def __init__(self, name: str, label: Label, tasks: Sequence[Task], book: Rulebook) -> None:
        given = set(applications(label, book))
        self.name, self.label, self.tasks = name, label, tasks
        self.class_ = book.treatments[name].class_
        self.days = sorted(day for t in tasks if t.step in given and (day := _day(t)) is not None)
        ends = [day for t in tasks if t.step == last_step(label, book) and (day := _day(t)) is not None]
        self.last = max(ends, default=self.days[-1] if self.days else 0)
        self.ahead = all(t.planned is not None for t in tasks if t.step in given)
        self.round = next((found for t in tasks if (found := round_of(t))), "") if self.ahead else ""

    @property
    def first(self) -> int:
        """The day on which it begins."""
        return self.days[0]


def round_of(task: Task) -> str:
    """The round that a course's first step says it is for; "" where the year did not choose it."""
    head = "What for: "
    why = next((note[len(head) :].rstrip(".") for note in task.notes if note.startswith(head)), "")
    return ROUNDS.get(why, "")


def _day(task: Task) -> int | None:
    return task.planned if task.planned is not None else task.done


def years_courses(tasks: Sequence[Task], yard: Yard, book: Rulebook) -> list[YearsCourse]:
    """The courses among the tasks of one colony, by their first days."""
    return sorted(_courses(tasks, yard, book), key=lambda one: one.first)


def _courses(tasks: Sequence[Task], yard: Yard, book: Rulebook) -> Iterator[YearsCourse]:
    methods: dict[tuple[str, int], list[Task]] = {}
    for task in tasks:
        methods.setdefault((task.method, task.season), []).append(task)
    for (method, _), some in methods.items():
        name = method if method in book.treatments else method.rpartition("_")[0]
        label = label_for(book.treatments[name], yard.jurisdiction, book) if name in book.treatments else None
        if method not in book.methods and label is not None:
            course = YearsCourse(name, label, some, book)
            if course.days:
                yield course


def years_hold(plan: Plan, yard: Yard, book: Rulebook) -> None:
    """Everything that holds for the courses of a yard's year."""
    nobody_passed_by(plan, yard, book)
    for colony in yard.colonies:
        mine = [t for t in plan.tasks if t.yard == yard.key and t.colony == colony.key]
        courses = years_courses(mine, yard, book)
        for one, other in ((one, other) for one in courses if one.ahead for other in courses if other is not one):
            classes_rest(one, other, book)
        for one in (one for one in courses if one.round):
            season = season_of(yard, book, plan.as_of, one.tasks[0].season)
            for holds in SINGLY:
                holds(one, season, yard, book)
            one_last_day_with_its_reason(one)
            for other in (other for other in courses if other is not one):
                a_count_fits_between(one, other, book)
                no_day_too_near(one, other, book)


def nobody_passed_by(plan: Plan, yard: Yard, book: Rulebook) -> None:
    """While what hangs in most hives of a yard that came through winter is in, the others get a course too, or are
    told of by name, with what to do; or a count of theirs has spared them.
    """
    view = next(v for v in plan.yards if v.key == yard.key)
    old = {c.key for c in yard.colonies if c.kind == "overwintered" and c.began <= plan.as_of}
    hives = [c.key for c in view.colonies if c.key in old]
    near, season = int(book.planning.treat_within.value.high or 0), view.begins
    if plan.as_of > view.ends:
        return  # planned by itself though it is over: the next season has the courses to come
    lying = [c for c in plan.courses if c.yard == yard.key and c.colony in hives and c.ended is None and not c.assumed]
    for product in {c.product for c in lying if c.product in book.treatments and c.began >= season}:
        mine = [c for c in lying if c.product == product]
        first = min(c.began for c in mine)
        if 2 * len({c.colony for c in mine}) < len(hives) or not products_of(yard, book):
            continue
        had = {c.colony for c in lying}
        had |= {c.colony for c in plan.courses if c.yard == yard.key and c.began >= first - near}
        gets = {t.colony for t in plan.tasks if t.yard == yard.key and t.planned is not None and t.product}
        told = [words for c in plan.choosing if c.yard == yard.key for words in c.left]
        told += [because_words(c.what) for c in plan.conflicts if c.yard == yard.key]
        spared = any(call.yard == yard.key and call.call == "below" for call in plan.calls)
        for key in sorted(set(hives) - had - gets):
            named = any(re.search(rf"(?<!\w){re.escape(key)}(?!\w)", words) for words in told)
            assert named or spared, f"{key}: {product} is in the others, and nobody says that it gets none"


def products_of(yard: Yard, book: Rulebook) -> tuple[str, ...]:
    """What a yard may be planned with."""
    return yard.treatments if yard.treatments is not None else book.programs[yard.program].treatments


def one_last_day_with_its_reason(one: YearsCourse) -> None:
    """What a course says that it is for names no other last day than its window, which says why it is no later."""
    first = min(one.tasks, key=lambda t: _day(t) or 0)
    told = [note for note in first.notes if note.startswith("What for: ")]
    assert not any(re.search(r"\bby \w{3} \d+ \w+", note) for note in told), f"{first.id}: {told}"
    why = first.window.why_closes
    assert why.note != first.window.why_opens.note, f"{first.id}: why no later than its last day? {why.note}"


def no_acid_over_brood(one: YearsCourse, season: Season, yard: Yard, book: Rulebook) -> None:
    """A dose that reaches no cell is for the weeks of least brood."""
    quick = is_quick(book.treatments[one.name], Use(tuple(one.days), one.last), book)
    if quick and one.round not in ("winter", "autumn"):
        raise AssertionError(f"{one.tasks[0].id}: over brood, and no break is told of")


def warm_enough(one: YearsCourse, season: Season, yard: Yard, book: Rulebook) -> None:
    """No slow or contact product is begun at usual highs below the floor of its class; in a round that advisers
    publish their days hold, but for formic acid's floor.
    """
    if is_quick(book.treatments[one.name], Use(tuple(one.days), one.last), book):
        return
    weather = weather_of(yard, book)
    assert weather.normals is not None
    after = one.first > season.marks["flow_done"].begins.usual
    asked = [
        (floor.after_flow if after else floor.before_flow) if one.round == "further" else floor.published
        for floor in book.planning.year_plans.walls.floors
        if one.class_ in floor.classes
    ]
    least = max((one.value.low or 0.0 for one in asked if one is not None), default=-99.0)
    high = weather.normals["high"].mean(one.first)
    assert high >= least, f"{one.tasks[0].id}: begun at a usual high of {high:.1f} °C"


def out_of_the_flow(one: YearsCourse, season: Season, yard: Yard, book: Rulebook) -> None:
    """No course begins or lies in the main flow while it is harvested; of a published round the days are its own."""
    flow = harvested(season, "flow_main")
    inside = flow is not None and one.first <= flow[1] and flow[0] <= one.last
    assert not inside or one.round not in ("further", "winter"), f"{one.tasks[0].id}: in the main flow"


SINGLY: tuple[Callable[[YearsCourse, Season, Yard, Rulebook], None], ...] = (
    no_acid_over_brood,
    warm_enough,
    out_of_the_flow,
)


def classes_rest(one: YearsCourse, other: YearsCourse, book: Rulebook) -> None:
    """No synthetic class is begun again within its rest, whatever asks for it."""
    walls = book.planning.year_plans.walls
    if one.class_ == other.class_ and one.class_ in walls.synthetic:
        apart, rest = abs(one.first - other.first), walls.synthetic_rest.value.middle
        assert apart >= rest, f"{one.tasks[0].id}: {one.class_} again after {apart} days"


def a_count_fits_between(one: YearsCourse, other: YearsCourse, book: Rulebook) -> None:
    """A course begins so long after the one before has worked that a count between them tells what it did: what still
    lies in the hive when its days are over, and has not been fetched yet, does nothing more. What counts and breaks of
    the brood ask for stands before the year's, and the year keeps off it.
    """
    before, after = (other, one) if other.first <= one.first else (one, other)
    if not (other.round and other.first > one.first):  # of two that the year chose, once is enough
        worked = worked_by(book.treatments[before.name], before.label, use_of(before.label, before.first, book))
        apart = after.first - min(before.last, worked)
        assert apart >= FEWEST, f"{after.tasks[0].id}: {apart} days after {before.tasks[0].id}"


def no_day_too_near(one: YearsCourse, other: YearsCourse, book: Rulebook) -> None:
    """No day of a year's course lies too near what its hive was given already, whichever of them a visit takes: a
    count fits in between (``between_packed``), and a synthetic class has rested.
    """
    if other.ahead or other.first > one.first:
        return
    opens = min(t.window.opens for t in one.tasks if t.step in applications(one.label, book))
    worked = worked_by(book.treatments[other.name], other.label, use_of(other.label, other.first, book))
    walls = book.planning.year_plans.walls
    apart, least = opens - min(other.last, worked), walls.between_packed.value.middle
    assert apart >= least, f"{one.tasks[0].id}: may begin {apart} days after {other.tasks[0].id}"
    again = one.class_ == other.class_ and one.class_ in walls.synthetic
    assert not again or opens - other.first >= walls.synthetic_rest.value.middle, f"{one.tasks[0].id}: no rest"


FEWEST = 14
"""Days from the end of a course to the next, however packing puts them: no count after it comes sooner (follow_up)."""
