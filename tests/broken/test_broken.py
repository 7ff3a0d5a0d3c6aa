"""One defect a file, and the words that the complaint must contain.

In: rule files, yard files and journals, each with one defect, and in their first line what is expected:
``# expect: LINE:COLUMN WORDS``. A rule file is laid over the shipped rules; a journal belongs to the yard below.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.yards import load

HERE = Path(__file__).parent
KINDS = ("methods", "regions", "programs", "jurisdictions", "thresholds", "treatments")
RULES = sorted(p for kind in KINDS for p in (HERE / kind).glob("*.yaml"))
YARDS = sorted((HERE / "yards").glob("*.yaml"))
JOURNALS = sorted((HERE / "journals").glob("*.csv"))
EXPECT = re.compile(r"# expect: (\d+:\d+) (.+)")

YARD = """\
yard: "Orchard"
place: {latitude: 42.11, longitude: -76.06, elevation: 260 m}
region: us_northeast
jurisdiction: us
program: full
colonies:
  - {key: 3, began: 2025 overwintered, hive: langstroth_10, boxes: [deep, deep], traps: {T1: 2}}
"""


def name(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def expected(file: Path) -> tuple[str, str]:
    first = file.read_text("utf-8").partition("\n")[0]
    match = EXPECT.fullmatch(first)
    assert match, f"{name(file)}: the first line has to be '# expect: LINE:COLUMN WORDS'"
    return match[1], match[2]


def assert_one(error: BadInput, file: Path, shown: str, root: Path) -> None:
    """One complaint, at its place, with its words, on one line, and without a path of the machine."""
    place, words = expected(file)
    assert len(error.complaints) == 1, str(error)
    said = str(error.complaints[0])
    assert said.startswith(f"{shown}:{place} "), said
    assert words in said
    assert "\n" not in said
    assert str(root) not in said


@pytest.mark.parametrize("file", RULES, ids=name)
def test_a_rule_file(file: Path, tmp_path: Path) -> None:
    own = tmp_path / "own" / file.parent.name
    own.mkdir(parents=True)
    shutil.copy(file, own)
    with pytest.raises(BadInput) as caught:
        load_rulebook(folder("rules"), tmp_path / "own")
    assert_one(caught.value, file, f"own/{name(file)}.yaml", tmp_path)


@pytest.mark.parametrize("file", YARDS, ids=name)
def test_a_yard_file(file: Path, tmp_path: Path, book: Rulebook) -> None:
    shutil.copy(file, tmp_path)
    with pytest.raises(BadInput) as caught:
        load(tmp_path / file.name, folder("rules"), book)
    assert_one(caught.value, file, file.name, tmp_path)


@pytest.mark.parametrize("file", JOURNALS, ids=name)
def test_a_journal(file: Path, tmp_path: Path, book: Rulebook) -> None:
    yard, journal = tmp_path / "orchard.yaml", tmp_path / "orchard.journal.csv"
    yard.write_text(YARD, "utf-8")
    journal.write_text("\n" + file.read_text("utf-8").partition("\n")[2], "utf-8")
    with pytest.raises(BadInput) as caught:
        load(yard, folder("rules"), book)
    assert_one(caught.value, file, "orchard.journal.csv", tmp_path)


def test_there_are_enough_of_them() -> None:
    assert len(RULES) + len(YARDS) + len(JOURNALS) >= 150
