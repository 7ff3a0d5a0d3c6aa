"""``ipmcal log`` from end to end: sheets are printed, worked and entered; bad input writes nothing."""

from __future__ import annotations

import json
import subprocess
from datetime import date
from functools import partial
from pathlib import Path

import pytest
from command import ipmcal as run
from filelock import FileLock

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.publishing.disk.lock import LockedError, lock_path
from ipmcal.reading.yards.yards import Loaded, load

PRINTED = "2027-05-10"
TODAY = "2027-05-23"
HEAD = "date,yard,colony,event,value,note\n"


class Outfit:
    """A copy of an example outfit, and the command run on it."""

    def __init__(self, folder: Path) -> None:
        self.cwd, self.folder = folder.parent, folder
        self.path = folder / "journal.csv"

    def log(self, *words: str, answers: str = "", today: str = TODAY) -> subprocess.CompletedProcess[str]:
        return run("log", self.folder.name, *words, "--as-of", today, cwd=self.cwd, answers=answers)

    def done(self, *words: str, answers: str = "", today: str = TODAY) -> str:
        """What is said where all went well."""
        result = self.log(*words, answers=answers, today=today)
        assert (result.returncode, result.stderr) == (0, "")
        return result.stdout

    def refused(self, *words: str, answers: str = "", today: str = TODAY) -> str:
        """The complaint, where nothing was written: one line a defect, exit code 2."""
        before = self.journal
        result = self.log(*words, answers=answers, today=today)
        assert result.returncode == 2, result.stdout
        assert "Traceback" not in result.stderr
        assert self.journal == before
        return result.stderr.strip()

    @property
    def journal(self) -> str:
        return self.path.read_bytes().decode() if self.path.exists() else ""

    @property
    def lines(self) -> list[str]:
        return self.journal.splitlines()[1:]

    def code(self, yard: str, day: str) -> str:
        """The code of the sheet of a yard for a day."""
        sheets = json.loads((self.folder / "ledger.json").read_text())["sheets"]
        return next(s["code"] for s in sheets if (s["yard"], s["day"]) == (yard, day))

    def numbers(self, code: str) -> dict[str, int]:
        """The numbers of a sheet's lines by their tasks, without the season."""
        sheets = json.loads((self.folder / "ledger.json").read_text())["sheets"]
        tasks = next(s["lines"] for s in sheets if s["code"] == code)
        return {task.replace("/2027", ""): i for i, task in enumerate(tasks, 1)}

    def load(self, book: Rulebook) -> Loaded:
        return load(self.folder, folder("rules"), book)


@pytest.fixture
def outfit(yards: Path) -> Outfit:
    return Outfit(yards / "hollow_lane")


@pytest.fixture(scope="session")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The ledger once the sheets of the example outfit are printed."""
    cwd = tmp_path_factory.mktemp("printed")
    source = folder("rules").parent / "example_yards" / "hollow_lane"
    for file in source.glob("*.yaml"):
        (cwd / "hollow_lane").mkdir(exist_ok=True)
        (cwd / "hollow_lane" / file.name).write_bytes(file.read_bytes())
    done = run("plan", "hollow_lane", "--as-of", PRINTED, "--print", "sheet", cwd=cwd)
    assert done.returncode in (0, 1), done.stderr
    return (cwd / "hollow_lane" / "ledger.json").read_text()


@pytest.fixture
def printed(outfit: Outfit, ledger: str) -> Outfit:
    """The outfit with its sheets printed."""
    (outfit.folder / "ledger.json").write_text(ledger)
    return outfit


@pytest.fixture
def sheet(printed: Outfit) -> str:
    """The code of the first sheet of the orchard."""
    sheets = json.loads((printed.folder / "ledger.json").read_text())["sheets"]
    return next(s["code"] for s in sheets if s["yard"] == "orchard")


# One event ------------------------------------------------------------------------------------------------------------


def test_one_event_by_arguments(outfit: Outfit, book: Rulebook) -> None:
    assert outfit.done("3", "trap_cut", "T1", "--on", "2027-05-22").splitlines() == [
        "Sat 22 May 2027:",
        "  orchard, hive 3: trap comb cut: T1",
        "1 line written to hollow_lane/journal.csv.",
        "To take a line back: ipmcal log hollow_lane 3 void trap_cut T1 --on 2027-05-22",
    ]
    outfit.done("@orchard", "entrances_small", "--note", 'all of them, "tight"')
    assert outfit.journal == HEAD + (
        '2027-05-22,orchard,3,trap_cut,T1,\n2027-05-23,orchard,,entrances_small,,"all of them, ""tight"""\n'
    )
    events = outfit.load(book).outfit.journal
    assert events is not None
    assert [(e.word, e.trap, e.note) for e in events] == [
        ("trap_cut", "T1", ""),
        ("entrances_small", None, 'all of them, "tight"'),
    ]


