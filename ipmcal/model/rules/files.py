"""What a rule file may say: one class a kind of file, keys closed, used as read.

In: mappings of ``Text`` from the reader. Out: frozen values. Checks that look beyond one file are in
``reading/rules/rulebook.py``.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from ipmcal.model.rules.base import Base, RoundsFor, YearPlans
from ipmcal.model.rules.methods import Minutes
from ipmcal.model.values.cited import Basis, Cited
from ipmcal.model.values.fields import (
    AnyAmount,
    Cites,
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
    SeasonField,
    Whole,
    YearDay,
    YesNo,
    closed,
    measured,
)
from ipmcal.model.values.forms import Amount
from ipmcal.model.values.labelforms import Days, HoursBefore, Millimetres, Percent, Times

if TYPE_CHECKING:  # treatments.py needs the steps of this module
    pass

Years = Annotated[Cited[Amount], *closed("years", "5 years @practice")]


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
    """A word of the season: how it moves with the place, what it follows; ``required``: every region has it,
    ``by_yard``: none has, since a yard file says it, or it is worked out with what that says.
    """

    title: Prose
    kind: Literal["day", "period"]
    season: Literal["spring", "summer", "autumn", "winter"] = Field(alias="class")
    moves: Literal["later", "earlier", "stays"]
    after: Identifiers = ()
    note: Prose | None = None
    required: YesNo = False
    by_yard: YesNo = False


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
    """A region: its reference place, season, marks, base year and normals; the warmth that some of its marks need.

    ``africanized``: such bees mate there, so that no colony is left to raise its own queen. ``thresholds``: authorities
    whose lines go before those of the jurisdiction there, first choice first. ``winter_stores``: the honey that a hive
    is to have for winter there, without box, comb and bees.
    """

    title: Prose
    place: Position
    reference: Prose
    jurisdiction: Identifier | None = None
    thresholds: Identifiers = ()
    longitude_counts: YesNo
    season: SeasonField
    rarely_broodless: YesNo = False
    africanized: YesNo = False
    note: Prose | None = None
    winter_stores: Annotated[Cited[Amount] | None, *closed("kg", "20..25 kg @practice")] = None
    marks: dict[Identifier, Mark]
    base: Base
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
    """``biology.yaml``: clocks, comb, mites, queens; ``sizes`` of what is drawn at true size."""

    hatches: DaysSpan
    castes: Castes
    mites: dict[Identifier, AnyAmount]
    queen: dict[Identifier, DaysSpan]
    box_full: dict[Identifier, DaysSpan]
    sizes: dict[Identifier, AnyAmount]
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
    """What may be found below a short frame, as printed (``title``) and as circled (``circle``).

    ``logs``: a count that is asked for on the spot where it is found, by the journal's word.
    """

    title: Prose
    circle: Prose
    clock: Literal["narrows", "restarts"] = "narrows"
    logs: Identifier | None = None


class Circled(Closed):
    """A word that sheets print to be circled: the line of the journal that goes with it, and what follows, in words.

    Alone it says that its step was done, and what was found; with ``done: no``, that it was not.
    """

    then: Prose
    logs: Prose | None = None
    done: YesNo = True


class ChoiceRow(Closed):
    """What may be found, what is done then, and in how many days the keeper is back.

    ``where``: it stands only where Africanized bees mate, or only elsewhere.
    """

    found: Prose
    do: Prose
    back: Days | None = None
    where: Literal["africanized", "elsewhere"] | None = None


class ChoiceTable(Closed):
    """What to do by what is found, printed before the drive; ``lead`` stands above it."""

    title: Prose
    lead: Prose | None = None
    rows: tuple[ChoiceRow, ...]


LayingAgain = Literal["let_out", "capped_cells", "young_larvae", "ripe_cell"]
"""How laying comes back after it stopped."""


class EventRule(Closed):
    """A word of the journal: what it is about, the form of its value, what it does to the colony.

    ``unit`` is what mites were counted on, where the value is a count. ``look``: a plain look, which may be written
    down without any finding ("looked, fine"). ``blanks`` are to be filled in on the sheet. ``laying_again``, of a word
    that stops the laying: when the queen is let out, or by a queen raised from capped cells, from young larvae, or out
    of a ripe cell that was given.
    ``assumed: no``: silence never stands for it; what was printed and not heard of stays owed.
    """

    title: Prose
    short: Prose | None = None
    about: Literal["yard", "colony", "trap"]
    value: Literal[
        "none", "trap", "trap_slot", "trap_finding", "count", "text", "queen", "frames", "mark", "beginning",
        "treatment", "colony", "made_from", "made", "yard", "hive", "step", "line",
    ] = "none"  # fmt: skip
    effect: Literal[
        "begins", "hangs_trap", "empties_trap", "takes_trap_out", "moves_trap", "narrows_clock", "supers_on",
        "supers_off", "queen", "stops_laying", "starts_laying", "suspects", "clears", "strength", "marks_season",
        "ends", "treats", "strips_in", "strips_out", "no_brood", "made", "moves", "requeens", "rehives", "not_done",
        "voids", "does_own", "no_eggs", "finds_cells", "bees", "narrows_entrance", "opens_floor", "shuts_floor", "none",
    ] = "none"  # fmt: skip
    example: Prose
    unit: Literal["bees", "g", "d", "drone_cells"] = "bees"
    blanks: Proses = ()
    look: YesNo = False
    assumed: YesNo = True
    laying_again: LayingAgain | None = None


class EventsFile(RuleFile):
    """``events.yaml``."""

    findings: dict[Identifier, Finding]
    circled: dict[Prose, Circled] = Field(default_factory=dict)
    tables: dict[Identifier, ChoiceTable] = Field(default_factory=dict)
    groups: dict[Identifier, Identifiers]
    events: dict[Identifier, EventRule]


# Planning figures ----------------------------------------------------------------------------------------------------


class Item(Closed):
    """A thing to bring, and the load that it goes with. ``worn``: while a product lies in a hive that is opened."""

    title: Prose
    load: Identifier
    counted: YesNo = False
    worn: YesNo = False


class Alarms(Closed):
    """How long before midnight of its day a phone tells of a visit, and of a last good day that has none."""

    visit: HoursBefore
    last_good_day: HoursBefore


class Watched(Closed):
    """Days from a count that an authority says to watch to the next one: ``late`` between midsummer and winter bees."""

    soon: Days
    late: Days


class ReviewFigures(Closed):
    """When a course failed (fewer mites gone than this), how often in a row that puts its class out; when a hive has
    dwindled: to so much of its most of the season."""

    cite: Cites = ()
    fails_below: Percent
    times: AnyAmount
    dwindled: Percent


class Planning(RuleFile):
    """``planning.yaml``: the figures of planning itself, the things to bring and the cautions."""

    spread_factor: AnyAmount
    days_per_degree_latitude: AnyAmount
    days_per_degree_longitude: AnyAmount
    days_per_metre: AnyAmount
    far_latitude: AnyAmount
    far_elevation: AnyAmount
    too_far_latitude: AnyAmount
    too_far_longitude: AnyAmount
    next_season_within: Days
    season_runs_on: Days
    review_after: Days
    lag_correlation: AnyAmount
    enough_chance: AnyAmount
    same_course: Days
    bees_hold: Days
    course_over: Days
    follow_up: Days
    watched: Watched
    asked_count: Identifier
    cold_count: Identifier
    nest_work: Identifiers
    feeding: Identifiers
    rough_work: Identifiers
    not_put_off: Identifiers
    signs: Identifier
    signs_within: Days
    counts: Identifiers
    dead: Identifier
    dead_out: Identifier
    exchange: Identifiers
    comes_out: Identifiers
    goes_on_sick: Identifiers
    supers_off_by: Identifier
    minutes_per_hive: Minutes
    minutes_per_box: Minutes
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
    classes: dict[Identifier, Prose] = Field(default_factory=dict)
    ingredients: dict[Identifier, Prose] = Field(default_factory=dict)
    treat_within: Days
    packing_millions: AnyAmount
    drives_to_move: AnyAmount
    cells_told: Days
    settles: Days
    open_break: Days
    rounds: tuple[RoundsFor, ...]
    winter_bees_gone: Days
    no_visits: tuple[YearDay, ...] = ()
    alarms: Alarms
    year_plans: YearPlans
    review: ReviewFigures


# Places ---------------------------------------------------------------------------------------------------------------

RecordField = Literal[
    "date", "removed", "duration", "product", "active", "registration", "batch", "expiry", "amount", "colonies", "yard",
    "reason", "supplier", "bought", "bought_amount", "proof", "prescription", "vet", "withdrawal", "person",
    "certificate", "weather", "count", "disposal", "disposed",
]  # fmt: skip
"""What a record of treatments may ask for: a column each."""


class Jurisdiction(RuleFile):
    """Units and paper, whom to call, what to report and to keep, in general words.

    What it leaves out holds as in the one it lies ``within``; a state's or country's file says only what differs.
    ``record_fields`` are the columns of the record of treatments, each with whoever asks for it; it is ``keep`` kept.
    ``treatments_a_year``: so many against mites at least, by law, whatever is counted; ``treatment_time``: when;
    ``without_brood``: so many of them while there is no brood.
    ``holidays`` is the country whose holidays hold, by its two letters (ISO 3166-1).
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
    holidays: Identifier | None = None
    record_fields: dict[RecordField, Cites] = Field(default_factory=dict)
    keep: Years | None = None
    treatments_a_year: Times | None = None
    treatment_time: Prose | None = None
    without_brood: Times | None = None


# The whole -----------------------------------------------------------------------------------------------------------
