"""Many draws at once are the same to the bit as each by itself: colonies, and the mites in them. Invented yards."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.mites.year_yards import begun, kept

from ipmcal.biology.mites.colony import History, Leaving, colony
from ipmcal.biology.mites.courses import handled
from ipmcal.biology.mites.draws import draws_for_choice, usual
from ipmcal.biology.mites.handling import UNHANDLED, MiteCourse, MiteReach, Trap
from ipmcal.biology.mites.run import Begin, Trace, run
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.many.colonies import colonies
from ipmcal.planning.many.runs import stacked
from ipmcal.planning.mites.accept import first_years, one_and_came
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
    rows = zip(lives, handlings, one_and_came(lives, done), first_years(lives, done), strict=True)
    for one, handling, (alone, came), young in rows:
        _are_equal(alone, one.run(1.0, 0.0, handling))
        _are_equal(came, one.run(0.0, one.coming, handling))
        assert came.all[-1] > 0
        if young is not None:
            made, trace = young
            begin = Begin(trace.first, one.drawn, stock.first + YEAR_DAYS)
            assert trace.all == run(stock.figures.nest, made, one.draw.lives, begin, one.coming, handling).all


def _are_equal(one: Trace, other: Trace) -> None:
    assert (one.all, one.on_bees, one.entered, one.cut) == (other.all, other.on_bees, other.entered, other.cut)


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
        assert colonies(stock.marks, history, stock.figures, draws, days) == each
        assert any(each[0].brood)
        assert not all(each[0].brood)


def test_draws_with_other_trap_combs_are_not_run_at_once() -> None:
    with pytest.raises(AssertionError):
        stacked([UNHANDLED, UNHANDLED.with_traps([Trap(LATE, LATE + 18)])])
