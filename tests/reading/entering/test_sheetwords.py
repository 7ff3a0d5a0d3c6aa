"""What is said of a sheet's lines, by their numbers: words, findings, counts; nothing that was not said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.reading.entering.entries import EntryError, Facts, Typed
from ipmcal.reading.entering.phrases import DONE_OR_NOT, Heard
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.entering.sheetwords import as_text, entered, line_entries, without_ticks
from ipmcal.reading.entering.speech import told_apart
from ipmcal.reading.journal.values import value_text
from ipmcal.reading.yards.yards import load

DAY = date(2027, 5, 22).toordinal()
TASKS = (
    "@mill_field/own/2027/mow/1",
    "12.T7/trap_comb_cut/2027/cut/2",
    "12/mite_count/2027/spring/1",
    "11/swarm_check_clipped/2027/check/1",
    "12.T7/trap_comb_cut/2027/hang/1",
    "11.D1/trap_comb_frozen/2027/swap/1",
    "13/gone_method/2027/gone/1",
    "12/uniting_weak/2027/unite/1",
    "12/amitraz_strip/2027/apply/1",
    "12/thymol_wafer/2027/wafers_1/1",
    "12/thymol_wafer/2027/wafers_2/1",
    "12/amitraz_strip_2/2027/take_out/1",
)


@pytest.fixture(scope="session")
def facts(book: Rulebook) -> Facts:
    loaded = load(folder("rules").parent / "example_yards" / "hollow_lane", folder("rules"), book)
    return Facts(loaded.outfit, book, loaded.keys, DAY + 30, by="AB")


@pytest.fixture(scope="session")
def sheet(book: Rulebook) -> PrintedSheet:
    return PrintedSheet("C3", "mill_field", DAY, tuple(sheet_line(i, t, book) for i, t in enumerate(TASKS, 1)))


def said(entries: list[Typed]) -> list[str]:
    return [f"{e.event.colony} {e.event.word} {value_text(e.event)}".strip() for e in entries]


FOUR = [
    Heard(number, phrases={**DONE_OR_NOT, ("open",): "open", ("capped",): "capped"}, counts=True)
    for number in range(1, 5)
]
"""Four lines of which anything may be said."""

# Arguments ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["1 done", "2 count 9/300"], [(1, "done"), (2, "9/300")]),
        (["1", "done,", "2", "9/300,", "3", "open"], [(1, "done"), (2, "9/300"), (3, "open")]),
        (["1 done, 2 9/300,3 open"], [(1, "done"), (2, "9/300"), (3, "open")]),
        (["1 done,2 9/300"], [(1, "done"), (2, "9/300")]),
        (["1 fed 2,5 kg", "2 done"], [(1, "fed 2,5 kg"), (2, "done")]),
        (["1", "done"], [(1, "done")]),
        (["3", "capped", "done"], [(3, "capped done")]),
        (["1 done", "2", "done"], [(1, "done"), (2, "done")]),
        (["1 note cold, windy"], [(1, "note cold, windy")]),
        (["1 strips_in 2 lot K21 by AB, 2 done"], [(1, "strips_in 2 lot K21 by AB"), (2, "done")]),
        (["1 done,"], [(1, "done")]),
        (["1 done; 2 9/300;3 open;"], [(1, "done"), (2, "9/300"), (3, "open")]),
        (["1 note cold; windy"], [(1, "note cold; windy")]),
        (["1-3 done, 4 open"], [(1, "done"), (2, "done"), (3, "done"), (4, "open")]),
        (["1-2", "done"], [(1, "done"), (2, "done")]),
        (["1-2 done", "3", "open"], [(1, "done"), (2, "done"), (3, "open")]),
        (["done"], [(1, "done"), (2, "done"), (3, "done"), (4, "done")]),
        (["all done but 4, 4 open"], [(1, "done"), (2, "done"), (3, "done"), (4, "open")]),
        (["1 open, 8 frames of bees; 2 done"], [(1, "open frames of bees 8"), (2, "done")]),
        (["all done"], [(1, "done"), (2, "done"), (3, "done"), (4, "done")]),
        (["1, 3 and 4 capped"], [(1, "capped"), (3, "capped"), (4, "capped")]),
        (["1-2", "9 in 300"], [(1, "9/300"), (2, "9/300")]),
        (["3 in 300"], [(3, "in 300")]),
        (["2 nine in three hundred 3 open"], [(2, "9/300"), (3, "open")]),
        (["done", "but", "4"], [(1, "done"), (2, "done"), (3, "done")]),
        (["All done but 1, 3"], [(2, "done"), (4, "done")]),
        (["done except 1 and 3"], [(2, "done"), (4, "done")]),
    ],
)
def test_arguments_as_numbered_lines(words: list[str], expected: list[tuple[int, str]]) -> None:
    assert told_apart(as_text(words), FOUR) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 outside, ° 2, 3 done", [(1, "outside, ° 2"), (3, "done")]),
        ("1 outside, °F 52, 3 done", [(1, "outside, °F 52"), (3, "done")]),
        ("1 outside, ° 2, 3; 4 done", [(1, "outside, ° 2, 3"), (4, "done")]),
        ("1 done 2 lot K21 outside 3, 2 done", [(1, "done 2 lot K21 outside 3"), (2, "done")]),
        ("1 done, 2 outside, ° 4, 3 done", [(1, "done"), (2, "outside, ° 4"), (3, "done")]),
    ],
)
def test_a_number_behind_a_blank_is_no_line(text: str, expected: list[tuple[int, str]]) -> None:
    blank = frozenset({"seams", "outside"})
    lines = [replace(line, counts=False, amount=True, several=blank) for line in FOUR]
    assert told_apart(text, lines, {"strips_in"}, letter=True) == expected


def test_of_two_numbers_beside_frames_of_bees_one_is_asked() -> None:
    """The last of the highs, or how many frames?"""
    with pytest.raises(EntryError, match="two numbers stand beside 'frames of bees'"):
        told_apart("1 done 2 lot K21 outside 12, 14 frames of bees 8", FOUR, letter=True)
    assert told_apart("1 open 8 frames of bees 2 done", FOUR) == [(1, "open frames of bees 8"), (2, "done")]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["thanks"], "'thanks': of which line is that, and what was done?"),
        (["1 done, thanks"], "'thanks': of which line is that"),
        (["1 done, 9/300"], "'9/300': of which line is that"),
        (["2 9/300 or 8/300"], "two things are said of line 2"),
        (["2 9/300 8/300"], "two numbers are said of line 2"),
        (["1"], "nothing is said of line 1; write '1 done' or '1 not done'"),
        (["3-1 done"], "'3-1' runs backwards; write '1-3'"),
        (["1", "done,", "2"], "nothing is said of line 2"),
    ],
)
def test_arguments_that_say_nothing(words: list[str], expected: str) -> None:
    with pytest.raises(EntryError) as caught:
        told_apart(as_text(words), FOUR)
    assert expected in str(caught.value)


# A line ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "text", "expected"),
    [
        (1, "done", ["None done mow"]),
        (1, "not done", ["None skipped own/mow/1"]),
        (2, "done", ["12 trap_cut T7"]),
        (2, "capped", ["12 found T7 all_capped"]),
        (2, "capped done", ["12 found T7 all_capped", "12 trap_cut T7"]),
        (2, "done, capped", None),
        (2, "done capped", ["12 trap_cut T7", "12 found T7 all_capped"]),
        (2, "ALL OPEN", ["12 found T7 all_open"]),
        (2, "Open", ["12 found T7 all_open"]),
        (2, "NOT DONE", ["12 skipped T7 trap_comb_cut/cut/2"]),
        (2, "late done", ["12 found T7 emerging", "12 trap_cut T7"]),
        (2, "trap T7 open", ["12 found T7 all_open"]),
        (3, "9/300 trap T7 open", ["12 count 9/300", "12 found T7 all_open"]),
        (2, "trap_out", ["12 trap_out T7"]),
        (2, "trap_out T7", ["12 trap_out T7"]),
        (3, "9/300", ["12 count 9/300"]),
        (3, "9 in 300", ["12 count 9/300"]),
        (3, "9 of 300 sugar", ["12 count 9/300 sugar"]),
        (3, "9 300", ["12 count 9/300"]),
        (3, "done 9 300", ["12 count 9/300"]),
        (3, "count 9 300", ["12 count 9/300"]),
        (2, "CUT", ["12 trap_cut T7"]),
        (2, "capped cut", ["12 found T7 all_capped", "12 trap_cut T7"]),
        (2, "OPEN LEFT", ["12 found T7 all_open", "12 skipped T7 trap_comb_cut/cut/2"]),
        (2, "left cut", None),
        (2, "open not done", None),
        (6, "SWAPPED", ["11 trap_swapped D1"]),
        (3, "9/300 sugar", ["12 count 9/300 sugar"]),
        (3, "count 9/300 wash", ["12 count 9/300 wash"]),
        (3, "done 9/300", ["12 count 9/300"]),
        (3, "weighed_count 4/50", ["12 weighed_count 4/50"]),
        (3, "broodless", ["12 broodless"]),
        (4, "done", ["11 inspected"]),
        (4, "done two cells, cut", ["11 inspected two cells, cut"]),
        (4, "swarmed", ["11 swarmed"]),
        (4, "count 4/300", ["11 count 4/300"]),
        (5, "done 2", ["12 trap_hung T7 2"]),
        (6, "done", ["11 trap_swapped D1"]),
        (7, "inspected", ["13 inspected"]),
        (8, "done 11", ["12 united 11"]),
        (9, "done 2 lot K21", ["12 strips_in amitraz_strip 2 lot K21 by AB"]),
        (9, "done amitraz_strip 2 lot K21 by CD", ["12 strips_in amitraz_strip 2 lot K21 by CD"]),
        (9, "strips_in 2 lot K21", ["12 strips_in amitraz_strip 2 lot K21 by AB"]),
        (9, "not done", ["12 skipped amitraz_strip/apply/1"]),
        (4, "strips_in amitraz_strip 2 lot K21", ["11 strips_in amitraz_strip 2 lot K21 by AB"]),
    ],
)
def test_what_a_line_says(
    number: int, text: str, expected: list[str] | None, facts: Facts, sheet: PrintedSheet
) -> None:
    if expected is None:
        with pytest.raises(EntryError):
            line_entries(facts, sheet, number, text, DAY)
        return
    entries = line_entries(facts, sheet, number, text, DAY, "calm")
    assert said(entries) == expected
    assert {e.event.note.removesuffix("; by AB") for e in entries} == {f"sheet C3 line {number}; calm"}
    assert {(e.line, e.event.day, e.event.yard) for e in entries} == {(number, DAY, "mill_field")}


@pytest.mark.parametrize(
    ("number", "text", "expected"),
    [
        (13, "done", "the sheet has the lines 1 to 12; there is no line 13"),
        (9, "done", "'done' is not enough: write how much, of which lot and by whom, such as 9 done 2 lot K21 by AB"),
        (9, "done 2", "of which lot?"),
        (0, "done", "there is no line 0"),
        (2, "al", "'al' says nothing of this line; "),
        (2, "not", "'not' says nothing of this line; did you mean 'not done'?"),
        (
            2,
            "doen",
            "did you mean 'done'? it may be 'done', 'not done', CAPPED, PART, OPEN, LATE, HONEY, WORKER, NONE, CUT",
        ),
        (2, "done not done", "'not done' and something else are said of it; say one of the two"),
        (4, "9/300", "this line asks for no count; if one was made: '4 count 9/300'"),
        (3, "done", "'done' is not enough: write what was counted, such as 3 9/300"),
        (3, "capped", "'capped' says nothing of this line"),
        (3, "9/300 8", "a count such as 4/300 (mites/bees), '8 frames of bees', or a word of the journal"),
        (3, "9/0", "mites in nothing"),
        (5, "done", "'done' is not enough: write the slot in which it hangs now, such as 5 done 2"),
        (7, "done", "the rules have no step gone_method/gone any more; write the journal's word for it"),
        (8, "done", "'done' is not enough: write the other colony, such as 8 done 5"),
        (4, "strips_in amitraz_strip 2", "of which lot?"),
    ],
)
def test_what_says_nothing_of_a_line(number: int, text: str, expected: str, facts: Facts, sheet: PrintedSheet) -> None:
    with pytest.raises(EntryError) as caught:
        line_entries(facts, sheet, number, text, DAY)
    assert expected in str(caught.value)


def test_a_finding_does_not_make_up_that_the_comb_was_cut(facts: Facts, sheet: PrintedSheet) -> None:
    remark = ("'trap comb cut' is not entered; if it was done, enter '2 done' too",)
    for text, remarks in (("capped", remark), ("late", remark), ("open", ()), ("honey", ()), ("capped done", ())):
        entries = line_entries(facts, sheet, 2, text, DAY)
        assert entries[-1].remarks == remarks, text
        assert [e.event.word for e in entries].count("trap_cut") == text.count("done")
    later = facts.after([line_entries(facts, sheet, 2, "done", DAY)[0].event])
    assert line_entries(later, sheet, 2, "capped", DAY)[-1].remarks == ()


def test_a_line_entered_before_with_another_answer_is_pointed_out(facts: Facts, sheet: PrintedSheet) -> None:
    first = line_entries(facts, sheet, 3, "9/300", DAY)
    later = facts.after([replace(one.event, place=Place("journal.csv", 2, 1)) for one in first])
    (same,) = line_entries(later, sheet, 3, "9/300", DAY)
    assert same.known is not None
    assert same.remarks == ()
    (other,) = line_entries(later, sheet, 3, "10/300", DAY)
    assert other.known is None
    assert other.remarks[0].startswith("this line was entered before as 'count 9/300' on Sat 22 May")
    assert other.remarks[0].endswith("such as with '12 void count 9/300 --on 2027-05-22'")
    (skipped,) = line_entries(later, sheet, 3, "not done", DAY)
    assert "entered before as 'count 9/300'" in skipped.remarks[0]
    (beside,) = line_entries(later, sheet, 3, "broodless", DAY)
    assert beside.remarks == ()


def test_a_tick_and_a_word_of_one_line_are_one_entry(facts: Facts, sheet: PrintedSheet) -> None:
    """As the sheet asks: tick what is done, circle the word that fits. Nothing is to be taken back then."""
    ticked = line_entries(facts, sheet, 4, "done", DAY)
    later = facts.after([one.event for one in ticked])
    circled = line_entries(later, sheet, 4, "no cells", DAY)
    assert [one.event.word for one in (*ticked, *circled)] == ["inspected", "inspected"]
    assert circled[0].remarks == ()
    told = without_ticks([*ticked, *circled], facts.book)
    assert [(one.event.word, one.event.value) for one in told] == [("inspected", "no cells")]
    assert without_ticks(ticked, facts.book) == ticked
    another = [replace(one, line=2) for one in ticked]
    assert without_ticks([*another, *circled], facts.book) == [*another, *circled]


def test_a_code_that_came_back_years_later_is_another_sheet(facts: Facts, sheet: PrintedSheet) -> None:
    later = facts.after([one.event for one in line_entries(facts, sheet, 3, "9/300", DAY)])
    assert len(entered(later, sheet)) == len(entered(later, sheet, 3)) == 1
    assert entered(later, sheet, 2) == []
    assert entered(later, replace(sheet, day=DAY + 730)) == []


def test_line_1_is_not_line_10(facts: Facts, sheet: PrintedSheet) -> None:
    event = line_entries(facts, sheet, 1, "done", DAY)[0].event
    later = facts.after([replace(event, note="sheet C3 line 10")])
    assert entered(later, sheet, 1) == []


def test_a_colony_that_has_moved_is_entered_where_it_stood(facts: Facts, sheet: PrintedSheet) -> None:
    later = facts.after([line_entries(facts, sheet, 4, "moved orchard", DAY)[0].event])
    (one,) = line_entries(later, sheet, 4, "done", DAY)
    assert one.event.yard == "orchard"
    assert one.remarks == ("on that day it stood in orchard: entered there",)


def test_a_colony_s_key_may_hold_a_dot(book: Rulebook) -> None:
    line = sheet_line(1, "A.1.T1/trap_comb_cut/2027/cut/1", book)
    assert (line.who, line.trap) == ("A.1", "T1")
    line = sheet_line(1, "A.1/mite_count/2027/spring/1", book)
    assert (line.who, line.trap) == ("A.1", "")


# Courses --------------------------------------------------------------------------------------------------------------


def test_at_a_step_that_swaps_what_was_put_in_before_comes_out(facts: Facts, sheet: PrintedSheet) -> None:
    """The second wafers replace the first (common practice); what went in first is counted out."""
    first = line_entries(facts, sheet, 10, "done 2 lot K21", DAY)
    assert said(first) == ["12 strips_in thymol_wafer 2 lot K21 by AB"]
    after = facts.after([one.event for one in first])
    second = line_entries(after, sheet, 11, "done 2 lot K22", DAY + 14)
    assert said(second) == ["12 strips_out thymol_wafer 2 by AB", "12 strips_in thymol_wafer 2 lot K22 by AB"]


def test_where_nothing_is_in_nothing_is_taken_out(facts: Facts, sheet: PrintedSheet) -> None:
    assert said(line_entries(facts, sheet, 11, "done 2 lot K22", DAY)) == ["12 strips_in thymol_wafer 2 lot K22 by AB"]


def test_the_second_course_of_a_season_is_of_the_same_product(facts: Facts, sheet: PrintedSheet) -> None:
    put_in = line_entries(facts, sheet, 9, "done 2 lot K21", DAY)
    after = facts.after([one.event for one in put_in])
    assert said(line_entries(after, sheet, 12, "done 2", DAY + 28)) == ["12 strips_out amitraz_strip 2 by AB"]
    assert said(line_entries(after, sheet, 12, "not done", DAY + 28)) == ["12 skipped amitraz_strip_2/take_out/1"]


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("open cut", "all open, and trap comb cut?"),
        ("capped left", "all capped, and left?"),
        ("late left", "drones chewing out, and left?"),
        ("open left", ""),
        ("capped cut", ""),
        ("honey cut", ""),
        ("cut", ""),
    ],
)
def test_where_the_finding_and_what_was_done_disagree_it_is_asked(
    text: str, asked: str, facts: Facts, sheet: PrintedSheet
) -> None:
    remarks = [r for one in line_entries(facts, sheet, 2, text, DAY) for r in one.remarks]
    assert [r for r in remarks if "?" in r] == (
        [f"{asked} If one of the two is wrong, take it back with 'void'"] if asked else []
    )
    assert not [r for r in remarks if "is not entered" in r]
