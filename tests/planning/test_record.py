"""The record: what went in and came out, of hives that moved, were united, sold or died; how long it is kept.

The fields of each country and the years are those of ``rules/jurisdictions``, each with its source there. The years are
counted by dateutil; what they come to is checked against dates worked out by hand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import colony, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Event, Outfit, Yard
from ipmcal.model.outfit.record import Entry, Record
from ipmcal.model.values.cited import Place
from ipmcal.planning.recall.courses import renamed
from ipmcal.planning.record import kept_until, make_record

LATER = "2035-01-01"


def lines(*texts: str) -> list[Event]:
    """Lines of a journal: ``2027-08-14 orchard 1 strips_in amitraz_strip 2``, numbered from 2."""
    made = []
    for number, text in enumerate(texts, 2):
        when, where, key, word, *rest = text.split(maxsplit=4)
        place = Place("journal.csv", number, 1)
        made.append(Event(on(when), where, key, word, None, rest[0] if rest else "", "", place))
    return made


def yards(jurisdiction: str = "us", other: str = "us") -> tuple[Yard, Yard]:
    orchard = replace(yard(colony("1"), colony("2"), colony("3"), key="orchard"), jurisdiction=jurisdiction)
    return orchard, replace(yard(colony("9"), key="mill"), name="Mill Field", jurisdiction=other)


def kept(
    *texts: str, jurisdiction: str = "us", other: str = "us", as_of: str = LATER, year: int | None = None
) -> Record:
    of = outfit(*yards(jurisdiction, other), journal=lines(*texts))
    return make_record(replace(of, products={"Streifen": "amitraz_strip"}), shipped(), on(as_of), year)


def only(record: Record) -> Entry:
    (entry,) = record.entries
    return entry


def removals(entry: Entry) -> list[tuple[str, float, str, str]]:
    return [(date.fromordinal(r.day).isoformat(), float(r.amount), r.yard, r.colony) for r in entry.removals]


# One course -----------------------------------------------------------------------------------------------------------


def test_strips_in_and_out() -> None:
    entry = only(
        kept(
            "2027-08-14 orchard 1 strips_in amitraz_strip 2 lot K21 by AB",
            "2027-09-25 orchard 1 strips_out amitraz_strip 2 by CD",
        )
    )
    assert (entry.title, entry.active, entry.own) == ("Amitraz strips", "amitraz", "")
    assert (entry.registration, entry.lot, entry.by) == ("EPA Reg. No. 87243-1", "K21", "AB")
    assert (entry.amount, entry.unit, entry.left) == (2, "strips", 0)
    assert removals(entry) == [("2027-09-25", 2, "orchard", "1")]
    assert (entry.began, entry.ended) == (on("2027-08-14"), on("2027-09-25"))
    assert (entry.withdrawal, entry.free_on) == (14, on("2027-10-09"))  # supers back 14 d after they are out (EPA 2013)
    assert entry.keep_until == on("2029-09-25")  # two years, 7 CFR 110.3
    assert entry.place.line == 2


def test_counted_from_the_last_removal_not_from_the_first() -> None:
    entry = only(
        kept(
            "2027-08-14 orchard 1 strips_in amitraz_strip 2",
            "2027-09-25 orchard 1 strips_out amitraz_strip 1",
            "2027-10-09 orchard 1 strips_out amitraz_strip 1",
        )
    )
    assert entry.keep_until == on("2029-10-09")
    assert entry.free_on == on("2027-10-23")


def test_counted_from_the_application_where_nothing_is_taken_out() -> None:
    entry = only(kept("2026-08-10 orchard 1 treated oxalic_trickle 35 mL", jurisdiction="uk"))
    assert not entry.to_remove
    assert entry.ended == on("2026-08-10")
    assert entry.keep_until == on("2031-08-10")  # UK: five years


def test_what_is_still_in_has_no_end_and_no_date() -> None:
    entry = only(
        kept(
            "2027-08-14 orchard 1 strips_in amitraz_strip 4",
            "2027-09-25 orchard 1 strips_out amitraz_strip 3",
            as_of="2027-10-01",
        )
    )
    assert entry.left == 1
    assert (entry.ended, entry.free_on, entry.keep_until) == (None, None, None)


def test_what_nobody_wrote_is_blank() -> None:
    entry = only(kept("2027-12-11 orchard 1 treated oxalic_trickle 35 mL"))
    assert (entry.lot, entry.by, entry.weather, entry.count, entry.own) == ("", "", "", "", "")


def test_words_that_only_tell_where_the_number_is_are_no_number() -> None:
    assert only(kept("2027-12-11 orchard 1 treated oxalic_trickle 35 mL", jurisdiction="de")).registration == ""


def test_a_product_without_a_label_here_keeps_its_name_and_has_no_number() -> None:
    entry = only(kept("2027-08-14 orchard 1 strips_in hop_acid_strip 2", jurisdiction="uk"))
    assert (entry.title, entry.registration, entry.withdrawal) == ("Hop beta acid strips", "", None)


def test_the_keepers_own_name_stands_beside_the_product() -> None:
    entry = only(
        kept(
            "2027-08-14 orchard 1 strips_in Streifen 2",
            "2027-09-25 orchard 1 strips_out amitraz_strip 2",
        )
    )
    assert (entry.title, entry.own, entry.treatment, entry.left) == ("Amitraz strips", "Streifen", "amitraz_strip", 0)


def test_trays_come_out_in_the_order_in_which_they_went_in() -> None:
    first, second = kept(
        "2027-08-15 orchard 1 strips_in thymol_gel 1 lot 7",
        "2027-08-29 orchard 1 strips_in thymol_gel 1 lot 8",
        "2027-09-12 orchard 1 strips_out thymol_gel 1",
        "2027-09-30 orchard 1 strips_out thymol_gel 1",
        jurisdiction="uk",
    ).entries
    assert (first.lot, removals(first)[0][0]) == ("7", "2027-09-12")
    assert (second.lot, removals(second)[0][0]) == ("8", "2027-09-30")
    assert first.keep_until == second.keep_until == on("2032-09-30")  # one course, one end
    assert first.began == second.began == on("2027-08-15")


def test_acid_on_a_pad_is_in_millilitres_and_comes_out_as_a_pad() -> None:
    entry = only(
        kept(
            "2027-08-14 orchard 1 strips_in formic_pads_65 40 mL",
            "2027-08-20 orchard 1 strips_out formic_pads_65 1",
            jurisdiction="ca",
        )
    )
    assert (entry.left, entry.ended) == (0, on("2027-08-20"))


def test_a_course_that_nobody_ended_takes_nothing_from_the_next_years() -> None:
    lost, done = kept(
        "2026-08-14 orchard 1 strips_in amitraz_strip 2",
        "2027-08-14 orchard 1 strips_in amitraz_strip 2",
        "2027-09-25 orchard 1 strips_out amitraz_strip 2",
    ).entries
    assert (lost.left, lost.ended, lost.removals) == (2, None, ())
    assert (done.left, done.ended) == (0, on("2027-09-25"))


def test_what_came_out_without_having_gone_in_is_kept_and_said() -> None:
    record = kept("2027-09-25 orchard 1 strips_out amitraz_strip 2 by AB")
    entry = only(record)
    assert (entry.day, entry.amount, entry.began) == (None, None, None)
    assert removals(entry) == [("2027-09-25", 2, "orchard", "1")]
    assert entry.keep_until == on("2029-09-25")
    assert record.contradictions == (
        "journal.csv:2:1: 2 of amitraz_strip taken out of hive 1, and no line says when they went in",
    )


def test_the_last_count_before_the_course_stands_beside_it() -> None:
    first, second = kept(
        "2027-08-10 orchard 1 count 9/300",
        "2027-08-14 orchard 1 treated oxalic_trickle 35 mL",
        "2027-12-11 orchard 1 treated oxalic_trickle 35 mL",
    ).entries
    assert (first.count, first.count_day) == ("9/300", on("2027-08-10"))
    assert second.count == ""  # the course between has changed it


def test_the_yards_own_temperatures_are_the_weather() -> None:
    orchard, mill = yards()
    orchard = replace(orchard, readings={on("2027-08-14"): (25.0, 10.0)}, fahrenheit=True)
    of = outfit(orchard, mill, journal=lines("2027-08-14 orchard 1 treated oxalic_trickle 35 mL"))
    assert only(make_record(of, shipped(), on(LATER))).weather == "high 77 °F, low 50 °F"


# What becomes of colonies ---------------------------------------------------------------------------------------------

IN = "2027-08-14 orchard 2 strips_in amitraz_strip 2 lot K21"


def test_a_colony_that_moved_stands_in_the_record_of_both_yards() -> None:
    record = kept(IN, "2027-08-28 orchard 2 moved mill", "2027-09-25 mill 2 strips_out amitraz_strip 2")
    entry = only(record)
    assert removals(entry) == [("2027-09-25", 2, "mill", "2")]
    assert record.yard("orchard").entries == record.yard("mill").entries == (entry,)
    assert entry.fates == (("moved from Orchard to Mill Field", on("2027-08-28")),)


def test_moved_over_a_border_the_longer_years_hold() -> None:
    record = kept(
        IN, "2027-08-28 orchard 2 moved mill", "2027-09-25 mill 2 strips_out amitraz_strip 2", other="uk"
    )  # fmt: skip
    assert only(record).keep_until == on("2032-09-25")
    assert "supplier" in record.yard("mill").fields
    assert "supplier" not in record.yard("orchard").fields


def test_strips_of_a_united_colony_come_out_of_the_other_hive() -> None:
    first, second = kept(
        "2027-08-14 orchard 1 strips_in amitraz_strip 2",
        IN,
        "2027-09-04 orchard 2 united 1",
        "2027-09-25 orchard 1 strips_out amitraz_strip 4 by AB",
    ).entries
    assert (removals(first), first.left) == ([("2027-09-25", 2, "orchard", "1")], 0)
    assert (removals(second), second.left) == ([("2027-09-25", 2, "orchard", "1")], 0)
    assert second.fates == (("united with 1", on("2027-09-04")),)
    assert second.keep_until == on("2029-09-25")


@pytest.mark.parametrize(
    ("word", "words"), [("died", "died"), ("sold", "sold or given away"), ("absconded", "gone, the hive empty")]
)
def test_a_colony_that_is_gone_stays_in_the_record(word: str, words: str) -> None:
    entry = only(kept(IN, "2027-09-25 orchard 2 strips_out amitraz_strip 2", f"2028-03-06 orchard 2 {word}"))
    assert entry.fates == ((words, on("2028-03-06")),)
    assert entry.keep_until == on("2029-09-25")


def test_a_colony_that_no_yard_file_has_is_in_the_record() -> None:
    entry = only(kept("2027-05-15 orchard 7 split_from 3", "2027-12-11 orchard 7 treated oxalic_trickle 20 mL"))
    assert entry.colony == "7"


def test_lines_of_a_yard_files_history_count() -> None:
    past = lines("2026-12-11 orchard 1 treated oxalic_trickle 35 mL")
    orchard = yard(colony("1", history=past), key="orchard")
    assert only(make_record(outfit(orchard), shipped(), on(LATER))).day == on("2026-12-11")


# Years ----------------------------------------------------------------------------------------------------------------


def test_a_year_holds_what_went_in_or_came_out_in_it() -> None:
    texts = (
        "2027-11-20 orchard 1 strips_in amitraz_strip 2",
        "2028-01-08 orchard 1 strips_out amitraz_strip 2",
        "2028-12-11 orchard 1 treated oxalic_trickle 35 mL",
    )
    assert len(kept(*texts, year=2027).entries) == 1
    assert len(kept(*texts, year=2028).entries) == 2
    assert kept(*texts, year=2029).entries == ()
    assert len(kept(*texts).entries) == 2


def test_lines_after_the_day_are_left_out() -> None:
    assert kept("2027-12-11 orchard 1 treated oxalic_trickle 35 mL", as_of="2027-12-10").entries == ()


@pytest.mark.parametrize(
    ("last", "years", "until"),
    [
        ("2026-08-10", 5, "2031-08-10"),
        ("2028-02-29", 2, "2030-02-28"),
        ("2028-02-29", 4, "2032-02-29"),
        ("2027-03-01", 5, "2032-03-01"),
        ("2027-02-28", 1, "2028-02-28"),
    ],
)
def test_how_long_it_is_kept(last: str, years: int, until: str) -> None:
    assert kept_until(on(last), years) == on(until)


@given(st.dates(date(2000, 1, 1), date(2100, 12, 31)), st.integers(0, 30))
def test_the_kept_years_are_full(last: date, years: int) -> None:
    """The same day and month so many years later; for 29 February the last day of February."""
    until = date.fromordinal(kept_until(last.toordinal(), years))
    leap_day = (last.month, last.day) == (2, 29)
    assert until in ([date(last.year + years, 2, 28)] if leap_day else []) + _same_day(last, last.year + years)


def _same_day(day: date, year: int) -> list[date]:
    try:
        return [day.replace(year=year)]
    except ValueError:  # there is no 29 February
        return []


# Any journal ----------------------------------------------------------------------------------------------------------

WORDS = st.sampled_from(["strips_in amitraz_strip 2", "strips_in thymol_gel 1", "treated oxalic_trickle 35 mL",
                         "strips_out amitraz_strip 1", "strips_out amitraz_strip 3", "strips_out thymol_gel 1",
                         "moved mill", "united 3", "died"])  # fmt: skip
LINES = st.lists(st.tuples(st.integers(0, 900), st.sampled_from(["1", "2"]), WORDS), max_size=14)


@given(LINES)
def test_nothing_that_was_given_or_taken_out_is_lost(found: list[tuple[int, str, str]]) -> None:
    texts = [f"{date.fromordinal(on('2027-01-01') + d)} orchard {key} {word}" for d, key, word in sorted(found)]
    record = kept(*texts)
    given_lines = [t for t in texts if " strips_in " in t or " treated " in t]
    assert sum(entry.day is not None for entry in record.entries) == len(given_lines)
    out = sum(Fraction(t.split()[-1]) for t in texts if "strips_out" in t)
    assert sum((r.amount for e in record.entries for r in e.removals), Fraction(0)) == out
    for entry in record.entries:
        assert entry.left >= 0
        assert all(entry.day is None or r.day >= entry.day for r in entry.removals)
        assert entry.keep_until is None or entry.ended is not None


def test_own_names_are_replaced_for_planning() -> None:
    of = Outfit("o", "O", (), (), {"Streifen": "amitraz_strip"})
    (event,) = lines("2027-08-14 orchard 1 strips_in Streifen 2 lot K21")
    assert renamed(event, of, shipped()).value == "amitraz_strip 2 lot K21"
    (other,) = lines("2027-08-14 orchard 1 inspected Streifen")
    assert renamed(other, of, shipped()) == other
