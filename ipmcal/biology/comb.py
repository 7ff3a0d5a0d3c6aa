"""Comb: the room under a short frame in a deep box, the drone comb that bees hang in it, its cells and its wax.

In: millimetres of box and frame, densities and rates as ranges. Out: millimetres, square centimetres, cells, grams.
The numbers are arguments; they stand, each with its source, in the rules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity known to lie in ``low..high``. Raises ValueError where it is below 0 or ``high`` is below ``low``."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high:
            raise ValueError(f"a range needs 0 <= low <= high, not {self.low}..{self.high}")

    def __mul__(self, other: Measure | float) -> Measure:
        if isinstance(other, Measure):
            return Measure(self.low * other.low, self.high * other.high)
        return Measure(self.low * other, self.high * other)


ALL_OF_IT = Measure(1.0, 1.0)


class Filling(StrEnum):
    """What bees make of a gap: glue it up, walk through it, or build comb in it."""

    PROPOLIS = "propolis"
    BEE_SPACE = "bee_space"
    COMB = "comb"


@dataclass(frozen=True, slots=True)
class BeeSpace:
    """The gaps in mm that bees leave open: below ``low`` they glue, above ``high`` they build comb.

    Langstroth 1853, "On the hive and the honey-bee", found the bee space and built on it.
    """

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TrapComb:
    """Drone comb under a frame: its depth in mm, its area in cm2 a side, its cells on both sides, its wax in g."""

    depth: Measure
    area: Measure
    cells: Measure
    wax: Measure


def gap_below(box_depth: float, frame_height: float, above: float, below: float) -> float:
    """The gap in mm from a frame's bottom bar down to what the bees meet next.

    ``box_depth`` is the box's own depth, upper edge to lower; ``frame_height`` that of the frame, top bar to bottom
    bar; ``above`` the space between the box's upper edge and the top bar; ``below`` the space under the box's lower
    edge, down to the frames or the floor beneath.

    Raises ValueError where the frame does not fit.
    """
    gap = box_depth - above - frame_height + below
    if gap < 0:
        raise ValueError(f"a frame of {frame_height} mm hangs {-gap:.1f} mm too deep in a box of {box_depth} mm")
    return gap


def filling(gap: float, space: BeeSpace) -> Filling:
    """What bees make of a gap of so many mm."""
    if gap < space.low:
        return Filling.PROPOLIS
    return Filling.COMB if gap > space.high else Filling.BEE_SPACE


def trap_comb(
    gap: float,
    length: float,
    space: BeeSpace,
    *,
    density: Measure,
    wax: Measure,
    filled: Measure = ALL_OF_IT,
) -> TrapComb | None:
    """The comb that bees can hang under a frame; None where the gap is too narrow for any.

    ``gap`` and ``length`` (of the frame inside, from end bar to end bar) in mm. The comb ends a bee space above what
    is beneath. ``density`` is drone cells per cm2 of one side, ``wax`` g per 1,000 cells, ``filled`` the share of the
    rectangle that becomes comb (its lower corners often stay round; the whole of it unless said).
    """
    if filling(gap, space) is not Filling.COMB:
        return None
    depth = Measure(gap - space.high, gap - space.low)
    area = depth * (length / 100) * filled
    cells = cells_on(area, density)
    return TrapComb(depth, area, cells, wax_in(cells, wax))


def cells_on(area: Measure, density: Measure) -> Measure:
    """Cells on both sides of a comb of so many cm2 a side, at so many cells per cm2 of one side."""
    return area * density * 2


def density_of(cells_in_10_cm: float) -> float:
    """Cells per cm2 of one side, from the cells in a straight row of 10 cm (hexagons, wall to wall).

    A row of n cells in 10 cm has cells 100/n mm wide and each takes sqrt(3)/2 of that width squared: per square
    decimetre of both sides 2.309 n^2, as in Betts 1938, Bee World, pp. 106-107.
    """
    width = 10.0 / cells_in_10_cm
    return 2.0 / (math.sqrt(3.0) * width * width)


def wax_in(cells: Measure, grams_per_1000: Measure) -> Measure:
    """Wax in g to expect from so many cells."""
    return cells * grams_per_1000 * (1 / 1000)
