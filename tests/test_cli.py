"""The command line: exit codes, one clear complaint a defect, nothing half-written, never a traceback."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from command import ipmcal as run

AS_OF = "2027-05-10"


def process(*args: object, cwd: Path, **env: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, with another environment."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "ipmcal", *map(str, args)],
        cwd=cwd,
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "80", "TERM": "dumb", **env},
        check=False,
    )


def files(root: Path) -> dict[str, bytes]:
    return {str(p.relative_to(root)): p.read_bytes() for p in sorted(root.rglob("*")) if p.is_file()}


def test_plan_writes_every_document_and_says_so(yards: Path, tmp_path: Path) -> None:
    done = run("plan", "example_yards/first_season.yaml", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""  # quiet off a terminal
    written = [name for name in files(tmp_path / "out" / "first_season") if name != ".documents.json"]
    for name in ("data/plan.json", "feeds/all-yards.ics", "feeds/first_season.ics"):
        assert name in written
    assert "seasons/first_season-season-2027.pdf" in written
    pdfs = {name.removesuffix(".pdf") for name in written if name.endswith(".pdf")}
    pages = {name.removesuffix(".html") for name in written if name.endswith(".html")}
    assert pdfs - {"print"} == pages - {"index", "answers/first_season-answers"}
    assert len(pdfs) > 5
    assert f"{len(written)} documents" in done.stdout


@pytest.mark.parametrize(("outfit", "kinds"), [("hollow_lane", "season,feed,plan"), ("first_season.yaml", "sheet")])
def test_the_same_input_gives_the_same_bytes(yards: Path, tmp_path: Path, outfit: str, kinds: str) -> None:
    """In this process, and in one that starts from another seed, in another zone."""
    copies = [tmp_path / f"copy_{out}" for out in "ab"]
    for copy in copies:
        shutil.copytree(yards, copy)
    words = [
        ("plan", copy / outfit, "--as-of", AS_OF, "--out", tmp_path / copy.name[-1], "--print", kinds)
        for copy in copies
    ]
    here = run(*words[0], cwd=tmp_path)
    there = process(*words[1], cwd=tmp_path, PYTHONHASHSEED="99", TZ="Asia/Tokyo")
    assert there.returncode in (0, 1), there.stderr  # 1: a holiday makes a swarm check late in this example
    assert (here.returncode, here.stderr) == (there.returncode, there.stderr)
    assert here.stdout.replace("/a/", "/b/") == there.stdout
    assert files(tmp_path / "a") == files(tmp_path / "b")
    ledgers = [sorted(copy.rglob("*ledger.json")) for copy in copies]
    assert [p.read_bytes() for p in ledgers[0]] == [p.read_bytes() for p in ledgers[1]] != []


def test_a_second_run_touches_nothing(yards: Path, tmp_path: Path) -> None:
    run("plan", yards / "first_season.yaml", "--as-of", AS_OF, cwd=tmp_path)
    before = {p: p.stat().st_mtime_ns for p in (tmp_path / "out").rglob("*")}
    assert run("plan", yards / "first_season.yaml", "--as-of", AS_OF, cwd=tmp_path).returncode == 0
    assert {p: p.stat().st_mtime_ns for p in (tmp_path / "out").rglob("*")} == before


def test_a_moved_visit_takes_its_old_sheet_away(yards: Path, tmp_path: Path) -> None:
    yard = yards / "first_season.yaml"
    run("plan", yard, "--as-of", AS_OF, cwd=tmp_path)
    yard.write_text(yard.read_text().replace("days: [sat]", "days: [sun]"))
    assert run("plan", yard, "--as-of", AS_OF, cwd=tmp_path).returncode == 0
    sheets = [p.name for p in (tmp_path / "out" / "first_season" / "sheets").glob("*.pdf")]
    days = [name.removeprefix("first_season-")[:10] for name in sheets]
    assert len(days) == len(set(days)), "one sheet a day: superseded ones are gone"


def test_without_pango_the_rest_is_written_and_the_exit_code_says_so(yards: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken" / "weasyprint"
    broken.mkdir(parents=True)
    (broken / "__init__.py").write_text("raise OSError('cannot load library')")
    path = os.pathsep.join([str(broken.parent), os.environ.get("PYTHONPATH", "")])
    done = process("plan", yards / "first_season.yaml", "--as-of", AS_OF, cwd=tmp_path, PYTHONPATH=path)
    assert done.returncode == 3
    assert len(done.stderr.strip().splitlines()) == 1
    for word in ("Debian", "Fedora", "macOS", "Windows", "pango"):
        assert word in done.stderr
    endings = {Path(name).suffix for name in files(tmp_path / "out")}
    assert endings == {".html", ".ics", ".json"}


def test_conflicts_have_an_exit_code_of_their_own(yards: Path, tmp_path: Path) -> None:
    yard = yards / "allotment.yaml"
    yard.write_text(yard.read_text().replace("days: [sat]", "days: [sat]\naway: [2027-05-20..2027-06-10]"))
    done = run("check", yard, "--as-of", "2027-03-01", cwd=tmp_path)
    assert done.returncode == 1
    assert "conflict:" in done.stdout
    assert "Would help: a day in" in done.stdout


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("region: us_northeast", "region: us_northest", "first_season.yaml:5:9 region: there is no region 'us_north"),
        ("elevation: 190 m", "elevation: 190", "first_season.yaml:4:56 place.elevation: '190' is not an elevation in"),
        ("latitude: 43.02", "latitude: 55.02", "first_season.yaml:5:9 the yard lies 11.9 degrees of latitude from the"),
        ("latitude: 43.02", "latitude: -43.02", "on the other side of the equator"),
    ],
)  # fmt: skip
def test_bad_input_is_one_complaint_and_nothing_written(
    yards: Path, tmp_path: Path, old: str, new: str, expected: str
) -> None:
    yard = yards / "first_season.yaml"
    yard.write_text(yard.read_text().replace(old, new))
    before = files(tmp_path)
    done = run("plan", yard, "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 2
    assert expected in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert files(tmp_path) == before


@pytest.mark.parametrize(
    ("args", "expected"),
    [
        (("--as-of", "2027-02-30"), "--as-of '2027-02-30' does not exist"),
        (("--as-of", "soon"), "--as-of 'soon' is not a date"),
        (("--as-of", "may"), "--as-of 'may' lacks its day and year; write year, month and day, such as '2027-05-22'"),
        (("--as-of", "22 May"), "--as-of '22 May' lacks its year"),
        (("--as-of", "5/8/2027"), "--as-of '5/8/2027' can be 2027-08-05 or 2027-05-08; write it as the one"),
        (("--print", "poster"), "'poster' can't be printed; allowed: sheet, season, feed, plan"),
    ],
)
def test_bad_options_are_complaints_too(yards: Path, tmp_path: Path, args: tuple[str, str], expected: str) -> None:
    done = run("plan", yards / "first_season.yaml", *args, cwd=tmp_path)
    assert (done.returncode, len(done.stderr.strip().splitlines())) == (2, 1)
    assert expected in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("text", ["10 May 2027", "Mon 10 May 2027", "10.5.2027"])
def test_a_date_as_keepers_write_it(yards: Path, tmp_path: Path, text: str) -> None:
    assert run("check", yards / "first_season.yaml", "--as-of", text, cwd=tmp_path).returncode == 0


def test_an_out_folder_that_is_a_file_is_a_complaint(yards: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    done = run("plan", yards / "first_season.yaml", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 2
    assert "can't be written" in done.stderr
    assert (tmp_path / "out").read_text() == "mine"
    assert not list(yards.glob("*ledger.json"))


def test_two_paths_with_one_id_are_refused(yards: Path, tmp_path: Path) -> None:
    done = run("plan", yards / "allotment.yaml", yards / "allotment.yaml", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 2
    assert "used twice" in done.stderr


def test_a_damaged_ledger_is_named_and_kept(yards: Path, tmp_path: Path) -> None:
    ledger = yards / "first_season.ledger.json"
    ledger.write_text('{"version": 1, "outfit"')
    done = run("plan", yards / "first_season.yaml", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 2
    assert "first_season.ledger.json" in done.stderr
    assert ledger.read_text() == '{"version": 1, "outfit"'


def test_why_goes_down_to_the_source_and_the_day_counted_from(yards: Path, tmp_path: Path) -> None:
    done = process("why", yards / "hollow_lane", "3.T2/trap_comb_cut/2027/cut/1", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 0
    for part in (
        "CUT BY",
        "24..24..25 d",  # the value, as written
        "rules/biology.yaml:",  # where it stands
        "check your label",  # what is from memory says so
        "trap_hung T2 8 (hollow_lane/orchard.yaml:",  # the day counted from
        "found T2 all_open (hollow_lane/orchard.yaml:",  # what narrowed it
        "Hopkins",
    ):
        assert part in done.stdout, part


def test_why_names_the_nearest_task(yards: Path, tmp_path: Path) -> None:
    done = run("why", yards / "first_season.yaml", "1/mite_count/2027/regulr/1", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 2
    assert "did you mean '1/mite_count/2027/regular/1'?" in done.stderr


def test_rules_counts_values_by_basis(tmp_path: Path) -> None:
    done = run("rules", "--files", cwd=tmp_path)
    assert done.returncode == 0
    for word in ("read", "second", "derived", "practice", "memory", "assumption", "methods/trap_comb_cut"):
        assert word in done.stdout


def test_schema_writes_what_is_shipped(tmp_path: Path) -> None:
    from ipmcal.data import folder

    done = run("schema", "--out", "here", cwd=tmp_path)
    assert done.returncode == 0
    shipped = folder("rules").parent / "ipmcal" / "schemas"
    assert files(tmp_path / "here") == {p.name: p.read_bytes() for p in sorted(shipped.glob("*.json"))}


def test_check_reads_a_folder_of_rules_and_says_what_it_replaces(tmp_path: Path) -> None:
    from ipmcal.data import folder

    own = tmp_path / "own"
    (own / "methods").mkdir(parents=True)
    shipped = (folder("rules") / "methods" / "mite_count.yaml").read_text()
    (own / "methods" / "mite_count.yaml").write_text(shipped)
    (own / "methods" / "my_count.yaml").write_text(shipped)
    done = run("check", "own", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [
        "own: 2 rule files. No complaints.",
        "  methods/mite_count: replaces the shipped one, whole",
        "  methods/my_count: new",
    ]


def test_check_of_a_rule_teaches(tmp_path: Path) -> None:
    own = tmp_path / "own" / "methods"
    own.mkdir(parents=True)
    (own / "mine.yaml").write_text('title: "Mine"\nchecked: 2027-01-01\nper: colony\nsteps:\n  look:\n    do: "Look"\n')
    done = run("check", "own", cwd=tmp_path)
    assert done.returncode == 2
    assert "own/methods/mine.yaml:5:3 steps.look: the key 'opens' is missing" in done.stderr
    assert "such as" in done.stderr


def test_why_of_a_yard_says_what_another_weekday_would_save(yards: Path, tmp_path: Path) -> None:
    done = run("why", yards / "first_season.yaml", "first_season", "--as-of", AS_OF, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    head, other = done.stdout.splitlines()[:2]
    assert re.fullmatch(
        r"first_season: \d+ visits with your days, (proven to be the fewest|fewer than \d+ there can't be)", head
    )
    assert re.fullmatch(r"with \w+days too: \d+ visits", other)


# What no keeper would write, and faults of our own --------------------------------------------------------------------


def called(
    *args: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> tuple[object, str, str]:
    """The command in this process: exit code, output, errors."""
    from ipmcal import cli

    monkeypatch.setattr(sys, "argv", ["ipmcal", *map(str, args)])
    with pytest.raises(SystemExit) as end:
        cli.main()
    said = capsys.readouterr()
    return end.value.code, said.out, said.err


def test_a_fault_of_our_own_is_one_line_and_its_own_exit_code(
    yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from ipmcal import loading

    def broken(*args: object) -> None:
        raise KeyError("nothing\nlike it")

    monkeypatch.setattr(loading, "load", broken)
    code, _, said = called("status", yards / "first_season.yaml", monkeypatch=monkeypatch, capsys=capsys)
    assert code == 4
    assert said.count("\n") == 1
    assert said.startswith("a fault of ipmcal, not of your files (loading.py:")


def test_status_ends_as_check_does(
    yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With conflicts to read, 1; without, 0: in the lines of each yard, and in one line a yard."""
    free = yards / "first_season.yaml"
    away = yards / "away.yaml"
    text = free.read_text().replace("days: [sat]", "days: [sat]\naway: [2027-05-20..2027-09-30]")
    away.write_text(text.replace('yard: "Garden"', 'yard: "Away"'))
    for path, expected in ((free, 0), (away, 1)):
        for words in (("check",), ("status",), ("status", "--roster")):
            args = (*words, path, "--as-of", "2027-05-10")
            assert called(*args, monkeypatch=monkeypatch, capsys=capsys)[0] == expected, args


