"""Blank forms: what a keeper without a journal fills in by hand."""

from __future__ import annotations

import re
from itertools import pairwise

from publishing import sample_plan as sample
from publishing.pdf_reading import MM, pages

from ipmcal.publishing.paper.page import forms_html
from ipmcal.publishing.paper.pdf import render


def test_four_forms_a_page_each_with_rows_for_a_pencil_in_a_glove() -> None:
    html = forms_html(sample.four_hives(), "orchard")
    assert re.findall(r"<h1>(.*?)</h1>", html) == ["Counting mites", "Looking into hives", "Trap combs", "Treatments"]
    assert not re.search(r"<th[^>]*></th>", html), "no header cell is empty"
    with pages(render(html)) as all_pages:
        assert len(all_pages) == 4
        for page in all_pages:
            assert page.width > page.height
            assert min(c["size"] for c in page.chars) > 9.9
            lines = sorted({round(edge["top"]) for edge in page.edges if edge["orientation"] == "h"})
            assert sum(below - above >= 11 * MM for above, below in pairwise(lines)) >= 11
