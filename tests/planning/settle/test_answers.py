"""Answers, worked out before the drive: for each finding what to do, when to be back, what to write on the lid."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import cut_from, frame, line, on, rules, told

from ipmcal.model.plan.colony import Sighting
from ipmcal.model.plan.tasks import Answer
from ipmcal.model.rules.methods import Act
from ipmcal.planning.days.frame import Cursor, Frame
from ipmcal.planning.settle.answers import OUT, answers

CUT, FROZEN = "trap_comb_cut", "trap_comb_frozen"


def asked(of: Frame, cursor: Cursor, day: str, *, any_day: bool = False) -> dict[str, Answer]:
    """The answers on a day, by finding."""
    found = answers(of, cursor, on(day), rules().findings, {"emptied"}, any_day=any_day)
    return {a.finding: a for a in found}


def back(one: Answer) -> list[str | None]:
    """On, from, by, CUT BY."""
    return [told(day) if day is not None else None for day in (one.back_on, one.back_from, one.back_by, one.cut_by)]


# A frame cut on 1 May is looked at on Saturday 22 May ----------------------------------------------------------------


def test_every_finding_of_the_step_is_answered_in_the_order_of_the_sheet() -> None:
    found = asked(frame(CUT), cut_from("05-01", n=2), "05-22")
    assert tuple(found) == rules().methods[CUT].steps["cut"].findings
    assert all(a.title == rules().findings[name].title for name, a in found.items())


@pytest.mark.parametrize(
    ("finding", "act"), [("all_capped", Act.CLOSE), ("part_capped", Act.CLOSE), ("emerging", Act.LATE)]
)
def test_cut_on_the_day_it_counts_anew_from_it(finding: str, act: Act) -> None:
    """22 May + 17 = 8 June opens, + 24 = 15 June CUT BY; Saturday 12 June."""
    one = asked(frame(CUT), cut_from("05-01", n=2), "05-22")[finding]
    assert one.act is act
    assert back(one) == ["06-12", "06-08", "06-15", "06-15"]


def test_all_open_is_left_until_the_saturday_nearest_to_its_best_day() -> None:
    """All open on 22 May: capped on 23 May or later, egg of 13 May or later (rule: 2..4..8 May); what was seen stands.

    Opens 13 + 14 = 27 May, best 13 + 7 + 10 = 30 May, CUT BY 13 + 23 = 5 June; Saturdays 29 May and 5 June.
    """
    one = asked(frame(CUT), cut_from("05-01", n=2), "05-22")["all_open"]
    assert one.act is Act.WAIT
    assert back(one) == ["05-29", "05-27", "06-05", "06-05"]
    assert not one.forced


@pytest.mark.parametrize("finding", ["honey", "worker", "nothing"])
def test_no_trap_this_time_is_no_cut_but_counts_anew(finding: str) -> None:
    one = asked(frame(CUT), cut_from("05-01", n=2), "05-22")[finding]
    assert one.act is Act.VOID
    assert back(one) == ["06-12", "06-08", "06-15", "06-15"]


def test_after_the_last_cut_of_the_season_what_follows_is_the_taking_out() -> None:
    """Cut on 12 June, it would open on 29 June, after 21 June: the frame is taken out next, with its own last day."""
    one = asked(frame(CUT), cut_from("05-22", n=3), "06-12")["all_capped"]
    assert back(one) == ["07-03", "06-29", "07-06", "07-06"]


def test_taken_out_nobody_has_to_be_back() -> None:
    out = replace(cut_from("06-12"), step="take_out", n=1)
    found = asked(frame(CUT), out, "07-03")
    assert back(found["all_capped"]) == [None, None, None, None]
    assert found["all_open"].act is Act.WAIT, "left open it stays in the hive, with a last good day"
    assert found["all_open"].cut_by is not None


def test_without_fixed_days_there_is_a_range_and_no_day() -> None:
    found = asked(frame(CUT, None), cut_from("05-01", n=2), "05-22", any_day=True)
    assert back(found["all_open"]) == [None, "05-27", "06-05", "06-05"]
    assert back(found["all_capped"]) == [None, "06-08", "06-15", "06-15"]


# When nobody could be back --------------------------------------------------------------------------------------------


def test_all_open_is_cut_at_once_where_nobody_comes_before_its_last_good_day() -> None:
    """All open on 22 May, to be cut by 5 June; away from 23 May to 5 June: waiting would be to forget it."""
    of = frame(CUT, away=(("05-23", "06-05"),))
    one = asked(of, cut_from("05-01", n=2), "05-22")["all_open"]
    assert (one.act, one.forced) == (Act.CLOSE, True)
    assert one.do == rules().methods[CUT].found["all_capped"].do
    assert back(one) == ["06-12", "06-08", "06-15", "06-15"]


def test_the_same_for_a_keeper_without_fixed_days() -> None:
    of = frame(CUT, None, away=(("05-23", "06-05"),))
    one = asked(of, cut_from("05-01", n=2), "05-22", any_day=True)["all_open"]
    assert (one.act, one.forced) == (Act.CLOSE, True)


def test_a_range_leaves_out_the_days_away_at_its_ends() -> None:
    """All open on 22 May: 27 May to 5 June; away to 29 May: from 30 May."""
    of = frame(CUT, None, away=(("05-23", "05-29"),))
    one = asked(of, cut_from("05-01", n=2), "05-22", any_day=True)["all_open"]
    assert back(one) == [None, "05-30", "06-05", "06-05"]


def test_where_no_day_lies_in_the_window_the_last_one_before_it_has_to_do() -> None:
    """Cut on 22 May, due 8 to 15 June; away from 6 to 20 June: early, on Saturday 5 June."""
    of = frame(CUT, away=(("06-06", "06-20"),))
    assert back(asked(of, cut_from("05-01", n=2), "05-22")["all_capped"]) == ["06-05", "06-05", "06-15", "06-15"]


@pytest.mark.parametrize("finding", ["all_capped", "emerging", "honey", "worker", "nothing", "all_open"])
def test_where_nobody_comes_in_time_at_all_the_frame_comes_out(finding: str) -> None:
    """Away from 23 May to 20 June: whatever is found, no frame stays behind that nobody empties by 15 June."""
    of = frame(CUT, away=(("05-23", "06-20"),))
    one = asked(of, cut_from("05-01", n=2), "05-22")[finding]
    assert back(one) == [None, None, None, None]
    assert one.do.endswith(OUT)
    assert one.forced


# Seen before ----------------------------------------------------------------------------------------------------------


def test_what_was_seen_before_and_what_is_seen_now_narrow_the_clock_together() -> None:
    """All open on 15 and on 22 May: the second counts."""
    seen = Sighting(on("05-15"), "all_open", line("05-15 found T1 all_open"))
    one = asked(frame(CUT, None), replace(cut_from("05-01", n=2), sightings=(seen,)), "05-22", any_day=True)["all_open"]
    assert back(one) == [None, "05-27", "06-05", "06-05"]


def test_a_drawn_frame_is_swapped_and_laid_up_sooner() -> None:
    """Swapped on 1 May: laid in after 0..1..4 d, so emerging from 25 May: OUT BY 24 May, day 23 (a handbook case)."""
    cursor = Cursor("swap", 2, cut_from("04-08").facts, (), begun=True)
    one = asked(frame(FROZEN, None), cursor, "05-01", any_day=True)["all_capped"]
    assert back(one)[3] == "05-24"
    assert one.do == rules().methods[FROZEN].found["all_capped"].do


# Properties -----------------------------------------------------------------------------------------------------------

OFTEN = settings(max_examples=60, deadline=None, derandomize=True)


@OFTEN
@given(
    st.sampled_from([CUT, FROZEN]),
    st.one_of(st.none(), st.sets(st.integers(0, 6), min_size=1, max_size=2)),
    st.integers(90, 200),
    st.integers(1, 40),
    st.lists(st.tuples(st.integers(90, 240), st.integers(0, 40)), max_size=2),
)
def test_no_answer_leaves_a_frame_without_somebody_to_empty_it(
    method: str, weekdays: set[int] | None, emptied: int, gap: int, away: list[tuple[int, int]]
) -> None:
    first = on("01-01")
    gone = tuple((told(first + a), told(first + a + n)) for a, n in away)
    of = frame(method, tuple(sorted(weekdays)) if weekdays else None, gone)
    step = list(of.method.steps)[1]
    cursor = Cursor(step, 2, cut_from(told(first + emptied)).facts, (), begun=True)
    day = first + emptied + gap
    found = answers(of, cursor, day, rules().findings, {"emptied"}, any_day=weekdays is None)
    for one in found:
        if one.cut_by is None:
            assert one.do.endswith(OUT) or one.act is not Act.WAIT
            continue
        assert one.back_from is not None
        assert one.back_by is not None
        assert day < one.back_from <= one.back_by <= one.cut_by
        assert of.days.between(day + 1, one.cut_by), "somebody comes"
        if weekdays is not None:
            assert one.back_on is not None
            assert of.days.position(one.back_on) is not None
            assert one.back_from <= one.back_on <= one.back_by
