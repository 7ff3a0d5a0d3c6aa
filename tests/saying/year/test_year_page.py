"""The page of a year's courses: what has to stand on it, whatever was chosen.

Figures are those of the labels and authorities in the rules, which name their sources.
"""

from __future__ import annotations

from functools import cache

import pytest
from planning.mites.year_words import laws_of, page
from planning.mites.year_yards import begun, kept

from ipmcal.model.values.words import month_day
from ipmcal.planning.advise.counts import plan_counts
from ipmcal.planning.advise.over import open_to
from ipmcal.planning.mites.plan import first_over, most_over, year_plan
from ipmcal.saying.year.page import counting_lines
from ipmcal.saying.year.products import called, product_line

PLANS = [
    ("us_northeast", "full"),
    ("england_south_midlands", "few_drives"),
    ("germany_central_europe", "acids_and_handwork"),
]


@cache
def printed(region: str, program: str) -> str:
    it = kept(region, program)
    return "\n".join(page(it, year_plan(it.question)))


@pytest.mark.parametrize(("region", "program"), PLANS)
def test_each_course_says_its_dose_warmth_supers_and_what_to_do_when_it_is_missed(region: str, program: str) -> None:
    it = kept(region, program)
    text, book = printed(region, program), it.question.book
    for one in year_plan(it.question).courses:
        product = one.course.answer.product
        assert f"- {product_line(book, it.question.jurisdiction, product)}" in text
        line = next(
            row for row in text.split("\n") if called(book, product) in row and month_day(one.course.day) in row
        )
        assert "supers" in line or one.round == "winter"
        assert "issed" in line or "Not there o" in line


@pytest.mark.parametrize(("region", "program"), PLANS)
def test_each_count_says_how_many_mites_are_too_many(region: str, program: str) -> None:
    it = kept(region, program)
    rows = printed(region, program).split("\nCounts\n")[1].split("\n")
    for day in plan_counts(year_plan(it.question)):
        row = next(row for row in rows if row.startswith(f"- {month_day(day)},"))
        assert "or more in" in row or "no line is published" in row
    assert any(row.startswith("- How to count. Wash: 300 bees") for row in rows)


@pytest.mark.parametrize(("region", "program"), PLANS)
def test_the_first_words_are_honest_of_year_one(region: str, program: str) -> None:
    """Enough is never the first word where hives that nobody counted are over the line, counts acted on or not."""
    made = year_plan(kept(region, program).question)
    first = next(line for line in printed(region, program).split("\n")[4:] if line)
    if first.startswith("Enough"):
        assert first_over(made) <= most_over(made.known) or "counts are acted on" in first
    if first_over(made) > most_over(made.known) and "acted on" not in first:
        assert first.startswith(("NOT ENOUGH", "SHORT", "YEAR ONE FAILS"))


@pytest.mark.parametrize(
    ("region", "words"),
    [
        # BienSeuchV 15; Royal Decree 608/2006, article 6; the Italian reference centre's guide of 2020
        ("germany_central_europe", ["AGAINST THE LAW BY ITSELF, Germany"]),
        ("mediterranean_spain_italy", ["AGAINST THE LAW BY ITSELF, Spain", "from September to November", "Italy"]),
    ],
)
def test_counting_alone_says_first_that_law_asks_for_treatment(region: str, words: list[str]) -> None:
    it = kept(region, "counting_only")
    plan = year_plan(it.question)
    lines = list(counting_lines(plan, open_to(plan), laws_of(it)))
    assert lines[0].startswith("AGAINST THE LAW BY ITSELF")
    assert all(any(word in line for line in lines) for word in words)


def test_counting_alone_says_with_what_to_treat() -> None:
    it = kept("us_upper_midwest", "counting_only")
    plan = year_plan(it.question)
    lines = list(counting_lines(plan, open_to(plan), laws_of(it)))
    days = [f"- {month_day(day)}," for day in plan_counts(plan)]
    rows = [line for line in lines if line.startswith(tuple(days))]
    assert len(rows) == len(days)
    assert sum("strips from" in row or "tray from" in row for row in rows) >= len(rows) - 3
    assert not any(line.startswith("AGAINST") for line in lines)


def test_a_package_gets_its_dose_by_the_day_of_installing() -> None:
    it = begun("us_northeast", "package")
    text = "\n".join(page(it, year_plan(it.question)))
    assert "about the fifth day after installing" in text  # Connecticut's association: vapour about day 5


def test_no_words_of_the_planners_own() -> None:
    """What readers of earlier pages stumbled over."""
    for region, program in PLANS:
        text = printed(region, program).split("-->")[1]
        for words in (
            "beside the base",
            "is let",
            "No later day",
            "settled",
            "year factor",
            "e+0",
            "_strip",
            "oxalic_",
        ):
            assert words not in text, words
