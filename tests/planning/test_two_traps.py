"""Two short frames hung in winter: the case that this project must get right in every detail.

A colony in two deep boxes. On 13 February two medium frames were hung in it, meant for the second slot from either end;
the second hangs a slot too far in. The keeper has no fixed day. No other method is in the way.

The numbers are those of the shipped rules (``methods/trap_comb_cut.yaml``, ``biology.yaml``, the region's file): drone
rearing begins 20 April ± 10 d; a frame is laid in 1..3..7 d after it was hung or emptied, and filled 3..7..10 d later;
drone brood is capped at 9..10..10 d and emerges at 24..24..25 d; half of the comb is capped 11..14..16 d after the
first egg. ``test_the_numbers_of_this_page`` fails first where one of them changes.
"""

from __future__ import annotations

import pytest
from planning.yards import ahead, colony, line, lines, on, outfit, plan, rules, short, told, yard

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.plan.tasks import Answer, Task
from ipmcal.model.rules.methods import Act
from ipmcal.model.values.days import Span
from ipmcal.planning.plan import season_of

HUNG = ("02-13 trap_hung T1 2", "02-13 trap_hung T2 8")
OTHERS = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def winter_yard(*more: str, weekdays: tuple[int, ...] | None = None) -> Yard:
    """The yard with what was written so far."""
    hive = colony("1", traps=(short("T1", home=2), short("T2", home=9)), history=lines(*HUNG, *more))
    return yard(hive, weekdays=weekdays, declined=OTHERS)


def task(made: Plan, trap: str, step: str) -> Task:
    """A task by its trap frame and ``step/n``."""
    return made.task(f"1.{trap}/trap_comb_cut/2027/{step}")


def window(found: Task) -> list[str]:
    """Opens, best, and the last good day."""
    assert found.window.hard_stop is not None
    assert found.window.closes == found.window.hard_stop
    return [told(day) for day in (found.window.opens, found.window.best, found.window.hard_stop)]


def answer(found: Task, finding: str, day: str) -> Answer:
    """The answer to a finding on a day."""
    return next(a for a in found.answers if a.finding == finding and told(a.day) == day)


def back(one: Answer) -> tuple[Act, str, str, str]:
    """What an answer means: the act, the days on which to be back, and CUT BY."""
    assert one.back_from is not None
    assert one.back_by is not None
    assert one.cut_by is not None
    return one.act, told(one.back_from), told(one.back_by), told(one.cut_by)


def test_the_numbers_of_this_page() -> None:
    method, drone = rules().methods["trap_comb_cut"], rules().biology.castes.drone
    lags = {name: one.lag.value for name, days in method.clock.items() for one in days[:1] if one.lag}
    assert lags == {"first_egg": Span(1, 3, 7), "last_egg": Span(3, 7, 10), "half_capped": Span(11, 14, 16)}
    assert (drone.capped.value, drone.emerges.value) == (Span(9, 10, 10), Span(24, 24, 25))
    season = season_of(winter_yard(), rules(), on("04-01"), 2027)
    assert season.marks["drone_rearing_start"].begins == Span(on("04-10"), on("04-20"), on("04-30"))
    assert season.marks["drone_rearing_end"].begins.usual == on("07-15")


# Before the first visit ----------------------------------------------------------------------------------------------


def test_a_frame_hung_in_winter_starts_no_clock_before_drones_are_reared() -> None:
    """Nothing is to be done before the early edge of drone rearing, 10 April."""
    made = plan(winter_yard(), "02-14")
    assert all(t.planned is not None and t.planned >= on("04-10") for t in ahead(made))
    assert all(visit.day >= on("04-10") for visit in made.visits)


def test_the_first_look_comes_by_the_early_edge_plus_23_days() -> None:
    """First egg 10 April at the earliest, drones from day 24, 4 May: the last good day is 3 May, 23 days after it.

    Half capped is usual on 20 April + 14 = 4 May, which is too late: so it is a look. Useful from 10 April + 11 =
    21 April; best on the last good day. 3 May is held back for rain, so the visit is on the day before.
    """
    made = plan(winter_yard(), "02-14")
    for trap in ("T1", "T2"):
        look = task(made, trap, "cut/1")
        assert look.look
        assert window(look) == ["04-21", "05-03", "05-03"]
        assert look.window.hard_stop == on("04-10") + 23
        assert (told(look.planned or 0), told(look.rain_date or 0)) == ("05-02", "05-03")
        assert "look" in look.do


