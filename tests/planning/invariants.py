"""What holds for any plan, whatever the rules, the keeper and the bees. In: a plan and what it was made from."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import pairwise

from planning.count_invariants import counts_hold
from planning.course_invariants import courses_hold
from planning.found_invariants import found_holds
from planning.told_invariants import told_holds
from planning.wording_invariants import wording_holds

from ipmcal.model.outfit.outfit import Colony, Event, Outfit, TrapFrame, Yard
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.tasks import Status, Task, Visit
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.methods import Act, Step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.recall.roster import roster

OWN = "own"
LEAVES = {Rule.EVENT, Rule.ASSUMED, Rule.PLANNED, Rule.COLONY, Rule.NAMED, Rule.OWN_TASK}
"""Reasons that rest on nothing else: a line of the keeper's, or the day of an earlier step of this plan."""


def check_plan(plan: Plan, outfit: Outfit, book: Rulebook) -> None:
    """Everything that holds for any plan. Raises AssertionError with the task or visit that breaks it.

    Colonies are looked for where they stand on the morning of the plan: some were moved, some were made by a line.
    """
    outfit = replace(outfit, yards=roster(outfit, book, plan.as_of).yards)
    yards = {yard.key: yard for yard in outfit.yards}
    identities(plan)
    for task in plan.tasks:
        window(task)
        status(plan, task)
        in_time(plan, outfit, task)
        reasons(task)
        where_it_stands(task, yards)
        after_the_beginning(task, yards[task.yard])
        causes_before(task)
        answered(plan, task, yards[task.yard], steps_of(task, outfit, book), book)
    for visit in plan.visits:
        keepers_day(yards[visit.yard], visit.day)
        no_holiday(plan, visit, yards[visit.yard])
        rain(plan, visit, yards[visit.yard])
        chosen(plan, visit)
        one_last_day(plan, visit, yards[visit.yard], int(book.planning.season_runs_on.value.middle))
        moved_by(plan, visit, yards[visit.yard])
    once(plan)
    one_season_s(plan)
    causes(plan, outfit, book)
    for yard in outfit.yards:
        for colony in yard.colonies:
            written = (*colony.history, *(e for e in outfit.journal or () if e.colony == colony.key))
            past = sorted((e for e in written if e.day <= plan.as_of), key=lambda e: e.day)
            for frame in colony.traps:
                never_forgotten(plan, colony, frame, past, book)
                taken_out_at_last(plan, colony, frame, past, book)
            no_supers_no_taking_off(plan, colony, past, book)
    courses_hold(plan, outfit, book)
    counts_hold(plan, outfit, book)
    found_holds(plan, outfit, book)
    wording_holds(plan)
    told_holds(plan, outfit)
    conflicts(plan)
    refusals(plan)
    order(plan)


# Tasks ----------------------------------------------------------------------------------------------------------------


def identities(plan: Plan) -> None:
    """A task is known by one id, which tells whose it is and what, and never when."""
    for task_id, count in Counter(t.id for t in plan.tasks).items():
        assert count == 1, f"{task_id} stands {count} times in the plan"
    for task in plan.tasks:
        assert not re.search(r"\d{4}-\d\d|\d\d-\d\d$", task.id), f"{task.id} holds a date"
        who = task.colony if task.colony is not None else f"@{task.yard}"
        whose = f"{who}.{task.trap}" if task.trap else who
        assert task.id == f"{whose}/{task.method}/{task.season}/{task.step}/{task.n}"


def window(task: Task) -> None:
    """opens <= best <= closes <= hard stop."""
    w = task.window
    stop = w.closes if w.hard_stop is None else w.hard_stop
    assert w.opens <= w.best <= w.closes <= stop, f"{task.id}: {w}"


