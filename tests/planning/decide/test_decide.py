"""Decide: counts of the journal against an authority's line, colony by colony and for the yard."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import SHIPPED_REGIONS, colony, lines, on, rules, season_begins, told, yard

from ipmcal.biology.counts import Cause, board, least_mites
from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.thresholds import Thresholds
from ipmcal.model.values.cited import Basis, Citation, Cited, Place
from ipmcal.model.values.count import Sample, Unit
from ipmcal.model.values.forms import Amount
from ipmcal.place.season import Season
from ipmcal.planning.decide.decide import (
    Call,
    Decision,
    Note,
    YardDecision,
    colonies_to_sample,
    decide,
    decide_all,
    decide_yard,
)
from ipmcal.planning.decide.tally import Count, Yardstick, announced, counts, phase_on, ruling, yardstick
from ipmcal.planning.plan import season_of
from ipmcal.planning.recall.broodless import spells
from ipmcal.planning.recall.state import recall

NORTHEAST: Season = season_of(yard(), rules(), on("01-01"), 2027)
US: Yardstick = yardstick(NORTHEAST, "us", rules())


def stick(*authorities: str) -> Yardstick:
    return replace(US, authorities=tuple((name, rules().thresholds[name]) for name in authorities))


def count(day: str, mites: int = 0, size: int = 300, colony: str = "1", **how: object) -> Count:
    unit = how.pop("unit", Unit.BEES)
    assert isinstance(unit, Unit)
    return replace(Count(colony, on(day), Sample(mites, size, unit), "overwintered"), **how)  # type: ignore[arg-type]


def fall(day: str, mites: int, hours: int = 24, **how: object) -> Count:
    return replace(count(day, **how), sample=board(mites, hours))


def state(*texts: str, of: Colony | None = None) -> ColonyState:
    return recall(of or colony(), lines(*texts), NORTHEAST, on("12-31"), rules())


def written(*texts: str, of: Colony | None = None) -> tuple[Count, ...]:
    return counts(state(*texts, of=of), NORTHEAST, rules())


# Phases ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "phase"),
    [
        ("01-01", "dormant"), ("03-24", "dormant"), ("03-25", "increase"), ("05-24", "increase"), ("05-25", "peak"),
        ("07-14", "peak"), ("07-15", "decrease"), ("10-19", "decrease"), ("10-20", "dormant"), ("12-31", "dormant"),
    ],
)  # fmt: skip
def test_a_phase_lasts_until_the_next_begins(day: str, phase: str) -> None:
    assert phase_on(on(day), US) == phase


@pytest.mark.parametrize("region", SHIPPED_REGIONS)
def test_every_day_of_every_region_has_a_phase_and_the_phases_go_round_once(region: str) -> None:
    place = yard(region=region)
    season = season_of(place, rules(), season_begins(region), 2027)
    stick = yardstick(season, "us", rules())
    phases = [phase_on(day, stick) for day in range(season.first, season.last + 1)]
    turns = [a for a, b in pairwise(phases) if a != b]
    assert None not in phases
    assert len(turns) in (3, 4), turns
    assert set(phases) == set(US.counting.phases)


# Which rule -----------------------------------------------------------------------------------------------------------


def found(one: Count, *authorities: str) -> tuple[str, str] | None:
    got = ruling(one, stick(*authorities))
    return got and (got.authority, got.key)


def test_the_guide_has_a_rule_for_a_wash_on_every_day() -> None:
    for day in range(NORTHEAST.first, NORTHEAST.last + 1):
        assert ruling(replace(count("01-01"), day=day), US) is not None


def test_the_first_authority_that_has_one_is_taken() -> None:
    assert found(count("06-10"), "uk_nbu", "us_guide") == ("us_guide", "peak")
    assert found(fall("06-10", 3), "uk_nbu", "us_guide") == ("uk_nbu", "june")
    assert found(count("06-10", unit=Unit.DRONE_CELLS, size=100), "uk_nbu", "us_guide") == ("uk_nbu", "drones")
    assert found(fall("04-10", 3), "uk_nbu", "us_guide") is None


def test_a_count_is_never_held_against_a_line_in_another_unit() -> None:
    got = decide(count("07-10", 60), stick("de_osnabrueck", "de_weser_ems"))
    assert (got.call, got.causes, got.least) == (Call.NOT_JUDGED, (Note.NO_RULE,), None)
    assert got.interval is not None


def test_before_and_after_treatment() -> None:
    assert found(count("08-20"), "fr_gds") == ("fr_gds", "before")
    assert found(count("08-20", treated=True), "fr_gds") == ("fr_gds", "after")
    assert found(count("10-20"), "fr_gds") is None
    assert found(count("10-20", treated=True), "fr_gds") == ("fr_gds", "after")


def test_small_colonies_have_a_lower_line() -> None:
    """Hannover: six a day in July is below the line of a production colony, and over that of a young one."""
    hannover = stick("de_hannover")
    assert decide(fall("07-15", 6), hannover).call is Call.BELOW
    assert decide(replace(fall("07-15", 6), kind="nucleus"), hannover).call is Call.TREAT


def test_a_period_may_cross_the_new_year() -> None:
    rule = rules().thresholds["uk_nbu"].thresholds["winter"]
    december = rule.model_copy(update={"days": (rule.days[1], rule.days[0])}) if rule.days else rule
    book = rules().thresholds["uk_nbu"].model_copy(update={"thresholds": {"winter": december}})
    crossing = replace(US, authorities=(("uk", book),))  # 31 March to 1 January
    days = [day for day in ("01-01", "01-02", "03-30", "03-31", "12-31") if ruling(fall(day, 1), crossing)]
    assert days == ["01-01", "03-31", "12-31"]


def test_what_is_announced_on_paper() -> None:
    """More than 3 in 100 in decline: ten in 300 bees; more than 2 in 100 in spring: seven."""
    for day, key, least in (("08-01", "decrease", 10), ("04-10", "increase", 7)):
        got = announced(on(day), US, "overwintered", 300)
        assert got is not None
        assert (got[0].key, got[1]) == (key, least)
    assert announced(on("04-01"), stick("fr_grand_est"), "overwintered", 300) is None
    assert announced(on("04-01"), stick("it"), "overwintered", 300) is None


# One count ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "mites", "bees", "call", "level", "causes"),
    [
        ("04-10", 6, 300, Call.BELOW, "watch", (Cause.BELOW,)),
        ("04-10", 7, 300, Call.TREAT, "treat", (Cause.REACHES,)),
        ("04-10", 2, 300, Call.BELOW, None, (Cause.BELOW,)),
        ("06-10", 9, 300, Call.BELOW, "watch", (Cause.BELOW,)),
        ("06-10", 10, 300, Call.TREAT, "treat", (Cause.REACHES,)),
        ("06-10", 5, 120, Call.COUNT_AGAIN, None, (Cause.TOO_SMALL,)),
        ("06-10", 7, 120, Call.TREAT, "treat", (Cause.ENOUGH_FOR_A_WHOLE,)),
        ("06-10", 4, 0, Call.COUNT_AGAIN, None, (Cause.NOTHING_SAMPLED,)),
        ("06-10", 400, 300, Call.TREAT, "treat", (Cause.REACHES, Cause.MORE_MITES_THAN_BEES)),
    ],
)
def test_a_count(
    day: str, mites: int, bees: int, call: Call, level: str | None, causes: tuple[Cause | Note, ...]
) -> None:
    got = decide(count(day, mites, bees), US)
    assert (got.call, got.level, got.causes) == (call, level, causes)


def test_levels_of_which_none_is_a_line_to_treat_at() -> None:
    got = decide(count("04-01", 1), stick("fr_grand_est"))
    assert (got.call, got.causes, got.level, got.least) == (Call.NOT_JUDGED, (Note.NO_LINE,), "watch", None)
    late = decide(count("10-10", 30), stick("de_damage"))
    assert (late.call, late.level) == (Call.NOT_JUDGED, "lost")


def test_between_two_levels_the_table_is_silent() -> None:
    got = decide(fall("06-10", 3), stick("fr_alsace"))
    assert (got.call, got.level, got.causes) == (Call.BELOW, "silent", (Cause.BELOW, Note.SILENT))


def test_exactly_on_a_strict_line_is_below() -> None:
    assert decide(fall("07-10", 8), stick("dk")).call is Call.BELOW
    got = decide(fall("07-10", 9), stick("dk"))
    assert (got.call, got.level) == (Call.TREAT, "at_once")


# The last count before winter bees ------------------------------------------------------------------------------------


def calls(*found: Count, of: Yardstick = US) -> list[Call]:
    return [d.call for d in decide_all(found, of)]


def test_just_under_the_line_is_counted_again_only_at_the_last_count_before_winter_bees() -> None:
    """Winter bees from 20 August: the five weeks before are the last chance."""
    assert calls(count("08-01", 9)) == [Call.COUNT_AGAIN]
    assert decide_all([count("08-01", 9)], US)[0].causes == (Note.LAST_BEFORE_WINTER, Cause.BELOW)
    assert calls(count("08-01", 8)) == [Call.BELOW]
    assert calls(count("07-15", 9)) == [Call.BELOW]
    assert calls(count("08-21", 9)) == [Call.BELOW]


def test_it_is_repeated_once() -> None:
    assert calls(count("08-01", 9), count("08-08", 9)) == [Call.BELOW, Call.BELOW]
    assert calls(count("08-01", 9), count("08-08", 10)) == [Call.BELOW, Call.TREAT]


def test_a_bad_sample_before_it_does_not_speak() -> None:
    assert calls(count("08-01", 3, 100), count("08-08", 9)) == [Call.COUNT_AGAIN, Call.COUNT_AGAIN]
    assert calls(count("08-01", 9), count("08-08", 3, 100)) == [Call.BELOW, Call.COUNT_AGAIN]


def test_no_mite_is_never_just_under() -> None:
    assert calls(count("08-01", 0), of=replace(US, authorities=(("qc", _strict()),))) == [Call.BELOW]


def _strict() -> Thresholds:
    quebec = rules().thresholds["quebec"]
    spring = quebec.thresholds["spring"].model_copy(update={"days": None})
    return quebec.model_copy(update={"thresholds": {"spring": spring}})


# From the journal -----------------------------------------------------------------------------------------------------


def test_counts_are_read_with_their_unit_and_their_day() -> None:
    one, two = written("2026-08-01 count 9/300", "05-01 count 4/310", "06-05 pupa_look 4/100")
    assert (one.sample, told(one.day)) == (Sample(4, 310), "05-01")
    assert two.sample == Sample(4, 100, Unit.DRONE_CELLS)


def test_a_caged_queen_and_three_weeks() -> None:
    """Caged 1 June: the first may be free of capped brood on 21 June; eggs by 27 June, and three weeks to 18 July."""
    days = ("06-20", "06-21", "06-30", "07-18", "07-19")
    found = written("06-01 caged", "06-25 released", *(f"{day} count 30/300" for day in days))
    assert [told(c.day) for c in found if c.broodless] == ["06-21", "06-30", "07-18"]
    assert [d.call for d in decide_all(found, US)] == [Call.TREAT, *[Call.NOT_JUDGED] * 3, Call.TREAT]
    assert decide(found[1], US).causes == (Cause.BROODLESS,)


def test_caged_for_a_week_is_no_broodless_colony() -> None:
    assert spells(state("06-01 caged", "06-08 released"), rules()) == ()


def test_a_break_without_an_end_ends_when_a_queen_of_their_own_would_lay() -> None:
    (spell,) = spells(state("05-22 swarmed"), rules())
    assert not spell.sure
    assert told(spell.first) == "06-11"
    assert on("07-01") <= spell.last <= on("08-01")
    (seen,) = spells(state("05-22 swarmed", "06-15 queen laying"), rules())
    assert (seen.sure, told(seen.last)) == (True, "07-06")


def test_a_queen_only_seen_has_not_been_seen_laying() -> None:
    (spell,) = spells(state("05-22 swarmed", "06-15 queen seen"), rules())
    assert not spell.sure


def test_a_package_has_no_brood_at_first_and_a_nucleus_has() -> None:
    package = colony(began="2027-05-01", kind="package")
    (spell,) = spells(state(of=package), rules())
    assert (told(spell.first), told(spell.last)) == ("05-01", "05-31")  # a week more where combs have to be drawn first
    assert spells(state(of=colony(began="2027-05-01", kind="nucleus")), rules()) == ()
    assert spells(state(of=colony(began="2026-05-01", kind="package")), rules()) == ()


def test_a_line_for_colonies_without_brood_judges_them() -> None:
    """New South Wales has a band for colonies that are dormant or without brood; the guide's winter line too."""
    assert decide(count("01-10", 9, broodless=True), US).call is Call.TREAT
    assert decide(count("06-10", 30, broodless=True), US).call is Call.NOT_JUDGED


