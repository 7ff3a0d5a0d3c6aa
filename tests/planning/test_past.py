"""What became of steps: done, missed, not in the journal, each with the window that it had."""

from __future__ import annotations

import pytest
from planning.yards import (
    colony,
    days,
    drawn,
    kept_as_planned,
    line,
    lines,
    on,
    outfit,
    own_task,
    plan,
    remaining,
    short,
    statuses,
    told,
    yard,
)

from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task


def after(as_of: str, *texts: str, of: Colony | None = None) -> Plan:
    return plan(outfit(yard(of or colony()), journal=lines(*texts)), as_of)


def window(task: Task) -> tuple[str, str]:
    return told(task.window.opens), told(task.window.closes)


SPRING, SUMMER = "1/mite_count/2027/spring/1", "1/mite_count/2027/early_summer/1"


def test_what_is_in_the_journal_is_done_on_its_day_in_the_window_that_was_planned() -> None:
    before = after("01-01").task(SPRING)
    done = after("06-20", "05-08 count 1/300").task(SPRING)
    assert (done.status, done.done, done.planned) == (Status.DONE, on("05-08"), None)
    assert window(done) == window(before)


def test_what_is_not_in_the_journal_is_asked_for_and_neither_done_nor_missed() -> None:
    gone = after("06-20").task(SPRING)
    assert (gone.status, gone.done, gone.planned) == (Status.UNKNOWN, None, None)
    assert window(gone) == window(after("01-01").task(SPRING))


def test_what_the_journal_says_was_not_done_is_missed() -> None:
    gone = after("06-20", "05-08 skipped mite_count/spring/1").task(SPRING)
    assert (gone.status, gone.done) == (Status.MISSED, None)


def test_crossed_out_while_there_is_time_it_stays_planned() -> None:
    still = after("05-09", "05-08 skipped mite_count/spring/1").task(SPRING)
    assert still.status is Status.PLANNED


def test_another_steps_cross_says_nothing_of_this_one() -> None:
    assert after("06-20", "05-08 skipped mite_count/early_summer/1").task(SPRING).status is Status.UNKNOWN


def test_without_a_journal_and_a_plan_before_nothing_is_known_of_the_past() -> None:
    """What our own plan printed is in test_memory.py."""
    made = plan(outfit(yard(colony())), "06-20")
    assert made.task(SPRING).status is Status.UNKNOWN
    assert any("Nothing is known" in note for note in made.notes)


def test_a_step_written_down_late_answers_what_was_asked_for() -> None:
    assert statuses(after("06-20"))[SPRING] is Status.UNKNOWN
    assert statuses(after("06-20", "05-08 count 1/300"))[SPRING] is Status.DONE


def test_a_colony_that_began_later_is_not_asked_for_what_was_before_it() -> None:
    made = after("08-01", of=colony("1", "2027-07-10", "nucleus"))
    assert SPRING not in statuses(made)


def test_a_step_whose_time_went_by_while_nobody_could_come_is_still_owed() -> None:
    away = yard(colony(), away=[("2027-03-01", "2027-06-08")])
    made = plan(outfit(away, journal=()), "06-09")
    assert made.task(SPRING).status is Status.PLANNED


def test_a_repeated_step_that_nobody_did_is_asked_for_when_its_season_is_over() -> None:
    """Swarm checks repeat; the first one open is asked for, and not dropped without a word."""
    of = colony("1")
    planned = [t.id for t in after("01-01", of=of).tasks if t.method == "swarm_check"]
    assert planned
    gone = [t for t in after("08-15", of=of).tasks if t.method == "swarm_check"]
    assert [(t.id, t.status) for t in gone] == [(planned[0], Status.UNKNOWN)]


def test_a_repeated_step_that_was_done_to_the_end_asks_for_nothing() -> None:
    kept = outfit(yard(colony()), journal=())
    first = plan(kept, "01-01")
    made = plan(outfit(yard(colony()), journal=kept_as_planned(first, on("09-01"))), "09-01")
    assert {t.status for t in made.tasks if t.method == "swarm_check"} == {Status.DONE}


def test_supers_put_on_and_taken_off_are_both_done() -> None:
    made = after("10-10", "05-15 supers_on 1", "09-11 supers_off")
    mine = {t.step: (t.status, told(t.done or 0)) for t in made.tasks if t.method == "supers"}
    assert mine == {"put_on": (Status.DONE, "05-15"), "take_off": (Status.DONE, "09-11")}


def test_supers_on_off_and_on_again_before_their_time_ask_for_nothing_that_is_still_to_come() -> None:
    """Written for one day of January: they are on, and come off in their time; none was to go on before May."""
    made = after("01-03", "01-02 supers_on 1", "01-02 supers_off", "01-02 supers_on 1")
    found = {name: state for name, state in statuses(made).items() if "/supers/" in name}
    assert found["1/supers/2027/take_off/1"] is Status.PLANNED
    assert Status.UNKNOWN not in found.values()


