"""Caging: a method that shuts a hive's queen in and lets her out, as the hive owes it in a season. Pure.

In: a colony's state, its yard and season, the rules. Out: ``CagingOwed``, with the days of both steps.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.colony import ColonyState, Known
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.rules.methods import Method
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import Clockwork, opening, span_of
from ipmcal.planning.owed.fitness import fitness, methods_of
from ipmcal.planning.owed.ground import development

LET_OUT = "let_out"
"""How laying comes back after a line that cages a queen."""


@dataclass(frozen=True, slots=True)
class YearCagings:
    """The break in laying that a year's courses rest on (None: on none), and the ``hives`` whose queens are still to be
    caged for it, on a day from ``first`` to ``last``.
    """

    caged: CagedBreak | None = None
    hives: frozenset[str] = frozenset()
    first: int = 0
    last: int = 0


NO_CAGINGS = YearCagings()


@dataclass(frozen=True)
class CagingOwed:
    """A caging that a hive owes: its method, the window of its first step, the first day on which the hive is fit."""

    method: Method
    work: Clockwork
    window: Window
    fit_from: int

    def let_out(self, caged: int, book: Rulebook) -> Window | None:
        """When a queen who is caged on a day may be let out."""
        step = next(iter(self.method.steps.values()))
        known = Known(caged, Reason(Rule.PLANNED, step.logs, Span.exact(caged)))
        found = opening(self.work, self.method.steps[release_of(self.method, book)], {step.logs: known}, {})
        return None if found is None else found.window


def is_caging(method: Method, book: Rulebook) -> bool:
    """Whether a method begins with a queen who is caged, to be let out by a later step."""
    first = next(iter(method.steps.values()))
    return book.events[first.logs].laying_again == LET_OUT and bool(release_of(method, book))


def release_of(method: Method, book: Rulebook) -> str:
    """The step that lets her out; "" where there is none."""
    return next((name for name, step in method.steps.items() if book.effect(step.logs) == "starts_laying"), "")


def cagings_owed(state: ColonyState, yard: Yard, season: Season, book: Rulebook) -> Iterator[CagingOwed]:
    """The cagings that methods of a hive's own have for it, and that were not begun this season."""
    for name in methods_of(yard, state.colony.added, state.colony.declined, book):
        method = book.methods[name]
        if not is_caging(method, book):
            continue
        first = next(iter(method.steps.values()))
        fits, done = fitness(method, state, None, season, book), state.days.get(first.logs)
        if not fits.meant or fits.against or (done is not None and done.day >= season.first):
            continue
        work = Clockwork(season, method.clock, development(book.biology), method.seen)
        cage = opening(work, first, {}, {})
        if cage is not None:
            ready = state.began.day if fits.not_before is None else span_of(fits.not_before).usual
            yield CagingOwed(method, work, cage.window, ready)
