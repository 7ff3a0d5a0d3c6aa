"""Chains: a method compiled against the keeper's days, bent no further than it has to be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import cut_from, frame, line, on, told

from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.plan.strand import Stop
from ipmcal.model.values.days import KeeperDays, Span, positions
from ipmcal.planning.days.chain import Chain, Ease, compile_chain, replay
from ipmcal.planning.days.frame import Cursor, Frame, after, opening_at

CUT, CHECK, COUNT, NEW = "trap_comb_cut", "swarm_check", "mite_count", "new_colony"


def compiled(of: Frame, cursor: Cursor) -> Chain:
    chain = compile_chain(of, cursor)
    assert chain is not None
    return chain


def paths(chain: Chain, stop: Stop | None = None) -> Iterator[tuple[int, ...]]:
    """Every way through a chain, as its nodes."""
    for node in (stop or chain.first).nodes:
        then = chain.nodes[node].then
        if then is None:
            yield (node,)
        else:
            yield from ((node, *rest) for rest in paths(chain, then))


def told_path(of: Frame, chain: Chain, path: tuple[int, ...]) -> list[str]:
    days = [of.days.ordinals[chain.nodes[i].at] for i in path]
    return [f"{told(day)} {chain.steps[i][0]}/{chain.steps[i][1]}" for i, day in zip(path, days, strict=True)]


def days_of(of: Frame, stop: Stop) -> list[str]:
    return [told(of.days.ordinals[i]) for i in positions(stop.days)]


# Strict ---------------------------------------------------------------------------------------------------------------


def test_a_saturday_keeper_cuts_on_the_saturdays_of_each_window_and_takes_the_frame_out_at_last() -> None:
    """Cut on Saturday 1 May: 18 to 25 May holds Saturday 22; so every three weeks, until it opens after 21 June."""
    of = frame(CUT)
    chain = compiled(of, cut_from("05-01", n=2))
    assert chain.ease is Ease.STRICT
    assert [told_path(of, chain, path) for path in paths(chain)] == [["05-22 cut/2", "06-12 cut/3", "07-03 take_out/1"]]


def test_where_several_days_lie_in_a_window_the_last_is_held_back_for_rain() -> None:
    """Any day: the window is 18 to 25 May, and the 25th is held back."""
    of = frame(CUT, weekdays=None)
    chain = compiled(of, cut_from("05-01", n=2))
    assert days_of(of, chain.first) == [f"05-{day}" for day in range(18, 25)]


def test_the_only_day_of_a_window_is_not_held_back() -> None:
    of = frame(CUT)
    assert days_of(of, compiled(of, cut_from("05-01", n=2)).first) == ["05-22"]


def test_what_is_owed_next_counts_from_the_day_on_which_the_last_was_done() -> None:
    of = frame(CUT, weekdays=None)
    chain = compiled(of, cut_from("05-01", n=2))
    for i in chain.first.nodes:
        node, then = chain.nodes[i], chain.nodes[i].then
        assert then is not None
        gap = min(of.days.ordinals[chain.nodes[k].at] for k in then.nodes) - of.days.ordinals[node.at]
        assert gap == 17, "emptied + 3 + 14"


@pytest.mark.parametrize("weekdays", [(5,), (2,), (5, 6), None])
def test_no_cut_begins_anew_after_its_until_nor_more_often_than_allowed(weekdays: tuple[int, ...] | None) -> None:
    """15 July - 24 d = 21 June; six cuts at most."""
    of = frame(CUT, weekdays)
    chain = compiled(of, cut_from("02-13"))
    for path in _some(chain):
        days = [of.days.ordinals[chain.nodes[i].at] for i in path]
        made = list(replay(of, cut_from("02-13"), [chain.steps[i] for i in path], days))
        cuts = [one for one in made if one.step == "cut"]
        assert len(cuts) <= 6
        assert all(one.opening.window.opens <= on("06-21") for one in cuts if one.n > 1)
        assert made[-1].step == "take_out"


def _some(chain: Chain, most: int = 50) -> Iterator[tuple[int, ...]]:
    for count, path in enumerate(paths(chain), 1):
        yield path
        if count == most:
            return


def test_a_repeated_check_runs_from_check_to_check() -> None:
    """Swarms from 15 May to 15 July: from 8 May, every 5 to 7 days, the last not to open after 12 July, and so that the
    seven days after it reach to the last swarms."""
    of = frame(CHECK, (5,))
    (path,) = {tuple(told_path(of, c, p)) for c in [compiled(of, Cursor("check", 1, {}))] for p in list(paths(c))[:1]}
    days = [on(one.split()[0]) for one in path]
    assert all(then - first == 7 for first, then in pairwise(days))
    assert on("05-08") <= days[0] <= on("05-22")
    assert on("07-15") - 7 <= days[-1] <= on("07-14"), "inspected + 5 d is 12 July at the latest, and + 7 d the 14th"


# Bent -----------------------------------------------------------------------------------------------------------------


def test_a_soft_step_comes_late_on_the_first_day_after_its_window() -> None:
    """The count before winter bees, 16 July to 13 August; away until the 20th: Saturday 21 August."""
    of = frame(COUNT, away=(("07-10", "08-20"),))
    chain = compiled(of, Cursor("before_winter_bees", 1, {}))
    assert chain.ease is Ease.BENT
    assert days_of(of, chain.first) == ["08-21"]


def test_a_hard_step_comes_early_on_the_last_day_before_its_stop() -> None:
    """Cut on 1 May, to be cut again from 18 to 25 May; away from 16 to 30 May: on Saturday 15, early, not late."""
    of = frame(CUT, away=(("05-16", "05-30"),))
    chain = compiled(of, cut_from("05-01", n=2))
    assert chain.ease is Ease.BENT
    assert days_of(of, chain.first) == ["05-15"]


@pytest.mark.parametrize("back", range(26, 32))
def test_a_chain_that_bends_cuts_before_the_last_good_day_and_never_on_the_day_after(back: int) -> None:
    """Cut on 1 May, last good day 25 May; away from 16 May until some day after it: cut on 15 May, whoever is back."""
    of = frame(CUT, weekdays=None, away=(("05-16", f"05-{back - 1}"),))
    chain = compiled(of, cut_from("05-01", n=2))
    assert chain.ease is Ease.BENT
    assert days_of(of, chain.first) == ["05-15"]


@pytest.mark.parametrize("ends", range(1, 9))
def test_the_last_good_day_itself_is_good(ends: int) -> None:
    """Only the last days of the window are left, down to 25 May alone; the day after it is the keeper's too."""
    of = frame(CUT, weekdays=None, away=(("05-02", f"05-{25 - ends}"),))
    days = days_of(of, compiled(of, cut_from("05-01", n=2)).first)
    assert days == [f"05-{day}" for day in range(26 - ends, 26 if ends == 1 else 25)]


