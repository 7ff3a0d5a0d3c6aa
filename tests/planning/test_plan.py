"""Whole plans: every region, program and beginning; what order, time and a journal change, and what they don't.

Each plan made here, as in all tests of planning, is checked against ``invariants.check_plan``.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from planning.yards import (
    SHIPPED_REGIONS,
    aways,
    colony,
    days,
    drawn,
    kept_as_planned,
    line,
    on,
    outfit,
    outfits,
    plan,
    reference,
    region_of,
    remaining,
    rules,
    season_begins,
    shipped,
    short,
    told,
    yard,
)
from sweeps import grid, some_of, turns

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Window
from ipmcal.model.plan.tasks import Status
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.place.season import TooFar
from ipmcal.planning.plan import make_plan, season_of
from ipmcal.publishing.memory.assumed import with_assumed
from ipmcal.publishing.memory.ledger import Ledger, remember

Case = tuple[Outfit, int]
FEW = settings(max_examples=some_of(15), deadline=None, derandomize=True)
SOME = settings(max_examples=some_of(30), deadline=None, derandomize=True)


def began_on(region: str, kind: str, day: int = 110) -> str:
    """When a colony began: last year where it came through winter, else so many days into the season."""
    return date.fromordinal(season_begins(region) + (-300 if kind == "overwintered" else day)).isoformat()


# Every region, program and beginning ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("region", "program"), grid(SHIPPED_REGIONS, sorted(rules().programs)))
def test_every_beginning_in_every_region_gets_a_plan_and_what_gives_way_is_named(region: str, program: str) -> None:
    """Two beginnings each, by turns: with all methods, all of them are planned in ``test_every_combination.py``."""
    turn = SHIPPED_REGIONS.index(region) + sorted(rules().programs).index(program)
    for weekday in (turn % len(BEGINNINGS), (turn + 2) % len(BEGINNINGS)):
        kind = BEGINNINGS[weekday]
        hive = colony("1", began_on(region, kind), kind, (short("T1"), drawn("T2", home=9)))
        made = plan(yard(hive, region=region, program=program, weekdays=(weekday,)), season_begins(region))
        assert made.tasks, kind
        for conflict in made.conflicts:
            assert conflict.tasks, f"{kind}: {because_words(conflict.what)}"
            assert because_words(conflict.helps), f"{kind}: {because_words(conflict.what)}"
            assert all(made.task(i).colony == "1" for i in conflict.tasks)


@pytest.mark.parametrize(("region", "program"), turns(SHIPPED_REGIONS, sorted(shipped().programs)))
def test_every_shipped_program_makes_a_plan_on_any_weekday_with_two_trap_frames(region: str, program: str) -> None:
    """With all methods there are; ``test_every_combination.py`` has every region with every program, on Saturdays."""
    i, where = sorted(shipped().programs).index(program), SHIPPED_REGIONS.index(region)
    kind = BEGINNINGS[(where + i) % len(BEGINNINGS)]
    hive = colony("1", began_on(region, kind), kind, (short("T1"), drawn("T2", home=9)))
    there = yard(hive, region=region, program=program, weekdays=((where // 7 + i) % 7,))
    made = plan(there, season_begins(region), book=shipped())
    assert made.tasks
    assert all(c.tasks and c.helps for c in made.conflicts)


@pytest.mark.parametrize("region", SHIPPED_REGIONS)
def test_a_saturday_keeper_can_trap_drones_with_a_short_frame_in_every_region(region: str) -> None:
    """An overwintered colony at the reference place: from hanging to taking out, strictly in time."""
    made = plan(yard(colony(traps=(short(),)), region=region), season_begins(region))
    assert made.refusals == ()
    steps = [one.split()[1] for one in days(made, "trap_comb_cut")]
    assert (steps[0], steps[1], steps[-1]) == ("hang/1", "cut/1", "take_out/1")
    named = {i for conflict in made.conflicts for i in conflict.tasks}
    assert not [i for i in named if made.task(i).trap], "no step of the trap gives way"


@pytest.mark.parametrize("region", SHIPPED_REGIONS)
def test_with_drawn_frames_a_saturday_keeper_can_trap_too_or_the_refusal_says_what_would_help(region: str) -> None:
    """The window of a drawn frame is narrower: from half capped (day 13 after hanging) to day 23."""
    made = plan(yard(colony(traps=(drawn(),)), region=region), season_begins(region))
    steps = [one.split()[1] for one in days(made, "trap_comb_frozen")]
    assert steps or (made.refusals[0].whys and made.refusals[0].helps)
    if steps:
        assert steps[-1] == "take_out/1"


@pytest.mark.parametrize("region", SHIPPED_REGIONS)
def test_the_plan_of_a_season_lies_in_it(region: str) -> None:
    made = plan(yard(colony(), region=region, weekdays=None), season_begins(region))
    (view,) = made.yards
    assert view.begins == season_begins(region)
    runs_on = int(rules().planning.season_runs_on.value.middle)
    assert all(view.begins <= v.day <= view.ends + runs_on for v in made.visits)


# The pipeline ---------------------------------------------------------------------------------------------------------


def test_a_yard_too_far_from_its_region_is_refused() -> None:
    north, east, up = reference("us_northeast")
    with pytest.raises(TooFar):
        make_plan(outfit(yard(colony(), place=(north + 6.1, east, up))), rules(), on("01-01"))


def test_with_a_season_that_one_alone_is_planned() -> None:
    there = outfit(yard(colony()))
    assert [view.season for view in make_plan(there, rules(), on("11-03"), 2027).yards] == [2027]
    assert [view.season for view in make_plan(there, rules(), on("11-03"), 2028).yards] == [2028]


def test_tell_is_called_with_each_yard_as_its_turn_comes() -> None:
    names: list[str] = []
    make_plan(outfit(yard(colony("a"), key="a"), yard(colony("b"), key="b")), rules(), on("01-01"), 2027, names.append)
    assert names == ["A", "B"]


def test_a_mark_in_the_yards_file_and_one_in_the_journal_are_the_same() -> None:
    """Drone rearing seen on 5 April: 15 days early, and what follows in spring with it."""
    hive = colony(traps=(short(),))
    in_file = plan(outfit(yard(hive, observed={"drone_rearing_start": "04-05"}), journal=()), "04-06")
    seen = line("04-05 bloom drone_rearing_start", colony=None)
    in_journal = plan(outfit(yard(hive), journal=[seen]), "04-06")
    assert in_file.tasks == in_journal.tasks
    unseen = plan(outfit(yard(hive), journal=()), "04-06")
    assert in_file.tasks != unseen.tasks


@pytest.mark.parametrize("in_file", [True, False])
def test_what_will_be_seen_after_as_of_is_not_known_yet(in_file: bool) -> None:
    seen = line("04-05 bloom drone_rearing_start", colony=None)
    there = yard(colony(), observed={"drone_rearing_start": "04-05"} if in_file else {})
    made = plan(outfit(there, journal=[] if in_file else [seen]), "04-04")
    assert made.tasks == plan(outfit(yard(colony()), journal=()), "04-04").tasks


def test_lines_of_another_yard_are_no_part_of_this_one() -> None:
    here, there = yard(colony("a"), key="here"), yard(colony("b"), key="there")
    lines_ = [line("04-05 bloom drone_rearing_start", None, "there"), line("05-10 inspected", "b", "there")]
    both = plan(outfit(here, there, journal=lines_), "05-11")
    alone = plan(outfit(here, journal=()), "05-11")
    assert [t for t in both.tasks if t.yard == "here"] == list(alone.tasks)


def test_the_rules_that_a_plan_rests_on_are_listed_and_old_ones_marked() -> None:
    made = plan(yard(colony(traps=(short(),))))
    assert any("methods/trap_comb_cut" in one for one in made.rules_checked)
    old = plan(yard(colony()), "2030-06-01", 2030)
    assert all("not checked for long" in one for one in old.rules_checked)


# Southern season ------------------------------------------------------------------------------------------------------


def test_a_southern_season_is_planned_across_the_new_year() -> None:
    made = plan(yard(colony(traps=(short(),)), region="nz_north_island"), "07-01")
    years = {date.fromordinal(v.day).year for v in made.visits}
    assert years == {2027, 2028}
    cuts = [t for t in made.tasks if t.logs == "trap_cut"]
    assert all(t.season == 2027 for t in cuts)
    assert all(on("08-15") <= (t.planned or 0) <= on("2028-01-31") for t in cuts)


# Properties -----------------------------------------------------------------------------------------------------------


def shape(made: Plan) -> list[tuple[object, ...]]:
    """A plan's tasks, without where their lines stand."""
    return sorted((t.id, t.status, t.planned, t.done, t.rain_date, t.window.opens, t.window.closes) for t in made.tasks)


