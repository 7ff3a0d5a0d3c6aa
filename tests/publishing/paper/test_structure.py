"""The structure of the PDFs, read back by a library that did not write them: headings, header cells, language, title.

What is asked for is the part of PDF/UA-1 (ISO 14289-1, from memory) that can be counted: headings begin at the first
level and never jump, header cells say something, language, title and bookmarks are there.
"""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import pypdf
import pytest
from publishing import sample_plan as sample
from publishing.pdf_reading import elements

from ipmcal.publishing.paper.page import season_html, sheet_html
from ipmcal.publishing.paper.pdf import render


def sheet(kind: str) -> str:
    plan = sample.visit_of(kind, 4)
    return sheet_html(plan, plan.visits[0], "K7")


def calm() -> str:
    """A sheet with nothing that can't wait: the level between day and hive may not be left out."""
    plan = sample.visit_of("strips in", 1)
    return sheet_html(plan, replace(plan.visits[0], must=(), short=()), "K7")


PAGES = {
    "four hives": lambda: sheet_html(sample.four_hives(), sample.four_hives().visits[0], "K7"),
    "usual": lambda: sheet("usual"),
    "strips in": lambda: sheet("strips in"),
    "calm": calm,
    "season": lambda: season_html(sample.four_hives(), "orchard"),
}


@cache
def reader(page: str) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(PAGES[page]())))


def tree(page: str) -> list[tuple[str, Any]]:
    root: Any = reader(page).trailer["/Root"]
    return list(elements(root["/StructTreeRoot"]["/K"]))


def says_something(node: Any) -> bool:
    """True where an element holds marked content, itself or below."""
    node = node.get_object()
    if isinstance(node, list):
        return any(says_something(kid) for kid in node)
    if isinstance(node, dict):
        return node.get("/Type") == "/MCR" or says_something(node.get("/K", pypdf.generic.ArrayObject()))
    return isinstance(node, int)


@pytest.mark.parametrize("page", PAGES)
def test_headings_begin_at_the_first_level_and_never_jump(page: str) -> None:
    levels = [int(kind[1]) for kind, _ in tree(page) if len(kind) == 2 and kind[0] == "H" and kind[1].isdigit()]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels)), levels


@pytest.mark.parametrize("page", PAGES)
def test_no_header_cell_is_empty(page: str) -> None:
    cells = [node for kind, node in tree(page) if kind == "TH"]
    assert [says_something(node) for node in cells] == [True] * len(cells)


@pytest.mark.parametrize("page", PAGES)
def test_language_title_and_marks(page: str) -> None:
    root: Any = reader(page).trailer["/Root"]
    assert root["/Lang"] == "en"
    assert bool(root["/MarkInfo"]["/Marked"])
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])
    information = reader(page).metadata
    assert information is not None
    assert information.title


@pytest.mark.parametrize("page", PAGES)
def test_bookmarks_lead_to_the_headings(page: str) -> None:
    def titles(outline: Any) -> list[str]:
        return [t for one in outline for t in (titles(one) if isinstance(one, list) else [str(one.title)])]

    found = titles(reader(page).outline)
    headings = [kind for kind, _ in tree(page) if kind in ("H1", "H2", "H3")]
    assert len(found) == len(headings)
    assert all(title.strip() for title in found)
