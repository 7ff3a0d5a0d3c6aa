"""Yards: what the keeper wrote, as an ``Outfit``.

In: the path of a yard file, or of an outfit's folder. Out: the outfit and its rulebook, or every complaint at once.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from ipmcal.model.outfit.outfit import EVERY_YARD, Colony, Event, Keeper, Outfit, PublicDays, Yard
from ipmcal.model.outfit.yardfile import OutfitFile, YardFile
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis, Place
from ipmcal.model.values.text import NOWHERE, quoted
from ipmcal.reading.journal.journal import read_journal
from ipmcal.reading.journal.values import ANY, Keys
from ipmcal.reading.rules.rulebook import KEEPER, load_rulebook
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.files import bad, exists, is_folder, noting, refuse_if_any, yaml_files
from ipmcal.reading.source.shape import shape
from ipmcal.reading.source.yaml_source import Tree, read_yaml
from ipmcal.reading.yards.holidays import NO_HOLIDAYS, place_problem, public_days
from ipmcal.reading.yards.owner import keeper_of, misplaced, product_complaints
from ipmcal.reading.yards.temperatures import read_temperatures
from ipmcal.reading.yards.yard import read_yard

CONTEXT = {"sources": {KEEPER: Basis.READ}}


@dataclass(frozen=True)
class Loaded:
    """An outfit with the rules that hold for it, and where its ledger and journal stand.

    ``keys`` are what a journal line may refer to; ``prefix`` stands before names of files in complaints; ``read`` tells
    which files were read, and asked after, with their digests.
    """

    outfit: Outfit
    book: Rulebook
    ledger: Path
    journal: Path
    keys: Keys = ANY
    prefix: str = ""
    read: tuple[tuple[str, str], ...] = ()


def load(path: Path, shipped: Path, base: Rulebook | None = None) -> Loaded:
    """A yard file, or a folder with ``outfit.yaml`` and yard files, as an outfit. Raises BadInput.

    ``base`` is the shipped rulebook where it is loaded already; it is used when the keeper has no rules of their own.
    """
    with noting() as seen:
        loaded = _loaded(path, shipped, base)
    return replace(loaded, read=tuple(sorted(seen.items())))


def _loaded(path: Path, shipped: Path, base: Rulebook | None) -> Loaded:
    reader = _Reader(_papers(path))
    head = reader.head()
    reader.yard_files()
    book = reader.rules(shipped, base)
    yards = reader.yards(book) if book else []
    products, keeper = reader.own(book) if book else ({}, Keeper())
    keys = journal_keys(yards, products)
    events = reader.journal(keys, book) if book else None
    refuse_if_any(reader.complaints)
    assert book is not None  # or there was a complaint
    outfit_id, name = (head.outfit, head.name) if head else (slug(path.stem), yards[0].name)
    papers = reader.papers
    outfit = Outfit(outfit_id, name, tuple(yards), events, products, keeper)
    return Loaded(outfit, book, papers.ledger, papers.journal, keys, papers.prefix)


def slug(text: str) -> str:
    """A safe name for files: small letters, digits, '-' and '_'; never empty, at most 60 signs."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9_-]+", "-", plain.lower())[:60].strip("-") or "yard"


@dataclass(frozen=True)
class _Papers:
    """What belongs to an outfit: folder, yard files, ledger, journal; ``prefix`` stands before names in complaints."""

    folder: Path
    prefix: str
    files: tuple[Path, ...]
    ledger: Path
    journal: Path
    is_outfit: bool
    complaints: tuple[Complaint, ...] = ()


def _papers(path: Path) -> _Papers:
    shown = path.name or str(path)
    if not is_folder(path, shown):
        return _Papers(
            path.parent, "", (path,), path.with_suffix(".ledger.json"), path.with_suffix(".journal.csv"), False
        )
    found, complaints = yaml_files(path, "*", shown)
    files = tuple(p for p in found if p.name != "outfit.yaml")
    if not files:
        complaints.append(Complaint(shown, 0, 0, "holds no yard file; a yard file's name ends in '.yaml'"))
    return _Papers(path, f"{shown}/", files, path / "ledger.json", path / "journal.csv", True, tuple(complaints))