def status(plan: Plan, task: Task) -> None:
    """What is planned lies ahead, what is done lies behind, and what is neither has no day."""
    if task.status is Status.PLANNED:
        assert task.planned is not None, task.id
        assert task.planned >= plan.as_of, f"{task.id} is planned for a day that is over"
        assert task.done is None, task.id
    elif task.status in (Status.DONE, Status.ASSUMED):
        assert task.done is not None, task.id
        assert task.done <= plan.as_of, f"{task.id} is done before it can be"
        assert task.planned is None, task.id
    elif task.status is Status.MISSED:
        assert task.planned is None, task.id
        stop = task.window.hard_stop
        late = task.done is not None and stop is not None and stop < task.done <= plan.as_of
        assert task.done is None or late, f"{task.id} is missed, and was done in time"
    else:
        assert task.planned is None, task.id
        assert task.done is None, task.id
        assert task.rain_date is None, task.id
        if task.status is Status.UNKNOWN:
            assert task.window.opens <= plan.as_of, f"{task.id} is asked for, and its time is still to come"


def one_season_s(plan: Plan) -> None:
    """What was done on a day was done for one season: its line is no line of the year before or after."""
    done: dict[tuple[object, ...], int] = {}
    for task in plan.tasks:
        if task.done is not None and task.trap is None:
            season = done.setdefault((task.colony, task.trap, task.method, task.step, task.done), task.season)
            assert season == task.season, f"{task.id} is done by what was done for {season}"


def named(plan: Plan, task: Task) -> bool:
    """Whether a conflict names a task."""
    return any(task.id in conflict.tasks for conflict in plan.conflicts)


def excused(plan: Plan, outfit: Outfit, task: Task) -> bool:
    """Late by no fault: due before the first plan, or behind what was; or it waits for a course, and a note says so."""
    if task.planned is None or task.window.hard_stop is not None or task.planned < task.window.opens:
        return False
    if task.logs == "shut":  # due on the day on which the hive was found dead
        return True
    since = plan.as_of if outfit.since is None else outfit.since
    errand = task.id.rsplit("/", 2)[0]
    from_before = any(t.window.opens < since for t in plan.tasks if t.id.rsplit("/", 2)[0] == errand)
    return from_before or any(note.startswith(f"{task.yard} ") and ": waits until " in note for note in plan.notes)


TWO_BROODS = 48
"""Days that two broods of drones take, 24 each: a trap is hung late while they are to come (common practice)."""


def in_time(plan: Plan, outfit: Outfit, task: Task) -> None:
    """Outside its window, or after its hard stop, only where a conflict says so."""
    if task.planned is not None:
        inside = task.window.opens <= task.planned <= task.window.closes or excused(plan, outfit, task)
        assert inside or named(plan, task), f"{task.id} is outside its window, and no conflict says so"
        if task.logs == "trap_hung" and task.planned > task.window.closes and not excused(plan, outfit, task):
            marks = next(v.marks for v in plan.yards if (v.key, v.season) == (task.yard, task.season))
            ends = next(one.begins.usual for one in marks if one.mark == "drone_rearing_end")
            assert task.planned <= ends - TWO_BROODS, f"{task.id}: hung so late that it hardly pays"
    if task.status is Status.IMPOSSIBLE:
        assert named(plan, task), f"{task.id} can't be done, and no conflict says so"


def reasons(task: Task) -> None:
    """Each day rests on values with citations, on lines of the keeper's, or on days planned before."""
    roots = (task.window.why_opens, task.window.why_best, task.window.why_closes, *task.why_planned)
    for leaf in leaves(roots):
        cited = leaf.values and all(value.cites for value in leaf.values)
        assert cited or leaf.rule in LEAVES, f"{task.id}: nothing stands behind {leaf}"
    for reason in every(roots):
        assert all(value.cites for value in reason.values), f"{task.id}: a value without a source in {reason}"
    spans = [(task.window.why_opens, task.window.opens), (task.window.why_closes, task.window.closes)]
    for root, day in spans:
        assert root.span is not None
        assert root.span.usual == day, f"{task.id}: {root.subject} explains {root.span}, not {day}"


