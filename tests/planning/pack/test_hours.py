"""Hours: no visit longer than the keeper has, by moving hives in their windows; against brute force on tiny yards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.pack.by_rules import pack
from planning.yards import SAT, SUN, colony, on, outfit, outfits, own_task, plan, rules, yard

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.strand import Node, Stop, Strand
from ipmcal.model.values.days import KeeperDays, positions
from ipmcal.planning.decide.tally import yardstick
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.pack.hours import fit, rerouted
from ipmcal.planning.plan import keeper_days, season_of
from ipmcal.planning.recall.state import recall
from ipmcal.planning.unfold.unfold import unfold

QUIET = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def many(hives: int, hours: float | None, weekdays: tuple[int, ...] = (SAT, SUN), minutes: int = 10) -> Yard:
    """Hives of one box with one task each of the keeper's own, 10 minutes between 1 and 16 May."""
    feed = replace(own_task("feed", "05-01", "05-16", per_colony=True), minutes=minutes)
    there = yard(
        *(colony(str(i), boxes=("deep",)) for i in range(1, hives + 1)), weekdays=weekdays, tasks=[feed], declined=QUIET
    )
    return replace(there, hours=hours)


def taken(made: Plan) -> list[tuple[int, int]]:
    """The days of May with their minutes."""
    return [(visit.day - on("05-01") + 1, visit.minutes) for visit in made.visits]


# A yard too large for an afternoon ------------------------------------------------------------------------------------


def test_forty_hives_are_as_many_afternoons_as_they_take_and_that_is_said() -> None:
    """15 min a visit, 5 + 10 a hive (common practice): 40 hives are 615 min; in 3 h are 11 hives: four afternoons."""
    made = plan(many(40, 3))
    assert [minutes for _, minutes in taken(made)] == [180, 180, 180, 120]
    assert not made.conflicts
    notes = [note for note in made.yards[0].notes if "would take more than 3 h" in note]
    assert len(notes) == 3
    assert notes[0].endswith("30 to 40 on Sun 2 May")


def test_without_hours_it_is_one_visit() -> None:
    assert [minutes for _, minutes in taken(plan(many(40, None)))] == [615]


def test_the_first_in_walking_order_stay() -> None:
    made = plan(many(12, 2))
    first = [task.colony for task in made.tasks if task.planned == made.visits[0].day]
    assert first == [str(i) for i in range(1, 8)]


def test_what_can_not_be_moved_is_flagged_with_what_would_help() -> None:
    made = plan(many(40, 1, weekdays=(SAT,)))
    (conflict,) = [c for c in made.conflicts if "takes" in because_words(c.what)]
    assert "and you have 1 h" in because_words(conflict.what)
    assert "a second pair of hands" in because_words(conflict.helps)
    assert set(conflict.tasks) == {t.id for t in made.tasks if t.planned == on(conflict_day(made))}


def conflict_day(made: Plan) -> str:
    long = next(v for v in made.visits if v.minutes > 60)
    return f"05-{long.day - on('05-01') + 1:02}"


def test_a_keepers_own_pace_counts() -> None:
    slow = replace(many(4, None), pace={"visit": 30.0, "hive": 20.0})
    assert taken(plan(slow))[0][1] == 30 + 4 * (20 + 10)


def test_boxes_above_cost_minutes() -> None:
    """2 min a box (assumption, planning.yaml): two deeps and a super are two boxes off the bottom one."""
    there = replace(many(1, None), colonies=(colony("1", boxes=("deep", "deep"), supers=1),))
    assert taken(plan(there))[0][1] == 15 + 5 + 2 * 2 + 10


