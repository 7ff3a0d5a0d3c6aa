"""Reading a PDF back: text, letters with their height, boxes and lines, all in points or millimetres of paper."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any

import pdfplumber
import pypdf

MM = 72 / 25.4
"""Points in a millimetre."""


@contextmanager
def pages(document: bytes) -> Iterator[list[Any]]:
    """The pages of a PDF, as pdfplumber has them: to look at, since whoever asks next gets the same."""
    yield _opened(document).pages


@lru_cache(maxsize=4)
def _opened(document: bytes) -> Any:
    """A PDF, read as far as somebody asked: reading takes as long as printing, and many tests ask one page."""
    return pdfplumber.open(io.BytesIO(document))


def texts(document: bytes) -> list[str]:
    """The text of each page, words joined by one blank."""
    with pages(document) as all_pages:
        return [" ".join(page.extract_text().split()) for page in all_pages]


def page_count(document: bytes) -> int:
    """How many pages a PDF has: counted, not read, which takes as long as printing them."""
    return len(pypdf.PdfReader(io.BytesIO(document)).pages)


def squares(page: Any, least_mm: float = 6.0) -> list[tuple[float, float]]:
    """Width and height, in mm, of the boxes to tick on a page (outer edges)."""
    boxes = [r for r in page.rects if r["fill"] and abs(r["width"] - r["height"]) < 0.2]
    sizes = [(r["x0"], r["top"], r["width"] / MM, r["height"] / MM) for r in boxes]
    outer = [(x, y, w, h) for x, y, w, h in sizes if w > least_mm]
    return [  # the engine draws a border as two nested rectangles: the outer one has none a little left of it
        (w, h) for x, y, w, h in outer if not any(0 < x - x2 < 3 and 0 < y - y2 < 3 for x2, y2, _, _ in outer)
    ]


def writing_lines(page: Any) -> list[tuple[float, float, float, float]]:
    """Places to write: x0, x1, top and bottom in points. The engine draws a bottom border as two nested rectangles."""
    found = []
    outer = [r for r in page.rects if r["fill"]]
    for rect in outer:
        inner = [
            r
            for r in outer
            if r is not rect and abs(r["x0"] - rect["x0"]) < 0.1 and abs(r["width"] - rect["width"]) < 0.1
            and abs(r["top"] - rect["top"]) < 0.1 and 0.2 < rect["height"] - r["height"] < 1.5
        ]  # fmt: skip
        if inner and 10 * MM < rect["height"] < 12 * MM and rect["width"] < 160 * MM:
            found.append((rect["x0"], rect["x1"], rect["top"], rect["bottom"]))
    return found


def elements(node: Any) -> Iterator[tuple[str, Any]]:
    """The elements of a tag tree in reading order: each one's kind, and the element."""
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from elements(kid)
    elif isinstance(node, dict) and "/S" in node:
        yield str(node["/S"]).lstrip("/"), node
        yield from elements(node.get("/K", pypdf.generic.ArrayObject()))
