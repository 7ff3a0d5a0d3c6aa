"""The season of a place: Hopkins' law applied to the shipped regions, spread, observed marks, order, too far.

The law (Hopkins 1919, The Scientific Monthly 8:496-513; formula read second-hand): spring comes 4 days later for each
degree poleward, each 5 degrees east (North America), each 400 ft (121.92 m) up; autumn by as much the other way.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.data import folder
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.rules.files import MarkRule, Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.days import Span
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, Seen, TooFar, season_at, season_year, season_years
from ipmcal.reading.rules.rulebook import load_rulebook

YEAR = 2027
BOOK: Rulebook = load_rulebook(folder("rules"))
REGIONS = sorted(BOOK.regions)
NORTHERN = [name for name in REGIONS if BOOK.regions[name].place.latitude > 0]
SOUTHERN = [name for name in REGIONS if BOOK.regions[name].place.latitude < 0]
AMERICAN = [name for name in REGIONS if BOOK.regions[name].longitude_counts]


def site(region: str, north: float = 0.0, east: float = 0.0, up: float = 0.0) -> Site:
    """A place so far from the reference."""
    place = BOOK.regions[region].place
    return Site(place.latitude + north, place.longitude + east, place.elevation + up)


def season(region: str, place: Site | None = None, observed: Mapping[str, int] | None = None) -> Season:
    """The season of the tests' year."""
    there = place or site(region)
    return season_at(BOOK.regions[region], BOOK.marks, BOOK.planning, there, YEAR, Seen(observed or {}))


def on(text: str) -> int:
    return date.fromisoformat(f"{YEAR}-{text}").toordinal()


def moved(region: str, place: Site) -> dict[str, int]:
    """By how many days each mark's usual day moves from the reference to a place."""
    here, there = season(region).marks, season(region, place).marks
    return {name: there[name].begins.usual - here[name].begins.usual for name in here}


def leaves(reason: Reason) -> list[Reason]:
    return [leaf for under in reason.under for leaf in leaves(under)] if reason.under else [reason]


