"""The record of treatments on paper and as CSV. In: a ``Record``. Out: a page in HTML, its PDF, a CSV, as files.

On paper hives that got the same share a line; the CSV has a line for each hive. What nobody told is an empty cell with
a rule to write on, never a guess.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from ipmcal.model.outfit.record import Record, Removal, TreatmentEntry, YardRecord
from ipmcal.model.values.days import day as date_of
from ipmcal.model.values.rows import no_formula
from ipmcal.model.values.words import counted, full_day, joined, with_unit
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.paper.page import filled
from ipmcal.publishing.paper.pdf import engine, render
from ipmcal.publishing.places import RECORD

HEADS = {
    "date": ("given on", 18),
    "colonies": ("hives", 15),
    "product": ("product", 30),
    "active": ("active substance", 22),
    "registration": ("registration number", 24),
    "batch": ("batch", 16),
    "expiry": ("use by", 16),
    "amount": ("amount", 20),
    "removed": ("taken out", 28),
    "duration": ("first to last day", 22),
    "withdrawal": ("withdrawal period", 22),
    "reason": ("reason", 18),
    "count": ("mites before it", 20),
    "weather": ("weather", 18),
    "person": ("given by", 15),
    "certificate": ("certificate number", 20),
    "keep": ("keep until", 19),
    "bought": ("bought on", 20),
    "bought_amount": ("quantity bought", 22),
    "supplier": ("supplier, with address", 48),
    "proof": ("proof of purchase, where kept", 30),
    "prescription": ("prescription", 26),
    "vet": ("vet, with address", 40),
    "disposed": ("thrown away: day, quantity", 32),
    "disposal": ("how and where", 32),
}
"""Columns: the heading, and how wide it is against the others."""
GIVEN = tuple(HEADS)[:17]
"""Columns of the table of what was given; the rest belong to what was bought and thrown away."""
OF_THE_PACK = tuple(HEADS)[17:]
ALWAYS = ("date", "colonies", "product", "amount", "removed", "withdrawal", "keep")
"""Columns of the first table that are there whether the law asks for them or not."""
NUMBER_SIGNS = 4

CellLines = tuple[str, ...]
"""A cell: its lines; none means a blank to be filled in, and a last line that ends with ':' has a blank behind it."""


@dataclass(frozen=True, slots=True)
class Table:
    """Headings with their widths in per cent, and rows of cells."""

    heads: tuple[tuple[str, float], ...]
    rows: tuple[tuple[CellLines, ...], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A yard's part of the page: what was given, what has to be told of what was bought, and what became of hives."""

    yard: YardRecord
    given: Table
    bought: Table | None
    fates: tuple[str, ...]
    unsure: bool
    until: int | None


def record_html(record: Record) -> str:
    """The page of a record, on the paper of its first yard, landscape."""
    names = {yard.key: yard.name for yard in record.yards}
    sections = [_section(_Here(yard, names)) for yard in record.yards if yard.entries]
    return filled(
        "record.html.j2",
        record.as_of,
        record.yards[0].paper,
        record=record,
        sections=sections,
        empty=[yard.name for yard in record.yards if not yard.entries],
        full=full_day,
        asked=lambda fields: joined(_short(name) for name in fields),
    )


def _short(field: str) -> str:
    """A field in a sentence: its column's heading up to what explains it."""
    return re.split("[,:]", HEADS[field][0])[0] if field in HEADS else field


# The page -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Here:
    """The yard whose part is made, and the names of all yards."""

    yard: YardRecord
    names: Mapping[str, str]

    def elsewhere(self, yard: str) -> str:
        """`` at Mill Field``, where it was another yard than this one; else ""."""
        return "" if yard == self.yard.key else f" at {self.names.get(yard, yard)}"


def _section(here: _Here) -> Section:
    yard = here.yard
    columns = [name for name in GIVEN if name in ALWAYS or name in yard.fields]
    rows = [tuple(_CELLS[name](group, here) for name in columns) for group in _groups(yard.entries)]
    asked = [name for name in OF_THE_PACK if name in yard.fields]
    bought = None
    if asked:
        head = ["product", "batch", *asked]
        lots = [tuple(_lot_cell(name, lot) for name in head) for lot in _lots(yard)]
        bought = Table(_heads(head), tuple(lots)) if lots else None
    until = [entry.keep_until for entry in yard.entries]
    return Section(
        yard=yard,
        given=Table(_heads(columns), tuple(rows)),
        bought=bought,
        fates=tuple(_fates(yard.entries)),
        unsure=any(_is_unsure(entry, yard) for entry in yard.entries),
        until=max((day for day in until if day is not None), default=None) if None not in until else None,
    )