def into_journal(kept: Outfit) -> Outfit:
    """The same keeper with all lines in a journal."""
    (there,) = kept.yards
    past = sorted((e for c in there.colonies for e in c.history), key=lambda e: e.day)
    bare = replace(there, colonies=tuple(replace(c, history=()) for c in there.colonies))
    return replace(kept, yards=(bare,), journal=tuple(past))


@SOME
@given(outfits(far=True))
def test_any_outfit_has_a_plan_that_keeps_all_invariants_with_a_journal_and_without(case: Case) -> None:
    kept, as_of = case
    plan(kept, as_of)
    plan(into_journal(kept), as_of)


@FEW
@given(outfits(far=True))
def test_with_all_shipped_methods_the_invariants_hold_too(case: Case) -> None:
    kept, as_of = case
    plan(kept, as_of, book=shipped())
    plan(into_journal(kept), as_of, book=shipped())


@FEW
@given(outfits(far=True), st.randoms(use_true_random=False))
def test_the_order_of_colonies_in_the_file_is_no_part_of_the_dates(case: Case, chance: object) -> None:
    kept, as_of = case
    (there,) = kept.yards
    turned = replace(kept, yards=(replace(there, colonies=there.colonies[::-1]),))
    one, other = plan(kept, as_of), plan(turned, as_of)
    assert shape(one) == shape(other)
    assert [v.day for v in one.visits] == [v.day for v in other.visits]


