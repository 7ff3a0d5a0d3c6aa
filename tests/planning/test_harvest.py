"""Harvest: the days that a yard file names bound supers and courses. In: small invented yards. Out: checks."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import SAT, SUN, YEAR, colony, days, lines, on, outfit, plan, season_begins, shipped, told, yard

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.forms import MonthDay
from ipmcal.planning.options import standings
from ipmcal.planning.recall.situate import harvested, season_of

HIVE = colony("1", "2025-06-01", strength=7)


def kept(harvest: str = "", wanted: str = "", program: str = "full", **more: object) -> Yard:
    """A yard in the north-east of the United States with days of its own for honey."""

    def day(text: str) -> MonthDay | None:
        return MonthDay(*map(int, text.split("-"))) if text else None

    there = yard(HIVE, program=program, **more)  # type: ignore[arg-type]
    return replace(there, harvest=day(harvest), supers_wanted=day(wanted))


def made(there: Yard, as_of: str = "03-01") -> Plan:
    return plan(there, as_of, book=shipped())


# Supers ---------------------------------------------------------------------------------------------------------------


def test_supers_are_off_by_the_harvest() -> None:
    """Extracting on Sunday 18 July: off on the Saturday before at the latest, not ten days before the region's day."""
    (off,) = [row for row in days(made(kept("07-18")), "supers") if "take_off" in row]
    assert "07-08" <= off[:5] <= "07-18"
    (usual,) = [row for row in days(made(kept()), "supers") if "take_off" in row]
    assert usual[:5] > "08-01"


def test_supers_wanted_back_go_on_about_then_and_come_off_again() -> None:
    back, off = days(made(kept("07-18", "09-05")), "supers_again")
    assert "put_back" in back
    assert "08-29" <= back[:5] <= "09-12"
    assert off[:5] >= told(on("09-05") + 14)


@pytest.mark.parametrize("program", ["full", "first_year", "few_drives"])
def test_without_a_day_for_it_nothing_comes_back_on(program: str) -> None:
    assert days(made(kept("07-18", program=program)), "supers_again") == []
    assert days(made(kept(program=program)), "supers_again") == []


@pytest.mark.parametrize(
    ("region", "harvest", "wanted", "program"),
    [
        ("scotland_north_england", "07-14", "08-07", "full"),
        ("au_nsw", "01-20", "02-10", "first_year"),
        ("us_northeast", "07-18", "08-10", "full"),
        ("germany_central_europe", "07-10", "08-01", "drones_spared"),
    ],
)
def test_a_course_leaves_supers_that_are_wanted_back_a_fortnight_or_keeps_them_off(
    region: str, harvest: str, wanted: str, program: str
) -> None:
    """Held by the invariants of every plan; a week of a flow is worth no carrying."""
    there = replace(
        kept(harvest, wanted, program, region=region, weekdays=(0, 3)),
        jurisdiction=shipped().regions[region].jurisdiction,
    )
    first = season_begins(region)
    assert plan(there, first, book=shipped()).visits


def test_a_later_flow_for_which_supers_are_wanted_is_kept_where_a_course_fits_before_it() -> None:
    """At the heather, supers back from 7 August: formic acid from 24 July, out on the 31st, no day of it lost."""
    there = replace(kept("07-14", "08-07", region="scotland_north_england"), jurisdiction="uk")
    of = made(there)
    back, off = days(of, "supers_again")
    assert "07-31" <= back[:5] <= "08-14"
    assert "off" in off
    assert off[:5] >= told(on("08-07") + 14)
    assert [
        t.planned for t in of.tasks if t.product and t.planned is not None and on("07-14") < t.planned < on("08-01")
    ]


@pytest.mark.parametrize(
    ("region", "harvest", "wanted"),
    [("canada_ontario", "07-25", "08-20"), ("england_south_midlands", "07-18", "09-05")],
)
def test_a_hive_is_fed_for_winter_once_its_supers_are_off_at_last(region: str, harvest: str, wanted: str) -> None:
    """Syrup given under supers ends in the honey: common practice."""
    there = kept(harvest, wanted, region=region, weekdays=(0, 3))
    of = made(replace(there, jurisdiction=shipped().regions[region].jurisdiction), "01-01")
    off = max(t.planned for t in of.tasks if t.logs == "supers_off" and t.planned is not None)
    fed = min(t.planned for t in of.tasks if t.logs == "winter_fed" and t.planned is not None)
    assert off <= fed, f"fed on {told(fed)}, supers off on {told(off)}"


