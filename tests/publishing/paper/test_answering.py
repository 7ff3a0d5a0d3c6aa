"""The page that answers sheets: every message that its buttons can make is read back as what was tapped."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from reading.entering.test_circled import facts, planned

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.signs import DIGITS, LETTERS, printed_code
from ipmcal.publishing.paper.answering import TAKEN_OUT, AnswerLine, answer_sheets
from ipmcal.publishing.paper.page import answering_html
from ipmcal.publishing.paper.sheet import sheet_lines
from ipmcal.reading.club.messages import read_message
from ipmcal.reading.entering.sheetlines import PrintedSheet, sheet_line
from ipmcal.reading.entering.sheetwords import line_entries, one_a_line

PROGRAMS = ("full", "acids_and_handwork", "first_year")


def coded(plan: Plan) -> dict[str, str]:
    codes = (letter + digit for letter in LETTERS for digit in DIGITS)
    return {visit.id: code for visit, code in zip(plan.visits, codes, strict=False)}


def tapped(line: AnswerLine) -> list[str]:
    """What the page's script can make of a line: each button, and what is written."""
    said = list(line.words)
    said += ["9/300"] if line.counted else []
    said += [f"done 2{' lot K21' if len(line.given) > 1 else ''} by AB"] if line.given else []
    return said + (["done 3"] if line.written else [])


@pytest.mark.parametrize("program", PROGRAMS)
def test_every_button_makes_a_message_that_is_read_as_it_was_tapped(program: str) -> None:
    plan, known, seen = planned(program), facts(program), set()
    for sheet, visit in zip(answer_sheets(plan, plan.yards[0], coded(plan)), plan.visits, strict=True):
        ids = sheet_lines(plan, visit)
        lines = tuple(
            sheet_line(i, t, known.book, look=plan.task(t).look, value=plan.task(t).value) for i, t in enumerate(ids, 1)
        )
        printed = PrintedSheet("A2", visit.yard, visit.day, lines)
        for line, at in zip(sheet.lines, lines, strict=True):
            for words in tapped(line):
                if (at.method, at.step, words) in seen:
                    continue
                seen.add((at.method, at.step, words))
                message = read_message(f"{sheet.code} {sheet.day}: {line.number} {words}")
                assert message.day.near(visit.day) == visit.day
                assert one_a_line(message.text, printed, known.book) == [(line.number, words)]
                if TAKEN_OUT in line.given and "2" in words:
                    continue  # nothing lies in these hives
                entries = line_entries(known, printed, line.number, words, visit.day)
                assert {e.line for e in entries} == {line.number}
    assert len(seen) > 40


class Outside(HTMLParser):
    """What a page would fetch or send by itself."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.policy = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        links = [told.get(name) or "" for name in ("src", "href", "action", "data")]
        self.found += [f"{tag} {link}" for link in links if link and link != "sms:"]
        self.policy = told.get("content") or "" if told.get("http-equiv") == "Content-Security-Policy" else self.policy


def test_the_page_is_one_file_that_asks_for_nothing() -> None:
    plan = planned("full")
    page = answering_html(plan, plan.yards[0].key, coded(plan))
    outside = Outside()
    outside.feed(page)
    assert outside.found == []
    assert outside.policy.startswith("default-src 'none'")
    assert not re.search(r"fetch\(|XMLHttp|import\(|url\(|https?://", page)
    assert printed_code(LETTERS[0] + DIGITS[0]) in page