# Properties -----------------------------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(outfits(history=False), st.sampled_from([0.75, 1.0, 2.0, 4.0]))
def test_any_outfit_keeps_its_hours_or_says_so(case: tuple[Outfit, int], hours: float) -> None:
    kept, as_of = case
    (there,) = kept.yards
    made = plan(replace(kept, yards=(replace(there, hours=hours),)), as_of)
    said = {task for c in made.conflicts if "and you have" in because_words(c.what) for task in c.tasks}
    for visit in made.visits:
        assert visit.minutes <= hours * 60 or set(visit.tasks) <= said


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 2)), min_size=1, max_size=5), st.integers(1, 3))
def test_tiny_yards_against_brute_force(drawn: list[tuple[int, int]], room: int) -> None:
    """Saturdays of May and June; each hive has one task of 10 min in a window of weeks; ``room`` hives fit a visit.

    Where all fits, no day is too long and there are no fewer visits than brute force finds, and at most one more.
    """
    windows = [(first, first + more) for first, more in drawn]
    ground, errands = tiny(windows, hours=(15 + 15 * room) / 60)
    placing = pack([errand.strand for errand in errands], ground.days)
    fitted = fit(ground, errands, placing.paths)
    used = [e.chain.nodes[node].at for e in errands for node in fitted.paths[e.key]]
    open_days = [set(positions(errand.chain.first.days)) for errand in errands]
    assert all(day in some for day, some in zip(used, open_days, strict=True))
    best = least_visits(open_days, room)
    overlong = {day for day in used if used.count(day) > room}
    assert {ground.days.ordinals[day] for day in overlong} == fitted.overlong
    if best is not None and not overlong:
        assert best <= len(set(used)) <= best + 1


def tiny(windows: list[tuple[int, int]], hours: float) -> tuple[Ground, list[Errand]]:
    """A yard's ground, and for each window a hive with one task in it."""
    there = yard(weekdays=(SAT,), declined=QUIET)
    errands: list[Errand] = []
    ground = None
    for i, (first, last) in enumerate(windows):
        task = own_task(f"t{i}", _week(first), _week(last), per_colony=True)
        hive = colony(str(i), boxes=("deep",))
        alone = replace(there, colonies=(hive,), tasks=(task,), hours=hours)
        season = season_of(alone, rules(), on("01-01"), 2027)
        days = keeper_days(alone, on("05-01"), on("06-30"))
        stick = yardstick(season, alone.jurisdiction, rules())
        ground = Ground(alone, rules(), season, days, on("01-01"), False, KeeperDays(()), stick)
        state = recall(hive, (), season, on("01-01"), rules())
        errands.extend(unfold(ground, (state,), {}).errands)
    assert ground is not None
    return ground, errands


def _week(number: int) -> str:
    """A Saturday, counted from 1 May 2027."""
    return date.fromordinal(on("05-01") + 7 * number).strftime("%m-%d")


def least_visits(windows: list[set[int]], room: int) -> int | None:
    """The fewest days that hold every hive, so many a day, by trying all."""
    days = sorted(set().union(*windows))
    for size in range(len(days) + 1):
        for chosen in combinations(days, size):
            for where in product(chosen, repeat=len(windows)):
                inside = all(day in some for some, day in zip(windows, where, strict=True))
                if inside and all(where.count(day) <= room for day in chosen):
                    return size
    return None


def test_a_path_is_rerouted_only_where_all_later_steps_keep_their_days() -> None:
    """Two ways to the end: by day 0 then 5, or by day 1 then 5; day 2 leads nowhere near 5."""
    end = Node("b", 5, None)
    late = Node("b", 7, None)
    nodes = (
        Node("a", 0, Stop(1 << 5, (3,), 5)),
        Node("a", 1, Stop(1 << 5 | 1 << 7, (3, 4), 5)),
        Node("a", 2, Stop(1 << 7, (4,), 7)),
        end,
        late,
    )
    strand = Strand("x", Stop(0b111, (0, 1, 2), 0), nodes)
    assert rerouted(strand, (0, 3), 0, 1) == (1, 3)
    assert rerouted(strand, (0, 3), 0, 2) is None
    assert rerouted(strand, (1, 3), 1, 7) == (1, 4)


@pytest.mark.parametrize("hours", [1.0, 2.5])
def test_the_same_input_gives_an_equal_plan(hours: float) -> None:
    assert plan(outfit(many(15, hours))) == plan(outfit(many(15, hours)))


def test_a_hundred_hives_are_spread_without_one_visit_too_long() -> None:
    """15 hives of 15 min fit 4 h beside the 15 min of a visit (common practice): 105 hives are seven visits.

    From 1 to 16 May there are seven days from Fridays to Sundays, with the last held back for rain.
    """
    made = plan(many(105, 4, weekdays=(4, 5, 6)))
    assert len(made.visits) == 7
    assert all(visit.minutes <= 240 for visit in made.visits)