def test_after_a_treatment() -> None:
    got = counts(state("08-01 count 9/300", "09-20 count 1/300"), NORTHEAST, rules(), treated=[on("08-10")])
    assert [c.treated for c in got] == [False, True]


@pytest.mark.parametrize(("day", "after"), [("08-09", False), ("08-10", True), ("08-11", True)])
def test_a_count_on_the_day_of_the_treatment_is_one_after_it(day: str, after: bool) -> None:
    """As ``Count`` says of itself, and as the first of several days of treatment decides."""
    for days in (["08-10"], ["08-10", "09-01"], ["09-01", "08-10"]):
        (got,) = counts(state(f"{day} count 9/300"), NORTHEAST, rules(), treated=[on(one) for one in days])
        assert got.treated is after


# The yard -------------------------------------------------------------------------------------------------------------


def whole(*found: Count, colonies: int = 3, of: Yardstick = US) -> YardDecision:
    return decide_yard([decide(one, of) for one in found], colonies, of)


def test_one_colony_over_is_enough_for_the_yard() -> None:
    got = whole(count("06-10", 1), count("06-10", 12, colony="2"), count("06-12", 2, colony="3"))
    assert (got.call, got.over, got.causes) == (Call.TREAT, ("2",), (Cause.REACHES,))
    assert got.pooled == Sample(15, 900)
    assert got.interval is not None


