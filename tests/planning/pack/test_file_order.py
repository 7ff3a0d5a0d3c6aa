"""The order of hives in the file changes nothing but the way through the yard: any outfit, with hours and without."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import SAT, SUN, colony, on, outfits, own_task, rules, yard

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Plan
from ipmcal.planning.pack.hours import on_the_way
from ipmcal.planning.plan import make_plan


def told(made: Plan) -> object:
    """What a plan says, but for the order in which hives are walked."""
    tasks = {t.id: (t.planned, t.done, t.status, t.rain_date, t.window, sorted(t.notes)) for t in made.tasks}
    visits = {(v.yard, v.day): (sorted(v.tasks), v.minutes, v.rain_date) for v in made.visits}
    return tasks, visits, sorted((c.yard, sorted(c.tasks)) for c in made.conflicts)


def shuffled(kept: Outfit, seed: int) -> Outfit:
    """The outfit with the hives of each yard in another order."""
    chance = random.Random(seed)
    yards = [replace(there, colonies=tuple(chance.sample(there.colonies, len(there.colonies)))) for there in kept.yards]
    return replace(kept, yards=tuple(yards))


@settings(max_examples=40, deadline=None)
@given(outfits(most=5), st.sampled_from([None, 0.75, 1.0, 2.0]), st.integers(0, 1000))
def test_another_order_in_the_file_gives_the_same_plan(
    case: tuple[Outfit, int], hours: float | None, seed: int
) -> None:
    kept, as_of = case
    kept = replace(kept, yards=tuple(replace(there, hours=hours) for there in kept.yards))
    assert told(make_plan(shuffled(kept, seed), rules(), as_of)) == told(make_plan(kept, rules(), as_of))


@pytest.mark.parametrize("seed", range(6))
def test_twelve_hives_on_two_afternoons_are_the_same_in_any_order(seed: int) -> None:
    feed = replace(own_task("feed", "05-01", "05-16", per_colony=True), minutes=10)
    hives = [colony(str(i), boxes=("deep",)) for i in range(1, 13)]
    there = replace(yard(*hives, weekdays=(SAT, SUN), tasks=[feed]), hours=2.0)
    kept = Outfit("outfit", "Outfit", (there,), None)
    assert told(make_plan(shuffled(kept, seed), rules(), on("01-01"))) == told(make_plan(kept, rules(), on("01-01")))


def test_hives_go_by_the_keepers_numbers_then_by_their_keys() -> None:
    hives = [colony("10"), colony("2"), colony("b2"), colony("b10"), replace(colony("z"), walk=3, walk_told=True)]
    assert [hive.key for hive in sorted(hives, key=on_the_way)] == ["z", "2", "10", "b2", "b10"]
