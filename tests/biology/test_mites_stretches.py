"""Courses, harm, and the four numbers a stretch that the search counts with."""

from __future__ import annotations

import pytest
from biology.mite_places import day, figures
from biology.mite_samples import LAST, PLACES, Case, cases, comings, courses
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ipmcal.biology.mites.courses import handled, solved
from ipmcal.biology.mites.handling import UNHANDLED, MiteCourse, MiteReach, Trap
from ipmcal.biology.mites.harm import bee_days, harm, harmed_days, with_mite
from ipmcal.biology.mites.run import Begin
from ipmcal.biology.mites.stretches import MiteStretch, Untreated, kept_by_day, untreated, works

NEAR = 1e-8
ENGLAND = "england_south_midlands"


def to_end(case: Case) -> Case:
    return Case(case.place, case.history, case.i, Begin(case.begin.day, case.begin.mites, LAST))


def untreated_of(case: Case, coming: float) -> Untreated:
    return untreated(case.colony, case.run(coming), coming, figures())


@given(st.data(), cases(), comings)
@settings(max_examples=60, deadline=None)
def test_a_stretch_is_what_the_days_come_to(data: st.DataObject, case: Case, coming: float) -> None:
    """Mites exactly, harm as the sum of the days'."""
    case = to_end(case)
    trace, one = case.run(coming), untreated_of(case, coming)
    start = data.draw(st.integers(case.begin.day, LAST))
    end = data.draw(st.integers(start, LAST))
    stretch, x = one.between(start, end), trace.at(start)
    assert stretch.mites(x) == pytest.approx(trace.at(end), rel=NEAR)
    days = range(start - one.first, end - one.first)
    assert stretch.harm(x) == pytest.approx(sum(one.harm[t] * trace.all[t] for t in days), rel=1e-6, abs=1e-6)


@given(st.lists(st.builds(MiteStretch, *[st.floats(0, 10)] * 4), min_size=3, max_size=3), st.floats(0, 100))
def test_stretches_compose(three: list[MiteStretch], x: float) -> None:
    a, b, c = three
    whole = a.then(b).then(c)
    assert whole.mites(x) == pytest.approx(c.mites(b.mites(a.mites(x))))
    assert whole.harm(x) == pytest.approx(a.harm(x) + b.harm(a.mites(x)) + c.harm(b.mites(a.mites(x))))
    assert a.then(b.then(c)).mites(x) == pytest.approx(whole.mites(x))


@given(st.data(), cases(), comings)
@settings(max_examples=60, deadline=None)
def test_what_reaches_cells_is_the_same_in_both(data: st.DataObject, case: Case, coming: float) -> None:
    """Alike on bees and in cells: exact until mites come in that it did not meet."""
    case = to_end(case)
    acts = len(figures().acting.in_cells_by_day)
    course = data.draw(courses(case.begin.day, LAST - acts, (MiteReach.CELLS,)))
    kill = case.draw.kill(course.low, course.high, course.luck)
    trace, one = case.run(0.0), untreated_of(case, 0.0)
    treated = case.run(0.0, case.handled([course]))
    end = course.first + acts - 1
    mapped = works(one, course, kill, figures()).then(one.between(end, LAST))
    assert mapped.mites(trace.at(course.first)) == pytest.approx(treated.at(LAST), rel=NEAR)
    both = case.run(coming, case.handled([course]))
    met = untreated_of(case, coming)
    near = works(met, course, kill, figures()).then(met.between(end, LAST)).mites(case.run(coming).at(course.first))
    assert near == pytest.approx(both.at(LAST), rel=0.35)


@given(st.data(), cases())
@settings(max_examples=60, deadline=None)
def test_a_contact_product_kills_over_its_days_what_it_is_said_to(data: st.DataObject, case: Case) -> None:
    case = to_end(case)
    course = data.draw(courses(case.begin.day, LAST - 60, (MiteReach.CONTACT,)))
    kill = case.draw.kill(course.low, course.high, course.luck)
    assume(kill > 0)
    after = course.first + course.days
    begin = Case(case.place, case.history, case.i, Begin(course.first, 100, after))
    handling = begin.handled([course])
    trace = begin.run(0.0, handling)
    left = trace.all[-1] / (trace.all[-1] + trace.books.killed)  # as trials reckon: of those killed and those that live
    most = 1 - figures().acting.most_a_day
    if handling.on_bees[course.first] > most + 1e-9:
        assert left == pytest.approx(1 - kill, rel=1e-4)
    else:
        assert left >= (1 - kill) * (1 - 1e-4), "no strip does more on a day"


