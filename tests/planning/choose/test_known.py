"""Known: what a label may ask about, out of what a keeper wrote; and what a yard needs in its season."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from planning.yards import colony, line, on, outfit, shipped, told, yard

from ipmcal.model.outfit.outfit import Event
from ipmcal.planning.choose.wants import Want, begin_days, needs_of
from ipmcal.planning.labels.standing import CourseSpell, Standing, Stay
from ipmcal.planning.options import options_for, standings
from ipmcal.planning.plan import season_of


def stand(*journal: str, as_of: str = "07-15", region: str = "us_northeast", **hive: object) -> Standing:
    """The standing of a lone colony, by the lines of its journal."""
    there = yard(colony(**hive), region=region)  # type: ignore[arg-type]
    events: Sequence[Event] = [line(text) for text in journal]
    (only,) = standings(outfit(there, journal=events), there, shipped(), on(as_of))
    return only.standing


def none_capped(at: Standing) -> list[tuple[str, str]]:
    return [(told(s.first), told(s.last) if s.last else "open") for s in at.brood if s.state == "none"]


# Brood ----------------------------------------------------------------------------------------------------------------


def test_a_caged_queen_leaves_nothing_capped_after_25_days_and_as_long_as_she_is_caged() -> None:
    """BEEBOOK (Dietemann et al. 2013): the last drone is out 25 days after the last egg."""
    assert none_capped(stand("07-01 caged", as_of="07-02")) == [("07-26", "open")]


def test_once_she_is_out_the_break_lasts_until_a_first_cell_could_be_capped() -> None:
    """Eggs 2 days after her release (a lecture on caging), capped 8 days after laying at the earliest."""
    assert none_capped(stand("07-01 caged", "07-26 released", as_of="07-27")) == [("07-26", "08-04")]


def test_a_queen_let_out_too_soon_leaves_no_such_day() -> None:
    assert none_capped(stand("07-01 caged", "07-10 released", as_of="07-12")) == []


def test_a_split_left_to_raise_a_queen_has_its_day_at_about_day_30() -> None:
    """Colorado State University extension: oxalic acid on day 30; eggs may be there before, so that one looks first."""
    (window,) = [s for s in stand("05-01 dequeened", as_of="05-02").brood if s.pays]
    assert told(window.first) == "05-26"  # the last drone is out
    assert window.first <= on("05-31") <= (window.last or 0)
    assert window.state == "unknown"
    assert "look for eggs first" in window.why


def test_a_swarm_leaves_cells_that_are_capped_and_their_queen_lays_in_her_time() -> None:
    """Cells are capped when a swarm leaves: the virgin emerges 15..17 d - 7..9 d of a queen's age later, 6 to 10 days.

    She is mature 5 to 10 days after, lays 2 to 5 days after mating, and a worker is capped 8 to 9 days after laying, as
    ``rules/biology.yaml`` cites it: 22 May + 25 d = 16 June at the latest for eggs, capped from 24 or 25 June on.
    """
    pays, perhaps = [s for s in stand("05-22 swarmed", as_of="05-23").brood if "swarmed" in s.why]
    assert (pays.state, told(pays.first), told(pays.last or 0)) == ("unknown", "06-16", "06-23")
    assert (perhaps.state, told(perhaps.first), told(perhaps.last or 0)) == ("unknown", "06-11", "06-24")


def test_a_package_has_nothing_capped_until_its_first_cells() -> None:
    assert none_capped(stand(began="2027-05-01", kind="package", as_of="05-02")) == [("05-01", "05-10")]


def test_a_broodless_hive_that_was_opened_has_eight_days() -> None:
    assert none_capped(stand("12-04 broodless", as_of="12-05")) == [("12-04", "12-12")]


def test_winter_is_looked_at_and_never_dated() -> None:
    unknown = [s for s in stand().brood if s.state == "unknown"]
    assert unknown
    assert all("found, not dated" in s.why for s in unknown)


def test_where_winters_are_rarely_broodless_there_is_no_such_spell() -> None:
    assert stand(region="us_florida").brood == ()


# Supers, courses, the hive --------------------------------------------------------------------------------------------


def test_supers_on_stay_until_the_day_on_which_they_are_usually_taken_off() -> None:
    at = stand("05-08 supers_on 1")
    assert at.supers[0] == Stay(on("05-08"), on("09-15"))


def test_supers_taken_off_are_off_until_next_spring() -> None:
    at = stand("05-08 supers_on 1", "07-10 supers_off")
    assert [(s.planned, s.on > on("12-31")) for s in at.supers] == [(True, True)]


def test_supers_that_nobody_put_on_are_planned_where_a_method_puts_them_on() -> None:
    assert stand(as_of="03-01").supers[0] == Stay(on("05-10"), on("09-15"), planned=True, due=on("05-31"))


def test_strips_in_the_hive_end_on_the_best_day_of_their_label_while_that_is_ahead() -> None:
    at = stand("06-20 strips_in amitraz_strip 2 lot K1 by AB")
    assert at.courses == (CourseSpell("amitraz_strip", "amidine", on("06-20"), on("08-01")),)
    overdue = stand("03-20 strips_in amitraz_strip 2 lot K1 by AB")
    assert overdue.courses[0].ended == on("07-17"), "owed at once, on the keeper's next Saturday"


def test_the_keepers_own_name_of_a_product_is_its_treatment() -> None:
    there = yard(colony())
    mine = replace(
        outfit(there, journal=[line("06-20 strips_in blue_ones 2 lot K1 by AB")]),
        products={"blue_ones": "amitraz_strip"},
    )
    (only,) = standings(mine, there, shipped(), on("07-15"))
    assert only.standing.courses[0].treatment == "amitraz_strip"


def test_small_entrances_and_open_floors_are_known_from_the_journal() -> None:
    there = yard(colony())
    lines = [line("07-01 entrances_small", colony=None), line("05-01 floor_opened")]
    (only,) = standings(outfit(there, journal=lines), there, shipped(), on("07-15"))
    assert (only.standing.entrance, only.standing.entrance_since) == ("small", on("07-01"))
    assert (only.standing.floor, only.standing.floor_since) == ("open", on("05-01"))


def test_a_winter_counts_as_one_year() -> None:
    at = stand()
    assert any(first <= on("2026-12-10") and on("01-20") <= last for first, last in at.years)


@pytest.mark.parametrize(
    ("region", "as_of", "begins"), [("us_northeast", "2027-07-15", "01-01"), ("nz_north_island", "2027-07-15", "07-01")]
)
def test_a_cap_a_year_counts_by_season_each_day_in_one_of_them(region: str, as_of: str, begins: str) -> None:
    """The season before, this one and the next, with no day between them; the winters stand behind."""
    before, this, then = stand(as_of=as_of, region=region).years[:3]
    assert [first for first, _ in (before, this, then)] == [on(f"{year}-{begins}") for year in (2026, 2027, 2028)]
    assert (before[1] + 1, this[1] + 1, then[1] + 1) == (this[0], then[0], on(f"2029-{begins}"))


def test_what_was_not_yet_written_is_not_known() -> None:
    assert none_capped(stand("07-01 caged", as_of="06-30")) == []


# What a yard needs ----------------------------------------------------------------------------------------------------


def needs(*hives: tuple[str, Standing], as_of: str = "03-01", treat: Sequence[tuple[int, str]] = ()) -> dict[str, Want]:
    there = yard(colony())
    season = season_of(there, shipped(), on(as_of), 2027)
    return {n.name: n for n in needs_of(season, hives, shipped(), on(as_of), treat)}


def test_a_count_over_the_line_comes_first_and_is_answered_within_a_fortnight() -> None:
    found = needs(("1", Standing()), as_of="07-10", treat=[(on("07-10"), "5 mites in 300 bees")])
    assert next(iter(found)) == "counted"
    assert (found["counted"].first, found["counted"].last) == (on("07-10"), on("07-24"))


TREAT = ((on("07-10"), "5 mites in 300 bees"),)


def test_a_need_is_only_for_the_hives_that_no_course_has_served() -> None:
    treated = Standing(courses=(CourseSpell("amitraz_strip", "amidine", on("07-12"), on("08-23")),))
    found = needs(("1", treated), ("2", Standing()), as_of="07-12", treat=TREAT)
    assert found["counted"].colonies == ("2",)
    assert "counted" not in needs(("1", treated), as_of="07-12", treat=TREAT)


def test_a_need_whose_time_is_over_is_none() -> None:
    """A count over the line asks for a course within 14 days; while nothing was given, until it is 45 days old."""
    given = replace(Standing(), courses=(CourseSpell("formic_strips_pair", "formic", on("07-20"), on("07-27")),))
    for as_of, asked in (("07-24", True), ("07-25", False)):
        found = needs(("1", Standing()), ("2", given), as_of=as_of, treat=TREAT)
        assert ("counted" in found) is asked
    assert needs(("1", Standing()), as_of="08-10", treat=TREAT)["counted"].last == on("08-24")
    assert "counted" not in needs(("1", Standing()), as_of="08-25", treat=TREAT)


def test_supers_come_off_for_a_break_once_the_main_flow_is_over() -> None:
    for caged, let_out, may in (("05-15", "06-09", False), ("07-10", "08-04", True)):
        at = stand(f"{caged} caged", f"{let_out} released", as_of=let_out)
        assert needs(("1", at), as_of=let_out)["brood_break"].takes_supers is may


def test_a_written_break_is_a_need_of_the_hives_that_have_it() -> None:
    at = stand("07-01 caged", "07-26 released", as_of="07-27")
    found = needs(("1", at), ("2", Standing()), as_of="07-27")
    assert found["brood_break"].colonies == ("1",)
    assert (found["brood_break"].first, found["brood_break"].last) == (on("07-26"), on("08-04"))


def test_a_short_need_is_never_stepped_over_by_looking_at_a_day_a_week() -> None:
    long = Want("long", on("06-20"), on("08-20"), on("08-20"))
    short = Want("short", on("07-07"), on("07-08"), on("07-07"))
    days = begin_days(range(on("06-01"), on("09-30")), (long, short))
    assert on("07-07") in days
    assert days[:2] == (on("06-20"), on("06-27"))
    assert len(days) == 9 + 1
    saturdays = range(on("06-05"), on("09-30"), 7)
    assert begin_days(saturdays, (short,)) == ()


# Options --------------------------------------------------------------------------------------------------------------


def test_every_treatment_is_asked_for_every_colony_of_the_yard() -> None:
    there = yard(colony("1"), colony("2", supers=1))
    (made,) = options_for(outfit(there, journal=[]), shipped(), on("08-14"), on("08-14"))
    assert list(made.verdicts) == ["1", "2"]
    for verdicts in made.verdicts.values():
        assert [v.treatment for v in verdicts] == list(shipped().treatments)
    assert [
        list(one.verdicts) for one in options_for(outfit(there, journal=[]), shipped(), on("08-14"), on("08-14"), "2")
    ] == [["2"]]


@pytest.mark.parametrize("region", ["us_florida", "nz_north_island", "germany_central_europe"])
def test_every_treatment_has_an_answer_and_no_reason_falls_away_before_it_is_asked(region: str) -> None:
    there = yard(colony("1", strength=6), region=region)
    (made,) = options_for(outfit(there, journal=[]), shipped(), on("07-15"), on("07-15"))
    for verdict in made.verdicts["1"]:
        assert all(r.until is None or r.until > on("07-15") for r in verdict.reasons)
        assert verdict.reasons or verdict.holder


def test_what_lies_in_a_hive_is_out_by_its_last_good_day_as_the_sheet_says() -> None:
    """Formic strips: 14 days by their registrant, 21 at most by practice; both stand in the rule file."""
    (lying,) = stand("05-22 strips_in formic_strips_pair 2", as_of="06-06").courses
    assert told(lying.ended or 0) == "06-12"
    (late,) = stand("05-22 strips_in formic_strips_pair 2", as_of="06-14").courses
    assert (late.ended or 0) > on("06-14"), "at the next visit, where that day is over"