# At the reference -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("region", REGIONS)
def test_at_the_reference_a_mark_is_the_regions_day_with_one_standard_deviation(region: str) -> None:
    rule: Region = BOOK.regions[region]
    made = season(region)
    for name, cited in rule.marks.items():
        if cited.value.begins is None:
            assert name not in made.marks, "a mark that the region has not is left out"
            continue
        mark, sd = made.marks[name], -int(-cited.value.sd // 1)
        day = cited.value.begins.on_or_after(made.first)
        order = mark.why_begins.rule is not Rule.OUT_OF_ORDER
        assert mark.begins == Span(day - sd, day, day + sd), f"{name} moved: {'' if order else 'order'}"
        assert (mark.ends is None) == (cited.value.ends is None)


@pytest.mark.parametrize("region", REGIONS)
def test_a_period_ends_after_it_begins_even_across_the_new_year(region: str) -> None:
    for name, mark in season(region).marks.items():
        assert mark.ends is None or mark.begins.usual <= mark.ends.usual, name


def test_a_southern_season_runs_over_the_new_year() -> None:
    made = season("nz_north_island")
    assert (date.fromordinal(made.first), date.fromordinal(made.last)) == (date(2027, 7, 1), date(2028, 6, 30))
    flow = made.marks["flow_main"]
    assert flow.ends is not None
    assert date.fromordinal(flow.begins.usual).year == 2027
    assert date.fromordinal(flow.ends.usual).year == 2028


@pytest.mark.parametrize("region", REGIONS)
def test_every_mark_rests_on_a_value_of_the_region_with_a_source(region: str) -> None:
    for name, mark in season(region, site(region, north=0.5, up=60)).marks.items():
        for reason in (mark.why_begins, mark.why_ends):
            for leaf in leaves(reason) if reason else []:
                assert leaf.rule is Rule.REGION_MARK, name
                assert leaf.values, name
                assert all(value.cites for value in leaf.values), name


# Moved ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("region", NORTHERN)
def test_a_degree_north_is_four_days_later_in_spring_and_four_earlier_in_autumn(region: str) -> None:
    for name, days in moved(region, site(region, north=1.0)).items():
        assert days == {"later": 4, "earlier": -4, "stays": 0}[BOOK.marks[name].moves], name


@pytest.mark.parametrize("region", SOUTHERN)
def test_in_the_south_a_degree_south_is_four_days_later_in_spring(region: str) -> None:
    for name, days in moved(region, site(region, north=-1.0)).items():
        assert days == {"later": 4, "earlier": -4, "stays": 0}[BOOK.marks[name].moves], name


@pytest.mark.parametrize("region", REGIONS)
def test_four_hundred_feet_up_are_four_days_later_on_both_sides_of_the_equator(region: str) -> None:
    assert moved(region, site(region, up=121.92))["swarm_start"] == 4
    assert moved(region, site(region, up=-121.92))["swarm_start"] == -4


@pytest.mark.parametrize("region", REGIONS)
def test_five_degrees_west_are_four_days_earlier_in_north_america_only(region: str) -> None:
    assert moved(region, site(region, east=-5.0))["first_pollen"] == (-4 if region in AMERICAN else 0)


def test_what_is_moved_says_by_how_much_and_by_which_rates() -> None:
    reason = season("us_northeast", site("us_northeast", north=1.0)).marks["swarm_start"].why_begins
    assert reason.rule is Rule.SPREAD
    (shifted,) = reason.under
    assert (shifted.rule, shifted.note) == (Rule.MOVED, "4 days later than at the reference")
    assert len(shifted.values) == 3


def test_a_spring_class_and_an_autumn_class_both_occur() -> None:
    """Otherwise the tests of the sign above would pass with nothing to look at."""
    assert {rule.moves for rule in BOOK.marks.values()} == {"later", "earlier", "stays"}


# Far ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("north", "up", "far"), [(3.0, 0, False), (3.01, 0, True), (0, 450, False), (0, 451, True)])
def test_beyond_three_degrees_or_450_metres_the_spread_doubles_and_that_is_said(
    north: float, up: float, far: bool
) -> None:
    near, made = season("us_northeast"), season("us_northeast", site("us_northeast", north, 0, up))
    for name in ("first_pollen", "swarm_start", "first_frost"):
        half = near.marks[name].begins.usual - near.marks[name].begins.low
        assert made.marks[name].begins.usual - made.marks[name].begins.low == half * (2 if far else 1)
        assert made.marks[name].begins.high - made.marks[name].begins.usual == half * (2 if far else 1)
    assert bool(made.notes) == far
    assert not far or "doubled" in made.notes[0]


@pytest.mark.parametrize("region", REGIONS)
def test_more_than_six_degrees_away_is_refused_in_words(region: str) -> None:
    season(region, site(region, north=5.99))
    for north in (6.01, -6.01):
        with pytest.raises(TooFar, match="choose a nearer region") as caught:
            season(region, site(region, north=north))
        assert BOOK.regions[region].title in str(caught.value)


def test_across_the_equator_is_refused() -> None:
    with pytest.raises(TooFar, match=r"other side of the equator.*South is negative"):
        season("us_florida", Site(-29.69, -82.27, 37))


@pytest.mark.parametrize(
    ("region", "place", "words"),
    [
        ("us_northeast", Site(40.69, 81.71, 365), "is a minus sign wrong. West is negative"),
        ("england_south_midlands", Site(51.4, 80.0, 50), "choose a nearer region"),
        ("us_pacific_northwest", Site(45.5, -80.0, 50), "choose a nearer region"),
    ],
)
def test_a_wrong_sign_of_longitude_is_refused_and_asked_about(region: str, place: Site, words: str) -> None:
    """Ohio with its minus sign left out would lie in Kazakhstan, with first pollen in July."""
    with pytest.raises(TooFar, match=words) as caught:
        season(region, place)
    assert "degrees of longitude" in str(caught.value)


@pytest.mark.parametrize("region", REGIONS)
def test_longitude_is_counted_the_short_way_round(region: str) -> None:
    there = BOOK.regions[region].place

    def at(east: float) -> Site:
        return Site(there.latitude, (there.longitude + east + 180.0) % 360.0 - 180.0, there.elevation)

    season(region, at(29.9))
    season(region, at(-29.9))
    for east in (30.1, -30.1):
        with pytest.raises(TooFar):
            season(region, at(east))


# Which season ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("region", "day", "years"),
    [
        ("us_northeast", "2027-01-01", (2026, 2027)),
        ("us_northeast", "2027-03-01", (2026, 2027)),  # 59 days after the end of the season of 2026
        ("us_northeast", "2027-03-02", (2027,)),
        ("us_northeast", "2027-11-02", (2027,)),  # 29 days of November and 31 of December: 60 are left
        ("us_northeast", "2027-11-03", (2027, 2028)),  # 59 are left
        ("us_northeast", "2027-12-31", (2027, 2028)),
        ("nz_north_island", "2027-07-01", (2026, 2027)),
        ("nz_north_island", "2027-06-30", (2026, 2027)),  # one day of the season of 2026 is left
        ("nz_north_island", "2027-05-02", (2026,)),  # 30 days of May and 30 of June: 60 are left
        ("nz_north_island", "2027-05-03", (2026, 2027)),
        ("nz_north_island", "2028-01-15", (2027,)),
    ],
)
def test_the_season_that_holds_the_day_and_its_neighbours_while_they_last(
    region: str, day: str, years: tuple[int, ...]
) -> None:
    planning = BOOK.planning
    within, runs_on = (int(v.value.middle) for v in (planning.next_season_within, planning.season_runs_on))
    assert (within, runs_on) == (60, 60)
    ordinal = date.fromisoformat(day).toordinal()
    assert season_years(BOOK.regions[region], ordinal, within, runs_on) == years
    assert season_year(BOOK.regions[region], ordinal) in years


