"""Hopkins' bioclimatic law: how many days later spring comes at one site than at another.

In: two sites and the law's rates. Out: days (a float, with a sign), and how far apart the sites are.

Sources: A. D. Hopkins 1918, "Periodical events and natural law as guides to agricultural research and practice",
Monthly Weather Review Supplement 9; 1919, "The bioclimatic law as applied to entomological research and farm practice",
The Scientific Monthly 8:496-513; 1938, "Bioclimatics: a science of life and climate relations", USDA Misc. Publ. 280.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Site:
    """A place on the earth: degrees north and east (south and west are negative), metres above the sea.

    Raises ValueError for a latitude beyond 90, a longitude beyond 180, or a number that is not finite.
    """

    latitude: float
    longitude: float
    elevation: float

    def __post_init__(self) -> None:
        for name, most in (
            ("latitude", 90.0),
            ("longitude", 180.0),
            ("elevation", math.inf),
        ):
            value = getattr(self, name)
            if not math.isfinite(value) or abs(value) > most:
                raise ValueError(f"{name} {value} is not a place on the earth")


@dataclass(frozen=True, slots=True)
class Rates:
    """Days by which spring comes later: for each degree poleward, each degree east, each metre up."""

    poleward: float
    east: float
    up: float


@dataclass(frozen=True, slots=True)
class Reach:
    """How far the law is stretched: degrees of latitude and metres of elevation, neither below 0."""

    latitude: float
    elevation: float

    def beyond(self, degrees: float, metres: float = math.inf) -> bool:
        """True where either distance is greater than its limit."""
        return self.latitude > degrees or self.elevation > metres


def shift_days(reference: Site, place: Site, rates: Rates, *, longitude_counts: bool) -> float:
    """Days by which an event of spring is later at ``place`` than at ``reference`` (earlier: below 0).

    An event of autumn moves by the same number of days the other way. Latitude is counted from the equator, so the
    law holds in the south as well. The term for longitude was found in North America; elsewhere pass
    ``longitude_counts=False``.

    >>> law = Rates(poleward=4.0, east=4.0 / 5, up=4.0 / 121.92)
    >>> round(shift_days(Site(40.0, -80.0, 100.0), Site(41.0, -80.0, 100.0), law, longitude_counts=True), 9)
    4.0

    Raises ValueError for sites on different sides of the equator: no season moves across it.
    """
    if reference.latitude * place.latitude < 0:
        raise ValueError(f"latitudes {reference.latitude} and {place.latitude} lie on two sides of the equator")
    east = degrees_east(reference.longitude, place.longitude) if longitude_counts else 0.0
    poleward = abs(place.latitude) - abs(reference.latitude)
    return rates.poleward * poleward + rates.east * east + rates.up * (place.elevation - reference.elevation)


def reach(reference: Site, place: Site) -> Reach:
    """How far apart two sites are in what the law trusts least over a distance."""
    return Reach(
        latitude=abs(place.latitude - reference.latitude),
        elevation=abs(place.elevation - reference.elevation),
    )


def degrees_east(start: float, end: float) -> float:
    """Degrees to go east (west: below 0), the short way round, in [-180, 180)."""
    return (end - start + 180.0) % 360.0 - 180.0
