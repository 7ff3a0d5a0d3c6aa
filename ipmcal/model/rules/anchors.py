"""What an anchor of a bound may be: the closed list of days that a rule can count from."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum

from ipmcal.model.values.text import nearest, quoted

GAP_IN_AUTUMN = "brood.gap_in_autumn"
"""The day on which no eggs and no queen were found, once winter bees are reared: a queen comes too late then."""
BROOD_DAYS = ("first_egg", "first_capped", "last_worker", "last_drone", "gap_in_autumn")
SUPERS_DAYS = ("on", "off")
ASKED = "asked"
"""The day on which the planner asked for a method that stands in no program."""
DUE_OPENS, DUE_BEST, DUE_CLOSES = DUE = ("due.opens", "due.best", "due.closes")
"""The days of a count that the rhythm of counts asks for: from when on, best when, and by when."""


class AnchorKind(StrEnum):
    """Where the day of an anchor comes from."""

    MARK = "mark"
    CLOCK = "clock"
    EVENT = "event"
    GROUP = "group"
    STEP = "step"
    SUPERS = "supers"
    BROOD = "brood"
    DATE = "date"

    @property
    def uncertain(self) -> bool:
        """True where the anchor is a Span, so that a bound has to pick an edge."""
        return self in (AnchorKind.MARK, AnchorKind.CLOCK, AnchorKind.BROOD)


@dataclass(frozen=True, slots=True)
class AnchorWords:
    """The words that an anchor may use in one file. ``later`` are those that stand further down: not allowed yet."""

    marks: Mapping[str, str]
    events: Collection[str]
    groups: Collection[str]
    clock: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    later: tuple[str, ...] = ()


def anchor_kind(anchor: str, words: AnchorWords) -> AnchorKind:
    """The kind of an anchor. Raises ValueError with the nearest word for one that does not exist."""
    if anchor[:1].isdigit():
        return AnchorKind.DATE
    head, dot, rest = anchor.partition(".")
    if head == "season" and dot:
        return _mark(rest, words.marks)
    for prefix, names, kind in (
        ("supers", SUPERS_DAYS, AnchorKind.SUPERS),
        ("brood", BROOD_DAYS, AnchorKind.BROOD),
    ):
        if head == prefix and dot:
            if rest not in names:
                raise ValueError(f"{quoted(anchor)} is not known{nearest(anchor, [f'{prefix}.{n}' for n in names])}")
            return kind
    for known, kind in (
        (words.clock, AnchorKind.CLOCK),
        (words.steps, AnchorKind.STEP),
        (words.groups, AnchorKind.GROUP),
        (words.events, AnchorKind.EVENT),
    ):
        if anchor in known:
            return kind
    if anchor in words.later:
        raise ValueError(f"{quoted(anchor)} does not come before this one; count from what stands above it")
    if anchor in words.marks:
        raise ValueError(f"{quoted(anchor)} is a mark of the season; write 'season.{anchor}'")
    every = [
        *words.clock,
        *words.steps,
        *words.groups,
        *words.events,
        "season.MARK",
        "supers.on",
        "brood.first_egg",
        "a date",
    ]
    raise ValueError(f"{quoted(anchor)} is no day to count from{nearest(anchor, every)}")


def _mark(rest: str, marks: Mapping[str, str]) -> AnchorKind:
    name, dot, edge = rest.partition(".")
    if name not in marks:
        raise ValueError(f"{quoted(name)} is not a mark of marks.yaml{nearest(name, sorted(marks))}")
    if marks[name] == "day" and dot:
        raise ValueError(f"'{name}' is a day, not a period: write 'season.{name}'")
    if marks[name] == "period" and edge not in ("begins", "ends"):
        raise ValueError(f"'{name}' is a period: write 'season.{name}.begins' or 'season.{name}.ends'")
    return AnchorKind.MARK
