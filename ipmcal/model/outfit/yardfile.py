"""What a yard file and an outfit file may say: keys closed. ``reading/yards/`` turns them into an ``Outfit``.

In: mappings of ``Text`` from the reader. Out: frozen values, in the keeper's own words and short forms.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Field

from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.values.fields import (
    ONE_OR_MANY,
    Bounds,
    Closed,
    Day,
    Degrees,
    Identifier,
    Identifiers,
    Prose,
    ShortForm,
    YearDay,
    YesNo,
    as_list,
    whole,
    written,
)
from ipmcal.model.values.forms import YEARS, iso_date
from ipmcal.model.values.text import nearest, quoted

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MAX_KEY = 8
MAX_PRODUCT = 30
MAX_BOXES = 12
MAX_HOURS = 14
MAX_FRAMES = 40
MAX_COLONIES = 1000


def _key(text: str) -> str:
    key = text.strip()
    if not 0 < len(key) <= MAX_KEY or not key.isprintable() or set(key) & set(_SLIPS) or key.startswith("@"):
        raise ValueError(
            f"{quoted(text)} can't be a key; use what is painted on it: 1 to {MAX_KEY} signs, no '/' or '@', "
            "no bracket or quote"
        )
    return key


def _trap_name(text: str) -> str:
    if "." in text or len(text.split()) > 1:
        raise ValueError(f"{quoted(text)} can't name a trap frame: write a short word, such as 'T1', no blank, no '.'")
    return _key(text)


def _product(text: str) -> str:
    name = text.strip()
    if not re.fullmatch(_PRODUCT_NAME, name) or not name.isprintable():
        raise ValueError(
            f"{quoted(text)} can't name a product; write one word, as in the journal: a letter first, at most "
            f"{MAX_PRODUCT} signs, no blank, comma, semicolon or double quote"
        )
    return name


def _began(text: str) -> tuple[date | None, int, str]:
    example = "write '2027-05-02 package', or, where the day is long ago, '2025 overwintered'"
    words = text.split()
    if len(words) != 2:
        raise ValueError(f"{quoted(text)} does not say when and how the colony began; {example}")
    when, how = words
    if how not in BEGINNINGS:
        raise ValueError(f"{quoted(how)} is not a way to begin{nearest(how, BEGINNINGS)}")
    if not re.fullmatch(r"[0-9]{4}", when):
        day = iso_date(when)
        return day, day.year, how
    if how != "overwintered":
        raise ValueError(f"a {how} needs the day on which it was hived; {example}")
    if not YEARS[0] <= int(when) <= YEARS[1]:
        raise ValueError(f"'{when}' lies outside the years {YEARS[0]} to {YEARS[1]}")
    return None, int(when), how


def _days(text: str) -> int | None:
    if text == "any":
        return None
    if text not in WEEKDAYS:
        short = text[: len("sat")].lower()
        hint = f"; did you mean '{short}'?" if short in WEEKDAYS else nearest(text, [*WEEKDAYS, "any"])
        raise ValueError(f"{quoted(text)} is not a weekday{hint}")
    return WEEKDAYS.index(text)


def _away(text: str) -> tuple[date, date]:
    first, dots, last = text.partition("..")
    begins, ends = iso_date(first), iso_date(last if dots else first)
    if ends < begins:
        raise ValueError(f"{quoted(text)} runs backwards: it ends before it begins")
    return begins, ends


def _hours(text: str) -> float:
    match = re.fullmatch(r"([0-9]{1,2}(?:\.[0-9]{1,2})?) *h", text.strip())
    if not match or not 0 < float(match[1]) <= MAX_HOURS:
        raise ValueError(f"{quoted(text)} is not a time for a visit; write hours, such as '3 h' or '2.5 h'")
    return float(match[1])


def _holidays(text: str) -> str:
    if not re.fullmatch(HOLIDAYS, text):
        example = "write a country, or a country and a part of it, such as 'us' or 'us-ny'; or 'no' for none"
        raise ValueError(f"{quoted(text)} is not a place with holidays; {example}")
    return text


def _web_page(text: str) -> str:
    if len(text) > MAX_ADDRESS or not re.fullmatch(WEB_PAGE, text):
        example = "write it whole, such as 'https://example.org/bees/NAME/'"
        raise ValueError(f"{quoted(text)} is not the address of a page; {example}")
    return text


def _slot(text: str) -> tuple[int, Literal["left", "right"]]:
    match = re.fullmatch(r"([0-9]{1,2})(?: +from +(left|right))?", text.strip())
    if not match:
        raise ValueError(
            f"{quoted(text)} is not a slot; slot 1 is the left seen from behind: write '2' or '2 from right'"
        )
    return int(match[1]), "right" if match[2] == "right" else "left"


_PRODUCT_NAME = rf"[^\W\d_][^\s,;\"]{{0,{MAX_PRODUCT - 1}}}"
FEET = 0.3048
"""Metres in a foot (the international foot, BIPM)."""


def _height(text: str) -> float:
    match = re.fullmatch(r"(-?[0-9]{1,5}(?:\.[0-9]+)?) +(m|ft)", text)
    if not match or (match[2] == "m" and len(match[1].partition(".")[0].lstrip("-")) > len("8848")):
        raise ValueError(f"{quoted(text)} is not an elevation in metres or feet, such as '125 m' or '410 ft'")
    return float(match[1]) if match[2] == "m" else float(round(float(match[1]) * FEET))


_SLIPS = '/[]{}"'
"""What no key holds: a bracket or quote in one was left over by a slip."""
_SLIPS_PATTERN = '/\\[\\]{}"'
_KEY_PATTERN = f"[^@{_SLIPS_PATTERN}][^{_SLIPS_PATTERN}]{{0,{MAX_KEY - 1}}}"
_TRAP_PATTERN = f"[^@. {_SLIPS_PATTERN}][^. {_SLIPS_PATTERN}]{{0,{MAX_KEY - 1}}}"
_DATE = "[12][0-9]{3}-[01][0-9]-[0-3][0-9]"
_BEGAN = f"([0-9]{{4}} +overwintered|{_DATE} +({'|'.join(BEGINNINGS)}))"

ColonyKey = Annotated[str, *written(_key, "3", "what is painted on the hive", _KEY_PATTERN, "number", "boolean")]
Height = Annotated[float, *written(_height, "125 m", "metres or feet above the sea", r"-?[0-9.]+ +(m|ft)")]
TrapName = Annotated[str, *written(_trap_name, "T1", "what is written on the frame", _TRAP_PATTERN)]
ProductName = Annotated[
    str, *written(_product, "MyStrips", "your own name of a product", f'[^0-9\\s,;"][^\\s,;"]{{0,{MAX_PRODUCT - 1}}}')
]
Began = Annotated[
    tuple[date | None, int, str],
    *written(_began, "2027-05-02 package", "when and how it began", _BEGAN),
]
WeekDay = Annotated[int | None, *written(_days, "sat", "a weekday, or any", f"({'|'.join(WEEKDAYS)}|any)")]
Away = Annotated[
    tuple[date, date], *written(_away, "2027-06-01..2027-06-14", "a date, or first and last", rf"{_DATE}(\.\.{_DATE})?")
]
Hours = Annotated[float, *written(_hours, "3 h", "how long a visit may take", r"[0-9]{1,2}(\.[0-9]{1,2})? *h")]
HOLIDAYS = r"no|[a-z]{2,3}(-[a-z0-9-]{1,40})?"
HolidaysOf = Annotated[str, *written(_holidays, "us-ny", "whose holidays are no visits, or no", HOLIDAYS, "boolean")]
WEB_PAGE = r"https?://[!-;=?-Z\[\]_a-z~]+"
MAX_ADDRESS = 300
"""Signs; a longer one makes squares that a phone can't read from paper."""
WebPage = Annotated[str, *written(_web_page, "https://example.org/bees/NAME/", "the address of a page", WEB_PAGE)]
Slot = Annotated[
    tuple[int, str],
    *written(_slot, "2 from right", "1 is the left seen from behind", "[0-9]{1,2}( +from +(left|right))?", "integer"),
]


