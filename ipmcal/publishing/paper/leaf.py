"""What a sheet says once, and not once a hive. In: the tasks of a visit, facts of its hives. Out: frozen values.

Front: what holds for several hives, and what is given today. Back: how each thing is done, and what nobody wrote down.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.views import Lying, YardView
from ipmcal.model.values.words import hives, short_day
from ipmcal.publishing.paper.naming import act_words, by_act, hives_of, short_name

FOR_HIVE = "For this hive:"
"""How a note begins that is said at the hive, even where it is the same at each."""
TWO, SEVERAL = 2, 3
"""What is true of so many hives is said once, above them; of fewer it stands at the hive, where it is read."""

HiveFacts = Mapping[str, tuple[str, ...]]
"""By hive, in walking order: sentences that are true of it today."""


@dataclass(frozen=True, slots=True)
class Treating:
    """What is given today: the product, what to do, for whom, and all that holds for each of these hives.

    ``steps`` are the methods and steps that give it so: the same thing may be owed for two reasons. ``last``: one of
    the hives has other work today, which comes first.
    """

    steps: frozenset[tuple[str, str]]
    product: str
    do: str
    who: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    last: bool = False


@dataclass(frozen=True, slots=True)
class HowTold:
    """How a thing is done that stands on the front by its name, and what to mind of it."""

    title: str
    how: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LyingOnce:
    """What lies in hives, in words: by which hives it is ``shared``; of a hive of its ``own``; and the ``amounts`` in
    each of those that share a thing and not how much of it."""

    shared: tuple[tuple[str, tuple[str, ...]], ...]
    own: HiveFacts
    amounts: HiveFacts


@dataclass(frozen=True, slots=True)
class Unheard:
    """What was due and nobody wrote of: what, by which day, and in which hives."""

    do: str
    by: int
    hives: tuple[str, ...]


def late_once(task: Task) -> Task:
    """A task without the note that it is late, where its last good day, printed behind it, says so."""
    stop = task.window.hard_stop
    if stop is None or task.planned is None or stop >= task.planned:
        return task
    said = because_words(Because(Code.WAS_DUE, (task.window.closes,)))
    return replace(task, notes=tuple(note for note in task.notes if note != said))


def treatings(tasks: Sequence[Task], yard: YardView) -> tuple[Treating, ...]:
    """What is given today, once a product and act: for which hives, and all that holds for each of them."""
    groups: dict[tuple[str, str], list[Task]] = {}
    for task in tasks:
        if task.product:
            groups.setdefault((task.product, task.do), []).append(task)
    busy = {task.colony for task in tasks if not task.product}
    return tuple(
        replace(_treating(product, some, yard), last=any(task.colony in busy for task in some))
        for (product, _), some in groups.items()
    )


def _treating(product: str, some: Sequence[Task], yard: YardView) -> Treating:
    shared = [note for note in some[0].notes if all(note in other.notes for other in some)]
    cautions = dict.fromkeys(c for task in some for c in task.cautions if c not in yard.each_hive)
    notes = tuple(note for note in shared if not note.startswith(FOR_HIVE))
    steps = frozenset((task.method, task.step) for task in some)
    return Treating(steps, product, some[0].do, hives_of(some, yard), notes, tuple(cautions))


def told_of_steps(given: Iterable[Treating], task: Task) -> tuple[str, ...]:
    """What is said beside the product that a task gives, and so not again at its line."""
    return next((one.notes for one in given if (task.method, task.step) in one.steps and task.product), ())


def told_once(tasks: Sequence[Task], elsewhere: Iterable[str]) -> tuple[HowTold, ...]:
    """How each thing is done that is not given as a product, and its cautions but those that stand ``elsewhere``: at
    each hive, beside a product. Nothing is said twice, and nothing of what its line has in full and needs no more:
    such a thing is named by its words up to the colon.
    """
    groups = by_act(task for task in tasks if not task.product)
    said = set(elsewhere)
    made = []
    for title, some in groups.items():
        how = _new((text for task in some for text in task.how), said)
        cautions = _new((text for task in some for text in task.cautions), said)
        cut = any(task.blanks and not task.trap and head_words(task.do, tasks) != task.do for task in some)
        made += [HowTold(title if cut else head_words(title, tasks), how, cautions)] if how or cautions or cut else []
    return tuple(made)


def _new(texts: Iterable[str], said: set[str]) -> tuple[str, ...]:
    """Those that were not said yet; they are from now on."""
    new = tuple(dict.fromkeys(text for text in texts if text not in said))
    said.update(new)
    return new


def alike_in_how(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """The tasks; a note that an act has in each of several hives is told with how it is done, and not at each line."""
    groups = by_act(task for task in tasks if task.colony and not task.product)
    alike = {act: _in_all(some) for act, some in groups.items() if len({task.colony for task in some}) >= SEVERAL}
    return tuple(
        task if task.product else replace(task, how=_with(task.how, alike.get(act_words(task), ()))) for task in tasks
    )


def _in_all(some: Sequence[Task]) -> tuple[str, ...]:
    own = (note for note in some[0].notes if not note.startswith(FOR_HIVE))
    return tuple(note for note in own if all(note in other.notes for other in some))


def _with(first: Sequence[str], more: Sequence[str]) -> tuple[str, ...]:
    return (*first, *(text for text in more if text not in first))


def counted_once(tasks: Sequence[Task]) -> tuple[tuple[Task, ...], tuple[str, ...]]:
    """The tasks without the count that a finding asks for, where several have it, and what is to be written of it:
    one row of the sheet serves them all."""
    asking = [task for task in tasks if _count_of_finding(task)]
    if len(asking) < TWO:
        return tuple(tasks), ()
    labels = _count_of_finding(asking[0])
    word, _, first = labels[0].partition(": ")
    without = (replace(t, beside=tuple(b for b in t.beside if b not in _count_of_finding(t))) for t in tasks)
    return tuple(without), (f"{word}: in line", first, *labels[1:])


def _count_of_finding(task: Task) -> tuple[str, ...]:
    """The blanks of the count that a finding asks for: from the label that begins with its word on, without others."""
    begun = [place for place, label in enumerate(task.beside) if label.partition(": ")[0] in task.circle]
    return task.beside[begun[0] : begun[0] + len(("mites", "bees"))] if begun else ()


def head_words(do: str, tasks: Sequence[Task]) -> str:
    """What stands on a task's line where things are to be written behind it: its words up to the colon.

    All of them where two things on the sheet begin alike; the back has the rest.
    """
    head = do.partition(": ")[0]
    alike = {act_words(task) for task in tasks if act_words(task).partition(": ")[0] == head}
    return head if len(alike) == 1 else do


def repeated(tasks: Iterable[Task], given: Sequence[Treating]) -> HiveFacts:
    """By hive: notes that stand at several tasks of it, or of another hive, alike, and are no part of how these are
    done."""
    times: dict[str, Counter[str]] = {}
    for task in tasks:
        said = {*task.how, *told_of_steps(given, task)}
        own = [note for note in task.notes if note not in said]
        times.setdefault(task.colony or "", Counter()).update(own)
    alike = {note for some in times.values() for note, number in some.items() if number > 1}
    return {key: tuple(note for note in some if note in alike) for key, some in times.items()}


def shared_facts(facts: HiveFacts, yard: YardView) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What is true of several hives alike: which hives, and all that is true of just these."""
    where: dict[str, list[str]] = {}
    for key, texts in facts.items():
        for text in texts:
            where.setdefault(text, []).append(short_name(key))
    everyone = [short_name(colony.key) for colony in yard.colonies]
    together: dict[tuple[str, ...], list[str]] = {}
    for text, names in where.items():
        if len(names) >= SEVERAL:
            together.setdefault(tuple(names), []).append(text)
    return tuple((hives(names, everyone), tuple(texts)) for names, texts in together.items())