@FEW
@given(outfits(far=True))
def test_the_same_input_gives_an_equal_plan(case: Case) -> None:
    kept, as_of = case
    assert plan(kept, as_of) == plan(kept, as_of)


@st.composite
def weekday_keepers(draw: st.DrawFn) -> Case:
    """Outfits of keepers with fixed days, whose colonies did not begin as splits.

    Without fixed days packing is not exact, and another part of the season may be packed otherwise. And a split is
    looked at as a new colony and checked for swarming as well: both lines say "inspected", and can't tell which it was.
    """
    kept, as_of = draw(outfits(history=False, programs=("full",)))
    (there,) = kept.yards
    assume(there.weekdays is not None)
    assume(all(c.kind != "split" for c in there.colonies))
    return kept, as_of


def days_of(window: Window) -> tuple[int | None, ...]:
    return window.opens, window.best, window.closes, window.hard_stop


@FEW
@given(weekday_keepers(), st.integers(0, 300))
def test_without_a_journal_what_was_printed_stands_for_the_past(case: Case, gap: int) -> None:
    """A later day leaves the windows of all that has no count in it as they were: silence is no count."""
    kept, _ = case
    first = season_begins(kept.yards[0].region)
    before = plan(kept, first)
    known = with_assumed(kept, remember(Ledger(kept.id), before), rules(), first + gap)
    later = plan(known, first + gap)
    counts = {t.method for t in before.tasks if t.logs == "count"}
    was = {t.id: days_of(t.window) for t in before.tasks if t.planned is not None and t.planned >= first + gap}
    now = {t.id: days_of(t.window) for t in later.tasks if t.planned is not None}
    same = [name for name in was.keys() & now.keys() if name.split("/")[1] not in counts]
    assert {name: was[name] for name in same} == {name: now[name] for name in same}
    silent = {t.done for t in later.tasks if t.status is Status.ASSUMED}  # which look it was, one word may not tell
    assert silent <= {t.planned for t in before.tasks}


