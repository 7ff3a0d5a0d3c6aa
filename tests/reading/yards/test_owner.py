"""The keeper's own: names of products, and who keeps the record; in the outfit's file, or in a lone yard file."""

from __future__ import annotations

from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Keeper
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.yards import Loaded, load

YARD = """\
yard: "Orchard"
place: {{latitude: 42.11, longitude: -76.06, elevation: 260 m}}
region: us_northeast
jurisdiction: us
program: full
{more}
colonies:
  - {{key: 3, began: 2025 overwintered, hive: langstroth_10, boxes: [deep, deep]}}
"""
OWN = 'products: {Streifen: amitraz_strip, Träufeln: oxalic_trickle}\nkeeper: {name: "A. B.", registration: 007}'
LINES = "date,yard,colony,event,value,note\n2027-08-14,orchard,3,strips_in,Streifen 2 lot K21 by AB,\n"


def outfit(where: Path, book: Rulebook, head: str, yard: str = "", journal: str = LINES) -> Loaded:
    (where / "outfit.yaml").write_text(f'outfit: fernhill\nname: "Fernhill"\n{head}', "utf-8")
    (where / "orchard.yaml").write_text(YARD.format(more=yard), "utf-8")
    (where / "journal.csv").write_text(journal, "utf-8")
    return load(where, folder("rules"), book)


def test_in_the_outfits_file(tmp_path: Path, book: Rulebook) -> None:
    found = outfit(tmp_path, book, OWN).outfit
    assert found.products == {"Streifen": "amitraz_strip", "Träufeln": "oxalic_trickle"}
    assert found.keeper == Keeper("A. B.", "", "007")
    assert found.treatment("Streifen") == "amitraz_strip"
    assert found.treatment("thymol_gel") == "thymol_gel"
    assert found.journal is not None
    assert found.journal[0].value == "Streifen 2 lot K21 by AB"


def test_in_a_lone_yard_file(tmp_path: Path, book: Rulebook) -> None:
    (tmp_path / "orchard.yaml").write_text(YARD.format(more=OWN), "utf-8")
    (tmp_path / "orchard.journal.csv").write_text(LINES, "utf-8")
    found = load(tmp_path / "orchard.yaml", folder("rules"), book).outfit
    assert found.keeper.name == "A. B."
    assert found.products["Träufeln"] == "oxalic_trickle"


def test_none_of_it_is_needed(tmp_path: Path, book: Rulebook) -> None:
    found = outfit(tmp_path, book, "", journal=LINES.replace("Streifen", "amitraz_strip")).outfit
    assert (dict(found.products), found.keeper) == ({}, Keeper())


@pytest.mark.parametrize(
    ("head", "yard", "journal", "words"),
    [
        ("", "", LINES, "journal.csv:2:32 value: 'strips_in': 'Streifen' is not a treatment that is known"),
        (OWN, "products: {Gel: thymol_gel}", LINES, "orchard.yaml:6:1 products: is for all yards of an outfit"),
        (OWN, "keeper: {name: X}", LINES, "orchard.yaml:6:1 keeper: is for all yards of an outfit"),
        ("products: {Gel: thymol}", "", "", "outfit.yaml:3:17 products: there is no treatment 'thymol'"),
    ],
)
def test_what_does_not_fit(head: str, yard: str, journal: str, words: str, tmp_path: Path, book: Rulebook) -> None:
    with pytest.raises(BadInput) as caught:
        outfit(tmp_path, book, head, yard, journal)
    (complaint,) = caught.value.complaints
    assert words in str(complaint)
