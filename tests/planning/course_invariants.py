"""What holds for the treatments of any plan: labels, supers, quiet days, strips. In: a plan, and what made it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise, permutations

from planning.at_once_invariants import over_begins_at_once, over_is_not_forgotten
from planning.break_invariants import breaks_hold
from planning.hive_invariants import hives_hold, notes_of_the_day
from planning.year_invariants import years_hold

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.labels import applications, label_for, last_step, removals
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.words import short_day
from ipmcal.planning.choose.offer import harvesting
from ipmcal.planning.decide.tally import announced_line, yardstick
from ipmcal.planning.labels.standing import CourseSpell, Standing, Stay, as_heard, wait_after
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import weather_of
from ipmcal.planning.options import standings
from ipmcal.planning.recall.courses import renamed
from ipmcal.planning.recall.situate import season_of


@dataclass(frozen=True)
class Given:
    """A course of a plan: the tasks of one colony and label."""

    name: str
    label: Label
    tasks: tuple[Task, ...]
    book: Rulebook

    @property
    def applied(self) -> list[int]:
        """The days on which something is given, done or planned."""
        given = set(applications(self.label, self.book))
        return sorted(day for t in self.tasks if t.step in given and (day := day_of(t)) is not None)

    @property
    def ahead(self) -> bool:
        """Whether it has not begun yet."""
        given = set(applications(self.label, self.book))
        return all(t.status is Status.PLANNED for t in self.tasks if t.step in given)

    @property
    def on_bars(self) -> bool:
        """Whether it lies on the bars, so that no comb is lifted until it is out."""
        lies = self.book.treatments[self.name].lies
        return lies is not None and lies.value == "on_bars"

    @property
    def last(self) -> int | None:
        """The day on which its last strip comes out, or its last dose is given."""
        return next((day_of(t) for t in self.tasks if t.step == last_step(self.label, self.book)), None)


def day_of(task: Task) -> int | None:
    return task.planned if task.planned is not None else task.done


def told(plan: Plan, yard: str, colony: str, *words: str) -> bool:
    """Whether a conflict about a colony, or about its whole yard, has all of these words."""
    about = (c for c in plan.conflicts if c.yard == yard and (not c.subject or colony in c.subject.split(", ")))
    return any(all(word in because_words(c.what) for word in words) for c in about)


def courses_hold(plan: Plan, outfit: Outfit, book: Rulebook) -> None:
    """Everything that holds for the courses of any plan."""
    if not book.treatments:
        return
    for yard in outfit.yards:
        mine = [t for t in plan.tasks if t.yard == yard.key]
        for colony in yard.colonies:
            tasks = [t for t in mine if t.colony == colony.key]
            courses = list(courses_of(tasks, yard, book))
            for course in courses:
                taken_out(plan, course)
                quiet_days(plan, course, tasks)
                one_drive(course)
            supers_wait(courses, tasks)
            told_apart(plan, yard.key, colony.key, courses)
        counts_decide_what_comes(mine, book)
        lines_of_their_season(plan, outfit, yard, mine, book)
        as_labels_say(plan, outfit, yard, mine, book)
        over_begins_at_once(plan, outfit, yard, book)
        over_is_not_forgotten(plan, yard, book)
        years_hold(plan, yard, book)
        breaks_hold(plan, yard, book)
        hives_hold(plan, outfit, yard, book)


def counts_decide_what_comes(mine: Sequence[Task], book: Rulebook) -> None:
    """Where a sheet says that who has not counted treats by a day, that hive's course begins on it, and no bees are
    washed in the yard in between; a young colony's first count, by sugar, tells of itself alone."""
    washes = {word for word in book.planning.counts if word in book.planning.nest_work}
    washed = {t.planned for t in mine if t.planned is not None and t.logs in washes}
    for task in mine:
        told = [note for note in task.notes if "NOT COUNTED" in note]
        if not told:
            continue
        assert task.planned is not None, task.id
        begins = {t.planned for t in mine if t.colony == task.colony and t.product and t.planned is not None}
        if because_words(Because(Code.NOT_COUNTED_TODAY)) in told[0]:
            assert task.planned in begins, f"{task.id}: no course of its hive begins today"
            continue
        days = [day for day in begins if because_words(Because(Code.NOT_COUNTED, (day,))) in told[0]]
        assert task.planned not in days, f"{task.id}: by today is no day by which to treat"
        assert days, f"{task.id}: no course of its hive begins on the day by which to treat: {told[0]}"
        assert days[0] >= task.planned, f"{task.id}: that course has begun"
        assert not any(task.planned < day <= days[0] for day in washed), f"{task.id} is not the last count before it"


