"""Year plans of every region and program, as they are chosen: what holds for each, and what they were.

``year_plans.md`` holds them with their figures. After a change of rules or of the search write it anew with
``YEAR_PLANS=write pytest tests/planning/mites/test_year_plans.py``, and read what differs. Without it the courses of
half of the plans (of every region, the program ``full`` and one of the others by turns) are compared with those that
stand there, the figures of a few; with ``YEAR_PLANS=all``, the courses of all.
"""

from __future__ import annotations

import os
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from planning.mites.page_checks import excuses_are_fresh, no_law_is_left_out
from planning.mites.year_checks import check_year, counts_are_near_each_other
from planning.mites.year_words import brief_of, page, pages
from planning.mites.year_yards import PROGRAMS, SAT, begun, kept
from planning.yards import SHIPPED_REGIONS

from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.mites.plan import YearPlan, most_over, year_plan

STORED = Path(__file__).parents[1] / "year_plans.md"
WRITE = os.environ.get("YEAR_PLANS") == "write"
ALL = WRITE or os.environ.get("YEAR_PLANS") == "all"
FULL, *OTHERS = PROGRAMS
EACH = [
    (region, program)
    for i, region in enumerate(SHIPPED_REGIONS)
    for program in (PROGRAMS if ALL else (FULL, OTHERS[i % len(OTHERS)]))
]
FIGURES = ("us_northeast", "nz_north_island")
"""Regions whose figures (of the program ``full``) are compared every time: all of them take minutes."""


@cache
def stored() -> str:
    if WRITE:
        STORED.write_text(pages(), encoding="utf-8", newline="\n")
    return STORED.read_text(encoding="utf-8")


def stored_of(region: str, program: str) -> str:
    """What is stored of one program in one region."""
    there = stored().partition(f" ({region})\n")[2].partition("\n## ")[0]
    return there.partition(f"### {program}\n")[2].partition("\n### ")[0]


@pytest.mark.parametrize(("region", "program"), EACH)
def test_no_plan_breaks_a_wall_and_its_courses_are_those_that_are_stored(region: str, program: str) -> None:
    """All that is asked of a plan while it is there: with the draws that it holds it takes 50 MB."""
    it = kept(region, program)
    made = year_plan(it.question)
    check(made)
    assert brief_of(made) in stored_of(region, program), "see the head of this file"
    if program == "full" and region in FIGURES:
        assert "\n".join(page(it, made)) in stored(), "see the head of this file"


@pytest.mark.parametrize("region", ["us_northeast", "germany_central_europe", "us_texas_central"])
@pytest.mark.parametrize("kind", ["package", "nucleus"])
def test_first_years_break_no_wall_either(region: str, kind: str) -> None:
    made = year_plan(begun(region, kind).question)
    check(made)
    assert made.courses, "a hive that begins is planned for"


def check(made: YearPlan) -> None:
    """What holds for every year: walls, the label's limits with all other courses in, order, and figures in range."""
    asked, setting = made.known.asked, made.known.setting
    walls = setting.walls
    courses = [one.course for one in made.courses]
    assert [one.day for one in courses] == sorted(one.day for one in courses)
    for one in courses:
        assert one.day in asked.days
        assert one.answer.product in asked.products
        assert one.answer.class_ not in walls.never
    flow, served = asked.season.marks["flow_main"], {one.place: one.round for one in made.courses}
    assert flow.ends is not None
    for one, planned in zip(courses, made.courses, strict=True):
        # Days of these are the region's own: in the Upper Midwest the flow's last, in Florida its first.
        if served[planned.place] not in ("late_summer", "summer"):
            use = one.answer.use
            assert not (use.first <= flow.ends.usual and flow.begins.usual <= use.last), "in the main flow"
    for before, after in pairwise(courses):
        assert after.day - before.worked >= walls.between.value.middle
    for class_ in walls.synthetic:
        assert sum(one.answer.class_ == class_ for one in courses) <= 1
    for class_, most in walls.a_season.items():
        assert sum(one.answer.class_ == class_ for one in courses) <= most.value.middle
    assert sum(one.trickle for one in courses if one.day >= setting.mark("winter_bee_rearing_start")) <= 1
    assert 0.0 <= made.over <= 1.0
    assert not made.enough or made.over <= most_over(made.known)
    labels_hold(made)
    check_year(made)


