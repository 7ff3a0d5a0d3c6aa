"""Publish: a plan becomes files. Everything is made in memory first; then it is written, all of it or nothing.

In: a plan, the ledger, what to print. Out: files below a folder, and the ledger. The only room that knows file names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ipmcal.model.outfit.outfit import EVERY_YARD
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.days import day
from ipmcal.publishing.calendar.feed import feeds, imports
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.lists.spreadsheets import counts_csv, tasks_csv
from ipmcal.publishing.memory.changes import Change, changes
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.documents import NAME, PdfDigests, digest, made_text, read_made, stands
from ipmcal.publishing.memory.ledger import Ledger, ledger_text, remember
from ipmcal.publishing.paper.page import season_html, sheet_html, sheet_lines
from ipmcal.publishing.paper.pdf import engine, render_many
from ipmcal.publishing.plan_json import plan_json

DOCUMENTS = ("sheet", "season", "feed", "plan")
ON_REQUEST = ("csv", "import")
"""What is made only where it is asked for."""


@dataclass(frozen=True)
class Published:
    """What was written: the paths, what changed since the last plan, and why there is no PDF ("" where there is).

    ``ledger`` remembers what is out now.
    """

    written: tuple[Path, ...]
    documents: tuple[str, ...]
    changes: tuple[Change, ...]
    no_pdf: str
    ledger: Ledger


def publish(
    plan: Plan,
    ledger: Ledger,
    ledger_path: Path,
    out: Path,
    kinds: Sequence[str] = DOCUMENTS,
    tell: Callable[[int], None] = lambda pages: None,
) -> Published:
    """Write the documents of a plan below ``out``, and the ledger. Raises OSError, with nothing half-written.

    ``tell`` is called with the number of PDFs to make. A PDF that was made from the same page before is not made again.
    """
    changed = changes(ledger, plan)
    ledger = replace(remember(ledger, plan), documents=())
    files: dict[str, bytes] = {}
    pages, ledger, stale = _pages(plan, ledger, kinds)
    if "feed" in kinds:  # behind the sheets, whose codes stand in its titles
        calendars, ledger = feeds(plan, ledger)
        files |= {f"{key or EVERY_YARD}.ics": content for key, content in calendars.items()}
    if "import" in kinds:
        calendars, ledger = imports(plan, ledger)
        files |= {f"{key or EVERY_YARD}-import.ics": content for key, content in calendars.items()}
    if "plan" in kinds:
        files["plan.json"] = plan_json(plan).encode()
    if "csv" in kinds:
        tables = {"tasks.csv": tasks_csv(plan, ledger), "counts.csv": counts_csv(plan)}
        files |= {name: table.encode("utf-8", "replace") for name, table in tables.items()}
    files |= {f"{name}.html": html.encode() for name, html in pages.items()}
    no_pdf, made = engine() if pages else None, read_made(out)
    due = [name for name, html in pages.items() if not stands(out, f"{name}.pdf", html.encode(), made)]
    pdfs = {} if no_pdf else _pdfs(pages, due, tell)
    files |= pdfs
    batch = {ledger_path: ledger_text(ledger).encode()} | {out / name: content for name, content in files.items()}
    batch[out / NAME] = made_text(_known(made, pages, pdfs, stale), ledger.born).encode()  # last: it tells what stands
    written = write_all(batch)
    gone = [f"{name}{ending}" for name in stale for ending in (".html", ".pdf")]
    for name in (*gone, *(f"{name}.pdf" for name in due if no_pdf)):  # an old PDF beside a new page would be believed
        (out / name).unlink(missing_ok=True)
    documents = tuple(sorted({*files, *(() if no_pdf else (f"{name}.pdf" for name in pages))}))
    return Published(written, documents, changed, no_pdf or "", ledger)


def _pages(plan: Plan, ledger: Ledger, kinds: Sequence[str]) -> tuple[dict[str, str], Ledger, list[str]]:
    """The pages by name, the ledger that knows their codes, and the names of those that are no longer true."""
    pages: dict[str, str] = {}
    stale: list[str] = []
    if "sheet" in kinds:
        pages, ledger = _sheets(plan, ledger)
        stale = list(_stale(ledger, plan))
    if "season" in kinds:
        pages |= {f"{view.key}-season-{view.season}": season_html(plan, view.key, view.season) for view in plan.yards}
    return pages, ledger, stale


def _stale(after: Ledger, plan: Plan) -> Iterator[str]:
    """The names of sheets of days to come that are no longer true: another took their place, or nothing is left to do.

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
            yield _sheet_name(sheet.yard, sheet.day, sheet.code)


def _sheets(plan: Plan, ledger: Ledger) -> tuple[dict[str, str], Ledger]:
    pages: dict[str, str] = {}
    for visit in plan.visits:
        code, ledger = assign_code(ledger, visit.yard, visit.id, visit.day, sheet_lines(plan, visit))
        pages[_sheet_name(visit.yard, visit.day, code)] = sheet_html(plan, visit, code)
    return pages, ledger


def _sheet_name(yard: str, ordinal: int, code: str) -> str:
    return f"{yard}-{day(ordinal).isoformat()}-{code}"


def _pdfs(pages: Mapping[str, str], due: Sequence[str], tell: Callable[[int], None]) -> dict[str, bytes]:
    """The PDFs that have to be made: those whose page changed, or that don't stand as they were made."""
    tell(len(due))
    return {f"{name}.pdf": pdf for name, pdf in zip(due, render_many([pages[n] for n in due]), strict=True)}


def _known(made: PdfDigests, pages: Mapping[str, str], pdfs: Mapping[str, bytes], stale: Sequence[str]) -> PdfDigests:
    """What there is to know of the folder's PDFs once these are written."""
    gone = {f"{name}.pdf" for name in stale}
    left = {name: told for name, told in made.items() if name not in gone}
    return left | {
        f"{n}.pdf": (digest(pages[n].encode()), digest(pdfs[f"{n}.pdf"])) for n in pages if f"{n}.pdf" in pdfs
    }
