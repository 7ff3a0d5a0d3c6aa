"""Publish: a plan becomes files. Everything is made in memory first; then it is written, all of it or nothing.

In: a plan, the ledger, what to print. Out: files below a folder, and the ledger. The only room that knows file names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.days import day
from ipmcal.publishing.atomic import write_all
from ipmcal.publishing.feed import feeds
from ipmcal.publishing.memory.changes import Change, changes, emptied
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.ledger import Ledger, digest, is_known, ledger_text, note_documents, remember
from ipmcal.publishing.page import season_html, sheet_html, sheet_lines
from ipmcal.publishing.pdf import engine, render_many
from ipmcal.publishing.plan_json import plan_json

KINDS = ("sheet", "season", "feed", "plan")


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
    kinds: Sequence[str] = KINDS,
    tell: Callable[[int], None] = lambda pages: None,
) -> Published:
    """Write the documents of a plan below ``out``, and the ledger. Raises OSError, with nothing half-written.

    ``tell`` is called with the number of PDFs to make. A PDF that was made from the same page before is not made again.
    """
    before, changed = ledger, changes(ledger, plan)
    ledger = remember(ledger, plan)
    files: dict[str, bytes] = {}
    if "feed" in kinds:
        calendars, ledger = feeds(plan, ledger)
        files |= {f"{key or 'all-yards'}.ics": content for key, content in calendars.items()}
    if "plan" in kinds:
        files["plan.json"] = plan_json(plan).encode()
    pages: dict[str, str] = {}
    stale: list[str] = []
    if "sheet" in kinds:
        sheets, ledger = _sheets(plan, ledger)
        pages |= sheets
        old = [s for s in ledger.sheets if s.superseded_by and s.day >= plan.as_of]
        stale = [_sheet_name(s.yard, s.day, s.code) for s in (*old, *emptied(before, ledger, plan))]
    if "season" in kinds:
        pages |= {f"{view.key}-season-{view.season}": season_html(plan, view.key) for view in plan.yards}
    files |= {f"{name}.html": html.encode() for name, html in pages.items()}
    no_pdf = engine() if pages else None
    digests = {f"{name}.pdf": digest([html.encode()]) for name, html in pages.items()}
    if not no_pdf:
        files |= _pdfs(pages, digests, ledger, out, tell)
        ledger = note_documents(ledger, digests)
    batch = {ledger_path: ledger_text(ledger).encode()} | {out / name: content for name, content in files.items()}
    written = write_all(batch)
    for name in stale:
        for ending in (".html", ".pdf"):
            (out / f"{name}{ending}").unlink(missing_ok=True)
    return Published(written, tuple(sorted({*files, *(() if no_pdf else digests)})), changed, no_pdf or "", ledger)


def _sheets(plan: Plan, ledger: Ledger) -> tuple[dict[str, str], Ledger]:
    pages: dict[str, str] = {}
    for visit in plan.visits:
        code, ledger = assign_code(ledger, visit.yard, visit.id, visit.day, sheet_lines(plan, visit))
        pages[_sheet_name(visit.yard, visit.day, code)] = sheet_html(plan, visit, code)
    return pages, ledger


def _sheet_name(yard: str, ordinal: int, code: str) -> str:
    return f"{yard}-{day(ordinal).isoformat()}-{code}"


def _pdfs(
    pages: Mapping[str, str], digests: Mapping[str, str], ledger: Ledger, out: Path, tell: Callable[[int], None]
) -> dict[str, bytes]:
    """The PDFs that have to be made: those whose page changed, or whose file is gone."""
    due = [n for n in pages if not (is_known(ledger, f"{n}.pdf", digests[f"{n}.pdf"]) and (out / f"{n}.pdf").exists())]
    tell(len(due))
    return {f"{name}.pdf": pdf for name, pdf in zip(due, render_many([pages[n] for n in due]), strict=True)}