def _heads(columns: Sequence[str]) -> tuple[tuple[str, float], ...]:
    whole = sum(HEADS[name][1] for name in columns)
    return tuple((HEADS[name][0], round(100 * HEADS[name][1] / whole, 2)) for name in columns)


def _groups(entries: Iterable[TreatmentEntry]) -> list[list[TreatmentEntry]]:
    """Entries that differ in hive and count only, together."""
    groups: dict[object, list[TreatmentEntry]] = {}
    for entry in entries:
        groups.setdefault(_sameness(entry), []).append(entry)
    return list(groups.values())


def _sameness(entry: TreatmentEntry) -> object:
    removals = tuple((r.day, r.amount, r.yard, r.by, r.colony == entry.colony or r.colony) for r in entry.removals)
    course = (entry.began, entry.ended, entry.free_on, entry.keep_until, entry.left)
    given = (entry.yard, entry.day, entry.treatment, entry.own, entry.amount, entry.unit, entry.lot, entry.by)
    return given, removals, course, entry.weather


def _fates(entries: Iterable[TreatmentEntry]) -> Iterator[str]:
    """What became of each hive, once."""
    told: dict[str, dict[str, None]] = {}
    for entry in entries:
        for words, day in entry.fates:
            told.setdefault(entry.colony, {})[f"{words} on {full_day(day)}"] = None
    for colony, fates in told.items():
        yield f"Hive {colony}: {'; '.join(fates)}."


# Cells: each from the entries of a line -------------------------------------------------------------------------------


def _days(*days: int | None) -> CellLines:
    return tuple(full_day(day) for day in days if day is not None)


def _text(*texts: str) -> CellLines:
    return tuple(text for text in texts if text)


def number(value: Fraction) -> str:
    """A number as one writes it: ``2``, ``2.5``."""
    return f"{round(float(value), NUMBER_SIGNS):.10g}"


