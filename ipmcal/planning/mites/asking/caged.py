"""Caged: a question with breaks in laying that are work of its year, and without. In: ``YearQuestion``. Out: the same.

Pure. Labels, walls and the model of mites all know of a caging by what is put together here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ipmcal.biology.mites.colony import History
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.planning.mites.asking.question import BreaksIf, YearQuestion
from ipmcal.planning.mites.base import caging_of, nothing_capped_in


def with_cagings(asked: YearQuestion, breaks: Sequence[CagedBreak], breaks_if: BreaksIf = "always") -> YearQuestion:
    """The question with these breaks, and no other caging to come."""
    free = unbroken(asked)
    pauses = tuple((one.caged, one.lays) for one in breaks)
    spells, cagings = (nothing_capped_in(one) for one in breaks), (caging_of(one, asked.book) for one in breaks)
    standing = replace(free.standing, brood=(*free.standing.brood, *spells), cagings=tuple(cagings))
    stock, young = free.stock, free.stock.young
    stock = replace(
        stock,
        history=_paused(stock.history, (*stock.history.pauses, *pauses)),
        young=None if young is None else _paused(young, (*young.pauses, *pauses)),
    )
    return replace(free, breaks=tuple(breaks), breaks_if=breaks_if, standing=standing, stock=stock)


def unbroken(asked: YearQuestion) -> YearQuestion:
    """The question without its breaks in laying: no queen is caged for them."""
    spells = {nothing_capped_in(one) for one in asked.breaks}
    brood = tuple(spell for spell in asked.standing.brood if spell not in spells)
    pauses = {(one.caged, one.lays) for one in asked.breaks}
    stock, young = asked.stock, asked.stock.young
    stock = replace(
        stock,
        history=_paused(stock.history, [p for p in stock.history.pauses if p not in pauses]),
        young=None if young is None else _paused(young, [p for p in young.pauses if p not in pauses]),
    )
    return replace(asked, breaks=(), standing=replace(asked.standing, brood=brood, cagings=()), stock=stock)


def _paused(history: History, pauses: Sequence[tuple[int, int]]) -> History:
    return replace(history, pauses=tuple(pauses))
