"""What stands on a clipboard sheet, and in which order. In: the plan and one of its visits. Out: frozen views.

A view holds data only, already grouped and in words where they are dates; the sentences around it are in
``templates/sheet.html.j2``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Choices, Status, Task, Visit
from ipmcal.model.plan.views import Lying, YardView
from ipmcal.model.values.words import joined
from ipmcal.publishing.paper.keys import AnswerTable, split_answers, yard_key
from ipmcal.publishing.paper.leaf import (
    HiveFacts,
    HowTold,
    LyingOnce,
    Treating,
    Unheard,
    alike_in_how,
    counted_once,
    late_once,
    lying_once,
    lying_words,
    own_facts,
    repeated,
    shared_facts,
    told_once,
    treatings,
    unheard_of,
)
from ipmcal.publishing.paper.lines import Block, hive_blocks, printed_lines, with_giving
from ipmcal.publishing.paper.naming import act_words, hive_name, hives_of, short_name

ASKED_DAYS = 42
"""What nobody wrote down is asked for on sheets for so many days after its time was over; a matter of paper."""
MUST_LINES = 4
ROOMY_HIVES, ROOMY_LINES = 2, 6
"""Up to so many blocks and lines leave room for rows of what nobody foresaw, one below the other."""


@dataclass(frozen=True, slots=True)
class Must:
    """What can't wait: the hives, what to do, and the last day for it. ``task`` stands for all that share these."""

    who: str
    do: str
    by: int
    task: Task
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SheetPage:
    """All of a clipboard sheet."""

    visit: Visit
    yard: YardView
    blocks: tuple[Block, ...]
    key: AnswerTable | None
    musts: tuple[Must, ...]
    more_musts: tuple[int, ...]
    short_hives: tuple[str, ...]
    short_lines: tuple[int, ...]
    bring: tuple[tuple[str, tuple[str, ...]], ...]
    lids: bool
    idle: tuple[str, ...]
    unwaiting: str
    drive: str = ""
    elsewhere: tuple[tuple[str, str], ...] = ()
    several: tuple[tuple[str, tuple[str, ...]], ...] = ()
    told: tuple[HowTold, ...] = ()
    combs: tuple[str, ...] = ()
    lying: tuple[tuple[str, tuple[str, ...]], ...] = ()
    unheard: tuple[Unheard, ...] = ()
    choices: tuple[Choices, ...] = ()
    late: tuple[str, ...] = ()
    stores: str = ""

    @property
    def full(self) -> bool:
        """Whether there is little room: many hives, much to do in few, or several tables to answer by."""
        lines = sum(len(b.lines) + len(b.below) for b in self.blocks)
        tables = len(self.choices) + (self.key is not None)
        return len(self.blocks) > ROOMY_HIVES or lines > ROOMY_LINES or tables > 1


def sheet_lines(plan: Plan, visit: Visit) -> tuple[str, ...]:
    """The ids of a visit's tasks in printed order: line 1 of its sheet is the first.

    The yard's own tasks come first, then the hives in walking order; within a hive the plan's order is kept.
    """
    order = {colony.key: place for place, colony in enumerate(yard_of(plan, visit.yard).colonies)}
    tasks = {task.id: task for task in plan.tasks}

    def place(task_id: str) -> tuple[int, str]:
        colony = tasks[task_id].colony
        return (-1, "") if colony is None else (order.get(colony, len(order)), "" if colony in order else colony)

    return tuple(sorted(dict.fromkeys(visit.tasks), key=place))


def yard_of(plan: Plan, key: str, season: int | None = None) -> YardView:
    """The yard with this key, in a season or the first that is planned. Raises KeyError."""
    for yard in plan.yards:
        if yard.key == key and season in (None, yard.season):
            return yard
    raise KeyError(key)


