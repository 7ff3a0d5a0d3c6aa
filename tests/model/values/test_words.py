"""Words for paper: dates, lists, and other people's text."""

from __future__ import annotations

import doctest
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.values import words


def test_the_examples_in_the_docstrings_hold() -> None:
    result = doctest.testmod(words)
    assert result.attempted > 8
    assert result.failed == 0


@pytest.mark.parametrize(
    ("first", "last", "said", "rough"),
    [
        (date(2027, 5, 22), date(2027, 5, 22), "Sat 22 May", "22 May"),
        (date(2027, 5, 22), date(2027, 5, 24), "Sat 22 to Mon 24 May", "22 to 24 May"),
        (date(2027, 12, 31), date(2028, 1, 2), "Fri 31 Dec to Sun 2 Jan", "31 Dec to 2 Jan"),
        (date(2027, 5, 1), date(2028, 5, 1), "Sat 1 May to Mon 1 May", "1 May to 1 May"),
    ],
)
def test_ranges_say_the_month_once(first: date, last: date, said: str, rough: str) -> None:
    assert words.day_range(first.toordinal(), last.toordinal()) == said
    assert words.rough_range(first.toordinal(), last.toordinal()) == rough


@pytest.mark.parametrize(
    ("latitude", "longitude", "said"),
    [
        (42.11, -76.06, "42.11 N, 76.06 W"),
        (-37.5, 145.12345, "37.50 S, 145.1234 E"),
        (0.0, 0.0, "0.00 N, 0.00 E"),
    ],
)
def test_positions(latitude: float, longitude: float, said: str) -> None:
    assert words.position(latitude, longitude) == said


@pytest.mark.parametrize(("minutes", "said"), [(0, "0 min"), (1, "5 min"), (60, "1 h"), (138, "2 h 20 min")])
def test_durations_are_rounded_up(minutes: int, said: str) -> None:
    assert words.duration(minutes) == said


@given(st.text(max_size=60))
def test_plain_text_holds_nothing_that_moves_the_page_and_stays_as_it_is(text: str) -> None:
    once = words.plain(text)
    assert words.plain(once) == once
    assert not [letter for letter in once if ord(letter) < 32 or letter in "\u202e\u200d\ufeff\ufe0f"]
    once.encode()


def test_letters_of_any_script_stay() -> None:
    for name in ("Štěpán", "Ruche n° 3", "Πρώτο", "Улей", "ülke – 7"):
        assert words.plain(name) == name


@given(st.text(max_size=40), st.integers(2, 20))
def test_shortened_keeps_within_bounds(text: str, most: int) -> None:
    cut = words.shortened(text, most)
    assert len(cut) <= most
    assert cut == text or cut.endswith("…")


def test_hives_are_named_by_the_shorter_list() -> None:
    yard = [str(i) for i in range(1, 13)]
    assert words.hives(yard, yard) == "all 12"
    assert words.hives(yard[:10], yard) == "all but 11, 12"
    assert words.hives(yard[:6], yard) == "1 to 6"
    assert words.hives(["1", "2", "3", "5", "6"], yard) == "1, 2, 3, 5, 6"
    assert words.hives(["1", "2"], ["1", "2"]) == "1, 2"
    assert words.hives(["gone"], yard) == "gone"
