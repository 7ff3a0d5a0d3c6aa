"""What a treatment is said to do, checked: no share is missing, open or nothing, and the parts agree with each other.

In: a treatment as read, the places of its keys. Out: complaints.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.rules.effects import Efficacy
from ipmcal.model.rules.treatments import Treatment
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.forms import Amount
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Path_, Tree

ALL = 100.0
"""A whole, %."""


def effect_complaints(treatment: Treatment, tree: Tree) -> Iterator[Complaint]:
    """Everything that does not fit in the efficacy and the toll of a treatment, and of each of its labels."""
    common = treatment.common
    reaches = common.kills.in_cells.value == "yes"
    yield from _efficacy(common.efficacy, reaches, tree, ("common", "efficacy"))
    for name, label in treatment.labels.items():
        if label.efficacy is not None:
            yield from _efficacy(label.efficacy, reaches, tree, ("labels", name, "efficacy"))
    for part, path in ((common.toll, ("common", "toll")), (common.toll.hot, ("common", "toll", "hot"))):
        if part is None:
            continue
        if not part.said():
            what = f"{'.'.join(path)}: says no cost; write 'bees', 'brood', 'queens' or 'laying'"
            yield Complaint.at(tree.place(path), what)
        for value in part.said():
            yield from _closed(value)


def _closed(value: Cited[Amount]) -> Iterator[Complaint]:
    """A range has two ends, lies above nothing at its best, and a share is no more than all."""
    amount = value.value
    if amount.low is None or amount.high is None or amount.low < 0 or amount.high <= 0:
        yield Complaint.at(value.place, f"{value.key}: '{amount}' is open or nothing; write a range that ends above 0")
    elif amount.unit == "%" and amount.high > ALL:
        yield Complaint.at(value.place, f"{value.key}: '{amount}' is more than all")


def _efficacy(efficacy: Efficacy, reaches: bool, tree: Tree, path: Path_) -> Iterator[Complaint]:
    key = ".".join(map(str, path))
    for value in efficacy.shares():
        yield from _closed(value)
    if efficacy.any_ is None and (efficacy.broodless is None or efficacy.with_brood is None):
        what = f"{key}: lacks a share; write 'any', or both 'broodless' and 'with_brood'"
        yield Complaint.at(tree.place(path), what)
    if reaches and (efficacy.on_bees is None or efficacy.in_cells is None):
        what = f"{key}: it kills in cells: write both 'on_bees' and 'in_cells'"
        yield Complaint.at(tree.place(path), what)
    elif efficacy.in_cells is not None and not reaches:
        what = f"{key}.in_cells: 'kills' says that it does not reach mites in cells"
        yield Complaint.at(efficacy.in_cells.place, what)
    yield from _shape(efficacy, tree, path, key)


def _shape(efficacy: Efficacy, tree: Tree, path: Path_, key: str) -> Iterator[Complaint]:
    """A shape has one part for each day on which it acts, and its parts make a whole."""
    if not efficacy.shape:
        return
    span = efficacy.acts.value
    parts = [part.value for part in efficacy.shape]
    place = tree.place((*path, "shape"))
    if span is None:
        yield Complaint.at(place, f"{key}.shape: needs its days; write 'acts: 0..{len(parts) - 1} d'")
    elif span.high - span.low + 1 != len(parts):
        what = f"{key}.shape: has {len(parts)} parts, and it acts on {span.high - span.low + 1} days"
        yield Complaint.at(place, what)
    elif any(part < 0 for part in parts) or abs(sum(parts) - ALL) > 1e-9:
        yield Complaint.at(place, f"{key}.shape: its parts come to {sum(parts):.14g}, and have to make 100")
