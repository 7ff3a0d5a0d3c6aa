"""What rule files say of counts: an authority's thresholds and sampling plan, and how counting itself is done.

In: mappings of ``Text`` from the reader. Out: frozen values. Checks that look beyond one file are in
``reading/rules/countcheck.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.count import Threshold, Unit
from ipmcal.model.values.fields import (
    Bounds,
    Cites,
    Closed,
    DaysSpan,
    Identifier,
    Identifiers,
    Prose,
    Proses,
    RuleFile,
    ThresholdField,
    YesNo,
    whole,
    written,
)
from ipmcal.model.values.forms import Amount, MonthDay, month_and_day
from ipmcal.model.values.labelforms import BeeFrames, Days, Grams, Percent, Plain, WarmthField, label_words
from ipmcal.model.values.text import quoted

Colonies = Annotated[int, *whole(1, 9999)]


def _period(text: str) -> tuple[MonthDay, MonthDay]:
    first, dots, last = text.partition("..")
    if not dots:
        raise ValueError(f"{quoted(text)} is not a period of the year; write its days, such as '07-01..07-31'")
    return month_and_day(first), month_and_day(last)


_PERIOD = r"[0-9]{2}-[0-9]{2}\.\.[0-9]{2}-[0-9]{2}"
Period = Annotated[
    tuple[MonthDay, MonthDay],
    *written(_period, "07-01..07-31", "the first and last day of a period, in any year", _PERIOD),
]

STEPS = ("silent", "watch", "treat", "at_once", "lost")
"""What an authority says from a level on, least first: nothing, look closer, treat, treat at once, it is late."""


class ThresholdRule(Closed):
    """An authority's levels for one unit and one time; without any condition they hold all year.

    ``phase``, ``days``, ``treatment`` (of this season's main treatment) and ``kind`` of colony all have to fit.
    ``without_brood``: they hold for colonies without brood too, which are not judged otherwise.
    """

    phase: Identifiers = ()
    days: Period | None = None
    treatment: Literal["before", "after"] | None = None
    kind: Identifiers = ()
    without_brood: YesNo = False
    silent: ThresholdField | None = None
    watch: ThresholdField | None = None
    treat: ThresholdField | None = None
    at_once: ThresholdField | None = None
    lost: ThresholdField | None = None
    note: Prose | None = None

    @property
    def steps(self) -> dict[str, Cited[Threshold]]:
        """The levels that it has, least first."""
        found = {name: getattr(self, name) for name in STEPS}
        return dict(sorted(((n, v) for n, v in found.items() if v), key=lambda item: _height(item[1].value)))

    @property
    def line(self) -> Cited[Threshold] | None:
        """The level from which the yard is treated; None where the authority gives none."""
        return self.treat or self.at_once

    @property
    def unit(self) -> Unit | None:
        """The unit of its levels; None where it has none."""
        return next((value.value.unit for value in self.steps.values()), None)


def _height(threshold: Threshold) -> tuple[object, ...]:
    return threshold.rate, threshold.above


class SampledColonies(Closed):
    """How many colonies of a yard are sampled: ``all``, or so many, in yards of ``up_to`` colonies (or any)."""

    up_to: Colonies | None = None
    sample: Plain | None = None
    all_: YesNo = Field(default=False, alias="all")


class SamplingPlan(Closed):
    """How an authority wants samples taken: of how many colonies, which, how much, where, how often. ``times`` are said
    of colonies that began as one of ``times_for`` (none named: of all)."""

    cite: Cites = ()
    colonies: tuple[SampledColonies, ...] = ()
    bees: Plain | None = None
    grams: Grams | None = None
    board: Days | None = None
    drone_cells: Plain | None = None
    choose: Prose | None = None
    where: Prose | None = None
    with_: Prose | None = Field(default=None, alias="with")
    a_year: Plain | None = None
    times: Proses = ()
    times_for: Identifiers = ()
    follow_up: Days | None = None


class FallFactor(Closed):
    """What the fall per day is multiplied by to guess at all mites in the colony."""

    days: Period | None = None
    factor: Plain


class Thresholds(RuleFile):
    """One authority's thresholds, its sampling plan, and its factors for the fall on a board.

    ``speaks_for``: the jurisdictions that it is an authority in; elsewhere its lines stand in, and print says so. With
    none, in all that name it.
    """

    title: Prose
    note: Prose | None = None
    speaks_for: Identifiers = ()
    thresholds: dict[Identifier, ThresholdRule] = Field(default_factory=dict)
    sampling: SamplingPlan | None = None
    fall_factors: tuple[FallFactor, ...] = ()


class Phase(Closed):
    """A phase of the colony's year, and the day on which it begins; the next one ends it."""

    title: Prose
    begins: Bounds


class Enough(Closed):
    """The smallest proper sample, in each unit."""

    bees: Plain
    grams: Grams
    board: Days
    drone_cells: Plain

    def of(self) -> Iterator[tuple[Unit, Cited[Amount]]]:
        """Each unit with its smallest sample."""
        yield from zip(Unit, (self.bees, self.grams, self.board, self.drone_cells), strict=True)


class Between(Closed):
    """A time between two days of the season."""

    opens: Bounds
    closes: Bounds


class Counting(RuleFile):
    """``counting.yaml``: phases of the year, what a proper sample is, and how a count is decided."""

    phases: dict[Identifier, Phase]
    confidence: Plain
    design_effect: Plain
    enough: Enough
    just_under: Plain
    last_before_winter: Between
    least_bees: BeeFrames
    combs_from: WarmthField
    after_broodless: DaysSpan
    together: Days
    recovery: dict[Identifier, Percent]


def sampling_words(plan: SamplingPlan, unit: Unit, kind: str, *, every: bool = False) -> str:
    """What a plan says of a count in a unit, in a colony of a kind: which hives, where, with what, how much, how often;
    "" for nothing.

    ``every``: it wants all hives of the yard sampled, and none is chosen.
    ``where`` and ``with`` are said of a sample in the hand: of bees, or of drone cells where the plan has only these.
    """
    unsaid: dict[str, object] = {"choose": None} if every else {}
    unsaid |= {"times": ()} if plan.times_for and kind not in plan.times_for else {}
    said = "; ".join(_parts(plan.model_copy(update=unsaid), unit))
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def _parts(plan: SamplingPlan, unit: Unit) -> Iterator[str]:
    amount = {Unit.GRAMS: plan.grams, Unit.DAYS: plan.board, Unit.DRONE_CELLS: plan.drone_cells}.get(unit)
    cells_only = plan.drone_cells is not None and plan.bees is None and plan.grams is None
    in_hand = (Unit.DRONE_CELLS,) if cells_only else (Unit.BEES, Unit.GRAMS)
    if unit is Unit.DRONE_CELLS and amount is None:
        return  # a plan of counts on bees says nothing of pupae
    if amount is not None:
        yield f"sample: {label_words(amount)}" + (" drone cells" if unit is Unit.DRONE_CELLS else "")
    if plan.choose:
        yield f"hives: {plan.choose}"
    if unit in in_hand:
        yield from (words for words in (plan.where, plan.with_ and f"with {plan.with_}") if words)
    if plan.times:
        yield f"when: {', '.join(plan.times)}"
    if plan.a_year is not None:
        yield f"{label_words(plan.a_year).replace('..', ' or more')} counts a year"
    if plan.follow_up is not None:
        yield f"again after a treatment: {label_words(plan.follow_up).replace('..', ' or more')}"
