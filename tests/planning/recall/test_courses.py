"""Courses: what went into a colony and what came out of it, from lines."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import colony, line, lines, on, outfit, plan, rules, told, yard

from ipmcal.model.outfit.strips import Naming, strips_of
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.planning.recall.courses import Course, courses, miscounted

GAP = int(rules().planning.same_course.value.middle)


def of(*texts: str) -> tuple[Course, ...]:
    return courses(lines(*texts), rules())


def test_strips_in_and_as_many_out_are_one_course_from_the_first_day_to_the_last() -> None:
    (one,) = of("08-14 strips_in amitraz_strip 2 lot K21", "09-25 strips_out amitraz_strip 2")
    assert (one.product, told(one.began), told(one.ended or 0)) == ("amitraz_strip", "08-14", "09-25")
    assert (one.put_in, one.out, one.left) == (2, 2, 0)


def test_while_a_strip_is_in_it_has_not_ended() -> None:
    (one,) = of("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 1")
    assert one.ended is None
    assert one.left == 1
    assert told(one.last) == "09-25"


def test_the_rest_taken_out_later_ends_it_then() -> None:
    (one,) = of(
        "08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 1", "10-02 strips_out amitraz_strip 1"
    )
    assert told(one.ended or 0) == "10-02"
    assert len(one.lines) == 3


def test_what_has_nothing_to_take_out_ends_with_its_last_application() -> None:
    (one,) = of("12-11 treated oxalic_trickle 35 mL")
    assert (one.began, one.ended, one.left) == (on("12-11"), on("12-11"), 0)


@pytest.mark.parametrize(("gap", "number"), [(1, 1), (GAP, 1), (GAP + 1, 2)])
def test_applications_close_to_each_other_are_one_course(gap: int, number: int) -> None:
    second = told(on("08-14") + gap)
    made = of("08-14 treated thymol_gel 50 g", f"{second} treated thymol_gel 50 g")
    assert len(made) == number
    assert told(made[-1].ended or 0) == second


def test_two_products_are_two_courses() -> None:
    made = of("08-14 strips_in amitraz_strip 2", "08-20 treated oxalic_trickle 35 mL")
    assert [c.product for c in made] == ["amitraz_strip", "oxalic_trickle"]
    assert [c.ended for c in made] == [None, on("08-20")]


def test_more_trays_put_in_open_it_again() -> None:
    (one,) = of(
        "08-14 strips_in thymol_gel 1",
        "08-28 strips_out thymol_gel 1",
        "08-28 strips_in thymol_gel 1",
    )
    assert one.ended is None
    assert one.left == 1


def test_the_order_of_lines_is_that_of_their_days() -> None:
    turned = tuple(reversed(lines("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 2")))
    (one,) = courses(turned, rules())
    assert told(one.ended or 0) == "09-25"


def test_taken_out_without_having_been_put_in_is_no_course() -> None:
    assert of("09-25 strips_out amitraz_strip 2") == ()


def test_no_treatment_no_course() -> None:
    assert of("05-08 count 3/300", "05-10 supers_on 1") == ()


# More out than in -----------------------------------------------------------------------------------------------------


def said(*texts: str) -> list[str]:
    found = miscounted(strips_of(lines(*texts), Naming(rules())))
    return list(causes_words(found.get("1", ())))


def test_more_out_than_in_is_said_with_the_line() -> None:
    (what,) = said("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 3")
    assert what.startswith("yard.yaml:2")
    assert "3 of amitraz_strip" in what
    assert "only 2" in what


def test_of_another_product_is_more_than_nothing() -> None:
    assert len(said("08-14 strips_in amitraz_strip 2", "09-25 strips_out thymol_gel 1")) == 1


def test_as_many_out_as_in_or_fewer_contradict_nothing() -> None:
    assert said("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 2") == []
    assert said("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 1") == []


def test_the_plan_reports_it_and_keeps_both_lines() -> None:
    """Strips out more than in: both lines are named, and the course stands in the plan."""
    journal = lines("08-14 strips_in amitraz_strip 2", "09-25 strips_out amitraz_strip 3")
    made = plan(outfit(yard(colony()), journal=journal), "09-26")
    (told_of,) = [c for c in made.conflicts if "taken out" in because_words(c.what)]
    assert "yard.yaml:2" in because_words(told_of.what)
    assert "yard.yaml:1" in because_words(told_of.what)
    (view,) = made.courses
    assert (view.product, view.began, view.ended, view.left) == ("amitraz_strip", on("08-14"), on("09-25"), "")


def test_strips_in_a_hive_stand_in_the_plan() -> None:
    made = plan(outfit(yard(colony()), journal=lines("08-14 strips_in amitraz_strip 2")), "09-01")
    assert [(c.colony, c.product, c.left) for c in made.courses] == [("1", "amitraz_strip", "2")]


@pytest.mark.parametrize("gap", [60, 150, 300])
def test_however_late_a_strip_is_taken_out_then_it_is_out(gap: int) -> None:
    (one,) = of("2026-09-01 strips_in amitraz_strip 2", f"{told(on('2026-09-01') + gap)} strips_out amitraz_strip 2")
    assert one.ended == on("2026-09-01") + gap


@given(st.lists(st.tuples(st.integers(0, 200), st.sampled_from(["strips_in", "strips_out"]), st.integers(1, 4))))
def test_what_is_left_is_what_went_in_less_what_came_out(told_: list[tuple[int, str, int]]) -> None:
    """Where nothing contradicts; and courses of one product follow each other, unless one was forgotten."""
    over = rules().planning.course_over.value.middle
    events = [line(f"{told(on('04-01') + gap)} {word} amitraz_strip {many}") for gap, word, many in told_]
    made = courses(events, rules())
    if not strips_of(events, Naming(rules())).too_much:
        assert all(c.left >= 0 for c in made)
        total = sum((Fraction(many) * (1 if word == "strips_in" else -1) for _, word, many in told_), Fraction(0))
        assert sum((c.left for c in made), Fraction(0)) == total or len(made) > 1
    for before, after in pairwise(made):
        gap = after.began - max(line.day for line in before.lines if line.day < after.began)
        assert gap > (GAP if before.ended is not None and before.ended < after.began else over)
