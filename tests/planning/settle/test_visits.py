"""Visits: the tasks of a day at one yard, with what to bring, what can't wait, and when it rains."""

from __future__ import annotations

from datetime import date

import pytest
from planning.yards import colony, line, lines, on, outfit, own_task, plan, rules, short, told, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Visit

TRAPS_ONLY = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def visit(made: Plan, day: str) -> Visit:
    return next(v for v in made.visits if v.day == on(day))


def traps(count: int, **how: object) -> Plan:
    """Colonies whose trap was cut on 1 May; the plan as on 2 May."""
    hives = [
        colony(
            str(i), traps=(short(),), history=[line("02-13 trap_hung T1 2", str(i)), line("05-01 trap_cut T1", str(i))]
        )
        for i in range(1, count + 1)
    ]
    return plan(outfit(yard(*hives, declined=TRAPS_ONLY, **how), journal=()), "05-02")  # type: ignore[arg-type]


# When -----------------------------------------------------------------------------------------------------------------


def test_a_visit_is_known_by_its_yard_and_day() -> None:
    assert visit(traps(1), "05-22").id == "yard/2027-05-22"


def test_the_rain_date_is_the_keepers_next_day_that_still_meets_every_hard_stop() -> None:
    """CUT BY is 25 May: on Saturdays and Sundays 23 May is in time; on Saturdays alone there is none."""
    assert told(visit(traps(1, weekdays=(5, 6)), "05-22").rain_date or 0) == "05-23"
    assert visit(traps(1, weekdays=(5,)), "05-22").rain_date is None


def test_the_rain_date_is_not_a_day_away() -> None:
    made = traps(1, weekdays=None, away=[("05-23", "05-24")])
    first = made.visits[0]
    assert first.rain_date is not None
    assert told(first.rain_date) not in ("05-23", "05-24")


def test_where_there_is_no_hard_stop_the_next_day_of_the_keepers_is_the_rain_date() -> None:
    made = plan(yard(colony(), declined=("supers", "mite_count", "winter_preparation")))
    assert all(v.rain_date == v.day + 7 for v in made.visits)


def test_a_visit_may_be_moved_as_far_as_all_its_windows_go() -> None:
    """The count before winter bees alone: 16 July to 13 August."""
    alone = ("new_colony", "swarm_check", "swarm_check_clipped", "supers", "winter_preparation")
    made = plan(yard(colony(), declined=alone, weekdays=None), "07-01")
    first = made.visits[-2]
    assert [told(d) for d in (first.earliest, first.latest)] == ["07-16", "08-13"]


def test_a_visit_may_not_be_moved_so_that_the_next_comes_too_late_or_too_soon() -> None:
    """Cut on 21 May (18 to 25 May), then on 10 June (7 to 14 June).

    On 18 May the next would have to be cut by 18 + 24 = 11 June, on 17 May by 10 June; so 18 May will do. On 24 May the
    next would open on 24 + 17 = 10 June; on 25 May a day after it is planned.
    """
    made = traps(1, weekdays=None)
    first, second = made.visits[:2]
    assert (told(first.day), told(second.day)) == ("05-21", "06-10")
    assert (told(first.earliest), told(first.latest)) == ("05-18", "05-24")


def test_a_visit_can_not_be_moved_into_the_past() -> None:
    made = plan(outfit(yard(colony(), weekdays=None), journal=()), "07-20")
    assert all(v.earliest >= on("07-20") for v in made.visits)


# What to bring --------------------------------------------------------------------------------------------------------


def test_frames_are_counted_and_tools_are_not() -> None:
    hives = [colony(str(i), traps=(short(),)) for i in (1, 2, 3)]
    made = plan(yard(*hives, declined=TRAPS_ONLY))
    bring = {item.title: item.count for item in made.visits[0].bring}
    assert bring["short frame, marked"] == 3
    assert bring["hive tool, smoker, fuel"] == 0


def test_things_stand_by_load_in_the_order_of_planning_yaml() -> None:
    loads = list(rules().planning.loads.values())
    for one in traps(2).visits:
        places = [loads.index(item.load) for item in one.bring]
        assert places == sorted(places)
        assert len({item.title for item in one.bring}) == len(one.bring)


def test_for_a_task_of_the_yard_alone_no_hive_is_opened() -> None:
    made = plan(yard(colony(declined=TRAPS_ONLY), tasks=[own_task("mow", "05-01", "05-20")]), "04-30")
    (only,) = made.visits
    assert only.bring == ()
    assert only.minutes == int(rules().planning.minutes_per_visit.value.middle) + 10


def test_minutes_are_the_drive_in_each_hive_once_and_every_task() -> None:
    """15 min for the visit, 5 a hive, 2 for the box on it, 8 a cut (common practice): 15 + 2 * (5 + 2 + 8) = 45."""
    assert visit(traps(2), "05-22").minutes == 45


# What can't wait ------------------------------------------------------------------------------------------------------


def test_what_cannot_wait_is_whole_and_hard_stops_come_first() -> None:
    """The sheet joins what is alike into four lines at most; the plan leaves nothing out."""
    made = traps(6)
    first = visit(made, "05-22")
    assert len(first.must) == 6
    assert all(made.task(i).window.hard_stop is not None for i in first.must)


def test_the_nearer_hard_stop_comes_first() -> None:
    """Frame 1 was cut on 1 May (CUT BY 25 May), frame 2 on 3 May (27 May)."""
    hives = [
        colony("1", traps=(short(),), history=lines("02-13 trap_hung T1 2", "05-03 trap_cut T1", colony="1")),
        colony("2", traps=(short(),), history=lines("02-13 trap_hung T1 2", "05-01 trap_cut T1", colony="2")),
    ]
    made = plan(outfit(yard(*hives, declined=TRAPS_ONLY), journal=()), "05-04")
    assert visit(made, "05-22").must == ("2.T1/trap_comb_cut/2027/cut/2", "1.T1/trap_comb_cut/2027/cut/2")


def test_forced_by_names_the_task_that_left_no_later_day() -> None:
    made = plan(yard(colony(traps=(short(),), history=lines("02-13 trap_hung T1 2"))), "04-20")
    look = next(t for t in made.tasks if t.step == "cut" and t.n == 1)
    served = next(v for v in made.visits if look.id in v.tasks)
    assert served.forced_by == look.id


@pytest.mark.parametrize(("count", "fits"), [(1, 1), (2, 2), (6, 2)])
def test_in_half_an_hour_the_most_urgent_tasks_are_done(count: int, fits: int) -> None:
    """30 min; a cut costs 8 and opening its hive 5: two fit."""
    assert len(visit(traps(count), "05-22").short) == fits


def test_a_visit_with_only_one_long_task_still_has_a_short_form() -> None:
    made = plan(yard(colony(), declined=("swarm_check", "mite_count", "winter_preparation")))
    assert all(v.short for v in made.visits)


@pytest.mark.parametrize(("fahrenheit", "words"), [(False, "below 13 °C"), (True, "below 55 °F")])
def test_stop_says_the_cold_in_the_keepers_own_scale(fahrenheit: bool, words: str) -> None:
    from dataclasses import replace

    there = replace(yard(colony()), fahrenheit=fahrenheit)
    made = plan(there)
    stops = {v.stop_if for v in made.visits}
    assert any(words in stop for stop in stops)
    assert all(set(rules().planning.stop_if) <= set(stop) for stop in stops)


def test_nobody_is_sent_on_a_weekday_that_is_not_theirs() -> None:
    made = plan(yard(colony(), weekdays=(2, 6)))
    assert {date.fromordinal(v.day).weekday() for v in made.visits} <= {2, 6}