def labels_hold(made: YearPlan) -> None:
    """No label forbids a course, all others of the plan being in the year."""
    from dataclasses import replace

    from ipmcal.biology.mites.year import YEAR_DAYS
    from ipmcal.planning.choose.offer import forbidding, taken_off
    from ipmcal.planning.labels.standing import CourseSpell
    from ipmcal.planning.labels.verdict import Where, verdict
    from ipmcal.planning.mites.answers import usual_weather

    asked = made.known.asked
    weather = usual_weather(asked.region, asked.season.first - YEAR_DAYS, asked.season.last + YEAR_DAYS)
    for one in made.courses:
        answer = one.course.answer
        others = [
            CourseSpell(o.course.answer.product, o.course.answer.class_, o.course.day, o.course.answer.use.last)
            for o in made.courses
            if o is not one and o.course.day < answer.day
        ]
        off = min((o.course.answer.supers_off for o in made.courses if o.course.answer.supers_off), default=None)
        standing = asked.standing if off is None else taken_off(asked.standing, off)
        standing = replace(standing, flows={w: p for w, p in standing.flows.items() if w == "dearth"})
        standing = standing.with_course(*others)
        found = verdict(
            answer.product, Where(asked.jurisdiction, weather, asked.book), standing, answer.use, search=False
        )
        assert not forbidding(found), (answer.product, [r.limit for r in forbidding(found)])


def test_few_plans_are_not_enough_and_each_names_what_is_missing() -> None:
    pages_ = stored().split("### ")[1:]
    short = [one for one in pages_ if "NOT ENOUGH" in one and one.split("\n")[0] in PROGRAMS]
    assert len(short) <= MOST_SHORT, [one.split("\n")[0] for one in short]
    for one in short:
        assert any(words in one for words in NAMES_IT), one.split("\n")[0]


NAMES_IT = ("Would help: ", "No other product with a label")
MOST_SHORT = 11
"""Of 72 plans. Ten were aimed at: the eleventh is that of few drives in southern England, whose page counts as seldom
as its plan since both have one figure for it.
"""


def test_no_old_wash_excuses_a_dose_of_winter_and_no_count_the_laws() -> None:
    excuses_are_fresh(stored())
    for one in stored().split("### ")[1:]:
        no_law_is_left_out(one)


def test_counting_alone_keeps_to_the_law_and_to_the_published_day() -> None:
    """No longer without a count than law lets, over the turn of the year too; one in time for late summer's course."""
    for region in ("au_nsw", "scotland_north_england", "us_upper_midwest"):
        made = year_plan(kept(region, "counting_only").question)
        counts_are_near_each_other(made)
        slot = next(served.slot for served in made.known.rounds if served.slot.name == "late_summer")
        assert slot.by is not None
        assert any(14 <= slot.by - day <= 28 for day in plan_counts(made)), region


@pytest.mark.parametrize("region", ["us_central_plains", "england_south_midlands"])
def test_the_full_program_does_no_more_harm_than_one_that_is_part_of_it(region: str) -> None:
    """But for a band of harm, within which the keeper's own order decides, in the base and beside it."""
    full = year_plan(kept(region, "full").question)
    band = 1.0 + full.known.field.measures.band
    for program in ("acids_and_handwork", "trap_combs"):
        part = year_plan(kept(region, program).question)
        assert full.chosen.harm <= part.chosen.harm * band * band, program


@pytest.mark.parametrize("weekdays", [SAT, (2,)])
def test_a_keeper_of_another_day_gets_a_year_as_good(weekdays: tuple[int, ...]) -> None:
    made = year_plan(kept("us_northeast", "full", weekdays).question)
    check(made)
    assert made.enough
