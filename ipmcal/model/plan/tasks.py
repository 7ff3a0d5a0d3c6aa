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
    ASSUMED = "assumed"
    """Printed for a day that is over, and not heard of: planning goes on as if it had been done."""
    MISSED = "missed"
    UNKNOWN = "unknown"
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
class Choice:
    """What to do where something is ``found``, and when to be back: on one of the keeper's days, or within days.

    ``back`` is the first and last of those days (None: no matter).
    """

    found: str
    do: str
    back: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Choices:
    """What to do by what is found, as printed before the drive; the same in each hive."""

    title: str
    lead: str
    rows: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Task:
    """One step for one colony (or one trap frame, or the yard). ``id`` is its identity, whatever its dates.

    ``planned`` and ``rain_date`` are None unless the status is PLANNED. ``done`` is the day of what was done; where it
    was after its hard stop, the status is MISSED. ``circle`` holds words to circle, ``blanks`` labels of things to
    write ("mites", "bees"). ``how`` are those of the ``notes`` that are the same in each hive: a line to count against,
    how the step is done; paper says them once. ``look`` means: what is found decides. ``product`` is what is given at
    this step, by its title ("": nothing). ``value`` is what a line of the journal would say behind its word, were it
    done as printed. ``choices``: what to do by what is found, where that is the same in each hive. ``beside``: labels
    of what may be written besides, where it is so.
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
    value: str = ""
    how: tuple[str, ...] = ()
    choices: Choices | None = None
    beside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BringItem:
    """A thing to pack: ``load`` is where it goes (see ``rules/planning.yaml``); ``count`` 0 means: not counted."""

    load: str
    title: str
    count: int = 0


@dataclass(frozen=True, slots=True)
class Visit:
    """A day at one yard. ``earliest..latest`` are the days to which it could be moved without harm (both inclusive).

    ``forced_by`` names the task that was the first to run out of days, ``because`` says in words why it is on this day;
    ``must`` the tasks with a last good day, and those that can't wait for another; ``short`` the tasks to do when there
    are only 30 minutes. ``prepare`` is for the evening before. Where there is no rain date, ``unwaiting`` names the
    tasks that would be too late on the keeper's next day, and ``rain_help`` says what would give one.
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
    unwaiting: tuple[str, ...] = ()
    because: str = ""
