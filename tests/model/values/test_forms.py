"""The forms of values and bounds: what is read, what is refused and in which words; nothing else ever happens."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction
from math import inf

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ipmcal.model.outfit import yardfile
from ipmcal.model.rules import thresholds
from ipmcal.model.values import fields, forms
from ipmcal.model.values.cited import Basis, Citation, Place
from ipmcal.model.values.count import Threshold, Unit
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount, MarkDays, MonthDay
from ipmcal.model.values.text import Text, nearest, one_line, quoted

SOURCES = {"practice": Basis.PRACTICE, "oba_leaflet": Basis.READ, "seeley_1985": Basis.READ}

# Amounts -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "low", "usual", "high", "unit"),
    [
        ("5 mm", 5, 5, 5, "mm"),
        ("0", 0, 0, 0, "1"),
        ("-0.5 °C", -0.5, -0.5, -0.5, "°C"),
        ("2.3..2.6 cells/cm2", 2.3, None, 2.6, "cells/cm2"),
        ("1..3..7 d", 1, 3, 7, "d"),
        ("7..7..7 d", 7, 7, 7, "d"),
        ("4.. frames", 4, None, None, "frames"),
        ("..30 C", None, None, 30, "°C"),
        ("-5..5 F", -5, None, 5, "°F"),
        ("3 days", 3, 3, 3, "d"),
        ("50 ml", 50, 50, 50, "mL"),
        ("40   h", 40, 40, 40, "h"),
    ],
)
def test_an_amount(text: str, low: float | None, usual: float | None, high: float | None, unit: str) -> None:
    assert forms.parse_amount(text) == Amount(low, usual, high, unit)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not a quantity; write a number or a range with its unit, such as '5 min'"),
        ("..", "is not a quantity"),
        ("d", "is not a quantity"),
        ("5d", "is not a quantity"),
        ("1....7 d", "is not a quantity"),
        ("..3..7 d", "is not a quantity"),
        ("1..2..3..4 d", "is not a quantity"),
        ("5,5 min", "decimals take a point"),
        ("1..3.. d", "lacks its end"),
        ("7..3 d", "runs backwards"),
        ("1..9..7 d", "runs backwards"),
        ("5 dd", "'dd' is not a unit; did you mean 'd'?"),
        ("99999999 d", "is not a quantity"),
        ("٣ d", "is not a quantity"),
        ("1e3 d", "is not a quantity"),
        ("nan d", "is not a quantity"),
        ("inf d", "is not a quantity"),
    ],
)
def test_what_is_no_amount(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.parse_amount(text)
    assert words in str(caught.value)


ENDS = st.none() | st.integers(-9_999_999, 9_999_999).map(lambda n: n / 100)


@given(st.lists(st.integers(-99_999, 99_999), min_size=1, max_size=3), st.sampled_from(forms.UNITS))
def test_an_amount_is_read_back_as_it_is_written(numbers: list[int], unit: str) -> None:
    text = "..".join(str(n / 10) for n in sorted(numbers)) + f" {unit}"
    value = forms.parse_amount(text)
    assert forms.parse_amount(str(value)) == value


@pytest.mark.parametrize(("text", "middle"), [("1..3..7 d", 3), ("2..4 d", 3), ("5 d", 5)])
def test_the_middle(text: str, middle: float) -> None:
    assert forms.parse_amount(text).middle == middle


@pytest.mark.parametrize("text", ["4.. d", "..4 d"])
def test_an_open_range_has_no_middle(text: str) -> None:
    assert not forms.parse_amount(text).closed
    with pytest.raises(ValueError, match="no middle"):
        _ = forms.parse_amount(text).middle


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("5 d @practice", "min", "'5 d' is in 'd'; what stands here has to be in 'min'"),
        ("5 @practice", "min", "'5' has no unit; write '5 min'"),
        ("5 d @practice", "1", "a plain number, without a unit"),
    ],
)
def test_a_unit_that_is_asked_for(text: str, unit: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.amount(text, SOURCES, unit)
    assert words in str(caught.value)


# Days, rounded outward -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("1..3..7 d", Span(1, 3, 7)),
        ("7.5..8..9 d", Span(7, 8, 9)),
        ("7.2..8.5..8.9 d", Span(7, 9, 9)),  # usual: half up
        ("8.4 d", Span(8, 8, 9)),
        ("11..14 d", Span(11, 13, 14)),  # the middle of two, half up
        ("10..12 d", Span(10, 11, 12)),
        ("40..50 h", Span(1, 2, 3)),
        ("48 h", Span(2, 2, 2)),
        ("120 h", Span(5, 5, 5)),
        ("-1.5..-0.5 d", Span(-2, -1, 0)),
    ],
)
def test_days_are_rounded_outward(text: str, span: Span) -> None:
    assert forms.span_of_days(forms.parse_amount(text)) == span


@given(st.lists(st.integers(-9_999, 99_999), min_size=3, max_size=3), st.sampled_from(["d", "h"]))
def test_a_span_holds_every_day_that_the_range_touches(hundredths: list[int], unit: str) -> None:
    low, usual, high = sorted(n / 100 for n in hundredths)
    scale = 1 if unit == "d" else 24
    span = forms.span_of_days(Amount(low, usual, high, unit))
    assert span.low <= low / scale < span.low + 1
    assert span.high - 1 < high / scale <= span.high
    assert abs(span.usual - usual / scale) <= 0.5 + 1e-9


@pytest.mark.parametrize("text", ["4.. d", "..4 d", "5 mm", "5"])
def test_what_is_no_number_of_days(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a closed range of days; write for example '1\.\.3\.\.7 d'"):
        forms.span_of_days(forms.parse_amount(text))


# Citations -----------------------------------------------------------------------------------------------------------


def test_a_value_knows_its_citations_and_its_place() -> None:
    text = Text("1..3 d @oba_leaflet:p2/memory  @practice", Place("a.yaml", 3, 9), "clock.egg", "seeley_1985")
    cited = forms.days(text, SOURCES)
    assert cited.value == Span(1, 2, 3)
    assert cited.cites == (
        Citation("oba_leaflet", "p2", Basis.MEMORY),
        Citation("practice", "", Basis.PRACTICE),
    )
    assert (cited.place, cited.key, cited.text) == (Place("a.yaml", 3, 9), "clock.egg", str(text))
    assert cited.basis is Basis.MEMORY


def test_a_value_without_its_own_takes_the_citation_above() -> None:
    cited = forms.days(Text("3 d", cite="seeley_1985/second practice"), SOURCES)
    assert cited.cites == (Citation("seeley_1985", "", Basis.SECOND), Citation("practice", "", Basis.PRACTICE))


def test_a_citation_above_that_can_not_be_read_is_not_complained_of_at_each_value() -> None:
    assert forms.days(Text("3 d", cite="nobody"), SOURCES).cites == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3 d", "has no source; write '@source' behind it, or 'cite: source' above it"),
        ("3 d @", "'@' is not a citation"),
        ("3 d @Practice", "'@Practice' is not a citation"),
        ("3 d @practise", "the source 'practise' is not in sources.yaml; did you mean 'practice'?"),
        ("3 d @practice/guess", "'guess' is not a basis; allowed: read, second, derived, practice, memory, assumption"),
        ("3 d @practice:/read", "is not a citation"),
        ("3 d @practice @", "is not a citation"),
    ],
)
def test_what_is_no_citation(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.days(text, SOURCES)
    assert words in str(caught.value)


# Days of the year ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2027-02-29", "'2027-02-29' does not exist: that month has the days 01 to 28"),
        ("2027-04-31", "'2027-04-31' does not exist: that month has the days 01 to 30"),
        ("2027-13-01", "a year has the months 01 to 12"),
        ("2027-00-01", "a year has the months 01 to 12"),
        ("2027-01-00", "that month has the days 01 to 31"),
        ("1899-12-31", "lies outside the years 1900 to 2199"),
        ("9999-12-31", "lies outside the years 1900 to 2199"),
        ("2.5.2027", "is not a date; write year, month and day, such as '2027-05-02'"),
        ("2027-5-2", "is not a date"),
        ("2027-W18-7", "is not a date"),
        ("٢٠٢٧-٠٥-٠٢", "is not a date"),
    ],
)
def test_what_is_no_date(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.iso_date(text)
    assert words in str(caught.value)


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_every_date_is_read(one: date) -> None:
    assert forms.iso_date(f" {one.isoformat()} ") == one


@pytest.mark.parametrize("text", ["04-31", "02-30", "00-10", "13-01", "5-1", "0510", "05-10-", "05/10"])
def test_what_is_no_day_of_the_year(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a day of the year|does not exist"):
        forms.month_day(text)


LEAP = date(2024, 1, 1)
MONTH_DAYS = st.integers(0, 365).map(lambda n: LEAP + timedelta(n)).map(lambda d: MonthDay(d.month, d.day))


@settings(max_examples=60)
@given(MONTH_DAYS, st.dates(date(1900, 1, 1), date(2190, 12, 31)))
@example(MonthDay(2, 29), date(2023, 3, 1))
@example(MonthDay(2, 29), date(2024, 2, 29))
@example(MonthDay(2, 29), date(2024, 3, 1))
@example(MonthDay(12, 31), date(2024, 12, 31))
def test_the_first_occurrence_is_what_a_calendar_shows(month_day: MonthDay, start: date) -> None:
    """29 February is the day after 28 February, in every year."""

    def is_it(day: date) -> bool:
        if (month_day.month, month_day.day) == (2, 29):
            before = day - timedelta(1)
            return (before.month, before.day) == (2, 28)
        return (day.month, day.day) == (month_day.month, month_day.day)

    naive = next(start + timedelta(n) for n in range(367) if is_it(start + timedelta(n)))
    assert date.fromordinal(month_day.on_or_after(start.toordinal())) == naive


@given(MONTH_DAYS)
def test_a_day_of_the_year_is_read_back(one: MonthDay) -> None:
    assert forms.month_day(str(one)) == one


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("05-10 ± 7 d", MarkDays(MonthDay(5, 10), None, 7)),
        ("05-10 +- 7.5 d", MarkDays(MonthDay(5, 10), None, 7.5)),
        ("05-10±7d", MarkDays(MonthDay(5, 10), None, 7)),
        ("05-10", MarkDays(MonthDay(5, 10))),
        ("02-29", MarkDays(MonthDay(2, 29))),
        ("05-25..07-15 ± 8 d", MarkDays(MonthDay(5, 25), MonthDay(7, 15), 8)),
        ("10-20..01-15", MarkDays(MonthDay(10, 20), MonthDay(1, 15))),
        ("none", MarkDays(None)),
    ],
)
def test_a_mark(text: str, mark: MarkDays) -> None:
    assert forms.mark_days(f"{text} @practice", SOURCES).value == mark


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("05-25..", "lacks an end; write a period as '05-25..07-15 ± 8 d'"),
        ("..07-15", "lacks an end"),
        ("05-25..07-15..08-01", "is not a day of the year"),
        ("04-31 ± 7 d", "does not exist"),
        ("05-10 ± 7", "is not a mark"),
        ("05-10 ± 2 weeks", "is not a mark"),
        ("None", "is not a day of the year"),
        ("none ± 3 d", "is not a day of the year"),
    ],
)
def test_what_is_no_mark(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.mark_days(f"{text} @practice", SOURCES)
    assert words in str(caught.value)


# Bounds and clocks ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "pick", "anchor", "shift"),
    [
        ("usually season.swarm_start - 14 d", "usually", "season.swarm_start", -14),
        ("earliest first_drone - 1 d", "earliest", "first_drone", -1),
        ("latest season.flow_main.ends", "latest", "season.flow_main.ends", 0),
        ("trap_hung + 7 d", None, "trap_hung", 7),
        ("05-20", None, "05-20", 0),
        ("2027-05-20 + 3 d", None, "2027-05-20", 3),
        ("supers.off", None, "supers.off", 0),
    ],
)
def test_a_bound(text: str, pick: str | None, anchor: str, shift: int) -> None:
    bound = forms.bound(Text(f"{text} @practice"), SOURCES)
    assert (bound.pick, bound.anchor, bound.shift) == (pick, anchor, shift)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not a bound"),
        ("trap_hung +7 d", "is not a bound"),
        ("trap_hung + 7", "is not a bound"),
        ("trap_hung + 7.5 d", "is not a bound"),
        ("trap_hung + 99999 d", "is not a bound"),
        ("perhaps trap_hung", "is not a bound"),
        ("a.b.c.d", "is not a bound"),
        ("02-30", "'02-30' does not exist"),
        ("2027-02-29", "'2027-02-29' does not exist"),
    ],
)
def test_what_is_no_bound(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.bound(f"{text} @practice", SOURCES)
    assert words in str(caught.value)


def test_a_day_of_a_clock() -> None:
    lagged = forms.clock_day("emptied + 1..3..7 d @practice", SOURCES)
    assert lagged.anchor == "emptied"
    assert lagged.lag is not None
    assert lagged.lag.value == Span(1, 3, 7)
    grown = forms.clock_day("first_egg + drone.capped @practice", SOURCES)
    assert (grown.anchor, grown.lag, grown.development) == ("first_egg", None, "drone.capped")
    itself = forms.clock_day("season.drone_rearing_start @practice", SOURCES)
    assert (itself.anchor, itself.lag, itself.development) == ("season.drone_rearing_start", None, "")


@pytest.mark.parametrize("text", ["usually first_egg + 3 d", "first_egg - 3 d", "first_egg + 3 h", "first_egg + 3"])
def test_what_is_no_day_of_a_clock(text: str) -> None:
    with pytest.raises(ValueError, match="is not a day of a clock; write 'ANCHOR"):
        forms.clock_day(f"{text} @practice", SOURCES)


# Thresholds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "threshold"),
    [
        ("at 6 in 300 bees", Threshold(Fraction(6), Fraction(300), Unit.BEES)),
        ("above 0.5 in 1 d", Threshold(Fraction(1, 2), Fraction(1), Unit.DAYS, above=True)),
        ("at 5 in 50 g", Threshold(Fraction(5), Fraction(50), Unit.GRAMS)),
        ("above  15  in  100  drone_cells", Threshold(Fraction(15), Fraction(100), Unit.DRONE_CELLS, above=True)),
    ],
)
def test_a_threshold(text: str, threshold: Threshold) -> None:
    got = forms.threshold(f"{text} @practice", SOURCES)
    assert got.value == threshold
    assert str(got.value) == " ".join(text.split())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6 in 300 bees", "is not a threshold; write 'at' (so many or more) or 'above'"),
        ("at 6/300", "is not a threshold"),
        ("at 2 %", "is not a threshold"),
        ("at 2,5 in 100 bees", "is not a threshold"),
        ("from 6 in 300 bees", "is not a threshold"),
        ("at 6 in 300 wasps", "mites are not counted in 'wasps'; allowed: bees, g, d, drone_cells"),
        ("at 6 in 0 bees", "in a size above 0"),
    ],
)
def test_what_is_no_threshold(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        forms.threshold(f"{text} @practice", SOURCES)
    assert words in str(caught.value)


# Any text ------------------------------------------------------------------------------------------------------------

PARSERS: list[Callable[[str], object]] = [
    forms.parse_amount,
    forms.month_day,
    forms.iso_date,
    lambda text: forms.amount(text, SOURCES),
    lambda text: forms.amount(text, SOURCES, "mm"),
    lambda text: forms.days(text, SOURCES),
    lambda text: forms.mark_days(text, SOURCES),
    lambda text: forms.bound(text, SOURCES),
    lambda text: forms.clock_day(text, SOURCES),
    lambda text: forms.threshold(text, SOURCES),
    thresholds._period,
    lambda text: forms.citations(text.split(), SOURCES),
    yardfile._key,
    yardfile._trap_name,
    yardfile._began,
    yardfile._days,
    yardfile._away,
    yardfile._slot,
    fields._identifier,
    fields._prose,
    fields._yes_no,
    fields._degrees,
    fields._metres,
    fields._season,
    lambda text: fields._number(text, SOURCES),
    lambda text: fields._cite(text, SOURCES),
]
PIECES = st.sampled_from(
    [
        *(
            "0",
            "1",
            "9",
            "12",
            "29",
            "31",
            "..",
            ".",
            "-",
            "+",
            "±",
            "+-",
            ":",
            "/",
            "@",
            "@practice",
            "@practice/memory",
        ),
        *("d", "h", "°C", "mm", "02-29", "04-31", "2027-02-29", "2027-05-01", "9999", "season.x", "usually", "latest"),
        *(
            "none",
            "drone.capped",
            "first_egg",
            "at",
            "above",
            "in",
            "bees",
            "package",
            "overwintered",
            "any",
            "sat",
            "left",
            "from",
            "٣",
            "²",
            "\x00",
        ),
    ]
)
ALMOST = st.lists(PIECES, max_size=8).flatmap(lambda parts: st.sampled_from(["", " "]).map(lambda by: by.join(parts)))


@settings(max_examples=400)
@given(ALMOST | st.text(max_size=40))
@example("9" * 5000)
@example("1" + "0" * 400 + " d @practice")
@example("9999-12-31")
def test_any_text_gives_a_value_or_a_clear_refusal(text: str) -> None:
    for parse in PARSERS:
        try:
            parse(text)
        except ValueError as error:
            words = str(error)
            assert words
            assert "\n" not in words
            assert len(words) < 900


@settings(max_examples=200)
@given(ALMOST)
def test_whatever_is_read_as_days_can_be_counted_with(text: str) -> None:
    """No span or shift is so long that a day would fall out of the calendar."""
    try:
        span = forms.days(f"{text} @practice", SOURCES).value
    except ValueError:
        return
    assert -inf < span.low <= span.usual <= span.high < 10_000_001


# Text in messages ----------------------------------------------------------------------------------------------------


@given(st.text())
def test_text_in_a_message_is_one_short_line_with_nothing_hidden(text: str) -> None:
    shown = one_line(text)
    assert len(shown) <= 60
    assert "\n" not in shown
    assert "\x1b" not in shown
    assert quoted(text) == f"'{shown}'"


@pytest.mark.parametrize(
    ("word", "allowed", "hint"),
    [
        ("close", ["opens", "closes"], "; did you mean 'closes'? allowed: opens, closes"),
        ("OPENS", ["opens", "closes"], "; did you mean 'opens'? allowed: opens, closes"),
        ("zzz", ["opens", "closes"], "; allowed: opens, closes"),
        ("word7", [f"word{i}" for i in range(50)], "; did you mean 'word7'?"),
        ("zzz", [], "; there is none yet"),
    ],
)
def test_the_nearest_word(word: str, allowed: list[str], hint: str) -> None:
    assert nearest(word, allowed) == hint


def test_many_words_are_not_all_listed() -> None:
    assert nearest("zzz", [f"word{i}" for i in range(50)]).endswith("word19, ...")
