"""Publish: a plan becomes files. Everything is made in memory first; then it is written, all of it or nothing.

In: a plan, the ledger, what to print. Out: files below a folder, and the ledger. The only room that knows file names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from ipmcal.model.outfit.outfit import EVERY_YARD
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.model.plan.views import YardView
from ipmcal.publishing.asdata.plan_json import plan_json
from ipmcal.publishing.calendar.feed import feeds, imports
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.job import SHEETS_AHEAD, PrintJob, due_visits, essence, job_of
from ipmcal.publishing.lists.spreadsheets import counts_csv, tasks_csv
from ipmcal.publishing.memory.changes import Change, changes
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.documents import NAME, PdfDigests, digest, made_text, read_made, stands
from ipmcal.publishing.memory.ledger import Ledger, ledger_text, remember
from ipmcal.publishing.paper.handout import Teaching
from ipmcal.publishing.paper.page import (
    answering_html,
    cover_html,
    dates_html,
    forms_html,
    handout_html,
    index_html,
    review_html,
    season_html,
    sheet_html,
    sheet_lines,
)
from ipmcal.publishing.paper.pdf import engine, render_job
from ipmcal.publishing.places import (
    ALL_YARDS,
    AT_TOP,
    DATA,
    DATES,
    FEEDS,
    INDEX,
    PLAN,
    PRINT_JOB,
    answers_place,
    fillable_place,
    forms_place,
    handout_place,
    review_place,
    season_place,
    sheet_place,
    tidy,
)

DOCUMENTS = ("sheet", "season", "feed", "plan")
ON_REQUEST = ("csv", "import", "handout", "forms", "fillable", "review")
"""What is made only where it is asked for."""


@dataclass(frozen=True)
class PrintOrder:
    """What to make: sheets of visits in the next ``ahead`` days (None: of the whole plan); in the print job all that is
    due, or only what ``changed`` since it was last made. ``teaching`` is what hand-outs are made from."""

    kinds: Sequence[str] = DOCUMENTS
    ahead: int | None = SHEETS_AHEAD
    changed: bool = False
    teaching: Teaching = field(default_factory=Teaching)


SOON = PrintOrder()


@dataclass(frozen=True)
class Published:
    """What was written: the paths, what changed since the last plan, and why there is no PDF ("" where there is).

    ``ledger`` remembers what is out now; ``taken`` are the codes of sheets that were taken away, ``job`` says what the
    print job holds, ``tidied`` how many files stood where older programs put them.
    """

    written: tuple[Path, ...]
    documents: tuple[str, ...]
    changes: tuple[Change, ...]
    no_pdf: str
    ledger: Ledger
    taken: frozenset[str]
    job: PrintJob
    tidied: int


@dataclass(frozen=True)
class _Paper:
    """The pages by place without ending, those for the screen alone and those for PDF alone, what is printed together,
    the codes by places that are no longer true, and how many visits have no sheet yet."""

    pages: Mapping[str, str]
    screens: Mapping[str, str]
    job: PrintJob
    stale: Mapping[str, str]
    later: int
    unscreened: frozenset[str] = frozenset()


def publish(
    plan: Plan,
    ledger: Ledger,
    ledger_path: Path,
    out: Path,
    order: PrintOrder = SOON,
    tell: Callable[[int], None] = lambda pages: None,
) -> Published:
    """Write the documents of a plan below ``out``, and the ledger. Raises OSError, with nothing half-written.

    ``tell`` is called with the number of PDFs to make. A PDF that was made from the same page before is not made again.
    """
    changed = changes(ledger, plan)
    made = read_made(out)
    known = made if order.changed else {}
    paper, ledger = _paper(plan, replace(remember(ledger, plan), documents=()), order, (out, known))
    files, ledger = _for_programs(plan, ledger, order.kinds)
    files |= {f"{place}.html": html.encode() for place, html in _screened(paper)}
    no_pdf = engine() if paper.pages else None
    pdfs = {} if no_pdf else _pdfs(plan, paper, (out, made), tell)
    files |= pdfs
    documents = {*files, *(() if no_pdf else _pdf_names(paper))}
    if paper.pages:
        files[INDEX] = index_html(plan, paper.job.words, sorted(documents), paper.later).encode()
    batch = {ledger_path: ledger_text(ledger).encode()} | {out / name: content for name, content in files.items()}
    batch[out / NAME] = made_text(_known(made, paper, pdfs), ledger.born).encode()  # last: it tells what stands
    written = write_all(batch)
    taken = _take_away(out, paper, bool(no_pdf))
    tidied = tidy(out, [view.key for view in plan.yards], plan.as_of)
    documents |= {INDEX} if paper.pages else set()
    return Published(written, tuple(sorted(documents)), changed, no_pdf or "", ledger, taken, paper.job, tidied)


def _screened(paper: _Paper) -> Iterator[tuple[str, str]]:
    yield from ((place, html) for place, html in paper.pages.items() if place not in paper.unscreened)
    yield from paper.screens.items()


def _for_programs(plan: Plan, ledger: Ledger, kinds: Sequence[str]) -> tuple[dict[str, bytes], Ledger]:
    """Calendars, tables and the plan as data, by place, and the ledger that knows the calendars' entries."""
    files: dict[str, bytes] = {}
    if "feed" in kinds:  # behind the sheets, whose codes stand in its titles
        calendars, ledger = feeds(plan, ledger)
        files |= {f"{FEEDS}/{key}.ics" if key else ALL_YARDS: content for key, content in calendars.items()}
    if "import" in kinds:
        calendars, ledger = imports(plan, ledger)
        files |= {f"{FEEDS}/{key or EVERY_YARD}-import.ics": content for key, content in calendars.items()}
    if "plan" in kinds:
        files[PLAN] = plan_json(plan).encode()
    if "csv" in kinds:
        tables = {f"{DATA}/tasks.csv": tasks_csv(plan, ledger), f"{DATA}/counts.csv": counts_csv(plan)}
        files |= {name: table.encode("utf-8", "replace") for name, table in tables.items()}
    return files, ledger


