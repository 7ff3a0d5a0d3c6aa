"""Figures and tables checked: units agree, ranges are closed where a middle is asked for, tables are complete.

In: the rulebook and the places of its keys. Out: complaints.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from ipmcal.model.rules.files import Biology, Hives, Planning, Region
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.rules.mitescheck import mites_complaints
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Tree

CASTES = ("worker", "drone", "queen")
CASTE_DAYS = tuple(f"{caste}.{day}" for caste in CASTES for day in ("capped", "emerges"))
PLANNING_UNITS = {
    "spread_factor": "1",
    "days_per_degree_latitude": "d/degree",
    "days_per_degree_longitude": "d/degree",
    "days_per_metre": "d/m",
    "far_latitude": "1",
    "far_elevation": "m",
    "too_far_latitude": "1",
    "too_far_longitude": "1",
    "lag_correlation": "1",
    "enough_chance": "1",
    "packing_millions": "1",
    "drives_to_move": "1",
    "trap_slot_from_end": "1",
}
CHANCES = ("lag_correlation", "enough_chance")
BIOLOGY_TABLES: dict[str, tuple[str, ...]] = {
    "sizes": ("scoop", "mite_wide", "mite_long", "worker_long"),
    "mites": ("enters_drone_before_capping", "enters_worker_before_capping"),
    "queen": (
        "larva_age_when_chosen",
        "mature_after_emerging",
        "lays_after_mating",
        "lays_after_release",
        "out_of_ripe_cell",
        "package_lays",
        "swarm_lays",
        "lays_on_comb",
        "lays_on_foundation",
    ),
    "box_full": BEGINNINGS,
}
CLOSED_COMB = ("drone_cells", "wax", "bee_space", "sides")
"""Figures of the comb that need both ends; the others may be written as 'this or more'."""


def table_complaints(book: Rulebook, trees: Mapping[str, Tree]) -> Iterator[Complaint]:
    """Everything in figures and tables that planning could not count with."""
    yield from _planning(book.planning)
    yield from _biology(book.biology, trees["biology"])
    yield from mites_complaints(book.mites)
    yield from _hives(book.hives, trees["hives"])
    for name, region in book.regions.items():
        yield from _position(region, trees[f"regions/{name}"])
        yield from _normals(region)
        yield from _degree_days(region, trees[f"regions/{name}"])


def _amount(cited: Cited[Amount], unit: str = "", *, open_above: bool = False) -> Iterator[Complaint]:
    """A figure in its unit, closed (unless it may be open above) and not below zero."""
    value = cited.value
    if unit and value.unit != unit:
        wanted = "a plain number" if unit == "1" else f"in '{unit}'"
        yield Complaint.at(cited.place, f"{cited.key}: is in '{value.unit}', and has to be {wanted}")
    elif value.low is None or (value.high is None and not open_above):
        yield Complaint.at(cited.place, f"{cited.key}: '{value}' is open; write a number or a range with both ends")
    elif value.low < 0:
        yield Complaint.at(cited.place, f"{cited.key}: '{value}' lies below zero")


def _fields(owner: object) -> Iterator[tuple[str, Cited[Any]]]:
    for name in type(owner).model_fields:  # type: ignore[attr-defined]  # rule files are pydantic models
        value = getattr(owner, name)
        if isinstance(value, Cited):
            yield name, value


def _planning(planning: Planning) -> Iterator[Complaint]:
    for name, cited in _fields(planning):
        problems = list(_amount(cited, PLANNING_UNITS.get(name, "")))
        yield from problems
        if not problems and name in CHANCES and cited.value.middle > 1:
            yield Complaint.at(cited.place, f"{name}: lies between 0 and 1")


def _biology(biology: Biology, tree: Tree) -> Iterator[Complaint]:
    for caste in CASTES:
        days = getattr(biology.castes, caste)
        capped, emerges = days.capped.value, days.emerges.value
        if not 0 < capped.low <= capped.high < emerges.low:
            what = (
                f"castes.{caste}: capped in {capped.low} to {capped.high} d and emerging from {emerges.low} d can't be"
            )
            yield Complaint.at(tree.place(("castes", caste)), what)
    for table, names in BIOLOGY_TABLES.items():
        yield from _complete(table, getattr(biology, table), names, tree)
    for cited in biology.mites.values():
        yield from _amount(cited, "h")
    for name, cited in biology.sizes.items():
        yield from _amount(cited, "mL" if name == "scoop" else "mm")
    for name, cited in _fields(biology.comb):
        yield from _amount(cited, open_above=name not in CLOSED_COMB)


def _complete(table: str, have: Collection[str], names: tuple[str, ...], tree: Tree) -> Iterator[Complaint]:
    for name in have:
        if name not in names:
            yield Complaint.at(tree.key((table, name)), f"{table}: unknown key {quoted(name)}{nearest(name, names)}")
    for name in names:
        if name not in have:
            yield Complaint.at(tree.place((table,)), f"{table}: the key '{name}' is missing")


def _hives(hives: Hives, tree: Tree) -> Iterator[Complaint]:
    for frame in hives.frames.values():
        yield from _amount(frame.height)
        yield from _amount(frame.comb_width)
    for name, hive in hives.hives.items():
        if not 1 <= hive.frames <= 40:
            yield Complaint.at(
                tree.place(("hives", name, "frames")), f"hives.{name}.frames: a box takes 1 to 40 frames"
            )


def _position(region: Region, tree: Tree) -> Iterator[Complaint]:
    for what in position_problems(region.place.latitude, region.place.longitude, region.place.elevation):
        yield Complaint.at(tree.place(("place", what.partition(":")[0])), f"place.{what}")


def position_problems(latitude: float, longitude: float, elevation: float) -> Iterator[str]:
    """What is wrong with a position, each as ``key: words``."""
    if abs(latitude) > 90:
        yield f"latitude: {latitude:g} lies outside -90 to 90"
    if abs(longitude) > 180:
        yield f"longitude: {longitude:g} lies outside -180 to 180"
    if not -500 <= elevation <= 6000:
        yield f"elevation: {elevation:g} m lies outside -500 m to 6000 m"


def _normals(region: Region) -> Iterator[Complaint]:
    normals = region.normals
    for month, (high, low, sd) in enumerate(zip(normals.high, normals.low, normals.sd, strict=True), 1):
        if low.value > high.value:
            yield Complaint.at(low.place, f"normals.low: month {month} is warmer than its high of {high.value:g} °C")
        if sd.value <= 0:
            yield Complaint.at(sd.place, f"normals.sd: month {month} has no spread; write degrees above 0")


def _degree_days(region: Region, tree: Tree) -> Iterator[Complaint]:
    """Sums of warmth: for marks that the region has, in the degrees of their base, closed and above zero."""
    if region.degree_days is None:
        return
    base = region.degree_days.base
    if base.value.unit not in ("°C", "°F") or not base.value.closed:
        yield Complaint.at(base.place, f"degree_days.base: '{base.value}' is no temperature, such as '50 °F'")
        return
    for name, wanted in region.degree_days.sums.items():
        if name not in region.marks or region.marks[name].value.begins is None:
            what = f"degree_days.sums: the region has no mark {quoted(name)}{nearest(name, sorted(region.marks))}"
            yield Complaint.at(tree.key(("degree_days", "sums", name)), what)
        yield from _amount(wanted, f"{base.value.unit}d")
        if wanted.value.closed and wanted.value.middle <= 0:
            yield Complaint.at(wanted.place, f"{wanted.key}: a sum of warmth is above 0")
