"""Unfold: which methods a colony gets, from where each goes on, and what is refused with which reason.

Whole plans are made, with their invariants, since an errand is best seen by the tasks that come of it.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import (
    ahead,
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
    rules,
    shipped,
    short,
    statuses,
    told,
    yard,
)

from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.plan import Plan, Refusal
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.methods import Method
from ipmcal.model.rules.rulebook import Rulebook

TRAPS_ONLY = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def methods(made: Plan, key: str = "1") -> set[str]:
    return {t.method for t in made.tasks if t.colony == key}


def refusal(made: Plan) -> Refusal:
    (found,) = made.refusals
    return found


# Which methods --------------------------------------------------------------------------------------------------------


def test_a_program_is_a_choice_of_methods_and_each_colony_gets_those_that_are_meant_for_it() -> None:
    old, new = colony("1", traps=(short(),)), colony("2", "2027-05-02", "package")
    made = plan(yard(old, new))
    assert methods(made, "1") == {"swarm_check", "trap_comb_cut", "mite_count", "supers", "winter_preparation"}
    assert methods(made, "2") == {"new_colony", "mite_count", "winter_preparation"}, (
        "its box is full too late for supers"
    )


def test_yard_and_colony_add_and_decline_and_what_a_colony_adds_it_gets() -> None:
    there = yard(
        colony("1", declined=("supers",)),
        colony("2", added=("mite_count",)),
        colony("3", traps=(short(),), added=("trap_comb_cut",)),
        program="first_year",
        declined=("mite_count",),
    )
    made = plan(there)
    assert methods(made, "1") == {"swarm_check", "winter_preparation"}
    assert methods(made, "2") == {"swarm_check", "supers", "winter_preparation", "mite_count"}
    assert "trap_comb_cut" in methods(made, "3")


def test_a_dead_colony_has_no_tasks_but_those_of_the_dead() -> None:
    made = plan(yard(colony("1"), colony("2", history=[line("03-06 died", "2")])), "04-01")
    assert methods(made, "1")
    assert methods(made, "2") == {"dead_out"}


def test_two_frames_of_a_colony_are_two_errands() -> None:
    made = plan(yard(colony(traps=(short("T1"), drawn("T2", home=9))), declined=TRAPS_ONLY))
    assert {(t.trap, t.method) for t in made.tasks} == {("T1", "trap_comb_cut"), ("T2", "trap_comb_frozen")}


# A colony that begins in the season -----------------------------------------------------------------------------------


def test_of_a_colony_that_begins_in_june_only_what_still_can_be_done_is_asked() -> None:
    """The spring count closes on 5 June, before it began: neither planned nor unknown. The next one is planned."""
    made = plan(yard(colony("1", "2027-06-20", "nucleus"), weekdays=None))
    assert [one.split()[1] for one in days(made, "mite_count")] == [
        "early_summer/1",
        "before_winter_bees/1",
        "autumn/1",
    ]
    assert "put_on" not in str(days(made, "supers")), "its box is full on 18 July, and supers go on by 31 May"


def test_supers_that_never_went_on_are_not_taken_off() -> None:
    made = plan(yard(colony("1", "2027-06-20", "nucleus"), weekdays=None))
    assert days(made, "supers") == []


def test_a_step_still_open_when_it_began_opens_on_that_day() -> None:
    seen = [line("05-20 frames_covered 7")]  # with fewer frames of bees none is counted so soon
    made = plan(yard(colony("1", "2027-05-20", "nucleus", history=seen), weekdays=None), "05-20")
    spring = made.task("1/mite_count/2027/spring/1")
    assert told(spring.window.opens) == "05-20"
    assert told(spring.window.closes) == "06-05"


@pytest.mark.parametrize("kind", ["package", "nucleus", "swarm", "split"])
def test_no_trap_for_a_new_colony_before_its_box_is_full(kind: str) -> None:
    """Hang by 20 April + 21 d = 11 May; the earliest is a nucleus or a swarm of 20 April, full on 18 May: too late."""
    made = plan(yard(colony("1", "2027-04-20", kind, (short(),))))
    found = refusal(made)
    assert (found.subject, found.method, causes_words(found.helps)) == (
        "1 T1",
        "trap_comb_cut",
        ("hang one next season",),
    )
    assert "has its box full by then" in causes_words(found.whys)[0]
    assert "a trap is hung by Tue 11 May" in causes_words(found.whys)[0]
    assert found.reasons


def test_a_nucleus_of_march_is_full_in_time_and_is_hung_once_it_is() -> None:
    """1 April + 28 d = 29 April; hang by 11 May: Saturday 1 May, the 8th held back for rain."""
    made = plan(yard(colony("1", "2027-04-01", "nucleus", (short(),))))
    assert days(made, "trap_comb_cut")[0] == "05-01 hang/1"
    assert told(made.task("1.T1/trap_comb_cut/2027/hang/1").window.opens) == "04-29"


# A trap that can't be -------------------------------------------------------------------------------------------------


def test_a_trap_that_nobody_could_empty_in_time_is_not_offered_and_it_is_said_what_would_help() -> None:
    """Hung by 11 April, it is to be looked at from 21 April to 3 May; the keeper is away from 12 April to September.

    To hang it and to take it out again before there is a drone in it would help nobody.
    """
    there = yard(colony(traps=(short(),)), away=[("04-12", "09-01")], declined=TRAPS_ONLY)
    found = refusal(plan(there))
    assert causes_words(found.whys) == ("no day of yours is in time to empty it",)
    assert causes_words(found.helps) == ("a day in Wed 21 Apr to Mon 3 May",)


def test_a_trap_that_can_be_emptied_once_is_offered_and_it_is_said_when_it_comes_out() -> None:
    there = yard(colony(traps=(short(),)), away=[("05-12", "09-01")], declined=TRAPS_ONLY)
    made = plan(there)
    assert made.refusals == ()
    last = max(made.tasks, key=lambda t: t.planned or 0)
    assert last.logs == "trap_out"
    assert last.do == "Trap T1: cut the last comb, take the frame out"
    assert any(note.startswith("It comes out early") for note in last.notes)
    assert any(
        last.id in conflict.tasks and "take the frame out then" in because_words(conflict.what)
        for conflict in made.conflicts
    )


def test_a_trap_is_hung_late_while_it_pays_and_refused_from_then_on() -> None:
    """Away during the whole time of hanging, 25 March to 11 May, or until two broods of drones are not to come."""
    away = [yard(colony(traps=(short(),)), away=[("03-20", last)], declined=TRAPS_ONLY) for last in ("05-14", "05-28")]
    late, refused = map(plan, away)
    assert [told(t.planned or 0) for t in late.tasks if t.step == "hang"] == ["05-15"]
    assert refused.tasks == ()
    assert causes_words(refusal(refused).whys) == ("no day of yours lies between Thu 25 Mar to Fri 28 May to hang it",)


def test_once_its_time_is_over_a_trap_that_was_not_hung_is_refused_and_not_hung_in_july() -> None:
    made = plan(outfit(yard(colony(traps=(short(),)), declined=TRAPS_ONLY), journal=()), "07-01")
    assert made.tasks == ()
    found = refusal(made)
    assert causes_words(found.whys) == ("it is too late to hang it: that was to be done in Thu 25 Mar to Fri 28 May",)
    assert causes_words(found.helps) == ("hang one next season",)


def test_no_trap_is_hung_in_a_dearth() -> None:
    """A dearth that is seen to begin before the time of hanging, and lasts through it."""
    there = yard(colony(traps=(short(),)), observed={"summer_dearth": "03-20"}, declined=TRAPS_ONLY, weekdays=None)
    made = plan(there, "03-21")
    hung = [t for t in made.tasks if t.step == "hang"]
    dearth = next(m for m in made.yards[0].marks if m.mark == "summer_dearth")
    assert dearth.ends is not None
    assert all(t.planned is not None and t.planned > dearth.ends.usual for t in hung)


@pytest.mark.parametrize(
    ("text", "mind"),
    [
        ("05-20 queen missing", "the queen is missing"),
        ("05-20 suspect", "its brood looks sick"),
        ("05-20 strength 2", "2 frames"),
    ],
)
def test_a_trap_that_hangs_is_emptied_whatever_speaks_against_hanging_it(text: str, mind: str) -> None:
    """What may not be hung may not be forgotten either."""
    hive = colony(traps=(short(),), history=lines("04-10 trap_hung T1 2", "05-08 trap_cut T1", text))
    made = plan(yard(hive, declined=TRAPS_ONLY), "05-21")
    first = next(task for task in made.tasks if task.planned is not None and task.trap)
    assert (first.step, first.n) == ("cut", 2)
    assert any(note.startswith("Mind: ") and mind in note for note in first.notes)
    assert made.refusals == ()


@pytest.mark.parametrize("frame", ["T1", "T2"])
def test_a_trap_that_hangs_though_no_method_uses_it_comes_out(frame: str) -> None:
    """The first-year program has no trap combs; a frame hung before is emptied once more, and taken out."""
    hive = colony(traps=(short("T1"), drawn("T2", home=9)), history=lines(f"05-08 trap_hung {frame} 2"))
    made = plan(yard(hive, program="first_year"), "05-09")
    mine = [t for t in made.tasks if t.trap]
    assert [(t.trap, t.step, t.logs) for t in mine] == [(frame, "take_out", "trap_out")]
    assert "No method of this colony uses it: it comes out." in mine[0].notes
    assert mine[0].window.hard_stop == on("05-09") + 24 - 1 - (1 if frame == "T2" else 0)


def test_a_declined_trap_that_hangs_comes_out_too() -> None:
    hive = colony(traps=(short(),), history=lines("05-08 trap_hung T1 2"))
    made = plan(yard(hive, declined=("trap_comb_cut",)), "05-09")
    assert [t.step for t in made.tasks if t.trap] == ["take_out"]


def test_a_trap_that_hangs_when_no_day_is_left_is_said_with_its_task() -> None:
    """Hung on 8 May; the keeper is away for the rest of the season."""
    hive = colony(traps=(short(),), history=lines("05-08 trap_hung T1 2"))
    made = plan(outfit(yard(hive, declined=TRAPS_ONLY, away=[("05-09", "2028-03-31")]), journal=()), "05-09")
    (task,) = ahead(made)
    assert (task.id, task.status, task.planned) == ("1.T1/trap_comb_cut/2027/cut/1", Status.IMPOSSIBLE, None)
    (conflict,) = made.conflicts
    assert conflict.tasks == (task.id,)
    assert "no day of yours is left to empty it" in because_words(conflict.what)
    assert because_words(conflict.helps) == "a day in Tue 25 May to Tue 1 June"
    assert made.visits == ()


# With a journal -------------------------------------------------------------------------------------------------------


def test_what_the_journal_does_not_tell_is_unknown_and_asked_for() -> None:
    made = plan(outfit(yard(colony()), journal=[]), "08-20")
    known = statuses(made)
    for step in ("spring", "early_summer", "before_winter_bees"):
        assert known[f"1/mite_count/2027/{step}/1"] is Status.UNKNOWN
    assert known["1/mite_count/2027/autumn/1"] is Status.PLANNED
    assert known["1/supers/2027/put_on/1"] is Status.UNKNOWN
    assert not [t for t in made.tasks if t.status is Status.DONE], "nothing is taken for done"


def test_a_method_of_which_everything_is_over_is_still_asked_for() -> None:
    """A package of 20 April, looked at by nobody until July: its three looks are unknown, not gone."""
    made = plan(outfit(yard(colony("1", "2027-04-20", "package")), journal=[]), "07-01")
    asked = [t.step for t in made.tasks if t.method == "new_colony"]
    assert asked == ["eggs", "brood", "room"]
    assert {t.status for t in made.tasks if t.method == "new_colony"} == {Status.UNKNOWN}


def test_before_the_colony_was_there_nothing_is_unknown() -> None:
    made = plan(outfit(yard(colony("1", "2027-06-20", "nucleus")), journal=[]), "09-25")
    asked = {t.step for t in made.tasks if t.method == "mite_count" and t.status is Status.UNKNOWN}
    assert asked == {"early_summer", "before_winter_bees"}


def test_an_unplanned_act_takes_the_nearest_open_step() -> None:
    """Counted on 20 June, when both the count of early summer (12 June on) and, from 16 July, the next are to come."""
    made = plan(outfit(yard(colony()), journal=[line("06-20 count 3/300")]), "06-21")
    known = statuses(made)
    assert known["1/mite_count/2027/early_summer/1"] is Status.DONE
    assert known["1/mite_count/2027/spring/1"] is Status.UNKNOWN
    assert known["1/mite_count/2027/before_winter_bees/1"] is Status.PLANNED


def test_two_acts_while_two_steps_are_open_are_one_each() -> None:
    """On 16 and 17 July both counts are open; two counts in these days are two steps, not twice the first."""
    made = plan(outfit(yard(colony()), journal=[line("07-16 count 3/300"), line("07-17 count 3/300")]), "07-18")
    assert [t.step for t in made.tasks if t.method == "mite_count" and t.status is Status.PLANNED] == ["autumn"]


def test_two_lines_of_one_day_are_one_act() -> None:
    twice = [line("05-10 inspected"), line("05-10 inspected")]
    made = plan(outfit(yard(colony()), journal=twice), "05-11")
    assert made.tasks[0].id == "1/mite_count/2027/spring/1" or made.task("1/swarm_check/2027/check/2")


def test_an_inspection_before_swarm_season_does_not_begin_the_weekly_checks() -> None:
    """Looked at on 27 March: the checks begin on 8 May all the same, and not a week later in April."""
    made = plan(outfit(yard(colony()), journal=[line("03-27 inspected")]), "03-28")
    checks = days(made, "swarm_check")
    assert checks[0] == "05-15 check/1"


def test_after_a_check_the_next_counts_from_it() -> None:
    made = plan(outfit(yard(colony(), weekdays=None), journal=[line("05-10 inspected")]), "05-11")
    task = made.task("1/swarm_check/2027/check/2")
    assert [told(d) for d in (task.window.opens, task.window.best, task.window.closes)] == ["05-15", "05-17", "05-17"]


def test_a_step_for_which_nobody_could_come_yet_is_late_and_not_unknown() -> None:
    """Away from before the look for eggs until after it: on the way home it is still to be done, first thing."""
    there = yard(colony("1", "2027-06-19", "swarm"), weekdays=(0,), away=[("06-20", "07-20")])
    made = plan(replace(outfit(there, journal=[]), since=on("06-19")), "07-13")
    eggs = made.task("1/new_colony/2027/eggs/1")
    assert (eggs.status, told(eggs.planned or 0)) == (Status.PLANNED, "07-26")
    assert any(eggs.id in conflict.tasks for conflict in made.conflicts)


@pytest.mark.parametrize("name", sorted(name for name, method in shipped().methods.items() if method.per == "yard"))
def test_what_is_done_for_the_yard_and_written_down_is_not_asked_again(name: str) -> None:
    there = yard(colony(traps=[short()]), added=(name,), declined=TRAPS_ONLY)
    before = plan(outfit(there, journal=[]), "01-01", book=shipped())
    mine = [t for t in before.tasks if t.method == name]
    assert mine
    assert all(t.colony is None and t.id.startswith(f"@yard/{name}/") for t in mine)
    day = (mine[0].planned or 0) + 1
    later = plan(outfit(there, journal=kept_as_planned(before, day)), day, book=shipped())
    asked = {t.id: t.planned for t in ahead(later) if t.method == name}
    assert statuses(later)[mine[0].id] is Status.DONE
    assert asked == {t.id: t.planned for t in mine if (t.planned or 0) >= day}


def weighing() -> Rulebook:
    """The rules, with a method whose second step counts from the first; both are written with one word."""
    step = {"do": "Weigh", "minutes": "5 min @practice", "logs": "fed"}
    first = {"opens": "09-01 @practice", "closes": "09-30 @practice"}
    second = {"opens": "weigh + 10 d @practice", "closes": "weigh + 35 d @practice"}
    steps = {"weigh": {**step, **first}, "again": {**step, **second}}
    file = {"title": "Weighing", "checked": "2026-11-24", "per": "colony", "steps": steps}
    sources = {name: source.basis for name, source in rules().sources.items()}
    method = Method.model_validate(file, context={"sources": sources})
    return replace(rules(), methods={**rules().methods, "weighing": method})


@pytest.mark.parametrize(
    ("written", "owed"),
    [
        ([], {"weigh": "09-01", "again": None}),
        (["09-04 fed"], {"again": "09-14"}),
        (["09-04 fed", "09-18 fed"], {}),
        (["09-18 fed"], {"again": "09-28"}),
    ],
)
def test_a_step_that_counts_from_an_earlier_one_counts_from_the_line_that_says_it_was_done(
    written: list[str], owed: dict[str, str | None]
) -> None:
    there = yard(colony(), added=("weighing",), declined=TRAPS_ONLY)
    made = plan(
        outfit(there, journal=[line(text) for text in written]), "09-20" if written else "08-20", book=weighing()
    )
    mine = {t.step: t for t in ahead(made) if t.method == "weighing"}
    assert set(mine) == set(owed)
    for step, day in owed.items():
        assert day is None or told(mine[step].window.opens) == day


# The keeper's own tasks -----------------------------------------------------------------------------------------------


def test_an_own_task_is_planned_once_for_the_yard_or_once_a_colony() -> None:
    mow, feed = own_task("mow", "05-01", "05-20"), own_task("feed", "04-01", "04-20", per_colony=True)
    made = plan(yard(colony("1"), colony("2"), tasks=[mow, feed]))
    own = {t.id for t in made.tasks if t.method == "own"}
    assert own == {"@yard/own/2027/mow/1", "1/own/2027/feed/1", "2/own/2027/feed/1"}


def test_an_own_task_that_was_written_as_done_is_done() -> None:
    mow, feed = own_task("mow", "05-01", "05-20"), own_task("feed", "04-01", "04-20", per_colony=True)
    there = yard(colony("1"), colony("2"), tasks=[mow, feed])
    written = [line("05-08 done mow", colony=None), line("04-03 done feed", "1")]
    made = plan(outfit(there, journal=written), "05-09")
    own = {t.id: t.status for t in made.tasks if t.method == "own"}
    done = {"@yard/own/2027/mow/1": Status.DONE, "1/own/2027/feed/1": Status.DONE}
    assert own == {**done, "2/own/2027/feed/1": Status.UNKNOWN}


def test_an_own_task_whose_time_is_over_is_asked_for_and_not_planned_late() -> None:
    made = plan(outfit(yard(colony(), tasks=[own_task("mow", "05-01", "05-20")]), journal=[]), "06-01")
    assert statuses(made)["@yard/own/2027/mow/1"] is Status.UNKNOWN


def test_the_rules_used_here_have_the_programs_used_here() -> None:
    assert "trap_comb_cut" in rules().programs["full"].methods
    assert "trap_comb_cut" not in rules().programs["first_year"].methods


# What is done stays done ----------------------------------------------------------------------------------------------


def test_what_was_done_before_a_method_is_refused_stays_done() -> None:
    """Two swarm checks, then the queen is missing; a trap that is taken out, and not offered any more."""
    journal = lines(
        "02-13 trap_hung T1 2", "05-08 inspected", "05-15 inspected", "06-10 trap_cut T1", "06-11 trap_out T1",
        "06-20 queen missing",
    )  # fmt: skip
    made = plan(outfit(yard(colony(traps=(short(),))), journal=journal), "07-21")
    assert {r.method for r in made.refusals} >= {"swarm_check", "trap_comb_cut"}
    done = {t.id for t in made.tasks if t.done is not None}
    assert done >= {"1/swarm_check/2027/check/1", "1/swarm_check/2027/check/2"}
    assert done >= {"1.T1/trap_comb_cut/2027/cut/1", "1.T1/trap_comb_cut/2027/take_out/1"}


def test_no_count_is_asked_of_a_colony_for_a_time_before_it_stood_there() -> None:
    """A count of April asked the yard for more; a nucleus of July can't have been counted then."""
    hives = [colony("1"), colony("2", "2027-07-02", "nucleus")]
    journal = lines("04-24 count 0/300", colony="1")
    made = plan(outfit(yard(*hives), journal=journal), "07-07")
    asked = [t for t in made.tasks if t.colony == "2" and t.method == "count_asked"]
    assert all(t.window.closes >= on("07-02") for t in asked), [t.id for t in asked]