@pytest.mark.parametrize("place", PLACES)
def test_strips_that_leave_next_to_nothing(place: str) -> None:
    """No rounding leaves less than no mite, with brood or without, and a hazard is found there too."""
    for on in range(day("01-05"), day("12-01"), 15):
        case = Case(place, "caged", 0, Begin(on, 1.0, on + 42))
        trace = case.run(0.0, UNHANDLED.with_kept(dict.fromkeys(range(on, on + 42), 0.1)))
        assert all(0 < loose <= every * (1 + NEAR) for loose, every in zip(trace.on_bees, trace.all, strict=True))
        assert 0.1 <= case.handled([MiteCourse(MiteReach.CONTACT, on, 42, 0.9, 0.9)]).on_bees[on] < 1


def test_a_hazard_is_solved_for_and_capped() -> None:
    assert solved(lambda h: 0.0 if h else 1.0, 0.5, 0.9, 1) < 1e-6, "all gone at once"
    assert solved(lambda h: 1 - h, 0.25, 0.9, 1) == pytest.approx(0.75, rel=1e-5)
    assert solved(lambda h: (1 - h) ** 42, 0.1, 0.9, 42) == pytest.approx(1 - 0.1 ** (1 / 42), rel=1e-5)
    assert solved(lambda h: 1 - h, 0.05, 0.9, 1) == 0.9


def test_a_dose_takes_those_on_bees_only() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, LAST))
    for on, broodless in (("12-05", True), ("06-15", False)):
        dose = MiteCourse(MiteReach.DOSE, day(on), 1, 0.95, 0.95)
        one, trace = untreated_of(case, 0.0), case.run()
        (kept,) = kept_by_day(one, dose, 0.95, figures()).values()
        loose = trace.on_bees[day(on) - trace.first] / trace.at(day(on))
        assert kept == pytest.approx(1 - 0.95 * loose)
        assert (loose == pytest.approx(1)) is broodless
        books = case.run(0.0, case.handled([dose])).books
        assert books.killed == pytest.approx(0.95 * loose * trace.at(day(on)))


@given(st.data(), cases(), comings)
@settings(max_examples=40, deadline=None)
def test_harm_is_a_share_and_no_more_than_in_proportion_to_mites(
    data: st.DataObject, case: Case, coming: float
) -> None:
    case = to_end(case)
    start = data.draw(st.integers(case.begin.day, LAST))
    days, lives = (start, data.draw(st.integers(start, LAST))), figures().lives
    trace, one = case.run(coming), untreated_of(case, coming)
    at = slice(days[0] - one.first, days[1] + 1 - one.first)
    assert 0 <= harm(case.colony, trace, lives, days) <= 1
    in_proportion = sum(h * x for h, x in zip(one.harm[at], trace.all[at], strict=True))
    assert harmed_days(case.colony, trace, lives, days) <= in_proportion * (1 + NEAR) + 1e-9
    assert sum(one.reared[at]) == pytest.approx(bee_days(case.colony, lives, days))


def test_few_mites_do_harm_in_proportion() -> None:
    """The linear measure is the full one where cells with two mites are rare."""
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 0.01, LAST))
    days = (day("01-01"), day("12-31"))
    one, full = untreated_of(case, 0.0), harmed_days(case.colony, case.run(), figures().lives, days)
    assert one.between(days[0], days[1] + 1).harm(0.01) == pytest.approx(full, rel=1e-3)


def test_winter_brood_with_a_mite_counts_winter_brood_only() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, LAST))
    days = (day("01-01"), day("12-31"))
    trace = case.run()
    late, every = with_mite(case.colony, trace, days), with_mite(case.colony, trace, days, winter=False)
    assert 0 < every < late < 1


def test_reading_is_that_of_a_wash() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, LAST))
    one, trace, here = untreated_of(case, 0.0), case.run(), case.colony
    for on, factor in (("07-01", figures().weighing.wash_reads), ("12-05", 1.0)):
        t, i = day(on) - one.first, day(on) - here.first
        assert one.reads[t] * trace.all[t] == pytest.approx(factor * trace.on_bees[t] / here.bees[i])


def test_the_days_of_a_stretch_lie_within_the_run() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, day("03-01")))
    one = untreated_of(case, 0.0)
    for start, end in ((day("01-01") - 1, day("02-01")), (day("02-01"), day("01-31")), (day("02-01"), day("03-02"))):
        with pytest.raises(ValueError, match="does not lie within"):
            one.between(start, end)


def test_traps_of_the_class_are_part_of_its_untreated_run() -> None:
    case = Case(ENGLAND, "overwintered", 0, Begin(day("01-01"), 100, LAST))
    combs = UNHANDLED.with_traps([Trap(day("05-01"), day("05-23"))])
    trace = case.run(0.0, combs)
    one = untreated(case.colony, trace, 0.0, figures())
    assert one.between(day("01-01"), day("10-01")).mites(100) == pytest.approx(trace.at(day("10-01")))
    assert handled(combs, [], figures(), case.colony, case.draw) == combs