@pytest.mark.parametrize("season", ["0", "-1", "1900", "2199", "9999", "10000", "x"])
@pytest.mark.parametrize("command", ["plan", "why"])
def test_a_season_that_can_not_be_is_refused(
    command: str, season: str, yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    more = ["first_season"] if command == "why" else []
    path = yards / "first_season.yaml"
    code, _, _ = called(command, path, *more, "--season", season, monkeypatch=monkeypatch, capsys=capsys)
    assert code == 2


def test_a_screen_that_lacks_a_letter_shows_the_rest(yards: Path) -> None:
    yard = yards / "first_season.yaml"
    yard.write_text(yard.read_text().replace('"Garden"', '"Gärtchen ☃"'))
    done = process("check", yard, "--as-of", AS_OF, cwd=yards, PYTHONIOENCODING="ascii")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("G?rtchen ?: 1 yard")


@pytest.mark.parametrize("option", ["--by", "--note"])
@pytest.mark.parametrize("text", ["AB\x07", "AB\x85", "AB\u202e", "AB\udcff"])
def test_what_no_journal_may_hold_is_refused_before_it_is_written(
    option: str, text: str, yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    yard = yards / "first_season.yaml"
    words = (1, "inspected", "--on", "2027-05-08", option, text, "--as-of", AS_OF)
    code, _, said = called("log", yard, *words, monkeypatch=monkeypatch, capsys=capsys)
    assert code in (0, 2)  # U+0085 is a blank, and goes
    assert code == 0 or "hidden character" in said
    assert called("check", yard, "--as-of", AS_OF, monkeypatch=monkeypatch, capsys=capsys)[0] in (0, 1)


def test_the_line_that_takes_back_can_be_given_to_a_shell(
    yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import shlex

    folder = yards / "my bees; & 'more'"
    folder.mkdir()
    yard = shutil.copy(yards / "first_season.yaml", folder)
    words = (1, "note", "it's $HOME;", "rain", "--on", "2027-05-08", "--as-of", AS_OF)
    code, said, _ = called("log", yard, *words, monkeypatch=monkeypatch, capsys=capsys)
    assert code == 0
    back = shlex.split(said.rpartition("take a line back: ")[2])
    assert back[:3] == ["ipmcal", "log", str(yard)]
    assert called(*back[1:], "--as-of", AS_OF, monkeypatch=monkeypatch, capsys=capsys)[0] == 0


@pytest.mark.parametrize("command", ["status", "check", "new", "plan", "log"])
def test_a_name_that_is_too_long_is_one_complaint(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, said = called(command, "x" * 300 + ".yaml", monkeypatch=monkeypatch, capsys=capsys)
    assert code == 2
    assert "can't be read" in said or "can't be written" in said


def test_a_read_only_journal_is_refused_and_stays(
    yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = yards / "first_season.journal.csv"
    journal.write_text("date,yard,colony,event,value,note\n")
    journal.chmod(0o444)
    words = (1, "inspected", "--on", "2027-05-08", "--as-of", AS_OF)
    code, _, said = called("log", yards / "first_season.yaml", *words, monkeypatch=monkeypatch, capsys=capsys)
    assert (code, "it is read-only" in said) == (2, True)
    assert journal.read_text().count("\n") == 1


def test_a_yard_is_not_named_like_the_calendar_of_all(
    yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(yards / "first_season.yaml", yards / "All Yards.yaml")
    code, _, said = called("check", yards / "All Yards.yaml", monkeypatch=monkeypatch, capsys=capsys)
    assert code == 2
    assert "is named like the calendar of all yards" in said


@pytest.mark.parametrize("season", [0, -5, 9999, 10**9])
def test_a_ledger_with_an_impossible_season_is_damaged(
    season: int, yards: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    task = {"id": "x", "yard": "y", "season": season, "status": "planned", "planned": None}
    ledger = {"outfit": "first_season", "tasks": [task], "version": 1}
    (yards / "first_season.ledger.json").write_text(json.dumps(ledger))
    words = ("plan", yards / "first_season.yaml", "--as-of", AS_OF, "--out", tmp_path / "out", "--print", "feed")
    code, _, said = called(*words, monkeypatch=monkeypatch, capsys=capsys)
    assert (code, "damaged: tasks.0.season" in said) == (2, True)


@pytest.mark.parametrize("words", [(1,), (1, ""), (1, " "), (1, "\n"), ("null", "\n")])
def test_nothing_to_be_written_is_asked_for(
    words: tuple[object, ...], yards: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, said = called("log", yards / "first_season.yaml", *words, monkeypatch=monkeypatch, capsys=capsys)
    assert (code, "what is to be written about" in said) == (2, True)
