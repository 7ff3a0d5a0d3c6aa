"""The structure of the PDFs, read back by a library that did not write them: headings, header cells, language, title.

What is asked for is the part of PDF/UA-1 (ISO 14289-1, from memory) that can be counted: headings begin at the first
level and never jump, header cells say something and are named by the cells below them, drawings have words, nothing is
drawn that is neither tagged nor an artefact, what is read stands in the order of the page; language, title and
bookmarks are there.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import pypdf
import pytest
from publishing import sample_plan as sample
from publishing.pdf_reading import elements, pages
from pypdf.generic import ContentStream

from ipmcal.loading import shipped_rules
from ipmcal.publishing.paper.handout import teaching_of
from ipmcal.publishing.paper.page import dates_html, forms_html, handout_html, season_html, sheet_html
from ipmcal.publishing.paper.pdf import render

PAINTS = (b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"sh", b"Do", b"Tj", b"TJ", b"'", b'"')
"""The operators that draw (ISO 32000-1, annex A, from memory)."""
TOLD = 12
"""So many letters make a piece of text that is looked for in its place."""


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
    "hand-out": lambda: handout_html(sample.four_hives(), "orchard", None, teaching_of(shipped_rules())),
    "all yards": lambda: dates_html(sample.four_hives(), {}, None),
    "forms": lambda: forms_html(sample.four_hives(), "orchard"),
    "to fill in": lambda: sheet_html(sample.four_hives(), sample.four_hives().visits[0], "K7", fillable=True),
}
MANY_TITLES = ("forms",)
"""Each of the blank forms is a page with a title of its own."""


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
    assert levels.count(1) == 1 or page in MANY_TITLES
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


@pytest.mark.parametrize("page", PAGES)
def test_cells_name_their_headers_and_drawings_have_words(page: str) -> None:
    for kind, node in tree(page):
        if kind == "Table":
            inside = list(elements(node["/K"]))
            known = {str(one["/ID"]) for kind, one in inside if kind == "TH"}
            named = {str(name) for kind, one in inside if kind == "TD" for name in one["/A"].get("/Headers", ())}
            assert named <= known
            assert named or not known
            cells = [(kind, one) for kind, one in own_cells(node["/K"]) if kind in ("TH", "TD")]
            if any(kind == "TH" for kind, _ in cells):  # one without is for layout
                assert all(one["/A"].get("/Headers") for kind, one in cells if kind == "TD")
        if kind == "Figure":
            assert str(node["/Alt"]).strip()


@pytest.mark.parametrize("page", PAGES)
def test_each_header_cell_tells_what_it_heads(page: str) -> None:
    """PDF/UA-1, 7.5: those of a table's head their columns, the others their rows."""
    for kind, node in tree(page):
        if kind == "TH":
            head = node["/P"].get_object()["/P"].get_object()["/S"] == "/THead"
            assert node["/A"]["/Scope"] == ("/Column" if head else "/Row")


def own_cells(node: Any) -> Iterator[tuple[str, Any]]:
    """The elements of a table, without those of tables in its cells."""
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from own_cells(kid)
    elif isinstance(node, dict) and "/S" in node and node["/S"] != "/Table":
        yield str(node["/S"]).lstrip("/"), node
        yield from own_cells(node.get("/K", pypdf.generic.ArrayObject()))


@pytest.mark.parametrize("page", PAGES)
def test_nothing_is_drawn_that_is_neither_tagged_nor_an_artefact(page: str) -> None:
    read = reader(page)
    for paper in read.pages:
        marks: list[str] = []
        for operands, operator in ContentStream(paper.get_contents(), read).operations:
            if operator in (b"BDC", b"BMC"):
                marks.append(str(operands[0]))
            elif operator == b"EMC":
                marks.pop()
            assert marks or operator not in PAINTS, operator


def marked(node: Any, page: int = 0) -> Iterator[tuple[int, int]]:
    """What is marked below an element, in the order of reading: the page's object number, and the number on it."""
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from marked(kid, page)
    elif isinstance(node, int):
        yield page, node
    elif isinstance(node, dict):
        here = node.raw_get("/Pg").idnum if "/Pg" in node else page
        if node.get("/Type") == "/MCR":
            yield here, int(node["/MCID"])
        elif "/K" in node:
            yield from marked(node["/K"], here)


def pieces(html: str) -> Iterator[str]:
    """The text of a page between two tags, without blanks: what is long enough to be found again."""
    unseen = r'<(section|p)[^>]*class="(?:[^"]* )?more[" ].*?</\1>'
    body = re.sub(unseen, "<>", html[html.index("<main>") :], flags=re.DOTALL)  # for screens alone
    for text in re.sub(r"<svg.*?</svg>", "<>", body, flags=re.DOTALL).replace("<br>", "<>").split("<"):
        plain = re.sub(r"&\w+;|&#\d+;", "", text.partition(">")[2])
        if plain == text.partition(">")[2] and len(found := "".join(plain.split())) >= TOLD:
            yield found


@pytest.mark.parametrize("page", [page for page in PAGES if page != "to fill in"])
def test_it_is_read_in_the_order_of_the_page(page: str) -> None:
    said: dict[tuple[int, int], str] = {}
    numbers = [paper.indirect_reference.idnum for paper in reader(page).pages if paper.indirect_reference]
    html = PAGES[page]()
    with pages(render(html)) as all_pages:
        for number, paper in zip(numbers, all_pages, strict=True):
            for char in paper.chars:
                if char["mcid"] is not None:
                    place = number, char["mcid"]
                    said[place] = said.get(place, "") + char["text"]
    root: Any = reader(page).trailer["/Root"]
    read = "".join("".join(said.get(place, "").split()) for place in marked(root["/StructTreeRoot"]["/K"]))
    wanted = list(pieces(html))
    at = 0
    for piece in wanted:
        at = read.find(piece, at)
        assert at >= 0, piece
    assert len(wanted) > 3
