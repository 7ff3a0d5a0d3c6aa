"""Packing against brute force, and the classical result on windows alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise, product
from random import Random
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from planning.pack.by_rules import MOST, pack, pack_drives
from planning.pack.strand_checks import DrivesWorth, Worth, drives_worth, least_deviation, missed, worth
from planning.pack.strand_samples import Dice, Reach, chain, random_outfit, random_yard, yards_alike
from planning.yards import colony, outfit, plan, shipped, yard

from ipmcal.model.plan.strand import Node, Stop, Strand
from ipmcal.model.values.days import KeeperDays
from ipmcal.model.values.forms import Amount
from ipmcal.planning import rounds
from ipmcal.planning.pack import search, sweep
from ipmcal.planning.pack.deviation import Deviation
from ipmcal.planning.pack.pack import Drives, Memo, Placing
from ipmcal.planning.pack.sweep import Fewest
from ipmcal.planning.pack.weave import Weave, weave
from ipmcal.planning.pack.weave import YardStrands as DriveYard


def brute(strands: Sequence[Strand], days: KeeperDays) -> Worth:
    """The best of all sets of days, tried one by one."""
    for size in range(len(days) + 1):
        tried = (
            (sum(least_deviation(strand, days, set(visits)) for strand in strands), visits)
            for visits in combinations(range(len(days)), size)
        )
        total, visits = min(tried)
        if total < float("inf"):
            return size, int(total), visits
    raise AssertionError("no set of days carries the strands")


def brute_drives(yards: Sequence[DriveYard]) -> DrivesWorth:
    """The best of all sets of days for each yard, tried one by one."""
    able: list[list[tuple[int, set[int]]]] = []
    for strands, days in yards:
        able.append([])
        for size in range(len(days) + 1):
            for chosen in combinations(range(len(days)), size):
                total = sum(least_deviation(strand, days, set(chosen)) for strand in strands)
                if total < float("inf"):
                    able[-1].append((int(total), {days.ordinals[at] for at in chosen}))
    return min(
        (len(set().union(*visits)), sum(map(len, visits)), sum(total for total, _ in one), missed(yards, visits))
        for one in product(*able)
        for visits in [[here for _, here in one]]
    )


def wild_strand(dice: Dice, key: str, days: KeeperDays) -> Strand:
    """A strand without rhyme or reason: up to two nodes a day, each owing a random set of later days, or nothing."""
    nodes: list[Node] = []

    def stop(after: int) -> Stop | None:
        chosen = {node.at: n for n, node in enumerate(nodes) if node.at > after and dice.chance(0.4)}
        picked = tuple(chosen[at] for at in sorted(chosen))
        return Stop(sum(1 << at for at in chosen), picked, days.ordinals[0] + dice.between(0, 20)) if chosen else None

    for at in reversed(range(len(days))):
        for _ in range(dice.between(0 if nodes else 1, 2)):
            nodes.append(Node("step", at, None if dice.chance(0.15) else stop(at)))
    first = stop(-1)
    while first is None:
        first = stop(-1)
    return Strand(key, first, tuple(nodes))


Rule = tuple[Reach, tuple[Reach, ...]]
YardStrands = tuple[list[Rule], KeeperDays]


@st.composite
def windows(draw: st.DrawFn) -> Reach:
    """A window of up to three weeks in two months."""
    opens, length = draw(st.integers(0, 60)), draw(st.integers(0, 20))
    return opens, opens + length, opens + draw(st.integers(-2, length + 2))


@st.composite
def yards(draw: st.DrawFn) -> YardStrands:
    """Up to nine days, and up to five rules of up to four steps, each drawn around a path on them: all can be done."""

    def around(middle: int) -> Reach:
        low, high = max(1, middle - draw(st.integers(0, 3))), middle + draw(st.integers(0, 4))
        return low, high, draw(st.integers(low - 1, high + 1))

    days = sorted(draw(st.sets(st.integers(1, 24), min_size=4, max_size=9)))
    rules: list[Rule] = []
    for _ in range(draw(st.integers(1, 5))):
        path = sorted(draw(st.sets(st.sampled_from(days), min_size=1, max_size=4)))
        rules.append((around(path[0]), tuple(around(later - day) for day, later in pairwise(path))))
    return rules, KeeperDays(tuple(days))


def compiled(rules: Sequence[Rule], days: KeeperDays) -> tuple[Strand, ...]:
    """A strand for each rule."""
    strands = [chain(f"strand {i}", days, first, gaps) for i, (first, gaps) in enumerate(rules)]
    assert all(strands)
    return tuple(strand for strand in strands if strand is not None)


@given(yards())
def test_tiny_yards_equal_brute_force(yard: YardStrands) -> None:
    """Visits, deviation and days, over all subsets of the days."""
    days = yard[1]
    strands = compiled(*yard)
    placing = pack(strands, days)
    best = brute(strands, days)
    assert worth(strands, days, placing) == best
    assert placing.lower_bound == best[0]


@given(seed=st.integers(0, 2**32), length=st.integers(6, 12), count=st.integers(1, 5))
@example(seed=11, length=10, count=5)
@example(seed=373, length=8, count=3)
def test_tiny_yards_of_any_shape_equal_brute_force(seed: int, length: int, count: int) -> None:
    """As above; the examples are yards where a step that can be reached in two ways is cheaper by a visit between."""
    dice = Dice(Random(seed))
    days = KeeperDays(tuple(sorted({dice.between(1, 25) for _ in range(length)})))
    strands = [wild_strand(dice, f"strand {i}", days) for i in range(count)]
    placing = pack(strands, days)
    best = brute(strands, days)
    assert worth(strands, days, placing) == best
    assert placing.lower_bound == best[0]


@st.composite
def small_outfits(draw: st.DrawFn) -> list[DriveYard]:
    """Two or three yards of up to five days in three weeks, and up to three strands each."""
    dice = Dice(Random(draw(st.integers(0, 2**32))))
    yards: list[DriveYard] = []
    for _ in range(draw(st.integers(2, 3))):
        days = KeeperDays(tuple(sorted({dice.between(1, 8) for _ in range(5)})))
        yards.append(([wild_strand(dice, f"strand {i}", days) for i in range(dice.between(1, 3))], days))
    return yards


@given(small_outfits())
def test_tiny_outfits_equal_brute_force(yards: list[DriveYard]) -> None:
    """Drives, visits, deviation and days, over all subsets of the days of each yard."""
    placed = pack_drives(yards)
    best = brute_drives(yards)
    assert drives_worth(yards, placed) == best
    assert placed.least_drives == best[0]
    assert placed.least_visits <= best[1]


@given(yards(), st.integers(1, 24))
def test_a_day_more_at_one_yard_never_costs_a_drive_and_a_strand_less_never_does(yard: YardStrands, extra: int) -> None:
    rules, days = yard
    here, there = rules[: len(rules) // 2 + 1], rules[len(rules) // 2 :]
    more = KeeperDays(tuple(sorted({*days, extra})))

    def packed(here: Sequence[Rule], days_there: KeeperDays) -> tuple[int, int]:
        placed = pack_drives([(compiled(here, days), days), (compiled(there, days_there), days_there)])
        return len(placed.days), placed.visits

    assert packed(here, more) <= packed(here, days)
    assert packed(here[1:], days) <= packed(here, days)


def test_a_drive_is_saved_before_a_visit() -> None:
    """One yard alone has its two tasks done in one visit on day 5; the other must be visited on days 3 and 7."""
    days = KeeperDays((3, 5, 7))
    easy = compiled([((3, 5, 5), ()), ((5, 7, 5), ())], days)
    fixed = compiled([((3, 3, 3), ()), ((7, 7, 7), ())], days)
    placed = pack_drives([(easy, days), (fixed, days)])
    assert placed.days == (3, 7)
    assert [placing.visits for placing in placed.placings] == [(0, 2), (0, 2)]
    assert [placing.lower_bound for placing in placed.placings] == [1, 2]
    assert len(pack(easy, days).visits) == 1


def test_a_yard_without_tasks_is_not_driven_to() -> None:
    days = KeeperDays((3, 5))
    strands = compiled([((3, 5, 5), ())], days)
    empty = Placing((), {}, 0)
    placed = pack_drives([([], days), (strands, days), ([], KeeperDays(()))])
    assert placed == Drives((5,), (empty, pack(strands, days), empty), 1, 1)
    assert pack_drives([]) == Drives((), (), 0, 0)


def test_packing_again_from_memory_gives_the_same() -> None:
    memo: Memo = {}
    strands, days = random_yard(2)
    renamed = [replace(strand, key=f"{strand.key} again") for strand in strands]
    first, again = pack(strands, days, memo=memo), pack(renamed, days, memo=memo)
    assert len(memo) == 1
    assert first == pack(strands, days)
    assert again.paths == {f"{key} again": path for key, path in first.paths.items()}
    pack(strands, days, width=5, memo=memo)
    assert len(memo) == 2


@given(st.lists(windows(), min_size=1, max_size=12))
def test_windows_alone_are_pierced_by_earliest_close(drawn: list[Reach]) -> None:
    """As many points pierce intervals as there are disjoint ones among them (A. Hajnal, J. Surányi, 1958, Über die
    Auflösung von Graphen in vollständige Teilgraphen), and closing points, taken as they come, are enough (F. Gavril,
    1972, Algorithms for minimum coloring, maximum clique, minimum covering by cliques, and maximum independent set of
    a chordal graph)."""
    days = KeeperDays(tuple(range(100)))
    strands = compiled([(window, ()) for window in drawn], days)
    points: list[int] = []
    for opens, closes, _ in sorted(drawn, key=lambda window: window[1]):
        if not points or points[-1] < opens:
            points.append(closes)
    placing = pack(strands, days)
    assert len(placing.visits) == len(points) == placing.lower_bound


@given(yards(), st.randoms(use_true_random=False))
def test_neither_order_nor_keys_matter(yard: YardStrands, random: Random) -> None:
    strands, days = compiled(*yard), yard[1]
    mixed = list(strands)
    random.shuffle(mixed)
    names = {strand.key: f"{i} {strand.key}" for i, strand in enumerate(mixed)}
    placing = pack(strands, days)
    other = pack([replace(strand, key=names[strand.key]) for strand in mixed], days)
    assert (other.visits, other.lower_bound) == (placing.visits, placing.lower_bound)
    assert other.paths == {names[key]: path for key, path in placing.paths.items()}


@pytest.mark.parametrize(("seed", "weekdays"), [(0, None), (11, None), (108, 7), (112, 7)])
def test_the_order_of_a_whole_yard_does_not_matter(seed: int, weekdays: int | None) -> None:
    strands, days = random_yard(seed, weekdays, 8)
    assert pack(strands[::-1], days) == pack(strands, days)


def test_the_order_of_strands_that_begin_alike_leaves_no_trace_in_the_weave() -> None:
    days = KeeperDays(tuple(range(30)))
    strands = compiled([((1, 3, 2), ((5, 7, 6),)), ((1, 3, 2), ((9, 12, 10),))], days)
    assert weave([(strands[::-1], days)]).weave == weave([(strands, days)]).weave


def left_over(strand: Strand, path: Sequence[int], first: int) -> Strand | None:
    """What a strand done along its path before day ``first`` still owes from that day on; None for nothing."""
    done = [n for n in path if strand.nodes[n].at < first]
    number = {n: i for i, n in enumerate(n for n, node in enumerate(strand.nodes) if node.at >= first)}

    def later(stop: Stop | None) -> Stop | None:
        return stop and Stop(stop.days >> first, tuple(number[n] for n in stop.nodes if n in number), stop.best_day)

    owed = later(strand.nodes[done[-1]].then if done else strand.first)
    nodes = tuple(
        replace(strand.nodes[n], at=strand.nodes[n].at - first, then=later(strand.nodes[n].then)) for n in number
    )
    return Strand(strand.key, owed, nodes) if owed else None


@given(yards())
def test_packing_anew_after_all_was_done_as_planned_changes_nothing(yard: YardStrands) -> None:
    strands, days = compiled(*yard), yard[1]
    placing = pack(strands, days)
    for first in placing.visits:
        rest = [left_over(strand, placing.paths[strand.key], first) for strand in strands]
        again = pack([strand for strand in rest if strand], KeeperDays(days.ordinals[first:]))
        assert [visit + first for visit in again.visits] == [visit for visit in placing.visits if visit >= first]


@given(yards(), st.integers(1, 25))
def test_one_more_day_never_costs_a_visit(yard: YardStrands, extra: int) -> None:
    rules, days = yard
    more = KeeperDays(tuple(sorted({*days, extra})))
    assert len(pack(compiled(rules, more), more).visits) <= len(pack(compiled(rules, days), days).visits)


@given(yards())
def test_one_strand_less_never_costs_a_visit(yard: YardStrands) -> None:
    strands, days = compiled(*yard), yard[1]
    visits = len(pack(strands, days).visits)
    for i in range(len(strands)):
        assert len(pack(strands[:i] + strands[i + 1 :], days).visits) <= visits


@pytest.mark.parametrize("width", [1, 2, 8])
def test_every_width_gives_a_valid_placing(width: int) -> None:
    strands, days = random_yard(11)
    placing = pack(strands, days, width=width)
    assert placing.lower_bound <= worth(strands, days, placing)[0] <= len(pack(strands, days).visits) + 1


def test_equal_colonies_share_their_visits_whatever_their_labels() -> None:
    strands, days = random_yard(2)
    again = [
        replace(strand, key=f"{strand.key} of {i}", nodes=tuple(replace(node, label=f"{i}") for node in strand.nodes))
        for i in range(40)
        for strand in strands
    ]
    one, forty = pack(strands, days), pack(again, days)
    assert forty.visits == one.visits
    assert forty.paths == {f"{key} of {i}": path for key, path in one.paths.items() for i in range(40)}
    assert len(weave([(again, days)]).weave.bundles) == len(strands)


def test_many_equal_colonies_outweigh_one() -> None:
    """Two windows share a visit: it falls on the best day of the more numerous, and on the earlier between equals."""
    days = KeeperDays(tuple(range(10)))
    early, late = (0, 9, 2), (0, 9, 7)

    def visit(*given: Reach) -> tuple[int, ...]:
        return pack(compiled([(window, ()) for window in given], days), days).visits

    assert visit(early, late) == (2,)
    assert visit(early, late, late) == (7,)
    assert visit(early, early, late) == (2,)


def test_a_trap_chain_waits_for_another_colonys_window() -> None:
    """Cuts best 21 days apart, the first on day 21; a count, best on day 40, draws the second cut there.

    Off by one day at the first cut and at the second: no less is possible, and days 21, 41, 62 would do it later.
    """
    days = KeeperDays(tuple(range(90)))
    trap = chain("trap", days, (20, 22, 21), ((17, 24, 21),) * 2)
    count = chain("count", days, (40, 41, 40), ())
    assert trap is not None
    assert count is not None
    placing = pack([trap, count], days)
    assert worth([trap, count], days, placing) == (3, 2, (20, 40, 61))
    assert [trap.nodes[n].at for n in placing.paths["trap"]] == [20, 40, 61]


def test_nothing_to_do_needs_no_visit() -> None:
    assert pack([], KeeperDays((1, 2))) == Placing((), {}, 0)
    assert pack([], KeeperDays(())) == Placing((), {}, 0)


THREE = KeeperDays((5, 6, 7))
OWES_NOTHING = Stop(0, (), 5)


@pytest.mark.parametrize(
    ("strand", "words"),
    [
        (Strand("A1 cut", OWES_NOTHING, ()), "'A1 cut' can't be done"),
        (Strand("A2 cut", Stop(1, (0,), 5), (Node("cut", 0, OWES_NOTHING),)), "'A2 cut' can't be done"),
        (Strand("A3 cut", Stop(2, (0,), 5), (Node("cut", 1, Stop(2, (0,), 5)),)), "'A3 cut' leads back"),
    ],
)
def test_a_strand_that_can_not_be_done_is_named(strand: Strand, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        pack([Strand("fine", Stop(1, (0,), 5), (Node("cut", 0, None),)), strand], THREE)


def test_a_dead_end_off_every_path_does_no_harm() -> None:
    nodes = (Node("cut", 0, None), Node("never", 1, OWES_NOTHING))
    assert pack([Strand("A1", Stop(1, (0,), 5), nodes)], THREE) == Placing((0,), {"A1": (0,)}, 1)


def test_a_key_given_twice_is_named() -> None:
    strand = Strand("A1 cut", Stop(1, (0,), 5), (Node("cut", 0, None),))
    with pytest.raises(ValueError, match="'A1 cut' is given twice"):
        pack([strand, strand], THREE)


def test_a_width_below_one_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        pack([], THREE, width=0)


def test_thinning_leaves_only_visits_that_are_needed() -> None:
    strands, days = random_yard(2)
    woven = weave([(strands, days)]).weave
    every = sum(woven.bit(day) for day in range(len(days)))
    kept = set(woven.days(Fewest(woven).thinned(every)))
    assert all(least_deviation(strand, days, kept) < float("inf") for strand in strands)
    for day in kept:
        assert any(least_deviation(strand, days, kept - {day}) == float("inf") for strand in strands)


def test_moving_drives_by_trial_ends_after_so_many_counted_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each look at the whole weave counts; one more than allowed at most, and every strand is carried all the same."""
    looked: list[int] = []

    class Counted(search.Deviation):
        def __init__(self, weave: Weave) -> None:
            super().__init__(weave)
            self.ways = weave.ways

        def beside(self, visits: int, most: int) -> int | None:
            looked.append(self.ways)
            return super().beside(visits, most)

    monkeypatch.setattr(search, "Deviation", Counted)
    yards = random_outfit(3)
    spent = {}
    for most in (0, 5000, 10**8):
        looked.clear()
        drives_worth(yards, pack_drives(yards, width=1, most=most))
        spent[most] = sum(looked)
        assert spent[most] <= most + sum(looked[:1])
    assert spent[0] == 0
    assert spent[5000] < spent[10**8]