def make_sheet(plan: Plan, visit: Visit) -> SheetPage:
    """The view of a visit's sheet. Raises KeyError where the visit names a yard or task that the plan lacks."""
    yard = yard_of(plan, visit.yard)
    everything = {task.id: task for task in plan.tasks}
    tasks, late = counted_once(alike_in_how([late_once(everything[task_id]) for task_id in sheet_lines(plan, visit)]))
    numbers = {task.id: i for i, task in enumerate(tasks, 1)}
    treating = treatings(tasks, yard)
    facts = _facts(tasks, yard, treating)
    several = shared_facts(facts, yard)
    lines = list(printed_lines(tasks, treating, facts))
    shown, rest = _musts([everything[task_id] for task_id in visit.must], numbers, yard)
    short_hives, short_lines = _short(visit, everything, numbers, yard)
    touched = {task.colony for task in tasks}
    lying = lying_once({key: some for key, some in _lying(plan, visit).items() if key in touched}, yard, plan.as_of)
    told = _with_amounts(own_facts(facts, several), lying)
    blocks = hive_blocks(lines, yard, told, lying.own, treating)
    return SheetPage(
        visit=visit,
        yard=yard,
        blocks=tuple(with_giving(blocks, treating)),
        key=yard_key(tasks, *split_answers(tasks), lambda some: hives_of(some, yard)),
        musts=shown,
        more_musts=rest,
        short_hives=short_hives,
        short_lines=short_lines,
        bring=_bring(visit),
        lids=any(line.lid for line in lines),
        idle=tuple(short_name(c.key) for c in yard.colonies if c.key not in touched and c.there_on(visit.day)),
        drive=_drive(plan, visit),
        elsewhere=tuple(_elsewhere(plan, visit, touched)),
        unwaiting=_unwaiting([everything[task_id] for task_id in visit.unwaiting], yard),
        several=several,
        told=told_once(tasks, _said_in_front(tasks, yard, treating)),
        combs=_combs(tasks, yard),
        lying=lying.shared,
        unheard=unheard_of(_asked(plan, visit)),
        late=late,
        stores=_stores(tasks, yard),
        choices=tuple(dict.fromkeys(task.choices for task in tasks if task.choices is not None)),
    )


def _stores(tasks: Sequence[Task], yard: YardView) -> str:
    """How much food a hive wants for winter, where one is weighed or hefted today; else ""."""
    return yard.stores if any(yard.stores in task.notes for task in tasks) else ""


def _said_in_front(tasks: Sequence[Task], yard: YardView, treating: Sequence[Treating]) -> Iterable[str]:
    """What stands before the hives, or at each of them, and so not on the back."""
    yield from (_stores(tasks, yard), *yard.each_hive, *yard.cautions)
    yield from (caution for one in treating for caution in one.cautions)


# Lines and blocks ----------------------------------------------------------------------------------------------------


def _facts(tasks: Sequence[Task], yard: YardView, treating: Sequence[Treating]) -> HiveFacts:
    """By hive of these tasks: what its tasks say alike, and what was last."""
    said = repeated(tasks, treating)
    last = {colony.key: (f"Last: {colony.last.rstrip('.')}.",) for colony in yard.colonies if colony.last}
    return {key: (*last.get(key, ()), *said[key]) for key in dict.fromkeys(task.colony or "" for task in tasks)}


def _with_amounts(facts: HiveFacts, lying: LyingOnce) -> HiveFacts:
    """The facts of each hive behind how much lies in it, where that is not what lies in others."""
    return {key: (*lying.amounts.get(key, ()), *texts) for key, texts in facts.items()}


def _combs(tasks: Sequence[Task], yard: YardView) -> tuple[str, ...]:
    """What comb to expect below the trap frames of these tasks; what is alike in several hives is said once."""
    handled = {task.colony for task in tasks if task.trap}
    alike: dict[str, list[str]] = {}
    for colony in yard.colonies:
        for note in colony.notes if colony.key in handled else ():
            traps, _, what = note.removesuffix(" each").partition(": ")
            alike.setdefault(what, []).extend(f"{short_name(colony.key)} {trap}" for trap in traps.split(", "))
    return tuple(f"{', '.join(whose)}: {what}{' each' if len(whose) > 1 else ''}" for what, whose in alike.items())


def _asked(plan: Plan, visit: Visit) -> dict[str, tuple[Task, ...]]:
    """By hive: what was due lately and of which the journal says nothing, and treatments that nothing was heard of. It
    is asked for on the next sheet."""
    asked: dict[str, tuple[Task, ...]] = {}
    first = min((v.day for v in plan.visits if v.yard == visit.yard), default=visit.day)
    if visit.day != first:
        return asked
    for task in plan.tasks:
        lately = task.window.closes >= plan.as_of - ASKED_DAYS
        silent = task.status is Status.UNKNOWN or (task.status is Status.ASSUMED and task.product)
        if task.yard == visit.yard and task.colony is not None and silent and lately:
            asked[task.colony] = (*asked.get(task.colony, ()), task)
    return asked


