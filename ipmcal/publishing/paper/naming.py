"""Names on paper: of a hive, of hives together, of what is done in them. In: tasks, yards. Out: words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ipmcal.model.plan.tasks import Task
from ipmcal.model.plan.views import YardView
from ipmcal.model.values.words import hives, plain, shortened

NAME_LETTERS = 24


@dataclass(frozen=True, slots=True)
class WorkLine:
    """The same step for some hives: what, for whom, and the earliest last good day among them (None: none to print);
    ``task`` stands for all."""

    do: str
    who: str
    by: int | None
    task: Task


def hive_name(task: Task, yard: YardView) -> str:
    """The hive of a task as painted on it, "" for the yard's own."""
    return short_name(task.colony or "")


def short_name(name: str) -> str:
    """A hive's name for a list; where the hive itself stands, it is printed in full."""
    return shortened(plain(name), NAME_LETTERS)


def hives_of(tasks: Sequence[Task], yard: YardView) -> str:
    """Hives of some tasks, with the trap's name where it tells: "3 T1, 5", "all 12", "" for the yard."""
    everyone = [short_name(colony.key) for colony in yard.colonies]
    names = [hive_name(task, yard) for task in tasks if task.colony is not None]
    if len(set(names)) == len(names) > 3:
        listed = hives(names, everyone)
        if listed.startswith("all "):
            return listed
    return ", ".join(dict.fromkeys(_with_trap(task, yard) for task in tasks if task.colony is not None))


def _with_trap(task: Task, yard: YardView) -> str:
    name = hive_name(task, yard)
    return f"{name} {task.trap}" if task.trap else name


def names_trap(task: Task) -> bool:
    """True where what is to be done already names the trap frame, as rules may."""
    return bool(task.trap and re.search(rf"(?<!\w){re.escape(task.trap)}(?!\w)", task.do))


def act_words(task: Task) -> str:
    """What is to be done without the trap's name, so that the same act in several hives reads the same."""
    if not task.trap or not names_trap(task):
        return task.do
    return re.sub(rf"\s*(?<!\w){re.escape(task.trap)}(?!\w)", "", task.do).lstrip(" :,")


def up_to_colon(do: str) -> str:
    """What is to be done, up to the colon."""
    return do.partition(": ")[0]


def lone_heads(tasks: Iterable[Task]) -> frozenset[str]:
    """The words up to the colon that stand for one kind of work only: what was said in full before is named by them."""
    kinds: dict[str, set[str]] = {}
    for task in tasks:
        kinds.setdefault(up_to_colon(act_words(task)), set()).add(task.logs)
    return frozenset(words for words, logs in kinds.items() if len(logs) == 1)


def by_act(tasks: Iterable[Task]) -> dict[str, list[Task]]:
    """Tasks by what is to be done, in the words that the keeper reads; whichever rule asks for it."""
    groups: dict[str, list[Task]] = {}
    for task in tasks:
        groups.setdefault(act_words(task), []).append(task)
    return groups
