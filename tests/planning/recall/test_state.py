"""Recall: lines replayed into the state of a colony and of its trap frames."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import (
    colonies,
    colony,
    drawn,
    line,
    lines,
    on,
    outfits,
    plan,
    rules,
    season_begins,
    short,
    told,
    yard,
)

from ipmcal.model.outfit.outfit import Colony, Event, Queen
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season
from ipmcal.planning.plan import season_of
from ipmcal.planning.recall.state import full_on, recall

NORTHEAST: Season = season_of(yard(), rules(), on("01-01"), 2027)


def state(*texts: str, of: Colony | None = None, as_of: str = "12-31") -> ColonyState:
    """The state of a colony (with a short frame T1 and a drawn one T2, unless said) after lines of the journal."""
    kept = of or colony(traps=(short("T1"), drawn("T2", home=9)))
    return recall(kept, lines(*texts), NORTHEAST, on(as_of), rules())


# Trap frames ----------------------------------------------------------------------------------------------------------


def test_a_frame_is_not_in_the_hive_before_it_is_hung() -> None:
    trap = state().traps["T1"]
    assert (trap.slot, trap.emptied, trap.cycles, trap.days) == (None, None, 0, {})


def test_hung_cut_and_cut_again_counts_two_cycles_and_the_last_cut_is_the_day_it_was_emptied() -> None:
    trap = state("04-10 trap_hung T1 2", "05-08 trap_cut T1", "05-30 trap_cut T1").traps["T1"]
    assert trap.emptied is not None
    assert (trap.slot, told(trap.emptied.day), trap.cycles) == (2, "05-30", 2)
    assert told(trap.days["emptied"].day) == "05-30"
    assert told(trap.days["trap_hung"].day) == "04-10"


def test_a_swapped_drawn_frame_was_emptied_too() -> None:
    trap = state("04-10 trap_hung T2 9", "05-05 trap_swapped T2").traps["T2"]
    assert told(trap.days["emptied"].day) == "05-05"
    assert trap.cycles == 1


def test_cuts_of_another_season_are_no_cycles_of_this_one() -> None:
    trap = state("2026-05-01 trap_hung T1 2", "2026-06-01 trap_cut T1", "05-08 trap_cut T1").traps["T1"]
    assert trap.cycles == 1


def test_a_frame_moved_hangs_in_its_new_slot_on_its_old_clock() -> None:
    trap = state("04-10 trap_hung T1 3", "04-20 trap_moved T1 2").traps["T1"]
    assert trap.slot == 2
    assert told(trap.days["emptied"].day) == "04-10"


def test_a_frame_taken_out_is_out_and_that_is_known() -> None:
    trap = state("04-10 trap_hung T1 2", "05-08 trap_cut T1", "06-20 trap_out T1").traps["T1"]
    assert (trap.slot, trap.emptied) == (None, None)
    assert "emptied" not in trap.days
    assert told(trap.days["trap_out"].day) == "06-20"


def test_hung_again_after_it_was_out_it_starts_anew() -> None:
    trap = state("04-10 trap_hung T1 2", "05-08 trap_out T1", "05-20 trap_hung T1 2").traps["T1"]
    assert told(trap.days["emptied"].day) == "05-20"
    assert trap.slot == 2


def test_what_was_seen_before_the_last_cut_is_over() -> None:
    """Also on the day of the cut: first one looks, then one cuts, whatever the order of the lines."""
    for texts in (
        ("05-01 found T1 part_capped", "05-08 found T1 all_capped", "05-08 trap_cut T1", "05-20 found T1 all_open"),
        ("05-01 found T1 part_capped", "05-08 trap_cut T1", "05-08 found T1 all_capped", "05-20 found T1 all_open"),
    ):
        trap = state("04-10 trap_hung T1 2", *texts).traps["T1"]
        assert [(told(s.day), s.finding) for s in trap.sightings] == [("05-20", "all_open")]


@pytest.mark.parametrize("finding", ["honey", "worker", "nothing"])
def test_what_is_no_trap_this_time_is_no_cut_but_the_clock_starts_anew(finding: str) -> None:
    trap = state("04-10 trap_hung T1 2", f"05-08 found T1 {finding}").traps["T1"]
    assert (trap.cycles, told(trap.days["emptied"].day)) == (0, "05-08")
    assert trap.days["emptied"].why.note.startswith(f"found T1 {finding}")


@pytest.mark.parametrize("finding", ["all_open", "part_capped", "all_capped", "emerging"])
def test_other_findings_leave_the_clock_running(finding: str) -> None:
    trap = state("04-10 trap_hung T1 2", f"05-08 found T1 {finding}").traps["T1"]
    assert (trap.cycles, told(trap.days["emptied"].day)) == (0, "04-10")
    assert [s.finding for s in trap.sightings] == [finding]


@pytest.mark.parametrize("finding", ["honey", "worker", "nothing"])
def test_what_is_found_in_a_frame_that_is_not_known_to_hang_starts_no_clock(finding: str) -> None:
    """Else its cut would be owed from a day that nobody knows; that it hangs is told as a contradiction."""
    for before in ((), ("04-10 trap_hung T1 2", "05-01 trap_out T1")):
        found = state(*before, f"05-08 found T1 {finding}")
        assert found.traps["T1"].emptied is None
        assert "emptied" not in found.traps["T1"].days
    assert plan(yard(colony(traps=[short()], history=lines(f"05-08 found T1 {finding}"))), "05-09").visits


def test_two_frames_keep_apart() -> None:
    traps = state("04-10 trap_hung T1 2", "04-12 trap_hung T2 9", "05-08 trap_cut T1").traps
    assert told(traps["T1"].days["emptied"].day) == "05-08"
    assert told(traps["T2"].days["emptied"].day) == "04-12"


def test_a_line_is_cited_with_file_and_line() -> None:
    why = state("04-10 trap_hung T1 2").traps["T1"].days["emptied"].why
    assert (why.rule, why.note, why.span) == (Rule.EVENT, "trap_hung T1 2 (yard.yaml:1)", Span.exact(on("04-10")))


# The colony -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("began", "kind", "counts_as"),
    [
        ("2026-05-02", "package", "overwintered"),
        ("2027-05-02", "package", "package"),
        ("2027-01-01", "nucleus", "nucleus"),
        ("2025-01-01", "overwintered", "overwintered"),
    ],
)
def test_a_colony_counts_by_how_it_began_in_its_first_season_only(began: str, kind: str, counts_as: str) -> None:
    assert state(of=colony("1", began, kind)).kind == counts_as


@pytest.mark.parametrize(
    ("texts", "word"),
    [
        ((), "laying"),
        (("05-08 queen missing",), "missing"),
        (("05-08 queen missing", "05-20 queen virgin"), "virgin"),
        (("05-08 queen virgin", "05-20 queen seen"), "laying"),
        (("07-01 caged",), "caged"),
        (("07-01 caged", "07-25 released"), "laying"),
    ],
)
def test_the_queen_is_what_was_last_written_of_her(texts: tuple[str, ...], word: str) -> None:
    assert word in state(*texts).queen


def test_a_clipped_queen_stays_clipped() -> None:
    assert state(of=colony(queen=Queen(clipped=True, marked=True))).queen == {"laying", "clipped", "marked"}
    assert state().queen == {"laying", "unclipped"}


def test_sick_brood_is_suspect_until_the_inspector_clears_it() -> None:
    assert state("05-08 suspect").suspect
    assert not state("05-08 suspect", "05-20 cleared").suspect
    assert state("05-08 suspect", "05-20 cleared", "06-01 suspect").suspect


def test_strength_is_the_last_one_counted() -> None:
    assert state("05-08 strength 6", "06-01 strength 8").strength == 8
    assert state(of=colony(strength=3.0)).strength == 3


def test_supers_go_on_and_off_and_their_day_is_known() -> None:
    on_, off = state("05-10 supers_on 2"), state("05-10 supers_on 2", "09-11 supers_off")
    assert (on_.supers, told(on_.days["supers.on"].day)) == (2, "05-10")
    assert (off.supers, told(off.days["supers.off"].day)) == (0, "09-11")
    assert "supers.on" not in off.days
    assert "supers.on" not in state().days
    assert state(of=colony(supers=1)).days["supers.on"].why.rule is Rule.COLONY, "on since it is told of"


@pytest.mark.parametrize(
    ("texts", "supers", "since"),
    [
        (("05-10 supers_on 1", "06-05 supers_on 2"), 2, "06-05"),
        (("05-10 supers_on 3", "06-05 supers_on 1"), 1, "06-05"),
        (("05-10 supers_on 2", "06-05 supers_off", "08-01 supers_on 1"), 1, "08-01"),
        (("05-10 supers_on 2", "06-05 supers_on"), 2, "06-05"),
        (("05-10 supers_on",), 1, "05-10"),
    ],
)
def test_a_line_says_how_many_supers_are_on_then_not_how_many_more(
    texts: tuple[str, ...], supers: int, since: str
) -> None:
    """What is written replaces what was; a line without a number says that there is one at least."""
    for told_before in (0, 1):
        found = state(*texts, of=colony(supers=told_before))
        assert (found.supers, told(found.days["supers.on"].day)) == (supers, since)


def test_a_dead_colony_is_dead() -> None:
    assert state().alive
    assert not state("03-06 died").alive


@pytest.mark.parametrize(
    ("name", "low", "usual", "high"),
    [
        # A queen caged on 1 July. Workers emerge 20..21..22 d, drones 24..24..25 d after the last egg
        # (COLOSS BEEBOOK 2013, varroa 4.7: caged 22 and 25 days before).
        ("brood.last_worker", "07-21", "07-22", "07-23"),
        ("brood.last_drone", "07-25", "07-25", "07-26"),
    ],
)
def test_after_caging_the_last_brood_is_out_with_its_caste(name: str, low: str, usual: str, high: str) -> None:
    span = state("07-01 caged").days[name].why.span
    assert span is not None
    assert (told(span.low), told(span.usual), told(span.high)) == (low, usual, high)


def test_released_she_lays_after_two_days_and_the_first_worker_is_capped_8_to_9_days_later() -> None:
    """Released on 25 July; lays from 27 July (caging lecture, second-hand); capped 8..9..9 d later."""
    found = state("07-01 caged", "07-25 released").days
    first, capped = found["brood.first_egg"].why.span, found["brood.first_capped"].why.span
    assert first == Span.exact(on("07-27"))
    assert capped == Span(on("08-04"), on("08-05"), on("08-05"))


@pytest.mark.parametrize(("kind", "days"), [("package", 56), ("nucleus", 28), ("split", 35), ("swarm", 28)])
def test_a_new_colonys_box_is_full_some_weeks_after_it_began(kind: str, days: int) -> None:
    """Days of ``biology.yaml``; for swarms Lee & Winston 1985: no drone comb for 22 days on average after hiving."""
    why = full_on(state(of=colony("1", "2027-04-20", kind)), rules().biology)
    assert why is not None
    assert why.span == Span.exact(on("04-20") + days)
    assert full_on(state(of=colony()), rules().biology) is None


# What can't be --------------------------------------------------------------------------------------------------------


def test_lines_before_the_colony_began_are_kept_and_said() -> None:
    found = state("04-20 inspected", of=colony("1", "2027-05-02", "package"))
    assert len(found.contradictions) == 1
    assert "lies before the colony began" in because_words(found.contradictions[0])
    assert because_words(found.contradictions[0]).startswith("yard.yaml:1:1")


@pytest.mark.parametrize(
    "text", ["05-08 trap_cut T1", "05-08 found T1 all_open", "05-08 trap_moved T1 3", "05-08 trap_out T1"]
)
def test_a_frame_used_before_it_was_hung_is_said_once(text: str) -> None:
    found = state(text, "05-20 trap_cut T1")
    assert [c for c in found.contradictions if "was not hung before" in because_words(c)][1:] == []
    assert len(found.contradictions) == 1


def test_hung_first_nothing_contradicts() -> None:
    assert state("04-10 trap_hung T1 2", "05-08 found T1 all_open", "05-20 trap_cut T1").contradictions == ()


# Properties -----------------------------------------------------------------------------------------------------------

OFTEN = settings(max_examples=60, deadline=None, derandomize=True)


@st.composite
def told_lines(draw: st.DrawFn) -> tuple[Colony, list[Event], int]:
    first = season_begins("us_northeast")
    as_of = first + draw(st.integers(0, 360))
    one = draw(colonies("1", first, first + 400))
    words = st.sampled_from(
        ["caged", "released", "supers_on 1", "supers_off", "queen missing", "strength 6", "suspect"]
    )
    extra = draw(st.lists(st.tuples(st.integers(0, 360), words), max_size=5))
    return one, [line(f"{told(first + gap)} {word}") for gap, word in extra], as_of


@OFTEN
@given(told_lines())
def test_lines_after_as_of_are_not_known_yet(case: tuple[Colony, list[Event], int]) -> None:
    one, extra, as_of = case
    past = [e for e in extra if e.day <= as_of]
    whole = recall(one, extra, NORTHEAST, as_of, rules())
    assert whole == recall(one, past, NORTHEAST, as_of, rules())
    assert all(e.day <= as_of for e in whole.events)
    assert all(k.day <= as_of for name, k in whole.days.items() if "." not in name and name != "began")
    assert all(k.day <= as_of for trap in whole.traps.values() for k in trap.days.values())


@OFTEN
@given(told_lines(), st.randoms(use_true_random=False))
def test_lines_may_stand_in_any_order_as_long_as_each_day_keeps_its_own(
    case: tuple[Colony, list[Event], int], chance: object
) -> None:
    one, extra, as_of = case
    days = {e.day: e for e in extra}  # one line a day
    mixed = sorted(days.values(), key=lambda e: (e.day * 7919) % 101)
    assert (
        recall(one, mixed, NORTHEAST, as_of, rules()).days
        == recall(one, sorted(mixed, key=lambda e: e.day), NORTHEAST, as_of, rules()).days
    )


@OFTEN
@given(outfits())
def test_a_file_and_a_journal_tell_the_same(case: tuple[object, int]) -> None:
    """A line in the yard's file and the same line in the journal give the same state."""
    kept, as_of = case
    for one in kept.yards[0].colonies:  # type: ignore[attr-defined]
        from dataclasses import replace

        season = season_of(kept.yards[0], rules(), as_of, 2027)  # type: ignore[attr-defined]
        in_file = recall(one, [], season, as_of, rules())
        in_journal = recall(replace(one, history=()), one.history, season, as_of, rules())
        assert replace(in_journal, colony=one) == in_file
