"""How long a year goes without a count: what plans are held to. In: a season's setting, its counts. Out: stretches."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import pairwise, zip_longest

from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.decide.rhythm import CountSetting, CountWindow, apart_on, grace, seasons_of_brood


def too_far(setting: CountSetting, found: Collection[int]) -> Iterator[CountWindow]:
    """Stretches of the season of brood that lie too long without a count."""
    for first, last in seasons_of_brood(setting):
        inside = sorted(day for day in found if day >= first)
        if not inside or inside[0] > first + grace(setting):
            yield first, inside[0] if inside else last
        for day, after in zip_longest(inside, inside[1:]):
            reach = day + apart_on(setting, day)
            if day < last and reach < min(last, last if after is None else after):
                yield day, last if after is None else after


def longest(setting: CountSetting, found: Collection[int]) -> int:
    """Days of the year that pass without a count, at most, the year begun again at its end."""
    days = sorted(found)
    around = [*days, days[0] + YEAR_DAYS] if days else [setting.season.first, setting.season.first + YEAR_DAYS]
    return max(b - a for a, b in pairwise(around))
