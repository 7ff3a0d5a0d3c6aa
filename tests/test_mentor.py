"""A July round of a club: counts come back as messages, and the mentor's page has those in need first."""

from __future__ import annotations

import csv
import io
import json
import os
from datetime import date
from pathlib import Path

import pytest
from clubs import made_club, planned, sheets, spoken_day

from ipmcal.journaling.messaging import Post, take
from ipmcal.model.values.rows import as_meant
from ipmcal.model.values.signs import printed_code
from ipmcal.publishing.lists.mentor import MentorRow, mentor_csv, mentor_html, mentor_text, urgent_first

MAY, JULY = date(2027, 5, 10).toordinal(), date(2027, 8, 2).toordinal()
SIZE = int(os.environ.get("CLUB", "20"))
"""So many keepers; ``CLUB=60 pytest tests/test_mentor.py`` asks it of sixty."""
KEEPERS = [f"Keeper {number:02}" for number in range(SIZE)]
HEARD, OVER = KEEPERS[: SIZE * 8 // 15], KEEPERS[: SIZE * 3 // 10]
BOTH = HEARD[: len(HEARD) * 25 // 32]
"""Of sixty 32 are heard of, 18 of them are over the line, and 25 counted both hives: 57 counts."""


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Keepers in May; in July counts of half of them, some of them over any authority's line (30 in 300)."""
    folder = tmp_path_factory.mktemp("club")
    club = made_club(folder, KEEPERS, MAY)
    messages = []
    for name in HEARD:
        sheet = [one for one in sheets(club, name.lower().replace(" ", "_")) if one.day < JULY][-1]
        found = "30/300" if name in OVER else "0/300"
        lines = f"1 {found}, 2 {found}" if name in BOTH else f"1 {found}"
        messages.append(f"{printed_code(sheet.code)} {spoken_day(sheet.day)}: {lines}")
    answers = list(take("\n\n".join(messages), "pasted", Post(club, JULY)))
    assert sum(one.written for one in answers) == len(HEARD) + len(BOTH)
    return planned(folder, JULY)


@pytest.fixture(scope="module")
def page(club: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO((club / "mentor.csv").read_text())))


def test_those_over_the_line_stand_first_with_their_numbers(page: list[dict[str, str]]) -> None:
    assert len(page) == SIZE
    assert sorted(row["keeper"] for row in page[: len(OVER)]) == OVER
    assert all(row["over the line"] and row["phone"].startswith("555 ") for row in page[: len(OVER)])
    assert [row["keeper"] for row in page[len(OVER) :] if row["over the line"]] == []


def test_silence_is_said_and_never_done(club: Path, page: list[dict[str, str]]) -> None:
    silent = [row["keeper"] for row in page if row["not heard of"].startswith("at all yet")]
    assert sorted(silent) == KEEPERS[len(HEARD) :]
    folders = [club / name.lower().replace(" ", "_") for name in silent]
    assert [folder.name for folder in folders if (folder / "journal.csv").exists()] == []
    tasks = [task for folder in folders for task in json.loads((folder / "data" / "plan.json").read_text())["tasks"]]
    assert len(tasks) > len(silent)
    assert [task["id"] for task in tasks if task["status"] == "done"] == []


def row(**more: str | int) -> MentorRow:
    return MentorRow(**{"rank": 9, "day": JULY, "heard": 0, "keeper": "Ada", **more})


def test_of_equals_the_one_who_is_silent_longest_stands_first() -> None:
    rows = [row(keeper="C", heard=JULY), row(keeper="B", heard=JULY - 9), row(keeper="A", rank=0, heard=JULY)]
    assert [one.keeper for one in urgent_first(rows)] == ["A", "B", "C"]


def test_no_cell_is_a_formula_and_no_name_is_markup() -> None:
    bad = row(keeper="=cmd()", phone="+44 1", over="<b>x</b>")
    (read,) = csv.DictReader(io.StringIO(mentor_csv([bad])))
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in read.values())
    assert as_meant(read["keeper"]) == "=cmd()"
    assert "<b>x</b>" not in mentor_html([bad])
    assert "over the line: <b>x</b>" in mentor_text([bad])
