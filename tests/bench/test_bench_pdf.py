"""How long paper takes, beside the engine itself on the same HTML with the same faces and style sheet.

Run with ``pytest tests/bench --benchmark-only``. Aims: a page under 0.6 s; all at most 1.25 x the engine.
"""

from __future__ import annotations

import weasyprint
from publishing import sample_plan as sample
from pytest_benchmark.fixture import BenchmarkFixture
from weasyprint.text.fonts import FontConfiguration

from ipmcal.data import folder
from ipmcal.publishing.paper import pdf
from ipmcal.publishing.paper.page import sheet_html


def bare(html: str) -> bytes:
    """The engine as its manual has it."""
    config = FontConfiguration()
    fetcher = pdf._workshop()[3]
    text = pdf._font_css(pdf._faces()) + (folder("templates") / "pdf.css").read_text(encoding="utf-8")
    style = weasyprint.CSS(string=text, font_config=config, url_fetcher=fetcher)
    made = weasyprint.HTML(string=html, url_fetcher=fetcher).write_pdf(stylesheets=[style], font_config=config)
    return bytes(made)


def sheet(colonies: int) -> str:
    plan = sample.yard_of(colonies)
    return sheet_html(plan, plan.visits[0], "K7")


def test_one_page(benchmark: BenchmarkFixture) -> None:
    made = benchmark(lambda: pdf.render(sheet(1)))
    assert made.startswith(b"%PDF")


def test_twelve_hives(benchmark: BenchmarkFixture) -> None:
    benchmark.group = "twelve hives"
    made = benchmark(lambda: pdf.render(sheet(12)))
    assert made.startswith(b"%PDF")


def test_twelve_hives_by_the_bare_engine(benchmark: BenchmarkFixture) -> None:
    benchmark.group = "twelve hives"
    html = sheet(12)
    made = benchmark(lambda: bare(html))
    assert made.startswith(b"%PDF")


def test_html_of_forty_hives(benchmark: BenchmarkFixture) -> None:
    assert "<html" in benchmark(lambda: sheet(40))