def _lying(plan: Plan, visit: Visit) -> dict[str, tuple[Lying, ...]]:
    """By hive, in walking order: what lies in it on the day of a visit."""
    found: dict[str, tuple[Lying, ...]] = {}
    for colony in yard_of(plan, visit.yard).colonies:
        some = [one for one in plan.lying if one.colony == colony.key and one.yard == visit.yard and one.on(visit.day)]
        if some:
            found[colony.key] = tuple(some)
    return found


def _elsewhere(plan: Plan, visit: Visit, touched: set[str | None]) -> Iterable[tuple[str, str]]:
    """Of hives in which nothing is planned today: what lies in them, and what has to be told of it."""
    lying = _lying(plan, visit)
    for colony in yard_of(plan, visit.yard).colonies:
        if colony.key not in touched:
            inside = (lying_words(one, plan.as_of) for one in lying.get(colony.key, ()))
            told = (*(f"{words}." for words in causes_words(colony.warnings)), *inside)
            yield from ((short_name(colony.key), words) for words in told)


# The head ------------------------------------------------------------------------------------------------------------


def _musts(tasks: Sequence[Task], numbers: dict[str, int], yard: YardView) -> tuple[tuple[Must, ...], tuple[int, ...]]:
    """Tasks that can't wait, grouped where the same is to be done by the same day, most urgent first; and the line
    numbers of those for which there is no room."""
    groups: dict[tuple[str, int], list[Task]] = {}
    for task in tasks:
        groups.setdefault((act_words(task), task.window.by), []).append(task)
    musts = [
        Must(hives_of(group, yard), do, by, group[0], tuple(sorted(numbers[t.id] for t in group if t.id in numbers)))
        for (do, by), group in groups.items()
    ]
    shown = musts if len(musts) <= MUST_LINES else musts[: MUST_LINES - 1]
    return tuple(shown), tuple(sorted(n for must in musts[len(shown) :] for n in must.lines))


def _unwaiting(tasks: Sequence[Task], yard: YardView) -> str:
    """What leaves no rain date: the hives, and what is to be done where it is for the yard as a whole."""
    own = dict.fromkeys(task.do for task in tasks if task.colony is None)
    names = hives_of(tasks, yard)
    here = names and (
        f"{names} hives" if names.startswith("all ") else f"hives {names}" if ", " in names else f"hive {names}"
    )
    return joined([part for part in (here, *own) if part])


def _drive(plan: Plan, visit: Visit) -> str:
    """Which yard of a drive this is, and which comes next; "" where the drive goes to this yard alone."""
    names = {yard.key: yard.name for yard in plan.yards}
    by_id = {v.id: names[v.yard] for v in plan.visits}
    for drive in plan.drives:
        if visit.id in drive.visits:
            at = drive.visits.index(visit.id)
            rest = [by_id[name] for name in drive.visits[at + 1 :]]
            then = f"then {joined(rest)}, {drive.reason}. {drive.mind}" if rest else "the last."
            return f"Yard {at + 1} of {len(drive.visits)} on this drive, {then}"
    return ""


def _short(
    visit: Visit, tasks: Mapping[str, Task], numbers: dict[str, int], yard: YardView
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Hives to open when time is short, in the plan's order, and their lines; none where just that must be done today,
    which is said a line above."""
    if set(visit.short) == set(visit.must):
        return (), ()
    some = [tasks[task_id] for task_id in visit.short if task_id in numbers]
    names = tuple(dict.fromkeys(hive_name(task, yard) for task in some))
    return names, tuple(numbers[task.id] for task in some)


def _bring(visit: Visit) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Things by load, in the plan's order, counted where there is a count."""
    loads: dict[str, list[str]] = {}
    for item in visit.bring:
        loads.setdefault(item.load, []).append(f"{item.count} × {item.title}" if item.count > 1 else item.title)
    return tuple((load.replace("_", " "), tuple(items)) for load, items in loads.items())
