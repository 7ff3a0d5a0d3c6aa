"""Limits: each alone and in company, the first day on which it falls away, the label's own words, what is not known.

The label with every limit (``few_treatments/``) is made up; shipped labels are tried in ``tests/handbook/``.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import on, shipped

from ipmcal.data import folder
from ipmcal.model.plan.verdict import Allowed, Verdict, Weight
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Limits
from ipmcal.model.values.forms import Amount
from ipmcal.place.climate import Climate, chance_of_run
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell, Standing, Stay, supers_shut, use_of
from ipmcal.planning.labels.verdict import LIMIT_CHECKS, Where, verdict
from ipmcal.planning.labels.weather import Weather, warm_days
from ipmcal.reading.rules.rulebook import load_rulebook

ALL = "every_limit"
BEGIN = on("07-01")


@cache
def book() -> Rulebook:
    """The shipped rules with a treatment of every limit."""
    return load_rulebook(folder("rules"), Path(__file__).parent / "few_treatments", "few_treatments")


FINE = Standing(
    kind="overwintered",
    bee_frames=12,
    chambers=2,
    queen=frozenset({"laying"}),
    brood=(BroodSpell("none", on("06-20"), on("08-20"), "a test's"),),
    years=((on("01-01"), on("12-31")),),
    winters=((on("06-25"), on("07-31")),),
    entrance="full",
    floor="closed",
)
WARM = Weather(readings={on("06-01") + n: (25.0, 12.0) for n in range(200)}, enough=0.6)
OTHER = CourseSpell("other", "oxalic", on("05-01"), on("05-01"))

# What breaks each limit, and nothing else.
BREAKS: dict[str, dict[str, object]] = {
    "supers": {"supers": (Stay(on("05-10"), on("09-11")),)},
    "brood": {"brood": ()},
    "strength": {"bee_frames": 5},
    "chambers": {"chambers": 3},
    "kind": {"kind": "nucleus"},
    "flow": {"flows": {"main": ((on("06-01"), on("07-10")),)}},
    "queen": {"queen": frozenset({"caged"})},
    "entrance": {"entrance": "small", "entrance_since": on("06-20")},
    "floor": {"floor": "open", "floor_since": on("05-01")},
    "quiet": {"openings": (on("07-03"),)},
    "feeding": {"fed": (on("06-28"),)},
}
PASTS: dict[str, tuple[CourseSpell, ...]] = {
    "rest": (
        CourseSpell(ALL, "terpene", on("05-20"), on("06-03")),
        CourseSpell("other", "oxalic", on("06-10"), on("06-10")),
    ),
    "course": (
        CourseSpell(ALL, "terpene", on("02-01"), on("02-15")),
        CourseSpell(ALL, "terpene", on("03-25"), on("04-08")),
        OTHER,
    ),
    "winter": (CourseSpell("oxalic_trickle", "oxalic", on("06-26"), on("06-26")),),
    "class": (CourseSpell("thymol_wafer", "terpene", on("04-01"), on("04-20")),),
    "together": (CourseSpell("oxalic_slow_strip", "oxalic", on("06-20"), on("07-20")),),
}
COLD = {"temperature": {on("07-02"): (14.9, 5.0)}}


def asked(broken: frozenset[str]) -> Verdict:
    """The verdict where these limits are broken."""
    facts: dict[str, object] = {}
    for word in sorted(broken & set(BREAKS)):
        facts |= BREAKS[word]
    pasts = [past for word in sorted(broken & set(PASTS)) for past in PASTS[word]]
    standing = replace(FINE, courses=tuple(pasts), **facts)  # type: ignore[arg-type]
    readings = {**WARM.readings, **(COLD["temperature"] if "temperature" in broken else {})}
    return verdict(ALL, Where("us", replace(WARM, readings=readings), book()), standing, BEGIN, search=False)


def words(found: Verdict) -> set[str]:
    return {reason.limit for reason in found.reasons}


# Courses speak of one another: a class broken and an "other first" in between can't both be. They are tried alone.
COMPANY = sorted({*BREAKS, "temperature", "together"})
EVERY = sorted({*BREAKS, *PASTS, "temperature"})


def test_every_limit_that_a_label_may_set_has_a_check_and_is_tried_here() -> None:
    named = {info.alias or name for name, info in Limits.model_fields.items()} - {"cite"}
    assert named == set(LIMIT_CHECKS) == set(EVERY)


def test_a_colony_that_meets_every_limit_is_allowed() -> None:
    found = asked(frozenset())
    assert (found.verdict, found.reasons) == (Allowed.ALLOWED, ())
    assert found.remarks == ("for holders of an applicator's licence",)  # said, and no refusal


@pytest.mark.parametrize("word", EVERY)
def test_each_limit_alone_forbids_with_one_reason(word: str) -> None:
    found = asked(frozenset({word}))
    assert found.verdict is Allowed.FORBIDDEN
    assert [reason.limit for reason in found.reasons] == [word]
    reason = found.reasons[0]
    assert reason.weight is Weight.FORBIDS
    assert reason.says
    assert reason.known
    assert reason.cites
    assert reason.value is not None


@pytest.mark.parametrize("trio", list(combinations(COMPANY, 3)), ids=" ".join)
def test_refused_for_three_reasons_lists_three_and_mending_one_leaves_two(trio: tuple[str, ...]) -> None:
    assert words(asked(frozenset(trio))) == set(trio)
    for mended in trio:
        assert words(asked(frozenset(trio) - {mended})) == set(trio) - {mended}


@given(st.sets(st.sampled_from(COMPANY)), st.sampled_from(sorted(PASTS)))
def test_any_company_of_broken_limits_lists_them_all(broken: set[str], past: str) -> None:
    found = asked(frozenset(broken | {past}) - (frozenset({"together"}) - {past}))
    assert words(found) == (broken - {"together"}) | {past}


# The first day on which a reason falls away ---------------------------------------------------------------------------


def until(standing: Standing, limit: str, weather: Weather = WARM) -> int | None:
    found = verdict(ALL, Where("us", weather, book()), standing, BEGIN)
    return next(reason.until for reason in found.reasons if reason.limit == limit)


def test_supers_fall_away_on_the_day_on_which_they_come_off() -> None:
    assert until(replace(FINE, supers=(Stay(on("05-10"), on("08-14")),)), "supers") == on("08-14")


def test_supers_that_go_on_again_push_it_behind_them() -> None:
    """The second box is wanted 10 days after a course of 14: not before 31 July + 24 d could it go on."""
    stays = (Stay(on("05-10"), on("07-31")), Stay(on("08-20"), on("09-05")))
    assert until(replace(FINE, supers=stays), "supers") == on("09-05")
    gap = (stays[0], Stay(on("08-24"), on("09-05")))  # 24 days are just enough
    assert until(replace(FINE, supers=gap), "supers") == on("07-31")


def test_without_a_day_known_for_supers_to_come_off_no_day_is_told() -> None:
    assert until(replace(FINE, supers=(Stay(on("05-10"), None),)), "supers") is None


def test_a_flow_falls_away_on_the_day_after_it() -> None:
    assert until(replace(FINE, flows={"main": ((on("06-01"), on("07-10")),)}), "flow") == on("07-11")


def test_a_rest_of_thirty_days_counts_from_the_last_day() -> None:
    past = (
        CourseSpell(ALL, "terpene", on("05-20"), on("06-03")),
        CourseSpell("other", "oxalic", on("06-10"), on("06-10")),
    )
    assert until(replace(FINE, courses=past), "rest") == on("07-03")


def test_a_cap_a_year_falls_away_with_the_next_year() -> None:
    years = ((on("01-01"), on("12-31")), (on("2028-01-01"), on("2028-12-31")))
    standing = replace(FINE, courses=PASTS["course"], years=years)
    assert until(standing, "course") == on("2028-01-01")


def test_two_courses_in_one_winter_count_as_of_one_year() -> None:
    """A second dose in January after one in December, where the cap is two and one was in November."""
    years = ((on("2026-01-01"), on("2026-12-31")), (on("01-01"), on("12-31")), (on("2026-10-15"), on("03-25")))
    past = tuple(CourseSpell(ALL, "terpene", day, day) for day in (on("2026-11-01"), on("2026-12-10")))
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, courses=past, years=years), on("01-20"), search=False)
    assert "course" in words(found)


def test_brood_falls_away_when_the_last_drone_is_out() -> None:
    """A queen caged on 1 July: nothing is capped from 26 July on (BEEBOOK: 25 days for drones)."""
    caged = (BroodSpell("none", on("07-26"), None, "queen caged on 1 July"),)
    assert until(replace(FINE, brood=caged), "brood") == on("07-26")


def test_what_forbids_longest_says_until_when_all_of_it_is_forbidden() -> None:
    standing = replace(FINE, supers=(Stay(on("05-10"), on("08-14")),), flows={"main": ((on("06-01"), on("07-10")),)})
    assert verdict(ALL, Where("us", WARM, book()), standing, BEGIN).until == on("08-14")


# What is not known ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "unknown"),
    [
        ("strength", {"bee_frames": None}),
        ("strength", {"bee_frames": None, "brood_frames": 4}),
        ("chambers", {"chambers": None}),
        ("kind", {"kind": ""}),
        ("queen", {"queen": None}),
        ("brood", {"brood": (), "brood_known": False}),
        ("brood", {"brood": (BroodSpell("unknown", on("06-01"), on("12-31"), "winter"),)}),
    ],
)
def test_what_is_not_known_is_advice_to_look(word: str, unknown: dict[str, object]) -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, **unknown), BEGIN, search=False)  # type: ignore[arg-type]
    assert found.verdict is Allowed.ADVISED_AGAINST
    assert [(r.limit, r.look) for r in found.reasons] == [(word, True)]
    assert "not known: look" in found.reasons[0].known


def test_frames_of_brood_are_a_safe_lower_bound_for_frames_of_bees() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, bee_frames=None, brood_frames=6), BEGIN, search=False)
    assert found.verdict is Allowed.ALLOWED


def test_a_box_of_five_frames_never_holds_six_frames_of_bees() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, bee_frames=None, frames=5), BEGIN, search=False)
    assert found.verdict is Allowed.FORBIDDEN


def test_entrance_and_floor_that_nobody_wrote_of_are_conditions_of_the_day() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, entrance="", floor=""), BEGIN, search=False)
    assert found.verdict is Allowed.ALLOWED
    assert {"entrance", "floor"} <= {c.limit for c in found.conditions}


def test_brood_in_a_trap_comb_counts() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, traps=("T1",)), BEGIN, search=False)
    assert [(r.limit, r.by_hand) for r in found.reasons] == [("brood", True)]


def test_sick_looking_brood_is_advice_against_any_treatment() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, suspect=True), BEGIN, search=False)
    assert words(found) == {"suspect"}


def test_the_label_in_the_hand_decides() -> None:
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, in_hand={"supers": "off"}), BEGIN, search=False)
    assert found.verdict is Allowed.FORBIDDEN


def test_a_treatment_without_a_label_there_is_forbidden_with_the_date_of_the_rule_file() -> None:
    found = verdict(ALL, Where("uk", WARM, book()), FINE, BEGIN)
    assert found.verdict is Allowed.FORBIDDEN
    assert found.reasons[0].known == "no label in the rule file for United Kingdom, checked 24 Nov 2026"
    assert "no rule file" in verdict("wood_bleach", Where("uk", WARM, book()), FINE, BEGIN).reasons[0].known


def test_a_wide_entrance_in_a_dearth_names_both_rules() -> None:
    dearth = {"dearth": ((on("07-05"), on("08-15")),)}
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, flows=dearth), BEGIN, search=False)
    assert [r.limit for r in found.reasons] == ["entrance"]
    sources = {cite.source for cite in found.reasons[0].cites}
    assert sources == {"practice", "nbu_hygiene_2020"}  # the label's, and that of small entrances


def test_supers_that_may_stay_are_a_condition_with_the_day_from_which_honey_may_be_taken() -> None:
    """US label of formic acid strips (from memory): 14 days in the hive, no wait after."""
    standing = replace(FINE, supers=(Stay(on("05-10"), on("09-15")),))
    found = verdict("formic_strips_pair", Where("us", WARM, book()), standing, on("08-03"), search=False)
    assert found.verdict is Allowed.ALLOWED
    assert [c.known for c in found.conditions if c.limit == "supers"] == [
        "they may stay, as the rule file says; honey from Tue 17 Aug on"
    ]


# Warmth ---------------------------------------------------------------------------------------------------------------

MILD = Climate((10.0,) * 12, (3.0,) * 12)
NORMALS = {"high": MILD, "low": MILD, "mean": MILD}


def test_fahrenheit_prints_as_the_labels_own_words_though_it_is_kept_in_celsius() -> None:
    found = asked(frozenset({"temperature"}))
    assert found.reasons[0].says == "the day's high 59 to 95 °F, days 0 to 3"
    assert found.reasons[0].value is not None
    assert found.reasons[0].value.value.high == pytest.approx(35.0)
    assert "58.8 °F on Fri 2 July" in found.reasons[0].known


@pytest.mark.parametrize(("degrees", "allowed"), [(59, True), (95, True), (58.9, False), (95.1, False)])
def test_a_reading_on_the_very_edge_of_a_label_in_fahrenheit_meets_it(degrees: float, allowed: bool) -> None:
    readings = {**WARM.readings, BEGIN: ((degrees - 32) / 1.8, 5.0)}
    found = verdict(ALL, Where("us", replace(WARM, readings=readings), book()), FINE, BEGIN, search=False)
    assert (found.verdict is Allowed.ALLOWED) is allowed


def test_where_no_forecast_reaches_normals_decide_and_release_no_day() -> None:
    cold = verdict(ALL, Where("us", Weather({}, NORMALS, 0.6, 0.6), book()), FINE, BEGIN, search=False)
    assert words(cold) == {"temperature"}
    assert "by normals" in cold.reasons[0].known
    warm = Climate((25.0,) * 12, (3.0,) * 12)
    fine = verdict(
        ALL, Where("us", Weather({}, dict.fromkeys(NORMALS, warm), 0.6, 0.6), book()), FINE, BEGIN, search=False
    )
    assert fine.verdict is Allowed.ALLOWED
    assert any("only the forecast releases the day" in c.known for c in fine.conditions)


def test_a_forecast_for_the_days_of_the_limit_outweighs_normals() -> None:
    forecast = {BEGIN + n: (25.0, 12.0) for n in range(4)}
    found = verdict(ALL, Where("us", Weather(forecast, NORMALS, 0.6, 0.6), book()), FINE, BEGIN, search=False)
    assert found.verdict is Allowed.ALLOWED
    assert not [c for c in found.conditions if c.limit == "temperature"]


def test_where_a_forecast_ends_normals_go_on() -> None:
    forecast = {BEGIN: (25.0, 12.0)}
    found = warm_days(Weather(forecast, NORMALS, 0.6, 0.6), "high", 15.0, None, range(BEGIN, BEGIN + 4))
    assert found.open_days == 3
    assert found.chance is not None
    assert found.chance < 0.1


@given(
    mean=st.floats(0, 30), spread=st.floats(1, 8), low=st.floats(0, 20), width=st.floats(1, 30), days=st.integers(1, 20)
)
def test_a_chance_told_as_at_most_is_no_less_than_the_chance(
    mean: float, spread: float, low: float, width: float, days: int
) -> None:
    climate = Climate((mean,) * 12, (spread,) * 12)
    normals = dict.fromkeys(NORMALS, climate)
    rough = warm_days(Weather({}, normals, 0.64, 0.6), "high", low, low + width, range(BEGIN, BEGIN + days))
    whole = warm_days(Weather({}, normals, 0.64, 0.0), "high", low, low + width, range(BEGIN, BEGIN + days))
    assert rough.chance is not None
    assert whole.chance is not None
    assert rough.chance >= whole.chance - 1e-6
    assert (rough.chance >= 0.6) == (whole.chance >= 0.6)


# A course's days ------------------------------------------------------------------------------------------------------


def test_a_use_counts_each_later_step_from_the_ones_before() -> None:
    label = book().treatments["thymol_gel"].labels["uk"]
    use = use_of(label, BEGIN, book())
    assert use.applications == (BEGIN, BEGIN + 14)
    assert use.last == BEGIN + 42
    assert (use.moved(3).applications, use.moved(3).last) == ((BEGIN + 3, BEGIN + 17), BEGIN + 45)


def test_every_shipped_course_begun_later_is_the_same_moved() -> None:
    for treatment in shipped().treatments.values():
        for label in treatment.labels.values():
            assert use_of(label, BEGIN, shipped()).moved(17) == use_of(label, BEGIN + 17, shipped())


# On the edge of a day -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("fed", "told"), [("06-26", False), ("06-27", True), ("07-14", True), ("07-15", False)])
def test_food_is_kept_apart_from_four_days_before_until_the_morning_it_comes_out(fed: str, told: bool) -> None:
    """Two weeks from 1 July: uk_formic, "do not feed during treatment"; the days before are an assumption of ours."""
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, fed=(on(fed),)), BEGIN, search=False)
    assert (words(found) == {"feeding"}) is told
    asked_for = [(c.says, c.known) for c in found.conditions if c.limit == "feeding"]
    assert asked_for == ([] if told else [("no feeding while it is in", "the last food 4 days before")])


@pytest.mark.parametrize(("day", "shut"), [(-2, False), (-1, True), (0, False), (1, True), (3, True), (4, False)])
def test_quiet_days_are_the_day_before_an_application_and_three_after(day: int, shut: bool) -> None:
    """The label is made up: one day before, three after. The day itself is the application's own."""
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, openings=(BEGIN + day,)), BEGIN, search=False)
    assert (words(found) == {"quiet"}) is shut
    asked_for = [c.says for c in found.conditions if c.limit == "quiet"]
    assert asked_for[:-1] == []
    assert (("before" in asked_for[0]), ("after" in asked_for[0])) == (day != -1, day < 0 or day in (0, 4))


