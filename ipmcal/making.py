"""What ``ipmcal plan`` does: plans outfits and makes their documents, alone with their ledgers from first to last.

In: outfits as loaded, what to make. Out: files, and what was made of each outfit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ipmcal.data import program_digest
from ipmcal.loading import Progress, check_seasons, plans_of, remembering
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import counted
from ipmcal.publishing.disk.kept import KeptRun, digest_of, documents_digest, keep, read_kept
from ipmcal.publishing.disk.lock import alone
from ipmcal.publishing.job import SHEETS_AHEAD
from ipmcal.publishing.memory.documents import digest, owner
from ipmcal.publishing.memory.ledger import Ledger, LedgerError, read_ledger, remember
from ipmcal.publishing.paper.handout import teaching_of
from ipmcal.publishing.places import DATA, FEEDS, INDEX, PRINT_JOB
from ipmcal.publishing.publish import PrintOrder, Published, publish
from ipmcal.reading.yards.yards import Loaded
from ipmcal.saying.changed import change_lines, superseded_lines
from ipmcal.saying.telling import finding_lines, size_words

RUN_PATIENCE = 60.0
"""Seconds to wait for another run: long enough for the documents of an outfit of a few yards."""


@dataclass(frozen=True)
class MakingOrder:
    """What to make: as on the morning of ``day``, below ``out``. ``patience``: seconds to wait for another run.

    ``mark`` is what the sheet codes begin with from now on; "" leaves them as they are. ``ahead`` and ``changed`` as in
    ``PrintOrder``. ``anew``: plan though nothing has changed, and keep nothing.
    """

    day: int
    season: int | None
    out: Path
    kinds: Sequence[str]
    patience: float = RUN_PATIENCE
    mark: str = ""
    ahead: int | None = SHEETS_AHEAD
    changed: bool = False
    anew: bool = False


@dataclass(frozen=True)
class OutfitMade:
    """What was made of an outfit: whether its plan has conflicts, lines to print, and why there is no PDF ("" where
    there is). ``plan`` None: nothing has changed, and nothing was planned."""

    conflicts: bool
    lines: tuple[str, ...]
    no_pdf: str
    plan: Plan | None = None


def make(loaded: Sequence[Loaded], order: MakingOrder, progress: Progress) -> Iterator[OutfitMade]:
    """Plans all, then publishes one by one. Raises BadInput, LedgerError and OSError (LockedError among them).

    What is printed follows from the ledger, and is remembered in it: were two runs to plan from the same ledger, both
    would give out the same sheet codes and sequence numbers. So nobody else reads it to plan before this run is done.
    """
    check_seasons(loaded, order.day, order.season)
    for one in loaded:
        read_ledger(one.ledger, one.outfit.id)  # a damaged one is said before anything is written, locks too
    with alone((one.ledger for one in loaded), order.patience):
        ledgers = [_marked(read_ledger(one.ledger, one.outfit.id), order.mark) for one in loaded]
        known = [None if order.anew else read_kept(order.out / one.outfit.id, _stamp(one, order)) for one in loaded]
        rows = [row for row in zip(loaded, ledgers, known, strict=True) if row[2] is None]
        plans = plans_of([remembering(one, had, order.day) for one, had, _ in rows], order.day, order.season, progress)
        for plan, (_, had, _) in zip(plans, rows, strict=True):
            _refuse_another(order.out / plan.outfit, remember(had, plan).born)
        planned = {one.outfit.id: plan for plan, (one, _, _) in zip(plans, rows, strict=True)}
        for one, ledger, kept in zip(loaded, ledgers, known, strict=True):
            if kept is not None:
                yield OutfitMade(kept.conflicts, kept.lines, "")
            else:
                yield _made(one, ledger, planned[one.outfit.id], order, progress)


def _made(one: Loaded, ledger: Ledger, plan: Plan, order: MakingOrder, progress: Progress) -> OutfitMade:
    """The documents of one outfit. What the same run would say again is kept."""
    folder = order.out / one.outfit.id
    with progress(f"printing {one.outfit.name}") as tell:
        printed = PrintOrder(order.kinds, order.ahead, order.changed, teaching_of(one.book))
        drawn = with_mites(remembering(one, ledger, order.day), plan, order.kinds)
        done = publish(drawn, ledger, one.ledger, folder, printed, tell)
    told = (*change_lines(ledger, plan, done.changes), *superseded_lines(ledger, done.ledger, plan, done.taken))
    head = f"{plan.outfit_name}: {size_words(plan)}. {len(done.documents)} documents in {folder}."
    found = tuple(finding_lines(plan))
    conflicts = bool(plan.conflicts)
    if not (done.no_pdf or order.changed or order.anew):  # with --changed the next run asks another question
        again = (head, *_job_lines(replace(done, tidied=0)), *found)
        keep(folder, KeptRun(_stamp(one, order), documents_digest(folder), again, conflicts))
    return OutfitMade(
        conflicts, (head, *_job_lines(done), *found, *(f"  changed: {line}" for line in told)), done.no_pdf, plan
    )


def _stamp(one: Loaded, order: MakingOrder) -> str:
    """All that a run of one outfit rests on: the program, what was read, the ledger as it stands, the order."""
    try:
        ledger = digest(one.ledger.read_bytes())
    except OSError:
        ledger = ""
    said = (order.day, order.season, order.out, list(order.kinds), order.mark, order.ahead, order.changed)
    return digest_of([program_digest(), *(text for file in one.read for text in file), ledger, *map(str, said)])


def with_mites(one: Loaded, plan: Plan, kinds: Sequence[str]) -> Plan:
    """The plan with its mites drawn and its seasons looked back on, where something is made that shows them."""
    if not {"season", "plan", "review"} & set(kinds):
        return plan
    from ipmcal.planning.ahead.review import looked_back  # numbers that no other command needs

    return looked_back(one.outfit, one.book, plan)


def _job_lines(done: Published) -> Iterator[str]:
    """What there is to print, and what older programs left."""
    if PRINT_JOB in done.documents:
        yield f"  to print: {PRINT_JOB}: {done.job.words}"
    elif INDEX in done.documents and not done.no_pdf:
        yield "  to print: nothing that changed"
    if done.tidied:
        gone = f"{counted(done.tidied, 'file')} of the old layout taken away"
        yield f"  moved: calendars stand in {FEEDS}/ now, plan.json in {DATA}/; {gone}"


def _marked(ledger: Ledger, mark: str) -> Ledger:
    return replace(ledger, mark=mark) if mark else ledger


def _refuse_another(folder: Path, born: str) -> None:
    """Another outfit of the same name has its documents there. Raises LedgerError."""
    if born and owner(folder) not in ("", born):
        raise LedgerError(
            f"{folder.name}: another outfit of this name has its documents in that folder; rename one of the two, or "
            "choose another folder with --out"
        )
