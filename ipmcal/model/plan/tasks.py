"""Tasks and visits: what is to be done, in whom, when, and what to bring."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ipmcal.model.plan.reasons import Reason, Window
from ipmcal.model.rules.methods import Act


class Status(StrEnum):
    """What became of a task."""

    PLANNED = "planned"
    DONE = "done"
    MISSED = "missed"
    UNKNOWN = "unknown"
    DECLINED = "declined"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True, slots=True)
class Answer:
    """What to do at the hive on ``day`` when ``finding`` is found, and when to be back.

    ``back_from..back_by`` are the days on which to be back (``back_on``, one of the keeper's days, if any); ``cut_by``
    is the hard stop to write on the lid. ``act`` may differ from the finding's own: where no day of the keeper's
    would be in time, WAIT becomes CLOSE, and ``forced`` says so.
    """

    finding: str
    title: str
    day: int
    act: Act
    do: str
    back_on: int | None = None
    back_from: int | None = None
    back_by: int | None = None
    cut_by: int | None = None
    forced: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One step for one colony (or one trap frame, or the yard). ``id`` is its identity, whatever its dates.

    ``planned`` and ``rain_date`` are None unless the status is PLANNED. ``done`` is the day of what was done; where it
    was after its hard stop, the status is MISSED. ``circle`` holds words to circle, ``blanks`` labels of things to
    write ("mites", "bees"). ``look`` means: what is found decides. ``product`` is what is given at this step, by its
    title ("": nothing).
    """

    id: str
    yard: str
    colony: str | None
    trap: str | None
    method: str
    step: str
    n: int
    season: int
    do: str
    window: Window
    planned: int | None
    rain_date: int | None
    status: Status
    done: int | None = None
    look: bool = False
    harm: str = ""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    circle: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()
    bring: tuple[str, ...] = ()
    minutes: int = 0
    logs: str = ""
    answers: tuple[Answer, ...] = ()
    why_planned: tuple[Reason, ...] = ()
    lid: str = ""
    product: str = ""


@dataclass(frozen=True, slots=True)
class BringItem:
    """A thing to pack: ``load`` is where it goes (see ``rules/planning.yaml``); ``count`` 0 means: not counted."""

    load: str
    title: str
    count: int = 0


@dataclass(frozen=True, slots=True)
class Visit:
    """A day at one yard. ``earliest..latest`` are the days to which it could be moved without harm (both inclusive).

    ``forced_by`` names the task that left no later day; ``must`` the tasks that can't wait, most urgent first;
    ``short`` the tasks to do when there are only 30 minutes. ``prepare`` is for the evening before. ``rain_help`` says
    what would give a rain date where there is none.
    """

    id: str
    yard: str
    day: int
    rain_date: int | None
    earliest: int
    latest: int
    tasks: tuple[str, ...]
    minutes: int
    bring: tuple[BringItem, ...] = ()
    prepare: tuple[str, ...] = ()
    must: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    stop_if: tuple[str, ...] = ()
    forced_by: str = ""
    rain_help: str = ""
