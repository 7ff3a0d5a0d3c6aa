"""Treat: what a course owes, begun or to come. In: shipped labels on small yards.

Days are those of the shipped labels, whose sources stand in ``rules/treatments``: formic acid, paired strips, United
States: out after 14 days, by the 21st; thymol gel, United Kingdom: a second tray after 14 days.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import colony, lines, on, outfit, plan, shipped, told, yard

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.values.days import KeeperDays
from ipmcal.planning.days.chain import Ease
from ipmcal.planning.decide.tally import yardstick
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import (
    Beginning,
    begun,
    counted_after,
    course_name,
    dose_words,
    prescribed,
    to_come,
    use_on,
)
from ipmcal.planning.plan import keeper_days, season_of
from ipmcal.planning.recall.courses import courses
from ipmcal.planning.recall.state import recall

AB = "lot K by AB"


def kept(jurisdiction: str = "us", weekdays: tuple[int, ...] | None = (5,)) -> Yard:
    """A yard of one colony for which nothing is chosen: only what the journal began."""
    region = {"us": "us_northeast", "uk": "england_south_midlands"}[jurisdiction]
    made = yard(colony("1"), region=region, program="first_year", weekdays=weekdays)
    return replace(made, jurisdiction=jurisdiction, treatments=())


def told_by(as_of: str, *texts: str, jurisdiction: str = "us", products: dict[str, str] | None = None) -> Plan:
    made = outfit(kept(jurisdiction), journal=lines(*texts))
    return plan(replace(made, products=products or {}), as_of, book=shipped())


def tasks(made: Plan, method: str) -> dict[str, Task]:
    return {t.step: t for t in made.tasks if t.method == method}


def day(task: Task) -> str:
    found = task.planned if task.planned is not None else task.done
    return "" if found is None else told(found)


# A course that has begun ----------------------------------------------------------------------------------------------


def test_strips_that_went_in_are_owed_to_come_out_by_the_last_day_of_their_label() -> None:
    made = tasks(told_by("08-01", f"07-31 strips_in formic_strips_pair 2 {AB}"), "formic_strips_pair")
    assert (made["apply"].status, day(made["apply"])) == (Status.DONE, "07-31")
    out = made["take_out"]
    assert out.window.hard_stop == on("08-21")
    assert (out.window.opens, day(out)) == (on("08-14"), "08-14")
    assert "2 went in: count 2 out." in out.notes
    assert on(day(made["count_after"])) >= on(day(out)) + 14
    assert on("08-28") <= on(day(made["queen_look"])) <= on("09-11")


def test_what_is_not_out_by_the_last_day_is_owed_on_the_next_day_there_is_and_that_is_told() -> None:
    plan_ = told_by("08-25", f"07-31 strips_in formic_strips_pair 2 {AB}")
    out = tasks(plan_, "formic_strips_pair")["take_out"]
    assert day(out) == "08-28"
    assert any(out.id in c.tasks and "too late" in because_words(c.what) for c in plan_.conflicts)


def test_the_end_of_the_course_counts_from_the_day_on_which_they_came_out() -> None:
    texts = (f"07-31 strips_in formic_strips_pair 2 {AB}", "08-18 strips_out formic_strips_pair 2 by AB")
    made = tasks(told_by("08-19", *texts), "formic_strips_pair")
    assert (made["take_out"].status, day(made["take_out"])) == (Status.DONE, "08-18")
    assert made["count_after"].window.opens == on("09-01")


def test_strips_taken_out_too_late_were_missed_and_the_day_stands_there() -> None:
    texts = (f"07-31 strips_in formic_strips_pair 2 {AB}", "08-24 strips_out formic_strips_pair 2 by AB")
    made = tasks(told_by("08-25", *texts), "formic_strips_pair")
    assert (made["take_out"].status, day(made["take_out"])) == (Status.MISSED, "08-24")


def test_what_is_half_out_is_still_owed() -> None:
    texts = (f"07-31 strips_in formic_strips_pair 2 {AB}", "08-14 strips_out formic_strips_pair 1 by AB")
    out = tasks(told_by("08-15", *texts), "formic_strips_pair")["take_out"]
    assert out.status is Status.PLANNED
    assert "1 went in: count 1 out." in out.notes


def test_a_second_tray_is_owed_after_the_first() -> None:
    made = tasks(told_by("08-08", f"08-07 strips_in thymol_gel 1 {AB}", jurisdiction="uk"), "thymol_gel")
    assert made["tray_2"].window.opens == on("08-21")
    assert day(made["tray_2"]) == "08-21"
    assert "For this hive: 1 tray." in made["tray_2"].notes
    assert made["take_out"].window.hard_stop is not None


def test_a_dose_that_leaves_nothing_in_the_hive_owes_only_its_count() -> None:
    """In December by a board: Syracuse has usual highs of 3 °C (NOAA), and combs are lifted from 13 on."""
    told = told_by("11-29", f"11-27 treated oxalic_trickle 30 mL {AB}")
    assert not [t for t in tasks(told, "oxalic_trickle").values() if t.status is Status.PLANNED]
    assert {step for step, t in tasks(told, "cold_count").items() if t.status is Status.PLANNED} == {"put_in", "read"}
    warm = tasks(told_by("09-07", f"09-04 treated oxalic_trickle 30 mL {AB}"), "oxalic_trickle")
    assert {step for step, t in warm.items() if t.status is Status.PLANNED} == {"count_after"}


def test_a_second_course_of_a_season_has_a_number() -> None:
    texts = (f"04-03 treated oxalic_vapour 1 g {AB}", f"11-27 treated oxalic_vapour 1 g {AB}")
    made = told_by("11-28", *texts)
    assert {t.method for t in made.tasks if "oxalic" in t.method} == {"oxalic_vapour", "oxalic_vapour_2"}


def test_a_course_of_last_season_owes_nothing() -> None:
    made = told_by("02-01", f"2026-11-28 treated oxalic_trickle 30 mL {AB}")
    assert not [t for t in made.tasks if "oxalic" in t.method]


def test_the_keepers_own_name_of_a_product_is_known() -> None:
    made = told_by("08-01", f"07-31 strips_in yellow_box 2 {AB}", products={"yellow_box": "formic_strips_pair"})
    assert tasks(made, "formic_strips_pair")["take_out"].status is Status.PLANNED


def test_a_product_that_no_rule_file_knows_owes_nothing() -> None:
    assert not [t for t in told_by("08-01", f"07-31 strips_in yellow_box 2 {AB}").tasks if "yellow" in t.method]


# Parts ----------------------------------------------------------------------------------------------------------------


def ground(there: Yard, as_of: str = "06-01") -> Ground:
    season = season_of(there, shipped(), on(as_of), 2027)
    days = keeper_days(there, on(as_of), season.last)
    stick = yardstick(season, there.jurisdiction, shipped())
    return Ground(there, shipped(), season, days, on(as_of), True, KeeperDays(()), stick)


def test_a_treatment_without_a_label_where_the_yard_is_or_without_a_file_is_not_prescribed() -> None:
    here = ground(kept("uk"))
    assert prescribed(here, "hop_acid_strip", {}) is None
    assert prescribed(here, "nobody_knows_it", {}) is None
    found = prescribed(here, "mine", {"mine": "thymol_gel"})
    assert found is not None
    assert found.name == "thymol_gel"


@pytest.mark.parametrize(("number", "name"), [(1, "thymol_gel"), (2, "thymol_gel_2")])
def test_the_first_course_has_the_name_of_its_treatment(number: int, name: str) -> None:
    assert course_name("thymol_gel", number) == name


def test_a_course_to_come_begins_only_on_the_days_that_its_label_allows() -> None:
    there = kept("us")
    here = ground(there)
    state = recall(there.colonies[0], (), here.season, here.as_of, shipped())
    one = prescribed(here, "formic_strips_pair", {})
    assert one is not None
    allowed = (on("06-19"), on("06-26"), on("07-03"))
    errand = to_come(here, state, one, 1, Beginning(allowed, on("06-26"), "for a test", (on("06-26"),)))
    assert errand is not None
    assert errand.chain.ease is Ease.STRICT
    first = [here.days.ordinals[errand.chain.nodes[i].at] for i in errand.chain.first.nodes]
    assert first == [on("06-19")]  # the 26th is banned, and the last of two is held for rain
    assert errand.chain.first.best_day == on("06-26")
    assert [step for step, _ in errand.chain.steps if step == "take_out"]
    use = use_on(here, errand, "apply", on("06-19"))
    assert use is not None
    amount, where = dose_words(here, use)
    assert amount == "For this hive: 2 strips."
    assert where.startswith("Flat on the top bars")
    assert use_on(here, errand, "take_out", on("07-03")) is None


def test_a_course_that_the_keeper_could_not_end_in_time_is_not_planned() -> None:
    there = replace(kept("us"), away=((on("06-20"), on("12-31")),))
    here = ground(there)
    state = recall(there.colonies[0], (), here.season, here.as_of, shipped())
    one = prescribed(here, "formic_strips_pair", {})
    assert one is not None
    assert to_come(here, state, one, 1, Beginning((on("06-19"),), on("06-19"), "for a test")) is None


def test_the_days_of_a_course_say_which_limits_they_were_held_against() -> None:
    there = kept("us")
    here = ground(there)
    state = recall(there.colonies[0], (), here.season, here.as_of, shipped())
    one = prescribed(here, "formic_strips_pair", {})
    assert one is not None
    errand = to_come(here, state, one, 1, Beginning((on("06-19"),), on("06-19"), "for a test"))
    assert errand is not None
    known = errand.cursor.facts["course.opens"]
    assert known.why.note == "for a test"
    assert known.why.values
    assert all(value.cites for value in known.why.values)


def test_products_whose_own_steps_count_are_told() -> None:
    there = kept("us")
    here = ground(there, "09-01")
    journal = lines(f"08-01 strips_in formic_strips_pair 2 {AB}", f"08-20 strips_in yellow_box 2 {AB}")
    had = {"1": courses(journal, shipped())}
    assert counted_after(here, had, {}) == frozenset({"formic_strips_pair"})


def test_nothing_is_begun_where_nothing_was_given() -> None:
    there = kept("us")
    here = ground(there)
    state = recall(there.colonies[0], (), here.season, here.as_of, shipped())
    assert list(begun(here, state, (), {})) == []


def test_strips_that_were_never_taken_out_are_owed_in_the_next_season_too() -> None:
    """Put in on 16 June 2027, and nothing written since: in spring 2028 they are still to come out, long overdue."""
    written = lines(f"2027-06-16 strips_in formic_strips_pair 2 {AB}")
    made = plan(outfit(kept("us"), journal=written), "2028-03-10", 2028, shipped())
    out = tasks(made, "formic_strips_pair")["take_out"]
    assert (out.status, out.planned) == (Status.PLANNED, on("2028-03-11"))
    assert "2 went in: count 2 out." in out.notes
    assert any(out.id in conflict.tasks for conflict in made.conflicts)


IN_MAY = "05-22 strips_in formic_strips_pair 2"


def test_a_queen_seen_laying_answers_the_look_for_her_after_formic_acid_though_a_strip_is_still_in() -> None:
    """Left in by mistake: it has to come out, and nobody is asked in autumn for what June told."""
    half = (IN_MAY, "06-12 strips_out formic_strips_pair 1")
    made = tasks(told_by("11-01", *half, "06-26 queen laying"), "formic_strips_pair")
    assert (made["queen_look"].status, day(made["queen_look"])) == (Status.DONE, "06-26")
    assert made["take_out"].status is Status.PLANNED


def test_a_look_whose_time_went_by_is_not_owed_behind_what_still_has_to_come_out() -> None:
    made = tasks(told_by("11-01", IN_MAY, "06-12 strips_out formic_strips_pair 1"), "formic_strips_pair")
    assert made["take_out"].status is Status.PLANNED
    assert "queen_look" not in made or made["queen_look"].planned is None
    soon = tasks(told_by("06-15", IN_MAY), "formic_strips_pair")
    assert soon["queen_look"].planned is not None, "in its time it is"
