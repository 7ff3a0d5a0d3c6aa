"""How long paper takes: a page under 0.6 s, and little more than the engine itself needs for the same page."""

from __future__ import annotations

import time
from collections.abc import Callable

import weasyprint
from publishing import sample_plan as sample
from weasyprint.text.fonts import FontConfiguration

from ipmcal.data import folder
from ipmcal.publishing import pdf
from ipmcal.publishing.page import sheet_html


def best(work: Callable[[], object], times: int = 4) -> float:
    """The shortest of several runs, s: what the machine's other work adds is left out."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return min(spent)


def bare(html: str) -> bytes:
    """The engine as its manual has it, with the same faces and style sheet."""
    config = FontConfiguration()
    fetcher = pdf._workshop()[3]
    text = pdf._font_css(pdf._faces()) + (folder("templates") / "pdf.css").read_text(encoding="utf-8")
    style = weasyprint.CSS(string=text, font_config=config, url_fetcher=fetcher)
    made = weasyprint.HTML(string=html, url_fetcher=fetcher).write_pdf(stylesheets=[style], font_config=config)
    return bytes(made)


def test_one_page_takes_less_than_six_tenths_of_a_second() -> None:
    plan = sample.yard_of(1)
    visit = plan.visits[0]
    pdf.render(sheet_html(plan, visit, "K7"))
    assert best(lambda: pdf.render(sheet_html(plan, visit, "K7"))) < 0.6


def test_all_of_it_takes_little_more_than_the_engine_alone() -> None:
    plan = sample.yard_of(12)
    visit = plan.visits[0]
    html = sheet_html(plan, visit, "K7")
    bare(html)
    full = best(lambda: pdf.render(sheet_html(plan, visit, "K7")))
    assert full <= 1.25 * best(lambda: bare(html)) + 0.02


def test_html_takes_next_to_nothing() -> None:
    plan = sample.yard_of(40)
    visit = plan.visits[0]
    sheet_html(plan, visit, "K7")
    assert best(lambda: sheet_html(plan, visit, "K7")) < 0.1