def test_dry_shows_and_writes_nothing(outfit: Outfit) -> None:
    said = outfit.done("3", "inspected", "--dry")
    assert "hive 3: inspected" in said
    assert "1 line to write; nothing was written." in said
    assert not outfit.path.exists()


def test_what_was_written_is_taken_back(outfit: Outfit, book: Rulebook) -> None:
    outfit.done("3", "trap_cut", "T1", "--on", "2027-05-22")
    outfit.done("3", "void", "trap_cut", "T1")
    assert outfit.lines[-1] == "2027-05-22,orchard,3,void,trap_cut T1,", "on the day of the line that it takes back"
    assert outfit.load(book).outfit.journal == ()
    assert "no line of hive 3 on 2027-05-22 that still stands says 'trap_cut T1'" in outfit.refused(
        "3", "void", "trap_cut", "T1", "--on", "2027-05-22"
    )
    outfit.done("3", "trap_cut", "T1", "--on", "2027-05-22")
    assert len(outfit.lines) == 3


def test_the_same_line_twice_is_written_once(outfit: Outfit) -> None:
    outfit.done("3", "count", "9/300", "--on", "2027-05-22")
    said = outfit.done("3", "count", "9/300", "--on", "22.05.2027")
    assert "is there already (hollow_lane/journal.csv:2:1); not written again" in said
    assert "Nothing new to write." in said
    assert len(outfit.lines) == 1


def test_a_lone_yard_file_has_a_journal_beside_it(yards: Path) -> None:
    done = run("log", "first_season.yaml", "1", "inspected", "--on", TODAY, "--as-of", TODAY, cwd=yards)
    assert (done.returncode, done.stderr) == (0, "")
    assert "written to first_season.journal.csv" in done.stdout
    assert (yards / "first_season.journal.csv").read_text() == HEAD + "2027-05-23,first_season,1,inspected,,\n"


def test_a_colony_made_by_an_event_comes_with_the_line_for_the_yard_file(outfit: Outfit, book: Rulebook) -> None:
    said = outfit.done("6", "split_from", "3", "--on", "2027-05-15").splitlines()
    at = next(i for i, line in enumerate(said) if line.startswith("Hive 6 is in the plan from now on"))
    assert "hollow_lane/orchard.yaml" in said[at]
    assert said[at + 1] == "  - {key: 6, began: 2027-05-15 split, hive: langstroth_10, boxes: [deep]}"
    outfit.done("A: 1@mill_field", "caught", "langstroth_8", "medium", "--on", "2027-05-22")
    outfit.done("6", "inspected", "--on", "2027-05-16")
    caught = outfit.done("A 2@mill_field", "caught", "--on", "2027-05-22").splitlines()[-2]
    assert caught == '  - {key: "A 2", began: 2027-05-22 swarm, hive: langstroth_10, boxes: [deep]}'
    for file, line in (("orchard.yaml", said[at + 1]), ("mill_field.yaml", caught)):
        yard = outfit.folder / file
        yard.write_text(yard.read_text() + line + "\n")
    keys = [c.key for y in outfit.load(book).outfit.yards for c in y.colonies]
    assert {"6", "A 2"} <= set(keys)


def test_a_colony_is_logged_where_it_stands(outfit: Outfit) -> None:
    outfit.done("5", "moved", "mill_field", "--on", "2027-05-20")
    outfit.done("5", "inspected", "--on", "2027-05-21")
    outfit.done("5", "inspected", "--on", "2027-05-19")
    assert outfit.lines == [
        "2027-05-20,orchard,5,moved,mill_field,",
        "2027-05-21,mill_field,5,inspected,,",
        "2027-05-19,orchard,5,inspected,,",
    ]


# A sheet --------------------------------------------------------------------------------------------------------------


