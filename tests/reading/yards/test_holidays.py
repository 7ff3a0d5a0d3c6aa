"""Holidays: whose they are, as written or as the country has them; and the days, against the law's own words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Yard
from ipmcal.planning.plan import keeper_days
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.source.complaints import BadInput
from ipmcal.reading.yards.holidays import place_problem, public_days
from ipmcal.reading.yards.yards import load

YEARS = range(2026, 2033)
YARD: dict[str, Any] = {
    "yard": "Orchard",
    "place": {"latitude": "43.11", "longitude": "-76.10", "elevation": "125 m"},
    "region": "us_northeast",
    "jurisdiction": "us",
    "program": "full",
    "colonies": [{"key": "3", "began": "2025 overwintered", "hive": "langstroth_10", "boxes": ["deep", "deep"]}],
}


def days_of(place: str, year: int) -> set[date]:
    return {date.fromordinal(day) for day in public_days(place).in_year(year)}


def nth(year: int, month: int, weekday: int, n: int) -> date:
    """The n-th weekday (Monday 0) of a month; -1 for the last."""
    days = [date(year, month, 1) + timedelta(i) for i in range(31)]
    return [d for d in days if d.month == month and d.weekday() == weekday][n - 1 if n > 0 else n]


# The days -------------------------------------------------------------------------------------------------------------


def us_federal(year: int) -> Iterator[date]:
    """Title 5 of the United States Code, section 6103 (a), from memory, without the days in lieu of (b)."""
    yield from (date(year, 1, 1), date(year, 6, 19), date(year, 7, 4), date(year, 11, 11), date(year, 12, 25))
    yield from (nth(year, 1, 0, 3), nth(year, 2, 0, 3), nth(year, 5, 0, -1))
    yield from (nth(year, 9, 0, 1), nth(year, 10, 0, 2), nth(year, 11, 3, 4))


@pytest.mark.parametrize("year", YEARS)
def test_federal_holidays_are_those_of_the_code_and_the_days_in_lieu(year: int) -> None:
    """In lieu of a Saturday the Friday before (5 U.S.C. 6103 (b)), of a Sunday the Monday behind (Order 11582);
    from memory. New year's day of the next year may be kept on 31 December."""
    named = [*us_federal(year), date(year + 1, 1, 1)]
    lieu = {d + timedelta({5: -1, 6: 1}[d.weekday()]) for d in named if d.weekday() >= 5}
    assert days_of("us", year) == {d for d in {*named, *lieu} if d.year == year}


def easter(year: int) -> date:
    """Easter Sunday, by the table of the Book of Common Prayer as a formula (Meeus 1991, from memory)."""
    a, (b, c) = year % 19, divmod(year, 100)
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    m = (32 + 2 * e + 2 * i - h - k) % 7
    n = (a + 11 * h + 22 * m) // 451
    month, day = divmod(h + m - 7 * n + 114, 31)
    return date(year, month, day + 1)


@pytest.mark.parametrize("year", YEARS)
def test_bank_holidays_of_england_are_those_of_the_act(year: int) -> None:
    """Banking and Financial Dealings Act 1971, schedule 1, paragraph 1, with Good Friday, Christmas Day, and the days
    that are proclaimed each year: New Year's Day, the first Monday in May; from memory."""
    act = {easter(year) + timedelta(1), nth(year, 5, 0, -1), nth(year, 8, 0, -1), date(year, 12, 26)}
    named = act | {easter(year) - timedelta(2), date(year, 12, 25), nth(year, 5, 0, 1), date(year, 1, 1)}
    found = days_of("gb-eng", year)
    assert named <= found
    assert all(d.weekday() < 5 for d in found - named), "what is added is in lieu of a weekend's day"
    assert len(found - named) == sum(d.weekday() >= 5 for d in named)


@pytest.mark.parametrize("year", YEARS)
def test_scotland_keeps_the_day_of_its_saint(year: int) -> None:
    """St Andrew's Day Bank Holiday (Scotland) Act 2007, section 1: 30 November, or the first Monday behind a weekend
    (read)."""
    saint = date(year, 11, 30)
    kept = saint + timedelta({5: 2, 6: 1}.get(saint.weekday(), 0))
    assert kept in days_of("gb-sct", year)
    assert kept not in days_of("gb-eng", year)


