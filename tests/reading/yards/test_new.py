"""The interview: answers are checked one by one, and what comes out passes the check."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.yards.interview import interview
from ipmcal.reading.yards.newyard import NewYard, nearest_regions, yard_text
from ipmcal.reading.yards.yards import load

GOOD = [
    *("Home", "43.1", "-76.2", "620 ft", "", "", "sat sun", "", "2"),
    *("1", "2027-05-01 package", "", ""),
    *("", "2026 overwintered", "", "", "2"),
]


def asked(book: Rulebook, answers: list[str]) -> tuple[NewYard, list[str], list[str]]:
    waiting: Iterator[str] = iter(answers)
    questions: list[str] = []
    said: list[str] = []

    def ask(question: str, default: str) -> str:
        questions.append(question)
        return next(waiting)

    return interview(ask, said.append, book), questions, said


def test_plain_answers_make_a_file_that_passes_the_check(book: Rulebook, tmp_path: Path) -> None:
    yard, questions, _ = asked(book, GOOD)
    assert len(questions) == len(GOOD)
    path = tmp_path / "home.yaml"
    path.write_text(yard_text(yard, book, path.name))
    colonies = load(path, folder("rules"), book).outfit.yards[0].colonies
    assert [(c.key, c.kind, len(c.traps)) for c in colonies] == [("1", "package", 0), ("2", "overwintered", 2)]


def test_feet_become_metres(book: Rulebook) -> None:
    assert asked(book, GOOD)[0].elevation == "189 m"  # 620 ft x 0.3048 m, the international foot (BIPM)


@pytest.mark.parametrize(
    ("at", "wrong", "said"),
    [
        (0, "", "a yard needs a name"),
        (1, "north", "degrees"),
        (2, "200", "degrees"),
        (3, "high", "not an elevation"),
        (4, "us_northest", "did you mean 'us_northeast'?"),
        (5, "usa", "did you mean 'us'?"),
        (6, "saturday", "'saturday' is not a weekday"),
        (7, "best", "there is no 'best'"),
        (8, "none", "'none' is not a number of hives"),
        (10, "last week", "is not a way to begin"),
        (12, "shed", "this hive has no box 'shed'"),
        (13, "1", "'1' is taken"),
        (17, "7", "'7' is not 0, 1 or 2"),
    ],
)
def test_a_wrong_answer_is_explained_and_asked_again(book: Rulebook, at: int, wrong: str, said: str) -> None:
    _, questions, words = asked(book, [*GOOD[:at], wrong, *GOOD[at:]])
    assert questions[at] == questions[at + 1]
    assert any(said in line for line in words), words


def test_the_nearest_region_is_offered_first(book: Rulebook) -> None:
    """Places from an atlas: Rochester NY, Leeds, Hamilton NZ, Bozeman MT (from memory, to a tenth of a degree)."""
    for latitude, longitude, region in (
        (43.2, -77.6, "us_northeast"),
        (53.8, -1.5, "england_south_midlands"),
        (-37.8, 175.3, "nz_north_island"),
        (39.6, -105.9, "us_intermountain"),
    ):
        assert nearest_regions(book, latitude, longitude)[0][0] == region


def test_a_region_across_the_equator_is_never_first(book: Rulebook) -> None:
    assert book.regions[nearest_regions(book, -5.0, -80.0)[0][0]].place.latitude < 0


def test_names_with_quotes_and_line_ends_come_out_safe(book: Rulebook, tmp_path: Path) -> None:
    yard, _, _ = asked(book, ['Bob\'s "old" yard: # 1\\', *GOOD[1:]])
    path = tmp_path / "odd.yaml"
    path.write_text(yard_text(yard, book, path.name))
    assert load(path, folder("rules"), book).outfit.yards[0].name == 'Bob\'s "old" yard: # 1\\'
