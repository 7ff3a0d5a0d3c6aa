"""A club's list makes a folder a keeper: killed or not, in one process or two, the same bytes."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from command import ipmcal

from ipmcal.publishing.memory.codes import free_mark

HEAD = "keeper,latitude,longitude,elevation,start,kind,hives,days,program\n"
ROW = "{},43.02,-76.30,190 m,2027-05-01,package,1,sat,counting_only\n"
STANDINS = Path(__file__).with_name("standins.py")
DAY = ("--as-of", "2027-05-10")
KILLS = int(os.environ.get("KILLS", "2"))
"""So many times a run is killed; ``KILLS=25 pytest tests/test_enrolling.py`` kills fifty in all."""


def command(*args: object) -> list[str]:
    """The command, with stand-ins for PDFs; a day that is given comes last, and holds."""
    return [sys.executable, "-W", "error", str(STANDINS), "roster", *DAY, *map(str, args)]


def roster(folder: Path, *args: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command("list.csv", *args), cwd=folder, capture_output=True, text=True, check=False)


def here(folder: Path, *args: object) -> subprocess.CompletedProcess[str]:
    """In this process, with real PDFs."""
    return ipmcal("roster", *DAY, "list.csv", *args, cwd=folder)


def tree(root: Path) -> dict[str, bytes]:
    """What stands below a folder; locks are empty and stay."""
    files = (p for p in sorted(root.rglob("*")) if p.is_file() and not p.name.endswith(".lock"))
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in files}


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three keepers, and two rows that are wrong; made by one process."""
    folder = tmp_path_factory.mktemp("club")
    rows = [ROW.format(name) for name in ("Ada", "Bo", "Cy")]
    rows[1:1] = [ROW.format("Wrong").replace("sat", "someday"), ROW.format("Worse").replace("package", "")]
    (folder / "list.csv").write_text(HEAD + "".join(rows))
    done = roster(folder, "--out", "one", "--jobs", "1")
    assert done.returncode == 1, done.stderr
    assert [line.split(" ")[0] for line in done.stderr.splitlines()] == ["list.csv:3:47", "list.csv:4:37"], done.stderr
    assert "3 keepers made, 0 unchanged, 2 rows of the list to put right." in done.stdout
    return folder


def test_sheet_codes_are_unique_in_the_club(club: Path) -> None:
    ledgers = [json.loads(path.read_text()) for path in (club / "one").glob("*/ledger.json")]
    codes = [sheet["code"] for ledger in ledgers for sheet in ledger["sheets"]]
    assert len(ledgers) == 3
    assert len(codes) > 6
    assert len(set(codes)) == len(codes)


def test_two_processes_make_the_same_bytes_and_so_do_two_shares(club: Path) -> None:
    roster(club, "--out", "two", "--jobs", "2", "--part", "2/2")
    roster(club, "--out", "two", "--jobs", "1", "--part", "1/2")
    assert tree(club / "two") == tree(club / "one")


def test_an_unchanged_run_writes_nothing(club: Path) -> None:
    before = {p: p.stat().st_mtime_ns for p in (club / "one").rglob("*") if p.is_file() and ".lock" not in p.name}
    done = roster(club, "--out", "one")
    assert "0 keepers made, 3 unchanged" in done.stdout
    assert {p: p.stat().st_mtime_ns for p in before} == before


