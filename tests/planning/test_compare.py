"""Compare: what a day is worth. In: small yards. Each answer is held against a plan made by hand for the other case."""

from __future__ import annotations

from dataclasses import replace

from planning.yards import SAT, colony, on, outfit, own_task, plan, rules, short, yard

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.causes import because_words
from ipmcal.planning.compare import find_visit, weekday_savings, without
from ipmcal.planning.plan import Scope, make_plan

WED = 2
QUIET = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def chores(*days: tuple[str, str], weekdays: tuple[int, ...] = (SAT,), key: str = "yard", drive: str = "") -> Yard:
    """A yard with a task of the keeper's own in each of these windows, and nothing else."""
    tasks = [own_task(f"t{i}", first, last) for i, (first, last) in enumerate(days)]
    one = colony("1" if key == "yard" else key)
    return replace(yard(one, weekdays=weekdays, tasks=tasks, declined=QUIET, key=key), drive=drive)


# One day less ---------------------------------------------------------------------------------------------------------


def test_a_day_that_another_day_can_take_over_costs_nothing() -> None:
    """8 and 15 May are Saturdays; both lie in the window, and the later is held back for rain."""
    kept = outfit(chores(("05-08", "05-15")))
    made = plan(kept)
    (visit,) = made.visits
    spared = without(kept, rules(), made, visit)
    assert spared.visits == 1
    assert spared.conflicts == ()


def test_what_gives_way_without_a_day_is_told() -> None:
    """No other Saturday lies in the window: the task comes late."""
    kept = outfit(chores(("05-08", "05-13")))
    made = plan(kept)
    (visit,) = made.visits
    spared = without(kept, rules(), made, visit)
    assert spared.visits == 1
    (late,) = spared.conflicts
    assert "comes late" in because_words(late.what)


def test_conflicts_that_were_there_before_are_not_told_again() -> None:
    kept = outfit(chores(("05-09", "05-13"), ("06-05", "06-18")))
    made = plan(kept)
    assert made.conflicts
    assert without(kept, rules(), made, made.visits[-1]).conflicts == ()


def test_a_trap_without_its_day_is_told_with_what_would_help() -> None:
    kept = outfit(yard(colony("1", traps=[short("T1")]), program="full"))
    made = plan(kept)
    cut = next(v for v in made.visits if any("trap_comb_cut/2027/cut" in task for task in v.tasks))
    spared = without(kept, rules(), made, cut)
    by_hand = replace(kept.yards[0], away=((cut.day, cut.day),))
    other = plan(outfit(by_hand))
    assert spared.visits == len(other.visits)
    assert {c.what for c in spared.conflicts} == {c.what for c in other.conflicts} - {c.what for c in made.conflicts}


# One weekday more -----------------------------------------------------------------------------------------------------


def test_one_more_weekday_saves_what_a_plan_with_it_saves() -> None:
    """With the last Saturday of each window held for rain, they share none; with Wednesdays they share 12 May."""
    kept = outfit(chores(("05-08", "05-19"), ("05-12", "05-21")))
    made = plan(kept)
    savings = weekday_savings(kept, rules(), made, "yard")
    assert made.worth[0].visits == 2
    assert dict(savings)[WED] == 1
    for weekday, saved in savings:
        more = replace(kept.yards[0], weekdays=tuple(sorted((SAT, weekday))))
        assert saved == 2 - len(make_plan(outfit(more), rules(), on("01-01"), 2027).visits)


def test_a_sunday_is_tried_as_well_as_any_other_day() -> None:
    """By Saturdays alone 8 May and 1 May, the last day held for rain; with Sundays both are done on 2 May."""
    kept = outfit(chores(("05-02", "05-08"), ("04-25", "05-08")))
    made = plan(kept)
    assert made.worth[0].visits == 2
    assert dict(weekday_savings(kept, rules(), made, "yard")).get(6) == 1


def test_a_keeper_who_comes_on_any_day_saves_nothing_by_another() -> None:
    kept = outfit(replace(chores(("05-03", "05-09")), weekdays=None))
    assert weekday_savings(kept, rules(), plan(kept), "yard") == ()


def test_yards_of_one_drive_are_compared_on_their_drive() -> None:
    """A second yard makes the keeper drive on 8 and 22 May anyway: the first is as well visited then as alone."""
    first = chores(("05-08", "05-15"), ("05-22", "05-29"), drive="round")
    second = chores(("05-08", "05-12"), ("05-22", "05-26"), key="2", drive="round")
    kept = outfit(first, second)
    made = plan(kept)
    visit = next(v for v in made.visits if v.yard == "yard")
    spared = without(kept, rules(), made, visit)
    assert spared.visits == 2
    both = make_plan(kept, rules(), on("01-01"), 2027, scope=Scope(only="yard"))
    assert {view.key for view in both.yards} == {"yard", "2"}
    assert both.visits == made.visits


# Found by name --------------------------------------------------------------------------------------------------------


def test_a_visit_is_found_by_its_id_or_by_its_day_where_that_is_one() -> None:
    kept = outfit(chores(("05-08", "05-13")), chores(("05-08", "05-13"), ("06-05", "06-10"), key="2"))
    made = plan(kept)
    assert find_visit(made, "2/2027-05-08") == next(v for v in made.visits if v.yard == "2")
    assert find_visit(made, "2027-05-08") is None
    assert find_visit(made, "2027-06-05") == made.visits[-1]
    assert find_visit(made, "yard/2027-07-01") is None