def test_the_reason_for_the_look_is_a_look() -> None:
    look = task(plan(winter_yard(), "02-14"), "T1", "cut/1")
    assert look.window.why_opens.rule is Rule.LOOK
    assert look.window.why_closes.rule is Rule.LAST_GOOD_DAY


def test_the_wrong_slot_is_said_once_and_only_of_the_frame_that_hangs_in_it() -> None:
    made = plan(winter_yard(), "02-14")
    notes = {t.id: [note for note in t.notes if "slot" in note] for t in made.tasks}
    said = {task_id: note for task_id, note in notes.items() if note}
    assert said == {"1.T2/trap_comb_cut/2027/cut/1": ["It hangs in slot 8: hang it in slot 9."]}
    traps = {view.name: (view.slot, view.home) for view in made.yards[0].colonies[0].traps}
    assert traps == {"T1": (2, 2), "T2": (8, 9)}


def test_moved_to_its_slot_nothing_more_is_said() -> None:
    made = plan(winter_yard("03-20 trap_moved T2 9"), "03-21")
    assert not [note for t in made.tasks for note in t.notes if "slot" in note]
    assert window(task(made, "T2", "cut/1")) == ["04-21", "05-03", "05-03"], "the slot is no part of the clock"


# What the sheet of 2 May says beforehand ------------------------------------------------------------------------------

# Cut (or cut late) on 2 May: new first egg 3..5..9 May; half capped 5 + 14 = 19 May; drones from 3 + 24 = 27 May, so
# CUT BY 26 May. Void (honey, worker comb, nothing): the frame is empty from that day on, so the same days.
# All open on 2 May: the first cell is capped on 3 May or later, so its egg is of 3 - 10 = 23 April or later, which is
# after the rule's 20 April: half capped 23 April + 14 = 7 May; drones from 23 April + 24 = 17 May, so CUT BY 16 May.
ANSWERS = {
    "all_capped": (Act.CLOSE, "05-19", "05-26"),
    "part_capped": (Act.CLOSE, "05-19", "05-26"),
    "all_open": (Act.WAIT, "05-07", "05-16"),
    "emerging": (Act.LATE, "05-19", "05-26"),
    "honey": (Act.VOID, "05-19", "05-26"),
    "worker": (Act.VOID, "05-19", "05-26"),
    "nothing": (Act.VOID, "05-19", "05-26"),
}
# On the rain date, 3 May, each of these days is one later.
RAIN = {
    "all_capped": (Act.CLOSE, "05-20", "05-27"),
    "part_capped": (Act.CLOSE, "05-20", "05-27"),
    "all_open": (Act.WAIT, "05-08", "05-17"),
    "emerging": (Act.LATE, "05-20", "05-27"),
    "honey": (Act.VOID, "05-20", "05-27"),
    "worker": (Act.VOID, "05-20", "05-27"),
    "nothing": (Act.VOID, "05-20", "05-27"),
}


@pytest.mark.parametrize("trap", ["T1", "T2"])
@pytest.mark.parametrize(("day", "expected"), [("05-02", ANSWERS), ("05-03", RAIN)])
def test_the_sheet_answers_every_finding_for_the_visit_and_for_its_rain_date(
    trap: str, day: str, expected: dict[str, tuple[Act, str, str]]
) -> None:
    look = task(plan(winter_yard(), "02-14"), trap, "cut/1")
    for finding, (act, first, last) in expected.items():
        one = answer(look, finding, day)
        assert back(one) == (act, first, last, last), finding
        assert one.back_on is None, "a keeper without fixed days gets a range"
        assert not one.forced


# The first visit, 1 May: T1 is full of capped drone comb, T2 all open -------------------------------------------------


