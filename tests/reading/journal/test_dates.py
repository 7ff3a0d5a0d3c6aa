"""Dates as keepers and spreadsheets write them: one reading, or a complaint with both."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ipmcal.reading.journal.dates import column_order, read_day

DAY = date(2027, 5, 22)
DATES = st.dates(date(2000, 1, 1), date(2099, 12, 31))


@pytest.mark.parametrize(
    "text",
    [
        "2027-05-22",
        "2027/05/22",
        "2027.5.22",
        "2027-5-22",
        "22.05.2027",
        "22.5.27",
        "22. 5. 2027",
        "22/05/2027",
        "5/22/2027",
        "22-05-2027",
        "05/22/27",
        "22 May 2027",
        "22-May-27",
        "22. May 2027",
        "May 22, 2027",
        "may 22 2027",
        "2027-05-22 00:00:00",
        "2027-05-22T00:00:00",
        " 22/05/2027 0:00 ",
    ],
)
def test_ways_to_write_a_day(text: str) -> None:
    assert read_day(text) == DAY.toordinal()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("05/08/2027", "'05/08/2027' can be 2027-08-05 or 2027-05-08; write it as the one that is meant"),
        ("46529", "'46529' is a spreadsheet's number of a day (2027-05-22?); write it as a date"),
        ("30.02.2027", "does not exist"),
        ("2027-13-01", "does not exist: a year has the months 01 to 12"),
        ("31/31/2027", "is not a date"),
        ("22 Mai 2027", "is not a date; write year, month and day, such as '2027-05-02'"),
        ("22 Ma 2027", "is not a date"),
        ("2027-05-22 14:30", "is not a date"),
        ("22 May", "is not a date"),
        ("", "is not a date"),
        ("1/2/3", "is not a date"),
        ("2300-01-01", "lies outside the years"),
    ],
)
def test_what_is_no_day(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        read_day(text)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        ([], None),
        (["date", "2027-05-22", "05/08/2027"], None),
        (["22/05/2027", "05/08/2027"], "dmy"),
        (["5/22/2027", "05/08/2027", "2027-05-01"], "mdy"),
        (["22/05/2027", "5/22/2027"], None),
        (["22.05.2027", "05/08/2027"], None),  # dots say nothing about slashes
    ],
)
def test_the_order_of_a_column(cells: list[str], order: str | None) -> None:
    assert column_order(cells) == order


def test_a_day_that_is_its_month_needs_no_order() -> None:
    assert read_day("05/05/2027") == date(2027, 5, 5).toordinal()


@given(days=st.lists(DATES, min_size=1), form=st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d-%m-%Y", "%d/%m/%y"]))
def test_a_column_in_one_order_is_read_as_it_was_written_or_not_at_all(days: list[date], form: str) -> None:
    cells = [day.strftime(form) for day in days]
    order = column_order(cells)
    for day, cell in zip(days, cells, strict=True):
        try:
            assert read_day(cell, order) == day.toordinal()
        except ValueError:
            assert order is None
            assert day.day <= 12


@given(day=DATES, form=st.sampled_from(["%Y-%m-%d", "%d.%m.%Y", "%d %B %Y", "%d-%b-%y", "%B %d, %Y", "%Y/%m/%d"]))
def test_ways_that_need_no_order(day: date, form: str) -> None:
    assert read_day(day.strftime(form)) == day.toordinal()
