"""A region's year as curves: laying, the drones' share of it, winter bees, and the days on which mites come in.

In: the marks of one season (ordinals; any season's, since they repeat every 365 days), figures, a draw. Out: lists of
365 values, the first of them for ``Marks.origin``. The shapes are assumptions, and stand as such in the rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from ipmcal.biology.mites.draws import Brood
from ipmcal.biology.mites.figures import Bees, LayingShape, MiteFigures, Seasonal

YEAR_DAYS = 365
_LEAD = 215
"""Days before the first swarms within which first pollen, first drones and the end of least brood are looked for."""
Knots = list[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class Marks:
    """A season's usual days, as ordinals. Periods are their first and last day.

    ``drones_wane`` is the last day on which drone comb is filled, ``drones_end`` the day by which drones are thrown out
    (the end of that period), ``flow_ends`` the last day of the main flow. The order of years does not matter: a least
    brood of the winter before or after comes to the same.
    """

    first_pollen: int
    drones_begin: int
    swarms: tuple[int, int]
    flow_ends: int
    drones_wane: int
    drones_end: int
    winter_bees: int
    least_brood: tuple[int, int]
    dearth: tuple[int, int] | None = None
    rarely_broodless: bool = False

    @property
    def origin(self) -> int:
        """The day that curves begin with: the first swarms."""
        return self.swarms[0]

    def before(self, day: int) -> int:
        """A day of spring, in the year that leads up to the first swarms and shortly after."""
        first = self.origin - _LEAD
        return first + (day - first) % YEAR_DAYS

    def after(self, day: int) -> int:
        """A day of the rest of the year, from the first swarms on."""
        return self.origin + (day - self.origin) % YEAR_DAYS

    @property
    def least_begins(self) -> int:
        """The first day of least brood after the winter bees."""
        winter = self.after(self.winter_bees)
        return winter + (self.least_brood[0] - winter) % YEAR_DAYS


@dataclass(frozen=True, slots=True)
class Year:
    """Curves of 365 days from ``origin``: eggs a day, the share of them that are drones, of bees that emerge that day
    the share that are winter bees, the share of winter bees that dies, whether a cell capped that day holds a winter
    bee, whether mites come in.
    """

    origin: int
    eggs: list[float]
    drones: list[float]
    turning: list[float]
    winter_die: list[float]
    winter_cells: list[bool]
    open_to_others: list[float]

    def spread(self, curve: Sequence[float], first: int, days: int) -> list[float]:
        """A curve from ordinal ``first`` on, as often as it takes."""
        at = (first - self.origin) % YEAR_DAYS
        whole = list(curve) * ((at + days) // YEAR_DAYS + 1)
        return whole[at : at + days]


def year_of(marks: Marks, figures: MiteFigures, brood: Brood) -> Year:
    """The curves of a year at a place, for one draw."""
    laying = curve(laying_knots(marks, figures.shape, brood.least), marks.origin)
    dearth = curve(dearth_knots(marks, figures.seasonal, brood.less_in_dearth), marks.origin)
    drones, turning, winter_die, winter_cells, is_open = place_curves(marks, figures.seasonal, figures.bees)
    return Year(
        origin=marks.origin,
        eggs=[brood.peak * share * kept for share, kept in zip(laying, dearth, strict=True)],
        drones=[brood.drones * share for share in drones],
        turning=turning,
        winter_die=winter_die,
        winter_cells=winter_cells,
        open_to_others=is_open,
    )


PlaceCurves = tuple[list[float], list[float], list[float], list[bool], list[float]]
"""What is the same in every draw at a place: drones, turning, dying in winter, winter cells, open to others."""


@lru_cache(maxsize=8)
def place_curves(marks: Marks, seasonal: Seasonal, bees: Bees) -> PlaceCurves:
    """The curves of a year that are the same in every draw."""
    winter, least = marks.after(marks.winter_bees), marks.least_begins
    is_open = _within(marks.after(marks.flow_ends) + 1, least, marks.origin)
    return (
        curve(_drones(marks, seasonal), marks.origin),
        curve(_turning(marks, bees), marks.origin),
        curve(_winter_die(marks, bees), marks.origin),
        _within(winter, least, marks.origin),
        [float(one) for one in is_open],
    )


def curve(knots: Knots, origin: int) -> list[float]:
    """365 values from ``origin`` on, in straight lines between knots; before the first and after the last, the line
    that joins them across the year's end. A knot that does not lie after the one before it is put a day later.
    """
    if len(knots) == 1:
        return [knots[0][1]] * YEAR_DAYS
    days = [knots[0][0]]
    for day, _ in knots[1:]:
        days.append(max(day, days[-1] + 1))
    values = [value for _, value in knots]
    days.append(max(days[0] + YEAR_DAYS, days[-1] + 1))
    values.append(values[0])
    made = [0.0] * YEAR_DAYS
    for left, right, low, high in zip(days, days[1:], values, values[1:], strict=False):
        for day in range(left, min(right, days[0] + YEAR_DAYS)):
            made[(day - origin) % YEAR_DAYS] = low + (high - low) * (day - left) / (right - left)
    return made


def _within(first: int, last: int, origin: int) -> list[bool]:
    """Whether each day of the year lies from ``first`` to before ``last``, both after ``origin``."""
    return [(origin + i - first) % YEAR_DAYS < last - first for i in range(YEAR_DAYS)]


def laying_knots(marks: Marks, shape: LayingShape, least: float) -> Knots:
    """Shares of the peak of laying; ``least``: what is laid in the pause."""
    pause_ends = marks.before(marks.least_brood[1]) - shape.over_before_end
    peak = marks.origin + shape.peak_after
    swarm_end, winter = marks.after(marks.swarms[1]), marks.after(marks.winter_bees)
    pause = marks.least_begins - shape.before_least
    return [
        (pause_ends, least),
        (pause_ends + shape.ramp, least + shape.after_ramp),
        (max(marks.before(marks.first_pollen), pause_ends + shape.pollen_after_pause), least + shape.at_pollen),
        (marks.before(marks.drones_begin), shape.at_drones),
        (peak, 1.0),
        ((peak + swarm_end) // 2, 1.0),
        (swarm_end, shape.at_swarm_end),
        (winter, shape.at_winter_bees),
        (winter + (pause - winter) // 2, shape.half_way),
        (winter + (pause - winter) * 3 // 4, least + shape.three_quarters),
        (pause, least),
    ]


def dearth_knots(marks: Marks, seasonal: Seasonal, less: float) -> Knots:
    """Shares of laying that a dearth leaves; ``less``: what it takes."""
    if marks.dearth is None:
        return [(marks.origin, 1.0)]
    first = marks.after(marks.dearth[0])
    last = first + (marks.dearth[1] - marks.dearth[0]) % YEAR_DAYS
    return [
        (first, 1.0),
        (first + seasonal.dearth_ramp, 1 - less),
        (last, 1 - less),
        (last + seasonal.dearth_ramp, 1.0),
    ]


def _drones(marks: Marks, seasonal: Seasonal) -> Knots:
    begin, wane = marks.before(marks.drones_begin), marks.after(marks.drones_wane)
    end = wane + (marks.drones_end - wane) % YEAR_DAYS
    return [
        (begin - 1, 0.0),
        (begin, seasonal.drones_begun),
        (begin + seasonal.drones_full_after, 1.0),
        (wane, seasonal.drones_waning),
        (end, 0.0),
    ]


def _turning(marks: Marks, bees: Bees) -> Knots:
    """Winter bees among those that emerge: a rising share after their rearing begins, all until first pollen."""
    winter, pollen = marks.after(marks.winter_bees), marks.before(marks.first_pollen) + YEAR_DAYS
    return [
        (winter + bees.winter_from, 0.0),
        (winter + bees.winter_all, 1.0),
        (pollen - 1, 1.0),
        (pollen, 0.0),
    ]


def _winter_die(marks: Marks, bees: Bees) -> Knots:
    """Deaths of winter bees a day: few until first pollen, then rising, until the next winter bees emerge."""
    pollen, winter = marks.before(marks.first_pollen), marks.after(marks.winter_bees) + bees.winter_from
    return [
        (pollen, bees.winter_die),
        (pollen + bees.more_after, bees.winter_die + bees.winter_die_more),
        (winter - 1, bees.winter_die + bees.winter_die_more),
        (winter, bees.winter_die),
    ]