def test_a_sheet_in_one_go(printed: Outfit, sheet: str, book: Rulebook) -> None:
    numbers = printed.numbers(sheet)
    cut, count, other = (
        numbers[t] for t in ("3.T2/trap_comb_cut/cut/1", "3/mite_count/regular/1", "4/mite_count/regular/1")
    )
    said = printed.done(sheet, f"{cut} capped done", f"{count} 9/300", f"{other} not done")
    assert f"Sheet {sheet}, orchard: done on " in said
    assert ", the day it is for (another day: --on DATE)" in said
    assert f"  {cut}  hive 3: found in the trap: T2 ALL CAPPED" in said
    assert "Not said, and left unknown: lines " in said
    assert [line.split(",", 1)[1] for line in printed.lines] == [
        f"orchard,3,found,T2 all_capped,sheet {sheet} line {cut}",
        f"orchard,3,trap_cut,T2,sheet {sheet} line {cut}",
        f"orchard,3,count,9/300,sheet {sheet} line {count}",
        f"orchard,4,skipped,mite_count/regular/1,sheet {sheet} line {other}",
    ]
    assert len(printed.load(book).outfit.journal or ()) == 4


def test_unquoted_words_with_commas_and_another_day(printed: Outfit, sheet: str) -> None:
    numbers = printed.numbers(sheet)
    cut, count = numbers["3.T2/trap_comb_cut/cut/1"], numbers["3/mite_count/regular/1"]
    said = printed.done(
        sheet.lower(), str(cut), "open,", str(count), "9/300", "--on", "22 May 2027", "--note", "wind, rain"
    )
    assert f"Sheet {sheet}, orchard: done on Sat 22 May 2027\n" in said
    assert printed.lines == [
        f'2027-05-22,orchard,3,found,T2 all_open,"sheet {sheet} line {cut}; wind, rain"',
        f'2027-05-22,orchard,3,count,9/300,"sheet {sheet} line {count}; wind, rain"',
    ]


def test_the_same_sheet_twice_and_part_of_a_sheet(printed: Outfit, sheet: str) -> None:
    numbers = printed.numbers(sheet)
    count, other = numbers["3/mite_count/regular/1"], numbers["4/mite_count/regular/1"]
    printed.done(sheet, f"{count} 9/300")
    said = printed.done(sheet, f"{count} 9/300, {other} 3/300")
    assert "note: 1 line of this sheet entered before" in said
    assert "is there already (hollow_lane/journal.csv:2:1); not written again" in said
    assert "1 line written" in said
    said = printed.done(sheet, f"{count} 10/300")
    assert "this line was entered before as 'count 9/300' on " in said
    assert [line.split(",")[4] for line in printed.lines] == ["9/300", "3/300", "10/300"]


def test_sheets_in_any_order(printed: Outfit, book: Rulebook) -> None:
    sheets = json.loads((printed.folder / "ledger.json").read_text())["sheets"]
    first, second = [s["code"] for s in sheets if s["yard"] == "orchard"][:2]
    printed.done(second, "1 note second", "--on", "2027-05-22")
    printed.done(first, "1 note first", "--on", "2027-05-15")
    events = printed.load(book).outfit.journal or ()
    assert [e.value for e in events] == ["first", "second"]


def test_a_superseded_sheet_is_accepted_and_said(printed: Outfit, sheet: str) -> None:
    path = printed.folder / "ledger.json"
    ledger = json.loads(path.read_text())
    old = next(s for s in ledger["sheets"] if s["code"] == sheet)
    new = ledger["sheets"][-1]
    old["superseded_by"] = new["serial"]
    path.write_text(json.dumps(ledger))
    count = printed.numbers(sheet)["3/mite_count/regular/1"]
    said = printed.done(sheet, f"{count} 9/300")
    assert f"note: sheet {new['code']} took its place; what was done is a fact all the same" in said
    assert len(printed.lines) == 1


def test_more_mites_than_bees_is_accepted_with_a_remark(printed: Outfit, sheet: str) -> None:
    count = printed.numbers(sheet)["3/mite_count/regular/1"]
    assert "more mites than bees: that can be" in printed.done(sheet, f"{count} 400/300")
    assert len(printed.lines) == 1


