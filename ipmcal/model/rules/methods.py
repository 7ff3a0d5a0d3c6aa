"""What a method's file may say, and a program's: for whom, what it needs, its clock, what may be seen, its steps.

In: mappings of ``Text`` from the reader. Out: frozen values. The steps of treatments are these, and a word more.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import (
    AnyAmount,
    Bounds,
    Clocks,
    Closed,
    Identifier,
    Identifiers,
    Prose,
    Proses,
    RuleFile,
    Whole,
    YesNo,
    measured,
    whole,
)
from ipmcal.model.values.forms import Amount

Minutes = Annotated[Cited[Amount], *measured("min", "5 min @practice")]


class WordNeed(Closed):
    """A need said in words: ``{not: [dearth]}`` or ``{is: [laying]}``; ``advice: yes`` warns instead of forbidding."""

    is_: Identifiers = Field(default=(), alias="is")
    not_: Identifiers = Field(default=(), alias="not")
    advice: YesNo = False


class RangeNeed(Closed):
    """A need said as a range, with its source."""

    value: AnyAmount
    advice: YesNo = False


def _short_word(value: object) -> object:
    return {"is": value} if isinstance(value, (str, list)) else value


def _short_range(value: object) -> object:
    return {"value": value} if isinstance(value, str) else value


WordNeeded = Annotated[WordNeed, BeforeValidator(_short_word)]
RangeNeeded = Annotated[RangeNeed, BeforeValidator(_short_range)]


class Needs(Closed):
    """What must be so before a method is offered; each word forbids or, with ``advice``, warns."""

    strength: RangeNeeded | None = None
    queen: WordNeeded | None = None
    kind: WordNeeded | None = None
    flow: WordNeeded | None = None
    box: WordNeeded | None = None
    gap: WordNeeded | None = None
    traps: WordNeeded | None = None
    brood: WordNeeded | None = None
    temperature: RangeNeeded | None = None
    frames_a_place: RangeNeeded | None = None


class FindingRule(Closed):
    """What a finding means for the step: what to do, and what becomes of the clock."""

    do: Prose
    act: Act


class Again(Closed):
    """A step that repeats: until when it may begin anew, how often at most, and its bounds from the second time on."""

    until: Bounds
    at_most: Whole
    opens: Bounds | None = None
    best: Bounds | None = None
    closes: Bounds | None = None
    hard_stop: Bounds | None = None


class Late(Closed):
    """What is done where a step comes after its hard stop; with ``count``, mites are counted soon after."""

    do: Prose
    count: YesNo = False


class Step(Closed):
    """A step of a method: when, what to do, what to bring, what to write down.

    ``along``: it is done on the day of the step before it, where that day lies in its window. ``at_once``: it waits for
    no better weather, and stays owed where it is late. ``late_until``: the last day on which the first step of a trap
    frame is worth doing where its time went by. ``worth_until``: a step that would open later than that is not
    owed. ``table``: what to do by what is found. ``stores``: it says how
    much food a hive of the region wants for winter.
    """

    do: Prose
    look: Prose | None = None
    opens: Bounds
    best: Bounds | None = None
    closes: Bounds | None = None
    late_until: Bounds | None = None
    worth_until: Bounds | None = None
    hard_stop: Bounds | None = None
    harm: Prose | None = None
    minutes: Minutes
    bring: Identifiers = ()
    prepare: Prose | None = None
    notes: Proses = ()
    cautions: Identifiers = ()
    circle: Proses = ()
    findings: Identifiers = ()
    blanks: Proses = ()
    logs: Identifier
    again: Again | None = None
    lid: Prose | None = None
    if_late: Late | None = None
    along: YesNo = False
    at_once: YesNo = False
    table: Identifier | None = None
    stores: YesNo = False


SeenEdge = Literal["by", "after"]


class Method(RuleFile):
    """A method: for whom, what it needs, its clock, what may be seen, and its steps.

    One that is ``asked`` stands in no program: the planner asks for it, and it counts from the day ``asked``. The one
    step of a ``rhythm`` counts mites as often as ``planning.yaml`` has it, around courses; its days are ``due``.
    ``lines_from`` and ``lines_until``: lines of the journal from other days are another method's that logs the same.
    """

    title: Prose
    per: Literal["colony", "trap_frame", "yard"]
    note: Prose | None = None
    needs: Needs = Needs()
    clock: dict[Identifier, Clocks] = Field(default_factory=dict)
    seen: dict[Identifier, dict[Identifier, SeenEdge]] = Field(default_factory=dict)
    found: dict[Identifier, FindingRule] = Field(default_factory=dict)
    steps: dict[Identifier, Step]
    lines_from: Bounds | None = None
    lines_until: Bounds | None = None
    asked: YesNo = False
    rhythm: YesNo = False


class Program(RuleFile):
    """A choice of methods that a keeper can start from.

    ``treatments`` are the products that courses may be planned with, liked best first; with none, none is planned.
    """

    title: Prose
    note: Prose | None = None
    methods: Identifiers
    treatments: Identifiers = ()


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


# Skills: cards of the hand-out --------------------------------------------------------------------------------------

Drawing = Literal["queen_cells", "true_size", "caps", "clocks"]
"""Drawings that can be made, by name."""


class Wrong(Closed):
    """What is not normal: the sign, what to do, and when to ring somebody: today, this week, or ask when you meet."""

    sign: Prose
    do: Prose
    ring: Literal["today", "week", "ask"] | None = None


class Skill(RuleFile):
    """A skill: which tasks need it (by the journal's word that they log, or by method), and its card.

    ``always``: on every hand-out. ``stores``: how much food for winter a hive of the region wants stands on its card.
    ``because`` is why, in a line, beside each task on the wall. ``fair`` is what speaks
    against it, where a keeper may decline it. ``words`` explain trade words, an underscore for a blank.
    """

    title: Prose
    place: Annotated[int, *whole(1, 99)]
    logs: Identifiers = ()
    methods: Identifiers = ()
    always: YesNo = False
    stores: YesNo = False
    because: Prose
    before: Prose
    steps: Annotated[tuple[Prose, ...], Field(min_length=5, max_length=9)]
    normal: Prose
    wrong: tuple[Wrong, ...] = ()
    care: Prose | None = None
    fair: Proses = ()
    drawing: Drawing | None = None
    words: dict[Identifier, Prose] = Field(default_factory=dict)
