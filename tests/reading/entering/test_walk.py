"""The walk down a sheet: Enter leaves open, a plain look may be taken by it, treatments are asked out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.entering.entries import Facts, Typed
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.entering.walk import ask_day, walk
from ipmcal.reading.journal.values import value_text
from ipmcal.reading.yards.yards import load

DAY = date(2027, 5, 22).toordinal()
CUT, COUNT, LOOK, FED = (
    "12.T7/trap_comb_cut/2027/cut/2",
    "12/mite_count/2027/spring/1",
    "11/swarm_check_clipped/2027/check/1",
    "12/feeding/2027/weigh_and_feed/1",
)


class Terminal:
    """Answers in turn; ends as a terminal does when there are no more."""

    def __init__(self, answers: Iterable[str]) -> None:
        self.answers = list(answers)
        self.said: list[str] = []

    def ask(self, question: str, default: str) -> str:
        self.said.append(question)
        if not self.answers:
            raise EOFError
        return self.answers.pop(0) or default

    def say(self, text: str) -> None:
        self.said.append(text)


@pytest.fixture(scope="session")
def facts(book: Rulebook) -> Facts:
    loaded = load(folder("rules").parent / "example_yards" / "hollow_lane", folder("rules"), book)
    return Facts(loaded.outfit, book, loaded.keys, DAY + 1)


def sheet(book: Rulebook, *tasks: str) -> PrintedSheet:
    return PrintedSheet("C3", "mill_field", DAY, tuple(sheet_line(i, t, book) for i, t in enumerate(tasks, 1)))


def walked(facts: Facts, tasks: tuple[str, ...], *answers: str) -> tuple[list[str], list[str]]:
    """What came out, and what was said; every answer was asked for."""
    terminal = Terminal(answers)
    found: list[Typed] = walk(terminal.ask, terminal.say, facts, sheet(facts.book, *tasks), DAY)
    assert terminal.answers == []
    return [f"{e.line} {e.event.word} {value_text(e.event)}".strip() for e in found], terminal.said


def test_enter_leaves_a_line_open_but_for_a_plain_look(facts: Facts) -> None:
    assert walked(facts, (CUT, COUNT, LOOK), "", "", "")[0] == ["3 inspected"]
    assert walked(facts, (LOOK,), "-")[0] == []
    assert walked(facts, (FED,), "")[0] == [], "an act is not taken by Enter"


def test_lines_are_shown_as_they_were_printed(facts: Facts) -> None:
    said = walked(facts, (CUT, COUNT), "", "")[1]
    assert "1  hive 12: Trap T7: cut the comb" in said
    assert "2  hive 12: Mite count: nurse bees from a brood frame" in said
    own = walked(facts, ("@mill_field/own/2027/mow/1",), "done")
    assert own[0] == ["1 done mow"]
    assert "1  mill_field: Mow in front of the hives" in own[1]


def test_a_line_is_asked_again_until_its_answer_fits(facts: Facts) -> None:
    found, said = walked(facts, (COUNT,), "done", "9/0", "9/300")
    assert found == ["1 count 9/300"]
    assert "     'done' is not enough: write what was counted, such as 1 9/300" in said
    assert any("mites in nothing" in line for line in said)


def test_after_a_finding_it_is_asked_whether_the_comb_was_cut(facts: Facts) -> None:
    assert walked(facts, (CUT,), "capped", "y")[0] == ["1 found T7 all_capped", "1 trap_cut T7"]
    assert walked(facts, (CUT,), "capped", "")[0] == ["1 found T7 all_capped"]
    assert walked(facts, (CUT,), "open")[0] == ["1 found T7 all_open"]
    assert walked(facts, (CUT,), "capped done")[0] == ["1 found T7 all_capped", "1 trap_cut T7"]


def test_a_treatment_is_asked_out(facts: Facts) -> None:
    found, said = walked(facts, (LOOK,), "strips_in amitraz_strip 2", "K21", "AB")
    assert found == ["1 strips_in amitraz_strip 2 lot K21 by AB"]
    assert "     Of which lot ('unknown' may be written)?" in said
    by = replace(facts, by="CD")
    assert walked(by, (LOOK,), "strips_in amitraz_strip 2", "unknown")[0] == [
        "1 strips_in amitraz_strip 2 lot unknown by CD"
    ]


def test_a_treatment_is_not_taken_with_its_lot_left_blank(facts: Facts) -> None:
    assert walked(facts, (LOOK,), "strips_in amitraz_strip 2", "", "-")[0] == []


def test_what_was_entered_before_is_shown_and_enter_leaves_it(facts: Facts) -> None:
    terminal = Terminal([""])
    first = walk(terminal.ask, terminal.say, facts, sheet(facts.book, LOOK), DAY)
    later = facts.after([e.event for e in first])
    found, said = walked(later, (LOOK,), "")
    assert found == []
    assert "     entered before: hive 11: inspected" in said


def test_the_answers_may_end_at_any_question(facts: Facts) -> None:
    for answers in ((), ("",), ("capped",), ("", "", "strips_in amitraz_strip 2")):
        terminal = Terminal(answers)
        with pytest.raises(EOFError):
            walk(terminal.ask, terminal.say, facts, sheet(facts.book, CUT, COUNT, LOOK), DAY)


def test_the_day_of_work_is_asked_first(facts: Facts) -> None:
    terminal = Terminal([""])
    assert ask_day(terminal.ask, terminal.say, facts, sheet(facts.book, CUT)) == DAY


def test_a_day_to_come_is_neither_offered_nor_taken(facts: Facts) -> None:
    early = replace(facts, today=DAY - 1)
    terminal = Terminal(["", "22.05.2027", "05/08/2027", "21 May 2027"])
    assert ask_day(terminal.ask, terminal.say, early, sheet(facts.book, CUT)) == DAY - 1
    assert "  a date is needed, such as 2027-05-22" in terminal.said
    assert "  Saturday 22 May 2027 is still to come" in terminal.said
    assert "  '05/08/2027' can be 2027-08-05 or 2027-05-08; write it as the one that is meant" in terminal.said