def leaves(roots: Iterable[Reason]) -> Iterator[Reason]:
    """The reasons that rest on no other."""
    return (reason for reason in every(roots) if not reason.under)


def every(roots: Iterable[Reason]) -> Iterator[Reason]:
    """Reasons and all that they rest on."""
    todo = list(roots)
    while todo:
        reason = todo.pop()
        yield reason
        todo.extend(reason.under)


def steps_of(task: Task, outfit: Outfit, book: Rulebook) -> Mapping[str, Step]:
    """The steps of a task's method, or those on its treatment's label, for a second course as for the first."""
    if task.method == OWN:
        return {}
    if task.method in book.methods:
        return book.methods[task.method].steps
    jurisdiction = next(yard.jurisdiction for yard in outfit.yards if yard.key == task.yard)
    name = task.method if task.method in book.treatments else task.method.rpartition("_")[0]
    label = label_for(book.treatments[name], jurisdiction, book)
    assert label is not None, f"{task.id}: there is no label for it in {jurisdiction}"
    return label.steps


def day_of(task: Task) -> int | None:
    """The day on which a task was or will be done."""
    return task.planned if task.planned is not None else task.done


def colony_of(yard: Yard, key: str | None) -> Colony | None:
    return next((c for c in yard.colonies if c.key == key), None)


def where_it_stands(task: Task, yards: Mapping[str, Yard]) -> None:
    """A task lies in the yard in which its colony stands, wherever earlier ones were done."""
    if task.colony is not None:
        there = [key for key, yard in yards.items() if colony_of(yard, task.colony) is not None]
        assert there == [task.yard], f"{task.id} is planned in {task.yard}, and the colony stands in {there}"


def causes_before(task: Task) -> None:
    """What is planned comes after every line, and every step of this plan, that its window opens by."""
    if task.planned is not None and task.method != OWN:
        for reason in every((task.window.why_opens,)):
            if reason.rule in (Rule.EVENT, Rule.PLANNED) and reason.span is not None:
                assert reason.span.usual <= task.planned, f"{task.id} comes before its cause, {reason.subject}"


def after_the_beginning(task: Task, yard: Yard) -> None:
    """Nothing is done to a colony before it is there."""
    colony, day = colony_of(yard, task.colony), day_of(task)
    brought = task.done is not None and task.logs == "strips_in"  # with a hive that was united with it
    if colony is not None and day is not None and task.method != OWN and not brought:
        assert day >= colony.began, f"{task.id} comes before the colony began"


# Days -----------------------------------------------------------------------------------------------------------------


EVERYWHERE = ((12, 25), (1, 1))
"""Days on which nobody drives, whatever the country: common practice."""


def rests(yard: Yard, day: int) -> bool:
    """Whether a day is a holiday of the keeper's."""
    found = date.fromordinal(day)
    public = yard.holidays.in_year(found.year) if yard.holidays is not None else ()
    return (found.month, found.day) in EVERYWHERE or day in public


def could_come(yard: Yard, day: int) -> bool:
    """Whether the keeper can be at a yard on a day, be it a holiday; on that on which its bees come they are there."""
    at_home = all(not first <= day <= last for first, last in yard.away)
    came = any(one.began == day and one.kind in ("package", "nucleus") for one in yard.colonies)
    return at_home and (came or yard.weekdays is None or date.fromordinal(day).weekday() in yard.weekdays)


def can_come(yard: Yard, day: int) -> bool:
    """Whether the keeper comes to a yard on a day, if it can be chosen."""
    return could_come(yard, day) and not rests(yard, day)


def keepers_day(yard: Yard, day: int) -> None:
    assert could_come(yard, day), f"{yard.key}: nobody can come on {date.fromordinal(day)}"