def test_enough_colonies_below_speak_for_the_yard() -> None:
    found = [count("06-10", n, colony=str(n)) for n in range(8)]
    assert whole(*found, colonies=20).call is Call.BELOW
    few = whole(*found[:5], colonies=20)
    assert (few.call, few.causes, few.missing) == (Call.COUNT_AGAIN, (Note.TOO_FEW_COLONIES,), 3)
    assert whole(*found[:5], colonies=5).call is Call.BELOW


def test_a_bad_sample_is_counted_again_before_the_yard_is_let_off() -> None:
    got = whole(count("06-10", 1), count("06-10", 2, 90, colony="2"), count("06-10", 0, colony="3"))
    assert (got.call, got.again, got.causes, got.missing) == (Call.COUNT_AGAIN, ("2",), (Cause.TOO_SMALL,), 1)


def test_nothing_counted_or_nothing_judged() -> None:
    assert (whole().call, whole().causes) == (Call.NOT_JUDGED, (Note.NO_COUNT,))
    got = whole(count("06-10", 30, broodless=True))
    assert (got.call, got.causes, got.pooled) == (Call.NOT_JUDGED, (Cause.BROODLESS,), None)


def test_old_counts_and_those_before_the_treatment_have_no_say() -> None:
    old = whole(count("06-10", 12), count("06-30", 1, colony="2"), colonies=1)
    assert (old.call, len(old.decisions)) == (Call.BELOW, 1)
    before = count("06-10", 12, treated_on=on("06-12"))
    treated = whole(before, count("06-20", 1, colony="2", treated=True), colonies=1)
    assert (treated.call, len(treated.decisions)) == (Call.BELOW, 1)