@dataclass
class _Reader:
    """Reads an outfit part by part, and collects every complaint."""

    papers: _Papers
    complaints: list[Complaint] = field(default_factory=list)
    read: list[tuple[Path, Tree, YardFile]] = field(default_factory=list)
    outfit_file: tuple[Tree, OutfitFile] | None = None

    def __post_init__(self) -> None:
        self.complaints.extend(self.papers.complaints)

    def head(self) -> OutfitFile | None:
        """Whose yards these are; None for a lone yard file."""
        if not self.papers.is_outfit:
            return None
        file, shown = self.papers.folder / "outfit.yaml", f"{self.papers.prefix}outfit.yaml"
        try:
            if not exists(file, shown):
                raise bad(shown, "is missing; write 'outfit: an_id' and 'name: \"...\"' into it")
            tree = read_yaml(file, shown, KEEPER)
            self.outfit_file = tree, shape(tree, OutfitFile, CONTEXT)
            return self.outfit_file[1]
        except BadInput as error:
            self.complaints.extend(error.complaints)
            return None

    def own(self, book: Rulebook) -> tuple[dict[str, str], Keeper]:
        """The keeper's own names of products, and who they are: from the outfit's file, or from a lone yard file."""
        told: list[tuple[Tree, OutfitFile | YardFile]] = [self.outfit_file] if self.outfit_file else []
        if not self.papers.is_outfit:
            told = [(tree, raw) for _, tree, raw in self.read]
        else:
            self.complaints.extend(c for _, tree, raw in self.read for c in misplaced(raw, tree))
        if not told:
            return {}, Keeper()
        ((tree, raw),) = told
        self.complaints.extend(product_complaints(raw, tree, book))
        return dict(raw.products), keeper_of(raw)

    def yard_files(self) -> None:
        """Every yard file by itself."""
        for file in self.papers.files:
            try:
                tree = read_yaml(file, self.papers.prefix + file.name, KEEPER)
                self.read.append((file, tree, shape(tree, YardFile, CONTEXT)))
            except BadInput as error:
                self.complaints.extend(error.complaints)

    def rules(self, shipped: Path, base: Rulebook | None) -> Rulebook | None:
        """The rules that hold: the shipped ones, with the keeper's own over them. None where they are not in order."""
        try:
            local, shown = self._local_rules()
            return base if base is not None and local is None else load_rulebook(shipped, local, shown)
        except BadInput as error:
            self.complaints.extend(error.complaints)
            return None

    def _local_rules(self) -> tuple[Path | None, str]:
        """The keeper's own rules: the folder that a yard file names, else ``rules/`` in an outfit's folder."""
        folder, prefix = self.papers.folder, self.papers.prefix
        named = [(raw.rules, tree.place(("rules",))) for _, tree, raw in self.read if raw.rules]
        for name, place in named:
            if name != named[0][0]:
                what = f"rules: {quoted(name)} here and {quoted(named[0][0])} in {named[0][1]}; an outfit has one"
                raise BadInput([Complaint.at(place, what)])
        if named:
            return self._beside(*named[0]), prefix + named[0][0].strip("/")
        own = folder / "rules"
        return (own if prefix and is_folder(own, f"{prefix}rules") else None), f"{prefix}rules"

    def _beside(self, name: str, place: Place) -> Path:
        """A folder beside the yard file, or below it. Raises BadInput for any other."""
        folder = self.papers.folder
        try:
            inside = (folder / name).resolve()
            if inside.is_relative_to(folder.resolve()) and inside.is_dir():
                return inside
        except (OSError, ValueError, RuntimeError):  # a name that can't be; links that go round
            pass
        what = f"rules: {quoted(name)} is not a folder beside this file; write its name, such as 'rules: own_rules'"
        raise BadInput([Complaint.at(place, what)])

    def yards(self, book: Rulebook) -> list[Yard]:
        """Every yard, looked up in the rulebook; keys are unique in the outfit."""
        yards: list[Yard] = []
        for path, tree, raw in self.read:
            yard, complaints = read_yard(slug(path.stem), tree, raw, book)
            rest = self._holidays(tree, raw, book)
            readings = self._readings(tree, raw, yard.fahrenheit)
            files = (raw, self.outfit_file[1]) if self.outfit_file else (raw,)  # a yard's own word before the outfit's
            alarms = next((one.alarms for one in files if one.alarms is not None), True)
            page = next((one.page for one in files if one.page is not None), "")
            mentor = next((one.mentor for one in files if one.mentor is not None), "")
            large = next((one.large_print for one in files if one.large_print is not None), False)
            told = replace(yard, readings=readings, holidays=rest, alarms=alarms, page=page)
            yards.append(replace(told, mentor=mentor, large_print=large))
            self.complaints.extend(complaints)
        self.complaints.extend((*_taken_twice(yards), *_named_twice((tree, raw.yard) for _, tree, raw in self.read)))
        return yards

    def _holidays(self, tree: Tree, raw: YardFile, book: Rulebook) -> PublicDays | None:
        """Whose holidays are no visits: as the yard file says, else the outfit's, else those of the country."""
        country = book.jurisdictions[raw.jurisdiction].holidays if raw.jurisdiction in book.jurisdictions else None
        told = [(raw.holidays, tree.place(("holidays",)))]
        if self.outfit_file:
            told.append((self.outfit_file[1].holidays, self.outfit_file[0].place(("holidays",))))
        told.append((country, tree.place(("jurisdiction",))))
        place, where = next(((place, where) for place, where in told if place is not None), (NO_HOLIDAYS, NOWHERE))
        if place == NO_HOLIDAYS:
            return None
        problem = place_problem(place)
        complaint = Complaint.at(where, f"holidays: {problem}")
        if problem and complaint not in self.complaints:  # an outfit's file holds for every yard
            self.complaints.append(complaint)
        return None if problem else public_days(place)

    def _readings(self, tree: Tree, raw: YardFile, fahrenheit: bool) -> dict[int, tuple[float, float]]:
        """The keeper's own temperatures, from the file beside the yard file that it names."""
        if raw.temperatures is None:
            return {}
        try:
            if Path(raw.temperatures).name != raw.temperatures or not raw.temperatures.endswith(".csv"):
                what = "is not a CSV file beside this one; write its name, such as 'temperatures.csv'"
                place = tree.place(("temperatures",))
                raise BadInput([Complaint.at(place, f"temperatures: {quoted(raw.temperatures)} {what}")])
            shown = self.papers.prefix + raw.temperatures
            return read_temperatures(self.papers.folder / raw.temperatures, shown, fahrenheit)
        except BadInput as error:
            self.complaints.extend(error.complaints)
            return {}

    def journal(self, keys: Keys, book: Rulebook) -> tuple[Event, ...] | None:
        """The journal; None where there is none. What it refers to is looked up where all yards are in order."""
        shown = self.papers.prefix + self.papers.journal.name
        try:
            if not exists(self.papers.journal, shown):
                return None
            known = Keys(None, keys.treatments) if self.complaints else keys
            return read_journal(self.papers.journal, shown, known, book)
        except BadInput as error:
            self.complaints.extend(error.complaints)
            return None