def no_holiday(plan: Plan, visit: Visit, yard: Yard) -> None:
    """A visit on a holiday does nothing that another day would be in time for, nor anything that may be late."""
    if not rests(yard, visit.day):
        return
    for task in map(plan.task, visit.tasks):
        where = f"{task.id} on a holiday, {date.fromordinal(visit.day)}"
        assert task.window.hard_stop is not None, where
        assert any(note.startswith("A holiday: ") for note in task.notes), f"{where}, and nobody says so"
        whose = (task.colony, task.trap, task.method)
        steps = [t for t in plan.tasks if (t.colony, t.trap, t.method) == whose]
        before = [day for t in steps if (day := day_of(t)) is not None and day < visit.day]
        first = max([plan.as_of, *(day + 1 for day in before)])
        if visit.day >= task.window.opens:
            first = max(first, task.window.opens)
        others = [d for d in range(first, task.window.closes + 1) if can_come(yard, d)]
        assert not others, f"{where}, and {date.fromordinal(others[0])} would do"


def rain(plan: Plan, visit: Visit, yard: Yard) -> None:
    """The rain date is the keeper's next day, and in time for every hard stop that the visit serves."""
    tasks = [plan.task(i) for i in visit.tasks]
    assert {t.rain_date for t in tasks} == {visit.rain_date}, visit.id
    if visit.rain_date is None:
        return
    assert visit.rain_date > visit.day, visit.id
    assert can_come(yard, visit.rain_date), f"{visit.id}: nobody comes on the rain date"
    between = range(visit.day + 1, visit.rain_date)
    assert not any(can_come(yard, day) for day in between), f"{visit.id}: the rain date is not the next possible day"
    for task in tasks:
        if task.window.hard_stop is not None:
            assert visit.rain_date <= task.window.hard_stop, f"{visit.id}: the rain date is too late for {task.id}"


def last_days(task: Task, visit: Visit) -> Iterator[int]:
    """The last days that a sheet prints for a task and that are not over yet: of its window, and of each answer."""
    window = task.window
    assert window.by == (window.closes if window.hard_stop is None else window.hard_stop), task.id
    if window.by >= visit.day or window.hard_stop is not None:
        yield window.by
    yield from (a.cut_by for a in task.answers if a.day == visit.day and a.cut_by is not None)


def next_day(yard: Yard, day: int, last: int) -> int | None:
    """The keeper's next day, up to ``last``."""
    return next((d for d in range(day + 1, last + 1) if can_come(yard, d)), None)


def one_last_day(plan: Plan, visit: Visit, yard: Yard, runs_on: int) -> None:
    """No rain date lies after a last day that stands on the sheet, and what is said not to wait for one can't."""
    tasks = {i: plan.task(i) for i in visit.tasks}
    if visit.rain_date is not None:
        for task in tasks.values():
            for last in last_days(task, visit):
                assert visit.rain_date <= last, f"{visit.id}: rain date {visit.rain_date} after {task.id}'s {last}"
        assert not visit.unwaiting, visit.id
        assert not visit.rain_help, visit.id
    ends = max(view.ends for view in plan.yards if view.key == visit.yard)
    after = next_day(yard, visit.day, ends + runs_on)  # a season's last tasks may be done after its end
    late = {i for i, t in tasks.items() if after is not None and any(last < after for last in last_days(t, visit))}
    assert late <= set(visit.unwaiting), f"{visit.id}: {late} can't wait, and {visit.unwaiting} is said not to"
    for task in (tasks[i] for i in visit.unwaiting if i not in late):  # a day on which its label forbids it
        assert task.product or task.logs in ("shut", "began"), f"{visit.id}: {task.id} could wait for {after}"
    for task in (tasks[i] for i in visit.must):
        assert task.window.hard_stop is not None or task.id in visit.unwaiting, f"{visit.id}: {task.id} could wait"
    soft = {i for i in visit.unwaiting if tasks[i].window.hard_stop is None}
    assert soft <= set(visit.must), f"{visit.id}: {soft} can't wait, and is no must"