def test_counts_of_a_yard_that_is_treated_in_part_all_stand() -> None:
    """Over strips in one hive, and in another that has none yet: neither takes the other's place, on whatever day."""
    strips, none = count("08-08", 15, colony="7", treated=True), count("08-08", 12, colony="8")
    for found in ((strips, none), (none, strips), (replace(none, day=on("08-06")), strips)):
        made = whole(*found, colonies=2)
        assert sorted(made.over) == ["7", "8"]


def test_the_latest_count_of_a_colony_that_judges_decides() -> None:
    assert whole(count("06-10", 12), count("06-17", 1), colonies=1).call is Call.BELOW
    later = whole(count("06-10", 12), fall("06-12", 1), colonies=1)
    assert (later.call, later.over) == (Call.TREAT, ("1",))


@pytest.mark.parametrize(
    ("authority", "colonies", "wanted"),
    [
        ("us_guide", 4, 4), ("us_guide", 8, 8), ("us_guide", 60, 8), ("au", 6, 6), ("au", 9, 9), ("au", 25, 10),
        ("fr_gds", 3, 3), ("fr_gds", 5, 3), ("fr_gds", 6, 5), ("fr_gds", 20, 6), ("fr_gds", 21, 8), ("it", 10, 4),
        ("fr_grand_est", 30, 8), ("dk", 12, 1), ("dk", 0, 0),
    ],
)  # fmt: skip
def test_how_many_colonies_stand_for_a_yard(authority: str, colonies: int, wanted: int) -> None:
    assert colonies_to_sample(stick(authority).plan, colonies) == wanted


# Whatever the numbers -------------------------------------------------------------------------------------------------