@pytest.mark.parametrize(
    ("began", "ended", "apart"),
    [
        (0, 0, False),
        (-14, 0, True),
        (-14, 1, False),
        (-1, -1, True),
        (-14, None, False),
        (14, 14, False),
        (15, 15, True),
    ],
)
def test_two_products_are_not_given_on_one_day_and_what_came_out_that_morning_is_out(
    began: int, ended: int | None, apart: int
) -> None:
    """The course runs for 14 days from its first; another is given, or in the hive, so many days from then."""
    past = CourseSpell("other", "oxalic", BEGIN + began, None if ended is None else BEGIN + ended)
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, courses=(past,)), BEGIN, search=False)
    assert words(found) == (set() if apart else {"together"})


@pytest.mark.parametrize("order", [1, -1])
def test_where_brood_is_known_to_be_none_a_doubt_about_the_same_day_has_no_say(order: int) -> None:
    """A caged queen in winter: what the bees do in winter is not known, and hers have nothing capped all the same."""
    doubt = BroodSpell("unknown", on("06-01"), on("12-31"), "winter")
    sure = BroodSpell("none", on("06-20"), on("08-20"), "caged")
    found = verdict(ALL, Where("us", WARM, book()), replace(FINE, brood=(doubt, sure)[::order]), BEGIN, search=False)
    assert (found.verdict, found.reasons) == (Allowed.ALLOWED, ())
    past_it = verdict(
        ALL, Where("us", WARM, book()), replace(FINE, brood=(doubt, sure)[::order]), on("08-21"), search=False
    )
    assert [(r.limit, r.look) for r in past_it.reasons] == [("brood", True)]


