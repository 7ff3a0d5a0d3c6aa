"""The daily run: what comes in goes somewhere, nothing done makes more mites, and what is done late helps less."""

from __future__ import annotations

import itertools

import pytest
from biology.mite_places import day, figures, marks_at
from biology.mite_samples import HISTORIES, LAST, Case, cases, comings, courses, handlings, traps
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.biology.mites.handling import NOTHING, Course, Reach, Trap
from ipmcal.biology.mites.run import Begin, _Run

NEAR = 1e-9
ENGLAND = "england_south_midlands"


@given(st.data(), cases(), comings)
@settings(max_examples=150, deadline=None)
def test_mites_are_conserved_to_the_day(data: st.DataObject, case: Case, coming: float) -> None:
    """The last day is any day: on it, what began, was born, came in or was counted more is what is there or gone."""
    going = _Run(figures().nest, case.colony, case.draw.lives, case.begin)
    books = going.go(coming, data.draw(handlings(case))).books
    scale = books.start + books.born + books.came + abs(books.anchored)
    assert abs(books.amiss) <= NEAR * scale
    t = going.days
    inside = sum(going.workers[t:]) + sum(going.drones[t:])
    assert going.in_cells == pytest.approx(inside, abs=NEAR * scale)
    assert going.waiting == pytest.approx(sum(going.ready[t:]) * going.lived, abs=NEAR * scale)


@given(st.data(), cases(), comings)
@settings(max_examples=80, deadline=None)
def test_what_settles_is_what_began(data: st.DataObject, case: Case, coming: float) -> None:
    trace = case.run(coming, data.draw(handlings(case)))
    assert trace.all[0] == pytest.approx(case.begin.mites, rel=NEAR)
    assert len(trace.all) == len(trace.on_bees) == case.begin.last - case.begin.day + 1
    assert all(0 <= loose <= every * (1 + NEAR) for loose, every in zip(trace.on_bees, trace.all, strict=True))


@given(st.data(), cases(), comings, st.floats(0.1, 10))
@settings(max_examples=60, deadline=None)
def test_twice_the_mites_are_twice_the_mites(data: st.DataObject, case: Case, coming: float, times: float) -> None:
    handling = data.draw(handlings(case))
    one, many = case.run(coming, handling), case.run(coming * times, handling, times)
    assert many.all == pytest.approx([x * times for x in one.all], rel=NEAR)


@given(st.data(), cases(), comings, st.floats(0, 10))
@settings(max_examples=80, deadline=None)
def test_more_coming_in_never_lowers(data: st.DataObject, case: Case, coming: float, more: float) -> None:
    handling = data.draw(handlings(case))
    few, many = case.run(coming, handling), case.run(coming + more, handling)
    assert all(a <= b * (1 + NEAR) for a, b in zip(few.all, many.all, strict=True))


@given(st.data(), cases(), comings)
@settings(max_examples=80, deadline=None)
def test_nothing_that_is_done_raises(data: st.DataObject, case: Case, coming: float) -> None:
    """One course or one comb more, whatever else is done; a trap that is never cut changes nothing."""
    first, last = case.begin.day, case.begin.last
    before = data.draw(handlings(case))
    course = data.draw(courses(first, last))
    comb = data.draw(traps(first, last))
    alone = case.run(coming, before).all
    treated = case.run(coming, case.handled([course], before)).all
    assert all(a <= b * (1 + NEAR) for a, b in zip(treated, alone, strict=True))
    cut = case.run(coming, NOTHING.with_traps([comb])).all
    none = case.run(coming).all
    assert all(a <= b * (1 + NEAR) for a, b in zip(cut, none, strict=True))
    if comb.cut is None:
        assert cut == pytest.approx(none, rel=NEAR)


@given(st.data(), cases(histories=("overwintered", "swarmed", "split")), comings)
@settings(max_examples=120, deadline=None)
def test_a_trap_cut_later_than_its_first_drone_never_helps(data: st.DataObject, case: Case, coming: float) -> None:
    """Cut on the last good day, a day or more later, or never: each leaves no fewer mites than the one before."""
    nest = figures().nest
    laid = data.draw(st.integers(day("03-01"), day("08-01")))
    first_drone = laid + nest.drone_open + nest.drone_capped
    late = first_drone + data.draw(st.integers(0, 30))
    later = late + data.draw(st.integers(0, 10))
    begin = Begin(case.colony.runs_from, case.begin.mites, LAST)
    here = Case(case.place, case.history, case.i, begin)
    runs = [here.run(coming, NOTHING.with_traps([Trap(laid, cut)])) for cut in (first_drone - 1, late, later, None)]
    assert runs[0].books.cut >= runs[1].books.cut >= runs[2].books.cut >= runs[3].books.cut == 0
    after = later + 1 - begin.day
    for sooner, slower in itertools.pairwise(runs):
        assert all(a <= b * (1 + NEAR) for a, b in zip(sooner.all[after:], slower.all[after:], strict=True))
    if late >= first_drone + nest.drone_capped - 1:
        assert runs[1].books.cut == 0, "all of it is out"


