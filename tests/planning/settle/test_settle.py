"""Settle: placed steps as tasks, with words, windows, reasons and conflicts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import ahead, colony, drawn, line, lines, on, outfit, own_task, plan, rules, short, told, yard

from ipmcal.model.outfit.outfit import Queen
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Conflict, Plan
from ipmcal.model.plan.reasons import Reason, Rule

TRAPS_ONLY = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")
HUNG = ("02-13 trap_hung T1 2", "05-01 trap_cut T1")


def trap_yard(*more: str, **how: object) -> Plan:
    """A trap cut on 1 May, and what came after; the plan as on 2 May."""
    hive = colony(traps=(short(),), history=lines(*HUNG, *more))
    return plan(outfit(yard(hive, declined=TRAPS_ONLY, **how), journal=()), "05-02")  # type: ignore[arg-type]


def conflict(made: Plan) -> Conflict:
    (found,) = made.conflicts
    return found


# Tasks ----------------------------------------------------------------------------------------------------------------


def test_a_task_says_what_its_step_says_with_the_frames_own_name_and_slot() -> None:
    made = plan(yard(colony(traps=(short("T7", home=9),)), declined=TRAPS_ONLY))
    hang, step = made.tasks[0], rules().methods["trap_comb_cut"].steps["hang"]
    assert hang.do == "Hang trap T7: short frame, slot 9"
    assert (hang.minutes, hang.bring, hang.logs) == (int(step.minutes.value.middle), step.bring, "trap_hung")
    assert hang.cautions == tuple(rules().planning.cautions[c] for c in step.cautions)


def test_a_trap_task_has_its_findings_to_circle_its_harm_and_the_word_for_the_lid() -> None:
    cut = ahead(trap_yard())[0]
    step = rules().methods["trap_comb_cut"].steps["cut"]
    assert cut.circle == tuple(rules().findings[f].circle for f in step.findings)
    assert (cut.lid, cut.harm) == ("CUT BY", step.harm)
    assert cut.do == "Trap T1: cut the comb"


def test_what_was_seen_makes_it_a_look_in_words() -> None:
    assert ahead(trap_yard("05-02 found T1 all_open"))[0].do == "Trap T1: look, then cut or leave"


def test_what_has_to_be_said_once_is_said_with_the_first_task_of_an_errand() -> None:
    made = trap_yard()
    said = [t.id for t in made.tasks if "Only with 4 frames of brood or more." in t.notes]
    assert said == [ahead(made)[0].id]


def test_the_thaw_of_a_drawn_frame_is_for_the_evening_before() -> None:
    hive = colony(traps=(drawn("T2", home=9),), history=[line("05-01 trap_hung T2 9")])
    made = plan(yard(hive, declined=TRAPS_ONLY), "05-02")
    assert made.visits[0].prepare == ("Take the other drone frame of trap T2 out of the freezer to thaw.",)


def test_an_own_task_keeps_the_keepers_words_even_with_braces() -> None:
    task = own_task("mow", "05-01", "05-20")
    object.__setattr__(task, "do", "Mow {the} slope")
    made = plan(yard(colony(), tasks=[task]))
    assert made.task("@yard/own/2027/mow/1").do == "Mow {the} slope"


def test_the_day_chosen_has_its_reason_with_the_keepers_days_in_the_window() -> None:
    (why,) = ahead(trap_yard())[0].why_planned
    assert why.rule is Rule.KEEPER_DAY
    assert why.note == "1 day of yours in Tue 18 to Tue 25 May"
    assert why.span is not None
    assert told(why.span.usual) == "05-22"


def test_a_planned_step_counts_from_the_day_on_which_the_one_before_is_planned() -> None:
    made = trap_yard()
    second = made.task("1.T1/trap_comb_cut/2027/cut/3")

    def rules_of(reason: Reason) -> set[Rule]:
        return {reason.rule}.union(*(rules_of(under) for under in reason.under))

    assert Rule.PLANNED in rules_of(second.window.why_closes)


# Bent by the keeper's days --------------------------------------------------------------------------------------------


def test_early_is_said_on_the_task_and_as_a_conflict_with_what_would_help() -> None:
    made = trap_yard(away=[("05-16", "05-30")])
    cut, found = ahead(made)[0], made.conflicts[0]
    assert told(cut.planned or 0) == "05-15"
    assert any(note.startswith("Early, since no later day of yours is in time") for note in cut.notes)
    assert found.tasks == (cut.id,)
    assert found.subject == "1 T1"
    assert "done early, on Sat 15 May: no day of yours lies in its time" in because_words(found.what)
    assert because_words(found.helps) == "a day in Tue 18 to Tue 25 May"


def test_too_late_is_said_with_the_harm() -> None:
    made = trap_yard(away=[("05-02", "05-31")])
    cut, found = ahead(made)[0], made.conflicts[0]
    assert told(cut.planned or 0) == "06-05"
    assert "too late on Sat 5 June: Comb left longer lets out more mites than it caught" in because_words(found.what)
    assert found.tasks == (cut.id,)
    assert "Late: due by Tue 25 May." in cut.notes
    assert made.visits[0].rain_date is None, "no further delay is offered"


def test_late_says_that_no_day_lies_in_its_time_or_that_the_time_is_over() -> None:
    away = plan(yard(colony(), away=[("07-10", "08-20")]))
    (late,) = [c for c in away.conflicts if "Mite count" in because_words(c.what)]
    assert "comes late, on Sat 21 Aug: no day of yours lies in its time" in because_words(late.what)
    assert late.tasks == ("1/mite_count/2027/before_winter_bees/1",)
    over = plan(replace(outfit(yard(colony()), journal=()), since=on("03-01")), "05-30")
    (late,) = [c for c in over.conflicts if "Swarm check" in because_words(c.what)]
    assert "its time is over" in because_words(late.what)
    assert because_words(late.helps) == "a day as soon as you can"


def test_cut_short_names_the_last_cut_and_the_days_that_would_help() -> None:
    made = trap_yard(away=[("06-13", "07-31")])
    found = conflict(made)
    last = max(made.tasks, key=lambda t: t.planned or 0)
    assert found.tasks == (last.id,)
    assert "ends on Sat 12 June, take the frame out then" in because_words(found.what)
    assert because_words(found.helps) == "a day in Tue 29 June to Tue 6 July"
    assert (last.logs, last.step) == ("trap_out", "cut"), "its identity stays, what is done is the last step"
    assert all(a.cut_by is None for a in last.answers if a.finding == "all_capped")


def test_a_trap_that_hangs_past_its_last_good_day_is_too_late_and_comes_out() -> None:
    hive = colony(traps=(short(),), history=lines(*HUNG))
    made = plan(yard(hive, declined=TRAPS_ONLY, away=[("06-13", "07-31")]), "08-07")
    (overdue,) = made.conflicts
    assert "too late on Sat 7 Aug" in because_words(overdue.what)
    assert [t.planned for t in made.tasks if t.trap == "T1" and t.planned is not None][:1] == [on("08-07")]


def test_a_finding_that_does_not_fit_is_said_with_its_line() -> None:
    """Cut on 1 May, and drones on 2 May: so it is overdue as well, and that is said first."""
    overdue, found = trap_yard("05-02 found T1 emerging").conflicts
    assert "too late on Sat 8 May" in because_words(overdue.what)
    assert "yard.yaml:3:1: 'found T1 emerging' does not fit the day it was emptied" in because_words(found.what)
    assert because_words(found.helps) == "what was seen stands, and the dates follow it"


def test_lines_that_cannot_be_so_are_said() -> None:
    hive = colony("1", "2027-05-02", "package", history=lines("04-20 inspected"))
    made = plan(yard(hive), "05-03")
    assert any("lies before the colony began" in because_words(c.what) for c in made.conflicts)


# Across yards and colonies --------------------------------------------------------------------------------------------


def test_colonies_in_step_have_equal_days_and_each_its_own_identity() -> None:
    hives = [colony(str(i), queen=Queen(clipped=False)) for i in range(1, 6)]
    made = plan(yard(*hives))
    per = {h.key: [(t.step, t.n, t.planned) for t in made.tasks if t.colony == h.key] for h in hives}
    assert len({str(v) for v in per.values()}) == 1
    assert all(per.values())


@pytest.mark.parametrize("count", [1, 3])
def test_each_yard_is_planned_by_itself_and_the_whole_is_sorted_by_day(count: int) -> None:
    yards = [yard(colony(f"{i}a"), key=f"y{i}", weekdays=(i,)) for i in range(count)]
    made = plan(outfit(*yards))
    assert {v.yard for v in made.visits} == {y.key for y in yards}
    assert [view.key for view in made.yards] == [y.key for y in yards]


def test_a_history_of_another_year_is_no_part_of_this_ones_numbers() -> None:
    hive = colony(
        traps=(short(),), history=lines("2026-04-20 trap_hung T1 2", "2026-05-15 trap_cut T1", "2026-07-01 trap_out T1")
    )
    made = plan(yard(hive, declined=TRAPS_ONLY))
    assert made.tasks[0].id == "1.T1/trap_comb_cut/2027/hang/1"
    assert made.tasks[1].id == "1.T1/trap_comb_cut/2027/cut/1"
    assert on("03-25") <= (made.tasks[0].planned or 0) <= on("05-11")
