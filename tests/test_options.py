"""``ipmcal options`` from end to end."""

from __future__ import annotations

from pathlib import Path

import pytest
from command import ipmcal

from ipmcal.data import folder

YARDS = Path(__file__).parent.parent / "example_yards"


def test_every_treatment_of_the_rules_is_named_for_one_hive() -> None:
    done = ipmcal("options", str(YARDS / "hollow_lane"), "3", "--on", "14 Aug 2027", "--as-of", "2027-06-01")
    assert done.returncode == 0
    assert done.stdout.startswith("Orchard, begun on Sat 14 Aug 2027: what the rule files say\n")
    titles = [path.read_text(encoding="utf-8").partition('title: "')[2].partition('"')[0] for path in treatments()]
    assert len(titles) > 10
    for title in titles:
        assert title in done.stdout


def treatments() -> list[Path]:
    return sorted((folder("rules") / "treatments").glob("*.yaml"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("99",), "hollow_lane:0:0 there is no hive '99' in it"),
        (("3", "--on", "someday"), "--on"),
    ],
)
def test_what_it_can_not_answer_is_a_complaint(words: tuple[str, ...], says: str) -> None:
    done = ipmcal("options", str(YARDS / "hollow_lane"), *words, "--as-of", "2027-06-01")
    assert done.returncode == 2
    assert done.stdout == ""
    assert says.split(" ", 1)[-1] in done.stderr


def test_a_hive_to_come_is_asked_about_as_it_will_stand_on_the_day(tmp_path: Path) -> None:
    """The example's hive begins on 1 May 2027: before, the keeper is told so; for a day from then on, answered."""
    path = str(YARDS / "first_season.yaml")
    early = ipmcal("options", path, "--on", "2027-04-01", "--as-of", "2027-01-10", columns=300)
    assert early.returncode == 2
    assert "no hive stands there on 1 Apr 2027: 1 begins on 1 May 2027" in early.stderr
    done = ipmcal("options", path, "--on", "2027-08-14", "--as-of", "2027-01-10")
    assert done.returncode == 0, done.stderr
    assert "begun on Sat 14 Aug 2027: what the rule files say" in done.stdout