def moved_by(plan: Plan, visit: Visit, yard: Yard) -> None:
    """A visit says what it is on its day for: a task that no later day of the keeper's is in time for, or hours."""
    task = plan.task(visit.forced_by)
    if visit.because.startswith("since "):
        assert yard.hours is not None, f"{visit.id}: moved by hours that nobody gave"
        return
    assert task.do in visit.because, f"{visit.id}: {visit.because}"
    assert not task.colony or f"{task.colony}" in visit.because, f"{visit.id}: {visit.because}"
    kept = "kept to this day by what goes with it" in visit.because
    if visit.because.startswith("because of ") and task.window.by >= visit.day and not kept:
        ends = min(task.window.closes, next(view.ends for view in plan.yards if view.key == visit.yard))
        later = [d for d in range(visit.day + 1, ends + 1) if can_come(yard, d)]
        assert len(later) < 2, f"{visit.id}: {task.id} could be on {later[0]}: {visit.because}"
    if visit.because.startswith("to spare a drive; ") and yard.hours is None:
        alone = [t.id for t in map(plan.task, visit.tasks) if t.id in visit.unwaiting and t.window.by >= visit.day]
        assert not alone, f"{visit.id}: {alone} can't be later, and it is said to be so to spare a drive"


def chosen(plan: Plan, visit: Visit) -> None:
    """What can't wait and what fits into half an hour are tasks of the visit; it may move only around its own day."""
    assert visit.day >= plan.as_of, visit.id
    assert visit.earliest <= visit.day <= visit.latest, visit.id
    assert visit.tasks, visit.id
    for task in map(plan.task, visit.tasks):
        if task.window.opens <= visit.day <= task.window.closes:
            assert task.window.opens <= visit.earliest, f"{visit.id} can't be moved so early for {task.id}"
            assert visit.latest <= task.window.closes, f"{visit.id} can't be moved so late for {task.id}"
    assert set(visit.must) <= set(visit.tasks), visit.id
    assert set(visit.short) <= set(visit.tasks), visit.id
    assert visit.forced_by in visit.tasks, visit.id
    assert len(set(visit.must)) == len(visit.must), visit.id
    assert len(set(visit.short)) == len(visit.short), visit.id
    assert visit.minutes > 0, visit.id
    hard = [t.id for t in map(plan.task, visit.tasks) if t.window.hard_stop is not None]
    if hard:
        assert visit.must, f"{visit.id}: {hard} has a hard stop, and nothing is said not to wait"
        assert plan.task(visit.must[0]).window.hard_stop is not None, visit.id


def once(plan: Plan) -> None:
    """Each planned task stands on one visit, of its yard and its day; no yard is visited twice on a day, and no trap
    frame is handled twice on one, for two seasons.
    """
    served = Counter(i for visit in plan.visits for i in visit.tasks)
    assert set(served) == {t.id for t in plan.tasks if t.planned is not None}
    assert all(count == 1 for count in served.values()), served
    for visit in plan.visits:
        for task in map(plan.task, visit.tasks):
            assert (task.yard, task.planned) == (visit.yard, visit.day), f"{task.id} is not due on {visit.id}"
    days = Counter((visit.yard, visit.day) for visit in plan.visits)
    assert all(count == 1 for count in days.values()), days
    frames = Counter((t.colony, t.trap, t.method, t.planned) for t in plan.tasks if t.trap and t.planned is not None)
    assert all(count == 1 for count in frames.values()), [frame for frame, count in frames.items() if count > 1]


# Causes ---------------------------------------------------------------------------------------------------------------