def lines_of_their_season(plan: Plan, outfit: Outfit, yard: Yard, mine: Sequence[Task], book: Rulebook) -> None:
    """A count of bees names the line that its authority has on its day, whichever season is planned beside it."""
    keys = {c.key for c in yard.colonies}
    kinds = {c.key: c.kind for c in yard.colonies}
    seen = [e for e in outfit.past if e.yard == yard.key or e.colony in keys]
    seen += [e for c in yard.colonies for e in c.history]
    years = [view.season for view in plan.yards if view.key == yard.key]
    seasons = [season_of(yard, book, plan.as_of, season, seen) for season in years]
    sticks = [yardstick(season, yard.jurisdiction, book, book.regions[yard.region]) for season in seasons]
    for task in mine:
        told = [m for note in task.notes if (m := re.search(r"(\d+) or more mites in (\d+)", note))]
        if task.planned is None or not told or kinds.get(task.colony or "") != "overwintered":
            continue
        stick = [one for one in sticks if one.season.first <= task.planned][-1]
        line = announced_line(task.planned, stick, "overwintered")
        assert line is not None, f"{task.id}: nobody has a line for it"
        found = {(int(m[1]), int(m[2])) for m in told}
        assert found == {(line.treat, line.size)}, f"{task.id}: {found}, and its day has {line}"


def courses_of(tasks: Sequence[Task], yard: Yard, book: Rulebook) -> Iterator[Given]:
    """The courses among the tasks of one colony; a second course of a treatment has a number."""
    methods: dict[tuple[str, int], list[Task]] = {}
    for task in tasks:
        methods.setdefault((task.method, task.season), []).append(task)
    for (method, _), some in methods.items():
        name = method if method in book.treatments else method.rpartition("_")[0]
        if method not in book.methods and name in book.treatments:
            label = label_for(book.treatments[name], yard.jurisdiction, book)
            assert label is not None, f"{method} has no label in {yard.jurisdiction}"
            yield Given(name, label, tuple(some), book)


def taken_out(plan: Plan, course: Given) -> None:
    """What is put in has a task to take it out, with a last good day."""
    put_in = [t for t in course.tasks if t.status is Status.PLANNED and t.logs == "strips_in"]
    for task in put_in:
        out = [t for t in course.tasks if t.step in set(removals(course.label, course.book))]
        assert out, f"{task.id}: nobody is sent to take it out"
        for removal in out:
            assert removal.window.hard_stop is not None, f"{removal.id} has no last good day"
            assert removal.planned is not None or any(removal.id in c.tasks for c in plan.conflicts), removal.id
            assert (removal.planned or task.planned or 0) >= (task.planned or 0), removal.id


def one_drive(course: Given) -> None:
    """What may be done on the day of the step before it is done on that day, where the day lies in its window."""
    by_step = {t.step: t for t in course.tasks if t.planned is not None}
    for before, name in pairwise(course.label.steps):
        one, task = by_step.get(before), by_step.get(name)
        if one is None or task is None or not course.label.steps[name].along:
            continue
        shared = task.window.opens <= (one.planned or 0) <= task.window.closes
        assert not shared or task.planned == one.planned, f"{task.id} takes a drive of its own, and {one.id} is in time"


def quiet_days(plan: Plan, course: Given, tasks: Sequence[Task]) -> None:
    """Nothing opens a hive on the quiet days of a course, or a conflict says what does."""
    limit = course.label.limits.quiet
    if limit is None:
        return
    before, after = (int(v.value.high or 0) if v is not None else 0 for v in (limit.before, limit.after))
    shut = {d + n for d in course.applied for n in range(-before, after + 1)} - set(course.applied)
    for task in tasks:
        if task not in course.tasks and task.planned in shut:
            said = [c for c in plan.conflicts if "quiet days" in because_words(c.what) and task.id in c.tasks]
            assert said, f"{task.id} opens the hive in the quiet days of {course.tasks[0].id}"


def supers_wait(courses: Sequence[Given], tasks: Sequence[Task]) -> None:
    """No supers are put on in a course that forbids them, nor before its wait is over."""
    for task in tasks:
        if task.logs != "supers_on" or task.planned is None:
            continue
        for course in courses:
            supers = course.label.limits.supers
            if supers is None or supers.during.value != "off" or not course.applied or course.last is None:
                continue
            wait = wait_after(course.label)
            until = course.last + int(getattr(wait.value, "high", 0) or 0 if wait else 0)
            inside = course.applied[0] <= task.planned < until
            assert not inside, f"{task.id} on {date.fromordinal(task.planned)} falls into {course.tasks[0].id}"


def told_apart(plan: Plan, yard: str, colony: str, courses: Sequence[Given]) -> None:
    """A course that is to begin lies far enough from another of its product that the record reads two, not one."""
    for one, other in permutations(courses, 2):
        if one.name != other.name or not one.ahead or not (one.applied and other.applied):
            continue
        gap = int(one.book.planning.same_course.value.middle)
        ends = other.last if other.last is not None else other.applied[-1]
        apart = one.applied[0] > ends + gap or (one.last or one.applied[-1]) < other.applied[0] - gap
        assert apart or told(plan, yard, colony, "course"), f"{one.tasks[0].id} reads as one with {other.tasks[0].id}"


