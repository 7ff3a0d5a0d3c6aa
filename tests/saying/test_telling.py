"""A plan in a few lines: courses of two seasons are told apart, since their days have no year."""

from __future__ import annotations

import re

from planning.yards import colony, on, outfit, shipped, yard

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