def test_both_cut_that_day_run_on_the_same_clock() -> None:
    """Cut on 1 May: first egg 2..4..8 May. Half capped 4 + 14 = 18, all capped 4 + 7 + 10 = 21, drones from 2 + 24."""
    cut = ("05-01 found T1 all_capped", "05-01 trap_cut T1", "05-01 found T2 all_open", "05-01 trap_cut T2")
    made = plan(winter_yard(*cut), "05-02")
    for trap in ("T1", "T2"):
        assert window(task(made, trap, "cut/2")) == ["05-18", "05-21", "05-25"]
        assert not task(made, trap, "cut/2").look
    assert not [t for t in ahead(made) if t.id.endswith("cut/1")], "the first cycle is closed"


def left_open() -> Yard:
    return winter_yard("05-01 found T1 all_capped", "05-01 trap_cut T1", "05-01 found T2 all_open")


def test_the_open_one_left_runs_on_a_clock_of_its_own() -> None:
    """All open on 1 May: the first cell is capped on 2 May or later, so its egg is of 22 April or later.

    Opens: half capped, 22 April + 14 = 6 May. Best: all capped, 22 April + 7 + 10 = 9 May. Drones from 22 April + 24 =
    16 May, so the last good day is 15 May, 14 days after it was seen open. T1, cut on 1 May, is due 18 to 25 May.
    """
    made = plan(left_open(), "05-02")
    assert window(task(made, "T2", "cut/1")) == ["05-06", "05-09", "05-15"]
    assert window(task(made, "T1", "cut/2")) == ["05-18", "05-21", "05-25"]
    assert task(made, "T2", "cut/1").planned != task(made, "T1", "cut/2").planned


def test_the_open_one_left_is_asked_for_again_and_the_slot_said_again() -> None:
    again = task(plan(left_open(), "05-02"), "T2", "cut/1")
    assert again.do == "Trap T2: look, then cut or leave"
    assert "It hangs in slot 8: hang it in slot 9." in again.notes


def test_the_days_of_the_open_one_rest_on_the_line_that_says_so() -> None:
    def told_by(found: Task) -> list[str]:
        todo, notes = [found.window.why_opens, found.window.why_closes], []
        while todo:
            reason = todo.pop()
            todo.extend(reason.under)
            if reason.rule is Rule.EVENT:
                notes.append(reason.note)
        return sorted(set(notes))

    made = plan(left_open(), "05-02")
    assert told_by(task(made, "T2", "cut/1")) == ["found T2 all_open (yard.yaml:5)", "trap_hung T2 8 (yard.yaml:2)"]
    assert told_by(task(made, "T1", "cut/2")) == ["trap_cut T1 (yard.yaml:4)"]


def test_hung_on_one_day_each_frame_still_cites_its_own_line() -> None:
    made = plan(winter_yard(), "02-14")
    for trap, expected in (("T1", "trap_hung T1 2 (yard.yaml:1)"), ("T2", "trap_hung T2 8 (yard.yaml:2)")):
        reason = task(made, trap, "cut/1").window.why_closes
        notes = set()
        todo = [reason]
        while todo:
            one = todo.pop()
            todo.extend(one.under)
            notes.add(one.note)
        assert expected in notes


def test_seen_open_a_second_time_the_last_good_day_moves_again() -> None:
    """All open on 8 May too: capped on 9 May or later, egg of 29 April or later, drones from 23 May: CUT BY 22 May."""
    made = plan(winter_yard("05-01 found T2 all_open", "05-08 found T2 all_open"), "05-09")
    assert window(task(made, "T2", "cut/1"))[2] == "05-22"


def test_a_saturday_keeper_comes_back_for_the_open_one_on_the_saturday_in_time() -> None:
    """From 6 to 15 May lie Saturday 8 and Saturday 15: the last is held back for rain."""
    hive = colony("1", traps=(short("T1", home=2), short("T2", home=9)), history=lines(*HUNG))
    lines_ = lines("05-01 found T1 all_capped", "05-01 trap_cut T1", "05-01 found T2 all_open")
    made = plan(outfit(yard(hive, declined=OTHERS), journal=lines_), "05-02")
    again = task(made, "T2", "cut/1")
    assert (told(again.planned or 0), told(again.rain_date or 0)) == ("05-08", "05-15")
    assert task(made, "T1", "cut/2").planned == on("05-22"), "18 to 25 May holds one Saturday"