@pytest.mark.skipif(os.name != "posix", reason="kills are those of a POSIX system")
@pytest.mark.parametrize("changed", [False, True])
def test_killed_again_and_again_it_ends_with_the_same_bytes(club: Path, changed: bool) -> None:
    """A first run, and one on a later day, whose page tells what changed since."""
    chance, stopped = random.Random(5), 0
    whole, killed = f"whole_{changed}", f"killed_{changed}"
    late = ("--as-of", "2027-06-30") if changed else ()
    for folder in (whole, killed):
        shutil.copytree(club / "one", club / folder) if changed else None
    assert "3 keepers made" in roster(club, "--out", whole, "--jobs", "1", *late).stdout
    for _ in range(KILLS):
        run = subprocess.Popen(
            command("list.csv", "--out", killed, "--jobs", "2", *late),
            cwd=club,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        try:
            run.wait(chance.uniform(0.5, 2.5))
        except subprocess.TimeoutExpired:
            stopped += 1
            os.killpg(run.pid, signal.SIGKILL)
            run.wait()
    roster(club, "--out", killed, "--jobs", "1", *late)
    assert stopped, "too quick for this test: no run was stopped"
    assert tree(club / killed) == tree(club / whole)
    assert ("changed" in (club / whole / "mentor.txt").read_text()) is changed


def test_three_bad_rows_stop_nobody_else(tmp_path: Path) -> None:
    """A folder for each other row, and a line for each row to put right, which says where."""
    rows = [ROW.format(f"Keeper {n}") for n in range(1, 8)]
    for n, wrong in ((2, ("43.02", "north")), (4, ("sat", "someday")), (7, ("package", "parcel"))):
        rows[n - 1] = rows[n - 1].replace(*wrong)
    (tmp_path / "list.csv").write_text(HEAD + "".join(rows))
    done = roster(tmp_path, "--out", "club", "--jobs", "2")
    assert done.returncode == 1
    assert [line.split(":")[1] for line in done.stderr.splitlines()] == ["3", "5", "8"], done.stderr
    assert "4 keepers made, 0 unchanged, 3 rows of the list to put right." in done.stdout
    assert len(list((tmp_path / "club").glob("*/ledger.json"))) == 4


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="asks the system for processes")
def test_no_process_outlives_a_killed_run(club: Path) -> None:
    run = subprocess.Popen(
        command("list.csv", "--out", "orphans", "--jobs", "2"),
        cwd=club,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    children: list[str] = []
    until = time.monotonic() + 60
    while len(children) < 2 and run.poll() is None and time.monotonic() < until:
        children = Path(f"/proc/{run.pid}/task/{run.pid}/children").read_text().split()
        time.sleep(0.05)
    run.kill()
    run.wait()
    assert children
    while any(_runs(child) for child in children) and time.monotonic() < until:
        time.sleep(0.05)
    assert [child for child in children if _runs(child)] == []


def _runs(process: str) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def test_an_edited_file_is_theirs_and_the_difference_is_said(club: Path) -> None:
    yard = club / "one" / "bo" / "bo.yaml"
    before = yard.read_text()
    yard.write_text(before.replace("days: [sat]", "days: [sun]    # my own"))
    text = yard.read_text()
    done = here(club, "--out", "one", "--jobs", "1")
    assert "bo/bo.yaml says days: [sun], the list [sat]; the file is kept" in done.stdout
    assert yard.read_text() == text
    again = here(club, "--out", "one", "--jobs", "1")
    assert "0 keepers made" in again.stdout, "said as long as it is so"
    assert "says days: [sun]" in again.stdout, "said as long as it is so"
    yard.write_text("yard: broken\n")
    broken = here(club, "--out", "one", "--jobs", "1")
    assert broken.returncode == 1
    assert "bo/bo.yaml" in broken.stderr
    assert "Traceback" not in broken.stderr
    assert "1 keeper whose own files are to be put right" in broken.stdout
    yard.write_text(before)


def test_what_a_keeper_of_a_club_gets_can_be_printed(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(HEAD + ROW.format("Ada"))
    done = ipmcal("roster", "list.csv", "--jobs", 1, *DAY, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    pages = sorted((tmp_path / "club").rglob("*.html"))
    pages = [page for page in pages if page.name != "index.html" and not page.name.endswith("-answers.html")]
    assert len(pages) > 3
    assert all(page.with_suffix(".pdf").read_bytes().startswith(b"%PDF-1.") for page in pages)


def test_marks_are_given_out_once_and_never_run_out() -> None:
    taken: list[str] = []
    for _ in range(400):
        taken.append(free_mark(taken))
    assert len(set(taken)) == 400
    assert {len(mark) for mark in taken} == {2, 3}
    odd = [mark for mark in taken if not (mark[0].isalpha() and mark[1:].isdigit())]
    assert odd == [], "a code reads as mark and sheet in one way"


def test_the_example_is_printed_and_read_back(tmp_path: Path) -> None:
    done = ipmcal("roster", "--example", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stdout.startswith("keeper,")
    assert "Ada Example" in done.stdout
    assert "days: when the keeper can come" in done.stderr


@pytest.mark.parametrize("share", ["0/2", "3/2", "1", "a/b"])
def test_a_share_that_is_none_is_refused(share: str, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(HEAD)
    done = ipmcal("roster", "list.csv", "--part", share, *DAY, cwd=tmp_path)
    assert done.returncode == 2
    assert "is not a share" in done.stderr
    assert not (tmp_path / "club").exists()
