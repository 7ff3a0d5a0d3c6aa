"""Comb under a short frame: geometry for any numbers. Published figures stand in tests/handbook/comb.yaml."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.biology.comb import (
    BeeSpace,
    Filling,
    Measure,
    cells_on,
    density_of,
    filling,
    gap_below,
    trap_comb,
    wax_in,
)

SPACE = BeeSpace(low=6.0, high=9.5)  # mm; 3/8 inch above, common practice
DENSITY = Measure(2.3, 2.6)
WAX = Measure(11.3, 13.0)


def ranges(highest: float) -> st.SearchStrategy[Measure]:
    return st.lists(st.floats(0, highest), min_size=2, max_size=2).map(lambda ends: Measure(*sorted(ends)))


@pytest.mark.parametrize(
    ("gap", "made"),
    [
        (5.9, Filling.PROPOLIS),
        (6.0, Filling.BEE_SPACE),
        (9.5, Filling.BEE_SPACE),
        (9.6, Filling.COMB),
        (80.0, Filling.COMB),
    ],
)
def test_what_bees_make_of_a_gap(gap: float, made: Filling) -> None:
    assert filling(gap, SPACE) is made


@given(st.floats(100, 350), st.floats(0, 10), st.floats(0, 30))
def test_a_shorter_frame_leaves_that_much_more(box: float, above: float, below: float) -> None:
    full = gap_below(box, box - above, above, below)
    assert full == pytest.approx(below)
    assert gap_below(box, box - above - 73.0, above, below) == pytest.approx(below + 73.0)


def test_a_frame_that_does_not_fit() -> None:
    with pytest.raises(ValueError, match=r"a frame of 300 mm hangs 50\.0 mm too deep in a box of 244 mm"):
        gap_below(244, 300, 6, 12)


@given(st.floats(0, 9.5))
def test_no_comb_in_a_bee_space(gap: float) -> None:
    assert trap_comb(gap, 430.0, SPACE, density=DENSITY, wax=WAX) is None


@given(st.floats(9.6, 200), st.floats(100, 500), ranges(1.0))
def test_comb_fits_in_its_gap(gap: float, length: float, filled: Measure) -> None:
    comb = trap_comb(gap, length, SPACE, density=DENSITY, wax=WAX, filled=filled)
    assert comb is not None
    assert 0 < comb.depth.low <= comb.depth.high < gap
    assert comb.area.high <= gap * length / 100
    assert comb.cells == cells_on(comb.area, DENSITY)
    assert comb.wax == wax_in(comb.cells, WAX)


@given(ranges(1000), ranges(5))
def test_cells_are_counted_on_both_sides(area: Measure, density: Measure) -> None:
    cells = cells_on(area, density)
    assert cells.low == pytest.approx(2 * area.low * density.low)
    assert cells.high == pytest.approx(2 * area.high * density.high)


@given(st.floats(10, 25))
def test_a_row_of_hexagons_tiles_its_area(cells_in_10_cm: float) -> None:
    """Cells of that density, each a hexagon as wide as the row says, cover one square centimetre."""
    side = (10.0 / cells_in_10_cm) / math.sqrt(3)
    hexagon = 3 * math.sqrt(3) / 2 * side**2
    assert density_of(cells_in_10_cm) * hexagon == pytest.approx(1.0)


@pytest.mark.parametrize("ends", [(-1.0, 2.0), (3.0, 2.0), (math.nan, 1.0)])
def test_ranges_that_are_none(ends: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="a range needs 0 <= low <= high"):
        Measure(*ends)
