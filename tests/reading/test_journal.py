"""Lines of the journal and of a history: from text to events; what can't be read is said, nothing is left out."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ipmcal.model.cited import Place
from ipmcal.model.outfit import Event
from ipmcal.model.rules import Rulebook
from ipmcal.model.text import Text
from ipmcal.reading.complaints import BadInput
from ipmcal.reading.journal import COLUMNS, Keys, history_event, read_journal

KEYS = Keys({"home": {"3": {"T1": 10, "T2": 10}, "5": {}}, "away": {"7": {"T1": 8}}})
HEAD = "date,yard,colony,event,value,note\n"


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def read(text: str | bytes, folder: Path, book: Rulebook, keys: Keys = KEYS) -> tuple[Event, ...]:
    path = folder / "journal.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_journal(path, "journal.csv", keys, book)


def said(text: str, folder: Path, book: Rulebook) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read(text, folder, book)
    return [str(c) for c in caught.value.complaints]


# A history -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "word", "trap", "value"),
    [
        ("2027-02-13 trap_hung T1 2", "trap_hung", "T1", "2"),
        ("2027-02-13  trap_cut   T1", "trap_cut", "T1", ""),
        ("2027-05-01 found T2 all_open", "found", "T2", "all_open"),
        ("2027-06-19 count 4/300", "count", None, "4/300"),
        ("2027-05-08 note chalk brood, a little", "note", None, "chalk brood, a little"),
        ("2027-05-08 inspected", "inspected", None, ""),
        ("2027-05-08 strength 6", "strength", None, "6"),
        ("2027-05-08 queen seen", "queen", None, "seen"),
    ],
)
def test_a_line_of_a_history(line: str, word: str, trap: str | None, value: str, book: Rulebook) -> None:
    place = Place("home.yaml", 9, 5)
    event = history_event(Text(line, place), "home", "3", book)
    assert (event.word, event.trap, event.value) == (word, trap, value)
    assert (event.day, event.yard, event.colony, event.place) == (day(line[:10]), "home", "3", place)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "is not a date"),
        ("2027-02-13", "'' is not a word of the journal; allowed: "),
        ("2027-02-13 trap_hang T1 2", "'trap_hang' is not a word of the journal; did you mean 'trap_hung'?"),
        ("2027-02-13 trap_hung", "'trap_hung' needs the trap frame's name, such as '2027-02-13 trap_hung T1 2'"),
        ("2027-02-13 trap_hung T1", "needs the slot in which it hangs (found '')"),
        ("2027-02-13 trap_hung T1 two", "needs the slot in which it hangs (found 'two')"),
        ("2027-05-01 found T1 open", "'open' is not a finding; did you mean 'all_open'?"),
        ("2027-05-01 count 4", "needs mites and bees with '/' between (found '4')"),
        ("2027-05-01 count 4/0", "needs mites and bees"),
        ("2027-05-01 strength strong", "needs a number of frames (found 'strong')"),
        ("2027-05-01 queen lost", "'lost' is not known of a queen; allowed: laying, virgin"),
        ("2027-05-01 began boxed", "'boxed' is not a way to begin"),
        ("2027-05-01 bloom first_pollen", "'bloom' is about the yard: write it under 'observed', or in the journal"),
    ],
)
def test_what_is_no_line_of_a_history(line: str, words: str, book: Rulebook) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        history_event(Text(line), "home", "3", book)
    assert words in str(caught.value)


# The journal ---------------------------------------------------------------------------------------------------------


def test_events_come_in_the_order_of_their_days_and_of_the_file_within_a_day(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + (
        '2027-05-22,home,3,trap_cut,T1,"all capped, some chewing"\n'
        "2027-05-01,home,,bloom,apple_bloom\n"
        "2027-05-22,home,3,count,4/300,\n"
        "2027-05-22,home,5,inspected\n"
    )
    assert read(text, tmp_path, book) == (
        Event(day("2027-05-01"), "home", None, "bloom", None, "apple_bloom", "", Place("journal.csv", 3, 1)),
        Event(
            day("2027-05-22"), "home", "3", "trap_cut", "T1", "", "all capped, some chewing", Place("journal.csv", 2, 1)
        ),
        Event(day("2027-05-22"), "home", "3", "count", None, "4/300", "", Place("journal.csv", 4, 1)),
        Event(day("2027-05-22"), "home", "5", "inspected", None, "", "", Place("journal.csv", 5, 1)),
    )


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "2027-05-22,home,5,fed,5 kg,\n",
        "2027-05-22,home,5,fed,5 kg\n",  # no headings
        "date,yard,colony,event\n\n2027-05-22,home,5,fed,5 kg\n",
        "DATE,Yard,colony,event,value,note\n2027-05-22 , home,5,fed,5 kg,,,,\n",
        HEAD.replace(",", ";") + "2027-05-22;home;5;fed;5 kg;\n",
        "\ufeff" + HEAD.replace("\n", "\r\n") + '"2027-05-22","home","5","fed","5 kg",""\r\n',
        HEAD + HEAD + "2027-05-22,home,5,fed,5 kg\n",
    ],
)
def test_what_is_accepted(text: str, tmp_path: Path, book: Rulebook) -> None:
    (event,) = read(text, tmp_path, book)
    assert (event.day, event.yard, event.colony, event.word, event.value) == (
        day("2027-05-22"),
        "home",
        "5",
        "fed",
        "5 kg",
    )


def test_an_empty_journal_is_a_journal(tmp_path: Path, book: Rulebook) -> None:
    assert read("", tmp_path, book) == read(HEAD, tmp_path, book) == ()


def test_a_colony_that_has_moved_keeps_its_old_lines(tmp_path: Path, book: Rulebook) -> None:
    (event,) = read(HEAD + "2027-02-13,home,7,trap_hung,T1 8\n", tmp_path, book)
    assert (event.yard, event.colony) == ("home", "7")


def test_without_keys_nothing_is_looked_up(tmp_path: Path, book: Rulebook) -> None:
    assert len(read(HEAD + "2027-02-13,gone,99,trap_hung,T9 39\n", tmp_path, book, Keys(None))) == 1


def test_every_line_that_can_not_be_read_is_said(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + (
        "2027-02-30,home,3,trap_cut,T1\n"
        "2027-05-22,home,3,trap_cut,T1\n"
        "2027-05-22,hme,3,trap_cut,T1\n"
        "2027-05-22,home,4,trap_cut,T1\n"
        "2027-05-22,home,3,trap_hung,T1 11\n"
        "2027-05-22,home,5,trap_cut,T1\n"
        "2027-05-22,home,4,bloom,first_pollen\n"
        '2027-05-22,home,3,note,"open\n'
        "2027-05-22,home,3\n"
    )
    assert [c.removeprefix("journal.csv:") for c in said(text, tmp_path, book)] == [
        "2:1 date: '2027-02-30' does not exist: that month has the days 01 to 28",
        "4:12 yard: there is no yard 'hme'; did you mean 'home'? allowed: away, home",
        "5:17 colony: there is no colony '4'; allowed: 3, 5, 7",
        "6:29 value: there is no slot 11 in this hive; its boxes take 10 frames",
        "7:28 value: hive '5' has no trap frame 'T1'; there is none yet",
        "8:17 colony: there is no colony '4'; allowed: 3, 5, 7",
        "9:1 a double quote does not match near column 24; write '\"\"' for one inside a quoted cell",
        f"10:1 has 3 columns; write {', '.join(COLUMNS)}",
    ]


def test_headings_in_another_order_are_said_once(tmp_path: Path, book: Rulebook) -> None:
    (one,) = said("yard,date,colony,event\n", tmp_path, book)
    assert one == "journal.csv:1:1 the headings have to be date,yard,colony,event,value,note"


def test_what_is_no_text_is_said(tmp_path: Path, book: Rulebook) -> None:
    with pytest.raises(BadInput, match=r"journal\.csv:2:24 holds a hidden character \(U\+0000\)"):
        read(HEAD + "2027-05-22,home,3,note,\0\n", tmp_path, book)


PIECES = st.sampled_from(
    [
        *(",", ";", '"', '""', "\n", "\r\n", " ", "2027-05-22", "2027-02-30", "home", "3", "5", "count", "4/300"),
        *(
            "trap_hung",
            "T1",
            "2",
            "99",
            "found",
            "all_open",
            "date",
            "note",
            "bloom",
            "first_pollen",
            "done",
            "é",
            "🐝",
        ),
    ]
)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(max_size=50) | st.lists(PIECES, max_size=30).map("".join))
def test_any_text_gives_events_or_complaints(text: str, tmp_path: Path, book: Rulebook) -> None:
    """And every line that holds anything but headings is one or the other."""
    try:
        events = read(text.encode(errors="replace"), tmp_path, book)
    except BadInput as error:
        said = str(error)
    else:
        lines = [line for line in text.splitlines() if line.strip(' ,;\t"')]
        assert len(events) <= len(lines)
        return
    assert said.startswith("journal.csv")
