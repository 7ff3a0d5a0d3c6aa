"""A plan in a few lines: courses of two seasons are told apart, since their days have no year."""

from __future__ import annotations

import re

from planning.yards import colony, lines, on, outfit, shipped, yard

from ipmcal.planning.plan import make_plan
from ipmcal.saying.telling import finding_lines, size_words


def courses(as_of: str) -> list[str]:
    made = make_plan(outfit(yard(colony("1"), program="full")), shipped(), on(as_of))
    return [line for line in finding_lines(made) if line.startswith("  course: ")]


def test_courses_of_two_seasons_name_their_season() -> None:
    told = courses("11-10")
    assert {match[1] for line in told if (match := re.match(r"  course: yard, season (\d{4}): ", line))} == {
        "2027",
        "2028",
    }
    assert all("season" in line for line in told)


def test_a_season_before_the_first_hive_has_no_visits() -> None:
    package = colony("1", "2027-05-01", "package", boxes=("deep",))
    made = make_plan(outfit(yard(package)), shipped(), on("2026-11-15"))
    assert {view.season for view in made.yards} == {2026, 2027}
    assert size_words(made).endswith(" in 2027")


def test_courses_of_one_season_do_not() -> None:
    told = courses("05-10")
    assert told
    assert not [line for line in told if line.startswith("  course: yard, season")]


def test_hives_that_are_told_the_same_are_told_it_once() -> None:
    """One hive looks sick, and nothing goes in or out of the yard: eleven others are not told so one by one."""
    hives = [
        colony(str(i), history=lines("05-08 suspect sunken caps", colony="1") if i == 1 else ()) for i in (1, 2, 3)
    ]
    made = make_plan(outfit(yard(*hives, program="full"), journal=()), shipped(), on("05-10"))
    told = [line for line in finding_lines(made) if line.startswith("  not offered: ") and "Supers on and off" in line]
    assert [line.partition(": Supers")[0] for line in told] == ["  not offered: yard 2, 3", "  not offered: yard 1"]
