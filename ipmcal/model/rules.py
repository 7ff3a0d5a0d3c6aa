"""What a rule file may say: one class a kind of file, keys closed, used as read.

In: mappings of ``Text`` from the reader. Out: frozen values. Checks that look beyond one file are in
``reading/rulebook.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from ipmcal.model.cited import Basis, Cited
from ipmcal.model.fields import (
    AnyAmount,
    Bounds,
    Cites,
    Clocks,
    Closed,
    Day,
    DaysSpan,
    Degrees,
    Identifier,
    Identifiers,
    Mark,
    Metres,
    Number,
    Prose,
    Proses,
    RuleFile,
    Season,
    Whole,
    YesNo,
    measured,
)
from ipmcal.model.forms import Amount, Bound, ClockDay
from ipmcal.model.plan import Act
from ipmcal.model.thresholds import Counting, Thresholds

Minutes = Annotated[Cited[Amount], *measured("min", "5 min @practice")]
Millimetres = Annotated[Cited[Amount], *measured("mm", "232 mm @practice")]
DaysAmount = Annotated[Cited[Amount], *measured("d", "7 d @practice")]


# The bibliography ----------------------------------------------------------------------------------------------------


class Source(Closed):
    """A source by author or authority, year and title; ``basis`` is what a citation of it means unless it says more."""

    author: Prose
    year: Prose | None = None
    title: Prose
    number: Prose | None = None
    kind: Literal[
        "paper", "book", "extension", "government", "institute", "association", "data", "standard", "label", "practice"
    ]
    basis: Basis = Basis.READ
    note: Prose | None = None


class SourcesFile(Closed):
    """``sources.yaml``."""

    checked: Day
    sources: dict[Identifier, Source]


# Season --------------------------------------------------------------------------------------------------------------


class MarkRule(Closed):
    """A word of the season: how it moves with the place, what it follows; ``required``: every region has it."""

    title: Prose
    kind: Literal["day", "period"]
    season: Literal["spring", "summer", "autumn", "winter"] = Field(alias="class")
    moves: Literal["later", "earlier", "stays"]
    after: Identifiers = ()
    note: Prose | None = None
    required: YesNo = False


class MarksFile(RuleFile):
    """``marks.yaml``."""

    marks: dict[Identifier, MarkRule]


class Position(Closed):
    """A place on earth."""

    latitude: Degrees
    longitude: Degrees
    elevation: Metres


class Normals(Closed):
    """Monthly normals of the daily high and low, and the spread of the daily high, °C, January first."""

    station: Prose
    cite: Cites = ()
    sd_cite: Cites = ()
    high: Annotated[tuple[Number, ...], Field(min_length=12, max_length=12)]
    low: Annotated[tuple[Number, ...], Field(min_length=12, max_length=12)]
    sd: Annotated[tuple[Number, ...], Field(min_length=12, max_length=12)]

    @field_validator("sd", mode="after")
    @classmethod
    def _own_citation(cls, sd: tuple[Cited[float], ...], info: ValidationInfo) -> tuple[Cited[float], ...]:
        """The spread often comes from another station than the normals."""
        cites = info.data.get("sd_cite")
        return tuple(replace(value, cites=cites) for value in sd) if cites else sd


class DegreeDays(Closed):
    """Sums of warmth at which marks fall: degree days above ``base`` from the season's first day on.

    Of the mean of high and low. ``base`` in °C or °F; each sum in degree days of the same scale, °Cd or °Fd.
    """

    base: AnyAmount
    sums: dict[Identifier, AnyAmount]


class Region(RuleFile):
    """A region: its reference place, its season, its marks, its normals; the warmth that some of its marks need."""

    title: Prose
    place: Position
    reference: Prose
    jurisdiction: Identifier | None = None
    longitude_counts: YesNo
    season: Season
    rarely_broodless: YesNo = False
    note: Prose | None = None
    marks: dict[Identifier, Mark]
    normals: Normals
    degree_days: DegreeDays | None = None


# Biology and hives ---------------------------------------------------------------------------------------------------


class Caste(Closed):
    """Development in days after laying (day 0 = the day of laying)."""

    capped: DaysSpan
    emerges: DaysSpan


class Castes(Closed):
    """The three castes."""

    worker: Caste
    drone: Caste
    queen: Caste


class Comb(Closed):
    """Comb below a short frame."""

    drone_cells: Annotated[Cited[Amount], *measured("cells/cm2", "2.3..2.6 cells/cm2 @practice")]
    wax: Annotated[Cited[Amount], *measured("g/kcell", "11.3..13.0 g/kcell @practice")]
    bee_space: Millimetres
    comb_gap: Millimetres
    trap_gap: Millimetres
    sides: Annotated[Cited[Amount], *measured("1", "2 @practice")]


class Biology(RuleFile):
    """``biology.yaml``: clocks, comb, mites, queens."""

    hatches: DaysSpan
    castes: Castes
    mites: dict[Identifier, AnyAmount]
    queen: dict[Identifier, DaysSpan]
    box_full: dict[Identifier, DaysSpan]
    comb: Comb


class FrameKind(Closed):
    """A frame: its height and the width of comb in it, mm."""

    title: Prose
    height: Millimetres
    comb_width: Millimetres


class HiveKind(Closed):
    """A kind of hive: how many frames its boxes take, and which boxes it has (named by the frame they are made for)."""

    title: Prose
    frames: Whole
    boxes: Identifiers


class Hives(RuleFile):
    """``hives.yaml``."""

    frames: dict[Identifier, FrameKind]
    hives: dict[Identifier, HiveKind]


# Journal words -------------------------------------------------------------------------------------------------------


class Finding(Closed):
    """What may be found below a short frame, as printed (``title``) and as circled (``circle``)."""

    title: Prose
    circle: Prose
    clock: Literal["narrows", "restarts"] = "narrows"


class EventRule(Closed):
    """A word of the journal: what it is about, the form of its value, what it does to the colony.

    ``unit`` is what mites were counted on, where the value is a count.
    """

    title: Prose
    short: Prose | None = None
    about: Literal["yard", "colony", "trap"]
    value: Literal[
        "none", "trap", "trap_slot", "trap_finding", "count", "text", "queen", "frames", "mark", "beginning"
    ] = "none"  # fmt: skip
    effect: Literal[
        "begins", "hangs_trap", "empties_trap", "takes_trap_out", "moves_trap", "narrows_clock", "supers_on",
        "supers_off", "queen", "stops_laying", "starts_laying", "suspects", "clears", "strength", "marks_season",
        "ends", "none",
    ] = "none"  # fmt: skip
    example: Prose
    unit: Literal["bees", "g", "d", "drone_cells"] = "bees"


class EventsFile(RuleFile):
    """``events.yaml``."""

    findings: dict[Identifier, Finding]
    groups: dict[Identifier, Identifiers]
    events: dict[Identifier, EventRule]


# Planning figures ----------------------------------------------------------------------------------------------------


class Item(Closed):
    """A thing to bring, and the load that it goes with."""

    title: Prose
    load: Identifier
    counted: YesNo = False


class Planning(RuleFile):
    """``planning.yaml``: the figures of planning itself, the things to bring and the cautions."""

    spread_factor: AnyAmount
    days_per_degree_latitude: AnyAmount
    days_per_degree_longitude: AnyAmount
    days_per_metre: AnyAmount
    far_latitude: AnyAmount
    far_elevation: AnyAmount
    too_far_latitude: AnyAmount
    next_season_within: DaysAmount
    review_after: DaysAmount
    lag_correlation: AnyAmount
    enough_chance: AnyAmount
    minutes_per_hive: Minutes
    minutes_per_visit: Minutes
    short_visit: Minutes
    trap_slot_from_end: AnyAmount
    loads: dict[Identifier, Prose]
    items: dict[Identifier, Item]
    cautions: dict[Identifier, Prose]
    each_hive: Identifiers = ()
    hive_items: Identifiers = ()
    stop_if: Proses = ()
    emergency: Prose


# Methods -------------------------------------------------------------------------------------------------------------


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


Words = Annotated[WordNeed, BeforeValidator(_short_word)]
Range = Annotated[RangeNeed, BeforeValidator(_short_range)]


class Needs(Closed):
    """What must be so before a method is offered; each word forbids or, with ``advice``, warns."""

    strength: Range | None = None
    queen: Words | None = None
    kind: Words | None = None
    flow: Words | None = None
    box: Words | None = None
    gap: Words | None = None
    traps: Words | None = None
    brood: Words | None = None
    supers: Words | None = None
    temperature: Range | None = None
    frames_a_place: Range | None = None


class Found(Closed):
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


class Step(Closed):
    """A step of a method: when, what to do, what to bring, what to write down."""

    do: Prose
    look: Prose | None = None
    opens: Bounds
    best: Bounds | None = None
    closes: Bounds | None = None
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


SeenEdge = Literal["by", "after"]


class Method(RuleFile):
    """A method: for whom, what it needs, its clock, what may be seen, and its steps."""

    title: Prose
    per: Literal["colony", "trap_frame", "yard"]
    note: Prose | None = None
    needs: Needs = Needs()
    clock: dict[Identifier, Clocks] = Field(default_factory=dict)
    seen: dict[Identifier, dict[Identifier, SeenEdge]] = Field(default_factory=dict)
    found: dict[Identifier, Found] = Field(default_factory=dict)
    steps: dict[Identifier, Step]


class Program(RuleFile):
    """A choice of methods that a keeper can start from."""

    title: Prose
    note: Prose | None = None
    methods: Identifiers


class Jurisdiction(RuleFile):
    """Units and paper, whom to call, what to report and to keep, in general words.

    What it leaves out holds as in the one it lies ``within``; a state's or country's file says only what differs.
    """

    title: Prose
    within: Identifier | None = None
    temperature: Literal["f", "c"] | None = None
    paper: Literal["letter", "a4"] | None = None
    language: Literal["en"] = "en"
    inspector: Prose | None = None
    note: Prose | None = None
    record: Prose | None = None
    movement: Prose | None = None
    thresholds: Identifiers = ()


# The whole -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Rulebook:
    """Every rule file, by id. Frozen; equal files give an equal rulebook."""

    sources: dict[str, Source]
    marks: dict[str, MarkRule]
    events: dict[str, EventRule]
    findings: dict[str, Finding]
    groups: dict[str, tuple[str, ...]]
    biology: Biology
    hives: Hives
    planning: Planning
    counting: Counting
    regions: dict[str, Region]
    methods: dict[str, Method]
    programs: dict[str, Program]
    jurisdictions: dict[str, Jurisdiction]
    thresholds: dict[str, Thresholds]
    local: frozenset[str] = frozenset()
    files: dict[str, RuleFile] = field(default_factory=dict)


def cited_values(value: Any) -> Iterator[Cited[Any] | Bound | ClockDay]:
    """Every value with citations below a rule file, in the order of the file."""
    if isinstance(value, (Cited, Bound, ClockDay)):
        yield value
    elif isinstance(value, Closed):
        for name in type(value).model_fields:
            yield from cited_values(getattr(value, name))
    elif isinstance(value, dict):
        for item in value.values():
            yield from cited_values(item)
    elif isinstance(value, tuple):
        for item in value:
            yield from cited_values(item)
