"""Bounds and clocks: the words of a rule against days, windows, looks, and what was seen.

The clock is the shipped one of ``methods/trap_comb_cut.yaml``: first egg 1..3..7 d after the frame was emptied, or when
drone rearing begins; filled 3..7..10 d later; drone capped 9..10..10 d, emerges 24..24..25 d; half capped 11..14..16 d
after the first egg. Its numbers are pinned in ``test_two_traps.py``.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from planning.yards import line, on, rules, told, yard

from ipmcal.model.plan.colony import Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.methods import Again
from ipmcal.model.values.cited import Citation
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Bound, bound
from ipmcal.model.values.text import Text
from ipmcal.place.season import Season, SeasonMark
from ipmcal.planning.days.bounds import Clockwork, NoMark, Unknown, bound_day, bound_days, opening, span_of
from ipmcal.planning.owed.ground import development
from ipmcal.planning.plan import season_of

SOURCES = {name: source.basis for name, source in rules().sources.items()}
METHOD = rules().methods["trap_comb_cut"]
CUT = METHOD.steps["cut"]


def season(**marks: tuple[str, str, str]) -> Season:
    """The year 2027 with marks of three days: low, usual, high."""

    def mark(name: str, days: tuple[str, str, str]) -> SeasonMark:
        span = Span(*map(on, days))
        return SeasonMark(span, None, Reason(Rule.REGION_MARK, name, span), None)

    return Season(2027, on("01-01"), on("12-31"), {name: mark(name, days) for name, days in marks.items()}, ())


def work(at: Season | None = None) -> Clockwork:
    """The trap's clock where drones are reared from 10, 20 or 30 April on."""
    there = at or season(drone_rearing_start=("04-10", "04-20", "04-30"))
    return Clockwork(there, METHOD.clock, development(rules().biology), METHOD.seen)


def emptied(day: str) -> dict[str, Known]:
    return {"emptied": Known(on(day), Reason(Rule.EVENT, "trap_cut", Span.exact(on(day))))}


def sighting(day: str, finding: str) -> Sighting:
    return Sighting(on(day), finding, line(f"{day} found T1 {finding}"))


def words(text: str) -> Bound:
    return bound(Text(f"{text} @practice"), SOURCES)


def days(span: Span) -> list[str]:
    return [told(span.low), told(span.usual), told(span.high)]


# Clock days -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("first_egg", ["05-11", "05-13", "05-17"]),  # 10 May + 1..3..7
        ("last_egg", ["05-14", "05-20", "05-27"]),  # + 3..7..10
        ("first_capped", ["05-20", "05-23", "05-27"]),  # first egg + 9..10..10
        ("half_capped", ["05-22", "05-27", "06-02"]),  # first egg + 11..14..16
        ("last_capped", ["05-23", "05-30", "06-06"]),  # last egg + 9..10..10
        ("first_drone", ["06-04", "06-06", "06-11"]),  # first egg + 24..24..25
    ],
)
def test_a_frame_emptied_on_10_may_runs_from_that_day(name: str, expected: list[str]) -> None:
    assert days(span_of(work().day(name, emptied("05-10"), {}))) == expected


def test_the_first_egg_is_the_latest_of_hanging_and_drone_rearing_edge_by_edge() -> None:
    """Emptied on 15 April: 16..18..22 April; drone rearing 10..20..30 April. Latest: 16, 20, 30 April."""
    found = work().day("first_egg", emptied("04-15"), {})
    assert days(span_of(found)) == ["04-16", "04-20", "04-30"]
    assert found.rule is Rule.LATEST_OF


def test_where_the_region_has_no_such_mark_the_other_day_stands_alone() -> None:
    assert days(span_of(work(season()).day("first_egg", emptied("04-15"), {}))) == ["04-16", "04-18", "04-22"]


def test_what_has_not_happened_has_no_day() -> None:
    with pytest.raises(Unknown):
        work().day("first_egg", {}, {})
    with pytest.raises(NoMark):
        work().day("season.swarm_start", {}, {})


