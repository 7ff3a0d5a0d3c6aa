"""The keeper's side: outfit, yards, colonies, hives, trap frames and the lines of the journal, as read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from ipmcal.model.values.cited import Place
from ipmcal.model.values.forms import Bound
from ipmcal.model.values.text import NOWHERE

BEGINNINGS = ("overwintered", "package", "nucleus", "split", "swarm")
QUEEN_WORDS = ("laying", "virgin", "caged", "missing", "drone_mother", "seen")


@dataclass(frozen=True, slots=True)
class Event:
    """A line of the journal, or of a yard file's history. ``value`` is the text behind the word, without the trap."""

    day: int
    yard: str
    colony: str | None
    word: str
    trap: str | None = None
    value: str = ""
    note: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Box:
    """A box of the hive: its kind (the frame it is made for) and how many frames it takes."""

    kind: str
    frames: int


@dataclass(frozen=True, slots=True)
class TrapFrame:
    """A trap frame: an identity of its own. ``home`` is the slot it belongs in; box 1 is the bottom one."""

    name: str
    kind: Literal["short", "drawn"]
    frame: str
    box: int
    home: int
    frames: int = 1
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Queen:
    """What is known of the queen."""

    year: int | None = None
    marked: bool = False
    clipped: bool = False
    state: str = "laying"


@dataclass(frozen=True, slots=True)
class Colony:
    """A colony as the yard file gives it. ``began`` is the first day on which the plan may count on it."""

    key: str
    name: str
    stand: str
    walk: int
    began: int
    kind: str
    began_text: str
    hive: str
    boxes: tuple[Box, ...]
    supers: int
    traps: tuple[TrapFrame, ...]
    queen: Queen
    strength: float | None
    history: tuple[Event, ...]
    added: tuple[str, ...]
    declined: tuple[str, ...]
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class OwnTask:
    """A task of the keeper's own, with a window."""

    name: str
    do: str
    opens: tuple[Bound, ...]
    closes: tuple[Bound, ...]
    minutes: int
    per_colony: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard as its file gives it. ``weekdays`` None: any day; ``away`` are days that can't be, inclusive.

    ``readings`` are the keeper's own temperatures: high and low by day (ordinal), °C. ``hours`` is how long a visit may
    take (None: as long as it takes); ``pace`` has the keeper's own minutes for a "visit", a "hive" and a "box". Yards
    with the same ``drive`` are visited on one drive ("": by itself). ``treatments`` are the products that courses may
    be planned with, liked best first (None: the program's).
    """

    key: str
    name: str
    file: str
    latitude: float
    longitude: float
    elevation: float
    directions: str
    region: str
    jurisdiction: str
    program: str
    added: tuple[str, ...]
    declined: tuple[str, ...]
    weekdays: tuple[int, ...] | None
    away: tuple[tuple[int, int], ...]
    fahrenheit: bool
    paper: str
    observed: Mapping[str, int]
    tasks: tuple[OwnTask, ...]
    colonies: tuple[Colony, ...]
    place: Place
    readings: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    hours: float | None = None
    pace: Mapping[str, float] = field(default_factory=dict)
    drive: str = ""
    treatments: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Keeper:
    """Who keeps the bees and the record of treatments; "" where it is not told."""

    name: str = ""
    address: str = ""
    registration: str = ""


@dataclass(frozen=True, slots=True)
class Outfit:
    """All yards of one keeper. Colony keys are unique in it. ``journal`` None: there is no journal file.

    ``products`` are the keeper's own names of products, each with the id of its treatment.
    """

    id: str
    name: str
    yards: tuple[Yard, ...]
    journal: tuple[Event, ...] | None
    products: Mapping[str, str] = field(default_factory=dict)
    keeper: Keeper = Keeper()

    def treatment(self, product: str) -> str:
        """The id of a treatment, by the name that a journal line gives the product: the id itself, or the keeper's."""
        return self.products.get(product, product)
