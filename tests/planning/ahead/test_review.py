"""The year's end: what was lost, what courses did, what is out. In: small invented yards, journals. Out: checks."""

from __future__ import annotations

import pytest
from planning.yards import YEAR, colony, lines, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.review import YearReview
from ipmcal.planning.ahead.review import looked_back
from ipmcal.planning.plan import make_plan

HIVES = tuple(colony(key, "2025-06-01") for key in ("1", "2", "3"))


def review(*told: tuple[str, str], as_of: str = "2028-01-20") -> YearReview:
    """The season 2027 of a yard of three hives, by lines of (hive, line)."""
    journal: list[Event] = [event for hive, text in told for event in lines(text, colony=hive)]
    mine = outfit(yard(*HIVES), journal=sorted(journal, key=lambda event: event.day))
    plan = make_plan(mine, shipped(), on(as_of), YEAR)
    (made,) = looked_back(mine, shipped(), plan).reviews
    return made


def strips(hive: str, year: int, before: str, after: str) -> tuple[tuple[str, str], ...]:
    """A course of amitraz in August, six weeks, counted on the day before and three weeks after."""
    return (
        (hive, f"{year}-07-31 count {before}"),
        (hive, f"{year}-08-01 strips_in amitraz_strip 2 lot K by AB"),
        (hive, f"{year}-09-12 strips_out amitraz_strip 2 by AB"),
        (hive, f"{year}-10-02 count {after}"),
    )


# What a course did ----------------------------------------------------------------------------------------------------


def test_counts_of_all_hives_that_have_both_are_taken_together() -> None:
    """39 in 600, then 18 in 600: 54 % gone. Of 57 mites 18 were found after: Wilson's interval 21.1 to 44.5 % (worked
    by hand), so that 26.7 to 80.1 % are left (score limits of the ratio: Graham, Mengersen & Morton 2003)."""
    two = (*strips("1", 2027, "24/300", "10/300"), *strips("2", 2027, "15/300", "8/300"))
    (one,) = review(*two, ("3", "07-31 count 9/300")).courses
    assert (one.hives, one.counted, one.before, one.after) == (("1", "2"), ("1", "2"), (39, 600), (18, 600))
    assert one.share == pytest.approx(1 - 18 / 39)
    assert (one.low, one.high) == (pytest.approx(1 - 0.801, abs=2e-3), pytest.approx(1 - 0.267, abs=2e-3))


def test_hives_that_began_within_two_weeks_had_one_course() -> None:
    later = [(hive, text.replace("08-01", "08-08")) for hive, text in strips("2", 2027, "15/300", "3/300")]
    (one,) = review(*strips("1", 2027, "24/300", "3/300"), *later).courses
    assert one.hives == ("1", "2")


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (strips("1", 2027, "24/300", "3/300")[1:], "no_counts"),
        (strips("1", 2027, "24/300", "3/300")[:3], "no_counts"),
        (strips("1", 2027, "0/300", "3/300"), "none_before"),
        (strips("1", 2027, "24/300", "3/300")[:2], "under_way"),
    ],
)
def test_what_counts_do_not_tell_is_not_said(told: tuple[tuple[str, str], ...], why: str) -> None:
    (one,) = review(*told, as_of="2027-11-20").courses
    assert (one.share, one.why) == (None, why)


def test_more_mites_than_before_is_less_than_nothing_gone() -> None:
    (one,) = review(*strips("1", 2027, "6/300", "12/300")).courses
    assert one.share == pytest.approx(-1.0)


# A class that is out --------------------------------------------------------------------------------------------------


def failed(year: int, kills: bool = False) -> tuple[tuple[str, str], ...]:
    return strips("1", year, "24/300", "2/300" if kills else "12/300")


def test_a_class_that_failed_twice_running_is_out() -> None:
    (out,) = review(*failed(2026), *failed(2027)).out
    assert (out.class_, out.began) == ("amidine", (on("2026-08-01"), on("2027-08-01")))


@pytest.mark.parametrize("kills", [(True, False), (False, True), (True, True)])
def test_one_failure_or_one_that_was_made_good_puts_nothing_out(kills: tuple[bool, bool]) -> None:
    assert review(*failed(2026, kills[0]), *failed(2027, kills[1])).out == ()


def test_a_course_that_nobody_counted_puts_nothing_out() -> None:
    assert review(*failed(2026), *failed(2027)[:3]).out == ()


# Hives ----------------------------------------------------------------------------------------------------------------


def test_hives_lost_and_dwindled() -> None:
    made = review(
        ("1", "05-10 frames_covered 10"),
        ("1", "09-20 frames_covered 5"),
        ("2", "05-10 frames_covered 10"),
        ("2", "09-20 frames_covered 6"),
        ("3", "11-06 found_dead"),
        ("3", "11-20 died"),
    )
    assert made.alive == ("1", "2")
    assert [(fate.colony, fate.day) for fate in made.lost] == [("3", on("11-06"))]
    assert [(one.colony, one.most, one.last) for one in made.dwindled] == [("1", 10.0, 5.0)]


def test_the_last_count_of_each_hive_that_lives() -> None:
    made = review(("1", "06-19 count 3/300"), ("1", "09-25 count 12/300"), ("2", "06-19 count 3/300"))
    assert [(one.colony, one.day) for one in made.counts] == [
        ("1", on("09-25")), ("2", on("06-19")), ("3", None),
    ]  # fmt: skip
    assert made.counts[0].found.startswith("12 in 300 bees")


# Next year ------------------------------------------------------------------------------------------------------------


def test_next_year_starts_from_an_acid_only_where_every_hive_has_one_written() -> None:
    """Sixty mites after a recorded acid, two hundred where nobody knows (rules/mites.yaml, assumptions)."""
    dosed = [(key, "12-04 treated oxalic_trickle 35 mL lot A by AB") for key in ("1", "2", "3")]
    every, some = review(*dosed).start, review(*dosed[:2]).start
    assert (every.known, every.dosed, every.mites) == ("dosed", (on("12-04"),), 60)
    assert (some.known, some.mites) == ("unknown", 200)
    assert [hives for hives, _ in every.loads] == [("1", "2", "3")]