def own_facts(facts: HiveFacts, several: Iterable[tuple[str, Sequence[str]]]) -> HiveFacts:
    """By hive: what is not said above them for several."""
    said = {text for _, texts in several for text in texts}
    return {key: tuple(text for text in texts if text not in said) for key, texts in facts.items()}


def lying_once(lying: Mapping[str, Sequence[Lying]], yard: YardView, as_of: int) -> LyingOnce:
    """What lies in hives, said once for those in which the same lies until the same day, however much of it."""
    alike: dict[Lying, list[Lying]] = {}
    for one in (one for some in lying.values() for one in some):
        alike.setdefault(replace(one, colony="", number=""), []).append(one)
    everyone = [short_name(colony.key) for colony in yard.colonies]
    shared, own, amounts = [], dict[str, tuple[str, ...]](), dict[str, tuple[str, ...]]()
    for same, some in alike.items():
        if len(some) < TWO:
            own[some[0].colony] = (*own.get(some[0].colony, ()), lying_words(some[0], as_of))
            continue
        numbers = {one.number for one in some}
        said = replace(same, number=numbers.pop() if len(numbers) == 1 else "")
        shared.append((hives([short_name(one.colony) for one in some], everyone), (lying_words(said, as_of),)))
        if not said.number:
            which = "" if len(alike) == 1 else f" of {same.title[:1].lower()}{same.title[1:]}"
            for one in (one for one in some if one.number):
                amounts[one.colony] = (*amounts.get(one.colony, ()), f"{one.number}{which} in it.")
    return LyingOnce(tuple(shared), own, amounts)


def lying_words(one: Lying, as_of: int) -> str:
    """What lies in a hive: how much, of what, since when, and by when it has to be out.

    What nobody wrote says so; what is only planned is there if it was put in.
    """
    number = f"{one.number} of " if one.number else ""
    since = f"since {short_day(one.since)}" if one.since < as_of else f"if put in on {short_day(one.since)}"
    heard = ", not heard of: look" if one.assumed else ""
    by = one.by if one.by is not None else one.out
    out = f"OUT BY {short_day(by)}" if by is not None else "no day is planned to take it out: read the label"
    return f"In it: {number}{one.title[:1].lower()}{one.title[1:]}, {since}{heard}. {out}."


def unheard_of(asked: Mapping[str, Sequence[Task]]) -> tuple[Unheard, ...]:
    """What nobody wrote down, the same of several hives once."""
    groups: dict[tuple[str, int], list[str]] = {}
    for key, tasks in asked.items():
        for task in tasks:
            groups.setdefault((act_words(task), task.window.closes), []).append(
                " ".join(filter(None, [short_name(key), task.trap or ""]))
            )
    return tuple(Unheard(do, by, tuple(names)) for (do, by), names in groups.items())
