"""A yard's season under one program, so that it can be laid beside another: work, courses, mites, odds."""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.plan.mites import MiteYear


@dataclass(frozen=True, slots=True)
class OddsByYear:
    """The share of hives, 0 to 1, over the line on the day on which most are: this year, the next, and after many.

    ``settled``: the same courses year after year, begun with what they themselves leave.
    """

    this: float
    next_: float
    settled: float


@dataclass(frozen=True, slots=True)
class ProgramYear:
    """A yard's season under a program: what it takes, and what comes of it.

    ``minutes`` are those in the yard; ``counts`` the visits on which mites are counted; ``cuts`` those of trap combs.
    ``mites`` has a picture for each kind of hives, ``odds`` what goes with each (None: no line of the authority).
    """

    program: str
    title: str
    yard: str
    yard_name: str
    season: int
    visits: int
    minutes: int
    counts: int
    cuts: int
    conflicts: int
    mites: tuple[MiteYear, ...]
    odds: tuple[OddsByYear | None, ...]
