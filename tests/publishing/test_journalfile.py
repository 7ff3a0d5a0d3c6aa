"""Appending to a journal: what stands there is kept, nothing is half there, nothing is lost when two write at once."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.model.values.rows import JOURNAL_COLUMNS
from ipmcal.publishing.disk.journalfile import append_rows
from ipmcal.publishing.disk.lock import LockedError, lock_path
from ipmcal.reading.source.table import delimiter, rows

HEAD = ",".join(JOURNAL_COLUMNS)
ROW = ("2027-05-22", "home", "3", "note", "calm, sunny", "")
APPENDER = Path(__file__).with_name("appender.py")
posix = pytest.mark.skipif(os.name != "posix", reason="kills are those of a POSIX system")


def append(path: Path, *some: tuple[str, ...]) -> int:
    return append_rows(path, lambda text: some)


def seen(folder: Path) -> list[str]:
    """What stands in a folder, but for the lock: it has to stay, and is empty."""
    lock = lock_path(folder / "journal.csv")
    assert lock.read_bytes() == b""
    return [p.name for p in folder.iterdir() if p != lock]


def test_a_new_journal_begins_with_its_headings(tmp_path: Path) -> None:
    assert append(tmp_path / "journal.csv", ROW) == 1
    assert (tmp_path / "journal.csv").read_bytes() == f'{HEAD}\n2027-05-22,home,3,note,"calm, sunny",\n'.encode()
    assert seen(tmp_path) == ["journal.csv"]


@pytest.mark.parametrize(
    ("stood", "line"),
    [
        (f"{HEAD}\n", '2027-05-22,home,3,note,"calm, sunny",\n'),
        ("", f'{HEAD}\n2027-05-22,home,3,note,"calm, sunny",\n'),
        (f"{HEAD}\n2027-05-01,home,3,inspected,,", '\n2027-05-22,home,3,note,"calm, sunny",\n'),
        ("2027-05-01,home,3,inspected\n", '2027-05-22,home,3,note,"calm, sunny",\n'),
        (f"\ufeff{HEAD}\r\n", '2027-05-22,home,3,note,"calm, sunny",\r\n'),
        (f"{HEAD}\r\n2027-05-01,home,3,inspected,,", '\r\n2027-05-22,home,3,note,"calm, sunny",\r\n'),
        (HEAD.replace(",", ";") + "\n", "2027-05-22;home;3;note;calm, sunny;\n"),
        (HEAD.replace(",", "\t") + "\n", "2027-05-22\thome\t3\tnote\tcalm, sunny\t\n"),
        (f"{HEAD}\n2027-05-29,home,3,note,later days stay above,\n", '2027-05-22,home,3,note,"calm, sunny",\n'),
    ],
)
def test_what_stands_in_the_file_is_kept(stood: str, line: str, tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    path.write_bytes(stood.encode())
    append(path, ROW)
    assert path.read_bytes() == (stood + line).encode()


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "journal.csv").symlink_to(tmp_path / "shared" / "journal.csv")
    append(tmp_path / "journal.csv", ROW)
    assert (tmp_path / "journal.csv").is_symlink()
    assert (tmp_path / "shared" / "journal.csv").read_text().startswith(HEAD)


def test_a_refusal_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    path.write_text("mine")

    def refuse(text: str) -> list[tuple[str, ...]]:
        assert text == "mine"
        raise KeyError("no")

    with pytest.raises(KeyError):
        append_rows(path, refuse)
    assert (path.read_text(), seen(tmp_path)) == ("mine", ["journal.csv"])


def test_nothing_to_append_touches_nothing(tmp_path: Path) -> None:
    assert append(tmp_path / "journal.csv") == 0
    assert seen(tmp_path) == []


CELL = st.text(st.characters(exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp"]), max_size=12).map(
    lambda text: " ".join(text.split())
)


@settings(deadline=None)
@given(
    table=st.lists(st.tuples(*[CELL] * 6).filter(lambda row: row[0] != ""), min_size=1, max_size=5), semi=st.booleans()
)
def test_what_is_appended_is_read_back(
    table: list[tuple[str, ...]], semi: bool, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("journal") / "journal.csv"
    if semi:
        path.write_text(HEAD.replace(",", ";"))
    append(path, *table)
    text = path.read_bytes().decode()
    found = [cells for _, cells in rows(text, delimiter(text))][1:]
    read = [tuple(cell.text for cell in cells) for cells in found if not isinstance(cells, str)]
    held = [row for row in table if any(cell.strip(" \t,;") for cell in row)]
    assert [row for row in read if any(cell.strip(" \t,;") for cell in row)] == held


def test_two_writers_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"

    def write(number: int) -> None:
        append(path, ("2027-05-22", "home", "3", "note", str(number), ""))

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, range(60)))
    lines = path.read_text().splitlines()
    assert lines[0] == HEAD
    assert sorted(int(line.split(",")[4]) for line in lines[1:]) == list(range(60))


def test_a_journal_that_stays_locked_is_said(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    with FileLock(lock_path(path)), pytest.raises(LockedError, match="another program is writing it; try again") as no:
        append_rows(path, lambda text: [ROW], patience=0.05)
    assert no.value.filename == str(path)
    assert not path.exists()
    assert append(path, ROW) == 1


@posix
def test_killed_at_random_points_every_acknowledged_line_is_there_and_none_is_half_there(tmp_path: Path) -> None:
    """Two programs at once, each with a hundred and twenty processes killed in turn."""
    path = tmp_path / "journal.csv"
    command = [sys.executable, str(APPENDER), str(path), "120"]
    running = [subprocess.Popen([*command, seed], stdout=subprocess.PIPE, text=True) for seed in ("a", "b")]
    acknowledged: list[str] = []
    for program in running:
        said, _ = program.communicate(timeout=120)
        assert program.returncode == 0
        acknowledged += said.splitlines()
    text = path.read_bytes().decode()
    assert text.endswith("\n")
    first, *lines = [cells for _, cells in rows(text, ",")]
    assert not isinstance(first, str)
    assert tuple(cell.text for cell in first) == JOURNAL_COLUMNS
    noted = []
    for cells in lines:
        assert not isinstance(cells, str), cells
        assert [cell.text for cell in cells[:4]] == ["2027-05-22", "home", "3", "note"]
        assert cells[4].text == f'calm, "{cells[5].text}"'
        noted.append(cells[5].text)
    assert set(acknowledged) <= set(noted), "an acknowledged line is lost"
    assert len(set(noted)) == len(noted)
    assert len(acknowledged) > 40, "too few appends to mean anything"
    assert len(noted) <= len(acknowledged) + 240, "more lines than were under way"
