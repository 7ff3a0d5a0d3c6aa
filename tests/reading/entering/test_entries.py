"""What is said on the command line, as events: whose, where, when, and what has to be answered in full."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Event
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.rows import appended
from ipmcal.reading.entering.entries import Entry, EntryError, Facts, entry, finding, told
from ipmcal.reading.journal.journal import journal_events
from ipmcal.reading.journal.values import value_text
from ipmcal.reading.yards.yards import load

TODAY = date(2027, 9, 30).toordinal()


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


@pytest.fixture(scope="session")
def facts(book: Rulebook) -> Facts:
    loaded = load(folder("rules").parent / "example_yards" / "hollow_lane", folder("rules"), book)
    return Facts(loaded.outfit, book, loaded.keys, TODAY)


def say(facts: Facts, text: str, on: str = "2027-05-22") -> Entry:
    who, *words = text.split()
    return entry(facts, who, words, day(on))


def refused(facts: Facts, text: str, on: str = "2027-05-22") -> str:
    with pytest.raises(EntryError) as caught:
        say(facts, text, on)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def logged(facts: Facts, *lines: str, on: str = "2027-05-22") -> Facts:
    for line in lines:
        facts = facts.after([say(facts, line, on).event])
    return facts


# One event ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("3 trap_cut T1", ("orchard", "3", "trap_cut", "T1", "")),
        ("3 TRAP_CUT T1", ("orchard", "3", "trap_cut", "T1", "")),
        ("@orchard entrances_small", ("orchard", None, "entrances_small", None, "")),
        ("@mill_field skipped own/mow/1", ("mill_field", None, "skipped", None, "own/mow/1")),
        ("12 found T7 CAPPED", ("mill_field", "12", "found", "T7", "all_capped")),
        ("12 found T7 all capped", ("mill_field", "12", "found", "T7", "all_capped")),
        ("12 note chalk brood,  a little", ("mill_field", "12", "note", None, "chalk brood, a little")),
        ("6 split_from 3", ("orchard", "6", "split_from", None, "3")),
        ("6@mill_field split_from 3", ("mill_field", "6", "split_from", None, "3")),
        ("6@orchard caught langstroth_10 deep", ("orchard", "6", "caught", None, "langstroth_10 deep")),
        ("6@orchard began nucleus", ("orchard", "6", "began", None, "nucleus")),
        ("5 moved mill_field", ("orchard", "5", "moved", None, "mill_field")),
        (
            "3 treated oxalic_trickle 35 mL lot K21 by AB",
            ("orchard", "3", "treated", None, "oxalic_trickle 35 mL lot K21 by AB"),
        ),
    ],
)
def test_an_event_by_its_words(facts: Facts, text: str, expected: tuple[str | None, ...]) -> None:
    event = say(facts, text).event
    assert (event.yard, event.colony, event.word, event.trap, event.value) == expected
    assert event.day == day("2027-05-22")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3 trap_cuts T1", "'trap_cuts' is not a word of the journal; did you mean 'trap_cut'?"),
        ("99 inspected", "there is no colony '99'"),
        ("3 trap_cut T9", "hive '3' has no trap frame 'T9'; allowed: T1, T2"),
        ("3 trap_hung T1 11", "there is no slot 11 in this hive; its boxes take 10 frames"),
        ("3 found T1 al", "'al' is not a finding"),
        ("@orchid done mow", "there is no yard 'orchid'; did you mean 'orchard'?"),
        ("@orchard inspected", "'inspected' is about a hive, not about the yard; write the hive's key instead"),
        ("3 count 9", "needs mites and bees with '/' between (found '9'); write it as in '2027-06-19 count 4/300'"),
        ("3 count 9/0", "mites in nothing: needs mites and bees"),
        ("3 count 9/300 sugr", "'sugr' is not a way to count; did you mean 'sugar'?"),
        ("3 moved orchard", "hive 3 stands in orchard already; give the yard to which it was moved"),
        ("3 united 3", "'3' is the hive itself; write the other one"),
        ("3 united 99", "there is no colony '99'"),
        ("6 split_from 99", "there is no colony '99'"),
        ("6@orchard split_from 99", "there is no colony '99'"),
        ("6 caught", "in which yard is it? write its key so: 6@YARD; the yards are mill_field, orchard"),
        ("123456789@orchard caught", "can't be a key; use what is painted on it: 1 to 8 signs"),
        ("3 note \u202e", "a hidden character (U+202E) stands in it"),
        ("3 void", "no line of hive 3 on 2027-05-22 that still stands says ''"),
    ],
)
def test_what_is_refused(facts: Facts, text: str, words: str) -> None:
    assert words in refused(facts, text)


# Days -----------------------------------------------------------------------------------------------------------------


def test_a_day_to_come_is_refused(facts: Facts) -> None:
    what = refused(replace(facts, today=day("2027-05-21")), "3 inspected")
    assert what.startswith("2027-05-22 is still to come (today is 2027-05-21); give the day on which the work was done")


def test_a_day_before_the_colony_began_is_refused(facts: Facts) -> None:
    assert say(facts, "14 inspected", "2027-05-16").event.colony == "14"
    what = refused(facts, "14 inspected", "2027-05-15")
    assert what.startswith("2027-05-15 is before hive 14 began (2027-05-16 nucleus, hollow_lane/mill_field.yaml:")
    assert what.endswith("give the day on which the work was done: --on DATE, or mend 'began' in the yard file")
    assert say(facts, "3 inspected", "2025-05-15").event.colony == "3", "long there; nobody says since which day"


def test_a_day_before_the_colony_was_made_is_refused(facts: Facts) -> None:
    later = logged(facts, "6 split_from 3")
    assert say(later, "6 inspected").event.yard == "orchard"
    assert "'6' was made on 2027-05-22 ('split_from'), after this day" in refused(later, "6 inspected", "2027-05-21")
    assert "hive 6 is there already, since Sat 22 May" in refused(later, "6@orchard caught", "2027-06-05")


def test_a_line_is_written_where_the_colony_stood_on_that_day(facts: Facts) -> None:
    later = facts.after([say(facts, "5 moved mill_field", "2027-06-01").event])
    assert say(later, "5 inspected", "2027-05-31").event.yard == "orchard"
    assert say(later, "5 inspected", "2027-06-01").event.yard == "mill_field"
    back = later.after([say(later, "5 moved orchard", "2027-08-01").event])
    assert say(back, "5 inspected", "2027-07-31").event.yard == "mill_field"
    assert say(back, "5 inspected", "2027-08-01").event.yard == "orchard"


def test_a_line_that_stands_already_is_known(facts: Facts) -> None:
    later = logged(facts, "5 inspected", "5 moved mill_field")
    for text in ("5 inspected", "5 moved mill_field"):
        again = say(later, text)
        assert again.known is not None
        assert again.event.yard == "orchard"
    assert say(later, "5 inspected", "2027-05-23").known is None
    assert say(later, "5 inspected well").known is None


# Treatments and counts ------------------------------------------------------------------------------------------------


def test_a_treatment_is_answered_in_full(facts: Facts) -> None:
    by = replace(facts, by="AB")
    assert "of which lot? Write 'lot K21' behind the amount, or 'lot unknown'" in refused(
        by, "3 strips_in amitraz_strip 2"
    )
    assert "by whom? Write 'by AB' behind it, or give --by" in refused(facts, "3 strips_in amitraz_strip 2 lot K21")
    assert "needs the product and how much of it" in refused(by, "3 strips_in amitraz_strip lot K21")
    assert say(by, "3 strips_in amitraz_strip 2 lot unknown").event.value == "amitraz_strip 2 lot unknown by AB"
    assert say(by, "3 strips_in amitraz_strip 2 lot K by CD").event.value == "amitraz_strip 2 lot K by CD"
    for text, asks in (("3 treated oxalic_trickle 35 mL", "lot"), ("3 treated oxalic_trickle 35 mL lot K", "by")):
        with pytest.raises(EntryError) as caught:
            say(facts, text)
        assert caught.value.asks == asks


def test_no_more_strips_come_out_than_were_put_in(facts: Facts) -> None:
    by = replace(facts, by="AB")
    assert "takes 1 of amitraz_strip out of hive 3, and 0 are in it" in refused(by, "3 strips_out amitraz_strip 1")
    later = logged(
        by, "3 strips_in amitraz_strip 4 lot K", "3 strips_out amitraz_strip 1", "4 strips_in amitraz_strip 9 lot K"
    )
    assert say(later, "3 strips_out amitraz_strip 3").event.value == "amitraz_strip 3 by AB"
    too_many = refused(later, "3 strips_out amitraz_strip 4")
    assert "takes 4 of amitraz_strip out of hive 3, and 3 are in it (all told, put in: 4, taken out: 1)" in too_many
    assert "0 are in it" in refused(later, "3 strips_out formic_strips_pair 1")
    assert "0 are in it" in refused(later, "3 strips_out amitraz_strip 1", "2027-05-21"), "before they were put in"


def test_what_came_out_in_spring_may_be_entered_after_autumn(facts: Facts) -> None:
    later = logged(replace(facts, by="AB"), "3 strips_in amitraz_strip 2 lot K", on="2027-03-01")
    later = logged(later, "3 strips_in amitraz_strip 2 lot L", on="2027-08-01")
    later = logged(later, "3 strips_out amitraz_strip 2", on="2027-09-15")
    assert say(later, "3 strips_out amitraz_strip 2", "2027-04-20").event.value == "amitraz_strip 2 by AB"
    assert "2 are in it" in refused(later, "3 strips_out amitraz_strip 3", "2027-08-20"), "two came out after that"


def test_more_mites_than_bees_can_be(facts: Facts) -> None:
    assert say(facts, "3 count 400/300").remarks == ("more mites than bees: that can be; look at the sheet again",)
    assert say(facts, "3 count 300/300").remarks == ()
    assert say(facts, "3 drop 400/3").remarks == ()


def test_who_did_it_goes_into_the_note_where_the_value_has_no_place_for_it(facts: Facts) -> None:
    assert entry(replace(facts, by="AB"), "3", ["inspected"], TODAY, "calm").event.note == "calm; by AB"


# Taking back ----------------------------------------------------------------------------------------------------------


def test_a_line_is_taken_back_where_it_was_written(facts: Facts) -> None:
    later = logged(facts, "5 inspected calm", "5 moved mill_field", "5 inspected", "@orchard done mow")
    assert say(later, "5 void inspected calm").event.yard == "orchard"
    assert say(later, "5 void inspected").event == Event(
        day("2027-05-22"), "mill_field", "5", "void", None, "inspected", ""
    )
    assert say(later, "5 void moved").event.value == "moved mill_field", "the beginning will do, where it is one line's"
    assert say(later, "@orchard void done mow").event.colony is None
    assert "that day's are: inspected calm; inspected" in refused(later, "5 void insp")
    assert "that day's are: inspected calm; moved mill_field; inspected" in refused(later, "5 void count 4/300")
    assert "it stands at 2027-05-22: --on" in refused(later, "5 void inspected calm", "2027-05-21")


# Findings and words ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("all_open", "all_open"),
        ("OPEN", "all_open"),
        ("open", "all_open"),
        ("part", "part_capped"),
        ("Partly Capped", "part_capped"),
        ("cap", "all_capped"),
        ("late", "emerging"),
        ("drones", "emerging"),
        ("hon", "honey"),
        ("none", "nothing"),
        ("noth", "nothing"),
        ("all", ""),
        ("no", ""),
        ("w", ""),
        ("", ""),
    ],
)
def test_a_finding_by_its_id_its_circle_or_the_beginning_of_one(name: str, expected: str, book: Rulebook) -> None:
    assert finding(name, book) == expected


def test_every_finding_is_found_by_all_its_names(book: Rulebook) -> None:
    for key, rule in book.findings.items():
        assert {finding(name, book) for name in (key, rule.circle, rule.title, rule.circle.lower())} == {key}


def test_an_event_in_the_words_of_the_rules(facts: Facts) -> None:
    assert told(say(facts, "3 trap_cut T1").event, facts.book) == "hive 3: trap comb cut: T1"
    assert told(say(facts, "3 found T1 open").event, facts.book) == "hive 3: found in the trap: T1 ALL OPEN"
    assert told(say(facts, "@orchard entrances_small").event, facts.book) == "orchard: entrances made small"


# Read back ------------------------------------------------------------------------------------------------------------

TEXT = st.text(st.characters(exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp", "Co", "Cn"]), max_size=20)
COUNTS = st.tuples(st.integers(0, 9999), st.integers(1, 9999)).map(lambda c: f"{c[0]}/{c[1]}")
LINES = st.one_of(
    st.tuples(st.sampled_from(["note", "inspected", "fed", "died"]), TEXT),
    st.tuples(st.just("count"), COUNTS),
    st.tuples(st.just("count"), COUNTS.map(lambda c: f"{c} sugar")),
    st.tuples(st.just("drop"), COUNTS.map(lambda c: f"{c}h")),
    st.tuples(st.sampled_from(["trap_cut", "trap_out"]), st.sampled_from(["T1", "T2"])),
    st.tuples(st.just("trap_hung"), st.integers(1, 10).map(lambda n: f"T1 {n}")),
    st.tuples(st.just("found"), st.sampled_from(["T1 open", "T2 CAPPED", "T1 honey", "T2 part"])),
    st.tuples(st.just("strips_in"), st.integers(1, 9).map(lambda n: f"amitraz_strip {n} lot K{n}")),
    st.tuples(st.just("moved"), st.sampled_from(["orchard", "mill_field"])),
    st.tuples(st.just("hive_changed"), st.just("langstroth_10 deep medium")),
    st.tuples(st.just("united"), st.sampled_from(["4", "with 12"])),
    st.tuples(st.just("skipped"), st.sampled_from(["mite_count/autumn/1", "T1 trap_comb_cut/cut/2"])),
    st.tuples(st.just("void"), st.sampled_from(["inspected", "count", "found", "trap_cut T1", "moved"])),
)


@given(lines=st.lists(st.tuples(st.integers(0, 9), LINES, TEXT), max_size=12), between=st.sampled_from(",;\t"))
def test_the_journal_read_back_equals_what_was_logged(
    lines: list[tuple[int, tuple[str, str], str]], between: str, facts: Facts
) -> None:
    """Whatever legal events are logged, in any order of days: what stands in the file is what was understood."""
    first = day("2027-06-01")
    text = between.join(("date", "yard", "colony", "event", "value", "note")) + "\n"
    wanted: list[Event] = []
    now = replace(facts, by="A, B")
    for after, (word, value), note in lines:
        try:
            one = entry(now, "3", [word, *value.split()], first + after, note)
        except EntryError:
            continue
        if one.known is not None:
            continue
        event = one.event
        when = (date(1, 1, 1) + timedelta(days=event.day - 1)).isoformat()
        text = appended(text, [(when, event.yard, event.colony or "", event.word, value_text(event), event.note)])
        if word == "void":
            back = next(
                e for e in reversed(wanted) if e.day == event.day and f"{e.word} {value_text(e)}".strip() == event.value
            )
            wanted.remove(back)
        else:
            wanted.append(event)
        now = replace(now, journal=journal_events(text, "journal.csv", facts.keys, facts.book))
    found = [replace(e, place=Event(0, "", None, "").place) for e in now.journal]
    squeezed = [replace(e, note=" ".join(e.note.split())) for e in sorted(wanted, key=lambda e: e.day)]
    assert found == squeezed