def test_a_date_of_the_keepers_is_its_first_occurrence_in_the_season() -> None:
    south = season_of(yard(region="nz_north_island"), rules(), on("08-01"), 2027)
    assert date.fromordinal(span_of(work(south).day("02-10", {}, {})).usual) == date(2028, 2, 10)
    assert date.fromordinal(span_of(work(south).day("2027-09-01", {}, {})).usual) == date(2027, 9, 1)


# Bounds ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("earliest first_drone - 1 d", "06-03"),
        ("usually half_capped", "05-27"),
        ("latest last_capped", "06-06"),
        ("emptied + 7 d", "05-17"),
        ("emptied", "05-10"),
        ("usually season.drone_rearing_start - 14 d", "04-06"),
    ],
)
def test_a_bound_picks_an_edge_and_shifts_it(text: str, day: str) -> None:
    found = bound_day(work(), words(text), emptied("05-10"), {})
    assert told(span_of(found).usual) == day
    assert span_of(found).certain


def test_of_several_bounds_opens_is_the_latest_and_closes_the_earliest() -> None:
    several = [words("emptied + 7 d"), words("usually season.drone_rearing_start")]
    late = bound_days(work(), several, emptied("05-10"), {}, Rule.LATEST_OF)
    early = bound_days(work(), several, emptied("05-10"), {}, Rule.EARLIEST_OF)
    assert late is not None
    assert early is not None
    assert (told(span_of(late).usual), told(span_of(early).usual)) == ("05-17", "04-20")


def test_in_a_list_a_missing_mark_is_left_out_but_a_missing_event_leaves_no_day() -> None:
    """A region without a dearth still has the other day; what counts from a cut is not owed before there is one."""
    with_mark = [words("usually season.swarm_start"), words("emptied + 7 d")]
    found = bound_days(work(), with_mark, emptied("05-10"), {}, Rule.LATEST_OF)
    assert found is not None
    assert told(span_of(found).usual) == "05-17"
    assert bound_days(work(), [words("usually season.swarm_start")], {}, {}, Rule.LATEST_OF) is None
    with_event = [words("usually season.drone_rearing_start"), words("emptied + 7 d")]
    assert bound_days(work(), with_event, {}, {}, Rule.LATEST_OF) is None


# Windows --------------------------------------------------------------------------------------------------------------


def step(**bounds: str) -> Again:
    """The bounds of a step, for a window."""
    parts = {name: (words(text),) for name, text in bounds.items()}
    unset = dict.fromkeys(("opens", "best", "closes", "hard_stop"))
    return Again.model_construct(**{"until": (), "at_most": 1, **unset, **parts})


def test_a_cut_frame_opens_half_capped_is_best_all_capped_and_stops_a_day_before_the_first_drone() -> None:
    found = opening(work(), CUT, emptied("05-10"), {})
    assert found is not None
    w = found.window
    assert [told(day) for day in (w.opens, w.best, w.closes)] == ["05-27", "05-30", "06-03"]
    assert w.hard_stop == w.closes
    assert not found.look


def test_best_is_moved_into_the_window() -> None:
    """With slow filling "all capped" falls after the last good day: the mixed comb is cut, which is no error."""
    found = opening(
        work(), step(opens="emptied", best="emptied + 40 d", hard_stop="emptied + 20 d"), emptied("05-10"), {}
    )
    assert found is not None
    assert told(found.window.best) == "05-30"


def test_closes_left_out_equals_the_hard_stop_and_may_lie_before_it() -> None:
    both = step(opens="emptied", closes="emptied + 10 d", hard_stop="emptied + 20 d")
    found = opening(work(), both, emptied("05-10"), {})
    assert found is not None
    assert (told(found.window.closes), told(found.window.hard_stop or 0)) == ("05-20", "05-30")


def test_where_it_opens_after_the_hard_stop_it_is_a_look_from_the_earliest_useful_day() -> None:
    """Hung in winter: half capped usually on 20 April + 14 = 4 May; drones at the earliest on 10 April + 24 = 4 May."""
    found = opening(work(), CUT, emptied("02-13"), {})
    assert found is not None
    assert found.look
    w = found.window
    assert [told(day) for day in (w.opens, w.best, w.closes)] == ["04-21", "05-03", "05-03"]


