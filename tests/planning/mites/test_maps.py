"""What holds for maps of a year and the sets composed of them, on made-up years."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.mites.small_years import Small, lived, small_year

from ipmcal.planning.mites.maps import MappedCourse, composed, loads, maps_of
from ipmcal.planning.mites.order import KeeperCosts, in_bands, keepers
from ipmcal.planning.mites.search import bases, row_of

SEEDS = st.integers(0, 100_000)
FEW = settings(max_examples=40, deadline=None)


def compatible(small: Small) -> tuple[int, ...]:
    """Courses that lie one behind another."""
    chosen: list[int] = []
    for i in sorted(range(len(small.courses)), key=lambda i: small.courses[i].begins):
        if all(small.courses[j].ends <= small.courses[i].begins for j in chosen):
            chosen.append(i)
    return tuple(chosen)


@FEW
@given(SEEDS)
def test_states_and_harm_are_those_of_a_year_lived_day_by_day(seed: int) -> None:
    small = small_year(seed)
    chosen = compatible(small)
    row, start = row_of(small.field, chosen), small.draws.start
    made = composed(small.field.maps, row)
    read = loads(small.field.maps, row, start[None, :])
    for n, x in enumerate(start):
        mites, harm, on = lived(small, chosen, n, float(x))
        assert made.a[0, n] * x + made.b[0, n] == pytest.approx(mites)
        assert made.c[0, n] * x + made.d[0, n] == pytest.approx(harm)
        for k, day in enumerate(small.field.maps.looks):
            assert read[0, k, n] == pytest.approx(on[int(day)] * small.draws.reads[n, day])


@FEW
@given(SEEDS, st.floats(1.0, 5.0))
def test_more_that_comes_in_never_lowers_anything(seed: int, more: float) -> None:
    small = small_year(seed)
    draws = replace(small.draws, coming=small.draws.coming * more)
    looks = [int(day) for day in small.field.maps.looks]
    row, start = row_of(small.field, compatible(small)), small.draws.start
    before, after = composed(small.field.maps, row), composed(maps_of(draws, small.courses, looks), row)
    assert (after.harms(start) >= before.harms(start)).all()
    assert (after.settled(600.0) >= before.settled(600.0) - 1e-9).all()


@FEW
@given(SEEDS)
def test_a_course_more_never_raises_a_load(seed: int) -> None:
    small = small_year(seed)
    chosen = compatible(small)
    start = small.draws.start[None, :]
    read = [loads(small.field.maps, row_of(small.field, chosen[:n]), start) for n in range(1, len(chosen) + 1)]
    for fewer, more in pairwise(read):
        assert (more <= fewer + 1e-12).all()


@FEW
@given(SEEDS, st.floats(0.05, 0.95), st.integers(0, 5), st.integers(10, 20))
def test_equal_kills_before_anything_comes_in_leave_equal_years(seed: int, kept: float, early: int, late: int) -> None:
    small = small_year(seed)
    draws = replace(small.draws, coming=small.draws.coming * (np.arange(small.draws.days) > 25))
    lives = np.full((len(draws.start), 1), kept)
    courses = [MappedCourse("0", day, day + 1, lives) for day in (early, late)]
    made = composed(maps_of(draws, courses, []), np.array([[0], [1]]))
    assert made.a[0] == pytest.approx(made.a[1])
    assert made.b[0] == pytest.approx(made.b[1])


@FEW
@given(SEEDS, st.randoms(use_true_random=False))
def test_the_order_of_candidates_changes_no_choice(seed: int, chance: object) -> None:
    small = small_year(seed)
    n = len(small.courses)
    places = list(range(n))
    chance.shuffle(places)  # type: ignore[attr-defined]
    back = {old: new for new, old in enumerate(places)}
    field, looks = small.field, [int(day) for day in small.field.maps.looks]

    def moved(rows: object) -> np.ndarray:
        return np.array([back[int(i)] for i in rows], dtype=np.intp)  # type: ignore[attr-defined]

    turned = replace(
        field,
        maps=maps_of(small.draws, [small.courses[i] for i in places], looks),
        slots=tuple(moved(slot) for slot in field.slots),
        wide=tuple(moved(slot) for slot in field.wide),
        further=moved(field.further),
        apart=field.apart[np.ix_(places, places)],
        caps=tuple((flags[places], most) for flags, most in field.caps),
        costs=tuple(field.costs[i] for i in places),
    )
    here, there = bases(field), bases(turned)
    assert [(s.harm, s.over) for s in here] == [(s.harm, s.over) for s in there]


def test_the_keepers_order_is_that_of_the_rule() -> None:
    cheap, liked = KeeperCosts(3, "acid"), KeeperCosts(0, "acid")
    assert keepers([cheap]) > keepers([liked]), "products as liked"
    assert keepers([replace(liked, lost=1)]) > keepers([cheap]), "the harvest before all"
    assert keepers([liked, liked]) > keepers([liked, replace(liked, class_="oil")]), "another class than last time"
    assert keepers([liked], "acid") > keepers([liked], "oil")
    assert keepers([replace(liked, others=1)]) > keepers([liked]), "one product in the yard"


def test_bands_come_one_after_another() -> None:
    dear, liked = [KeeperCosts(2, "a")], [KeeperCosts(0, "b")]
    assert in_bands([1.0, 1.19, 1.3], [dear, liked, liked], 0.2) == [1, 0, 2]