class PlaceFile(Closed):
    """Where the yard is; ``directions`` are printed on the sheet's foot."""

    latitude: Degrees
    longitude: Degrees
    elevation: Height
    directions: Prose | None = None


class BoxFile(Closed):
    """A box: its kind by the frame it is made for, and its frames where they differ from the hive's."""

    kind: Identifier
    frames: Annotated[int, *whole(1, MAX_FRAMES)] | None = None


class TrapFile(Closed):
    """A trap frame. ``since`` is the day it was hung, where it hangs already; boxes count from the bottom, 1 first."""

    slot: Slot | None = None
    box: Annotated[int, *whole(1, MAX_BOXES)] | None = None
    kind: Literal["short", "drawn"] = "short"
    frame: Identifier | None = None
    frames: Annotated[int, *whole(1, 4)] = 1
    since: Day | None = None


class QueenFile(Closed):
    """The queen."""

    year: Annotated[int, *whole(*YEARS)] | None = None
    marked: YesNo = False
    clipped: YesNo = False
    state: Literal["laying", "virgin", "caged", "missing", "drone_mother"] = "laying"


class MethodsFile(Closed):
    """Methods besides the program's, and methods declined."""

    add: Identifiers = ()
    decline: Identifiers = ()


def _box(value: object) -> object:
    return {"kind": value} if isinstance(value, str) else value


