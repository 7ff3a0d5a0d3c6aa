"""Counts of mites as values: a sample with its unit, and a threshold as an authority states it.

In: whole mites, the size of the sample, a threshold's numbers. Out: frozen values; fractions, so that a count on the
line is on the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Unit(StrEnum):
    """What mites were counted on. Numbers of two units are never compared, nor turned into each other."""

    BEES = "bees"
    GRAMS = "g"
    DAYS = "d"
    DRONE_CELLS = "drone_cells"


@dataclass(frozen=True, slots=True)
class Sample:
    """Mites found on so many bees (or grams of bees, days of fall on a board, drone cells opened).

    On drone cells, ``mites`` are the cells that held any. A sample of nothing is allowed, and so are more such cells
    than were opened: they say that the count went wrong. More mites than bees can be. Raises ValueError below zero.
    """

    mites: int
    size: Fraction | int
    unit: Unit = Unit.BEES

    def __post_init__(self) -> None:
        if self.mites < 0 or self.size < 0:
            raise ValueError(f"a count can't be below zero: {self.mites} in {self.size} {self.unit}")


@dataclass(frozen=True, slots=True)
class Threshold:
    """``at 6 in 300 bees`` or, with ``above``, ``above 8 in 1 d``: so many mites or more, or only more than that.

    Raises ValueError for less than nothing, and for so many in nothing.
    """

    mites: Fraction
    of: Fraction
    unit: Unit
    above: bool = False

    def __post_init__(self) -> None:
        if self.mites < 0 or self.of <= 0:
            raise ValueError(f"a threshold needs a number from 0 in a size above 0, not {self.mites} in {self.of}")

    @property
    def rate(self) -> Fraction:
        """Mites to one bee (gram, day, cell)."""
        return self.mites / self.of

    def __str__(self) -> str:
        return f"{'above' if self.above else 'at'} {float(self.mites):g} in {float(self.of):g} {self.unit}"


UNIT_WORDS = {
    Unit.BEES: ("bee", "bees"), Unit.GRAMS: ("g of bees", "g of bees"), Unit.DAYS: ("day", "days"),
    Unit.DRONE_CELLS: ("drone pupa", "drone pupae"),
}  # fmt: skip
"""One and many of what mites are counted on."""


def found_words(sample: Sample) -> str:
    """A count in words: "9 in 300 bees, 3.0 in 100", "12 in 3 days, 4.0 a day"."""
    one, many = UNIT_WORDS[sample.unit]
    size = f"{float(sample.size):g} {one if sample.size == 1 else many}"
    if not sample.size:
        return f"{sample.mites} in {size}"
    rate = sample.mites / sample.size
    per = f"{float(rate):.1f} a day" if sample.unit is Unit.DAYS else f"{float(rate * 100):.1f} in 100"
    return f"{sample.mites} in {size}, {per}"
