"""Messages of a club's keepers become lines of their journals: what is sure is written once, the rest is asked."""

from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from clubs import journal, made_club, sheets, spoken_day

from ipmcal.journaling.messaging import Post, PostAnswer, take
from ipmcal.model.values.signs import printed_code

PLANNED, TODAY = date(2027, 5, 10).toordinal(), date(2027, 5, 20).toordinal()


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made_club(tmp_path_factory.mktemp("printed"), ["Ada", "Bo"], PLANNED)


@pytest.fixture
def club(printed: Path, tmp_path: Path) -> Path:
    """A copy of the club: what a test writes is its own."""
    return Path(shutil.copytree(printed, tmp_path / "club"))


def said(club: Path, keeper: str, lines: str) -> str:
    """A message of a keeper's first sheet, as printed."""
    sheet = sheets(club, keeper)[0]
    return f"{printed_code(sheet.code)} {spoken_day(sheet.day)}: {lines}"


def taken(club: Path, text: str, **more: bool) -> list[PostAnswer]:
    return list(take(text, "messages.txt", Post(club, TODAY, **more)))


def test_a_message_is_written_to_its_keeper_once(club: Path) -> None:
    text = said(club, "ada", "1 9/300, 2 4/300")
    (answer,) = taken(club, text)
    assert (answer.who, answer.phone, answer.written, answer.questions) == ("Ada", "555 0001", 2, ())
    lines = journal(club, "ada")
    assert [line.split(",")[2:5] for line in lines] == [["1", "count", "9/300"], ["2", "count", "4/300"]]
    assert journal(club, "bo") == []
    (again,) = taken(club, text)
    assert (again.written, again.questions, journal(club, "ada")) == (0, (), lines)


def test_what_is_sure_is_written_and_the_rest_asked(club: Path) -> None:
    (answer,) = taken(club, said(club, "bo", "1 9/300, 2 done"))
    assert answer.written == 1
    (question,) = answer.questions
    assert "line 2 done" in question
    assert "what was counted" in question
    assert [line.split(",")[2] for line in journal(club, "bo")] == ["1"]


def test_sixty_pasted_at_once_go_each_to_its_own(club: Path) -> None:
    texts = [said(club, "ada", "1 9/300"), "K7C3 hello", said(club, "bo", "2 0/300"), said(club, "ada", "2 1/300")]
    answers = taken(club, "\n\n".join(texts))
    assert [(one.who, one.written, len(one.questions)) for one in answers] == [
        ("Ada", 1, 0),
        ("nobody", 0, 1),
        ("Bo", 1, 0),
        ("Ada", 1, 0),
    ]


def test_a_form_s_csv_is_read_too(club: Path) -> None:
    sheet = sheets(club, "ada")[0]
    rows = f"Code;Date;Lines;By\n{printed_code(sheet.code)};{date.fromordinal(sheet.day)};1 9/300, 2 not done;Ada\n"
    (answer,) = taken(club, rows)
    assert (answer.written, answer.questions) == (2, ())
    assert "by Ada" in journal(club, "ada")[0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda text: text.replace("May", "June"), "is still to come"),
        (lambda text: text.replace("May", "February"), "was it done on"),
        (lambda text: printed_code("W9W9") + text[5:], "is not the code of a sheet"),
        (
            lambda text: printed_code(text[:2] + "Y9") + text[5:],
            "is not the code of a sheet that is known",
        ),
        (lambda text: text.replace("1 9/300", "77 9/300"), "there is no line 77"),
    ],
)
def test_what_can_t_be_is_asked_and_writes_nothing(club: Path, change: object, words: str) -> None:
    assert callable(change)
    (answer,) = taken(club, change(said(club, "ada", "1 9/300")))
    assert answer.written == 0
    assert any(words in question for question in answer.questions)
    assert journal(club, "ada") == []


def test_dry_shows_and_writes_nothing(club: Path) -> None:
    (answer,) = taken(club, said(club, "ada", "1 9/300"), dry=True)
    assert (answer.written, answer.questions) == (0, ())
    assert any("9/300" in line for line in answer.understood)
    assert journal(club, "ada") == []


def test_a_damaged_club_file_is_one_complaint(club: Path) -> None:
    text = said(club, "ada", "1 9/300")
    (club / "club.json").write_text('{"ada": {"mark": 7}}')
    (answer,) = taken(club, text)
    assert answer.written == 0
    assert "club.json is damaged" in answer.questions[0]


def test_the_command_says_who_wrote_what_and_what_to_ask(club: Path) -> None:
    text = "\n".join((said(club, "ada", "1 9/300"), said(club, "bo", "1 done")))
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "ipmcal", "log", "club", "--from", "-", "--as-of", "2027-05-20"],
        cwd=club.parent,
        input=text,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (1, "")
    assert "Ada: sheet A2A2" in done.stdout
    assert "to ask (555 0002): C3A2: line 1 done" in done.stdout
    assert "2 messages: 1 line written, 1 question to send." in done.stdout