# Bad input: nothing is written ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("3", "trap_cut", "T1", "--on", "2027-05-24"), "--on 2027-05-24 is still to come (today is 2027-05-23)"),
        (("3", "inspected", "--on", "soon"), "--on 'soon' is not a date"),
        (("3", "inspected", "--on", "05/08/2027"), "--on '05/08/2027' can be 2027-08-05 or 2027-05-08; write it as "),
        (("14", "inspected", "--on", "2027-05-15"), "14 inspected: 2027-05-15 is before hive 14 began (2027-05-"),
        (("99", "inspected"), "99 inspected: there is no colony '99'"),
        (("hive 3", "inspect it"), "'hive 3' is neither a hive's key nor the code of a sheet"),
        (("3", "inspeted"), "3 inspeted: 'inspeted' is not a word of the journal; did you mean 'inspected'?"),
        (("3",), "3 what is to be written about 3? such as: ipmcal log hollow_lane 3 inspected"),
        (("3", "count", "9"), "needs mites and bees with '/' between (found '9')"),
        (("3", "count", "9/0"), "mites in nothing"),
        (("3", "strips_out", "amitraz_strip", "2", "by", "AB"), "takes 2 of amitraz_strip out of hive 3, and 0 are"),
        (("3", "strips_in", "amitraz_strip", "2", "--by", "AB"), "of which lot? Write 'lot K21' behind the amount"),
        (("Z9", "1 done"), "'Z9' is not the code of a sheet that is known; those of the last weeks: none yet"),
    ],
)  # fmt: skip
def test_bad_input_is_one_complaint_and_nothing_is_written(
    outfit: Outfit, words: tuple[str, ...], expected: str
) -> None:
    said = outfit.refused(*words)
    assert expected in said
    assert len(said.splitlines()) == 1
    assert not outfit.path.exists()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("99 done", "line 99: the sheet has the lines 1 to "),
        ("thanks", "'thanks': of which line is that, and what was done?"),
        ("{count} done", "'done' is not enough: write what was counted, such as "),
        ("{count} 9/0", "mites in nothing"),
        ("{count} dome", "says nothing of this line; did you mean "),
        ("{count} strips_in amitraz_strip 2 lot K21", "by whom? Write 'by AB' behind it, or give --by"),
    ],
)
def test_bad_lines_of_a_sheet(printed: Outfit, sheet: str, text: str, expected: str) -> None:
    count = printed.numbers(sheet)["3/mite_count/regular/1"]
    said = printed.refused(sheet, text.format(count=count))
    assert expected in said
    assert said.startswith(f"sheet {sheet}")
    assert len(said.splitlines()) == 1


def test_every_bad_line_of_a_sheet_is_said_and_its_good_ones_are_not_written(printed: Outfit, sheet: str) -> None:
    count = printed.numbers(sheet)["3/mite_count/regular/1"]
    said = printed.refused(sheet, f"{count} 9/300", "98 done", "99 done")
    assert len(said.splitlines()) == 2


def test_an_unknown_code_names_the_sheets_of_the_last_weeks(printed: Outfit, sheet: str) -> None:
    said = printed.refused("Z9", "1 done")
    assert said.startswith("'Z9' is not the code of a sheet that is known; those of the last weeks: ")
    assert f"{sheet} (orchard, " in said


def test_a_sheet_for_a_day_to_come_needs_the_day_of_work(printed: Outfit, sheet: str) -> None:
    said = printed.refused(sheet, "1 note early", today="2027-05-11")
    assert "which is still to come; say on which day the work was done: --on DATE" in said
    printed.done(sheet, "1 note early", "--on", "2027-05-11", today="2027-05-11")


@pytest.mark.parametrize(
    ("journal", "expected"),
    [
        ("2027-05-22,orchard,99,inspected,,\n", "hollow_lane/journal.csv:2:20 colony: there is no colony '99'"),
        ("2027-05-22,orchard,3", "hollow_lane/journal.csv:2:1 the line is cut off, and the file ends in it"),
        ("05/08/2027,orchard,3,inspected,,\n", "hollow_lane/journal.csv:2:1 date: '05/08/2027' can be 2027-08-05 or"),
    ],
)
def test_a_journal_with_complaints_is_not_appended_to(outfit: Outfit, journal: str, expected: str) -> None:
    outfit.path.write_text(HEAD + journal)
    assert outfit.refused("3", "inspected").startswith(expected)


def test_what_would_leave_the_journal_in_disorder_is_refused(outfit: Outfit) -> None:
    outfit.done("6", "split_from", "3", "--on", "2027-05-15")
    outfit.done("6", "inspected", "--on", "2027-05-16")
    said = outfit.refused("6", "void", "split_from", "3", "--on", "2027-05-15")
    assert "with this, the journal would not be in order; nothing was written: hollow_lane/journal.csv:3:" in said


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("\ufeff" + HEAD.replace("\n", "\r\n"), "2027-05-22,orchard,3,note,calm; warm,\r\n"),
        (HEAD.replace(",", ";"), '2027-05-22;orchard;3;note;"calm; warm";\n'),
        (HEAD.replace(",", "\t"), "2027-05-22\torchard\t3\tnote\tcalm; warm\t\n"),
        (HEAD + "22.5.2027,orchard,3,fed,,\n5/23/2027,orchard,3,fed,,\n", "2027-05-22,orchard,3,note,calm; warm,\n"),
        (HEAD + "2027-05-22,orchard,3,inspected,,", "\n2027-05-22,orchard,3,note,calm; warm,\n"),
    ],
)  # fmt: skip
def test_a_spreadsheet_s_journal_is_appended_to_as_it_is(outfit: Outfit, head: str, line: str) -> None:
    outfit.path.write_bytes(head.encode())
    outfit.done("3", "note", "calm; warm", "--on", "2027-05-22")
    assert outfit.journal == head + line


