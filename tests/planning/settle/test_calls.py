"""Calls: what the counts of a yard say to do, and what treatments did, in words."""

from __future__ import annotations

from fractions import Fraction

import pytest
from planning.yards import colony, line, on, outfit, plan, rules, yard

from ipmcal.biology.counts import efficacy, interval
from ipmcal.model.plan.views import CountView, YardCall
from ipmcal.model.values.count import Sample, Unit, found_words

CONFIDENCE = rules().counting.confidence.value.middle


def call(as_of: str, *texts: str) -> YardCall | None:
    """The call of a yard of three; a line begins with the colony's key."""
    lines = [line(text.partition(" ")[2], text.partition(" ")[0], "yard", n) for n, text in enumerate(texts, 1)]
    made = plan(outfit(yard(*[colony(key) for key in "123"]), journal=lines), as_of)
    return made.calls[0] if made.calls else None


def say(as_of: str, *texts: str) -> YardCall:
    found = call(as_of, *texts)
    assert found is not None
    return found


def counted(found: YardCall, colony_: str) -> CountView:
    (view,) = [c for c in found.counts if c.colony == colony_]
    return view


# The yard -------------------------------------------------------------------------------------------------------------


def test_nothing_counted_nothing_said() -> None:
    assert call("08-21") is None
    assert call("08-21", "1 08-20 inspected") is None


def test_one_over_the_line_is_a_call_to_treat_every_colony() -> None:
    """Mites go from hive to hive: the yard is the unit of treatment (DESIGN.md, Limits and courses)."""
    found = say("08-22", "1 08-20 count 20/300", "2 08-20 count 0/300", "3 08-20 count 0/300")
    assert (found.call, found.over, found.day, found.missing) == ("treat", ("1",), on("08-20"), 0)
    assert "every colony" in found.words
    assert [c.colony for c in found.counts] == ["1", "2", "3"]


def test_all_below_is_below() -> None:
    found = say("08-22", *[f"{key} 08-20 count 1/300" for key in "123"])
    assert (found.call, found.over, found.again, found.missing) == ("below", (), (), 0)


def test_some_below_and_too_few_is_more_to_count() -> None:
    found = say("08-22", "1 08-20 count 1/300")
    assert (found.call, found.missing) == ("count again", 2)
    assert "2 more colonies" in found.words


def test_a_failed_count_names_the_colony() -> None:
    found = say("08-22", "1 08-20 count 1/100", "2 08-20 count 0/300", "3 08-20 count 0/300")
    assert (found.call, found.again) == ("count again", ("1",))
    assert found.words == "Count again in 1."


def test_a_sample_of_one_colony_never_makes_the_yard_sound() -> None:
    found = say("08-22", "1 08-20 count 1/300", "1 08-21 count 1/300")
    assert found.missing == 2


def test_counts_long_before_the_newest_say_nothing_any_more() -> None:
    found = say("08-22", "1 06-20 count 40/300", "2 08-20 count 0/300", "3 08-20 count 0/300")
    assert found.over == ()
    assert found.missing == 1


def test_last_seasons_counts_say_nothing() -> None:
    assert call("08-22", "1 2026-10-20 count 40/300") is None


# One count ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sample", "words"),
    [
        (Sample(9, 300), "9 in 300 bees, 3.0 in 100"),
        (Sample(12, 3, Unit.DAYS), "12 in 3 days, 4.0 a day"),
        (Sample(1, 1, Unit.DAYS), "1 in 1 day, 1.0 a day"),
        (Sample(5, Fraction(5, 2), Unit.DAYS), "5 in 2.5 days, 2.0 a day"),
        (Sample(4, 50, Unit.GRAMS), "4 in 50 g of bees, 8.0 in 100"),
        (Sample(4, 100, Unit.DRONE_CELLS), "4 in 100 drone pupae, 4.0 in 100"),
        (Sample(400, 300), "400 in 300 bees, 133.3 in 100"),
        (Sample(3, 0), "3 in 0 bees"),
    ],
)
def test_a_count_in_words(sample: Sample, words: str) -> None:
    assert found_words(sample) == words


def test_the_interval_beside_a_count_is_that_of_its_sample_in_its_unit() -> None:
    view = counted(say("08-22", "1 08-20 count 9/300"), "1")
    sure = interval(Sample(9, 300), CONFIDENCE)
    assert view.sure == f"likely {sure.low * 100:.1f} to {sure.high * 100:.1f}"


def test_what_a_way_of_counting_brings_off_is_said_and_decides_nothing() -> None:
    """Macedo and others 2002: damp sugar brings off 92.9 ± 5.5 %; 9 in 300 are 3.0 in 100: 3.0/0.984 to 3.0/0.874."""
    found = say("08-22", "1 08-20 count 9/300 sugar", "2 08-20 count 9/300", "3 08-20 count 0/300")
    by_sugar, plain = counted(found, "1"), counted(found, "2")
    assert by_sugar.sure == f"{plain.sure}; sugar brings off 87% to 98%: 3.0 to 3.4 on the bees"
    assert by_sugar.call == plain.call


def test_the_line_is_the_whole_mites_of_the_sample_that_was_taken() -> None:
    """The coalition guide, from memory: above 3 in 100 in decline; 10 in 300, 7 in 200 are the first above it."""
    views = [counted(say("08-22", f"1 08-20 count 0/{size}"), "1").line for size in (300, 200)]
    assert [v.partition(" (")[0] for v in views] == ["treat at 10 or more in 300", "treat at 7 or more in 200"]
    assert all("from memory" in v for v in views)


