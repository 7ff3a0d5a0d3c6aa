"""Reasons: what a day rests on, as data; worded in print."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

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
    OUT_OF_ORDER = 19
    """A mark that was moved so that the order of the season is kept."""
    DEGREE_DAYS = 20
    """A mark by the sum of warmth that it needs, from the keeper's own temperatures and, behind them, normals."""
    NAMED = 24
    """A day of each year that the yard file names: the harvest, supers wanted back."""
    ASSUMED = 23
    """Printed for that day by an earlier plan; nothing was heard of it."""
    LIMIT = 22
    """A day on which the label's limits allow a course."""
    RHYTHM = 25
    """A count's day: so long after the one before, around a course, or at a turn of the year."""
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
        if not self.opens <= self.best <= self.closes <= self.by:
            raise ValueError(f"a window needs opens <= best <= closes <= hard stop: {self}")

    @property
    def by(self) -> int:
        """The last day, as it is printed behind BY: the hard stop; where lateness does no harm, the window's close."""
        return self.closes if self.hard_stop is None else self.hard_stop
