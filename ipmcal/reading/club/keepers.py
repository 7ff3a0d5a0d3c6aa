"""The list of a club's keepers: a spreadsheet's CSV, a row a keeper, columns by name in any order.

In: the text of the list, towns with their places, the rulebook. Out: keepers with the yard files that they begin with,
and complaints by row and column; a row that can't be read does not stop the others.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from ipmcal.model.outfit.yardfile import WEEKDAYS, PlaceFile
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import day
from ipmcal.model.values.fields import IDENTIFIER
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.dates import column_order, read_day
from ipmcal.reading.source.named import NamedRow, NamedTable, named_table
from ipmcal.reading.source.shape import field_problem
from ipmcal.reading.source.table import Cell
from ipmcal.reading.yards.answers import in_metres
from ipmcal.reading.yards.interview import began_problem
from ipmcal.reading.yards.newyard import NewColony, NewYard, nearest_regions, usual_hive, yard_text
from ipmcal.reading.yards.yards import slug

COLUMNS = {
    "keeper": "who keeps the bees; each name once",
    "town": "a town of towns.csv; or else the next three",
    "latitude": "degrees, south negative",
    "longitude": "degrees, west negative",
    "elevation": "above the sea, such as '190 m' or '620 ft'",
    "region": "of the rules; without it the nearest",
    "country": "whose law and units; without it the region's",
    "start": "the day on which the hives began; for overwintered ones a year will do",
    "kind": "how they began",
    "hives": "how many, 1 to 200; they are called 1, 2, 3",
    "hive": "what kind of hive; without it the country's usual one",
    "days": "when the keeper can come: 'sat sun', or 'any'",
    "program": "of the rules; without it first_year",
    "mentor": "who looks after the keeper",
    "phone": "the keeper's number",
    "large_print": "yes, or nothing",
}
NEEDED = ("keeper", "start", "kind", "hives", "days")
TOWN_COLUMNS = ("town", "latitude", "longitude", "elevation")
MAX_HIVES = 200
NAME_SIGNS = 8


@dataclass(frozen=True, slots=True)
class ListedKeeper:
    """A row of the list: the keeper's folder, and the yard file to begin with."""

    row: int
    folder: str
    name: str
    mentor: str
    phone: str
    large: bool
    yard: str


@dataclass(frozen=True)
class ClubList:
    """The keepers whose rows are in order, complaints about the others, and columns that say nothing to us."""

    keepers: tuple[ListedKeeper, ...]
    complaints: tuple[Complaint, ...]
    others: tuple[str, ...]


Town = tuple[str, str, str]
"""Latitude, longitude and elevation, as a yard file has them."""


def read_towns(text: str, shown: str) -> dict[str, Town]:
    """Places by the name of the town, in small letters. Raises BadInput."""
    table = named_table(text, shown, TOWN_COLUMNS, TOWN_COLUMNS)
    complaints = list(table.complaints)
    towns: dict[str, Town] = {}
    for number, row in table.rows:
        try:
            towns[row["town"].text.lower()] = _place(row, table.comma)
        except _BadCell as error:
            complaints.append(Complaint(shown, number, error.column, str(error)))
    if complaints:
        raise BadInput(complaints)
    return towns


def read_keepers(text: str, shown: str, towns: Mapping[str, Town], book: Rulebook) -> ClubList:
    """The keepers of a list. Raises BadInput where its first line does not name the columns that are needed."""
    table = named_table(text, shown, tuple(COLUMNS), NEEDED)
    reader = _Reader(shown, table, towns, book)
    complaints = list(table.complaints)
    keepers: dict[str, ListedKeeper] = {}
    for number, row in table.rows:
        try:
            one = reader.keeper(number, row)
            if (other := keepers.get(one.folder)) is not None:
                same = (
                    "stands" if other.name == one.name else f"would have the folder of {quoted(other.name)}, who stands"
                )
                raise _BadCell("keeper", f"{quoted(one.name)} {same} in row {other.row}; add a sign", row)
            keepers[one.folder] = one
        except _BadCell as error:
            complaints.append(Complaint(shown, number, error.column, str(error)))
        except BadInput as bad:  # what only the yard file as a whole can tell
            complaints += [Complaint(shown, number, 1, one.what) for one in bad.complaints]
    return ClubList(tuple(keepers.values()), tuple(sorted(set(complaints))), table.others)


