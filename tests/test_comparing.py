"""``ipmcal compare``: the table, the page, the data, and what it says to slips. In: the example yards."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from shutil import copy

import pytest
from command import ipmcal
from conftest import ROOT

from ipmcal.model.plan.compared import OddsByYear, ProgramYear
from ipmcal.model.plan.mites import LoadRange, MiteYear
from ipmcal.publishing.compared import ALIKE, are_alike, compared_html, compared_json, compared_rows
from ipmcal.saying.compared import compared_lines

FIRST = 739982


def year(program: str, low: float, median: float, high: float) -> ProgramYear:
    """A program whose hives carry so many mites in 100 bees when winter bees are reared."""
    load = LoadRange(low, median, high)
    mites = MiteYear(
        "yard", 2027, ("1", "2"), "overwintered", FIRST, (load,) * 365, (median,) * 365, (), (), (), (),
        (FIRST + 230, FIRST + 290), on_winter=load, untreated_on_winter=load,
    )  # fmt: skip
    odds = OddsByYear(0.2, 0.31, 0.44)
    return ProgramYear(program, program.title(), "yard", "Yard <1>", 2027, 12, 600, 5, 3, 0, (mites,), (odds,))


NEAR = (year("one", 1.0, 2.0, 6.0), year("other", 1.5, 3.4, 8.0))
APART = (year("one", 0.2, 0.5, 1.0), year("other", 3.0, 6.0, 9.0))


def test_two_programs_within_each_others_bands_are_not_told_apart() -> None:
    assert are_alike(NEAR)
    assert not are_alike(APART)
    assert ALIKE in list(compared_lines(NEAR))
    assert ALIKE not in list(compared_lines(APART))


def test_programs_that_leave_other_shares_of_hives_over_the_line_are_told_apart() -> None:
    """The load is read on one day, perhaps the one before a course: what the year comes to says more."""
    one, other = NEAR
    worse = replace(other, odds=(OddsByYear(0.7, 0.9, 1.0),))
    assert not are_alike((one, worse))
    assert are_alike((one, replace(other, odds=(OddsByYear(0.3, 0.4, 0.5),))))


def test_the_table_has_a_cell_for_each_program() -> None:
    rows = compared_rows(APART)
    assert all(len(row.cells) == 2 for row in rows)
    assert rows[0].cells == ("12", "12")
    said = {row.about: row.cells for row in rows}
    assert said["hives over the line, kept up for years (hives 1 and 2)"] == ("4 of 10", "4 of 10")


def test_without_a_line_nothing_is_said_of_being_over_it() -> None:
    lineless = tuple(replace(one, odds=(None,)) for one in APART)
    assert any("no line for mites on bees" in row.cells for row in compared_rows(lineless))


def test_lines_fit_on_a_screen() -> None:
    assert max(map(len, compared_lines(APART))) <= 100


def test_the_page_escapes_names_and_has_a_picture_for_each() -> None:
    html = compared_html([APART], FIRST, "letter")
    assert "Yard &lt;1&gt;" in html
    assert html.count("<svg") == 1, "two stand beside each other, on one scale"
    assert all(one.title in html.partition("<svg")[2] for one in APART)
    assert compared_html([(*APART, NEAR[0])], FIRST, "letter").count("<svg") == 3
    assert "size: Letter" in html


def test_the_data_can_be_read_back() -> None:
    data = json.loads(compared_json([APART]))["programs"]
    assert [one["program"] for one in data] == ["one", "other"]
    assert data[0]["odds"] == [{"this": 0.2, "next": 0.31, "settled": 0.44}]
    assert data[0]["mites"][0]["on_winter"] == {"low": 0.2, "median": 0.5, "high": 1.0}


# The command ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    copy(ROOT / "example_yards" / "first_season.yaml", tmp_path)
    return tmp_path


def test_the_command_prints_the_table_and_writes_nothing(garden: Path) -> None:
    words = ("compare", "first_season.yaml", "--program", "first_year", "--program", "counting_only")
    done = ipmcal(*words, "--as-of", "2027-04-01", cwd=garden)
    assert done.returncode == 0, done.stderr
    assert "Garden, season 2027" in done.stdout
    assert "First year" in done.stdout
    assert [path.name for path in garden.iterdir()] == ["first_season.yaml"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--program", "full"), "needs 2 to 4 programs, each once"),
        (("--program", "full", "--program", "full"), "needs 2 to 4 programs, each once"),
        (("--program", "full", "--program", "ful"), "there is no program 'ful'; there are: "),
        ((), "needs 2 to 4 programs, each once"),
    ],
)
def test_a_slip_is_one_line_and_exit_code_two(garden: Path, words: tuple[str, ...], said: str) -> None:
    done = ipmcal("compare", "first_season.yaml", *words, "--as-of", "2027-04-01", cwd=garden)
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert said in done.stderr
