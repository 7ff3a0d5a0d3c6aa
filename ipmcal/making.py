"""What ``ipmcal plan`` does: plans outfits and makes their documents, alone with their ledgers from first to last.

In: outfits as loaded, what to make. Out: files, and what was made of each outfit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ipmcal.loading import Progress, check_seasons, plans_of, remembering
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import counted
from ipmcal.publishing.disk.lock import alone
from ipmcal.publishing.job import SHEETS_AHEAD
from ipmcal.publishing.memory.documents import owner
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
    ``PrintOrder``.
    """

    day: int
    season: int | None
    out: Path
    kinds: Sequence[str]
    patience: float = RUN_PATIENCE
    mark: str = ""
    ahead: int | None = SHEETS_AHEAD
    changed: bool = False


@dataclass(frozen=True)
class OutfitMade:
    """What was made of an outfit: its plan, lines to print, and why there is no PDF ("" where there is)."""

    plan: Plan
    lines: tuple[str, ...]
    no_pdf: str


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
        known = [remembering(one, ledger, order.day) for one, ledger in zip(loaded, ledgers, strict=True)]
        plans = plans_of(known, order.day, order.season, progress)
        for plan, ledger in zip(plans, ledgers, strict=True):
            _refuse_another(order.out / plan.outfit, remember(ledger, plan).born)
        for one, plan, ledger in zip(known, plans, ledgers, strict=True):
            folder = order.out / one.outfit.id
            with progress(f"printing {one.outfit.name}") as tell:
                drawn = with_mites(one, plan, order.kinds)
                printed = PrintOrder(order.kinds, order.ahead, order.changed, teaching_of(one.book))
                done = publish(drawn, ledger, one.ledger, folder, printed, tell)
            told = (*change_lines(ledger, plan, done.changes), *superseded_lines(ledger, done.ledger, plan, done.taken))
            head = f"{plan.outfit_name}: {size_words(plan)}. {len(done.documents)} documents in {folder}."
            lines = (head, *_job_lines(done), *finding_lines(plan), *(f"  changed: {line}" for line in told))
            yield OutfitMade(plan, lines, done.no_pdf)


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