def causes(plan: Plan, outfit: Outfit, book: Rulebook) -> None:
    """Nothing comes before its cause: steps of a method follow each other, each on a later day, unless it goes along.

    What a keeper writes may lie on one day, and be done once more when the next step is over. A look that goes along
    counts from its own bounds: it may be done, or planned in its time, while the step before it is late.
    """
    chains: dict[tuple[str, str | None, str | None, str, int, int], list[Task]] = {}
    for task in plan.tasks:
        if task.method != OWN and day_of(task) is not None:
            asked = task.n if task.method in book.methods and book.methods[task.method].asked else 0
            chains.setdefault((task.yard, task.colony, task.trap, task.method, task.season, asked), []).append(task)
    for tasks in chains.values():
        steps = list(steps_of(tasks[0], outfit, book))
        tasks.sort(key=lambda t: (steps.index(t.step), t.n))
        for before, task in pairwise(tasks):
            first, then = day_of(before), day_of(task)
            assert first is not None
            assert then is not None
            along = steps_of(task, outfit, book)[task.step].along
            in_time = task.planned is not None and task.planned <= task.window.closes < first
            if along and (task.done is not None or in_time):
                continue
            if outfit.journal is not None and before.done is not None and task.done is not None:  # as it was written
                assert first <= then or max(before.n, task.n) > 1, f"{task.id} was done before {before.id}"
            else:
                assert first < then or (along and first == then), f"{task.id} comes before {before.id}"
    for yard in outfit.yards:
        for colony in yard.colonies:
            past = [
                e for e in (*colony.history, *(outfit.journal or ())) if e.colony == colony.key and e.day <= plan.as_of
            ]
            for task in plan.tasks:
                if task.colony == colony.key and task.trap and task.planned is not None:
                    worked = [e.day for e in past if e.trap == task.trap and _starts(e, book)]
                    assert not worked or task.planned >= max(worked), f"{task.id} is planned before what was written"


def _starts(event: Event, book: Rulebook) -> bool:
    return book.events[event.word].effect in ("hangs_trap", "empties_trap")


def hangs(plan: Plan, colony: Colony, frame: TrapFrame, past: Iterable[Event], book: Rulebook) -> bool:
    """Whether a trap frame is in the hive, with a day that its comb counts from, as the lines tell.

    What is empty when no whole cycle of 24 days fits any more before building ends comes out.
    """
    view = next(view for view in plan.yards if any(c.key == colony.key for c in view.colonies))
    ends = next((mark.begins.usual - 24 for mark in view.marks if mark.mark == "drone_rearing_end"), 10**9)
    inside = False
    for event in past:
        if event.trap == frame.name and event.value in ("honey", "worker", "nothing") and event.day > ends:
            inside = False
            continue
        if event.trap == frame.name:
            effect = book.events[event.word].effect
            inside = effect in ("hangs_trap", "empties_trap") or (inside and effect != "takes_trap_out")
    return inside


def never_forgotten(plan: Plan, colony: Colony, frame: TrapFrame, past: Iterable[Event], book: Rulebook) -> None:
    """A trap that hangs in a living colony is emptied by this plan, or a conflict says that it can't be."""
    events = list(past)
    if any(book.events[e.word].effect == "ends" for e in events) or not hangs(plan, colony, frame, events, book):
        return
    mine = [t for t in plan.tasks if t.colony == colony.key and t.trap == frame.name]
    by_plan = [t for t in mine if t.planned is not None or t.done is not None or named(plan, t)]
    assert by_plan, f"{colony.key} {frame.name} hangs, and nobody is sent to empty it"


def taken_out_at_last(plan: Plan, colony: Colony, frame: TrapFrame, past: Iterable[Event], book: Rulebook) -> None:
    """Trapping ends with the frame out of the hive, or a conflict names the last cut and what would help."""
    lines = [e for e in past if e.trap == frame.name]
    if lines and lines[-1].word == "found" and not hangs(plan, colony, frame, lines, book):
        return  # it was found empty once no cycle fitted any more, and came out
    mine = [t for t in plan.tasks if t.colony == colony.key and t.trap == frame.name]
    dated = sorted((t for t in mine if day_of(t) is not None), key=lambda t: day_of(t) or 0)
    if dated and not any(t.status is Status.IMPOSSIBLE for t in mine):
        last = dated[-1]
        assert last.logs == "trap_out" or named(plan, last), f"{last.id} is the last, and the frame stays in the hive"


