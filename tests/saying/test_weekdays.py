"""What one more weekday would save, in words: the best first."""

from __future__ import annotations

from ipmcal.model.plan.plan import YardWorth
from ipmcal.saying.reasons import weekday_lines


def test_the_weekday_that_saves_most_comes_first() -> None:
    assert list(weekday_lines(YardWorth("orchard", 10, 8), [(0, 1), (2, 3), (4, 1)])) == [
        "orchard: 10 visits with your days, fewer than 8 there can't be",
        "with Wednesdays too: 7 visits",
        "with Mondays too: 9 visits",
        "with Fridays too: 9 visits",
    ]


def test_where_none_saves_any_that_is_said() -> None:
    assert list(weekday_lines(YardWorth("orchard", 1, 1), [])) == [
        "orchard: 1 visit with your days, proven to be the fewest",
        "no other weekday would save one",
    ]