def _paper(plan: Plan, ledger: Ledger, order: PrintOrder, before: tuple[Path, PdfDigests]) -> tuple[_Paper, Ledger]:
    """The pages, and the ledger that knows their codes.

    Every visit has its code, which calendars and lists name; a sheet is made of it where it is due soon, or where one
    stands that was made before: what stands is kept true.
    """
    out, printed = before
    pages: dict[str, str] = {}
    codes: dict[str, str] = {}
    sheets: list[str] = []
    screens: dict[str, str] = {}
    later, forms = 0, dict[str, str]()
    if {"sheet", "fillable"} & set(order.kinds):
        soon = {visit.id for visit in due_visits(plan, order.ahead)}
        for visit in plan.visits:
            codes[visit.id], ledger = assign_code(ledger, visit.yard, visit.id, visit.day, sheet_lines(plan, visit))
            place = sheet_place(visit.yard, visit.day, codes[visit.id])
            if visit.id in soon or (out / f"{place}.html").exists():
                pages[place] = sheet_html(plan, visit, codes[visit.id])
                form = fillable_place(place)
                if "fillable" in order.kinds or (out / f"{form}.pdf").exists():
                    forms[form] = sheet_html(plan, visit, codes[visit.id], fillable=True)
            sheets += [place] if visit.id in soon else []
        later = len(plan.visits) - len(pages)
        to_answer = {name: code for name, code in codes.items() if name in soon}
        screens = {answers_place(view.key): answering_html(plan, view.key, to_answer) for view in plan.yards}
        pages[DATES] = dates_html(plan, codes, order.ahead)
    if "season" in order.kinds:
        for view in _with_work(plan):
            pages[season_place(view.key, view.season)] = season_html(plan, view.key, view.season, codes)
    for view in _looked_back(plan, order.kinds):
        pages[review_place(view.key, view.season)] = review_html(plan, view.key, view.season)
    if "handout" in order.kinds:
        for view in _with_work(plan):
            place = handout_place(view.key, view.season)
            pages[place] = handout_html(plan, view.key, view.season, order.teaching)
    if "forms" in order.kinds:
        pages |= {forms_place(key): forms_html(plan, key) for key in dict.fromkeys(view.key for view in plan.yards)}
    stale = dict(_stale(ledger, plan)) if codes else {}
    return _Paper({**pages, **forms}, screens, job_of(pages, sheets, printed), stale, later, frozenset(forms)), ledger


def _with_work(plan: Plan) -> list[YardView]:
    """The seasons of yards that have a page: not one in which nothing was or is to be done, where there is a later."""
    asked = (t for t in plan.tasks if t.status is not Status.UNKNOWN or t.colony is not None)  # there were no hives yet
    worked = {(task.yard, task.season) for task in asked}
    last = {view.key: view.season for view in plan.yards}
    return [v for v in plan.yards if (v.key, v.season) in worked or v.season == last[v.key]]