def no_supers_no_taking_off(plan: Plan, colony: Colony, past: Iterable[Event], book: Rulebook) -> None:
    """Supers come off only where there are any: told of, written down, or put on by this plan before."""
    effects = [book.events[e.word].effect for e in past]
    written = [effect for effect in effects if effect in ("supers_on", "supers_off")]
    there = written[-1] == "supers_on" if written else colony.supers > 0
    mine = [t for t in plan.tasks if t.colony == colony.key and day_of(t) is not None]
    on = [day_of(t) or 0 for t in mine if t.logs == "supers_on"]
    for task in mine:
        if task.logs == "supers_off":
            assert there or (on and min(on) < (day_of(task) or 0)), f"{task.id}: there are none to take off"


# Answers --------------------------------------------------------------------------------------------------------------


def answered(plan: Plan, task: Task, yard: Yard, steps: Mapping[str, Step], book: Rulebook) -> None:
    """For a trap frame, each finding has an answer for the visit, and one for the rain date; each with days in time."""
    if task.method == OWN or task.planned is None:
        return
    findings = steps[task.step].findings
    asked = [task.planned, *([task.rain_date] if task.rain_date is not None else [])] if findings else []
    expected = [(day, finding) for day in asked for finding in findings]
    assert [(a.day, a.finding) for a in task.answers] == expected, f"{task.id}: not every finding has its answer"
    for a in task.answers:
        where = f"{task.id} on {date.fromordinal(a.day)}: {a.finding}"
        assert a.do, where
        assert a.title == book.findings[a.finding].title, where
        if a.cut_by is None:
            assert (a.back_on, a.back_from, a.back_by) == (None, None, None), where
        else:
            assert a.cut_by > a.day, f"{where}: to be cut before it was looked at"
            assert a.back_from is not None, where
            assert a.back_by is not None, where
            assert a.day < a.back_from <= a.back_by <= a.cut_by, where
        if a.back_on is not None:
            assert a.cut_by is not None, where
            assert a.day < a.back_on <= a.cut_by, where
            keepers_day(yard, a.back_on)
            if rests(yard, a.back_on):
                other = [d for d in range(a.back_from, a.back_by + 1) if can_come(yard, d)]
                assert not other, f"{where}: back on a holiday, and {other[0]} would do"
        if a.act is Act.WAIT:
            assert a.cut_by is not None, f"{where}: left without a last good day"
            assert yard.weekdays is None or a.back_on is not None, f"{where}: left with nobody coming"


# The rest -------------------------------------------------------------------------------------------------------------


def conflicts(plan: Plan) -> None:
    """A conflict says something, names tasks of the plan, and says what would help."""
    ids = {t.id for t in plan.tasks}
    yards = {view.key for view in plan.yards}
    for conflict in plan.conflicts:
        assert because_words(conflict.what), conflict
        assert because_words(conflict.helps), conflict
        assert conflict.yard in yards, conflict
        assert set(conflict.tasks) <= ids, conflict
        assert "None" not in because_words(conflict.what), conflict


def refusals(plan: Plan) -> None:
    """What is not offered is not planned, though it may have been done before; each refusal has its reasons."""
    for refusal in plan.refusals:
        assert refusal.whys, refusal
        assert all(causes_words((*refusal.whys, *refusal.helps))), refusal
        for task in (task for task in plan.tasks if task.planned is not None):
            who = f"{task.colony} {task.trap}" if task.trap else task.colony
            same = (who, task.method) == (refusal.subject, refusal.method)
            assert not (same and task.planned is not None), f"{task.id} is planned and refused"


def order(plan: Plan) -> None:
    """Tasks and visits stand by day."""
    days = [next(d for d in (t.planned, t.done, t.window.best) if d is not None) for t in plan.tasks]
    assert days == sorted(days)
    assert [(v.day, v.yard) for v in plan.visits] == sorted((v.day, v.yard) for v in plan.visits)