def test_answers_for_fixed_days_name_the_day() -> None:
    """From 21 April to 3 May lie Saturday 24 April and Saturday 1 May: the last is held back for rain.

    All open on 24 April: the egg is of 25 April - 10 = 15 April or later, drones from 9 May, CUT BY 8 May, a Saturday;
    half capped is usual on 20 April + 14 = 4 May. On 1 May: back from 6 to 15 May, of 8 and 15 the nearer to the best
    day (9 May). Cut on 24 April: first egg 25 to 27 April, so from 27 April + 14 = 11 May to 25 April + 23 = 18 May,
    with Saturday 15 May in it. Cut on 1 May: from 18 to 25 May, with Saturday 22 May in it.
    """
    look = task(plan(winter_yard(weekdays=(5,)), "02-14"), "T1", "cut/1")
    assert (told(look.planned or 0), told(look.rain_date or 0)) == ("04-24", "05-01")

    def said(finding: str, day: str) -> tuple[Act, str, str]:
        one = answer(look, finding, day)
        return one.act, told(one.back_on or 0), told(one.cut_by or 0)

    assert said("all_open", "04-24") == (Act.WAIT, "05-08", "05-08")
    assert said("all_open", "05-01") == (Act.WAIT, "05-08", "05-15")
    assert said("all_capped", "04-24") == (Act.CLOSE, "05-15", "05-18")
    assert said("all_capped", "05-01") == (Act.CLOSE, "05-22", "05-25")


# To the end of the season ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "more",
    [(), ("05-01 found T1 all_capped", "05-01 trap_cut T1", "05-01 found T2 all_open")],
    ids=["before the first visit", "one left open"],
)
def test_trapping_ends_with_a_last_cut_and_the_frame_out(more: tuple[str, ...]) -> None:
    """The last comb is begun by 15 July - 24 d = 21 June; the one after it is cut with the frame, which stays out."""
    made = plan(winter_yard(*more), "05-02" if more else "02-14")
    for trap in ("T1", "T2"):
        mine = sorted((t for t in ahead(made) if t.trap == trap), key=lambda t: t.planned or 0)
        assert [t.step for t in mine[:-1]] == ["cut"] * (len(mine) - 1)
        assert (mine[-1].step, mine[-1].logs) == ("take_out", "trap_out")
        assert mine[-1].do == f"Trap {trap}: cut the last comb, take the frame out"
        assert all(t.window.opens <= on("06-21") for t in mine[:-1])
        assert mine[-1].window.opens > on("06-21")
        assert mine[-1].window.hard_stop is not None


def test_taken_out_it_is_not_hung_again_this_season() -> None:
    made = plan(outfit(winter_yard(), journal=[line("05-01 trap_out T1"), line("05-01 trap_cut T2")]), "05-02")
    assert {t.trap for t in ahead(made)} == {"T2"}


def test_the_same_day_with_the_lines_in_a_journal_gives_the_same_dates() -> None:
    """Whether lines stand in the yard's file or in the journal is no part of the clock."""
    told_lines = lines("05-01 found T1 all_capped", "05-01 trap_cut T1", "05-01 found T2 all_open")
    written = plan(outfit(winter_yard(), journal=told_lines), "05-02")
    in_file = plan(left_open(), "05-02")
    assert [(t.id, t.planned, t.window.closes) for t in ahead(written)] == [
        (t.id, t.planned, t.window.closes) for t in ahead(in_file)
    ]


# Hung late -----------------------------------------------------------------------------------------------------------


def test_a_frame_that_nobody_hung_in_time_is_hung_late_while_two_broods_of_drones_are_to_come() -> None:
    """Two broods, 24 days each, before drones are reared no more (from memory: less is not worth a frame)."""
    there = yard(colony("1", traps=(short("T1", home=2),)), declined=OTHERS)
    window_ = plan(there, "01-01").task("1.T1/trap_comb_cut/2027/hang/1").window
    end = season_of(there, rules(), on("01-01"), 2027).marks["drone_rearing_end"].begins.usual
    late = plan(outfit(there, journal=()), told(window_.closes + 7))
    hung = late.task("1.T1/trap_comb_cut/2027/hang/1")
    assert hung.planned is not None
    assert window_.closes < hung.planned <= end - 48
    assert [t for t in ahead(late) if t.logs == "trap_cut"], "and is cut"
    assert plan(outfit(there, journal=()), told(end - 47)).refusals