def _given(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    return _text(*_days(one.day), here.elsewhere(one.yard).strip() if one.day is not None else "")


def _amount(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    if one.amount is None:
        return ()
    each = with_unit(number(one.amount), one.unit)
    whole = with_unit(number(one.amount * len(group)), one.unit)
    return (f"{each} each,", f"{whole} in all") if len(group) > 1 else (each,)


def _removed(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    if not one.to_remove:
        return ("nothing to take out",)
    lines = [_removal(removal, one, len(group), here) for removal in one.removals]
    if one.left > 0:
        lines.append(f"{number(one.left * len(group))} not yet out, as far as is told:")
    return tuple(lines)


def _removal(removal: Removal, one: TreatmentEntry, hives: int, here: _Here) -> str:
    words = f"{number(removal.amount * hives)} on {full_day(removal.day)}{here.elsewhere(removal.yard)}"
    words += f" from hive {removal.colony}" if removal.colony != one.colony else ""
    return words + (f" by {removal.by}" if removal.by and removal.by != one.by else "")


def _duration(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    if one.began is None or one.ended is None:
        return ()
    days = counted(one.ended - one.began, "day")
    return _days(one.began) if one.began == one.ended else (*_days(one.began), f"to {full_day(one.ended)}", days)


def _withdrawal(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    if one.withdrawal is None:
        return ()
    star = "*" if one.withdrawal_unsure else ""
    over = f"to {full_day(one.free_on)}" if one.withdrawal and one.free_on is not None else ""
    return _text(f"{counted(one.withdrawal, 'day')}{star}", over)


def _count(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    told = [(e.colony, e.count, e.count_day) for e in group if e.count and e.count_day is not None]
    if len(group) == 1:
        return tuple(f"{count}, {full_day(day)}" for _, count, day in told)
    return tuple(f"{colony}: {count}, {full_day(day)}" for colony, count, day in told)


def _product(one: TreatmentEntry) -> CellLines:
    return _text(one.title, f"({one.own})" if one.own else "")


def _registration(one: TreatmentEntry) -> CellLines:
    return _text(f"{one.registration}*" if one.registration and one.unsure else one.registration)


def _keep(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    one = group[0]
    keep = here.yard.keep
    if one.keep_until is None and keep is not None:
        return (f"{counted(keep, 'year')} from the last day",)
    return _days(one.keep_until)


def _blank(group: Sequence[TreatmentEntry], here: _Here) -> CellLines:
    return ()


_CELLS: dict[str, Callable[[Sequence[TreatmentEntry], _Here], CellLines]] = dict.fromkeys(GIVEN, _blank) | {
    "date": _given,
    "colonies": lambda group, here: (joined(e.colony for e in group),),
    "product": lambda group, here: _product(group[0]),
    "active": lambda group, here: _text(group[0].active),
    "registration": lambda group, here: _registration(group[0]),
    "batch": lambda group, here: _text(group[0].lot),
    "amount": _amount,
    "removed": _removed,
    "duration": _duration,
    "withdrawal": _withdrawal,
    "count": _count,
    "weather": lambda group, here: _text(group[0].weather),
    "person": lambda group, here: _text(group[0].by),
    "keep": _keep,
}


def _lots(yard: YardRecord) -> list[TreatmentEntry]:
    """One entry for each product and batch that was given in the yard."""
    lots = {(e.treatment, e.own, e.lot): e for e in reversed(yard.entries) if e.yard == yard.key and e.day is not None}
    return list(reversed(lots.values()))


def _lot_cell(column: str, one: TreatmentEntry) -> CellLines:
    return {"product": _product(one), "batch": _text(one.lot)}.get(column, ())


def _is_unsure(entry: TreatmentEntry, yard: YardRecord) -> bool:
    return entry.withdrawal_unsure or (entry.unsure and "registration" in yard.fields)


# CSV ------------------------------------------------------------------------------------------------------------------

_CSV: dict[str, Callable[[TreatmentEntry], str]] = {
    "given_on": lambda e: _iso(e.day),
    "yard": lambda e: e.yard,
    "hive": lambda e: e.colony,
    "product": lambda e: e.title,
    "own_name": lambda e: e.own,
    "treatment": lambda e: e.treatment,
    "active": lambda e: e.active,
    "registration": lambda e: e.registration,
    "batch": lambda e: e.lot,
    "amount": lambda e: "" if e.amount is None else number(e.amount),
    "unit": lambda e: e.unit,
    "given_by": lambda e: e.by,
    "taken_out": lambda e: "; ".join(_csv_removal(r, e) for r in e.removals),
    "still_in": lambda e: number(e.left) if e.to_remove else "",
    "first_day": lambda e: _iso(e.began),
    "last_day": lambda e: _iso(e.ended),
    "withdrawal_days": lambda e: "" if e.withdrawal is None else str(e.withdrawal),
    "withdrawal_over": lambda e: _iso(e.free_on),
    "keep_until": lambda e: _iso(e.keep_until),
    "weather": lambda e: e.weather,
    "count_before": lambda e: f"{e.count} on {_iso(e.count_day)}" if e.count else "",
    "became": lambda e: "; ".join(f"{words} on {_iso(day)}" for words, day in e.fates),
    "line": lambda e: f"{e.place.file}:{e.place.line}" if e.place.line else "",
}
BY_HAND = ("expiry", "reason", "certificate", *OF_THE_PACK)
"""Fields that no line of the journal tells: a column without content for each that a law asks for."""


def record_csv(record: Record) -> str:
    """A line an application and hive; days as ``2027-08-14``. Lines end as RFC 4180 has it."""
    asked = {name for yard in record.yards for name in yard.fields}
    by_hand = [name for name in BY_HAND if name in asked]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([*_CSV, *by_hand])
    for entry in record.entries:
        writer.writerow([*(no_formula(cell(entry)) for cell in _CSV.values()), *("" for _ in by_hand)])
    return text.getvalue()


def _iso(ordinal: int | None) -> str:
    return "" if ordinal is None else date_of(ordinal).isoformat()


def _csv_removal(removal: Removal, entry: TreatmentEntry) -> str:
    elsewhere = f" in {removal.yard}" if removal.yard != entry.yard else ""
    other = f" from hive {removal.colony}" if removal.colony != entry.colony else ""
    return f"{number(removal.amount)} on {_iso(removal.day)}{other}{elsewhere}"


# Files ----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Written:
    """The names of the documents, and why there is no PDF ("" where there is)."""

    documents: tuple[str, ...]
    no_pdf: str


def publish_record(record: Record, out: Path) -> Written:
    """Write a record as HTML, CSV and PDF below a folder. Raises OSError, with nothing half-written."""
    stem = f"{RECORD}/treatments-{'all' if record.year is None else record.year}"
    html = record_html(record)
    files = {f"{stem}.html": html.encode(), f"{stem}.csv": record_csv(record).encode()}
    no_pdf = engine()
    if not no_pdf:
        files[f"{stem}.pdf"] = render(html)
    write_all({out / name: content for name, content in files.items()})
    return Written(tuple(sorted(files)), no_pdf or "")