@pytest.mark.parametrize(("mites", "said"), [(9, "below"), (10, "treat")])
def test_the_point_count_decides_and_the_interval_does_not(mites: int, said: str) -> None:
    assert counted(say("06-22", f"1 06-20 count {mites}/300"), "1").call == said


def test_while_broodless_and_three_weeks_after_it_is_written_down_and_not_judged() -> None:
    """Caged on 1 June, released on 26 June: no capped brood by 21 June; laying from 28 June, judged from 19 July."""
    lines = ("1 06-01 caged", "1 06-26 released")
    during = counted(say("08-22", *lines, "1 07-05 count 40/300"), "1")
    after = counted(say("08-22", *lines, "1 07-24 count 40/300"), "1")
    assert (during.call, after.call) == ("recorded, not judged", "treat")
    assert say("08-22", *lines, "1 07-05 count 40/300").call == "recorded, not judged"


def test_a_bad_sample_says_why() -> None:
    view = counted(say("08-22", "1 08-20 count 1/100"), "1")
    assert (view.call, "small" in view.why) == ("count again", True)


# Treated since --------------------------------------------------------------------------------------------------------


def test_treated_since_the_count_is_said_with_its_day() -> None:
    found = say("08-22", "1 08-14 count 20/300", "1 08-20 strips_in own_mix 2")
    assert found.treated == on("08-20")
    assert "Treatment began" in found.words


def test_a_treatment_before_the_count_is_none_since() -> None:
    assert say("08-22", "1 08-10 strips_in own_mix 2", "1 08-14 count 20/300").treated is None


def test_all_that_are_over_have_to_be_treated() -> None:
    counts = ("1 08-14 count 20/300", "2 08-14 count 20/300")
    assert say("08-22", *counts, "1 08-20 strips_in own_mix 2").treated is None
    twice = ("1 08-15 treated own_mix 1 g", "1 08-20 treated other_mix 1 g")
    assert say("08-22", *counts, *twice).treated is None, "twice in one colony is not in both"
    both = ("1 08-19 strips_in own_mix 2", "2 08-20 strips_in own_mix 2")
    assert say("08-22", *counts, *both).treated == on("08-20")


def test_a_neighbour_counted_after_the_treatment_began_does_not_undo_it() -> None:
    found = say("08-22", "1 08-14 count 20/300", "1 08-16 strips_in own_mix 2", "2 08-20 count 0/300")
    assert (found.over, found.treated) == (("1",), on("08-16"))


# What a treatment did -------------------------------------------------------------------------------------------------

COURSE = ("1 08-14 strips_in own_mix 2", "1 09-25 strips_out own_mix 2")


def test_what_a_treatment_did_is_told_with_its_interval() -> None:
    """30 in 300 before, 3 in 300 after: nine in ten gone; the interval is that of ``biology.counts.efficacy``."""
    found = say("10-20", "1 08-10 count 30/300", *COURSE, "1 10-12 count 3/300")
    did = efficacy(Sample(30, 300), Sample(3, 300), CONFIDENCE)
    (words,) = found.efficacy
    assert words.startswith("1: own mix")
    assert f"90% of the mites gone (likely {did.interval.low:.0%} to {did.interval.high:.0%})" in words


@pytest.mark.parametrize(
    "counts",
    [
        ("1 08-10 count 30/300",),
        ("1 10-12 count 3/300",),
        ("1 08-10 count 0/300", "1 10-12 count 3/300"),
        ("1 08-10 drop 30/3", "1 10-12 count 3/300"),
        ("2 08-10 count 30/300", "1 10-12 count 3/300"),
        ("1 04-10 count 30/300", "1 10-12 count 3/300"),
        ("1 08-10 count 30/300", "1 09-27 count 3/300"),
    ],
    ids=[
        "none after",
        "none before",
        "no mite before",
        "other units",
        "other colonies",
        "long before",
        "too soon after",
    ],
)
def test_counts_that_cannot_tell_tell_nothing(counts: tuple[str, ...]) -> None:
    found = say("10-20", *counts[:1], *COURSE, *counts[1:])
    assert not [words for words in found.efficacy if "gone" in words]


def test_more_mites_after_than_before_is_told_as_it_is() -> None:
    found = say("10-20", "1 08-10 count 10/300", *COURSE, "1 10-12 count 20/300")
    assert any("100% more mites than before" in words for words in found.efficacy)


def test_risen_again_says_how_long_after_and_what_the_treatment_had_left() -> None:
    before_after = ("1 08-10 count 30/300", *COURSE, "1 10-12 count 3/300")
    told = say("11-20", *before_after, "1 11-13 count 30/300").efficacy
    assert any("over the line again 7 weeks after own mix" in w and "from outside" in w for w in told)


def test_risen_again_without_a_count_after_it_nobody_can_tell_reinvasion_from_failure() -> None:
    told = say("11-20", *COURSE, "1 11-13 count 30/300").efficacy
    assert any("over the line again" in w and "failed" in w and "no count after" in w for w in told)


def test_below_the_line_later_nothing_has_risen() -> None:
    told = say("11-20", *COURSE, "1 11-13 count 1/300").efficacy
    assert not [w for w in told if "again" in w]