# Observed -------------------------------------------------------------------------------------------------------------


def test_an_observed_mark_is_exact_and_shifts_the_later_marks_of_its_class() -> None:
    """Drone rearing, 20 April by the region, seen on 11 April: nine days early, as are the later marks of spring."""
    plain = season("us_northeast").marks
    made = season("us_northeast", None, {"drone_rearing_start": on("04-11")}).marks
    assert plain["drone_rearing_start"].begins.usual == on("04-20")
    assert made["drone_rearing_start"].begins == Span.exact(on("04-11"))
    for name in ("supers_on", "swarm_start", "flow_main", "last_frost"):
        assert made[name].begins == plain[name].begins - 9, name
        assert made[name].why_begins.rule is Rule.OBSERVED, name
    assert made["flow_main"].ends == (plain["flow_main"].ends or Span(0, 0, 0)) - 9
    for name in ("first_pollen", "drone_rearing_end", "supers_off", "first_frost", "winter_bee_rearing_start"):
        assert made[name] == plain[name], name


def test_the_days_shifted_say_what_was_seen() -> None:
    reason = season("us_northeast", None, {"drone_rearing_start": on("04-11")}).marks["swarm_start"].why_begins
    assert reason.note == "9 days earlier, as 'drone_rearing_start' was"
    assert any(under.rule is Rule.OBSERVED and under.subject == "drone_rearing_start" for under in reason.under)


def test_two_observed_marks_each_stay_and_the_last_one_counts_for_what_follows() -> None:
    seen = {"first_pollen": on("03-15"), "drone_rearing_start": on("04-17")}
    plain, made = season("us_northeast").marks, season("us_northeast", None, seen).marks
    assert {name: made[name].begins for name in seen} == {name: Span.exact(day) for name, day in seen.items()}
    assert made["swarm_start"].begins == plain["swarm_start"].begins - 3, "ten days early, then seven late: three"


def test_a_mark_seen_before_it_was_due_is_not_shifted_by_another_seen_later() -> None:
    """Swarms seen on 10 May (due 15 May), supers on seen on 12 May (due 10 May): the swarms stay where they were."""
    seen = {"swarm_start": on("05-10"), "supers_on": on("05-12")}
    made = season("us_northeast", None, seen).marks
    assert made["swarm_start"].begins == Span.exact(on("05-10"))
    assert made["supers_on"].begins == Span.exact(on("05-12"))


def test_seen_before_what_it_follows_what_it_follows_gives_way() -> None:
    """Drone rearing seen on 1 March, first pollen expected on 25 March: not the sight is wrong, but the expectation.

    Else a trap's clock would start on 25 March, and its CUT BY would lie 24 days too late.
    """
    made = season("us_northeast", None, {"drone_rearing_start": on("03-01")}).marks
    assert made["drone_rearing_start"].begins == Span.exact(on("03-01"))
    assert made["first_pollen"].begins.usual == on("03-01")
    assert made["first_pollen"].why_begins.rule is Rule.OUT_OF_ORDER


