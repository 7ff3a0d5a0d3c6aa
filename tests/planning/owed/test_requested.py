"""Counts that the plan asks for: one that failed, one more colony, one after a late trap or a treatment."""

from __future__ import annotations

from planning.yards import colony, line, on, outfit, plan, rules, short, told, yard

from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.plan.tasks import Status, Task

FOLLOW = int(rules().planning.follow_up.value.low or 0)
OWN = "own_mix"
"""A product without a rule file, so that no label asks for a count."""


def after(as_of: str, *texts: str, of: Colony | None = None) -> Plan:
    lines = [line(text, "1", "yard", number) for number, text in enumerate(texts, 1)]
    return plan(outfit(yard(of or colony()), journal=lines), as_of)


def asked(made: Plan, colony_: str = "1") -> list[Task]:
    return [t for t in made.tasks if t.method == rules().planning.asked_count and t.colony == colony_]


def due(made: Plan, colony_: str = "1") -> list[str]:
    return [told(t.planned) for t in asked(made, colony_) if t.planned is not None]


def test_nothing_is_asked_for_where_nothing_happened() -> None:
    assert asked(after("06-01")) == []


def test_a_sound_count_below_the_line_asks_for_no_other() -> None:
    """Who counts until it fits learns nothing (DESIGN.md, Counts)."""
    assert asked(after("08-21", "08-20 count 0/300")) == []


def test_a_count_over_the_line_asks_for_no_other() -> None:
    assert asked(after("08-21", "08-20 count 40/300")) == []


# A count that failed --------------------------------------------------------------------------------------------------


def test_too_small_a_sample_is_counted_again_soon_and_the_reason_stands_with_it() -> None:
    (task,) = asked(after("08-21", "08-20 count 0/100"))
    assert task.planned == on("08-21"), "the next Saturday"
    assert task.window.closes == on("08-20") + 14
    assert task.logs == "count"
    assert any("Why now" in note and "too small" in note for note in task.notes)
    assert task.window.why_opens.rule is Rule.ASKED
    assert [r.rule for r in task.window.why_opens.under] == [Rule.EVENT]


def test_a_proper_count_since_then_is_the_answer() -> None:
    assert asked(after("08-22", "08-20 count 0/100", "08-21 count 1/300")) == []


def test_a_count_on_the_very_day_of_a_failed_one_is_no_answer_if_it_failed_too() -> None:
    assert len(asked(after("08-21", "08-20 count 0/100", "08-20 count 0/80"))) == 1


def test_where_the_seasons_own_count_is_due_that_day_one_count_is_enough() -> None:
    made_ = after("06-16", "06-15 count 0/100", "05-08 count 1/300")
    days = [t.planned for t in made_.tasks if t.logs == "count" and t.planned is not None]
    assert len(days) == len(set(days))


def test_nobody_counted_and_its_time_is_over_it_is_asked_for_and_not_dropped() -> None:
    texts = ("08-20 count 0/100",)
    before, later = asked(after("08-21", *texts)), asked(after("09-10", *texts))
    assert [t.id for t in later] == [t.id for t in before]
    assert [(t.status, t.planned) for t in later] == [(Status.UNKNOWN, None)]


def test_crossed_out_and_over_it_is_missed() -> None:
    (task,) = asked(after("09-10", "08-20 count 0/100", "08-28 skipped count_asked/extra/2"))
    assert task.id.endswith("extra/2")
    assert task.status is Status.MISSED


def test_with_brood_that_looks_sick_nobody_is_sent_to_count() -> None:
    assert due(after("08-22", "08-20 count 0/100", "08-21 suspect sunken")) == []


# Just under the line, before winter bees ------------------------------------------------------------------------------


def test_just_under_the_line_at_the_last_count_before_winter_bees_is_counted_once_more_and_only_once() -> None:
    line_ = next(t for t in after("01-01").tasks if t.step == "before_winter_bees")
    least = int(next(n for n in line_.notes if "or more mites in" in n).split(" at ")[1].split()[0])
    texts = [f"07-24 count {least - 1}/300"]
    (task,) = asked(after("07-25", *texts))
    assert any("just under the line" in note for note in task.notes)
    later = asked(after("08-01", *texts, f"07-31 count {least - 1}/300"))
    assert not any("just under the line" in note for t in later for note in t.notes), "the two have spoken"
    assert all((t.planned or 0) >= on("08-14") for t in later), "what is one to watch is counted again another time"
    for made in (after("07-25", f"07-24 count {least - 2}/300"), after("06-25", f"06-24 count {least - 1}/300")):
        assert not any("just under the line" in note for t in asked(made) for note in t.notes), "one to watch, no more"


# One more for the yard ------------------------------------------------------------------------------------------------


def several(as_of: str, *counts: tuple[str, str]) -> Plan:
    lines = [line(text, key, "yard", number) for number, (key, text) in enumerate(counts, 1)]
    return plan(outfit(yard(*[colony(key) for key in "123"]), journal=lines), as_of)