def test_what_the_yard_file_names_is_a_mark_with_its_reason() -> None:
    season = season_of(kept("07-18", "09-05"), shipped(), on("03-01"), YEAR)
    assert [told(season.marks[name].begins.usual) for name in ("harvest", "supers_off", "supers_wanted")] == [
        "07-18", "07-18", "09-05",
    ]  # fmt: skip
    assert season.marks["supers_off"].why_begins.note == "07-18"


# Courses --------------------------------------------------------------------------------------------------------------


def test_labels_know_of_the_supers_that_come_back() -> None:
    there = kept("07-18", "09-05")
    (one,) = standings(outfit(there), there, shipped(), on("03-01"), YEAR)
    stays = [(told(s.on), s.off and told(s.off)) for s in one.standing.supers if s.on < on("2028-01-01")]
    assert sorted(stays) == [("05-10", "07-18"), ("09-04", told(on("09-05") + 28))]


def test_supers_put_back_as_written_stay_until_they_come_off_again() -> None:
    there = kept("07-18", "09-05")
    told_of = lines("05-15 supers_on 1", "07-17 supers_off", "09-04 supers_on 1")
    mine = Outfit("outfit", "Outfit", (there,), told_of)
    (one,) = standings(mine, there, shipped(), on("09-10"), YEAR)
    (now,) = [s for s in one.standing.supers if s.on <= on("09-10") and not s.planned]
    assert now.off is not None
    assert now.off > on("09-10")


@pytest.mark.parametrize(
    ("as_of", "journal", "owed"),
    [
        ("05-16", ["05-15 supers_on 1"], ["take_off", "put_back", "take_off_again"]),
        ("07-18", ["05-15 supers_on 1", "07-17 supers_off"], ["put_back", "take_off_again"]),
        ("07-25", ["05-15 supers_on 1", "07-24 supers_off"], ["put_back", "take_off_again"]),
        ("09-05", ["05-15 supers_on 1", "07-17 supers_off", "09-04 supers_on 1"], ["take_off_again"]),
        ("10-09", ["05-15 supers_on 1", "07-17 supers_off", "09-04 supers_on 1", "10-02 supers_off"], []),
        ("10-09", ["05-15 supers_on 1", "07-17 supers_off"], []),
    ],
    ids=["on", "off", "off a week late", "on again", "off again", "never on again"],
)
def test_a_line_is_of_the_flow_it_was_written_in(as_of: str, journal: list[str], owed: list[str]) -> None:
    """The supers of May are not those of September, nor are these the supers that came off in July."""
    mine = Outfit("outfit", "Outfit", (kept("07-18", "09-05"),), lines(*journal))
    tasks = [t for t in plan(mine, as_of, book=shipped()).tasks if t.method in ("supers", "supers_again")]
    assert [t.step for t in tasks if t.planned is not None] == owed
    done = [t.step for t in tasks if t.done is not None]
    assert done == ["put_on", "take_off", "put_back", "take_off_again"][: len(journal)]


@pytest.mark.parametrize("program", ["full", "acids_and_handwork", "few_drives", "trap_combs"])
def test_no_course_lies_under_supers_that_its_label_wants_off(program: str) -> None:
    """Held by the invariants of every plan (``check_plan``); here with supers back on in September."""
    assert made(kept("07-18", "09-05", program=program)).visits


def test_a_course_may_begin_once_the_honey_is_taken_though_the_flow_goes_on() -> None:
    """In the north-east of the United States the main flow usually runs to 15 July; taken by 20 June, what comes after
    is the bees'. Without a harvest nothing begins in it."""
    early = kept("06-20")
    season = season_of(early, shipped(), on("03-01"), YEAR)
    assert harvested(season, "flow_main") == (season.marks["flow_main"].begins.usual, on("06-20"))
    (one,) = standings(outfit(early), early, shipped(), on("03-01"), YEAR)
    assert (season.marks["flow_main"].begins.usual, on("06-20")) in one.standing.flows["main"]
    opens = [bound.anchor for bound in shipped().regions[early.region].base.rounds["late_summer"].opens]
    assert "season.flow_done" in opens


def test_a_flow_that_supers_are_wanted_back_in_is_harvested_to_its_end() -> None:
    season = season_of(kept("06-01", "06-20"), shipped(), on("03-01"), YEAR)
    flow = season.marks["flow_main"]
    assert flow.ends is not None
    assert harvested(season, "flow_main") == (flow.begins.usual, flow.ends.usual)


def test_a_flow_after_the_harvest_is_not_harvested() -> None:
    season = season_of(kept("05-20"), shipped(), on("03-01"), YEAR)
    assert season.marks["flow_main"].begins.usual > on("05-20")
    assert harvested(season, "flow_main") is None