@given(cases(), st.floats(0.05, 0.95), st.data())
@settings(max_examples=80, deadline=None)
def test_equal_kills_before_anything_comes_in_leave_equal_loads(case: Case, kills: float, data: st.DataObject) -> None:
    """Of products that reach cells: sooner or later, growth is in proportion, and so is what is left."""
    acts = len(figures().acting.in_cells_by_day)
    first = case.begin.day
    begin = Begin(first, case.begin.mites, LAST)
    here = Case(case.place, case.history, case.i, begin)
    soon = data.draw(st.integers(first, LAST - acts - 1))
    late = data.draw(st.integers(soon, LAST - acts - 1))
    one, other = (here.run(0.0, here.handled([Course(Reach.CELLS, on, 1, kills, kills)])) for on in (soon, late))
    after = late + acts - first
    assert one.all[after:] == pytest.approx(other.all[after:], rel=NEAR)
    assert one.all[-1] == pytest.approx(here.run().all[-1] * (1 - kills), rel=NEAR)


@given(st.data(), cases(), comings)
@settings(max_examples=50, deadline=None)
def test_the_order_of_courses_and_combs_is_irrelevant(data: st.DataObject, case: Case, coming: float) -> None:
    first, last = case.begin.day, case.begin.last
    some = data.draw(st.lists(courses(first, last), min_size=2, max_size=4))
    combs = data.draw(st.lists(traps(first, last), min_size=2, max_size=4))
    one = case.run(coming, case.handled(some, NOTHING.with_traps(combs)))
    other_courses, other_combs = data.draw(st.permutations(some)), data.draw(st.permutations(combs))
    other = case.run(coming, case.handled(other_courses, NOTHING.with_traps(other_combs)))
    assert one.all == pytest.approx(other.all, rel=NEAR)


def test_two_combs_in_two_slots_share_what_enters() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, day("08-01")))
    one, both = Trap(day("05-01"), day("05-24")), [Trap(day("05-01"), day("05-24"))] * 2
    alone, shared = case.run(0.0, NOTHING.with_traps([one])), case.run(0.0, NOTHING.with_traps(both))
    assert shared.books.cut == pytest.approx(alone.books.cut)
    half = case.run(0.0, NOTHING.with_traps([one, Trap(one.laid, None)]))
    assert half.books.cut == pytest.approx(alone.books.cut / 2)


def test_a_comb_cut_before_anything_is_capped_holds_no_mite() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, day("08-01")))
    open_days = figures().nest.drone_open
    for after, empty in ((open_days - 1, True), (open_days, False)):
        cut = case.run(0.0, NOTHING.with_traps([Trap(day("05-01"), day("05-01") + after)])).books.cut
        assert (cut == 0) is empty


def test_a_packages_mites_are_all_on_bees_until_its_first_cells_are_capped() -> None:
    case = Case(ENGLAND, "package", 0, Begin(day("04-15"), 120, day("06-01")))
    trace, capped = case.run(), HISTORIES["package"].began.lays + figures().nest.worker_open  # type: ignore[union-attr]
    until = capped - case.begin.day + 1
    assert trace.on_bees[:until] == trace.all[:until]
    assert trace.on_bees[until] < trace.all[until]


def test_a_swarm_takes_its_share_of_the_mites_on_bees() -> None:
    case = Case(ENGLAND, "swarmed", 0, Begin(day("01-01"), 100, day("05-21")))
    trace, on = case.run(), day("05-20") - day("01-01")
    assert trace.books.left == pytest.approx(figures().beginnings.swarm_takes * trace.on_bees[on])


def test_mites_run_only_on_days_that_a_colony_has() -> None:
    case = Case(ENGLAND, "package", 0, Begin(day("04-14"), 120, day("06-01")))
    with pytest.raises(ValueError, match="the colony has days"):
        case.run()
    assert marks_at(ENGLAND).rarely_broodless is False


@pytest.mark.parametrize(("low", "high", "days"), [(0.5, 1.0, 5), (-0.1, 0.5, 5), (0.6, 0.5, 5), (0.5, 0.6, 0)])
def test_a_course_that_can_not_be(low: float, high: float, days: int) -> None:
    with pytest.raises(ValueError, match="a course"):
        Course(Reach.CONTACT, 0, days, low, high)