def test_what_is_kept_of_later_days_is_what_is_worked_out_anew() -> None:
    """Visits in any order, some of which don't carry the strands: each as if it were the first that is asked."""
    chance = Random(3)
    for seed in range(12):
        woven = weave(random_outfit(seed)).weave
        asked = Deviation(woven)
        visits = sum(woven.bit(day, yard) for day in range(woven.length) for yard in range(woven.yards))
        for _ in range(40):
            visits ^= 1 << chance.randrange(woven.length * woven.yards)
            assert asked.of(visits) == Deviation(woven).of(visits)


def test_visits_that_differ_little_are_asked_about_as_if_they_were_the_first() -> None:
    """Up to three visits come or go; above the most that is asked for there is no answer."""
    chance, answers = Random(4), 0
    for seed in range(12):
        woven = weave(random_outfit(seed)).weave
        asked = Deviation(woven)
        here = sum(woven.bit(day, yard) for day in range(woven.length) for yard in range(woven.yards))
        for _ in range(40):
            if asked.of(here) is None:
                break
            near = here
            for _ in range(chance.randrange(1, 4)):
                near ^= 1 << chance.randrange(woven.length * woven.yards)
            total = Deviation(woven).of(near)
            assert asked.beside(near, 10**9) == total
            if total is not None:
                assert asked.beside(near, total) == total
                assert asked.beside(near, total - 1) is None
                here, answers = near, answers + 1
    assert answers > 100


