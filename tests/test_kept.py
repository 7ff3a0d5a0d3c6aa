"""An unchanged run says again what it said, without planning; whatever has changed, or is damaged, is made anew. Rules
are read once, and a year is searched once, for all runs with the same program."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from command import ipmcal

from ipmcal import loading, making
from ipmcal.planning.yearly import answered, followed, remembered
from ipmcal.publishing.disk import kept as kept_files

DAY = ("--as-of", "2027-06-10")
ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of this test's own."""
    folder = tmp_path / "cache"
    monkeypatch.setattr(kept_files, "cache_folder", lambda: folder)
    return folder


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many outfits each run planned."""
    found: list[int] = []
    real = making.plans_of

    def plans_of(loaded, *more):  # type: ignore[no-untyped-def]
        found.append(len(loaded))
        return real(loaded, *more)

    monkeypatch.setattr(making, "plans_of", plans_of)
    return found


def run(yards: Path, name: str, *more: str) -> tuple[int, str]:
    done = ipmcal("plan", name, "--out", "out", *DAY, "--print", "feed,plan", *more, cwd=yards)
    assert done.stderr == ""
    return done.returncode, done.stdout


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A place where one run was made, for all tests that go on from it, and a copy of what stood there after it."""
    place = tmp_path_factory.mktemp("once") / "here"
    shutil.copytree(ROOT / "example_yards", place / "yards", ignore=shutil.ignore_patterns("*ledger.json"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kept_files, "cache_folder", lambda: place / "cache")
        run(place / "yards", "first_season.yaml")
    shutil.copytree(place, place.with_name("after"))
    return place, place.with_name("after")


@pytest.fixture
def once(before: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """The yards as that run left them, with what it kept, where it was made: the names of kept files tell the place."""
    place, after = before
    shutil.rmtree(place)
    shutil.copytree(after, place)
    monkeypatch.setattr(kept_files, "cache_folder", lambda: place / "cache")
    return place / "yards"


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("name", ["first_season.yaml", "ridge_road.yaml", "quarry_end", "hollow_lane"])
def test_what_is_kept_is_what_a_run_would_say(name: str, yards: Path, cache: Path, planned: list[int]) -> None:
    run(yards, name)
    before, again = tree(yards), run(yards, name)
    assert tree(yards) == before
    for file in cache.iterdir():
        file.unlink()
    assert run(yards, name) == again
    assert tree(yards) == before
    assert planned == [1, 0, 1]


def test_with_paper_no_engine_is_loaded(yards: Path, tmp_path: Path) -> None:
    """In a process of its own: neither planned nor printed, the engine is not even imported."""
    words = ["plan", "first_season.yaml", "--out", "out", *DAY]
    first = ipmcal(*words, cwd=yards)
    code = f"""
import sys
from ipmcal import cli
sys.argv = {["ipmcal", *words]!r}
try:
    cli.main()
finally:
    print("engine" if "weasyprint" in sys.modules else "none", file=sys.stderr)
"""
    again = subprocess.run([sys.executable, "-c", code], cwd=yards, capture_output=True, text=True, check=False)
    assert (again.returncode, again.stderr) == (first.returncode, "none\n")
    assert again.stdout.splitlines()[0] == first.stdout.splitlines()[0]


def written(name: str, text: str) -> Callable[[Path], object]:
    return lambda yards: (yards / name).write_text(text)


JOURNAL = "date,yard,colony,event,value,note\n2027-06-09,first_season,1,count,2/300,\n"
CHANGES: dict[str, Callable[[Path], object]] = {
    "a journal that begins": written("first_season.journal.csv", JOURNAL),
    "a yard file": lambda y: written("first_season.yaml", (y / "first_season.yaml").read_text() + "# read again\n")(y),
    "the ledger": lambda y: (y / "first_season.ledger.json").unlink(),
    "a document that is gone": lambda y: (y / "out/first_season/data/plan.json").unlink(),
    "a document that was altered": written("out/first_season/data/plan.json", "{}"),
}


@pytest.mark.parametrize("what", sorted(CHANGES))
def test_what_has_changed_is_planned(what: str, once: Path, planned: list[int]) -> None:
    CHANGES[what](once)
    run(once, "first_season.yaml")
    assert planned == [1]


@pytest.mark.parametrize("more", [("--as-of", "2027-06-11"), ("--season", "2028"), ("--all",), ("--changed",)])
def test_another_order_is_planned(more: tuple[str, ...], once: Path, planned: list[int]) -> None:
    run(once, "first_season.yaml", *more)
    assert planned == [1]


def test_what_nothing_has_changed_is_not_planned(once: Path, planned: list[int]) -> None:
    """Else the tests of what has changed, which go on from the same run, would see nothing."""
    run(once, "first_season.yaml")
    assert planned == [0]


def test_another_program_plans_anew(once: Path, planned: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "program_digest", lambda: "another")
    run(once, "first_season.yaml")
    assert planned == [1]


SPOILT = [b"", b"{", b"[]", b"null", b"\xff\xfe", b'{"stamp": 1}', b"[" * 100_000, b"9" * 2_000_000]


@pytest.mark.parametrize("content", SPOILT, ids=range(len(SPOILT)))
def test_a_damaged_cache_costs_time_alone(content: bytes, once: Path, planned: list[int]) -> None:
    again = run(once, "first_season.yaml")
    (file,) = (once.parent / "cache").glob("*.json")
    file.write_bytes(content)
    assert run(once, "first_season.yaml") == again
    assert planned == [0, 1]


def test_a_line_that_is_no_text_costs_time_alone(once: Path, planned: list[int]) -> None:
    again = run(once, "first_season.yaml")
    (file,) = (once.parent / "cache").glob("*.json")
    text = file.read_bytes()
    file.write_bytes(text.replace(b'"lines": ["', b'"lines": [7, "'))
    assert file.read_bytes() != text
    assert run(once, "first_season.yaml") == again
    assert planned == [0, 1]


def test_a_cache_that_can_t_be_written_changes_nothing(yards: Path, cache: Path, planned: list[int]) -> None:
    cache.write_text("a file stands where the folder would be")
    first = run(yards, "first_season.yaml")
    assert run(yards, "first_season.yaml")[0] == first[0]
    assert planned == [1, 1]


# Rules as they were read, and years as they were searched -------------------------------------------------------------


@pytest.fixture
def worked(cache: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What each run had to work out: rules to be read, years to be searched. Nothing is known from other tests."""
    found: list[str] = []
    read, searched = loading.load_rulebook, answered.year_plan

    def load_rulebook(*paths):  # type: ignore[no-untyped-def]
        found.append("rules")
        return read(*paths)

    def year_plan(asked):  # type: ignore[no-untyped-def]
        found.append("year")
        return searched(asked)

    monkeypatch.setattr(loading, "load_rulebook", load_rulebook)
    monkeypatch.setattr(answered, "year_plan", year_plan)
    nothing_remembered(monkeypatch)
    return found


def nothing_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a process of its own."""
    loading._read_before.cache_clear()
    for room, name in ((answered, "_ANSWERS"), (answered, "_PLANS"), (followed, "_HOLDS")):
        monkeypatch.setattr(room, name, remembered.Latest(8))


def status(yards: Path, name: str, day: str = "2027-06-10") -> tuple[int, str]:
    with pytest.MonkeyPatch.context() as patch:
        nothing_remembered(patch)
        done = ipmcal("status", name, "--as-of", day, cwd=yards)
    assert done.stderr == ""
    return done.returncode, done.stdout


def test_rules_are_read_and_a_year_is_searched_once(yards: Path, worked: list[str]) -> None:
    first = status(yards, "allotment.yaml")
    assert worked.count("rules") == 1
    assert worked.count("year") > 0
    worked.clear()
    assert status(yards, "allotment.yaml") == first
    assert worked == []


def test_a_year_that_was_planned_stands_on_the_days_that_follow(yards: Path, worked: list[str]) -> None:
    """It is searched on its first day; nothing differs from it until something is written or goes by."""
    run(yards, "allotment.yaml")
    worked.clear()
    for day in ("2027-06-11", "2027-06-16", "2027-06-24"):
        status(yards, "allotment.yaml", day)
    assert worked == []


def test_what_was_given_asks_the_year_anew(yards: Path, worked: list[str]) -> None:
    status(yards, "first_season.yaml", "2027-08-20")
    worked.clear()
    given = [f"2027-07-05,first_season,{key},treated,amitraz_strip 2 strips,\n" for key in (1, 2)]
    written("first_season.journal.csv", "date,yard,colony,event,value,note\n" + "".join(given))(yards)
    status(yards, "first_season.yaml", "2027-08-20")
    assert "year" in worked


@pytest.mark.parametrize("name", ["allotment.yaml", "quarry_end"])
def test_documents_are_the_same_with_what_was_kept(
    name: str, yards: Path, cache: Path, worked: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    status(yards, name)
    worked.clear()
    run(yards, name)
    assert worked == []
    with_kept = tree(yards / "out")
    for file in cache.iterdir():
        file.unlink()
    nothing_remembered(monkeypatch)
    run(yards, name)
    assert tree(yards / "out") == with_kept
    assert worked


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"stamp digest\n{}"], ids=["empty", "no text", "another digest"])
def test_damaged_values_cost_time_alone(content: bytes, yards: Path, cache: Path, worked: list[str]) -> None:
    first = status(yards, "first_season.yaml")
    for file in cache.glob("*.frozen"):
        file.write_bytes(content)
    worked.clear()
    assert status(yards, "first_season.yaml") == first
    assert "rules" in worked
    assert "year" in worked


def test_a_changed_byte_of_a_kept_value_is_seen(yards: Path, cache: Path, worked: list[str]) -> None:
    first = status(yards, "allotment.yaml")
    for file in cache.glob("years-*.frozen"):
        file.write_bytes(file.read_bytes().replace(b"late_summer", b"lace_summer"))
    worked.clear()
    assert status(yards, "allotment.yaml") == first
    assert "year" in worked


def test_a_year_has_one_name_in_every_process(yards: Path, tmp_path: Path) -> None:
    """The order of sets differs from process to process; nothing that a name is made of may show it."""
    names = []
    for seed in ("1", "2"):
        cache = tmp_path / f"cache{seed}"
        environment = {**os.environ, "XDG_CACHE_HOME": str(cache), "LOCALAPPDATA": str(cache), "PYTHONHASHSEED": seed}
        words = [sys.executable, "-m", "ipmcal", "status", "quarry_end", "--as-of", "2027-06-10"]
        subprocess.run(words, cwd=yards, env=environment, capture_output=True, check=False)
        (file,) = (cache / "ipmcal").glob("years-*.frozen")
        names.append(file.read_bytes())
    assert names[0] == names[1]


def test_a_keeper_s_own_rules_are_no_part_of_what_is_kept(yards: Path, cache: Path, worked: list[str]) -> None:
    status(yards, "hollow_lane")
    own = yards / "hollow_lane" / "rules" / "regions"
    own.mkdir(parents=True)
    shutil.copy(loading.folder("rules") / "regions" / "us_northeast.yaml", own)
    worked.clear()
    status(yards, "hollow_lane")
    assert "year" in worked