def test_late_summer_begins_sooner_where_the_honey_is_off_sooner() -> None:
    """Southern England: the main flow usually runs to 31 July, and nobody waits for it who extracted on the 18th."""

    def begins(harvest: str) -> str:
        there = replace(kept(harvest, region="england_south_midlands"), jurisdiction="uk")
        courses = [t for t in made(there).tasks if t.product and t.planned is not None and t.planned < on("10-01")]
        return min(told(t.planned) for t in courses if t.planned is not None)

    assert "07-18" < begins("07-18") < "08-01" <= begins("")


@pytest.mark.parametrize(
    ("journal", "owed"),
    [
        (["05-15 supers_on 1", "06-12 supers_off"], ["back_on", "off_at_last"]),
        (["05-15 supers_on 1", "06-12 supers_off", "06-19 supers_on 1"], ["off_at_last"]),
        (["05-15 supers_on 1"], ["take_off"]),
    ],
    ids=["off early", "on again", "on"],
)
def test_supers_that_came_off_in_the_flow_go_on_again_and_come_off_at_last(journal: list[str], owed: list[str]) -> None:
    mine = Outfit("outfit", "Outfit", (kept(),), lines(*journal))
    tasks = [t for t in plan(mine, "06-20", book=shipped()).tasks if t.method == "supers"]
    assert [t.step for t in tasks if t.planned is not None] == owed


def test_for_less_than_a_fortnight_of_flow_no_supers_go_back_on() -> None:
    """In the north-east the main flow usually ends on 15 July."""
    mine = Outfit("outfit", "Outfit", (kept(),), lines("05-15 supers_on 1", "07-08 supers_off"))
    tasks = [t for t in plan(mine, "07-09", book=shipped()).tasks if t.method == "supers"]
    assert [t.step for t in tasks if t.done is None] == []


def test_supers_that_a_course_took_off_stay_off_until_its_wait_is_over() -> None:
    """Over the line in the main flow: thymol wants supers off while it lies in the hive."""
    there = replace(kept(), treatments=("thymol_gel",))
    told_of = lines("05-15 supers_on 1", "06-05 count 30/300")
    made = plan(Outfit("outfit", "Outfit", (there,), told_of), "06-06", book=shipped())
    days = {t.step: t.planned for t in made.tasks if t.planned is not None and t.logs.startswith("supers")}
    out = max(t.planned or 0 for t in made.tasks if t.logs == "strips_out" and (t.planned or 0) < on("07-20"))
    assert days["take_off"] is not None
    assert days["take_off"] < out
    assert "back_on" not in days or (days["back_on"] or 0) >= out


# A clearer board ------------------------------------------------------------------------------------------------------


def test_a_clearer_board_has_a_visit_of_its_own_one_to_three_days_before() -> None:
    there = kept("07-18", "", "counting_only", weekdays=(SAT, SUN), added=("supers_by_board",))
    rows = {row.split()[1].partition("/")[0]: on(row[:5]) for row in days(made(there), "supers_by_board")}
    assert 1 <= rows["take_off"] - rows["board_on"] <= 3
    assert rows["take_off"] <= on("07-18") + 2


def test_who_comes_once_a_week_is_told_that_a_board_does_not_fit() -> None:
    """Saturdays are seven days apart, and bees are back above a board within three days."""
    plan_ = made(kept("07-18", "", "counting_only", added=("supers_by_board",)))
    assert [c.subject for c in plan_.conflicts if c.tasks and "supers_by_board" in c.tasks[0]]


# What it costs --------------------------------------------------------------------------------------------------------


def test_a_course_that_takes_supers_off_in_a_flow_says_what_it_costs() -> None:
    """Supers are on, a count is over the line in the main flow, and thymol wants them off."""
    there = replace(kept(), treatments=("thymol_gel",))
    told_of = lines("05-15 supers_on 1", "06-26 count 30/300")
    mine = Outfit("outfit", "Outfit", (there,), told_of)
    tasks = [t for t in plan(mine, "06-27", book=shipped()).tasks if t.planned is not None and t.logs == "supers_off"]
    assert tasks
    assert any("days of flow" in note for note in tasks[0].notes)


def test_a_course_that_is_over_before_the_flow_begins_costs_none_of_it() -> None:
    """Supers on in early April come off for seven days of formic acid, and are back on before the main flow."""
    there = replace(kept(), treatments=("formic_strips_pair",), jurisdiction="de")
    mine = Outfit("outfit", "Outfit", (there,), lines("04-03 supers_on 1", "04-17 count 30/300"))
    tasks = [t for t in plan(mine, "04-18", book=shipped()).tasks if t.planned is not None and t.logs == "supers_off"]
    assert tasks[0].planned == on("04-24")
    assert not any("days of flow" in note for note in tasks[0].notes)
