"""What the rule files say to a course of a treatment in one colony: the days of its use, the verdict, every reason.

Days are ordinals. Made in ``planning/labels/verdict.py``; printed by ``saying/options.py`` and whatever shows a course.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import Any

from ipmcal.model.values.cited import Basis, Citation, Cited


@dataclass(frozen=True, slots=True)
class StepDays:
    """A step of a course: its window, given that the steps before are done on their best day."""

    step: str
    opens: int
    best: int
    closes: int
    hard_stop: int | None

    def moved(self, days: int) -> StepDays:
        """The same step so many days later."""
        stop = None if self.hard_stop is None else self.hard_stop + days
        return StepDays(self.step, self.opens + days, self.best + days, self.closes + days, stop)


@dataclass(frozen=True, slots=True)
class Use:
    """The days of a course: of each application, the last day (what is in comes out, or is given), and of all steps."""

    applications: tuple[int, ...]
    last: int
    steps: tuple[StepDays, ...] = ()

    @property
    def first(self) -> int:
        """The day of the first application."""
        return self.applications[0]

    def moved(self, days: int) -> Use:
        """The same course so many days later."""
        steps = tuple(step.moved(days) for step in self.steps)
        return Use(tuple(day + days for day in self.applications), self.last + days, steps)


class Weight(IntEnum):
    """How heavy a reason is."""

    ASKS = 0
    """A condition of the day: it does not weigh."""
    ADVISES = 1
    """Advice, or a limit of which something is not known."""
    FORBIDS = 2
    """The label does not allow it."""


@dataclass(frozen=True, slots=True)
class Limited:
    """A reason of a limit. ``says`` are the label's own words, ``known`` what is known that meets or breaks them.

    ``value`` is the value that says so. ``until`` is the first day on which the course could begin without it (None:
    not within a year, or not known). ``stays``: no day makes it fall away by itself. ``by_hand``: the keeper mends it
    at the hive on the day. ``look``: it rests on something that is not known. ``plain``: what paper says of it, where
    that is less than what is known ("": both are said).
    """

    limit: str
    weight: Weight
    says: str
    known: str
    value: Cited[Any] | None = None
    cites: tuple[Citation, ...] = ()
    until: int | None = None
    why: str = ""
    stays: bool = False
    by_hand: bool = False
    look: bool = False
    plain: str = ""

    @property
    def advice(self) -> bool:
        """True where it warns and does not forbid."""
        return self.weight is Weight.ADVISES

    @property
    def basis(self) -> Basis | None:
        """The least sure basis of its citations; None where nothing is cited."""
        order = list(Basis)
        return max((c.basis for c in self.cites), key=order.index, default=None)


class Allowed(StrEnum):
    """A verdict in a word; ``advised against`` where only advice, or something not known, stands against it."""

    ALLOWED = "allowed"
    ADVISED_AGAINST = "advised against"
    FORBIDDEN = "forbidden"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rule file says to a course. ``reasons`` forbid or warn: all of them, those that forbid first.

    ``conditions`` are what the label asks for on the day and nobody can know before: they don't weigh. ``remarks`` are
    whose label it is and what it needs. ``holder`` is the jurisdiction whose label holds ("" where there is none).
    """

    treatment: str
    verdict: Allowed
    reasons: tuple[Limited, ...]
    conditions: tuple[Limited, ...]
    remarks: tuple[str, ...]
    holder: str
    use: Use | None

    @property
    def until(self) -> int | None:
        """The first day on which nothing forbids any more; None where that is not known, or nothing does."""
        days = [r.until for r in self.reasons if r.weight is Weight.FORBIDS]
        return None if not days or None in days else max(d for d in days if d is not None)


@dataclass(frozen=True, slots=True)
class Options:
    """Every treatment for the colonies of a yard, were it to begin on ``day``.

    ``verdicts`` are by colony, in walking order, each in the order of the treatments; ``titles`` are by treatment, and
    so is ``checked``, the day on which its rule file was.
    """

    yard: str
    jurisdiction: str
    day: int
    verdicts: dict[str, tuple[Verdict, ...]]
    titles: dict[str, str]
    checked: dict[str, int]