def test_with_no_day_left_before_it_the_first_day_after_the_last_good_day_is_overdue() -> None:
    """Cut on 1 May, away until 25 May: on the 26th it is too late, and that is said, not called early."""
    of = frame(CUT, weekdays=None, away=(("05-02", "05-25"),))
    chain = compiled(of, cut_from("05-01", n=2))
    assert (chain.ease, days_of(of, chain.first)) == (Ease.OVERDUE, ["05-26"])
    (made,) = list(replay(of, cut_from("05-01", n=2), chain.steps[:1], [on("05-26")]))
    assert made.bent == "overdue"


def test_one_bent_step_is_no_leave_to_bend_the_others() -> None:
    """The first check comes late because the keeper is away; from then on there is a day in time for each.

    Without this, one late step would let packing skip later windows to save a visit.
    """
    of = frame(CHECK, (2, 5), away=(("05-01", "05-25"),))
    chain = compiled(of, Cursor("check", 1, {}))
    assert chain.ease is Ease.BENT
    for path in _some(chain):
        days = [of.days.ordinals[chain.nodes[i].at] for i in path]
        made = list(replay(of, Cursor("check", 1, {}), [chain.steps[i] for i in path], days))
        assert [one.bent for one in made] == ["late"] + [""] * (len(made) - 1)


def test_a_repeated_step_does_not_come_late_after_its_until() -> None:
    """Away from June to August: no swarm check in September for the sake of having been there."""
    of = frame(CHECK, away=(("06-01", "08-31"),))
    chain = compiled(of, Cursor("check", 1, {}))
    last = max(of.days.ordinals[node.at] for node in chain.nodes)
    assert last <= on("07-03")


