"""The keeper's side: outfit, yards, colonies, hives, trap frames and the lines of the journal, as read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from ipmcal.model.values.cited import Place
from ipmcal.model.values.forms import Bound, MonthDay
from ipmcal.model.values.text import NOWHERE

QUEEN_WORDS = ("laying", "virgin", "mated", "caged", "missing", "cells", "drone_mother", "seen")

OWN = "own"
"""The method that the keeper's own tasks belong to."""
KIND_MADE = {"made_from": "split", "made": "swarm"}
"""How a colony counts that a line made, by the form of that line's value."""


@dataclass(frozen=True, slots=True)
class Event:
    """A line of the journal, or of a yard file's history. ``value`` is the text behind the word, without the trap.

    ``assumed``: nobody wrote it. It was printed for that day, and nothing was heard of it since.
    """

    day: int
    yard: str
    colony: str | None
    word: str
    trap: str | None = None
    value: str = ""
    note: str = ""
    place: Place = NOWHERE
    assumed: bool = False


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


EVERY_YARD = "all-yards"
"""The name of the calendar of all yards: no yard has it for its key."""


@dataclass(frozen=True, slots=True)
class Queen:
    """What is known of the queen."""

    year: int | None = None
    marked: bool = False
    clipped: bool = False
    state: str = "laying"


@dataclass(frozen=True, slots=True)
class Colony:
    """A colony as the yard file gives it. ``began`` is the first day on which the plan may count on it.

    ``bees`` are the frames that they cover, where the file says so. With ``comb_honey`` it is taken from this hive.
    ``walk`` is its place on the way through the yard: the keeper's own number where ``walk_told``, else where it stands
    in the file.
    """

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
    walk_told: bool = False
    bees: float | None = None
    comb_honey: bool = False


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
class PublicDays:
    """The public holidays of a place ("us-ny"): a rule, since no plan's season is known when a yard is read.

    ``in_year`` gives the ordinals of a year's holidays: for the same place and year always the same.
    """

    place: str
    in_year: Callable[[int], frozenset[int]] = field(compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard as its file gives it. ``weekdays`` None: any day; ``away`` are days that can't be, inclusive.

    ``readings`` are the keeper's own temperatures: high and low by day (ordinal), °C. ``hours`` is how long a visit may
    take (None: as long as it takes); ``pace`` has the keeper's own minutes for a "visit", a "hive" and a "box". Yards
    with the same ``drive`` are visited on one drive ("": by itself). ``treatments`` are the products that courses may
    be planned with, liked best first (None: the program's). ``holidays`` are days without visits, if it can be (None:
    the keeper has none). ``alarms``: the keeper's phone may ring. ``page`` is where the documents are published ("":
    nowhere). ``mentor`` is whom to ring, by name and number ("": nobody is named); ``large_print``: paper in
    letters of 16 pt and more. ``harvest`` is the day of each year by which supers come off, ``supers_wanted`` the one
    from which they are wanted back (None: as the season has it; none are).
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
    holidays: PublicDays | None = None
    alarms: bool = True
    mentor: str = ""
    large_print: bool = False
    page: str = ""
    harvest: MonthDay | None = None
    supers_wanted: MonthDay | None = None


@dataclass(frozen=True, slots=True)
class Keeper:
    """Who keeps the bees and the record of treatments; "" where it is not told."""

    name: str = ""
    address: str = ""
    registration: str = ""


@dataclass(frozen=True, slots=True)
class PrintedDay:
    """A day that the last plan printed for a step of a treatment's course in a colony."""

    colony: str
    treatment: str
    step: str
    day: int


@dataclass(frozen=True, slots=True)
class Outfit:
    """All yards of one keeper. Colony keys are unique in it. ``journal`` None: there is no journal file.

    ``products`` are the keeper's own names of products, each with the id of its treatment. ``assumed`` is what was
    printed for days that are over and not heard of; ``since`` is the day of the first plan (None: this is the first);
    ``printed`` are days to come that the last plan printed for courses.
    """

    id: str
    name: str
    yards: tuple[Yard, ...]
    journal: tuple[Event, ...] | None
    products: Mapping[str, str] = field(default_factory=dict)
    keeper: Keeper = Keeper()
    assumed: tuple[Event, ...] = ()
    since: int | None = None
    printed: tuple[PrintedDay, ...] = ()

    @property
    def past(self) -> tuple[Event, ...]:
        """What is known of the past: the journal's lines and, where it is silent, what was printed."""
        return (*self.assumed, *(self.journal or ()))

    def treatment(self, product: str) -> str:
        """The id of a treatment, by the name that a journal line gives the product: the id itself, or the keeper's."""
        return self.products.get(product, product)