def test_a_look_that_closes_before_its_hard_stop_stays_within_what_closes_it() -> None:
    """Opens after closes, closes before the hard stop: still opens <= best <= closes <= hard stop."""
    odd = step(opens="emptied + 30 d", closes="emptied + 10 d", hard_stop="emptied + 20 d")
    found = opening(work(), odd, emptied("05-10"), {})
    assert found is not None
    assert found.look
    assert (told(found.window.opens), told(found.window.closes)) == ("05-20", "05-20")


def not_before(day: str) -> Reason:
    return Reason(Rule.COLONY, "began", Span.exact(on(day)))


def test_a_late_start_pushes_opens_and_never_makes_it_due_before_it_is_allowed() -> None:
    soft = step(opens="usually season.drone_rearing_start", closes="usually season.drone_rearing_start + 30 d")
    found = opening(work(), soft, {}, {}, not_before("05-05"))
    assert found is not None
    assert [told(day) for day in (found.window.opens, found.window.best, found.window.closes)] == [
        "05-05",
        "05-05",
        "05-20",
    ]


def test_what_closes_before_the_colony_began_is_not_owed() -> None:
    soft = step(opens="usually season.drone_rearing_start", closes="usually season.drone_rearing_start + 30 d")
    assert opening(work(), soft, {}, {}, not_before("05-20")) is not None
    assert opening(work(), soft, {}, {}, not_before("05-21")) is None


def test_a_soft_step_that_opens_after_it_closes_is_due_on_the_day_it_opens() -> None:
    found = opening(work(), step(opens="emptied + 10 d", closes="emptied + 7 d"), emptied("05-10"), {})
    assert found is not None
    assert found.window.opens == found.window.best == found.window.closes == on("05-20")


# What was seen --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("finding", "first_egg"),
    [
        # Emptied on 10 May, first egg 11..13..17 May. All on 26 May:
        ("all_open", ["05-17", "05-17", "05-17"]),  # capped on 27 May or later, egg of 27 - 10 = 17 May or later
        (
            "part_capped",
            ["05-11", "05-13", "05-17"],
        ),  # capped by 26 May, egg of 26 - 9 = 17 May or earlier; nothing new
        ("all_capped", ["05-11", "05-13", "05-14"]),  # all capped by 26 May, egg of 26 - 9 - 3 = 14 May or earlier
        (
            "emerging",
            ["05-02", "05-02", "05-02"],
        ),  # drones by 26 May, egg of 26 - 24 = 2 May: before the cut; so it stands
    ],
)
def test_a_finding_is_carried_back_to_the_first_egg(finding: str, first_egg: list[str]) -> None:
    clock = work()
    found = clock.day("first_egg", emptied("05-10"), clock.edges([sighting("05-26", finding)]))
    assert days(span_of(found)) == first_egg


@pytest.mark.parametrize(
    ("seen", "stop"),
    [
        ([], "06-03"),
        ([("05-20", "all_open")], "06-03"),  # capped on 21 May or later: egg of 11 May or later; nothing new
        ([("05-22", "all_open")], "06-05"),  # egg of 23 - 10 = 13 May or later; drones from 6 June
        ([("05-22", "all_open"), ("05-24", "all_open")], "06-07"),
        ([("06-02", "all_capped")], "06-03"),
        ([("05-26", "part_capped")], "06-03"),
    ],
)
def test_the_last_good_day_follows_what_was_seen(seen: list[tuple[str, str]], stop: str) -> None:
    clock = work()
    found = opening(clock, CUT, emptied("05-10"), clock.edges([sighting(*one) for one in seen]))
    assert found is not None
    assert told(found.window.hard_stop or 0) == stop


def test_what_was_seen_is_a_reason_with_its_line() -> None:
    clock = work()
    found = clock.day("first_egg", emptied("05-10"), clock.edges([sighting("05-22", "all_open")]))
    assert found.rule is Rule.SEEN
    assert [r.note for r in found.under if r.rule is Rule.EVENT] == ["found T1 all_open"]


def test_what_was_seen_outside_the_rules_range_stands_and_that_is_noted() -> None:
    clock = work()
    found = clock.day("first_egg", emptied("05-10"), clock.edges([sighting("06-10", "all_open")]))
    assert days(span_of(found)) == ["06-01", "06-01", "06-01"]
    assert "what was seen stands" in found.note