def test_where_nobody_is_in_time_for_the_next_the_chain_is_cut_short() -> None:
    """Cut on 17 April; away from 9 May to the end of July: after 8 May nobody could empty it, so it comes out then."""
    of = frame(CUT, away=(("05-09", "07-31"),))
    chain = compiled(of, cut_from("04-17", n=2))
    assert chain.ease is Ease.CUT_SHORT
    (path,) = paths(chain)
    assert told_path(of, chain, path) == ["05-08 cut/2"]
    missed = chain.missed[path[-1]].window
    assert (told(missed.opens), told(missed.closes)) == ("05-25", "06-01"), "8 May + 17 and + 24 d"


def test_cut_short_only_where_there_is_no_way_to_the_end() -> None:
    """Away in July only: the chain ends early with the frame out, and keeps as many cuts as it can."""
    of = frame(CUT, away=(("06-13", "07-31"),))
    chain = compiled(of, cut_from("05-01", n=2))
    lengths = {len(path) for path in paths(chain)}
    assert len(lengths) == 1
    assert all(told_path(of, chain, path)[-1].startswith("06-12") for path in paths(chain))


def test_what_hangs_and_is_overdue_is_done_on_the_next_day_there_is() -> None:
    """Cut on 1 May and nobody there before 1 June: CUT BY 25 May is passed, and Saturday 5 June is the next day."""
    of = frame(CUT, away=(("05-02", "05-31"),))
    chain = compiled(of, cut_from("05-01", n=2))
    assert chain.ease is Ease.OVERDUE
    assert days_of(of, chain.first) == ["06-05"]


def test_only_what_hangs_already_may_be_overdue_the_next_one_is_in_time_or_not_at_all() -> None:
    """After the overdue cut on 5 June nobody comes in July: the frame comes out on 5 June, not late once more."""
    of = frame(CUT, away=(("05-02", "05-31"), ("06-06", "07-31")))
    chain = compiled(of, cut_from("05-01", n=2))
    (path,) = paths(chain)
    assert told_path(of, chain, path) == ["06-05 cut/2"]
    assert path[-1] in chain.missed


def test_without_any_day_there_is_no_chain() -> None:
    of = replace(frame(CUT), days=KeeperDays(()))
    assert compile_chain(of, cut_from("05-01")) is None


def test_a_step_beyond_the_season_is_not_owed_in_it() -> None:
    """The heft is due from 17 November to 19 December; whoever is away until the new year leaves it out."""
    of = frame("winter_preparation", away=(("11-10", "12-31"),))
    chain = compiled(of, Cursor("stores", 1, {}))
    assert {step for step, _ in chain.steps} == {"stores", "close_up"}


def test_what_was_written_is_not_planned_again_on_its_own_day_nor_before() -> None:
    """Hung on Saturday 13 February, away until 9 May: it is not cut early on the day it was hung, nor in January.

    The last good day is 3 May, so it is overdue on Saturday 15 May, the next day there is.
    """
    of = frame(CUT, away=(("02-14", "05-09"),))
    chain = compiled(of, cut_from("02-13"))
    assert days_of(of, chain.first) == ["05-15"]


def test_what_was_seen_in_the_frame_says_that_it_was_not_cut_before() -> None:
    """All capped, seen on Monday 24 May, of a frame cut on 1 May: the Saturday before is not taken for done."""
    of = frame(CUT)
    seen = Sighting(on("05-24"), "all_capped", line("05-24 found T1 all_capped"))
    chain = compiled(of, replace(cut_from("05-01", n=2), sightings=(seen,)))
    assert days_of(of, chain.first) == ["05-29"]


# Held back ------------------------------------------------------------------------------------------------------------


def test_a_first_step_is_held_back_and_its_followers_are_not() -> None:
    began = Reason(Rule.COLONY, "began", Span.exact(on("06-20")))
    of = frame(COUNT)
    chain = compiled(of, Cursor("spring", 1, {}, not_before=began))
    firsts = {chain.steps[i][0] for i in chain.first.nodes}
    assert firsts == {"early_summer"}, "spring closes on 5 June"
    assert days_of(of, chain.first)[0] == "06-26"


def test_nothing_is_hung_during_a_closed_period() -> None:
    of = frame(CUT, weekdays=None)
    chain = compiled(of, Cursor("hang", 1, {}, closed=((on("03-01"), on("04-30")),)))
    assert days_of(of, chain.first)[0] == "05-01"


