"""Caged: the break in laying that a method of a yard's own orders, as work of the year that its courses are chosen in.

In: a yard's season, the day on which its year is asked for. Out: ``CagedBreak``, and which hives have their queen caged
for it. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence

from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.labels.standing import Standing
from ipmcal.planning.mites.base import break_by, cage_days, made_break, rounds_of
from ipmcal.planning.owed.caging import CagingOwed, cagings_owed
from ipmcal.planning.owed.ground import Ground


def break_to_come(ground: Ground, state: ColonyState, region: Region, days: Sequence[int]) -> CagedBreak | None:
    """The break that a hive's own method has to come, on the keeper's ``days`` that are left; None where it has none.

    About the method's best days; where these would not have its acid do late summer's work in its time, on days on
    which it does.
    """
    owed = next(cagings_owed(state, ground.yard, ground.season, ground.book), None)
    if owed is None:
        return None
    there = [day for day in days if day >= owed.fit_from]
    usual = _on_best_days(owed, there, ground.book)
    slot = next((one for one in rounds_of(region, ground.season) if one.name == "late_summer"), None)
    late = usual is None or (slot is not None and slot.by is not None and not slot.first <= usual.released <= slot.by)
    if not late:
        return usual
    near = owed.window.best if usual is None else usual.released
    return break_by(ground.book, ground.season, region, there, near) or usual


def _on_best_days(owed: CagingOwed, days: Sequence[int], book: Rulebook) -> CagedBreak | None:
    inside = [day for day in days if owed.window.opens <= day <= owed.window.closes]
    for caged in sorted(inside, key=lambda day: (abs(day - owed.window.best), day)):
        out = owed.let_out(caged, book)
        released = [day for day in days if out is not None and out.opens <= day <= out.closes]
        if released:
            return made_break(book, caged, released[0])
    return None


def to_be_caged(one: CagedBreak, ground: Ground, state: ColonyState) -> bool:
    """Whether a hive's queen is still to be caged for a break, on a day of the keeper's that is left."""
    first, last = cage_days(one, ground.book)
    owed = cagings_owed(state, ground.yard, ground.season, ground.book)
    return any(ground.days.between(max(first, ground.as_of, method.fit_from), last) for method in owed)


def was_caged(one: CagedBreak, standing: Standing, book: Rulebook) -> bool:
    """Whether a hive's queen was caged for a break: its own, as it was written, ends on its day."""
    first, last = cage_days(one, book)
    late = one.released - last
    return any(spell.pays and first <= spell.first - late <= last for spell in standing.brood)
