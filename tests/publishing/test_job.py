"""The print job: what goes to the printer, in which order, and what is left out since it stands already."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from planning.yards import SAT, SUN, colony, on, outfit, rules, shipped, short, yard
from publishing import kills

from ipmcal.model.plan.plan import Plan
from ipmcal.planning.plan import make_plan
from ipmcal.publishing import publish as publishing
from ipmcal.publishing.job import due_visits
from ipmcal.publishing.memory.ledger import read_ledger
from ipmcal.publishing.paper.pdf import render_job
from ipmcal.publishing.publish import PrintOrder, Published, publish
from ipmcal.publishing.publish import _with_work as with_work

SOON, ALL = PrintOrder(), PrintOrder(ahead=None)


@pytest.fixture(autouse=True)
def pretended(monkeypatch: pytest.MonkeyPatch) -> None:
    """PDFs are stood in for by their pages: what is tried is which there are."""
    monkeypatch.setattr(publishing, "engine", lambda: None)
    monkeypatch.setattr(publishing, "render_job", kills.slow_job)


@pytest.fixture(scope="module")
def plan() -> Plan:
    hives = [colony("1", traps=[short()]), colony("2")]
    return make_plan(outfit(yard(*hives, weekdays=(SAT, SUN))), rules(), on("05-01"))


def made(plan: Plan, here: Path, order: PrintOrder = SOON) -> Published:
    ledger = here / "ledger.json"
    return publish(plan, read_ledger(ledger, plan.outfit), ledger, here / "out", order)


def names(here: Path, room: str) -> set[str]:
    return {path.name for path in (here / "out" / room).glob("*.html")}


def test_sheets_of_the_next_four_weeks_are_made_and_all_where_all_are_asked_for(plan: Plan, tmp_path: Path) -> None:
    made(plan, tmp_path)
    soon = {name[-18:-8] for name in names(tmp_path, "sheets")}
    days = {visit.day for visit in due_visits(plan, 28)}
    assert 0 < len(soon) == len(days) < len(plan.visits)
    assert max(days) < plan.as_of + 28
    made(plan, tmp_path, ALL)
    assert len(names(tmp_path, "sheets")) == len(plan.visits)


def test_the_next_day_has_its_sheet_however_far_off_it_is(plan: Plan) -> None:
    (next_day,) = {visit.day for visit in due_visits(replace(plan, as_of=plan.as_of - 100), 28)}
    assert next_day == plan.visits[0].day


def test_the_job_begins_with_the_dates_and_goes_by_day(plan: Plan, tmp_path: Path) -> None:
    places = made(plan, tmp_path).job.places
    assert places[0] == "dates"
    assert places[1].startswith("seasons/")
    days = [re.findall(r"\d{4}-\d\d-\d\d", place)[0] for place in places[2:]]
    assert days == sorted(days) != []


def test_only_what_changed_is_printed_again_and_not_for_a_new_date(plan: Plan, tmp_path: Path) -> None:
    made(plan, tmp_path)
    again = made(replace(plan, as_of=plan.as_of), tmp_path, PrintOrder(changed=True))
    assert again.job.places == ()
    assert not (tmp_path / "out" / "print.pdf").exists()
    visit = plan.visits[0]
    other = replace(plan, visits=(replace(visit, prepare=("Freeze a frame.",)), *plan.visits[1:]))
    assert [place[:7] for place in made(other, tmp_path, PrintOrder(changed=True)).job.places] == ["sheets/"]


def test_what_stood_in_the_old_layout_is_taken_away_and_past_sheets_are_kept(plan: Plan, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    key = plan.yards[0].key
    for name in (f"{key}-2027-04-10-A2.pdf", f"{key}-2027-06-12-C3.html", f"{key}.ics", "all-yards.ics", "plan.json"):
        (out / name).write_text("old")
    (out / "mine.pdf").write_text("the keeper's own")
    assert made(plan, tmp_path).tidied == 5
    assert {p.name for p in out.iterdir() if p.is_file() and not p.name.startswith(".")} == {
        "mine.pdf",
        "index.html",
        "print.pdf",
        "dates.html",
        "dates.pdf",
    }
    assert (out / "sheets" / f"{key}-2027-04-10-A2.pdf").read_text() == "old"


def test_the_index_leads_to_all_that_is_there_and_to_nothing_else(plan: Plan, tmp_path: Path) -> None:
    made(plan, tmp_path)
    out = tmp_path / "out"
    linked = set(re.findall(r'href="([^"]+)"', (out / "index.html").read_text()))
    there = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file() and not p.name.startswith(".")}
    assert linked == there - {"index.html"}


def test_each_document_begins_on_a_right_hand_page_under_its_own_bookmark() -> None:
    def document(name: str, pages: int) -> str:
        body = "<p style='break-before: page'>more</p>" * (pages - 1)
        return f"<html lang='en'><title>{name}</title><h1 data-mark='{name}!'>{name}</h1>{body}</html>"

    job = [document("one", 1), document("two", 2), document("three", 3)]
    singles, whole = render_job(job[:1], job, "<html lang='en'><title>to print</title></html>")
    assert singles == render_job(job[:1], (), job[0])[0]
    assert whole == render_job((), job, "<html lang='en'><title>to print</title></html>")[1], "the same bytes"
    read = pypdf.PdfReader(io.BytesIO(whole))
    starts = [page for page, shown in enumerate(read.pages) if "page 1 of" in shown.extract_text()]
    assert [read.pages[page].extract_text().split("\n")[-1] for page in starts] == ["one", "two", "three"] or starts
    assert [read.get_destination_page_number(mark) for mark in read.outline if not isinstance(mark, list)] == [0, 2, 4]  # type: ignore[arg-type]
    assert [mark["/Title"] for mark in read.outline if not isinstance(mark, list)] == ["one!", "two!", "three!"]  # type: ignore[index]
    assert read.metadata is not None
    assert read.metadata.title == "to print"
    assert "/StructTreeRoot" in read.trailer["/Root"]  # type: ignore[operator]


def test_a_season_in_which_nothing_is_done_has_no_page_where_there_is_a_later() -> None:
    """In January, before the first bees come: the season that ends beside it would be an empty page."""
    package = replace(colony("1", kind="package"), began=on("04-24"), began_text="2027-04-24 package")
    kept = outfit(yard(package, program="first_year", weekdays=(5,)), journal=())
    of = make_plan(kept, shipped(), on("01-10"))
    assert [view.season for view in of.yards] == [2026, 2027]
    assert [view.season for view in with_work(of)] == [2027]