def test_a_chance_told_as_at_most_is_that_of_the_four_days_about_the_hardest() -> None:
    """Every day is as hard as the next, so that the first stands for the hardest: it and the four behind it."""
    even = Climate((20.0,) * 12, (5.0,) * 12)
    found = warm_days(
        Weather({}, dict.fromkeys(NORMALS, even), 0.64, 0.9), "high", 12.0, None, range(BEGIN, BEGIN + 20)
    )
    assert found.at_most
    assert found.chance == pytest.approx(chance_of_run(even, BEGIN, 5, 12.0, None, 0.64))


@pytest.mark.parametrize(
    ("began", "free"),
    [("2025-12-31", True), ("2026-01-01", False), ("2026-12-31", False), ("2027-01-01", True), ("2027-06-30", True)],
)
def test_a_year_between_is_the_whole_year_before_from_its_first_day_to_its_last(began: str, free: bool) -> None:
    """Flumethrin strips are not for two years running (rule file); another course of the same year is the cap's."""
    jurisdiction = next(iter(shipped().treatments["flumethrin_strip"].labels))
    years = ((on("2026-01-01"), on("2026-12-31")), (on("01-01"), on("12-31")))
    standing = replace(
        FINE, years=years, courses=(CourseSpell("tau_fluvalinate_strip", "pyrethroid", on(began), on(began)),)
    )
    found = verdict("flumethrin_strip", Where(jurisdiction, WARM, shipped()), standing, on("08-14"), search=False)
    assert ("class" not in words(found)) is free


@pytest.mark.parametrize(("after", "withdrawal", "wait"), [(14, 14, 14), (0, 30, 30), (14, 0, 14), (0, 0, 0)])
def test_supers_wait_for_the_longer_of_their_own_wait_and_the_withdrawal_time(
    after: int, withdrawal: int, wait: int
) -> None:
    """Regulation (EU) 2019/6, Article 4(34), from memory: no honey for people is produced before it is over."""
    label = book().treatments[ALL].labels["us"]
    assert label.limits.supers is not None
    written = label.limits.supers.after
    assert written is not None
    days = {n: replace(written, value=Amount(n, n, n, "d")) for n in (after, withdrawal)}
    limits = label.limits.model_copy(update={"supers": label.limits.supers.model_copy(update={"after": days[after]})})
    made = label.model_copy(update={"limits": limits, "withdrawal": days[withdrawal]})
    assert supers_shut(made, 100, 120) == (100, max(120 + wait, 101) - 1)
