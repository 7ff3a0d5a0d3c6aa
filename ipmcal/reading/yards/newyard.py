"""A new yard file: from answers in plain words to a commented file that ``ipmcal check`` passes.

In: answers. Out: YAML text, already read back once. Pure but for that.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ipmcal.model.outfit.yardfile import YardFile
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.fields import IDENTIFIER
from ipmcal.reading.rules.rulebook import KEEPER
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.source.shape import shape
from ipmcal.reading.source.yaml_source import parse_yaml
from ipmcal.reading.yards.yard import read_yard
from ipmcal.reading.yards.yards import CONTEXT, slug

FAR_KM = 1000
"""From how far on a place is asked about: from every region its season would be a guess."""
KM_PER_DEGREE = 111.2
"""Kilometres in a degree of latitude, for distances on the sphere."""


@dataclass(frozen=True, slots=True)
class NewColony:
    """A colony as asked for: ``began`` as a yard file has it, ``traps`` how many trap frames it is to get."""

    key: str
    began: str
    hive: str
    boxes: tuple[str, ...]
    traps: int = 0


@dataclass(frozen=True, slots=True)
class NewYard:
    """A yard as asked for."""

    name: str
    latitude: str
    longitude: str
    elevation: str
    region: str
    jurisdiction: str
    days: tuple[str, ...]
    program: str
    colonies: tuple[NewColony, ...]


def nearest_regions(book: Rulebook, latitude: float, longitude: float, most: int = 3) -> list[tuple[str, int]]:
    """The regions whose reference lies nearest, with the distance in km, nearest first.

    Those from which a season can't be moved (``unfit_region``) are left out, unless there is no other: then those
    across the equator come last, and before them those too many degrees away.
    """
    near = sorted(_near(book, latitude, longitude), key=lambda one: one[1])
    fit = [one for one in near if not unfit_region(book, one[0], latitude, longitude)]
    limit = book.planning.too_far_latitude.value.middle
    places = {name: book.regions[name].place.latitude for name, _ in near}
    near.sort(key=lambda one: (places[one[0]] * latitude < 0, abs(places[one[0]] - latitude) > limit))
    return (fit or near)[:most]


def unfit_region(book: Rulebook, name: str, latitude: float, longitude: float) -> str:
    """Why a region's season can't be moved to a place; "" if it can, by its latitude and longitude."""
    planning, place = book.planning, book.regions[name].place
    if place.latitude * latitude < 0:
        return "lies on the other side of the equator"
    east = abs((place.longitude - longitude + 180) % 360 - 180)
    if abs(place.latitude - latitude) > planning.too_far_latitude.value.middle:
        return f"lies {abs(place.latitude - latitude):.0f} degrees of latitude away, too far to move its season"
    return f"lies {east:.0f} degrees of longitude away" if east > planning.too_far_longitude.value.middle else ""


def place_doubt(book: Rulebook, latitude: float, longitude: float) -> str:
    """What is odd about a place: far from every region, and whether another sign would bring it near; "" if nothing."""
    near = min(_near(book, latitude, longitude), key=lambda one: one[1])
    if near[1] <= FAR_KM:
        return ""
    turned = [(latitude, -longitude), (-latitude, longitude), (-latitude, -longitude)]
    for north, east in turned:
        name, km = min(_near(book, north, east), key=lambda one: one[1])
        if km <= FAR_KM:
            other = f"{north:g}, {east:g} would be in {book.regions[name].title}"
            return f"that is {near[1]:,} km from every region; {other}: is a sign wrong?"
    return f"that is {near[1]:,} km from every region whose season is known"


def _near(book: Rulebook, latitude: float, longitude: float) -> list[tuple[str, int]]:
    places = ((name, region.place) for name, region in book.regions.items())
    return [(name, round(_km(at.latitude, at.longitude, latitude, longitude))) for name, at in places]


def _km(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Great-circle distance in km (haversine)."""
    phi1, phi2 = math.radians(lat1), math.radians(lat2)
    half = math.sin((phi2 - phi1) / 2) ** 2
    half += math.cos(phi1) * math.cos(phi2) * math.sin(math.radians(lon2 - lon1) / 2) ** 2
    return 2 * math.degrees(math.asin(min(1.0, math.sqrt(half)))) * KM_PER_DEGREE


def usual_hive(jurisdiction: str, book: Rulebook) -> str:
    """The kind of hive that is offered first in a country; the first by name where the rules don't have it."""
    usual = "national" if jurisdiction == "uk" else "langstroth_10"
    return usual if usual in book.hives.hives else sorted(book.hives.hives)[0]


def yard_text(yard: NewYard, book: Rulebook, file: str) -> str:
    """The yard file, with comments for what comes next. Raises BadInput where an answer does not fit."""
    lines = [
        "# yaml-language-server: $schema=schemas/yard.json",
        "# Your yard. 'ipmcal check FILE' says what is wrong with it; 'ipmcal schema' writes schemas/ for your editor.",
        f"yard: {_quoted(yard.name)}",
        f"place: {{latitude: {yard.latitude}, longitude: {yard.longitude}, elevation: {yard.elevation}}}",
        f"region: {yard.region}    # {book.regions[yard.region].title if yard.region in book.regions else ''}",
        f"jurisdiction: {yard.jurisdiction}    # units and paper",
        f"days: [{', '.join(yard.days)}]    # the days on which you can come; 'any' for no fixed days",
        "# away: [2027-07-17..2027-07-25]    # days that can't be",
        f"program: {yard.program}",
        "# observed: {first_pollen: 2027-03-24}    # what you saw moves the later marks of the season",
        "",
        "colonies:    # in walking order; boxes from the bottom up",
        *(line for colony in yard.colonies for line in _colony(colony)),
    ]
    text = "\n".join(lines) + "\n"
    tree = parse_yaml(text, file, KEEPER)
    _, complaints = read_yard(slug(yard.name), tree, shape(tree, YardFile, CONTEXT), book)
    if complaints:
        raise BadInput(complaints)
    return text


def together_text(name: str) -> str:
    """The file that makes the yards of a folder one outfit."""
    plain = slug(name).replace("-", "_")
    key = plain if IDENTIFIER.fullmatch(plain) else "all_yards"
    return f"# yaml-language-server: $schema=schemas/outfit.json\noutfit: {key}\nname: {_quoted(name)}\n"


def _colony(colony: NewColony) -> Sequence[str]:
    lines = [
        f"  - key: {_quoted(colony.key)}    # as painted on the hive",
        f"    began: {colony.began}",
        f"    hive: {colony.hive}",
        f"    boxes: [{', '.join(colony.boxes)}]",
    ]
    if colony.traps:
        names = ", ".join(f"T{i}" for i in range(1, colony.traps + 1))
        lines.append(
            f"    traps: [{names}]    # second from either end; or {{T1: 2, T2: {{slot: 9, kind: drawn, frames: 2}}}}"
        )
    lines.append('    # history: ["2027-02-13 trap_hung T1 2"]    # what happened before, as far as known')
    return lines


def _quoted(text: str) -> str:
    """Text in double quotes; JSON's quoting is YAML's too."""
    return json.dumps(" ".join(text.split()), ensure_ascii=False)