def test_a_period_moved_for_the_sake_of_order_is_moved_whole() -> None:
    """Main flow seen on 25 August, long after the dearth was expected: the dearth comes after it, as long as before."""
    plain, made = season("us_northeast").marks, season("us_northeast", None, {"flow_main": on("08-25")}).marks
    before, after = plain["summer_dearth"], made["summer_dearth"]
    assert before.ends is not None
    assert after.ends is not None
    assert after.begins.usual >= on("08-25")
    assert after.ends.usual - after.begins.usual == before.ends.usual - before.begins.usual


@pytest.mark.parametrize("day", ["2026-04-11", "2028-04-11"])
def test_what_was_seen_in_another_season_counts_for_nothing(day: str) -> None:
    seen = {"drone_rearing_start": date.fromisoformat(day).toordinal()}
    assert season("us_northeast", None, seen) == season("us_northeast")


def test_a_mark_that_the_region_has_not_can_be_seen_without_harm() -> None:
    assert season("us_upper_midwest", None, {"summer_dearth": on("07-20")}) == season("us_upper_midwest")


# Properties -----------------------------------------------------------------------------------------------------------

OFTEN = settings(max_examples=60, deadline=None, derandomize=True)


@st.composite
def seasons(draw: st.DrawFn) -> tuple[str, Season, dict[str, int]]:
    """Any region, any place within reach, and some marks seen up to six weeks early or late."""
    region = draw(st.sampled_from(REGIONS))
    place = site(region, draw(st.floats(-5.9, 5.9)), draw(st.floats(-5, 5)), draw(st.integers(-100, 900)))
    plain = season(region, place)
    names = draw(st.lists(st.sampled_from(sorted(plain.marks)), max_size=4, unique=True))
    seen = {name: plain.marks[name].begins.usual + draw(st.integers(-42, 42)) for name in names}
    return region, season(region, place, seen), {n: d for n, d in seen.items() if plain.first <= d <= plain.last}


def follows(name: str, words: Mapping[str, MarkRule]) -> set[str]:
    """All marks that a mark follows, at any remove."""
    return {one for before in words[name].after for one in {before, *follows(before, words)}}


@OFTEN
@given(seasons())
def test_what_was_seen_stands_and_the_rest_keeps_its_order(made: tuple[str, Season, dict[str, int]]) -> None:
    _, there, seen = made
    for name, day in seen.items():
        assert there.marks[name].begins == Span.exact(day), f"{name} was seen, and stands"
    for name, mark in there.marks.items():
        for before in follows(name, BOOK.marks) & set(there.marks):
            late = there.marks[before].begins.usual > mark.begins.usual
            contradicted = any(seen.get(one, 0) > mark.begins.usual for one in {before, *follows(before, BOOK.marks)})
            assert not late or (name in seen and contradicted), f"{before} comes after {name}"


@OFTEN
@given(seasons())
def test_every_day_of_a_mark_has_its_reason(made: tuple[str, Season, dict[str, int]]) -> None:
    _, there, _ = made
    for mark in there.marks.values():
        assert mark.why_begins.span == mark.begins
        assert (mark.why_ends.span if mark.why_ends else None) == mark.ends


@OFTEN
@given(st.sampled_from(REGIONS), st.floats(-5.9, 5.9), st.floats(-5.9, 5.9), st.integers(-100, 900))
def test_nearer_to_the_pole_spring_is_never_earlier_and_autumn_never_later(
    region: str, one: float, other: float, up: int
) -> None:
    towards = 1 if BOOK.regions[region].place.latitude > 0 else -1
    low, high = sorted((one, other))
    equatorward, poleward = (season(region, site(region, towards * x, 0, up)).marks for x in (low, high))
    for name, rule in BOOK.marks.items():
        if name in equatorward and {equatorward[name].why_begins.rule, poleward[name].why_begins.rule} <= {
            Rule.SPREAD,
            Rule.MOVED,
            Rule.REGION_MARK,
        }:
            later = poleward[name].begins.usual - equatorward[name].begins.usual
            assert later * {"later": 1, "earlier": -1, "stays": 0}[rule.moves] >= 0, name