def as_labels_say(plan: Plan, outfit: Outfit, yard: Yard, tasks: Sequence[Task], book: Rulebook) -> None:
    """What a label forbids on the days of the plan is never planned without a conflict that says so.

    The label is asked anew, with the supers and the other courses of the hive as this plan has them; of flows it means
    those that the yard harvests.
    """
    ahead = [t for t in tasks if t.planned is not None and t.product and t.colony]
    if not ahead:
        return
    journal = None if outfit.journal is None else tuple(renamed(e, outfit, book) for e in outfit.journal)
    known = replace(outfit, journal=journal)
    weather = weather_of(yard, book)
    for season, stood in (
        (view.season, one)
        for view in plan.yards
        if view.key == yard.key
        for one in standings(known, yard, book, plan.as_of, view.season)
    ):
        key = stood.state.colony.key
        mine = [t for t in tasks if t.colony == key]
        planned_supers_go_on(plan, key, stood.standing, [t for t in mine if t.season == season])
        courses = [c for c in courses_of(mine, yard, book) if c.ahead and c.applied and c.last is not None]
        for course in (course for course in courses if course.tasks[0].season == season):
            others = [_past(c) for c in courses if c is not course]
            lying = _out_as_planned(stood.standing, courses_of(mine, yard, book), plan.as_of)
            at = _with_supers(lying, stood.state, mine, plan.as_of).with_course(*others)
            at = replace(at, cagings=tuple(cagings(mine, book)))
            use = Use(tuple(course.applied), course.last or 0)
            made = verdict(course.name, Where(yard.jurisdiction, weather, book), harvesting(at), use, search=False)
            against = [r for r in made.reasons if r.weight is Weight.FORBIDS and not r.by_hand]
            queenless = [r for r in made.reasons if r.limit == "queen" and not r.look]
            assert not queenless, f"{course.tasks[0].id}: its queen does not lay, and options says so: {queenless}"
            title = book.treatments[course.name].title
            said = told(plan, yard.key, key, title, "limits do not hold")
            if not against:
                let_out = {t.planned for t in mine if book.effect(t.logs) == "starts_laying"}
                rests = use.first in let_out or any(first <= use.first <= last for first, last in at.cagings)
                advice = tuple(r for r in made.reasons if not (rests and r.limit == "brood"))
                notes_of_the_day(min(course.tasks, key=lambda t: t.planned or 0), replace(made, reasons=advice))
            assert not against or said, f"{course.tasks[0].id}: forbidden, and nobody says so: {against}"


def planned_supers_go_on(plan: Plan, key: str, standing: Standing, mine: Sequence[Task]) -> None:
    """Supers that labels and `options` take for planned are put on by a task, and not from a day before it may be; a
    hive that gets none this season, since its box is full too late, has none to come. Those of next season have no
    last day yet; what is refused, such as in a yard that looks sick, is said.
    """
    puts_on = [t for t in mine if t.logs == "supers_on" and t.done is None]
    refused = {r.method for r in plan.refusals if r.subject == key}
    first = min((t.window.opens for t in puts_on if t.planned is not None), default=0)
    for stay in standing.supers:
        if stay.planned and not as_heard(stay, plan.as_of).unheard:
            said = f"options has supers planned from {short_day(stay.on)}"
            assert stay.due is None or puts_on or refused, f"{key}: {said}, and nobody puts them on"
            assert stay.on >= first, f"{puts_on[0].id}: {said}, and they go on from {short_day(first)}"


def cagings(tasks: Sequence[Task], book: Rulebook) -> Iterator[tuple[int, int]]:
    """The days of a planned caging of one hive, to the last day on which her eggs should be there again."""
    ahead = [t for t in tasks if t.planned is not None]
    caged = [t.planned or 0 for t in ahead if book.events[t.logs].laying_again == "let_out"]
    out = [t.planned or 0 for t in ahead if book.effect(t.logs) == "starts_laying"]
    if caged and out:
        yield min(caged), max(out) + book.biology.queen["lays_after_release"].value.high


def _out_as_planned(standing: Standing, courses: Iterator[Given], as_of: int) -> Standing:
    """What lies in the hive comes out on the day on which this plan has it taken out."""
    out = {one.name: one.last for one in courses if not one.ahead and one.last is not None and one.last >= as_of}
    spells = (
        replace(one, ended=out[one.treatment])
        if one.treatment in out and (one.ended is None or one.ended >= as_of)
        else one
        for one in standing.courses
    )
    return replace(standing, courses=tuple(spells))


def _past(course: Given) -> CourseSpell:
    return CourseSpell(course.name, course.book.treatments[course.name].class_, course.applied[0], course.last)


def _with_supers(standing: Standing, state: ColonyState, tasks: Sequence[Task], as_of: int) -> Standing:
    """Supers as the plan has them: on now, put on and taken off; those that no task takes off, by the season's mark."""
    days = sorted((d, t.logs == "supers_on") for t in tasks if t.logs.startswith("supers_") and (d := day_of(t)))
    stays: list[Stay] = []
    on = state.days["supers.on"].day if "supers.on" in state.days else state.colony.began
    since: int | None = on if state.supers else None
    for day, put_on in days:
        if put_on and since is None:
            since = day
        elif not put_on and since is not None:
            stays.append(Stay(since, day))
            since = None
    if since is not None:
        stays.append(Stay(since, next((s.off for s in standing.supers if s.on == since and not s.planned), None)))
    return replace(standing, supers=tuple(stays))
