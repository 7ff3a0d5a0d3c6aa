"""The picture of a season: what moves it and what does not. In: small invented yards, journals. Out: checks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest
from planning.ahead.mites_checks import check_mites
from planning.mites.year_yards import kept, the_yard
from planning.yards import SHIPPED_REGIONS, YEAR, colony, lines, on, outfit, season_begins, shipped, short, yard

from ipmcal.model.outfit.outfit import Colony, Event, Outfit
from ipmcal.model.plan.mites import MiteYear
from ipmcal.model.plan.plan import Plan
from ipmcal.planning.ahead.drawn import mite_years
from ipmcal.planning.plan import make_plan

OLD_HIVE = colony("1", "2025-06-01", traps=[short()])
JUNE = "06-19 count"


def drawn(*told: str, as_of: str = "07-01", hives: Iterable[Colony] = (OLD_HIVE,), program: str = "full") -> MiteYear:
    """The picture of a yard in the north-east of the United States, on a day, by what its journal tells."""
    return all_drawn(lines(*told), as_of, tuple(hives), program)[1][0]


def all_drawn(
    told: Iterable[Event], as_of: str, hives: tuple[Colony, ...], program: str = "full"
) -> tuple[Plan, tuple[MiteYear, ...]]:
    mine = outfit(yard(*hives, program=program), journal=tuple(told))
    made = make_plan(mine, shipped(), on(as_of), YEAR)
    pictures = mite_years(mine, shipped(), made)
    check_mites(made, pictures, shipped())
    return made, pictures


def median(one: MiteYear, day: str) -> float:
    return one.days[on(day) - one.first].median


def width(one: MiteYear, day: str) -> float:
    found = one.days[on(day) - one.first]
    return found.high / found.low


# Counts ---------------------------------------------------------------------------------------------------------------


def test_a_count_moves_what_follows_and_leaves_what_was() -> None:
    before, after = drawn(), drawn(f"{JUNE} 24/300")
    assert median(after, "06-18") == median(before, "06-18")
    assert median(after, "06-21") > 1.5 * median(before, "06-21")
    assert width(after, "06-25") < width(before, "06-25") / 2


def test_the_drawing_then_reads_what_was_counted() -> None:
    """24 in 300 bees are 8 in 100. What is usual without a count is lower, and pulls the median a little down."""
    after = drawn(f"{JUNE} 24/300")
    assert 5.0 < median(after, "06-21") < 9.0


def test_a_count_of_zero_never_raises() -> None:
    """Held against nothing more given: the plan may drop a course for it."""
    before, after = drawn(), drawn(f"{JUNE} 0/300")
    assert all(b >= a for b, a in zip(before.untreated, after.untreated, strict=True))


@pytest.mark.parametrize(("count", "far"), [("2/300", ""), ("90/300", "more")])
def test_a_count_that_nobody_would_have_drawn_says_so(count: str, far: str) -> None:
    """Two in 300 is nothing to wonder at in June, 30 in 100 is."""
    (one,) = drawn(f"{JUNE} {count}").counts
    assert one.far == far


def test_a_count_of_a_neighbour_moves_a_hive_less_than_its_own() -> None:
    two = (OLD_HIVE, colony("2", "2025-06-01"))
    alone = all_drawn(lines(f"{JUNE} 24/300", colony="2"), "07-01", two)[1][0]
    both = all_drawn((*lines(f"{JUNE} 24/300", colony="2"), *lines(f"{JUNE} 24/300", colony="1")), "07-01", two)[1][0]
    none = drawn(hives=two)
    assert median(none, "06-25") < median(alone, "06-25")
    assert width(both, "06-25") < width(alone, "06-25") < width(none, "06-25")


def test_mites_by_weight_of_bees_are_mites_on_bees() -> None:
    """36 g are 300 bees, at 0.12 g a bee (rules/mites.yaml)."""
    by_number, by_weight = drawn(f"{JUNE} 9/300"), drawn("06-19 weighed_count 9/36")
    assert by_weight.untreated == by_number.untreated


def test_what_fell_on_a_board_moves_nothing() -> None:
    board = drawn("06-19 drop 40/2")
    assert (board.stray, board.counts) == (1, ())
    assert board.days == drawn().days


# Courses and handwork -------------------------------------------------------------------------------------------------


def test_a_course_ahead_parts_the_two_curves_and_one_given_does_not() -> None:
    """What is given has its effect in both: 'nothing more given'."""
    ahead = drawn(as_of="05-01")
    assert any(bar.planned for bar in ahead.courses)
    first = min(bar.first for bar in ahead.courses if bar.planned)
    assert ahead.untreated[first - ahead.first + 10] > ahead.days[first - ahead.first + 10].median
    given = drawn("07-10 strips_in formic_strips_pair 2 lot K by AB", as_of="07-11")
    (bar,) = [bar for bar in given.courses if bar.first == on("07-10")]
    assert not bar.planned
    assert median(given, "07-20") < 0.6 * median(drawn(as_of="07-11"), "07-09")


def test_the_second_half_of_a_course_that_has_begun_is_one_course_with_the_first() -> None:
    """Thymol gel is given twice, two to four weeks apart (EPA labels; rules/treatments/thymol_gel.yaml)."""
    one = drawn("08-07 strips_in thymol_gel 1 lot K by AB", as_of="08-10")
    mine = [bar for bar in one.courses if bar.title == shipped().treatments["thymol_gel"].title]
    assert len(mine) == 1
    assert mine[0].last >= on("08-07") + 28


def test_trap_combs_stand_on_the_days_on_which_they_are_cut() -> None:
    made, (one,) = all_drawn((), "03-01", (OLD_HIVE,))
    cut = {t.planned for t in made.tasks if t.logs == "trap_cut" and t.planned}
    assert cut
    assert cut <= set(one.cuts)


def test_a_trap_comb_that_is_cut_lowers_what_follows() -> None:
    """Drone comb cut in time takes mites out: a Danish trial found three to four times fewer in autumn (mites.yaml)."""
    with_traps = drawn(as_of="03-01", program="trap_combs")
    without = drawn(as_of="03-01", program="trap_combs", hives=[colony("1", "2025-06-01")])
    assert median(with_traps, "07-15") < 0.8 * median(without, "07-15")


def test_an_acid_that_is_written_of_last_winter_is_believed_and_none_is_assumed() -> None:
    """Sixty mites after a recorded acid, two hundred where nobody knows (rules/mites.yaml, assumptions)."""
    book = shipped()
    dosed = replace(OLD_HIVE, history=lines("2026-12-12 treated oxalic_trickle 35 mL lot K by AB"))
    nobody_knows = drawn(as_of="01-10")
    told = drawn(as_of="01-10", hives=[dosed])
    ratio = nobody_knows.days[0].median / told.days[0].median
    usual = book.mites.starts.unknown.value.middle / book.mites.starts.after_acid.value.middle
    assert ratio == pytest.approx(usual, rel=1e-2)


def test_a_hive_of_this_season_has_a_picture_of_its_own_from_its_day_on() -> None:
    new = colony("2", "05-08", "package", boxes=["deep"])
    _, (old, young) = all_drawn((), "01-10", (OLD_HIVE, new))
    assert (old.kind, old.hives, young.kind, young.hives) == ("overwintered", ("1",), "new", ("2",))
    assert young.first == on("05-08")


def test_a_swarm_that_left_is_bees_without_brood() -> None:
    """The mites in the cells stay, the bees go: what is left is more mites a bee, then a pause without brood."""
    swarmed = drawn("05-29 swarmed", as_of="06-01")
    assert swarmed.days != drawn(as_of="06-01").days


def test_a_hive_that_died_is_not_drawn() -> None:
    _, pictures = all_drawn(lines("03-06 died"), "04-01", (OLD_HIVE,))
    assert pictures == ()


# The line -------------------------------------------------------------------------------------------------------------


def test_the_line_is_the_authoritys_by_its_time_of_year() -> None:
    """Honey Bee Health Coalition guide, from memory: 2 in 100 while colonies grow, 3 in 100 at their peak and after."""
    loads = {line.load for line in drawn().lines}
    assert loads == {2.0, 3.0}
    assert drawn().whose


def test_where_the_authority_counts_what_falls_there_is_no_line() -> None:
    """Lower Saxony's advisers judge the fall on a board in July (rules/thresholds/de_weser_ems.yaml)."""
    book = shipped()
    law = book.jurisdictions["de"].model_copy(update={"thresholds": ("de_weser_ems",)})
    book = replace(book, jurisdictions={**book.jurisdictions, "de": law})
    mine = Outfit("outfit", "Outfit", (the_yard("germany_central_europe", "full"),), None)
    made = make_plan(mine, book, season_begins("germany_central_europe"), YEAR)
    (one,) = mite_years(mine, book, made)
    assert (one.lines, one.odds, one.whose) == ((), None, "")


