"""How an authority wants a sample taken, in its own words, for the sheet.

In: an authority's sampling plan, the unit of a count. Out: a sentence.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.thresholds import SamplingPlan
from ipmcal.model.values.count import Unit
from ipmcal.model.values.labelforms import label_words


def sampling_words(plan: SamplingPlan, unit: Unit) -> str:
    """What a plan says of a count in a unit: which hives, where, with what, how much, how often; "" for nothing.

    ``where`` and ``with`` are said of a sample in the hand: of bees, or of drone cells where the plan has only these.
    """
    said = "; ".join(_parts(plan, unit))
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def _parts(plan: SamplingPlan, unit: Unit) -> Iterator[str]:
    amount = {Unit.GRAMS: plan.grams, Unit.DAYS: plan.board, Unit.DRONE_CELLS: plan.drone_cells}.get(unit)
    cells_only = plan.drone_cells is not None and plan.bees is None and plan.grams is None
    in_hand = (Unit.DRONE_CELLS,) if cells_only else (Unit.BEES, Unit.GRAMS)
    if amount is not None:
        yield f"sample: {label_words(amount)}" + (" drone cells" if unit is Unit.DRONE_CELLS else "")
    if plan.choose:
        yield f"hives: {plan.choose}"
    if unit in in_hand:
        yield from (words for words in (plan.where, plan.with_ and f"with {plan.with_}") if words)
    if plan.times:
        yield f"when: {', '.join(plan.times)}"
    if plan.a_year is not None:
        yield f"a year: {label_words(plan.a_year).replace('..', ' or more')}"
    if plan.follow_up is not None:
        yield f"again after a treatment: {label_words(plan.follow_up).replace('..', ' or more')}"
