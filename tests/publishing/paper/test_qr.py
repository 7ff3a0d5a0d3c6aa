"""The address of the keeper's page on the season page, read back from the PDF by another library (ISO/IEC 18004)."""

from __future__ import annotations

import io
from dataclasses import replace
from importlib import import_module

import pypdfium2
import pytest
from publishing.feed_plan import PLAN

from ipmcal.publishing.paper.page import season_html
from ipmcal.publishing.paper.pdf import render_many
from ipmcal.publishing.paper.qr import screen_squares

zxingcpp = import_module("zxingcpp")
PAGE = "https://example.org/bees/0123456789abcdef0123456789abcdef/"
DPI = 100


@pytest.mark.parametrize("page", [PAGE, PAGE + "x" * (300 - len(PAGE))])
def test_a_phone_reads_the_address_from_the_printed_season_page(page: str) -> None:
    plan = replace(PLAN, yards=tuple(replace(view, page=page) for view in PLAN.yards))
    view = plan.yards[0]
    (pdf,) = render_many([season_html(plan, view.key, view.season)])
    read: list[str] = []
    for sheet in pypdfium2.PdfDocument(io.BytesIO(pdf)):
        picture = sheet.render(scale=DPI / 72).to_pil()
        read += [found.text for found in zxingcpp.read_barcodes(picture)]
    assert read == [page]


def test_a_page_without_an_address_has_no_squares() -> None:
    view = PLAN.yards[0]
    assert "On the phone" not in season_html(PLAN, view.key, view.season)


def test_the_screen_shows_the_same_squares_each_time() -> None:
    shown = screen_squares("http://192.168.1.5:8321/NAME/")
    assert shown == screen_squares("http://192.168.1.5:8321/NAME/")
    assert len(shown.splitlines()) > 12