some = st.builds(
    lambda day, mites, bees, name, broodless: Count(
        name, on("01-01") + day, Sample(mites, bees), "overwintered", broodless
    ),
    st.integers(0, 364),
    st.integers(0, 40),
    st.integers(0, 400),
    st.sampled_from("123456789"),
    st.booleans(),
)


def figure(number: float) -> Cited[Amount]:
    cite = Citation("test", "", Basis.ASSUMPTION)
    return Cited(Amount(number, number, number, "1"), (cite,), Place("", 0, 0), "", str(number))


@given(st.lists(some, max_size=9), st.floats(0.5, 0.999), st.floats(1, 5), st.integers(1, 30))
def test_the_interval_never_steers(found: list[Count], confidence: float, effect: float, colonies: int) -> None:
    other = replace(
        US,
        counting=US.counting.model_copy(update={"confidence": figure(confidence), "design_effect": figure(effect)}),
    )

    def said(by: Yardstick) -> tuple[list[Call], Call]:
        made: list[Decision] = []
        for name in "123456789":
            made += decide_all(sorted((c for c in found if c.colony == name), key=lambda c: c.day), by)
        return [d.call for d in made], decide_yard(made, colonies, by).call

    assert said(US) == said(other)


DECIDING = sorted(n for n, t in rules().thresholds.items() if all(r.line is not None for r in t.thresholds.values()))
"""Authorities that say when to treat; one that only says what is lost leaves a count recorded."""


@given(some, st.sampled_from(DECIDING))
def test_one_more_mite_never_lets_off(one: Count, authority: str) -> None:
    order = [Call.NOT_JUDGED, Call.COUNT_AGAIN, Call.BELOW, Call.TREAT]
    by = stick(authority)
    more = replace(one, sample=Sample(one.sample.mites + 1, one.sample.size))
    assert order.index(decide(one, by).call) <= order.index(decide(more, by).call)


@given(st.lists(some, min_size=1, max_size=9))
def test_a_yard_is_treated_if_and_only_if_a_deciding_count_is_over(found: list[Count]) -> None:
    got = decide_yard([decide(one, US) for one in found], 9, US)
    assert (got.call is Call.TREAT) == any(d.call is Call.TREAT for d in got.decisions)
    assert (got.call is Call.TREAT) == bool(got.over)
    newest = max(one.day for one in found)
    assert all(newest - d.count.day <= 14 for d in got.decisions)


def test_every_line_has_its_whole_mites_by_exact_arithmetic() -> None:
    """For each line that we ship: the whole count at which it turns, against a search with fractions."""
    lines = [
        (name, key, rule.line.value)
        for name, one in rules().thresholds.items()
        for key, rule in one.thresholds.items()
        if rule.line is not None
    ]
    assert len(lines) > 30
    for name, key, line in lines:
        for size in (Fraction(1), Fraction(3), Fraction(50), Fraction(300), Fraction(317)):
            edge = line.mites * size / line.of
            turns = next(n for n in range(20_000) if (n > edge if line.above else n >= edge))
            assert least_mites(line, size) == turns, (name, key, size)


@pytest.mark.parametrize(
    ("region", "law", "day", "mites", "size", "unit"),
    [
        ("us_intermountain", "us", "08-28", 6, 300, Unit.BEES),  # Utah: 2 in 100 at any time
        ("us_upper_midwest", "us", "08-15", 6, 300, Unit.BEES),  # Minnesota's keepers: 2 in 100 in August
        ("canada_ontario", "ca", "05-15", 6, 300, Unit.BEES),  # the province's table: 2 in 100 in May
        ("canada_ontario", "ca", "08-15", 9, 300, Unit.BEES),  # and 3 in August
        ("canada_prairies_alberta", "ca", "05-15", 3, 300, Unit.BEES),  # 1 in 100 in spring
        ("germany_central_europe", "de", "07-15", 15, 3, Unit.DAYS),  # a course for keepers: 5 a day in July
    ],
)
def test_an_authority_of_the_region_goes_before_its_countrys(
    region: str, law: str, day: str, mites: int, size: int, unit: Unit
) -> None:
    season = season_of(yard(region=region), rules(), on("01-01"), 2027)
    near = announced(on(day), yardstick(season, law, rules(), rules().regions[region]), "overwintered", size, unit)
    far = announced(on(day), yardstick(season, law, rules()), "overwintered", size, unit)
    assert near is not None
    assert near[1] == mites
    assert far is None or far[1] > mites
