"""The hand-out of the first-year example: short enough, plain enough, whole: cards, words, drawings, true sizes."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pypdf
import pytest
from publishing.pdf_reading import MM, pages

from ipmcal.loading import load_all, shipped_rules
from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import short_day
from ipmcal.planning.plan import make_plan
from ipmcal.publishing.paper.handout import (
    HandoutPage,
    Wall,
    card_for,
    make_handout,
    occurs,
    sheets_of,
    teaching_of,
)
from ipmcal.publishing.paper.ink.drawings import (
    queen_cells,
    sound_and_sunken,
    true_size,
)
from ipmcal.publishing.paper.page import handout_html
from ipmcal.publishing.paper.pdf import render
from ipmcal.reading.source.dates import read_day

EXAMPLE = Path(__file__).parents[3] / "example_yards" / "first_season.yaml"
TRADE_WORDS = [
    *("brood", "broodless", "cage", "cap", "capped", "chalkbrood", "cluster", "colony", "comb", "cup", "dearth"),
    *("drone", "egg", "excluder", "feeder", "flow", "fondant", "foundation", "frame", "grub", "heft", "jelly"),
    *("mesh", "mite", "mouse guard", "nectar", "nuc", "nurse bee", "package", "phoretic", "propolis", "pupa"),
    *("laying worker", "queen", "queen cell", "requeen", "robbing", "smoker", "split", "stores", "strip"),
    *("super", "swarm", "syrup", "wash"),
]
"""Words of the trade that a beginner can't know; a list of our own, after the glossaries of clubs (from memory)."""


@pytest.fixture(scope="module")
def made() -> tuple[Plan, Rulebook]:
    one = load_all([EXAMPLE])[0]
    return make_plan(one.outfit, one.book, read_day("2027-05-10")), one.book


@pytest.fixture(scope="module")
def page(made: tuple[Plan, Rulebook]) -> HandoutPage:
    plan, book = made
    return make_handout(plan, plan.yards[0], teaching_of(book))


@pytest.fixture(scope="module")
def html(made: tuple[Plan, Rulebook]) -> str:
    plan, book = made
    return handout_html(plan, plan.yards[0].key, None, teaching_of(book))


def prose(page: HandoutPage) -> str:
    """The sentences of the cards, pooled: one line's grade is noise."""
    lines: list[str] = []
    for card in page.cards:
        skill = card.skill
        lines += [skill.before, *skill.steps, skill.normal, skill.care or "", *skill.fair]
        lines += [text for wrong in skill.wrong for text in (f"{wrong.sign}?", wrong.do)]
    return " ".join(lines)


def syllables(word: str) -> int:
    """About how many: groups of vowels, without a silent e at the end."""
    groups = re.findall(r"[aeiouy]+", word.lower())
    silent = word.lower().endswith("e") and not word.lower().endswith("le") and len(groups) > 1
    return max(len(groups) - silent, 1)


def grades(text: str) -> Iterator[tuple[str, float]]:
    """Flesch-Kincaid 1975, Coleman-Liau 1975, FORCAST 1973 (Caylor and others), as published."""
    words = re.findall(r"[A-Za-z']+", text)
    sentences = len(re.findall(r"[.?!]+(?:\s|$)", text))
    sounds, signs = sum(map(syllables, words)), sum(map(len, words))
    yield "Flesch-Kincaid", 0.39 * len(words) / sentences + 11.8 * sounds / len(words) - 15.59
    yield "Coleman-Liau", 5.88 * signs / len(words) - 29.6 * sentences / len(words) - 15.8
    yield "FORCAST", 20 - 15 * sum(syllables(word) == 1 for word in words) / len(words)


def drawn_sizes() -> object:
    sizes = teaching_of(shipped_rules()).sizes
    assert sizes is not None
    return true_size(sizes)


def test_a_twelve_year_old_can_read_it(page: HandoutPage) -> None:
    text = prose(page)
    assert len(text.split()) > 1000
    found = dict(grades(text))
    assert found["Flesch-Kincaid"] <= 8
    assert found["Coleman-Liau"] <= 8
    wall = ". ".join(text for day in page.days for line in day.lines for text in (line.do, line.because) if text)
    assert dict(grades(wall))["FORCAST"] <= 10, "for tables, whose lines are no sentences; its floor lies near 5"


def test_every_task_has_its_card(made: tuple[Plan, Rulebook], page: HandoutPage) -> None:
    plan, book = made
    cards = {card.skill.title for card in page.cards}
    for task in plan.tasks:
        skill = card_for(task, book.skills)
        assert skill is not None, task.id
        assert task.planned is None or skill.title in cards


def test_every_word_that_a_shipped_step_logs_has_a_card() -> None:
    book = shipped_rules()
    known = {word for skill in book.skills.values() for word in skill.logs}
    own = {name for name, rule in book.events.items() if rule.effect == "does_own"}
    logged = {(name, step.logs) for name, method in book.methods.items() for step in method.steps.values()}
    methods = {name for skill in book.skills.values() for name in skill.methods}
    assert {(name, word) for name, word in logged if word not in known | own and name not in methods} == set()


@pytest.mark.parametrize(
    ("kind", "title"),
    [("package", "A package"), ("nucleus", "A nucleus"), ("swarm", "A caught swarm"), ("split", None)],
)
def test_bees_are_put_in_by_the_card_of_how_they_came(kind: str, title: str | None) -> None:
    """A package alone has a queen in a cage that is hung, and bees that are poured (common practice)."""
    book = shipped_rules()
    methods = {name for name, method in book.methods.items() if name.startswith("new_")}
    own = [skill for skill in book.skills.values() if f"new_{kind}" in skill.methods]
    assert [skill.title.partition(",")[0] for skill in own] == ([title] if title else [])
    assert all(len(methods.intersection(skill.methods)) <= 1 for skill in book.skills.values())
    for skill in own:
        does = " ".join((skill.before, *skill.steps, *(wrong.sign for wrong in skill.wrong)))
        assert occurs("cage", does) == (kind == "package"), skill.title


