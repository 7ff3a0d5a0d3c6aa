"""What is said of a sheet in one string, on which day, and which words each line takes; without planning anything."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.journaling.entering import Request, enter
from ipmcal.journaling.printed import known_sheet
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.publishing.memory.ledger import KnownTask, Ledger, LedgerSheet, ledger_text
from ipmcal.reading.entering.blanks import frames_of_bees
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.yards import Loaded, load
from ipmcal.saying.wording import journal_words, sheet_words

DAY = date(2027, 5, 16).toordinal()
LINES = (
    "3.T2/trap_comb_cut/2027/cut/1",
    "3/mite_count/2027/spring/1",
    "3/supers/2027/put_on/1",
    "4/swarm_check/2027/check/1",
    "4/formic_strips_pair/2027/apply/1",
)


@pytest.fixture
def loaded(tmp_path: Path, book: Rulebook) -> Loaded:
    """An outfit with one printed sheet, C3, its work due from 13 to 22 May."""
    target = tmp_path / "hollow_lane"
    shutil.copytree(folder("rules").parent / "example_yards" / "hollow_lane", target)
    tasks = tuple(
        KnownTask(line, "orchard", 2027, Status.PLANNED, DAY, DAY - 3, DAY + 6, look="cut" in line) for line in LINES
    )
    sheet = LedgerSheet("C3", 1, "orchard", f"orchard/{date.fromordinal(DAY)}", DAY, LINES)
    ledger = Ledger("hollow_lane", DAY - 6, tasks=tasks, sheets=(sheet,), printed=1, since=DAY - 6)
    (target / "ledger.json").write_text(ledger_text(ledger))
    return load(target, folder("rules"), book)


def entered(loaded: Loaded, *words: str, answers: tuple[str, ...] = (), **more: object) -> list[str]:
    """What is said; nothing is written."""
    said: list[str] = []
    waiting = iter(answers)
    base = Request("hollow_lane", words, None, "AB", "", DAY + 60, dry=True)
    enter(loaded, replace(base, **more), lambda question, default: next(waiting), said.append)  # type: ignore[arg-type]
    return [line.strip() for line in said]


@pytest.mark.parametrize(
    "words",
    [
        ("C3H 16 May: 1 cut; 2 3 in 300, 3 1",),
        ("C3H", "16", "May:", "1", "cut,", "2", "3/300,", "3", "1"),
        ("c3 1 cut, 2 3 300; 3 supers 1",),
        ("C3", "1 cut", "2 3 in 300", "3 1"),
        ("C3 16.5.: 1 cut, 2 mites 3 bees 300, 3 1 super",),
    ],
)
def test_a_whole_message_in_one_string_or_in_words(words: tuple[str, ...], loaded: Loaded) -> None:
    said = entered(loaded, *words)
    assert said[0].startswith("Sheet C3, orchard: done on Sun 16 May 2027, the day it is for")
    assert said[1:4] == [
        "1  hive 3: trap comb cut: T2",
        "2  hive 3: mites counted: 3/300",
        "3  hive 3: supers on: 1",
    ]


def test_highs_and_a_treatment_as_the_blanks_are_printed(loaded: Loaded) -> None:
    loaded_line = "5 highs of today and the next three days 72 75 78 80, put in 2, lot F117"
    said = entered(loaded, "C3", loaded_line)
    assert "5  hive 4: strips, trays or pads put in: formic_strips_pair 2 lot F117 by AB" in said
    written = entered(loaded, "C3", "5 put in 2 lot F117, highs 72, 75, 78, 80; 4 no cells", dry=False)
    assert any("2 lines written" in line for line in written)
    assert "highs 72 75 78 80" in loaded.journal.read_text()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("C3", "1 done"), "write '1 cut' or '1 left'"),
        (("C3", "4 done 9/300"), "this line asks for no count"),
        (("C3", "4 done heavy"), "'heavy' says nothing of this line"),
        (("C3", "4 done swarmed"), "'swarmed' is a word of the journal: say it by itself"),
        (("C3", "4 cells, no cells"), "'NO CELLS' and 'CELLS' are said of it"),
        (("C3", "4 gugus"), "NO CELLS, CUPS, EGGS IN CUPS, CELLS, QUEEN SEEN"),
        (("C3", "9 done"), "there is no line 9"),
        (("C3", "4 done, thanks"), "'thanks': of which line is that"),
        (("C3H 16 May or 17 May: 4 done",), "more than one day"),
        (("C3H 16 Sept: 4 done",), "which is still to come"),
    ],
)
def test_what_is_refused_says_what_the_line_takes(words: tuple[str, ...], told: str, loaded: Loaded) -> None:
    with pytest.raises(BadInput) as caught:
        entered(loaded, *words)
    assert any(told in str(one) for one in caught.value.complaints), caught.value.complaints


def test_a_day_far_from_the_sheet_s_work_is_asked_or_refused_with_how_to_say_yes(loaded: Loaded) -> None:
    assert "the day it is for" in entered(loaded, "C3", "4 done")[0]
    assert entered(loaded, "C3", "4 done", on="2027-05-20")[0].endswith("done on Thu 20 May 2027")
    with pytest.raises(BadInput, match="its work for Thu 13 to Sat 22 May") as caught:
        entered(loaded, "C3", "4 done", on="2027-06-20")
    assert "--sure" in str(caught.value)
    assert entered(loaded, "C3", "4 done", on="2027-06-20", sure=True)[0].endswith("Sun 20 June 2027")
    assert entered(loaded, "C3", "4 done", on="2027-06-20", asks=True, answers=("y",))[0].endswith("Sun 20 June 2027")
    with pytest.raises(BadInput, match="nothing was written"):
        entered(loaded, "C3", "4 done", on="2027-06-20", asks=True, answers=("n",))
    with pytest.raises(BadInput, match="another day than the message names"):
        entered(loaded, "C3H 16 May: 4 done", on="2027-05-17")


def test_the_words_of_each_line_and_of_the_journal(loaded: Loaded, book: Rulebook) -> None:
    lines = list(sheet_words(known_sheet(loaded, "C3H"), book))
    words = "hive 3 T2: 'not done', CAPPED, PART, OPEN, LATE, HONEY, WORKER, NONE, CUT, LEFT, a count such as "
    assert words in lines[1]
    assert lines[2].endswith("hive 3: a count such as 4/300 (mites/bees), 'not done'")
    assert "'done', 'not done', supers ..." in lines[3]
    words = list(journal_words(book))
    assert sum(line.startswith("  ") for line in words) == len(book.events) + len(book.circled) + len(book.findings)
    assert any(line.startswith("  trap_cut: trap comb cut") and "trap_cut T1" in line for line in words)
    with pytest.raises(BadInput, match="is not the code"):
        known_sheet(loaded, "Z9")


@pytest.mark.parametrize("words", ["1 late 3/300, cut", "1 late 3 in 300, cut", "1 cut LATE: mites 3 bees 300"])
def test_a_late_trap_is_counted_on_the_spot_as_its_line_is_printed(words: str, loaded: Loaded) -> None:
    said = entered(loaded, "C3", words)
    told = {line.partition(": ")[2] for line in said if line.startswith("1  hive 3")}
    assert told == {"found in the trap: T2 DRONES CHEWING OUT", "trap comb cut: T2", "mites counted: 3/300"}


@pytest.mark.parametrize("words", ["2 3/300, frames of bees 6", "2 3/300 6 frames of bees"])
def test_frames_of_bees_are_taken_as_the_blank_is_printed(words: str, loaded: Loaded) -> None:
    said = entered(loaded, "C3", words)
    assert "2  hive 3: frames covered with bees: 6" in said
    assert "2  hive 3: mites counted: 3/300" in said


@pytest.mark.parametrize(
    ("said", "left", "frames"),
    [
        ("done 8 frames of bees", "done", "8"),
        ("frames of bees 8, no cells", "no cells", "8"),
        ("no cells", "no cells", ""),
        ("note 8 frames of bees", "note 8 frames of bees", ""),
    ],
)
def test_frames_of_bees_beside_anything_else(said: str, left: str, frames: str, book: Rulebook) -> None:
    """By the word whose effect it is; the rules here have one put in, whatever the shipped ones call it."""
    rule = book.events["strength"].model_copy(update={"effect": "bees"})
    found = frames_of_bees(said, replace(book, events={**book.events, "covered": rule}))
    assert found[0] == left
    assert found[1][1:] == ([frames] if frames else [])