def _boxes(value: object) -> object:
    return [value] if isinstance(value, dict) else as_list(value)


def _traps(value: object) -> object:
    """A list of names, or names with their slots, in the long form."""
    if isinstance(value, str):
        value = [value]
    if isinstance(value, list):
        names = [name for name in value if isinstance(name, str)]
        if len(names) < len(value):
            raise ValueError(
                "write names in brackets, '[T1, T2]', or names with their slots in braces, '{T1: 2, T2: 9}'"
            )
        twice = next((name for i, name in enumerate(names) if name in names[:i]), None)
        if twice is not None:
            raise ValueError(f"the trap frame {quoted(twice)} stands here twice")
        return {name: {} for name in names}
    if isinstance(value, dict):
        return {name: {"slot": item} if isinstance(item, str) else item for name, item in value.items()}
    return value


def _box_schema(mapping: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [{"type": "string", "description": "its kind", "examples": ["deep"]}, mapping]}


def _traps_schema(mapping: dict[str, Any]) -> dict[str, Any]:
    slot = {"type": ["string", "integer"], "description": "its slot", "examples": ["2", "9", "2 from right"]}
    ((pattern, long),) = mapping["patternProperties"].items()
    name = {"type": "string", "pattern": pattern, "description": "what is written on the frame"}
    named = {
        "type": "object",
        "description": "trap frames by name",
        "patternProperties": {pattern: {"anyOf": [slot, long]}},
    }
    return {"anyOf": [name, {"type": "array", "items": name}, named]}