@SOME
@given(weekday_keepers())
def test_who_does_all_that_was_planned_and_writes_it_down_keeps_the_remaining_plan(case: Case) -> None:
    """What came late is left out: a late count is taken for the next one where that is due by then."""
    kept, as_of = case
    first = season_begins(kept.yards[0].region)
    before = plan(replace(kept, journal=()), first)
    late = {i for conflict in before.conflicts if "late" in because_words(conflict.what) for i in conflict.tasks}
    assume(not [t for t in before.tasks if t.id in late and (t.planned or as_of) < as_of])
    later = plan(replace(kept, journal=tuple(kept_as_planned(before, as_of))), as_of)
    assert remaining(before, as_of) == remaining(later, as_of)


@FEW
@given(outfits(away=False), st.data())
def test_however_often_the_keeper_is_away_no_hard_stop_is_passed_without_a_conflict(
    case: Case, data: st.DataObject
) -> None:
    """The invariants say so for each plan; here away periods are added one by one."""
    kept, as_of = into_journal(case[0]), case[1]
    (there,) = kept.yards
    for period in data.draw(aways(season_begins(there.region), most=4)):
        there = replace(there, away=(*there.away, period))
        made = plan(replace(kept, yards=(there,)), as_of)
        named = {i for conflict in made.conflicts for i in conflict.tasks}
        for task in made.tasks:
            stop, done = task.window.hard_stop, task.planned
            if stop is not None and (done is None or done > stop) and task.status not in (Status.DONE, Status.MISSED):
                assert task.id in named


@FEW
@given(outfits())
def test_lines_after_as_of_change_nothing(case: Case) -> None:
    kept, as_of = case
    (there,) = kept.yards
    future = [
        e
        for c in there.colonies
        for e in (line(f"{date.fromordinal(as_of + 1).isoformat()} {word}", c.key) for word in ("died", "inspected"))
    ]
    journal = into_journal(kept)
    assert shape(plan(journal, as_of)) == shape(
        plan(replace(journal, journal=(*(journal.journal or ()), *future)), as_of)
    )


@FEW
@given(outfits(regions=["us_northeast", "germany_central_europe", "nz_north_island"]), st.integers(-25, 25))
def test_an_observed_spring_moves_the_windows_of_spring_by_what_it_was_early_or_late(case: Case, gap: int) -> None:
    kept, _ = case
    (there,) = kept.yards
    season = season_of(there, rules(), season_begins(there.region), 2027)
    due = season.marks["swarm_start"].begins.usual
    seen = replace(there, observed={"swarm_start": due + gap})
    moved = season_of(seen, rules(), season.last, 2027)
    for name, mark in season.marks.items():
        same_class = rules().marks[name].season == rules().marks["swarm_start"].season
        if name != "swarm_start" and same_class and mark.begins.usual >= due:
            assert moved.marks[name].begins.usual - mark.begins.usual >= min(gap, 0)
    assert moved.marks["swarm_start"].begins.usual == due + gap
    plan(replace(kept, yards=(seen,)), season.last - 70)


def test_the_strategies_reach_what_they_are_meant_to() -> None:
    """Sixty random outfits hold every beginning, both kinds of frames, traps that hang, and refusals."""
    kinds: set[str] = set()
    seen: set[str] = set()

    @settings(max_examples=60, deadline=None, derandomize=True, database=None)
    @given(outfits())
    def look(case: Case) -> None:
        kept, as_of = case
        kinds.update(c.kind for c in kept.yards[0].colonies)
        assert region_of(kept)
        made = make_plan(kept, rules(), as_of, 2027)
        seen.update("refused" for _ in made.refusals)
        seen.update(f"conflict {because_words(c.what).split(': ')[-1].split(',')[0]}"[:14] for c in made.conflicts)
        seen.update(f.kind for c in kept.yards[0].colonies for f in c.traps)
        seen.update("hangs" for c in kept.yards[0].colonies if c.history)

    look()
    assert kinds == set(BEGINNINGS)
    assert {"refused", "short", "drawn", "hangs"} <= seen
    assert told(on("05-01")) == "05-01"
