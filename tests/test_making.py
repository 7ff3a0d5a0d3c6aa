"""Two runs of ``ipmcal plan`` for one outfit: the second waits, and never plans from what the first is to write."""

from __future__ import annotations

import json
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from command import ipmcal
from filelock import FileLock
from icalendar import Calendar
from sweeps import some

from ipmcal.loading import load_all
from ipmcal.making import MakingOrder, make
from ipmcal.publishing.disk.lock import LockedError, lock_path
from ipmcal.publishing.memory.ledger import LedgerError
from ipmcal.reading.source.dates import read_day

KINDS = ("feed", "plan")
EVERY = ("allotment.yaml", "first_season.yaml", "hollow_lane", "long_meadow", "quarry_end", "ridge_road.yaml")


@contextmanager
def quiet(what: str) -> Iterator[Callable[[int], None]]:
    yield lambda number: None


def test_nobody_else_plans_from_the_ledger_between_reading_and_writing_it(yards: Path, tmp_path: Path) -> None:
    """A second run begins while the first is planning, and again while it is printing."""
    loaded = load_all([yards / "first_season.yaml"])
    first, second = (MakingOrder(read_day("10 May 2027"), None, tmp_path / n, KINDS, 0.01) for n in ("first", "second"))
    refused: list[str] = []

    def try_second() -> None:
        with pytest.raises(LockedError):
            list(make(loaded, second, quiet))
        refused.append("refused")

    @contextmanager
    def meanwhile(what: str) -> Iterator[Callable[[int], None]]:
        other = threading.Thread(target=try_second)
        other.start()
        other.join()
        yield lambda number: None

    assert len(list(make(loaded, first, meanwhile))) == 1
    assert refused == ["refused", "refused"]
    assert not (tmp_path / "second").exists()
    list(make(loaded, second, quiet))
    assert (tmp_path / "second").exists()


def test_a_ledger_that_stays_locked_is_one_complaint_and_nothing_written(
    yards: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from ipmcal import cli, making

    yard = yards / "first_season.yaml"
    monkeypatch.setattr(making.MakingOrder.__init__, "__defaults__", (0.05, "", 28, False, False))
    monkeypatch.setattr(
        sys, "argv", ["ipmcal", "plan", str(yard), "--out", str(tmp_path / "out"), "--as-of", "2027-05-10"]
    )
    with FileLock(lock_path(yard.with_suffix(".ledger.json"))), pytest.raises(SystemExit) as end:
        cli.main()
    assert end.value.code == 2
    said = capsys.readouterr().err.splitlines()
    assert said == [
        "first_season.ledger.json can't be written: another program is writing it; try again when that is done"
    ]
    assert not (tmp_path / "out").exists()


def test_two_lone_files_of_one_name_share_no_uid_and_no_folder(yards: Path, tmp_path: Path) -> None:
    """Both are called "garden"; one lies in another town."""
    text = (yards / "first_season.yaml").read_text()
    files = [tmp_path / town / "garden.yaml" for town in ("north", "south")]
    for file, there in zip(files, (text, text.replace("43.02", "42.52")), strict=True):
        file.parent.mkdir()
        file.write_text(there)
    day = read_day("10 May 2027")
    made: list[set[str]] = []
    for file in files:
        order = MakingOrder(day, None, file.parent / "out", KINDS)
        list(make(load_all([file]), order, quiet))
        events = Calendar.from_ical((order.out / "garden" / "feeds" / "all-yards.ics").read_bytes()).walk("VEVENT")
        made.append({str(event["UID"]) for event in events})
    assert len(made[0]) > 5
    assert made[0].isdisjoint(made[1])
    with pytest.raises(LedgerError, match="another outfit of this name has its documents"):
        list(make(load_all([files[1]]), MakingOrder(day, None, files[0].parent / "out", KINDS), quiet))
    list(make(load_all([files[0]]), MakingOrder(day, None, files[0].parent / "out", KINDS), quiet))


@pytest.mark.parametrize("name", some(EVERY))
def test_a_silent_keeper_s_year_is_planned_through(name: str, yards: Path) -> None:
    """Nothing is written down from January to November: each plan follows from what the last one printed.

    Random outfits of silent keepers live a year in ``test_years.py``.
    """
    for day in ("2027-01-10", "2027-05-10", "2027-06-10", "2027-08-10", "2027-11-10", "2027-12-20"):
        done = ipmcal("plan", name, "--out", "out", "--as-of", day, "--print", "feed,plan", cwd=yards)
        assert (done.returncode in (0, 1), done.stderr) == (True, ""), day
        tasks = json.loads((yards / "out" / name.removesuffix(".yaml") / "data" / "plan.json").read_text())["tasks"]
        assert len({task["id"] for task in tasks}) == len(tasks), day