def test_too_few_colonies_counted_the_others_are_asked_for() -> None:
    made_ = several("08-21", ("1", "08-20 count 0/300"))
    assert [bool(due(made_, key)) for key in "123"] == [False, True, True]
    (call,) = made_.calls
    assert (call.call, call.missing) == ("count again", 2)


def test_all_counted_below_nothing_more_is_asked_for() -> None:
    made_ = several("08-21", *[(key, "08-20 count 0/300") for key in "123"])
    assert [due(made_, key) for key in "123"] == [[], [], []]
    assert made_.calls[0].call == "below"


def test_one_over_the_line_speaks_for_all_and_no_more_are_asked_for() -> None:
    made_ = several("08-21", ("1", "08-20 count 40/300"))
    assert [due(made_, key) for key in "123"] == [[], [], []]


def test_where_the_seasons_count_is_due_within_the_days_anyway_no_more_is_asked_for() -> None:
    made_ = several("06-16", ("1", "06-15 count 0/300"))
    assert [due(made_, key) for key in "123"] == [[], [], []]
    assert [t.colony for t in made_.tasks if t.step == "early_summer" and t.planned is not None] == ["2", "3"]


# After a treatment ----------------------------------------------------------------------------------------------------


def test_some_days_after_a_course_a_count_is_asked_for() -> None:
    (task,) = asked(after("08-21", f"08-20 treated {OWN} 35 mL"))
    assert task.window.opens == on("08-20") + FOLLOW
    assert any(OWN in note for note in task.notes)


def test_no_count_is_asked_for_while_strips_are_in() -> None:
    assert asked(after("09-20", f"08-20 strips_in {OWN} 2")) == []


def test_once_the_strips_are_out_it_counts_from_that_day() -> None:
    (task,) = asked(after("09-26", f"08-20 strips_in {OWN} 2", f"09-25 strips_out {OWN} 2"))
    assert task.window.opens == on("09-25") + FOLLOW


def test_a_count_before_its_time_is_no_answer_one_in_its_time_is() -> None:
    course = f"08-20 treated {OWN} 35 mL"
    early, in_time = told(on("08-20") + FOLLOW - 1), told(on("08-20") + FOLLOW)
    assert len(asked(after("09-05", course, f"{early} count 0/300"))) == 1
    assert asked(after("09-05", course, f"{in_time} count 0/300")) == []


def test_only_the_last_course_asks() -> None:
    (task,) = asked(after("08-21", f"08-10 treated {OWN} 1 g", "08-20 treated other_mix 1 g"))
    assert any("other_mix" in note for note in task.notes)


def test_where_the_label_counts_itself_the_plan_does_not_ask_twice() -> None:
    made_ = after("09-26", "08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 2")
    assert asked(made_) == []
    (count,) = [t for t in made_.tasks if t.logs == "count" and t.planned is not None]  # one wash serves both
    assert count.planned is not None
    assert on("09-25") <= count.planned <= on("10-23"), "in the time of the label's own count"


# After a trap ---------------------------------------------------------------------------------------------------------

HUNG = "04-10 trap_hung T1 2"


def test_a_trap_past_its_last_good_day_adds_a_count() -> None:
    (task,) = asked(after("06-30", "06-20 count 0/300", HUNG, of=colony(traps=[short()])))
    assert any("last good day of T1" in note for note in task.notes)


def test_so_does_one_emptied_too_late() -> None:
    (task,) = asked(after("07-04", "06-20 count 0/300", HUNG, "07-03 trap_cut T1", of=colony(traps=[short()])))
    assert any("T1 was emptied after its last good day" in note for note in task.notes)


def test_and_a_count_on_a_later_day_answers_it() -> None:
    trapped = colony(traps=[short()])
    texts = ("06-20 count 0/300", HUNG, "07-03 trap_out T1")
    assert len(asked(after("07-05", *texts, of=trapped))) == 1
    assert asked(after("07-06", *texts, "07-05 count 0/300", of=trapped)) == []


def test_a_trap_cut_in_time_asks_for_nothing() -> None:
    trapped = colony(traps=[short()])
    first = next(t for t in after("05-01", HUNG, of=trapped).tasks if t.id.endswith("cut/1")).planned or 0
    assert asked(after(told(first + 1), HUNG, f"{told(first)} trap_cut T1", of=trapped)) == []


def test_without_a_journal_nothing_is_asked_for() -> None:
    kept = colony(history=[line(HUNG, "1")], traps=[short()])
    assert asked(plan(outfit(yard(kept)), "07-01")) == []


def test_all_that_asks_is_one_count() -> None:
    trapped = colony(traps=[short()])
    made_ = after("07-05", HUNG, "07-03 trap_out T1", "07-03 count 0/100", of=trapped)
    assert len(asked(made_)) <= 1