@pytest.mark.parametrize("order", [1, -1])
def test_where_two_findings_contradict_each_other_the_earlier_day_stands(order: int) -> None:
    """All capped on 22 May: egg of 22 - 9 - 3 = 10 May or earlier. All open on 30 May: egg of 21 May or later.

    One of them is wrong; cutting too early costs bait, cutting too late lets the mites out.
    """
    seen = [sighting("05-22", "all_capped"), sighting("05-30", "all_open")][::order]
    clock = work()
    found = clock.day("first_egg", emptied("05-10"), clock.edges(seen))
    assert days(span_of(found)) == ["05-10", "05-10", "05-10"]
    assert found.note


OFTEN = settings(max_examples=100, deadline=None, derandomize=True)
FINDINGS = st.sampled_from(["all_open", "part_capped", "all_capped", "emerging"])


@OFTEN
@given(st.integers(0, 200), st.lists(st.tuples(st.integers(1, 60), FINDINGS), max_size=4))
def test_narrowing_never_widens_a_span(day: int, seen: list[tuple[int, str]]) -> None:
    """Whatever is found, in whatever order: each clock day stays inside its range, or a contradiction is noted."""
    start = on("01-01") + day
    facts = {"emptied": Known(start, Reason(Rule.EVENT, "trap_cut", Span.exact(start)))}
    clock = work()
    sightings = [Sighting(start + gap, finding, line(f"05-01 found T1 {finding}")) for gap, finding in seen]
    for name in METHOD.clock:
        wide = span_of(clock.day(name, facts, {}))
        narrowed = clock.day(name, facts, clock.edges(sightings))
        span = span_of(narrowed)
        contradicted = any(reason.note for reason in _all(narrowed) if reason.rule is Rule.SEEN)
        assert contradicted or (wide.low <= span.low and span.high <= wide.high), (name, wide, span)


def _all(reason: Reason) -> list[Reason]:
    return [reason, *(one for under in reason.under for one in _all(under))]


@OFTEN
@given(st.integers(0, 200), st.lists(st.tuples(st.integers(1, 40), FINDINGS), max_size=3))
def test_a_window_is_a_window_whatever_was_seen_and_a_look_keeps_its_hard_stop(
    day: int, seen: list[tuple[int, str]]
) -> None:
    start = on("01-01") + day
    facts = {"emptied": Known(start, Reason(Rule.EVENT, "trap_cut", Span.exact(start)))}
    clock = work()
    edges = clock.edges([Sighting(start + gap, finding, line(f"05-01 found T1 {finding}")) for gap, finding in seen])
    found = opening(clock, CUT, facts, edges)
    assert found is not None
    stop = span_of(bound_day(clock, CUT.hard_stop[0], facts, edges)).usual if CUT.hard_stop else 0
    assert found.window.hard_stop == stop
    assert found.window.opens <= found.window.best <= found.window.closes <= stop
    opens = span_of(bound_day(clock, CUT.opens[0], facts, edges)).usual
    assert found.look == (opens > stop)


@OFTEN
@given(st.integers(1, 200), st.lists(st.tuples(st.integers(1, 40), FINDINGS), min_size=1, max_size=3))
def test_an_all_open_comb_is_never_overdue_on_the_day_it_is_seen(day: int, seen: list[tuple[int, str]]) -> None:
    """What is all open today cannot emerge for two weeks: the last good day lies ahead."""
    start = on("01-01") + day
    last = start + max(gap for gap, _ in seen) + 1
    facts = {"emptied": Known(start, Reason(Rule.EVENT, "trap_cut", Span.exact(start)))}
    clock = work()
    found = opening(clock, CUT, facts, clock.edges([Sighting(last, "all_open", line("05-01 found T1 all_open"))]))
    assume(found is not None)
    assert found is not None
    assert (found.window.hard_stop or 0) >= last + 1 - 10 + 24 - 1, "first capped the day after, so an egg of ten days"


def test_the_reason_of_a_bound_keeps_the_citations_of_what_it_rests_on() -> None:
    found = bound_day(work(), words("earliest first_drone - 1 d"), emptied("05-10"), {})
    cites = [cite for reason in _all(found) for value in reason.values for cite in value.cites]
    assert Citation("german_course", "", rules().sources["german_course"].basis) in cites
