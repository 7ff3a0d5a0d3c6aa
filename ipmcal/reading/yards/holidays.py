"""Public holidays: the days of a country, or of a part of it, from the library that keeps them.

In: a place as a yard file has it ("us", "us-ny", "nz-south-canterbury"). Out: a rule for its days; what is wrong.

The library is large and only wanted where a plan is made, so it is imported when the first year is asked for.
"""

from __future__ import annotations

from functools import cache, partial

from ipmcal.model.outfit.outfit import PublicDays
from ipmcal.model.values.text import nearest, quoted

NO_HOLIDAYS = "no"
"""What a keeper writes who has none."""


def public_days(place: str) -> PublicDays:
    """The holidays of a place, worked out year by year. The place has to be one without a ``place_problem``."""
    return PublicDays(place, partial(_days, place))


def place_problem(place: str) -> str:
    """What is wrong with a place, and what would do; "" where its holidays are known."""
    country, _, part = place.partition("-")
    try:
        parts = _parts(country)
    except KeyError:
        return f"no country {quoted(country)} is known; write its two letters, such as 'us', or 'no' for no holidays"
    if part and part not in parts:
        some = [f"{country}-{name}" for name in sorted(parts)] or [country]
        return f"no holidays of {quoted(place)} are known{nearest(place, some)}; write such as '{some[0]}'"
    return ""


@cache
def _days(place: str, year: int) -> frozenset[int]:
    """The ordinals of a year's holidays, and of the days on which they are kept where they fall on a weekend."""
    from holidays import country_holidays

    country, _, part = place.partition("-")
    kept = country_holidays(country.upper(), subdiv=_parts(country).get(part), years=year)
    return frozenset(day.toordinal() for day in kept if day.year == year)


@cache
def _parts(country: str) -> dict[str, str]:
    """The parts of a country that have holidays of their own, by the names that a yard file takes. Raises KeyError."""
    from holidays import country_holidays

    try:
        parts = country_holidays(country.upper()).subdivisions
    except NotImplementedError:
        raise KeyError(country) from None
    return {part.lower().replace(" ", "-"): part for part in parts}