# Whose they are -------------------------------------------------------------------------------------------------------


def test_every_shipped_country_is_known() -> None:
    book = load_rulebook(folder("rules"))
    told = {name: rule.holidays for name, rule in book.jurisdictions.items() if rule.holidays}
    assert sorted(told) == sorted(set(book.jurisdictions) - {"eu"})
    for name, country in told.items():
        assert not place_problem(country), name
        assert date(2027, 12, 25) in days_of(country, 2027), name


@pytest.mark.parametrize("place", ["us-ny", "nz-south-canterbury", "de-by", "au-vic", "nor"])
def test_parts_of_countries_are_known(place: str) -> None:
    assert not place_problem(place)
    assert days_of(place, 2027)


def read(tmp_path: Path, *, outfit: str = "", **more: str) -> Yard:
    (tmp_path / "orchard.yaml").write_text(json.dumps({**YARD, **more}), encoding="utf-8")
    (tmp_path / "outfit.yaml").write_text(f"outfit: mine\nname: Mine\n{outfit}", encoding="utf-8")
    (there,) = load(tmp_path, folder("rules")).outfit.yards
    return there


def test_a_yards_own_word_counts_before_the_outfits_and_that_before_the_countrys(tmp_path: Path) -> None:
    def place(there: Yard) -> str | None:
        return there.holidays.place if there.holidays else None

    assert place(read(tmp_path)) == "us"
    assert place(read(tmp_path, jurisdiction="uk")) == "gb"
    assert place(read(tmp_path, jurisdiction="eu")) is None
    assert place(read(tmp_path, outfit="holidays: us-ny\n")) == "us-ny"
    assert place(read(tmp_path, outfit="holidays: us-ny\n", holidays="us-ma")) == "us-ma"
    assert place(read(tmp_path, outfit="holidays: us-ny\n", holidays="no")) is None
    assert place(read(tmp_path, outfit="holidays: no\n")) is None


def test_alarms_are_on_unless_the_outfit_or_before_it_the_yard_says_no(tmp_path: Path) -> None:
    assert read(tmp_path).alarms
    assert not read(tmp_path, outfit="alarms: no\n").alarms
    assert read(tmp_path, outfit="alarms: no\n", alarms="yes").alarms
    assert not read(tmp_path, alarms="no").alarms
    with pytest.raises(BadInput, match="neither 'yes' nor 'no'"):
        read(tmp_path, alarms="loud")


def test_a_page_is_an_address_of_the_web(tmp_path: Path) -> None:
    mine, all_ = "https://example.org/bees/7f/", "http://192.168.1.5:8321/ab/"
    assert read(tmp_path).page == ""
    assert read(tmp_path, outfit=f"page: {all_}\n").page == all_
    assert read(tmp_path, outfit=f"page: {all_}\n", page=mine).page == mine
    for bad in ("example.org", "webcal://example.org/a.ics", "https://example.org/a b", "https://" + "x" * 300):
        with pytest.raises(BadInput, match="is not the address of a page; write it whole"):
            read(tmp_path, page=bad)


def test_a_bad_place_in_the_outfits_file_is_told_once(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as error:
        read(tmp_path, outfit="holidays: us-yn\n")
    assert [str(c).partition(" ")[0].partition("/")[2] for c in error.value.complaints] == ["outfit.yaml:3:11"]


def test_christmas_and_new_year_are_no_visits_even_without_holidays(tmp_path: Path) -> None:
    """Rules say which days; the country's are on top of them."""
    book = load_rulebook(folder("rules"))
    first, last = date(2027, 6, 1).toordinal(), date(2028, 1, 31).toordinal()

    def rests(there: Yard) -> set[str]:
        days = keeper_days(there, first, last, book.planning.no_visits)
        assert len(days) == last - first + 1, "they are days of the keeper's, if need be"
        return {date.fromordinal(d).isoformat() for d in days.of(days.resting)}

    assert rests(read(tmp_path, holidays="no")) == {"2027-12-25", "2028-01-01"}
    assert {"2027-07-04", "2027-11-25", "2027-12-25"} < rests(read(tmp_path))
