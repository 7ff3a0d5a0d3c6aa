"""Lines of the journal and of a history: from text to events; what can't be read is said, nothing is left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Place
from ipmcal.model.values.text import Text
from ipmcal.reading.journal.journal import JOURNAL_COLUMNS, Keys, history_event, read_journal
from ipmcal.reading.source.complaints import BadInput

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
        HEAD.replace(",", "\t") + "2027-05-22\thome\t5\tfed\t5 kg\t\n",
        HEAD + "2027-05-22,home,5,fed,5 kg,",  # no newline at the end
        HEAD + "22.05.2027,home,5,fed,5 kg,\n",
        HEAD + "5/22/2027,home,5,fed,5 kg,\n",
        HEAD.replace(",", ";") + "22/05/27;home;5;fed;5 kg;\n",
        HEAD + "2027-05-22 00:00:00,home,5,fed,5 kg,\n",
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


def test_what_is_utf_16_is_said(tmp_path: Path, book: Rulebook) -> None:
    with pytest.raises(BadInput, match=r"journal\.csv:1:1 is UTF-16, not UTF-8; save the file as UTF-8"):
        read((HEAD + "2027-05-22,home,5,fed,5 kg,\n").encode("utf-16"), tmp_path, book)


def test_a_line_of_a_day_to_come_is_read(tmp_path: Path, book: Rulebook) -> None:
    (event,) = read(HEAD + "2199-12-31,home,5,inspected,,\n", tmp_path, book)
    assert event.day == day("2199-12-31")


def test_slashes_that_can_be_read_in_two_ways_follow_the_others_of_the_column(tmp_path: Path, book: Rulebook) -> None:
    lines = "05/08/2027,home,5,inspected,,\n29/07/2027,home,5,fed,5 kg,\n2027-09-01,home,5,inspected,,\n"
    assert [e.day for e in read(HEAD + lines, tmp_path, book)] == [
        day("2027-07-29"),
        day("2027-08-05"),
        day("2027-09-01"),
    ]
    lines = lines.replace("29/07", "7/29")
    assert [e.day for e in read(HEAD + lines, tmp_path, book)] == [
        day("2027-05-08"),
        day("2027-07-29"),
        day("2027-09-01"),
    ]


def test_a_line_that_was_cut_off_is_said(tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(HEAD + "2027-05-22,home,5,fed,5 kg,\n2027-05-22,ho", tmp_path, book)
    assert one == "journal.csv:3:1 the line is cut off, and the file ends in it; complete the line, or delete it"


# Lines that take others back ------------------------------------------------------------------------------------------


def words(events: tuple[Event, ...]) -> list[tuple[str, str | None, str]]:
    return [(e.word, e.trap, e.value) for e in events]


def test_a_line_takes_back_the_last_earlier_one_that_it_repeats(tmp_path: Path, book: Rulebook) -> None:
    cut, void = "2027-05-22,home,3,trap_cut,T1,\n", "2027-05-22,home,3,void,trap_cut T1,\n"
    other = "2027-05-22,home,3,trap_cut,T2,\n2027-05-21,home,3,trap_cut,T1,\n"
    left = [("trap_cut", "T1", ""), ("trap_cut", "T2", "")]
    assert words(read(HEAD + cut + other + void, tmp_path, book)) == left
    assert words(read(HEAD + cut + cut + other + void, tmp_path, book)) == [left[0], ("trap_cut", "T1", ""), left[1]]
    assert words(read(HEAD + cut + cut + other + void + void, tmp_path, book)) == left
    assert words(read(HEAD + cut + void + cut, tmp_path, book)) == [("trap_cut", "T1", "")]


def test_blanks_do_not_matter_to_what_is_taken_back(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + "2027-05-22,home,3,trap_hung,T1   2,\n2027-05-22,home,3,void, trap_hung  T1 2 ,typing\n"
    assert read(text, tmp_path, book) == ()


def test_what_takes_back_can_be_taken_back(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + (
        "2027-05-22,home,3,count,9/300,\n"
        "2027-05-22,home,3,void,count 9/300,\n"
        "2027-05-22,home,3,void,void count 9/300,\n"
    )
    assert words(read(text, tmp_path, book)) == [("count", None, "9/300")]


def test_a_line_about_the_yard_can_be_taken_back(tmp_path: Path, book: Rulebook) -> None:
    assert read(HEAD + "2027-05-22,home,,done,mow,\n2027-05-22,home,,void,done mow,\n", tmp_path, book) == ()


@pytest.mark.parametrize(
    "void",
    [
        "2027-05-23,home,3,void,trap_cut T1,",
        "2027-05-22,away,3,void,trap_cut T1,",
        "2027-05-22,home,5,void,trap_cut T1,",
        "2027-05-22,home,3,void,trap_cut T2,",
        "2027-05-22,home,3,void,found T1,",
    ],
)
def test_what_takes_nothing_back_is_said(void: str, tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(f"{HEAD}2027-05-22,home,3,trap_cut,T1,\n{void}\n", tmp_path, book)
    assert one.startswith(
        "journal.csv:3:24 value: no earlier line of that day, yard and colony that still stands says "
    )


# Colonies that lines made ---------------------------------------------------------------------------------------------


def test_a_colony_is_known_from_the_day_on_which_a_line_made_it(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + (
        "2027-06-05,home,6,inspected,,\n"  # sheets are entered in any order
        "2027-05-15,home,6,split_from,3 langstroth_10 deep,\n"
        "2027-05-22,away,9,caught,,\n"
        "2027-05-22,away,10,began,nucleus,\n"
        "2027-09-18,away,9,united,6,\n"
    )
    assert [e.colony for e in read(text, tmp_path, book)] == ["6", "9", "10", "6", "9"]


def test_a_colony_is_not_known_before_that_day_nor_once_that_line_is_taken_back(tmp_path: Path, book: Rulebook) -> None:
    made = "2027-05-15,home,6,split_from,3,\n"
    (one,) = said(HEAD + "2027-05-14,home,6,inspected,,\n" + made, tmp_path, book)
    assert one == (
        "journal.csv:2:17 colony: '6' was made on 2027-05-15 ('split_from', line 3), after this day; "
        "mend one of the two dates"
    )
    taken_back = made + "2027-05-15,home,6,void,split_from 3,\n"
    assert read(HEAD + taken_back, tmp_path, book) == ()
    (one,) = said(HEAD + taken_back + "2027-05-22,home,6,inspected,,\n", tmp_path, book)
    assert one == "journal.csv:4:17 colony: there is no colony '6'; allowed: 3, 5, 7"


def test_a_line_that_can_not_be_read_is_the_only_complaint_about_the_colony_that_it_made(
    tmp_path: Path, book: Rulebook
) -> None:
    text = HEAD + "2027-05-35,home,6,split_from,3,\n2027-05-22,home,6,inspected,,\n"
    assert len(said(text, tmp_path, book)) == 1


def test_a_colony_of_a_yard_file_may_have_its_beginning_in_the_journal(tmp_path: Path, book: Rulebook) -> None:
    text = HEAD + "2027-05-01,home,5,inspected,,\n2027-05-15,home,5,split_from,3,\n"
    assert len(read(text, tmp_path, book)) == 2


def test_a_wider_hive_has_more_slots(tmp_path: Path, book: Rulebook) -> None:
    hung = "2027-05-22,away,7,trap_hung,T1 10,\n"
    (one,) = said(HEAD + hung, tmp_path, book)
    assert "there is no slot 10 in this hive; its boxes take 8 frames" in one
    assert len(read(HEAD + "2027-05-08,away,7,hive_changed,langstroth_10 deep,\n" + hung, tmp_path, book)) == 2


# Forms of values ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "trap", "value"),
    [
        ("3,strips_in,amitraz_strip 2 lot K21 by AB", None, "amitraz_strip 2 lot K21 by AB"),
        ("3,treated,oxalic_trickle 35 mL", None, "oxalic_trickle 35 mL"),
        ("3,moved,away", None, "away"),
        ("3,requeened,2027 marked", None, "2027 marked"),
        ("3,hive_changed,langstroth_8 deep medium", None, "langstroth_8 deep medium"),
        ("3,united,with 5", None, "with 5"),
        ("3,count,9/300 sugar", None, "9/300 sugar"),
        ("3,count,9/300 co2", None, "9/300 co2"),
        ("3,drop,12/72h", None, "12/72h"),
        ("3,weighed_count,4/50", None, "4/50"),
        ("3,skipped,mite_count/autumn/1", None, "mite_count/autumn/1"),
        ("3,skipped,T1 trap_comb_cut/cut/2", "T1", "trap_comb_cut/cut/2"),
        (",skipped,own/mow/1", None, "own/mow/1"),
    ],
)
def test_forms_of_values(line: str, trap: str | None, value: str, tmp_path: Path, book: Rulebook) -> None:
    (event,) = read(f"{HEAD}2027-05-22,home,{line},\n", tmp_path, book)
    assert (event.trap, event.value) == (trap, value)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("3,strips_in,Amitraz 2", "'Amitraz' "),
        ("3,treated,oxalic_trickle 0 mL", "needs an amount above 0"),
        ("3,treated,oxalic_trickle 35 lb", "'lb' is a weight, and oxalic_trickle is given in mL"),
        ("3,treated,oxalic_vapour 2 mL", "'mL' is a volume, and oxalic_vapour is given in g"),
        ("3,treated,oxalic_trickle some", "needs the product and how much of it"),
        ("3,united,5 and 7", "needs the other colony's key"),
        ("3,united,99", "there is no colony '99'"),
        ("3,moved,", "needs the yard to which it was moved"),
        ("3,moved,afar", "there is no yard 'afar'"),
        ("3,hive_changed,langstroth_10", "needs the hive and its boxes"),
        ("3,drop,12/0", "mites in nothing"),
        ("3,drop,03-Dec", "needs mites and days with '/' between (found '03-Dec'); a spreadsheet took it for a date"),
        ("3,count,9/300h", "needs mites and bees"),
        ("3,skipped,mite_counts/autumn/1", "there is no method 'mite_counts'; did you mean 'mite_count'?"),
        ("3,skipped,amitraz_strip/glue/1", "'amitraz_strip' has no step 'glue'"),
        ("3,void,", "needs the event and the value of the line that it takes back"),
    ],
)
def test_what_is_no_value(line: str, words: str, tmp_path: Path, book: Rulebook) -> None:
    (one,) = said(f"{HEAD}2027-05-22,home,{line},\n", tmp_path, book)
    assert words in one


def test_products_are_the_treatments_that_are_known_or_the_keepers_own_names(tmp_path: Path, book: Rulebook) -> None:
    lines = HEAD + "2027-05-22,home,3,treated,{} 2,\n"
    assert read(lines.format("amitraz_strip"), tmp_path, book)
    assert read(lines.format("blue"), tmp_path, book, replace(KEYS, treatments=("blue",)))
    with pytest.raises(BadInput, match="'amitraz_stripe' is not a treatment that is known; did you mean 'amitraz_"):
        read(lines.format("amitraz_stripe"), tmp_path, book)


# Any text -------------------------------------------------------------------------------------------------------------


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
        f"10:1 has 3 columns; write {', '.join(JOURNAL_COLUMNS)}",
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
