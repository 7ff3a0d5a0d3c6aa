"""Years of random outfits, planned on twenty days each (``tests/years.py``): nothing is forgotten."""

from __future__ import annotations

import pytest
import yaml
from planted import ROOT
from scenes import SCENES, played
from sweeps import some_of
from years import HARVESTED, MANNERS, MORNINGS, Year

YEARS = some_of(18)
"""As many of each manner; ``tests/years.py`` lives as many as it is told."""
WITH_HARVEST = range(HARVESTED, HARVESTED + some_of(9))
"""The same in yards that name their harvest."""
AFTER = range(MORNINGS, MORNINGS + 3 * some_of(3), 3)
"""Planned on mornings after one of the keeper's days, by who does what comes."""


@pytest.mark.parametrize("number", [*range(YEARS), *WITH_HARVEST, *AFTER])
def test_a_year_is_lived_and_all_invariants_hold(number: int) -> None:
    lived = Year(number).live()
    assert lived.broke == ""
    assert lived.plans == 20


@pytest.mark.parametrize("scene", SCENES)
def test_a_scene_is_planned_and_all_invariants_hold(scene: str) -> None:
    assert played(scene) == ""


def test_every_planted_bug_has_its_place() -> None:
    """What ``tests/planted.py`` alters stands once in the file that it names: else nobody would see that it is gone."""
    bugs = yaml.safe_load((ROOT / "tests" / "planted.yaml").read_text(encoding="utf-8"))
    texts = {bug["file"]: (ROOT / bug["file"]).read_text(encoding="utf-8") for bug in bugs}
    assert [bug["family"] for bug in bugs if texts[bug["file"]].count(bug["old"]) != 1] == []
    assert [bug["scene"] for bug in bugs if bug.get("scene", next(iter(SCENES))) not in SCENES] == []


def test_the_three_manners_are_lived() -> None:
    assert {Year(number).lived.manner for number in range(YEARS)} == set(MANNERS)
