"""Marks by the sum of warmth that they need: the keeper's own days, continued with the normals.

The sums in these tests are those of the shipped regions, or are made for the case (invented).
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ipmcal.data import folder
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.files import DegreeDays, Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.days import Span
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, season_at
from ipmcal.place.warmth import Readings, reached
from ipmcal.reading.rules.rulebook import load_rulebook

BOOK: Rulebook = load_rulebook(folder("rules"))
NORTHEAST = BOOK.regions["us_northeast"]
FIRST, LAST = date(2027, 1, 1).toordinal(), date(2027, 12, 31).toordinal()


def with_sum(base: str, wanted: str, region: Region = NORTHEAST) -> Region:
    """The region with a sum of its main flow."""
    written = {"base": f"{base} @practice", "sums": {"flow_main": f"{wanted} @practice"}}
    heat = DegreeDays.model_validate(written, context={"sources": {"practice": Basis.PRACTICE}})
    return region.model_copy(update={"degree_days": heat})


def season(readings: Readings, observed: dict[str, int] | None = None, north: float = 0.0) -> Season:
    place = NORTHEAST.place
    site = Site(place.latitude + north, place.longitude, place.elevation)
    return season_at(NORTHEAST, BOOK.marks, BOOK.planning, site, 2027, observed or {}, readings)


def on(text: str) -> int:
    return date.fromisoformat(f"2027-{text}").toordinal()


def steady(high: float, low: float, first: str = "01-01", last: str = "12-31") -> dict[int, tuple[float, float]]:
    """Every day alike."""
    return dict.fromkeys(range(on(first), on(last) + 1), (high, low))


def test_the_northeast_has_a_sum_for_its_main_flow() -> None:
    """Black locust, first flowers: 467 degree days above 50 °F (D. A. Herms, Ohio; from memory)."""
    assert NORTHEAST.degree_days is not None
    wanted = NORTHEAST.degree_days.sums["flow_main"]
    assert (str(wanted.value), str(NORTHEAST.degree_days.base.value)) == ("467 °Fd", "50 °F")
    assert {cite.source for cite in wanted.cites} == {"herms_2004"}


@pytest.mark.parametrize(
    ("base", "wanted", "high", "low", "days"),
    [
        ("10 °C", "100 °Cd", 25.0, 15.0, 10),  # ten degree days a day
        ("10 °C", "101 °Cd", 25.0, 15.0, 11),
        ("50 °F", "180 °Fd", 25.0, 15.0, 10),  # 77 and 59 °F: 18 a day
        ("50 °F", "181 °Fd", 25.0, 15.0, 11),
        ("10 °C", "1 °Cd", 21.0, 1.0, 1),  # the mean of high and low counts: 11 degrees
    ],
)
def test_days_that_were_read_are_summed(base: str, wanted: str, high: float, low: float, days: int) -> None:
    found = reached(with_sum(base, wanted), "flow_main", FIRST, LAST, steady(high, low), 0.0)
    assert found is not None
    assert (found.day - FIRST + 1, found.measured, found.usual) == (days, days, 0)


def test_days_too_cold_give_nothing_and_take_nothing() -> None:
    year = steady(5.0, -5.0, last="04-30") | steady(20.0, 10.0, first="05-01")
    found = reached(with_sum("10 °C", "50 °Cd"), "flow_main", FIRST, LAST, year, 0.0)
    assert found is not None
    assert found.day == on("05-10")


def test_behind_the_last_reading_the_normals_go_on() -> None:
    cold = reached(NORTHEAST, "flow_main", FIRST, LAST, steady(0.0, -8.0, last="04-30"), 0.0)
    warm = reached(NORTHEAST, "flow_main", FIRST, LAST, steady(21.0, 9.0, first="04-01", last="04-30"), 0.0)
    assert cold is not None
    assert warm is not None
    assert (cold.measured, cold.usual) == (120, cold.day - on("04-30"))
    assert warm.measured == 30
    assert warm.day < on("05-25") < cold.day


def test_a_place_where_spring_is_later_is_later_by_as_much() -> None:
    """Readings of no account, and normals that stand eight days behind."""
    one = {FIRST: (-1.0, -9.0)}
    here, there = (reached(NORTHEAST, "flow_main", FIRST, LAST, one, later) for later in (0.0, 8.0))
    assert here is not None
    assert there is not None
    assert there.day - here.day == pytest.approx(8, abs=1)


def test_without_readings_or_without_a_sum_nothing_changes() -> None:
    assert reached(NORTHEAST, "flow_main", FIRST, LAST, {}, 0.0) is None
    assert reached(NORTHEAST, "swarm_start", FIRST, LAST, steady(25.0, 15.0), 0.0) is None
    assert season({}) == season({FIRST - 1: (20.0, 10.0)}), "a reading of another season counts for nothing"


def test_a_sum_that_is_never_reached_leaves_the_regions_day() -> None:
    assert season(steady(5.0, -5.0)) == season({})


def test_the_mark_moves_whole_keeps_its_spread_and_says_why() -> None:
    plain = season({}).marks["flow_main"]
    winter = steady(0.0, -8.0, last="03-31")
    made = season(winter | steady(21.0, 9.0, "04-01", "05-31")).marks["flow_main"]
    by = made.begins.usual - plain.begins.usual
    assert by == on("05-22") - on("05-25"), "five Celsius degree days a day, 259 of them: 52 days from 1 April"
    assert made.begins == plain.begins + by
    assert plain.ends is not None
    assert made.ends == plain.ends + by
    reason = made.why_begins
    assert (reason.rule, reason.span) == (Rule.DEGREE_DAYS, made.begins)
    assert reason.under == (plain.why_begins,)
    assert [value.text for value in reason.values] == ["467 °Fd @herms_2004/memory", "50 °F @herms_2004/memory"]
    assert reason.note == "142 days of yours, 0 days of the region's normals"


def test_only_the_mark_that_has_a_sum_moves() -> None:
    plain, made = season({}).marks, season(steady(21.0, 9.0, "04-01", "05-31")).marks
    assert {name for name in plain if plain[name] != made[name]} == {"flow_main"}


def test_what_the_keeper_saw_goes_before_what_was_reckoned() -> None:
    made = season(steady(21.0, 9.0, "04-01", "05-31"), {"flow_main": on("05-30")}).marks["flow_main"]
    assert made.begins == Span.exact(on("05-30"))
    assert made.why_begins.rule is Rule.OBSERVED


def test_the_seasons_order_is_kept() -> None:
    """A June so cold that the flow would open after the dearth: the dearth follows it."""
    made = season(steady(12.0, 6.0, "01-01", "07-15") | steady(24.0, 12.0, "07-16", "12-31")).marks
    assert made["flow_main"].begins.usual > on("07-20")
    assert made["summer_dearth"].begins.usual >= made["flow_main"].begins.usual


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.dictionaries(st.integers(FIRST, FIRST + 200), st.floats(-20, 30), min_size=1, max_size=80), st.floats(0, 10))
def test_warmer_is_never_later(highs: dict[int, float], warmer: float) -> None:
    days = {day: (high, high - 9.0) for day, high in highs.items()}
    more = {day: (high + warmer, low + warmer) for day, (high, low) in days.items()}
    one, other = (reached(NORTHEAST, "flow_main", FIRST, LAST, readings, 0.0) for readings in (days, more))
    if one is not None and other is not None:
        assert other.day <= one.day
