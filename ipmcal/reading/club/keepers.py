"""The list of a club's keepers: a spreadsheet's CSV, a row a keeper, columns by name in any order.

In: the text of the list, towns with their places, the rulebook. Out: keepers with the yard files that they begin with,
and complaints by row and column; a row that can't be read does not stop the others.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

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


CellRead = TypeVar("CellRead")
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
                raise _BadRow([_BadCell("keeper", f"{quoted(one.name)} {same} in row {other.row}; add a sign", row)])
            keepers[one.folder] = one
        except _BadRow as bad_row:
            complaints += [Complaint(shown, number, one.column, str(one)) for one in bad_row.faults]
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
        """One keeper. Raises _BadRow with all that is wrong with the row, and BadInput."""
        cells = _Cells(row)
        name, large = cells.tried(lambda: _name(row)), cells.tried(lambda: _yes(row, "large_print"))
        yard = self._yard(name or "", cells)
        if name is None or large is None or yard is None or cells.faults:
            raise _BadRow(cells.faults)
        folder = keeper_folder(name)
        text = yard_text(yard, self.book, f"{folder}.yaml")
        return ListedKeeper(number, folder, name, _text(row, "mentor"), _text(row, "phone"), large, text)

    def _yard(self, name: str, cells: _Cells) -> NewYard | None:
        """The yard of a row; None where a cell is wrong, of which is told there alone."""
        row, book = cells.row, self.book
        town = _text(row, "town")
        place = cells.tried(lambda: self._place(town, row))
        near = None if place is None else nearest_regions(book, float(place[0]), float(place[1]))[0][0]
        region = cells.tried(lambda: self._chosen(row, "region", near, book.regions))
        country = (book.regions[region].jurisdiction or "") if region else None
        jurisdiction = cells.tried(lambda: self._chosen(row, "country", country, book.jurisdictions))
        usual = usual_hive(jurisdiction, book) if jurisdiction else None
        hive = cells.tried(lambda: self._chosen(row, "hive", usual, book.hives.hives))
        program = cells.tried(lambda: self._chosen(row, "program", "first_year", book.programs))
        kind, when = cells.tried(lambda: _kind(row)), cells.tried(lambda: self._when(row))
        began = cells.tried(lambda: _began(row, when, kind)) if when and kind else None
        many = cells.tried(lambda: _hives(row))
        days = cells.tried(lambda: _days(row))
        if not (place and region and jurisdiction and hive and program and began and many and days):
            return None
        boxes = (book.hives.hives[hive].boxes[0],)
        colonies = tuple(NewColony(str(i), began, hive, boxes) for i in range(1, many + 1))
        title = f"{name}, {town}" if town else name
        return NewYard(title, *place, region, jurisdiction, days, program, colonies)

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

    def _chosen(self, row: NamedRow, name: str, default: str | None, allowed: Mapping[str, object]) -> str:
        """The word of a cell, or else ``default``, which follows from other cells; None where one of these is wrong,
        of which is told there: then "".
        """
        word = _text(row, name) or default
        if word is None:
            return ""
        plain = word.lower().replace(" ", "_").replace("-", "_")
        if plain not in allowed:
            hint = nearest(word, sorted(allowed)) if word else f"; write one of {', '.join(sorted(allowed))}"
            raise _BadCell(name, f"there is no {quoted(word)}{hint}", row)
        return plain

    def _when(self, row: NamedRow) -> str:
        start = _text(row, "start")
        if start.isdigit() and len(start) == len("2027"):
            return start
        starts = [one["start"].text for _, one in self.table.rows]
        try:
            return day(read_day(start, column_order(starts))).isoformat()
        except ValueError as error:
            raise _BadCell("start", str(error), row) from None


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


class _BadRow(ValueError):
    """All that is wrong with a row."""

    def __init__(self, faults: Sequence[_BadCell]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(map(str, faults)))


@dataclass
class _Cells:
    """A row as it is read, cell by cell: what is wrong is collected."""

    row: NamedRow
    faults: list[_BadCell] = field(default_factory=list)

    def tried(self, read: Callable[[], CellRead]) -> CellRead | None:
        """What a cell says; None where it is wrong."""
        try:
            return read()
        except _BadCell as error:
            self.faults.append(error)
            return None


def _name(row: NamedRow) -> str:
    name = _text(row, "keeper")
    if not name:
        raise _BadCell("keeper", "is empty; each row has a keeper", row)
    return name


def _yes(row: NamedRow, name: str) -> bool:
    word = _text(row, name).lower()
    if word not in ("", "yes", "no"):
        raise _BadCell(name, f"{quoted(word)} is neither 'yes' nor 'no'", row)
    return word == "yes"


def _text(row: NamedRow, name: str) -> str:
    return " ".join(row.get(name, Cell("", 1)).text.split())


def _kind(row: NamedRow) -> str:
    kind = _text(row, "kind").lower()
    if kind not in BEGINNINGS:
        raise _BadCell("kind", f"{quoted(kind)} is not a way to begin{nearest(kind, list(BEGINNINGS))}", row)
    return kind


def _began(row: NamedRow, when: str, kind: str) -> str:
    problem = began_problem(f"{when} {kind}")
    if problem:
        raise _BadCell("start", problem, row)
    return f"{when} {kind}"


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