def _looked_back(plan: Plan, kinds: Sequence[str]) -> Iterator[YardView]:
    """The seasons to look back on: those that are over, and of which anything is written; where it is asked for and
    none of a yard is over, those that have begun."""
    known = {(one.yard, one.season): one for one in plan.reviews}
    over = {view.key for view in plan.yards if view.ends < plan.as_of}
    for view in plan.yards:
        one, is_over = known.get((view.key, view.season)), view.ends < plan.as_of
        asked = "review" in kinds and (is_over or (view.key not in over and view.begins <= plan.as_of))
        if one is not None and (asked or ("season" in kinds and is_over and one.tells)):
            yield view


def _stale(after: Ledger, plan: Plan) -> Iterator[tuple[str, str]]:
    """The places, and codes, of sheets of days to come that are no longer true: another took their place, or nothing
    is left to do.

    They follow from what is planned now: a run that was killed before it took them away leaves that to the next.
    """
    visits = {(visit.yard, visit.day) for visit in plan.visits}
    spans: dict[str, list[int]] = {}
    for view in plan.yards:
        days = (visit.day for visit in plan.visits if visit.yard == view.key)
        spans.setdefault(view.key, []).extend((view.begins, view.ends, *days))
    for sheet in after.sheets:
        first, last = min(spans.get(sheet.yard, [0])), max(spans.get(sheet.yard, [-1]))
        emptied = first <= sheet.day <= last and (sheet.yard, sheet.day) not in visits
        if sheet.day >= plan.as_of and (sheet.superseded_by or emptied):
            yield sheet_place(sheet.yard, sheet.day, sheet.code), sheet.code


def _pdf_names(paper: _Paper) -> Iterator[str]:
    yield from (f"{place}.pdf" for place in paper.pages)
    if paper.job.places:
        yield PRINT_JOB


def _pdfs(plan: Plan, paper: _Paper, before: tuple[Path, PdfDigests], tell: Callable[[int], None]) -> dict[str, bytes]:
    """The PDFs that have to be made: those whose page changed, or that don't stand as they were made."""
    out, made = before
    due = [place for place, html in paper.pages.items() if not stands(out, f"{place}.pdf", html.encode(), made)]
    joined = [paper.pages[place] for place in paper.job.places]
    renew = joined and not stands(out, PRINT_JOB, "".join(joined).encode(), made)
    tell(len(due) + bool(renew))
    pdfs, whole = render_job([paper.pages[place] for place in due], joined if renew else (), cover_html(plan))
    files = {f"{place}.pdf": pdf for place, pdf in zip(due, pdfs, strict=True)}
    return files | ({PRINT_JOB: whole} if renew else {})


def _known(made: PdfDigests, paper: _Paper, pdfs: Mapping[str, bytes]) -> PdfDigests:
    """What there is to know of the folder's PDFs once these are written."""
    gone = {f"{at}.pdf" for place in paper.stale for at in (place, fillable_place(place))}
    gone |= {PRINT_JOB} if paper.pages and not paper.job.places else set()
    left = {name: told for name, told in made.items() if name not in gone and ("/" in name or name in AT_TOP)}
    pages = {f"{place}.pdf": html for place, html in paper.pages.items()}
    pages[PRINT_JOB] = "".join(paper.pages[place] for place in paper.job.places)
    new = {name: (digest(pages[name].encode()), digest(pdf), essence(pages[name])) for name, pdf in pdfs.items()}
    return left | new


def _take_away(out: Path, paper: _Paper, no_pdf: bool) -> frozenset[str]:
    """Takes away what is no longer true, and gives the codes of the sheets among it."""
    taken = {code for place, code in paper.stale.items() if (out / f"{place}.html").exists()}
    gone = [f"{place}{ending}" for place in paper.stale for ending in (".html", ".pdf")]
    gone += [f"{fillable_place(place)}.pdf" for place in paper.stale]
    if paper.pages and (no_pdf or not paper.job.places):
        gone.append(PRINT_JOB)
    if no_pdf:  # an old PDF beside a new page would be believed
        gone += [f"{place}.pdf" for place in paper.pages]
    for name in gone:
        (out / name).unlink(missing_ok=True)
    return frozenset(taken)
