"""Draws, the year's curves, and colonies without their mites."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from statistics import correlation

import pytest
from biology.mite_places import YEAR, day, figures, marks_at, rules
from biology.mite_samples import FIRST, HISTORIES, LAST, PLACES, colony_of, draws_at
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.biology.mites import draws, histories
from ipmcal.biology.mites.colony import OVERWINTERED, Beginning, History, colony
from ipmcal.biology.mites.figures import NEIGHBOURS, STARTS, Spread
from ipmcal.biology.mites.year import YEAR as DAYS
from ipmcal.biology.mites.year import Marks, curve, year_of

ENGLAND = "england_south_midlands"


# Draws ----------------------------------------------------------------------------------------------------------------


def test_every_figure_is_drawn_once_from_every_part_of_its_law() -> None:
    for skipped, count in ((0, 31), (31, 200)):
        for column in zip(*draws.points(skipped, count), strict=True):
            assert sorted(column) == pytest.approx([(i + 0.5) / count for i in range(count)])


def test_figures_are_drawn_apart() -> None:
    """No two dimensions go together: of 231 pairs of 31 points chance alone would give some at 0.5."""
    for skipped, count, most in ((0, 31, 0.36), (31, 200, 0.18)):
        columns = list(zip(*draws.points(skipped, count), strict=True))
        assert max(abs(correlation(a, b)) for a, b in combinations(columns, 2)) < most


def test_those_that_accept_are_not_those_that_chose() -> None:
    chose, accept = draws.choosing(figures(), False), draws.accepting(figures(), False)
    assert (len(chose), len(accept)) == figures().draws == (31, 200)
    assert not {one.brood.peak for one in chose} & {one.brood.peak for one in accept}
    assert draws.choosing(figures(), False) == chose


def test_a_spread_has_its_ends_and_its_usual_value() -> None:
    assert [Spread(1, 2, 5).at(q) for q in (0, 0.25, 0.5, 0.75, 1)] == [1, 1.5, 2, 3.5, 5]


def test_starts_and_neighbours_have_their_medians() -> None:
    every = draws.accepting(figures(), False)
    middle = sorted(one.start(200, figures()) for one in every)[99:101]
    assert middle[0] < 200 < middle[1]
    assert sorted(one.coming("dense", figures()) for one in every)[99] < figures().coming.medians["dense"]
    assert len({round(every[0].start(200, figures(), hive), 6) for hive in range(12)}) == 12
    assert set(figures().starts.medians) == set(STARTS)
    assert set(figures().coming.medians) == set(NEIGHBOURS)


def test_some_brood_in_winter_in_three_of_ten_draws() -> None:
    some = [one.brood.least for one in draws_at(False) if one.brood.least > 0]
    assert len(some) == 60
    assert max(some) <= 0.06
    assert {one.brood.least for one in draws_at(True)} == {0.1}


# The year -------------------------------------------------------------------------------------------------------------


def test_a_curve_goes_straight_between_its_knots_and_over_the_years_end() -> None:
    made = curve([(100, 1.0), (110, 2.0), (300, 0.0)], 100)
    assert made[:11] == pytest.approx([1 + i / 10 for i in range(11)])
    assert made[200] == 0.0
    assert made[364] == pytest.approx(164 / 165)


@pytest.mark.parametrize("place", PLACES)
def test_which_years_marks_are_taken_does_not_matter(place: str) -> None:
    """A least brood, a first pollen of the year before or after is the same one."""
    marks, brood = marks_at(place), draws_at(False)[0].brood
    pollen, least = marks.first_pollen - DAYS, (marks.least_brood[0] + DAYS, marks.least_brood[1] + DAYS)
    assert year_of(marks, figures(), brood) == year_of(
        replace(marks, first_pollen=pollen, least_brood=least), figures(), brood
    )


@pytest.mark.parametrize("place", PLACES)
def test_every_region_has_a_year_that_can_be(place: str) -> None:
    """The peak lies between first swarms and their end, the least in the least brood, drones only in their season."""
    marks, draw = marks_at(place), draws_at(marks_at(place).rarely_broodless)[0]
    year = year_of(marks, figures(), draw.brood)
    assert max(year.eggs) == pytest.approx(draw.brood.peak, rel=0.26)
    top = year.eggs.index(max(year.eggs))
    assert 0 <= top <= marks.after(marks.swarms[1]) - marks.origin
    middle = (marks.least_begins + 5 - marks.origin) % DAYS
    assert year.eggs[middle] == pytest.approx(min(year.eggs), abs=1e-6)
    assert 0 <= min(year.drones) <= max(year.drones) == pytest.approx(draw.brood.drones)
    assert sum(year.winter_cells) == marks.least_begins - marks.after(marks.winter_bees)
    assert all(0 <= share <= 1 for share in [*year.drones, *year.turning, *year.winter_die])


# Colonies -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("history", HISTORIES)
@pytest.mark.parametrize("place", PLACES)
def test_every_colony_has_bees_and_shares_that_can_be(place: str, history: str) -> None:
    one = colony_of(place, history, 7)
    assert min(one.bees) >= figures().bees.never_below
    assert max(one.bees) < 70000
    for worker, drone in zip(one.into_worker, one.into_drone, strict=True):
        assert 0 <= worker <= worker + drone < 1
    assert one.last == LAST


def test_a_year_of_running_in_is_enough() -> None:
    """Bees of a summer do not hang on how many there were a year before it began."""
    draw = draws_at(False)[3]
    one = colony(marks_at(ENGLAND), OVERWINTERED, figures(), draw, (FIRST, LAST))
    earlier = colony(marks_at(ENGLAND), OVERWINTERED, figures(), draw, (FIRST - DAYS, LAST))
    assert one.bees == pytest.approx(earlier.bees[DAYS:], rel=2e-3)


def test_bees_of_a_usual_colony_are_near_those_that_were_counted() -> None:
    """37,000 at the most, 13,000 in late September, in the west of Scotland (McLellan 1979); both are exceeded."""
    usual = draws.usual(figures(), False)
    one = colony(marks_at("scotland_north_england"), OVERWINTERED, figures(), usual, (FIRST, LAST))
    most = max(one.bees)
    assert 28000 <= most <= 45000
    assert day("06-15") <= one.first + one.bees.index(most) % DAYS <= day("08-20")


def test_a_cage_leaves_nothing_capped() -> None:
    """Laying stopped on 10 July: workers gone after 21 days, and capped again 9 days after the first eggs."""
    one, nest = colony_of(ENGLAND, "caged", 0), figures().nest
    stop, start = HISTORIES["caged"].pauses[0]
    gone, back = stop + nest.worker_open + nest.worker_capped, start + nest.worker_open
    brood = {one.first + t for t, has in enumerate(one.brood) if has}
    assert not brood & set(range(gone, back + 1))
    assert {gone - 1, back + 1} <= brood


def test_a_package_dwindles_until_its_own_bees_emerge() -> None:
    one, began = colony_of(ENGLAND, "package", 0), HISTORIES["package"].began
    assert began is not None
    first = began.day - one.first
    own = began.lays + figures().nest.worker_open + figures().nest.worker_capped - one.first
    assert all(a > b for a, b in zip(one.bees[first:own], one.bees[first + 1 : own], strict=False))
    assert one.bees[own + 40] > one.bees[own]


def test_what_leaves_is_missed_at_once_and_when_it_would_have_emerged() -> None:
    whole, split = colony_of(ENGLAND, "overwintered", 0), colony_of(ENGLAND, "split", 0)
    at = day("05-05") - whole.first
    assert split.bees[:at] == whole.bees[:at]
    assert split.bees[at] == pytest.approx(0.5 * whole.bees[at], rel=0.05)
    assert split.worker_cells[at] == pytest.approx(0.5 * whole.worker_cells[at])
    assert split.worker_cells[at + 9] == pytest.approx(whole.worker_cells[at + 9])


@given(st.sampled_from(PLACES), st.floats(3000, 30000), st.floats(0, 1), st.integers(FIRST + 60, LAST - 30))
@settings(max_examples=40, deadline=None)
def test_colonies_may_begin_on_any_day(place: str, bees: float, brood: float, on: int) -> None:
    marks = marks_at(place)
    draw = draws_at(marks.rarely_broodless)[5]
    one = colony(marks, History(Beginning(on, bees, brood, on + 3)), figures(), draw, (FIRST, LAST))
    assert one.runs_from == on
    # on its first day some have died, and some have emerged from the brood that it began with
    assert one.bees[on - one.first] >= bees * (1 - figures().bees.summer_die) or bees < figures().bees.never_below


def test_what_happened_to_a_colony_adds_up() -> None:
    whole = HISTORIES["split and caged"]
    assert (whole.left, whole.pauses) == (HISTORIES["split"].left, HISTORIES["caged"].pauses)
    with pytest.raises(ValueError, match="begins once"):
        histories.both(HISTORIES["package"], HISTORIES["nucleus"])
    with pytest.raises(ValueError, match="ends after it begins"):
        histories.without_eggs(day("07-10"), day("07-10"))


def test_a_nucleus_has_brood_at_once_and_a_package_has_none() -> None:
    for name, some in (("nucleus", True), ("package", False), ("swarm", False), ("queenless half", True)):
        one, began = colony_of(ENGLAND, name, 0), HISTORIES[name].began
        assert began is not None
        assert one.brood[began.day - one.first] is some, name


def test_a_colony_that_begins_after_the_last_day() -> None:
    with pytest.raises(ValueError, match="has no days until"):
        colony(
            marks_at(ENGLAND),
            History(Beginning(LAST + 1, 9000, 0, LAST + 4)),
            figures(),
            draws_at(False)[0],
            (FIRST, LAST),
        )


def test_rules_and_figures_are_those_that_ship() -> None:
    assert rules().mites.breeding.young_wait.value.usual == figures().nest.young_wait == 5
    assert YEAR == 2026
    assert isinstance(marks_at(ENGLAND), Marks)