def test_the_glossary_has_what_is_printed_and_nothing_else(page: HandoutPage, html: str) -> None:
    words = dict(page.words)
    body = re.sub(r"<ul class=.words.>.*</ul>|<style>.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL).casefold()
    everything = f"{body} {' '.join(words.values())}".casefold()
    assert [word for word in words if not occurs(word, everything)] == []
    assert [word for word in TRADE_WORDS if occurs(word, body) and word not in words] == []


def test_the_last_good_day_is_boxed_and_the_mentor_named(made: tuple[Plan, Rulebook]) -> None:
    plan, book = made
    named = replace(plan, yards=(replace(plan.yards[0], mentor="Mo Mentor, 555 0101"),))
    text = handout_html(named, plan.yards[0].key, None, teaching_of(book))
    assert "Mo Mentor, 555 0101" in text
    stops = [task.window.hard_stop for task in plan.tasks if task.logs == "strips_out" and task.planned is not None]
    assert stops
    for stop in stops:
        assert f'class="by whole">OUT BY {short_day(stop or 0)}<' in text
    assert "Ring today:" in text


def test_days_in_a_row_with_the_same_work_are_one_row_and_none_is_lost(
    made: tuple[Plan, Rulebook], page: HandoutPage, html: str
) -> None:
    visits = [visit.day for visit in made[0].visits if visit.yard == made[0].yards[0].key]
    shown = [day for row in page.days for day in (row.day, *row.again)]
    assert sorted(shown) == sorted(set(visits))
    assert not any(row.again for row in page.days if any(line.by is not None for line in row.lines))
    for one, then in pairwise(page.days):
        alike = [line.do for line in one.lines] == [line.do for line in then.lines]
        assert not alike or any(line.by is not None for row in (one, then) for line in row.lines)
    again = [row for row in page.days if row.again]
    assert html.count("(again ") == len(again)


def test_a_wall_of_many_visits_has_sheets_of_about_the_same_length(page: HandoutPage) -> None:
    assert page.wall == (page.days,), "a first year is one sheet"
    three = sheets_of(page.days, Wall(43, 21, 15))
    assert [day for part in three for day in part] == list(page.days)
    assert len(three) == 3
    assert min(map(len, three)) > 2
    assert sheets_of((), Wall(43, 21, 15)) == ((),)


def test_it_is_at_most_twelve_half_sheets_with_bookmarks(html: str, page: HandoutPage) -> None:
    read = pypdf.PdfReader(io.BytesIO(render(html)))
    assert len(read.pages) <= 12
    box = read.pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (396, 612), "half a letter sheet"
    assert len(read.outline) >= 1
    whom = read.pages[0].extract_text() + read.pages[1].extract_text()
    assert "Whom to ring" in whom
    acts = [day.day for day in page.days if any("board" not in line.do.lower() for line in day.lines)]
    assert short_day(acts[-1]).partition(" ")[2] in whom, "the year is two half sheets at most, but for boards"


def test_what_is_of_true_size_is(made: tuple[Plan, Rulebook]) -> None:
    """Half a US cup is 118 mL; a grown female mite is about 1.1 mm long and 1.6 mm wide (common practice)."""
    sizes = teaching_of(made[1]).sizes
    assert sizes is not None
    drawn = str(true_size(sizes))
    width, height = (float(n) for n in re.findall(r'(?:width|height)="([0-9.]+)mm"', drawn)[:2])
    assert f'viewBox="0 0 {width:g} {height:g}"' in drawn, "a unit of the drawing is a millimetre"
    scoop = re.search(r"M([0-9.]+) 9v([0-9.]+)h([0-9.]+)v", drawn)
    assert scoop is not None
    left, deep, wide = (float(n) for n in scoop.groups())
    assert 3.14159 * (wide / 2) ** 2 * deep / 1000 == pytest.approx(118, rel=0.01)
    assert (sizes.mite_wide, sizes.mite_long) == (1.6, 1.1)
    assert left > 0
    mites = re.findall(r"a0\.8 0\.55 0 1 0 1\.6 0", drawn)
    assert len(mites) == 2


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_large_print_has_no_letter_below_16_pt(made: tuple[Plan, Rulebook], paper: str) -> None:
    plan, book = made
    large = replace(plan, yards=(replace(plan.yards[0], large_print=True, paper=paper),))
    with pages(render(handout_html(large, plan.yards[0].key, None, teaching_of(book)))) as all_pages:
        assert min(c["size"] for page in all_pages for c in page.chars if c["text"].strip()) > 15.95
        assert max(c["x1"] for page in all_pages for c in page.chars) <= all_pages[0].width - 14 * MM


@pytest.mark.parametrize("draw", [queen_cells, drawn_sizes, sound_and_sunken])
def test_nothing_is_drawn_outside_its_frame(draw: object) -> None:
    text = str(draw())  # type: ignore[operator]
    width, height = (float(n) for n in re.findall(r'(?:width|height)="([0-9.]+)mm"', text)[:2])
    for x, y, size, anchor, words in re.findall(
        r'<text x="([0-9.-]+)" y="([0-9.-]+)" font-size="([0-9.]+)" text-anchor="(\w+)"[^>]*>([^<]+)<', text
    ):
        long = 0.5 * float(size) * len(words)
        first = float(x) - {"start": 0, "middle": long / 2, "end": long}[anchor]
        assert first >= 0, words
        assert first + long <= width, words
        assert 0 < float(y) <= height, words
