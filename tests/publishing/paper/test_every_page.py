"""Every sheet, season page and hand-out of example yards, for a whole year, as they come out of the printer.

A usual visit is one leaf; nothing lies over anything else or beyond the margins; a copy in grey loses nothing, since
nothing is said by a colour.
"""

from __future__ import annotations

import html
import os
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from examples import example
from publishing.pdf_reading import MM, pages, squares

EVERY = ("allotment.yaml", "first_season.yaml", "hollow_lane", "long_meadow", "quarry_end", "ridge_road.yaml")
EXAMPLES = EVERY if os.environ.get("PAGES") == "all" else ("first_season.yaml", "hollow_lane", "ridge_road.yaml")
"""With PAGES=all, every example: half a minute each. As it is, those whose documents are made for other tests too."""
A_LEAF = len(("front", "back"))
A_SEASON = len(("chart and visits", "mites and treatments"))
LEAST_POINTS = {"sheets": 9.9, "seasons": 7.9, "handouts": 7.9}
"""The smallest letters by folder, in points; on season page and hand-out they stand in a drawing."""
SIDE, HALF_SIDE = 8.9, 7.9
"""The narrowest margin, mm: of a page, and of a half sheet."""


def lines_over_lines(page: Any) -> Iterator[tuple[str, str]]:
    """Words of a page that lie over one another, more than lines set close do, whose boxes are high."""
    words = sorted(page.extract_words(use_text_flow=False, keep_blank_chars=False), key=lambda word: word["top"])
    for place, one in enumerate(words):
        for other in words[place + 1 :]:
            if other["top"] > one["bottom"]:
                break
            high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
            wide = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
            least = min(one["bottom"] - one["top"], other["bottom"] - other["top"])
            if wide > 1.0 and high > 0.4 * least:
                yield one["text"], other["text"]


GLUED = re.compile(r"[a-z)][.!?:;,][A-Z][a-z]|\S·|·\S")


def glued(page: Any) -> list[str]:
    """Words of a page between which a blank is missing: a sentence on the heels of another, a dot without its room."""
    return [word["text"] for word in page.extract_words(use_text_flow=False) if GLUED.search(word["text"])]


def cut_words(all_pages: list[Any], page: Path) -> set[str]:
    """Words that a PDF has and its page for screens has not: what was cut where a line or a page ends."""
    body = page.read_text(encoding="utf-8").partition("<body>")[2]
    inline = re.sub(r"</?(b|i|small|span)\b[^>]*>", "", body)
    known = set(re.findall(r"\w+", html.unescape(re.sub(r"<[^>]+>", " ", inline)))) | {"page", "of"}
    drawn = re.findall(r"<text[^>]*>(?:<[^>]*>)*([^<]+)", body)  # the engine sets these letter by letter
    known |= {"".join(re.findall(r"\w+", text)) for text in drawn}
    words = (word["text"] for one in all_pages for word in one.extract_words(use_text_flow=False))
    found = {part for word in words for part in re.findall(r"\w+", word)} - known
    return {word for word in found if not word.isdigit()}


def colours(page: Any) -> set[tuple[float, ...]]:
    """The colours of all that is drawn on a page; those of one part, or of equal parts, are grey."""
    drawn = [*page.chars, *page.rects, *page.curves, *page.lines]
    found = {thing[kind] for thing in drawn for kind in ("stroking_color", "non_stroking_color")}
    return {colour for colour in found if isinstance(colour, tuple) and len(set(colour)) > 1}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_page_of_an_example_is_fit_for_paper(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """All that is asked of a page at once: the pages of a year are made, and read, in one process only."""
    numbers, home = {}, example(name, tmp_path_factory)
    for path in (path for folder in LEAST_POINTS for path in sorted(home.glob(f"out/*/{folder}/*.pdf"))):
        place = f"{path.parent.name}/{path.stem}"
        with pages(path.read_bytes()) as all_pages:
            numbers[place] = len(all_pages)
            if place.startswith("sheets/"):
                assert squares(all_pages[0]), f"{place}: no hive on its first page"
                assert cut_words(all_pages, path.with_suffix(".html")) == set(), place
            if place.startswith("handouts/"):
                no_sheet_of_the_wall_spills(all_pages, place)
            for number, page in enumerate(all_pages, 1):
                where = f"{place}, page {number}"
                nothing_lies_over_anything_or_beyond_the_margins(page, place.partition("/")[0], where)
                assert colours(page) == set(), f"{where}: a copy in grey loses something"
    a_visit_is_one_leaf(numbers)
    a_usual_season_is_two_pages(numbers)


def a_visit_is_one_leaf(numbers: Mapping[str, int]) -> None:
    sheets = {place.rpartition("-")[0]: number for place, number in numbers.items() if place.startswith("sheets/")}
    assert {place: number for place, number in sheets.items() if number > A_LEAF} == {}


def no_sheet_of_the_wall_spills(all_pages: list[Any], place: str) -> None:
    """A page with rows of the wall, whose head is printed on each, begins a sheet of it: its title, or "On from"."""
    tops = [page.extract_text().strip() for page in all_pages]
    begun = [top for top in tops if "about do because" in top]
    assert begun, place
    assert all(top.startswith(("Your bees in", "On from")) for top in begun), place


def a_usual_season_is_two_pages(numbers: Mapping[str, int]) -> None:
    for place, number in numbers.items():
        if place.startswith("seasons/"):
            assert number <= A_SEASON, place


def nothing_lies_over_anything_or_beyond_the_margins(page: Any, folder: str, where: str) -> None:
    assert list(lines_over_lines(page)) == [], where
    assert glued(page) == [], where
    drawn = [*(c for c in page.chars if c["text"].strip()), *page.rects, *page.curves]
    side = (SIDE if page.width > 500 else HALF_SIDE) * MM
    assert min(thing["x0"] for thing in drawn) >= side, where
    assert max(thing["x1"] for thing in drawn) <= page.width - side, where
    assert max(thing["bottom"] for thing in drawn) <= page.height - 5 * MM, where
    assert min(c["size"] for c in page.chars) > LEAST_POINTS[folder], where
