"""Many draws at once are the same to the bit as each by itself: colonies, and the mites in them. Invented yards."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from planning.mites.year_yards import begun, kept

from ipmcal.biology.mites.colony import History, Leaving, colony
from ipmcal.biology.mites.courses import handled, hazard
from ipmcal.biology.mites.draws import draws_for_choice, usual
from ipmcal.biology.mites.handling import UNHANDLED, MiteCourse, MiteReach, Trap
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.many.colonies import colonies
from ipmcal.planning.many.columns import columns_among, columns_of_lists
from ipmcal.planning.many.courses import handled_by_draw
from ipmcal.planning.many.hazards import hazards_at_once
from ipmcal.planning.many.loads import loads_on, washed
from ipmcal.planning.many.runs import ManyBegin, ManyColonies, runs, stacked
from ipmcal.planning.mites.accept import first_years, one_and_came, years
from ipmcal.planning.mites.living.hazards import Hazards, handled_at_once
from ipmcal.planning.mites.living.lived import Lived, Stock, lived

STOCK = kept("us_northeast", "full").question.stock
LATE = STOCK.first + 200
STOCKS = {
    "with trap combs": STOCK,
    "that swarmed": replace(STOCK, history=History(left=(Leaving(STOCK.first + 90, 0.5, 0.0),)), traps=()),
    "that pauses": replace(STOCK, history=History(pauses=((LATE - 80, LATE - 50),)), traps=(Trap(LATE, LATE + 18),)),
    "of this season": begun("us_northeast", "package").question.stock,
}
YOUNG = STOCKS["of this season"].young
assert YOUNG is not None
assert YOUNG.began is not None
SOON = YOUNG.began.day + 40
STOCKS["of this season that swarmed"] = replace(
    STOCKS["of this season"],
    young=History(YOUNG.began, ((SOON, SOON + 20),), (Leaving(SOON, 0.5, 0.1),)),
)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_runs_of_all_draws_are_the_runs_of_each(stock: Stock) -> None:
    lives = lived(stock, draws_for_choice(stock.figures, stock.marks.rarely_broodless))
    bare = UNHANDLED.with_traps(stock.traps)
    handlings = [
        bare.with_kept({LATE: 0.1 + n / 100, LATE + 3: 0.9}, {LATE: 0.5 - n / 100}) for n, _ in enumerate(lives)
    ]
    done = stacked(handlings)
    both, young = one_and_came(lives, done), first_years(lives, done)
    assert both.traces() == [both.trace(n) for n in range(2 * len(lives))]
    for n, (one, handling) in enumerate(zip(lives, handlings, strict=True)):
        came = both.trace(len(lives) + n)
        _are_equal(both.trace(n), one.run(1.0, 0.0, handling))
        _are_equal(came, one.run(0.0, one.coming, handling))
        assert came.all[-1] > 0
        if young is not None:
            made, trace = young[0].colony(n), young[1].trace(n)
            begin = Begin(trace.first, one.drawn, stock.first + YEAR_DAYS)
            assert trace.all == run(stock.figures.nest, made, one.draw.lives, begin, one.coming, handling).all


@pytest.mark.parametrize("times", [1, 3])
def test_counts_scale_each_draw_by_its_own_factor(times: int) -> None:
    """Hives that go through the same, each with its own counts, beside one another."""
    lives = lived(STOCK, draws_for_choice(STOCK.figures, STOCK.marks.rarely_broodless))
    bare = UNHANDLED.with_traps(STOCK.traps).with_kept({LATE: 0.4}, {LATE: 0.9})
    factors = [{LATE - 9 * k: 0.2 + n / 50} for k in range(times) for n, _ in enumerate(lives)]
    columns = columns_of_lists([one.colony for one in lives])
    many = ManyColonies(STOCK.figures.nest, columns, [one.draw.lives for one in lives]).repeated(times)
    begin = ManyBegin((STOCK.first, STOCK.first + YEAR_DAYS - 1), [50.0] * len(factors), [1.5] * len(factors))
    found = runs(many, begin, stacked([bare] * len(lives)).repeated(times).with_anchors(factors))
    for one, counted, trace in zip(lives * times, factors, found.traces(), strict=True):
        single, done = Begin(begin.days[0], 50.0, begin.days[1]), replace(bare, anchors=counted)
        _are_equal(trace, run(STOCK.figures.nest, one.colony, one.draw.lives, single, 1.5, done))


@pytest.mark.parametrize(
    "course",
    [
        MiteCourse(MiteReach.CONTACT, LATE, 42, 0.75, 0.98, 0),
        MiteCourse(MiteReach.CONTACT, LATE, 20, 0.90, 0.999, 1),
        MiteCourse(MiteReach.CONTACT, LATE, 30, 0.0, 0.0, 0),
        MiteCourse(MiteReach.CONTACT, LATE + 500, 30, 0.5, 0.6, 0),
        MiteCourse(MiteReach.CELLS, LATE, 7, 0.6, 0.95, 0),
        MiteCourse(MiteReach.DOSE, LATE, 1, 0.9, 0.97, 2),
    ],
    ids=["strips", "short strips", "nothing", "beyond its days", "formic", "dose"],
)
def test_a_course_does_in_many_draws_what_it_does_in_each(course: MiteCourse) -> None:
    lives = lived(STOCK, draws_for_choice(STOCK.figures, STOCK.marks.rarely_broodless))
    made, draws = [one.colony for one in lives], [one.draw for one in lives]
    many = ManyColonies(STOCK.figures.nest, columns_of_lists(made), [draw.lives for draw in draws])
    before = [UNHANDLED.with_kept({LATE: 0.5 + n / 100}) for n, _ in enumerate(lives)]
    found = handled_by_draw(stacked(before), [course], STOCK.figures, many, draws)
    alone = [handled(one, [course], STOCK.figures, c, d) for one, c, d in zip(before, made, draws, strict=True)]
    for n, (one, was) in enumerate(zip(alone, before, strict=True)):
        assert {day: kept[n] for day, kept in found.on_bees.items()} == one.on_bees
        assert {day: kept[n] for day, kept in found.in_cells.items()} == one.in_cells
        works = min(one.on_bees.values()) < min(was.on_bees.values())
        assert works == (course.low > 0 and course.first < LATE + 400)


def test_loads_of_many_draws_are_those_of_each() -> None:
    lives = lived(STOCK, draws_for_choice(STOCK.figures, STOCK.marks.rarely_broodless))
    columns = columns_of_lists([one.colony for one in lives])
    many = ManyColonies(STOCK.figures.nest, columns, [one.draw.lives for one in lives])
    last = STOCK.first + YEAR_DAYS - 1
    begin = ManyBegin((STOCK.first + 30, last), [50.0] * len(lives), [1.5] * len(lives))
    traces = runs(many, begin, stacked([UNHANDLED] * len(lives)))
    for n, (one, days) in enumerate(zip(lives, washed(columns, traces, 1.5), strict=True)):
        at = STOCK.first + 30 - one.colony.first
        rows = list(zip(traces.trace(n).on_bees, one.colony.bees[at:], one.colony.brood[at:], strict=False))
        assert days == [100.0 * mites / bees * (1.5 if brood else 1.0) for mites, bees, brood in rows]
        assert loads_on(columns, traces, last)[n] == rows[-1][0] / rows[-1][1]
        assert {brood for _, _, brood in rows} == {False, True}


def _are_equal(one: Trace, other: Trace) -> None:
    assert (one.all, one.on_bees, one.entered, one.cut) == (other.all, other.on_bees, other.entered, other.cut)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_what_is_judged_of_all_draws_is_what_is_judged_of_each(stock: Stock) -> None:
    rarely = stock.marks.rarely_broodless
    lives = lived(stock, draws_for_choice(stock.figures, rarely))
    strips = MiteCourse(MiteReach.CONTACT, LATE - 4, 30, 0.7, 0.95, 3)
    made = years(lives, [strips], Hazards(Lived(stock, usual(stock.figures, rarely))))
    days = [stock.first + day for day in (5, 120, 204, 300, 364)]
    settled = np.minimum(made.settled_free, 600.0)
    assert settled.tolist() == [year.settled(600.0) for year in made]
    assert made.loads(settled, days).T.tolist() == [year.loads(year.settled(600.0), days) for year in made]
    assert made.this_loads(days).T.tolist() == [year.this_loads(days) for year in made]
    assert list(made.winter_brood) == [year.this_winter_brood() for year in made]
    assert made.ends.tolist() == [year.end for year in made]
    assert made.factors.tolist() == [year.factor for year in made]
    assert min(made.winter_brood) > 0


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_hazards_of_many_courses_are_the_hazards_of_each(stock: Stock) -> None:
    one = Lived(stock, usual(stock.figures, stock.marks.rarely_broodless))
    edges = [(stock.first + YEAR_DAYS - 10, 10), (stock.first - 1, 30)]
    lies = [(LATE - 4, 30), (LATE - 90, 42), (LATE - 90, 3), (LATE + 20, 7), *edges]
    asked = [
        (MiteCourse(MiteReach.CONTACT, first, days, 0.5, 0.99, 0), kill)
        for first, days in lies
        for kill in (0.0, 0.5, 0.9, 0.9999)
    ]
    each = [hazard(course, kill, stock.figures, one.colony, one.draw) for course, kill in asked]
    assert hazards_at_once(asked, stock.figures, one.colony, one.draw) == each
    assert each.count(0.0) == len(lies) - 1 + 4
    assert stock.figures.acting.most_a_day in each


def test_courses_of_all_draws_are_the_courses_of_each() -> None:
    lives = lived(STOCK, draws_for_choice(STOCK.figures, STOCK.marks.rarely_broodless))
    hazards = Hazards(Lived(STOCK, usual(STOCK.figures, STOCK.marks.rarely_broodless)))
    quick = [
        MiteCourse(MiteReach.CELLS, LATE, 1, 0.6, 0.9, 1),
        MiteCourse(MiteReach.DOSE, LATE, 1, 0.8, 0.95, 2),
        MiteCourse(MiteReach.DOSE, LATE + 7, 1, 0.8, 0.95, 2),
    ]
    strips = MiteCourse(MiteReach.CONTACT, LATE - 4, 30, 0.7, 0.95, 3)
    done = handled_at_once(lives, [strips, *quick], hazards)
    for n, one in enumerate(lives):
        told = handled(UNHANDLED, quick, STOCK.figures, one.colony, one.draw)
        daily = hazards.of(strips, [one.draw.kill(strips.low, strips.high, strips.luck)], [one])[0]
        told = told.with_kept(dict.fromkeys(range(strips.first, strips.first + strips.days), 1.0 - daily))
        assert {day: kept[n] for day, kept in done.on_bees.items()} == told.on_bees
        assert {day: kept[n] for day, kept in done.in_cells.items()} == told.in_cells
        assert 0 < daily < 1


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_colonies_of_all_draws_are_the_colony_of_each(stock: Stock) -> None:
    draws = draws_for_choice(stock.figures, stock.marks.rarely_broodless)
    days = stock.first, stock.first + YEAR_DAYS
    for history in (stock.history, *([stock.young] if stock.young else [])):
        each = [colony(stock.marks, history, stock.figures, draw, days) for draw in draws]
        at_once = colonies(stock.marks, history, stock.figures, draws, days)
        assert [at_once.colony(n) for n in range(len(draws))] == each
        other = columns_of_lists(each[:3])
        assert [columns_among([(at_once, 2), (at_once, 0)]).colony(n) for n in range(2)] == [each[2], each[0]]
        assert [columns_among([(at_once, 4), (other, 1)]).colony(n) for n in range(2)] == [each[4], each[1]]
        assert columns_of_lists(each).twice.colony(len(draws) + 1) == each[1]
        assert any(each[0].brood)
        assert not all(each[0].brood)


def test_draws_with_other_trap_combs_are_not_run_at_once() -> None:
    with pytest.raises(AssertionError):
        stacked([UNHANDLED, UNHANDLED.with_traps([Trap(LATE, LATE + 18)])])