def journal_keys(yards: Sequence[Yard], treatments: Collection[str] = ()) -> Keys:
    """What a journal line may refer to in these yards; ``treatments`` are the keeper's own names for products."""

    def slots(colony: Colony) -> dict[str, int]:
        widest = max(box.frames for box in colony.boxes)
        return {trap.name: widest for trap in colony.traps}

    return Keys({yard.key: {colony.key: slots(colony) for colony in yard.colonies} for yard in yards}, treatments)


def _taken_twice(yards: Sequence[Yard]) -> Iterator[Complaint]:
    """Colony keys, and the short names of yards, that stand for two."""
    files: dict[str, str] = {}
    seen: dict[str, Place] = {}
    for yard in yards:
        if yard.key == EVERY_YARD:
            yield Complaint(
                yard.file, 0, 0, f"is named like the calendar of all yards, '{EVERY_YARD}'; rename the file"
            )
        if yard.key in files:
            what = f"has the short name '{yard.key}', as {files[yard.key]} has; give the file another name"
            yield Complaint(yard.file, 0, 0, what)
        files.setdefault(yard.key, yard.file)
        for colony in sorted(yard.colonies, key=lambda c: c.place.line):
            if colony.key in seen:
                first = seen[colony.key]
                where = f"line {first.line}" + (f" of {first.file}" if first.file != colony.place.file else "")
                what = f"{quoted(colony.key)} is taken already ({where}); a key holds for one colony, for life"
                yield Complaint.at(colony.place, f"colonies.key: {what}")
            seen.setdefault(colony.key, colony.place)


def _named_twice(named: Iterable[tuple[Tree, str]]) -> Iterator[Complaint]:
    """Yards of one name, which nobody could tell apart on paper."""
    seen: dict[str, Place] = {}
    for tree, name in named:
        here, plain = tree.place(("yard",)), " ".join(name.casefold().split())
        if plain in seen:
            where = f"line {seen[plain].line} of {seen[plain].file}"
            what = f"{quoted(name)} is another yard's name too ({where}); add what tells them apart"
            yield Complaint.at(here, f"yard: {what}")
        seen.setdefault(plain, here)
