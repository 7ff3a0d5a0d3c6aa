"""Many draws at once are the same to the bit as each by itself: colonies, and the mites in them. Invented yards."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.mites.year_yards import begun, kept

from ipmcal.biology.mites.colony import History, Leaving, colony
from ipmcal.biology.mites.draws import draws_for_choice
from ipmcal.biology.mites.handling import UNHANDLED, Trap
from ipmcal.biology.mites.run import Begin, run
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.mites.accept import first_years, one_and_came
from ipmcal.planning.mites.draws import Lived, Stock, lived
from ipmcal.planning.many.runs import colonies

STOCK = kept("us_northeast", "full").question.stock
LATE = STOCK.first + 200
STOCKS = {
    "with trap combs": STOCK,
    "that swarmed": replace(STOCK, history=History(left=(Leaving(STOCK.first + 90, 0.5, 0.0),)), traps=()),
    "that pauses": replace(STOCK, history=History(pauses=((LATE - 80, LATE - 50),)), traps=(Trap(LATE, LATE + 18),)),
    "of this season": begun("us_northeast", "package").question.stock,
}


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_runs_of_all_draws_are_the_runs_of_each(stock: Stock) -> None:
    lives = lived(stock, draws_for_choice(stock.figures, stock.marks.rarely_broodless))
    bare = UNHANDLED.with_traps(stock.traps)
    handlings = [
        bare.with_kept({LATE: 0.1 + n / 100, LATE + 3: 0.9}, {LATE: 0.5 - n / 100}) for n, _ in enumerate(lives)
    ]
    rows = zip(lives, handlings, one_and_came(lives, handlings), first_years(lives, handlings), strict=True)
    for one, handling, (alone, came), young in rows:
        told = one.run(1.0, 0.0, handling)
        assert (alone.all, alone.on_bees, alone.entered, alone.cut) == (
            told.all,
            told.on_bees,
            told.entered,
            told.cut,
        )
        late = _of(one, stock.first + one.opens, 0.0, handling)
        assert came.all == [0.0] * one.opens + late.all
        if young is not None:
            made, trace = young
            begin = Begin(trace.first, one.drawn, stock.first + YEAR_DAYS)
            assert trace.all == run(stock.figures.nest, made, one.draw.lives, begin, one.coming, handling).all


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_colonies_of_all_draws_are_the_colony_of_each(stock: Stock) -> None:
    draws = draws_for_choice(stock.figures, stock.marks.rarely_broodless)
    days = stock.first, stock.first + YEAR_DAYS
    for history in (stock.history, *([stock.young] if stock.young else [])):
        each = [colony(stock.marks, history, stock.figures, draw, days) for draw in draws]
        assert colonies(stock.marks, history, stock.figures, draws, days) == each
        assert any(each[0].brood)
        assert not all(each[0].brood)


def _of(one: Lived, first: int, mites: float, handling):  # type: ignore[no-untyped-def]
    begin = Begin(first, mites, one.stock.first + YEAR_DAYS)
    return run(one.stock.figures.nest, one.colony, one.draw.lives, begin, one.coming, handling)


def test_draws_with_other_trap_combs_are_not_run_at_once() -> None:
    lives = lived(STOCK, draws_for_choice(STOCK.figures, STOCK.marks.rarely_broodless))[:2]
    with pytest.raises(AssertionError):
        one_and_came(lives, [UNHANDLED, UNHANDLED.with_traps([Trap(LATE, LATE + 18)])])
