"""The days on which mites are counted, against all sets of days: none is better, by figures of this test's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st
from planning.yards import YEAR, on, season_begins, shipped, yard

from ipmcal.planning.counting.chosen import CountQuestion, _step, between, days_chosen
from ipmcal.planning.decide.rhythm import AskedCount, CountFor, CountSetting, seasons_of_brood
from ipmcal.planning.recall.situate import season_of

REGION = "us_upper_midwest"
SEASON = season_of(yard(region=REGION), shipped(), season_begins(REGION), YEAR)
RHYTHM = shipped().planning.year_plans.counts
FIRST, LAST = on("05-01"), on("09-30")
WEEKS = list(range(FIRST, LAST + 1, 14))
APART, LATE = 45, 35
"""Days between two counts at most, before and from midsummer on (``year_plans.counts``; practice)."""


def question(had: list[int], windows: list[tuple[int, int]], visited: set[int], free: list[int]) -> CountQuestion:
    """Warm from May to September, no law of a region's."""
    setting = CountSetting(SEASON, WEEKS, lambda _: 20.0, RHYTHM, None)
    asked = tuple(AskedCount(first, last, CountFor.BEFORE, last) for first, last in windows)
    costs = {day: (int(day not in visited), int(day not in visited)) for day in free}
    stretches = tuple(seasons_of_brood(setting))
    return CountQuestion(setting, asked, stretches, tuple(sorted(had)), tuple(free), costs, FIRST, 7)


def worth(asked: CountQuestion, days: tuple[int, ...]) -> tuple[int, int]:
    """Windows missed, and days too far apart: by the rhythm's own figures."""
    counts = sorted({*asked.had, *days})
    missed = sum(not any(one.first <= day <= one.last for day in counts) for one in asked.asked)
    mark = SEASON.marks["winter_bee_rearing_start"].begins.usual - 56
    far = 0
    for first, last in asked.stretches:
        inside = [day for day in counts if day >= first]
        edges = [*inside, last]
        reach = first + 14
        for day in edges:
            far += max(0, min(day, last) - reach) if reach < last else 0
            reach = day + (LATE if day >= mark else APART)
            if day >= last:
                break
    return missed, far


SOON = 12
"""A worker's cell is capped for 12 days (BEEBOOK, Human et al. 2013): what sat in cells at a count has come out."""


def worth_daily(asked: CountQuestion, days: tuple[int, ...]) -> tuple[int, int, int]:
    """Windows missed, counts that tell nothing new, days too far apart."""
    missed, far = worth(asked, days)
    counts = sorted({*asked.had, *days})
    return missed, sum(b - a < SOON for a, b in pairwise(counts)), far


DAILY_WINDOW = st.tuples(st.integers(FIRST, FIRST + 90), st.integers(0, 21)).map(lambda w: (w[0], w[0] + w[1]))


@given(
    st.lists(st.integers(FIRST, FIRST + 90), max_size=2, unique=True),
    st.lists(DAILY_WINDOW, max_size=2),
    st.lists(st.integers(FIRST, FIRST + 100), min_size=3, max_size=8, unique=True).map(sorted),
)
def test_none_is_made_so_soon_after_another_that_it_tells_nothing_new(
    had: list[int], windows: list[tuple[int, int]], free: list[int]
) -> None:
    asked = question(had, windows, set(), free)
    every = (some for n in range(len(free) + 1) for some in combinations(free, n))
    assert worth_daily(asked, days_chosen(asked)) == min(worth_daily(asked, some) for some in every)


def test_before_weeks_in_which_a_hive_stays_shut_it_is_counted_once_not_on_two_days_running() -> None:
    """Trays lie from 6 August to 11 September; 36 days, and 35 are asked for: no second count on the eve mends that."""
    free = [*range(on("07-17"), on("08-07")), *range(on("09-11"), on("09-30"))]
    asked = question([on("07-23")], [], {on("08-06"), on("09-11")}, free)
    found = [day for day in days_chosen(asked) if day > on("07-23")]
    assert all(b - a >= SOON for a, b in pairwise([on("07-23"), *found]))
    assert sum(on("07-24") <= day <= on("08-06") for day in found) == 1


DAYS = st.lists(st.sampled_from(WEEKS), min_size=3, max_size=9, unique=True).map(sorted)
WINDOW = st.tuples(st.sampled_from(range(FIRST, LAST)), st.integers(0, 28)).map(lambda w: (w[0], w[0] + w[1]))


@given(
    st.lists(st.sampled_from(WEEKS), max_size=2), st.lists(WINDOW, max_size=3), st.sets(st.sampled_from(WEEKS)), DAYS
)
def test_no_set_of_days_misses_less(
    had: list[int], windows: list[tuple[int, int]], visited: set[int], free: list[int]
) -> None:
    asked = question(had, windows, visited, free)
    found = days_chosen(asked)
    assert set(found) <= set(free)
    every = (some for n in range(len(free) + 1) for some in combinations(free, n))
    assert worth(asked, found) == min(worth(asked, some) for some in every)


COST = st.sampled_from([(0, 0), (0, 1), (1, 1), (1, 2)])


@given(st.lists(st.sampled_from(WEEKS), max_size=2), st.lists(WINDOW, max_size=3), DAYS, st.data())
def test_no_set_of_days_is_worth_more(
    had: list[int], windows: list[tuple[int, int]], free: list[int], data: st.DataObject
) -> None:
    """By all that a way is weighed by: the search leaves out days and ways, and must lose none by it."""
    asked = question(had, windows, set(), free)
    asked = replace(asked, costs={day: data.draw(COST) for day in free})
    every = (some for n in range(len(free) + 1) for some in combinations(free, n))
    assert weighed(asked, days_chosen(asked)) == min(weighed(asked, some) for some in every)


def weighed(asked: CountQuestion, days: Sequence[int]) -> tuple[int, ...]:
    """What a set of days comes to, step by step."""
    steps = [asked.last, *sorted({*asked.planned, *days}), SEASON.last + 1]
    chosen = set(days) - set(asked.planned)
    return tuple(map(sum, zip(*(_step(asked, *pair, chosen) for pair in pairwise(steps)), strict=True)))


def test_a_visit_that_is_made_anyway_takes_the_count_along() -> None:
    asked = question([], [(on("06-01"), on("06-30"))], {WEEKS[3]}, WEEKS)
    assert WEEKS[3] in days_chosen(asked)


def test_a_day_is_left_for_rain_where_there_is_one() -> None:
    """The last of the days in a window is held back, as packing does."""
    asked = replace(question([], [(WEEKS[4], WEEKS[5])], {WEEKS[5]}, WEEKS), stretches=())
    assert days_chosen(asked) == (WEEKS[4],)


def test_a_count_may_be_moved_within_its_neighbours_reach() -> None:
    asked = question([WEEKS[0]], [], set(), WEEKS)
    first, last = between(asked, WEEKS[2], (WEEKS[0], WEEKS[4]))
    assert (first, last) == (WEEKS[1], WEEKS[3])