@pytest.mark.parametrize(("yards", "most"), [(4, 0), (4, 10**5), (4, 10**8), (20, 10**5), (20, 10**6)])
def test_sets_of_yards_end_after_so_many_counted_steps(monkeypatch: pytest.MonkeyPatch, yards: int, most: int) -> None:
    """Twenty yards on one drive have a million sets a day: as many are made as there are steps, and all is carried."""
    made = 0

    def counted(yards: Sequence[int], size: int) -> Iterator[tuple[int, ...]]:
        nonlocal made
        for one in combinations(yards, size):
            made += yards[1:] != []  # a yard by itself has one set, and no choice
            assert made <= most
            yield one

    monkeypatch.setattr(sweep, "combinations", counted)
    outing = yards_alike(yards)
    drives_worth(outing, pack_drives(outing, most=most))
    assert made or yards == 20 or not most


def test_a_plan_packs_with_as_many_steps_as_its_rules_say(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def counted(*yards: Any, most: int, **more: Any) -> Drives:
        asked.append(most)
        return pack_drives(*yards, most=most, **more)

    monkeypatch.setattr(rounds, "pack_drives", counted)
    book = shipped()
    few = replace(book.planning.packing_millions, value=Amount(2, 2, 2, "1"))
    for one, most in (
        (book, MOST),
        (replace(book, planning=book.planning.model_copy(update={"packing_millions": few})), 2 * 10**6),
    ):
        asked.clear()
        plan(outfit(yard(colony("1"))), "05-01", book=one)
        assert set(asked) == {most}