# Cursors --------------------------------------------------------------------------------------------------------------


def test_after_a_cut_the_frame_is_empty_and_what_was_seen_is_over() -> None:
    of = frame(CUT)
    seen = Sighting(on("05-01"), "all_open", line("05-01 found T1 all_open"))
    here = replace(cut_from("04-10"), sightings=(seen,))
    following = after(of, here, on("05-15"))
    assert following is not None
    assert (following.step, following.n, following.sightings, following.begun) == ("cut", 2, (), True)
    assert following.facts["emptied"].day == on("05-15")


def test_behind_the_last_step_nothing_is_owed() -> None:
    of = frame(CUT)
    assert after(of, replace(cut_from("05-01"), step="take_out"), on("05-22")) is None


def test_cursors_of_equal_days_have_equal_chains_but_each_its_own_reasons() -> None:
    of = frame(CUT)
    why = Reason(Rule.EVENT, "trap_cut", Span.exact(on("05-01")), (), (), "trap_cut T2 (other.yaml:9)")
    one, other = cut_from("05-01"), replace(cut_from("05-01"), facts={"emptied": Known(on("05-01"), why)})
    assert one.key == other.key
    assert one.told != other.told
    first, second = opening_at(of, one), opening_at(of, other)
    assert first is not None
    assert second is not None
    assert first.window.closes == second.window.closes
    assert "other.yaml:9" not in str(first.window)
    assert "other.yaml:9" in str(second.window)


def test_a_step_that_is_barred_once_more_stays_barred_where_it_was() -> None:
    once = frame(CUT).kept_from(["cut"], ((on("05-01"), on("05-03")),), "one")
    twice = once.kept_from(["cut"], ((on("06-01"), on("06-03")),), "two")
    assert twice.barred == {"cut": ((on("05-01"), on("05-03")), (on("06-01"), on("06-03")))}
    assert len({frame(CUT).name, once.name, twice.name}) == 3


# Properties -----------------------------------------------------------------------------------------------------------

OFTEN = settings(max_examples=60, deadline=None, derandomize=True)


@OFTEN
@given(
    st.sampled_from([CUT, "trap_comb_frozen", CHECK, COUNT, "supers", "winter_preparation"]),
    st.sets(st.integers(0, 6), min_size=1, max_size=2),
    st.lists(st.tuples(st.integers(0, 300), st.integers(0, 40)), max_size=3),
)
def test_every_way_through_a_chain_is_as_bent_as_its_ease_allows_and_goes_on_to_the_end(
    method: str, weekdays: set[int], away: list[tuple[int, int]]
) -> None:
    first = on("01-01")
    gone = tuple((told(first + a), told(min(first + a + n, on("12-31")))) for a, n in away)
    of = frame(method, tuple(sorted(weekdays)), gone)
    cursor = Cursor(next(iter(of.method.steps)), 1, {})
    chain = compile_chain(of, cursor)
    if chain is None:
        return
    bends = set()
    for path in _some(chain, 20):
        days = [of.days.ordinals[chain.nodes[i].at] for i in path]
        made = list(replay(of, cursor, [chain.steps[i] for i in path], days))
        assert len(made) == len(path)
        assert all(then > before for before, then in pairwise(days))
        assert all(one.bent != "overdue" for one in made), "nothing hangs yet: it can always be left"
        stops = [(one.day, one.opening.window.hard_stop) for one in made]
        assert all(stop is None or day <= stop for day, stop in stops)
        assert all(one.opening.window.hard_stop is None for one in made if one.bent == "late")
        bends.add(sum(1 for one in made if one.bent))
        if path[-1] not in chain.missed:
            assert all(opening.window.hard_stop is not None for opening in chain.missed.values())
    assert len(bends) <= 1, "no way is bent more than another"
    assert chain.ease is not Ease.STRICT or bends == {0}


def test_a_year_of_every_day_compiles_in_no_time() -> None:
    """Not a bench: a chain of a whole year of days has hundreds of nodes, not millions."""
    of = frame(CUT, weekdays=None)
    chain = compiled(of, cut_from("02-13"))
    assert len(chain.nodes) < 1000
    assert date.fromordinal(of.days.ordinals[0]).year == 2027