def test_own_tasks_are_done_by_name_and_asked_for_else() -> None:
    there = yard(colony(), tasks=[own_task("mow", "2027-05-01", "2027-05-31")])
    done = plan(outfit(there, journal=[line("05-08 done mow", None)]), "06-20")
    asked = plan(outfit(there, journal=[line("05-08 done paint", None)]), "06-20")
    skipped = plan(outfit(there, journal=[line("05-08 skipped own/mow/1", None)]), "06-20")
    key = "@yard/own/2027/mow/1"
    assert [statuses(p)[key] for p in (done, asked, skipped)] == [Status.DONE, Status.UNKNOWN, Status.MISSED]


def test_supers_put_on_again_have_to_come_off_again() -> None:
    made = after("08-01", "05-15 supers_on 1", "07-01 supers_off", "07-10 supers_on 1")
    assert made.task("1/supers/2027/take_off/1").done == on("07-01")
    assert made.task("1/supers/2027/off_at_last/1").status is Status.PLANNED


# Trap frames ----------------------------------------------------------------------------------------------------------

HUNG = "04-10 trap_hung T1 2"


def trapped(as_of: str, *texts: str) -> Plan:
    return after(as_of, *texts, of=colony(traps=[short()]))


def test_a_trap_cut_in_time_is_done_and_its_number_is_the_cycles() -> None:
    first = told(trapped("05-01", HUNG).task("1.T1/trap_comb_cut/2027/cut/1").planned or 0)
    second = told(trapped(first, HUNG, f"{first} trap_cut T1").task("1.T1/trap_comb_cut/2027/cut/2").planned or 0)
    made = trapped("06-20", HUNG, f"{first} trap_cut T1", f"{second} trap_cut T1")
    assert [statuses(made)[f"1.T1/trap_comb_cut/2027/{i}"] for i in ("hang/1", "cut/1", "cut/2")] == [Status.DONE] * 3
    assert days(made, "trap_comb_cut")[0].endswith("cut/3")


def test_the_window_of_a_cut_is_the_one_it_had_then() -> None:
    before = trapped("05-01", HUNG).task("1.T1/trap_comb_cut/2027/cut/1")
    done = trapped("06-20", HUNG, "05-22 trap_cut T1").task(before.id)
    assert (window(done), done.window.hard_stop) == (window(before), before.window.hard_stop)


def test_what_was_seen_before_the_cut_narrowed_its_window() -> None:
    plain = trapped("06-20", HUNG, "05-22 trap_cut T1").task("1.T1/trap_comb_cut/2027/cut/1")
    seen = trapped("06-20", HUNG, "05-15 found T1 all_open", "05-22 trap_cut T1").task(plain.id)
    assert seen.window.hard_stop is not None
    assert plain.window.hard_stop is not None
    assert seen.window.hard_stop > plain.window.hard_stop


def test_a_trap_past_its_last_good_day_says_what_to_do_now_and_harm() -> None:
    made = trapped("07-01", HUNG)
    task = made.task("1.T1/trap_comb_cut/2027/cut/1")
    assert task.status is Status.PLANNED
    assert task.planned == on("07-03"), "the next day of the keeper's"
    assert "last good day is over" in task.do
    assert any("too late" in because_words(c.what) for c in made.conflicts)


@pytest.mark.parametrize("word", ["trap_cut", "trap_out"])
def test_emptied_too_late_the_cycle_is_closed_as_missed_with_the_day_on_which_it_was(word: str) -> None:
    made = trapped("07-04", HUNG, f"07-03 {word} T1")
    step = "cut" if word == "trap_cut" else "take_out"
    closed = made.task(f"1.T1/trap_comb_cut/2027/{step}/1")
    assert (closed.status, closed.done) == (Status.MISSED, on("07-03"))
    assert closed.window.hard_stop is not None
    assert closed.window.hard_stop < on("07-03")


def test_after_a_missed_cut_the_next_cycle_has_the_next_number() -> None:
    made = trapped("07-04", HUNG, "07-03 trap_cut T1")
    assert [t.n for t in made.tasks if t.trap == "T1" and t.step == "cut" and t.status is Status.PLANNED] in ([2], [])
    assert not [t for t in made.tasks if t.id.endswith("cut/1") and t.status is Status.PLANNED]


def test_a_trap_crossed_out_is_still_owed() -> None:
    made = trapped("05-23", HUNG, "05-22 skipped T1 trap_comb_cut/cut/1")
    assert made.task("1.T1/trap_comb_cut/2027/cut/1").status is Status.PLANNED


def test_done_as_planned_and_planned_again_the_rest_is_as_it_was() -> None:
    there = yard(colony(traps=[short(), drawn("T2", home=9)]))
    before = plan(outfit(there, journal=()), "01-01")
    later = plan(outfit(there, journal=kept_as_planned(before, on("06-10"))), "06-10")
    assert remaining(before, on("06-10")) == remaining(later, on("06-10"))
