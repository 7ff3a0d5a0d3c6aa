"""What is the keeper's own: names of products, and who keeps the record of treatments.

In: an outfit's file, or a lone yard file, as shaped, with its tree. Out: names with the ids of their treatments, the
keeper, and complaints.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.outfit.outfit import Keeper
from ipmcal.model.outfit.yardfile import OutfitFile, YardFile
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.text import nearest, quoted
from ipmcal.reading.source.complaints import Complaint
from ipmcal.reading.source.yaml_source import Tree

OWN_KEYS = ("products", "keeper")
"""Keys of an outfit's file that a yard file may have only where it stands alone."""


def keeper_of(raw: OutfitFile | YardFile) -> Keeper:
    """Who keeps the bees, as far as it is told."""
    told = raw.keeper
    return Keeper(told.name or "", told.address or "", told.registration or "")


def product_complaints(raw: OutfitFile | YardFile, tree: Tree, book: Rulebook) -> Iterator[Complaint]:
    """Names that lead to no treatment, and names that are a treatment's own."""
    for name, treatment in raw.products.items():
        if treatment not in book.treatments:
            what = f"there is no treatment {quoted(treatment)}{nearest(treatment, sorted(book.treatments))}"
            yield Complaint.at(tree.place(("products", name)), f"products: {what}")
        elif name in book.treatments and name != treatment:
            what = f"{quoted(name)} is the name of another treatment; call yours something else"
            yield Complaint.at(tree.key(("products", name)), f"products: {what}")


def misplaced(raw: YardFile, tree: Tree) -> Iterator[Complaint]:
    """What stands in a yard file and belongs into the outfit's."""
    for key in OWN_KEYS:
        if key in raw.model_fields_set:
            yield Complaint.at(tree.key((key,)), f"{key}: is for all yards of an outfit; write it in outfit.yaml")