class ColonyFile(Closed):
    """A colony: what is painted on its hive, when and how it began, its boxes from the bottom, its trap frames.

    ``strength`` are frames of brood, ``bees`` frames covered with bees, until a line of the journal says otherwise.
    """

    key: ColonyKey
    name: Prose | None = None
    stand: Prose | None = None
    walk: Annotated[int, *whole(0, 9999)] | None = None
    began: Began
    hive: Identifier
    boxes: Annotated[
        tuple[Annotated[BoxFile, ShortForm(_box, _box_schema)], ...],
        Field(min_length=1, max_length=MAX_BOXES),
        ShortForm(_boxes, ONE_OR_MANY.schema),
    ]
    supers: Annotated[int, *whole(0, MAX_BOXES)] = 0
    traps: Annotated[dict[TrapName, TrapFile], ShortForm(_traps, _traps_schema)] = Field(default_factory=dict)
    queen: QueenFile = QueenFile()
    strength: Annotated[int, *whole(0, MAX_BOXES * MAX_FRAMES)] | None = None
    bees: Annotated[int, *whole(0, MAX_BOXES * MAX_FRAMES)] | None = None
    comb_honey: YesNo = False
    history: Annotated[tuple[Prose, ...], ONE_OR_MANY] = ()
    methods: MethodsFile = MethodsFile()
    note: Prose | None = None


class PaceFile(Closed):
    """The keeper's own minutes: to unload and load at a visit, to open and close a hive, to lift a box off it."""

    visit: Annotated[int, *whole(0, 240)] | None = None
    hive: Annotated[int, *whole(0, 120)] | None = None
    box: Annotated[int, *whole(0, 60)] | None = None


class OwnTaskFile(Closed):
    """A task of the keeper's own, for the yard or for each colony, with its minutes."""

    do: Prose
    opens: Bounds
    closes: Bounds
    minutes: Annotated[int, *whole(1, 600)] = 10
    per: Literal["yard", "colony"] = "yard"


class KeeperFile(Closed):
    """Who keeps the bees, as a record of treatments asks: name, address, number as a keeper."""

    name: Prose | None = None
    address: Prose | None = None
    registration: Prose | None = None


class YardFile(Closed):
    """A yard file: the yard's place, whose rules hold there, the keeper's days, and its colonies.

    ``comb_honey``: it is taken from all its hives. ``harvest``: the day on which honey is taken each year, and
    ``supers_wanted`` the one from which supers are wanted back for a later flow. ``products`` and ``keeper`` stand here
    where the yard file stands alone, else in the outfit's file.
    """

    yard: Prose
    place: PlaceFile
    region: Identifier
    jurisdiction: Identifier
    days: Annotated[tuple[WeekDay, ...], Field(min_length=1), ONE_OR_MANY] = (None,)
    away: Annotated[tuple[Away, ...], ONE_OR_MANY] = ()
    holidays: HolidaysOf | None = None
    hours: Hours | None = None
    alarms: YesNo | None = None
    mentor: Prose | None = None
    large_print: YesNo | None = None
    page: WebPage | None = None
    pace: PaceFile = PaceFile()
    drive: Identifier | None = None
    program: Identifier
    methods: MethodsFile = MethodsFile()
    treatments: Identifiers | None = None
    temperature: Literal["f", "c"] | None = None
    paper: Literal["letter", "a4"] | None = None
    observed: dict[Identifier, Day] = Field(default_factory=dict)
    temperatures: Prose | None = None
    tasks: dict[Identifier, OwnTaskFile] = Field(default_factory=dict)
    rules: Prose | None = None
    products: dict[ProductName, Identifier] = Field(default_factory=dict)
    keeper: KeeperFile = KeeperFile()
    comb_honey: YesNo = False
    harvest: YearDay | None = None
    supers_wanted: YearDay | None = None
    colonies: Annotated[tuple[ColonyFile, ...], Field(min_length=1, max_length=MAX_COLONIES)]


class OutfitFile(Closed):
    """An outfit file: who the yards belong to, by a short id and a name; the keeper's own names of products.

    ``holidays``, ``alarms``, ``page``, ``mentor`` and ``large_print`` hold for all yards whose own file doesn't say
    otherwise.
    """

    outfit: Identifier
    name: Prose
    holidays: HolidaysOf | None = None
    alarms: YesNo | None = None
    mentor: Prose | None = None
    large_print: YesNo | None = None
    page: WebPage | None = None
    products: dict[ProductName, Identifier] = Field(default_factory=dict)
    keeper: KeeperFile = KeeperFile()