@dataclass(frozen=True)
class _Reader:
    """Reads row by row."""

    shown: str
    table: NamedTable
    towns: Mapping[str, Town]
    book: Rulebook

    def keeper(self, number: int, row: NamedRow) -> ListedKeeper:
        """One keeper. Raises _BadCell, and BadInput."""
        name = _text(row, "keeper")
        if not name:
            raise _BadCell("keeper", "is empty; each row has a keeper", row)
        folder, yard = keeper_folder(name), self._yard(name, row)
        large = _text(row, "large_print").lower()
        if large not in ("", "yes", "no"):
            raise _BadCell("large_print", f"{quoted(large)} is neither 'yes' nor 'no'", row)
        text = yard_text(yard, self.book, f"{folder}.yaml")
        return ListedKeeper(number, folder, name, _text(row, "mentor"), _text(row, "phone"), large == "yes", text)

    def _yard(self, name: str, row: NamedRow) -> NewYard:
        town = _text(row, "town")
        place = self._place(town, row)
        near = nearest_regions(self.book, float(place[0]), float(place[1]))[0][0]
        region = self._chosen(row, "region", near, self.book.regions)
        country = self.book.regions[region].jurisdiction or ""
        jurisdiction = self._chosen(row, "country", country, self.book.jurisdictions)
        hive = self._chosen(row, "hive", usual_hive(jurisdiction, self.book), self.book.hives.hives)
        program = self._chosen(row, "program", "first_year", self.book.programs)
        boxes, began = (self.book.hives.hives[hive].boxes[0],), self._began(row)
        colonies = tuple(NewColony(str(i), began, hive, boxes) for i in range(1, _hives(row) + 1))
        title = f"{name}, {town}" if town else name
        return NewYard(title, *place, region, jurisdiction, _days(row), program, colonies)

    def _place(self, town: str, row: NamedRow) -> Town:
        told = [name for name in TOWN_COLUMNS[1:] if _text(row, name)]
        if told or not town:
            return _place(row, self.table.comma)
        known = self.towns.get(town.lower())
        if known is None:
            there = nearest(town, sorted(self.towns)) if self.towns else ""
            what = f"no place is known for {quoted(town)}{there}; add it to towns.csv beside the list"
            raise _BadCell("town", f"{what} ({','.join(TOWN_COLUMNS)}), or fill in latitude, longitude, elevation", row)
        return known

    def _chosen(self, row: NamedRow, name: str, default: str, allowed: Mapping[str, object]) -> str:
        word = _text(row, name) or default
        plain = word.lower().replace(" ", "_").replace("-", "_")
        if plain not in allowed:
            hint = nearest(word, sorted(allowed)) if word else f"; write one of {', '.join(sorted(allowed))}"
            raise _BadCell(name, f"there is no {quoted(word)}{hint}", row)
        return plain

    def _began(self, row: NamedRow) -> str:
        kind, start = _text(row, "kind").lower(), _text(row, "start")
        if kind not in BEGINNINGS:
            raise _BadCell("kind", f"{quoted(kind)} is not a way to begin{nearest(kind, list(BEGINNINGS))}", row)
        when = start
        if not (start.isdigit() and len(start) == len("2027")):
            starts = [one["start"].text for _, one in self.table.rows]
            try:
                when = day(read_day(start, column_order(starts))).isoformat()
            except ValueError as error:
                raise _BadCell("start", str(error), row) from None
        problem = began_problem(f"{when} {kind}")
        if problem:
            raise _BadCell("start", problem, row)
        return f"{when} {kind}"


def keeper_folder(name: str) -> str:
    """The folder of a keeper, which is the id of their outfit: their name in small letters and '_'.

    A name without any letter that a file's name holds everywhere gets signs that follow from it.
    """
    plain = slug(name).replace("-", "_") if any(sign.isascii() and sign.isalpha() for sign in name) else ""
    if IDENTIFIER.fullmatch(plain):
        return plain
    return f"keeper_{hashlib.sha256(name.encode('utf-8', 'replace')).hexdigest()[:NAME_SIGNS]}"


def outfit_text(folder: str, name: str) -> str:
    """The outfit's file of a keeper."""
    plain = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'outfit: {folder}\nname: "{plain}"\n'


class _BadCell(ValueError):
    """What is wrong with a cell, and where it begins."""

    def __init__(self, name: str, what: str, row: NamedRow) -> None:
        self.column = row[name].column if name in row else 1
        super().__init__(f"{name}: {what}")


def _text(row: NamedRow, name: str) -> str:
    return " ".join(row.get(name, Cell("", 1)).text.split())


def _hives(row: NamedRow) -> int:
    text = _text(row, "hives")
    if not (text.isascii() and text.isdigit() and len(text) < len("1000") and 0 < int(text) <= MAX_HIVES):
        raise _BadCell("hives", f"{quoted(text)} is not a number of hives from 1 to {MAX_HIVES}", row)
    return int(text)


def _days(row: NamedRow) -> tuple[str, ...]:
    words = _text(row, "days").lower().replace(",", " ").replace(";", " ").replace("/", " ").split()
    short = [word if word == "any" else word[: len("sat")] for word in words]
    for word, cut in zip(words, short, strict=True):
        full = (*WEEKDAYS, "any")
        if cut not in full:
            raise _BadCell("days", f"{quoted(word)} is not a weekday{nearest(word, list(full))}", row)
    if not words:
        raise _BadCell("days", "is empty; name at least one weekday, or 'any'", row)
    return tuple(dict.fromkeys(short))


def _place(row: NamedRow, comma: bool) -> Town:
    """Latitude, longitude and elevation. Raises _BadCell."""
    found = []
    for name, most in (("latitude", 90), ("longitude", 180), ("elevation", 0)):
        text = _text(row, name)
        if name == "elevation":
            text = in_metres(f"{text} m" if text.lstrip("-").isdigit() else text)  # bare numbers are metres
        elif comma:
            text = text.replace(",", ".")
        problem = field_problem(PlaceFile, name, text)
        if not problem and most and abs(float(text)) > most:
            problem = f"a {name} lies between -{most} and {most} degrees"
        if problem:
            raise _BadCell(name, problem, row)
        found.append(text)
    return found[0], found[1], found[2]
