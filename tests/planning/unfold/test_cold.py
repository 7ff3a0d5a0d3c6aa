"""Counts where it is usually too cold to lift combs: a board goes in on one visit and is read on the next.

From 13 °C on combs may be lifted (Bee Craft, quick guide); the fall is read after three days to a week (UNAAPI, GDS).
Usual highs are those of Syracuse (NOAA, 1991-2020): 15.9 in October, 9.1 in November, 5.8 in March, 13.5 in April.
"""

from __future__ import annotations

from dataclasses import replace

from planning.invariants import check_plan
from planning.test_found import hive
from planning.yards import YEAR, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.planning.plan import make_plan

AUTUMN = ("08-01 count 1/300", "09-25 count 0/300")
FAILED_LATE, FAILED = (*AUTUMN, "10-23 count 1/50"), (*AUTUMN, "10-03 count 1/50")
"""Too few bees to judge by: one more count is asked for."""


def made(one: Colony, as_of: str, highs: dict[str, float] | None = None) -> Plan:
    there = replace(
        yard(one, weekdays=(5,), program="counting_only"),
        readings={on(day): (high, high - 9) for day, high in (highs or {}).items()},
    )
    kept = outfit(there, journal=())
    found = make_plan(kept, shipped(), on(as_of), YEAR)
    check_plan(found, kept, shipped())
    return found


def mites(of: Plan) -> list[Task]:
    return [t for t in of.tasks if t.planned is not None and t.logs in ("count", "board_in", "drop")]


def test_no_late_wash_in_november_but_a_board_that_goes_in_on_a_visit_before() -> None:
    of = made(hive("1", *FAILED_LATE), "10-25")
    put_in, read = mites(of)
    assert (put_in.id, read.id) == ("1/cold_count/2027/put_in/1", "1/cold_count/2027/read/1")
    assert put_in.planned is not None
    assert read.planned is not None
    assert 3 <= read.planned - put_in.planned <= 14
    assert read.window.opens == put_in.planned + 3, "it counts from its own board"
    told = "In place of 'Mite count: nurse bees from a brood frame': days are usually too cold by then to lift combs."
    assert told in put_in.notes
    assert [v.stop_if for v in of.visits if v.day == put_in.planned] == [("rain", "robbing")], "no comb is lifted"


def test_a_forecast_of_warm_days_brings_the_wash_back() -> None:
    warm = {f"10-{day}": 18.0 for day in range(25, 32)}
    assert mites(made(hive("1", *FAILED_LATE), "10-25", warm))[0].logs == "count"


def test_a_forecast_of_cold_days_takes_it_away() -> None:
    """Saturdays: 9, 16 and 23 October, with 18 to 14 °C as usual."""
    assert mites(made(hive("1", *FAILED), "10-06"))[0].logs == "count"
    cold = {f"10-{day:02}": 8.0 for day in range(6, 32)}
    assert mites(made(hive("1", *FAILED), "10-06", cold))[0].logs == "board_in"


def test_a_board_that_was_put_in_is_read_and_then_the_count_is_made() -> None:
    put_in = made(hive("1", *AUTUMN, "10-30 board_in"), "10-31")
    assert put_in.task("1/cold_count/2027/put_in/1").status is Status.DONE
    (read,) = mites(put_in)
    assert (read.id, read.window.opens) == ("1/cold_count/2027/read/1", on("10-30") + 3)
    done = made(hive("1", *AUTUMN, "10-30 board_in", "11-06 drop 4/7"), "11-07")
    assert mites(done) == []
    assert done.task("1/cold_count/2027/read/1").status is Status.DONE


def test_every_sheet_with_a_wash_says_from_which_warmth_on() -> None:
    """Also where the count is asked for, or follows a course."""
    of = made(hive("1", "06-01 count 9/300", "06-05 crippled_wings"), "06-06")
    washed = {t.planned for t in of.tasks if t.logs == "count"}
    assert washed
    assert {v.stop_if[0] for v in of.visits if v.day in washed} == {"below 13 °C"}


def test_in_early_spring_a_wash_waits_for_the_first_warm_weeks() -> None:
    spring = made(hive("1"), "03-01").task("1/mite_count/2027/regular/1")
    assert spring.planned is not None
    assert spring.planned >= on("04-10"), "13.5 °C are usual by the middle of April"