def test_a_damaged_ledger_is_a_complaint(printed: Outfit, sheet: str) -> None:
    (printed.folder / "ledger.json").write_text("{")
    assert "damaged" in printed.refused(sheet, "1 done")


def test_a_journal_that_is_being_written_is_a_complaint(
    outfit: Outfit, book: Rulebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    from ipmcal.journaling import appending, entering

    monkeypatch.setattr(appending, "append_rows", partial(appending.append_rows, patience=0.0))
    loaded = outfit.load(book)
    request = entering.Request("hollow_lane", ("3", "inspected"), None, "", "", date(2027, 5, 23).toordinal())
    with FileLock(lock_path(loaded.journal)), pytest.raises(LockedError, match="another program is writing it"):
        entering.enter(loaded, request, lambda question, default: default, lambda text: None)
    assert not outfit.path.exists()


# The prompt -----------------------------------------------------------------------------------------------------------


def test_the_walk_asks_shows_and_writes(printed: Outfit, sheet: str) -> None:
    numbers = printed.numbers(sheet)
    answers = {numbers["3.T2/trap_comb_cut/cut/1"]: "capped\ny", numbers["3/mite_count/regular/1"]: "9/300"}
    typed = "".join(f"{answers.get(i, '')}\n" for i in range(1, len(numbers) + 1))
    said = printed.done(sheet, answers=f"2027-05-22\n{typed}y\n")
    assert "On which day was the work done?" in said
    assert "hive 3: Trap T2:" in said
    assert "3 lines written to hollow_lane/journal.csv." in said
    assert [line.split(",")[3] for line in printed.lines] == ["found", "trap_cut", "count"]


def test_without_words_the_sheet_is_asked_for(printed: Outfit, sheet: str) -> None:
    numbers = printed.numbers(sheet)
    said = printed.done(answers=f"{sheet}\n2027-05-22\n" + "not done\n" + "\n" * (len(numbers) - 1) + "n\n")
    assert f"{sheet} (orchard, " in said
    assert "Nothing was written." in said
    assert not printed.path.exists()


@pytest.mark.parametrize("typed", ["", "2027-05-22\n", "2027-05-22\ncapped\n"])
def test_where_the_answers_end_nothing_is_written_and_it_is_said(printed: Outfit, sheet: str, typed: str) -> None:
    said = printed.refused(sheet, answers=typed)
    assert said.splitlines()[-1] == "hollow_lane/journal.csv the answers ended early; nothing was written"


def test_supers_taken_off_on_the_sheet_that_gives_a_course_are_told_to_be_off(tmp_path: Path) -> None:
    """Each line is weighed with the others of its sheet: supers off, then strips in, is as the label wants it."""
    (tmp_path / "yard.yaml").write_text(
        "yard: Waldrand\nplace: {latitude: 50.2, longitude: 8.6, elevation: 190 m}\nregion: germany_central_europe\n"
        "jurisdiction: de\ndays: [sat]\nprogram: acids_and_handwork\ncolonies:\n"
        "  - {key: '1', began: 2025 overwintered, hive: langstroth_10, boxes: [deep]}\n"
    )
    (tmp_path / "yard.journal.csv").write_text(
        f"{HEAD}2027-04-10,yard,1,supers_on,1,\n2027-04-10,yard,1,count,30/300,\n"
    )
    assert run("plan", "yard.yaml", "--as-of", "2027-04-11", "--print", "sheet", cwd=tmp_path).returncode == 0
    sheets = json.loads((tmp_path / "yard.ledger.json").read_text())["sheets"]
    code = next(sheet["code"] for sheet in sheets if sheet["day"] == "2027-04-17")
    said = ("yard.yaml", code, "1 done", "2 done 2 strips lot B77", "--on", "2027-04-17", "--by", "AB")
    told = run("log", *said, "--as-of", "2027-04-18", cwd=tmp_path)
    assert (told.returncode, told.stderr) == (0, "")
    assert "strips, trays or pads put in" in told.stdout
    assert "mind" not in told.stdout
