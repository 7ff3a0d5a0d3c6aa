"""The plan: what every document is made from. Made once, in ``planning/settle/settle.py``, and never changed.

All days are ordinals (``date.toordinal``); temperatures are °C, volumes mL, masses g. Text in here is either the
keeper's own, or comes from ``rules/``; sentences around it belong to ``templates/``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum, StrEnum

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span


class Rule(IntEnum):
    """Why a day is what it is. Numbered, closed; the number is printed by ``ipmcal why`` and never used again."""

    REGION_MARK = 1
    """A day of the season, from the region's file."""
    MOVED = 2
    """A mark moved from the region's reference to this place (Hopkins' rule)."""
    OBSERVED = 3
    """A mark that the keeper saw."""
    EVENT = 4
    """A line of the journal or of the yard file."""
    PLANNED = 5
    """The day on which an earlier step is planned."""
    DEVELOPMENT = 6
    """A day of the clock: an earlier day plus a range of days."""
    LATEST_OF = 7
    """The latest of several days."""
    EARLIEST_OF = 8
    """The earliest of several days."""
    SHIFTED = 9
    """A day plus or minus a number of days."""
    SEEN = 10
    """A clock narrowed by what was found."""
    LAST_GOOD_DAY = 11
    """A hard stop: the last day on which no harm is done."""
    LOOK = 12
    """Opens after its hard stop: the hard stop stands, and the task is a look."""
    KEEPER_DAY = 13
    """The days on which the keeper can come."""
    NEED = 14
    """A need of the method: strength, queen, kind, flow, box, brood."""
    SPREAD = 15
    """A spread of k standard deviations, to plan with."""
    COLONY = 16
    """A fact of the colony: how and when it began, its hive, its supers."""
    OWN_TASK = 17
    """The keeper's own task."""
    HELD_BACK = 18
    """The last of the keeper's days in a window is held back for rain."""
    OUT_OF_ORDER = 19
    """A mark that was moved so that the order of the season is kept."""
    DEGREE_DAYS = 20
    """A mark by the sum of warmth that it needs, from the keeper's own temperatures and, behind them, normals."""
    LIMIT = 22
    """A day on which the label's limits allow a course."""
    ASKED = 21
    """The plan asks for it: a count again, one more colony, after a trap that was too late or a treatment."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One link of the chain of reasons; ``under`` holds what it rests on. Text is made only when it is printed.

    ``subject`` is the word that it is about (a mark, an event, a clock day, a step, a need) or "".
    ``note`` is free text from rules or keeper, already in words ("" where none).
    """

    rule: Rule
    subject: str
    span: Span | None = None
    values: tuple[Cited[object], ...] = ()
    under: tuple[Reason, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """When a step may be done: ``opens <= best <= closes``, all inclusive; ``hard_stop`` is the last good day."""

    opens: int
    best: int
    closes: int
    hard_stop: int | None
    why_opens: Reason
    why_best: Reason
    why_closes: Reason

    def __post_init__(self) -> None:
        stop = self.closes if self.hard_stop is None else self.hard_stop
        if not self.opens <= self.best <= self.closes <= stop:
            raise ValueError(f"a window needs opens <= best <= closes <= hard stop: {self}")


class Status(StrEnum):
    """What became of a task."""

    PLANNED = "planned"
    DONE = "done"
    MISSED = "missed"
    UNKNOWN = "unknown"
    DECLINED = "declined"
    IMPOSSIBLE = "impossible"


class Act(StrEnum):
    """What a finding means for the step at hand."""

    CLOSE = "close"
    """The step counts as done."""
    LATE = "late"
    """Do it now; the cycle is closed as missed."""
    WAIT = "wait"
    """The step stays open, with the clock narrowed."""
    VOID = "void"
    """It does not count as done: the step stays open, and its clock starts anew: the frame is empty from here on."""


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


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something in the plan that the keeper has to read. ``what`` says it; ``helps`` says what would mend it."""

    yard: str
    subject: str
    what: str
    helps: str = ""
    tasks: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Refusal:
    """A method that is not offered to a colony (or trap frame), with every reason in words."""

    yard: str
    subject: str
    method: str
    title: str
    whys: tuple[str, ...]
    helps: str = ""
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class TrapView:
    """A trap frame as the sheet shows it. Boxes count from the bottom (1), slots from the left seen from behind (1)."""

    name: str
    box: int
    slot: int | None
    home: int | None


@dataclass(frozen=True, slots=True)
class BoxView:
    """A box of the hive, bottom first: its kind in words, how many frames it takes, whether it is a super."""

    kind: str
    frames: int
    super: bool = False


@dataclass(frozen=True, slots=True)
class ColonyView:
    """What a document shows of a colony: as painted on the hive, where it stands, what was last, what to ``mind``."""

    key: str
    name: str
    stand: str
    began: str
    boxes: tuple[BoxView, ...]
    supers: int
    traps: tuple[TrapView, ...]
    queen: str
    last: str
    notes: tuple[str, ...] = ()
    mind: str = ""


@dataclass(frozen=True, slots=True)
class MarkView:
    """A day (or, with ``ends``, a period) of the season at this yard."""

    mark: str
    title: str
    begins: Span
    ends: Span | None
    reason: Reason


@dataclass(frozen=True, slots=True)
class YardView:
    """What documents show of a yard; colonies in walking order. Highs are usual daily highs by month, °C.

    ``each_hive`` holds the cautions that are said anew at each hive; the others are said once a sheet.
    """

    key: str
    name: str
    latitude: float
    longitude: float
    directions: str
    region: str
    jurisdiction: str
    paper: str
    fahrenheit: bool
    days_title: str
    any_day: bool
    season: int
    begins: int
    ends: int
    language: str
    colonies: tuple[ColonyView, ...]
    marks: tuple[MarkView, ...]
    highs: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    each_hive: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CountView:
    """A count in words: what was found, how sure it is, what it says and by whose line.

    ``call`` is "treat", "below", "count again" or "recorded, not judged"; ``why`` says why.
    """

    colony: str
    day: int
    found: str
    sure: str
    call: str
    why: str
    line: str


@dataclass(frozen=True, slots=True)
class YardCall:
    """What the counts of a yard say to do for all of its colonies, in words, and the counts that say it.

    ``over`` and ``again`` name colonies, ``missing`` is how many more have to be counted. ``treated`` is the day on
    which a treatment began since; ``efficacy`` says what treatments did, as far as counts before and after tell.
    """

    yard: str
    day: int | None
    call: str
    words: str
    over: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    missing: int = 0
    treated: int | None = None
    counts: tuple[CountView, ...] = ()
    efficacy: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CourseView:
    """A treatment of one colony as the journal tells it; ``left`` is what is still in the hive ("" for nothing)."""

    yard: str
    colony: str
    product: str
    began: int
    ended: int | None
    left: str


@dataclass(frozen=True, slots=True)
class Choosing:
    """The courses of a yard's season in words: what is chosen for each need, what comes second, what excluded the rest.

    ``supplies`` are what the season takes, with the day on which each is needed first; ``left`` says what no course
    serves, and what could give way for it.
    """

    yard: str
    chosen: tuple[str, ...]
    second: tuple[str, ...]
    excluded: tuple[str, ...]
    supplies: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class YardWorth:
    """The visits planned at a yard, a proven least number, and in ``saves`` what weekdays (Monday 0) would save.

    Where the hours of a visit spread the work over more days, the least number is that without them.
    """

    yard: str
    visits: int
    least: int
    saves: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Drive:
    """A day on which several yards are visited: which drive it is, the visits in their order, and why in that order.

    ``minutes`` are those in the yards together; ``mind`` is what to mind between yards.
    """

    name: str
    day: int
    visits: tuple[str, ...]
    minutes: int
    reason: str
    mind: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole outcome for an outfit. ``tasks`` and ``visits`` are ordered by day, then walking order, then id."""

    outfit: str
    outfit_name: str
    as_of: int
    yards: tuple[YardView, ...]
    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    refusals: tuple[Refusal, ...]
    notes: tuple[str, ...] = ()
    rules_checked: tuple[str, ...] = field(default=())
    calls: tuple[YardCall, ...] = ()
    courses: tuple[CourseView, ...] = ()
    worth: tuple[YardWorth, ...] = ()
    drives: tuple[Drive, ...] = ()
    choosing: tuple[Choosing, ...] = ()

    def task(self, task_id: str) -> Task:
        """The task with this id. Raises KeyError."""
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise KeyError(task_id)
