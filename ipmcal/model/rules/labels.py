"""Which label holds where, and which of its steps put in, take out and end."""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.effects import Efficacy
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Label, Treatment


def label_holder(treatment: Treatment, jurisdiction: str, book: Rulebook) -> str | None:
    """Whose label holds in a jurisdiction: its own, or that of the nearest one it lies within; None where none does.

    Nor where the file says that there is none (``without``), there or on the way outward.
    """
    seen: set[str] = set()
    place: str | None = jurisdiction
    while place is not None and place not in seen and place not in treatment.without:
        if place in treatment.labels:
            return place
        seen.add(place)
        place = book.jurisdictions[place].within if place in book.jurisdictions else None
    return None


def label_for(treatment: Treatment, jurisdiction: str, book: Rulebook) -> Label | None:
    """The label that holds in a jurisdiction, what it copies filled in; None: there is none, so it is not allowed."""
    holder = label_holder(treatment, jurisdiction, book)
    return None if holder is None else treatment.labels[holder]


def efficacy_of(treatment: Treatment, label: Label) -> Efficacy:
    """What a course by this label kills: as the label's own block says, else as the substance does."""
    return label.efficacy or treatment.common.efficacy


def applications(label: Label, book: Rulebook) -> Iterator[str]:
    """The steps at which something is given, first to last."""
    return _with_effect(label, book, "treats", "strips_in")


def removals(label: Label, book: Rulebook) -> Iterator[str]:
    """The steps at which something is taken out for good, first to last."""
    return _with_effect(label, book, "strips_out")


def last_step(label: Label, book: Rulebook) -> str:
    """The step that ends the course: the last removal, or the last application where nothing is removed."""
    return [*applications(label, book), *removals(label, book)][-1]


def _with_effect(label: Label, book: Rulebook, *effects: str) -> Iterator[str]:
    return (name for name, step in label.steps.items() if book.events[step.logs].effect in effects)


def same_pack(one: str, other: str, book: Rulebook) -> bool:
    """Whether two treatments, by name, are one product, used in one way or in two. What is unknown is itself."""
    packs = [book.treatments[n].pack or n if n in book.treatments else n for n in (one, other)]
    return packs[0] == packs[1]


def treatment_of(method: str, book: Rulebook) -> str:
    """The treatment of a course, by the name of its method: ``thymol_gel_2`` is a second course of ``thymol_gel``.

    "" where there is none.
    """
    if method in book.treatments:
        return method
    head, _, number = method.rpartition("_")
    return head if number.isdigit() and head in book.treatments else ""
