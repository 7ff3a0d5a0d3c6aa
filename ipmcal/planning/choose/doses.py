"""Doses: what a hive gets of a treatment on the days of a course, and what its label says of it in figures."""

from __future__ import annotations

from dataclasses import dataclass

from ipmcal.model.plan.verdict import Use, Verdict
from ipmcal.model.rules.rulebook import cited_values
from ipmcal.model.rules.treatments import Label
from ipmcal.model.values.cited import Basis


@dataclass(frozen=True, slots=True)
class Figures:
    """What a label comes to: how many figures of its limits and dose rest on memory or are assumed; minutes of work."""

    memory: int = 0
    minutes: int = 0


def figures(label: Label) -> Figures:
    """The figures of a label."""
    parts = (label.limits, label.dose, label.withdrawal)
    values = [value for part in parts if part is not None for value in cited_values(part)]
    memory = sum(bool({c.basis for c in v.cites} & {Basis.MEMORY, Basis.ASSUMPTION}) for v in values)
    return Figures(memory, round(sum(step.minutes.value.middle for step in label.steps.values())))


NO_FIGURES = Figures()


@dataclass(frozen=True, slots=True)
class Dose:
    """What a hive gets for a need; ``treatment`` None: nothing that its labels allow. ``supers_off``: by that day."""

    key: str
    treatment: str | None
    use: Use | None = None
    verdict: Verdict | None = None
    supers_off: int | None = None
    figures: Figures = NO_FIGURES
