"""The interview: answers are checked one by one, and what comes out passes the check."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.yards.answers import boxes, degrees, weekdays
from ipmcal.reading.yards.interview import interview
from ipmcal.reading.yards.newyard import NewYard, nearest_regions, yard_text
from ipmcal.reading.yards.yards import load

GOOD = [
    *("Home", "43.1", "-76.2", "620 ft", "", "", "sat sun", "full", "2"),
    *("1", "2027-05-01 package", "", "", ""),
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
        (3, "190", "190 of what? Write '190 m' or '190 ft'"),
        (6, "someday", "'someday' is not a weekday"),
        (7, "best", "there is no 'best'"),
        (8, "none", "'none' is not a number of hives"),
        (10, "last week", "is not a way to begin"),
        (10, "1 May package", "'1 May' lacks its year"),
        (12, "shed", "this hive has no box 'shed'"),
        (14, "1", "'1' is taken"),
        (18, "7", "'7' is not 0, 1 or 2"),
    ],
)
def test_a_wrong_answer_is_explained_and_asked_again(book: Rulebook, at: int, wrong: str, said: str) -> None:
    _, questions, words = asked(book, [*GOOD[:at], wrong, *GOOD[at:]])
    assert questions[at] == questions[at + 1]
    assert any(said in line for line in words), words


@pytest.mark.parametrize("answer", ["1 May 2027 package", "1.5.2027 package", "Sat 1 May 2027 package"])
def test_a_date_may_be_written_as_anywhere_else(book: Rulebook, answer: str) -> None:
    assert asked(book, [*GOOD[:10], answer, *GOOD[11:]])[0].colonies[0].began == "2027-05-01 package"


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


def test_a_region_whose_season_can_t_be_moved_there_is_neither_offered_nor_taken(book: Rulebook) -> None:
    """South-eastern Victoria (from an atlas): California lies as far from the equator, on its other side."""
    offered = [name for name, _ in nearest_regions(book, -38.2, 146.5)]
    assert offered
    assert all(book.regions[name].place.latitude < 0 for name in offered)
    answers = ["Home", "-38.2", "146.5", "70 m", "us_california_central_valley", "au_nsw", "au", *GOOD[6:]]
    yard, _, said = asked(book, answers)
    assert yard.region == "au_nsw"
    assert any("other side of the equator" in line for line in said)


def test_names_with_quotes_and_line_ends_come_out_safe(book: Rulebook, tmp_path: Path) -> None:
    yard, _, _ = asked(book, ['Bob\'s "old" yard: # 1\\', *GOOD[1:]])
    path = tmp_path / "odd.yaml"
    path.write_text(yard_text(yard, book, path.name))
    assert load(path, folder("rules"), book).outfit.yards[0].name == 'Bob\'s "old" yard: # 1\\'


def test_a_place_at_once_clumsy_days_and_hives_like_the_last(book: Rulebook) -> None:
    answers = ["Home", "42.45, -76.50", "620 ft", "", "", "weekends", "first_year", "3"]
    answers += ["1", "a nuc on 8 May 2027", "", "2 deeps", "", "same as the last"]
    answers += ["", "2026 wintered", "", "deep, 1 medium"]
    yard, questions, _ = asked(book, answers)
    assert (yard.latitude, yard.longitude, yard.days) == ("42.45", "-76.50", ("sat", "sun"))
    assert not any("trap" in question for question in questions), "this program cuts none"
    assert [(c.key, c.began, c.boxes) for c in yard.colonies] == [
        ("1", "2027-05-08 nucleus", ("deep", "deep")),
        ("2", "2027-05-08 nucleus", ("deep", "deep")),
        ("3", "2026 overwintered", ("deep", "medium")),
    ]


def test_a_sign_that_can_t_be_is_asked_again_and_taken_the_second_time(book: Rulebook) -> None:
    mended, questions, said = asked(book, ["Home", "42.45", "76.5", "42.45", "-76.5", *GOOD[3:]])
    assert mended.longitude == "-76.5"
    assert [q.split()[1] for q in questions[1:5]] == ["latitude", "longitude"] * 2
    assert any("42.45, -76.5 would be in" in line for line in said)
    stubborn, *_ = asked(book, ["Home", "10 N, 10 E", "10, 10", *GOOD[3:]])
    assert (stubborn.latitude, stubborn.longitude) == ("10", "10")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("42.45, -76.50", ["42.45", "-76.50"]),
        ("42.45 N 76.5 W", ["42.45", "-76.5"]),
        ("36.8 S", ["-36.8"]),
        ("-76.5", ["-76.5"]),
        ("north", []),
    ],
)
def test_degrees_as_they_are_typed(typed: str, said: list[str]) -> None:
    assert degrees(typed) == said


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("weekends", ["sat", "sun"]),
        ("Saturday and Sundays", ["sat", "sun"]),
        ("weekdays", ["mon", "tue", "wed", "thu", "fri"]),
        ("every day", ["any"]),
        ("whenever", ["whenever"]),
    ],
)
def test_days_as_they_are_typed(typed: str, said: list[str]) -> None:
    assert weekdays(typed) == said


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("2 deeps", ["deep", "deep"]),
        ("two deeps and a medium", ["deep", "deep", "medium"]),
        ("2x deep", ["deep", "deep"]),
        ("deep medium", ["deep", "medium"]),
        ("shed", ["shed"]),
    ],
)
def test_boxes_as_they_are_typed(typed: str, said: list[str]) -> None:
    assert boxes(typed, ("deep", "medium")) == said