def test_more_than_one_in_five_over_the_line_is_not_enough() -> None:
    """Twenty per cent, an assumption (rules/planning.yaml)."""
    for counted in ("0/300", "30/300"):
        odds = drawn(f"{JUNE} {counted}", program="counting_only").odds
        assert odds is not None
        assert odds.enough == (odds.planned <= 0.2)


def test_neighbours_are_drawn_as_if_they_were_alone() -> None:
    """They share what is the same: colonies and courses, never counts."""
    two = [yard(colony(key, "2025-06-01", traps=[short()]), key=key) for key in ("a", "b")]
    mine = outfit(*two, journal=lines(f"{JUNE} 24/300", colony="a", yard="a"))
    both = mite_years(mine, shipped(), make_plan(mine, shipped(), on("07-01"), YEAR))
    for there, drawn_ in zip(two, both, strict=True):
        alone = outfit(there, journal=mine.journal)
        (one,) = mite_years(alone, shipped(), make_plan(alone, shipped(), on("07-01"), YEAR))
        assert one.untreated == drawn_.untreated


# All of them ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("region", SHIPPED_REGIONS)
def test_every_region_is_drawn(region: str) -> None:
    it = kept(region, "full")
    pictures = mite_years(it.outfit, shipped(), it.today)
    check_mites(it.today, pictures, shipped())
    assert len(pictures) == 1
    assert pictures == mite_years(it.outfit, shipped(), it.today)
