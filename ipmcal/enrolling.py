"""What ``ipmcal roster`` does: a list of keepers becomes a folder a keeper, with yard file, sheets and calendar.

In: the list, a folder. Out: files, and a few lines a keeper. Each keeper is made alone, in one of a few processes, and
wholly or not at all; what each folder looked like when it was done is remembered in it, so that a later run, or one
that goes on where another was stopped, only makes what is not done.
"""

from __future__ import annotations

import hashlib
import json
import os
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import nullcontext
from dataclasses import asdict, dataclass, replace
from fnmatch import fnmatchcase
from functools import lru_cache
from multiprocessing import get_context, parent_process
from pathlib import Path
from typing import Any

from ipmcal.data import files_below, program_digest
from ipmcal.data import folder as data_folder
from ipmcal.loading import Progress, shipped_rules
from ipmcal.making import MakingOrder, OutfitMade, make
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.text import one_line
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.disk.lock import alone
from ipmcal.publishing.lists.mentor import MentorRow, mentor_csv, mentor_html, mentor_text
from ipmcal.publishing.memory.changes import changes
from ipmcal.publishing.memory.codes import free_mark
from ipmcal.publishing.memory.ledger import Ledger, LedgerError, parse_ledger, read_ledger
from ipmcal.publishing.paper.pdf import engine, render_many
from ipmcal.reading.club.clubfile import CLUB, ClubKeeper, club_text, read_club
from ipmcal.reading.club.keepers import ClubList, ListedKeeper, outfit_text, read_keepers, read_towns
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.files import exists, read_text
from ipmcal.reading.source.yaml_source import parse_yaml
from ipmcal.reading.yards.yards import Loaded, load
from ipmcal.saying.changed import change_lines
from ipmcal.saying.club import mentor_row

STAMP, BEFORE, TOWNS = ".roster.json", ".before.json", "towns.csv"
MAX_LIST = 20_000_000
AHEAD = 2
"""Keepers a process that wait for it: enough that none stands idle, and no more in memory."""


@dataclass(frozen=True)
class ClubOrder:
    """What to make of which list: ``part`` (k, n) is the k-th of n equal shares; ``jobs`` how many processes."""

    source: Path
    out: Path
    day: int
    kinds: Sequence[str]
    jobs: int
    part: tuple[int, int] = (1, 1)


@dataclass(frozen=True)
class _Job:
    """One keeper, for any process."""

    keeper: ListedKeeper
    mark: str
    order: ClubOrder
    program: str


@dataclass(frozen=True)
class KeeperMade:
    """What was made of a keeper; ``head`` is "" where all stood as it was left. ``complaints``: nothing was made."""

    folder: str
    head: str
    lines: tuple[str, ...] = ()
    complaints: tuple[str, ...] = ()
    no_pdf: str = ""


def club_list(order: ClubOrder) -> ClubList:
    """The list and the towns beside it. Raises BadInput where it can't be read at all."""
    text, towns = read_text(order.source, order.source.name, MAX_LIST), order.source.with_name(TOWNS)
    known = read_towns(read_text(towns, TOWNS), TOWNS) if exists(towns, TOWNS) else {}
    return read_keepers(text, order.source.name, known, _book())


def enrol(club: ClubList, order: ClubOrder, progress: Progress) -> Iterator[KeeperMade]:
    """Makes what is not made yet, keeper by keeper in the order of the list. Raises BadInput and OSError."""
    marks = _marks(club.keepers, order)
    k, n = order.part
    program = program_digest()
    jobs = (_Job(one, marks[one.folder], order, program) for one in club.keepers[k - 1 :: n])
    with progress("making keepers") as tell:
        for number, made in enumerate(_all(jobs, order.jobs), 1):
            tell(number)
            yield made


def _all(jobs: Iterator[_Job], processes: int) -> Iterator[KeeperMade]:
    """All jobs in their order, at most a few at a time in memory. Processes begin when there is something to make."""
    waiting: deque[Future[KeeperMade] | KeeperMade] = deque()
    with nullcontext() if processes == 1 else ProcessPoolExecutor(processes, get_context("spawn"), _follow) as pool:
        for job in jobs:
            stands = _standing(job)
            if stands is not None:
                waiting.append(stands)
            else:
                waiting.append(_make_keeper(job) if pool is None else pool.submit(_make_keeper, job))
            if len(waiting) > AHEAD * processes:
                yield _result(waiting.popleft())
        while waiting:
            yield _result(waiting.popleft())


def _result(one: Future[KeeperMade] | KeeperMade) -> KeeperMade:
    return one if isinstance(one, KeeperMade) else one.result()


def _follow() -> None:
    """A process ends with the one that began it, also where that one is killed."""
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


# One keeper -----------------------------------------------------------------------------------------------------------


def _make_keeper(job: _Job) -> KeeperMade:
    """A keeper's folder, made whole; what is wrong with their own files is said, and stops nobody else."""
    keeper, order = job.keeper, job.order
    home = order.out / keeper.folder
    try:
        differences = _begin(home, keeper)
        loaded = load(home, data_folder("rules"), _book())
        before = _before(job, loaded)
        plan_order = MakingOrder(order.day, None, order.out, order.kinds, mark=job.mark, anew=True)
        made = next(iter(make([loaded], plan_order, lambda what: nullcontext(lambda number: None))))
    except BadInput as error:
        return KeeperMade(keeper.folder, "", complaints=tuple(str(one) for one in error.complaints))
    except (LedgerError, OSError) as error:
        what = error.strerror or "can't be written" if isinstance(error, OSError) else str(error)
        return KeeperMade(keeper.folder, "", complaints=(f"{keeper.folder}: {one_line(what, 200)}",))
    if not made.no_pdf:
        told = {"stamp": _stamp(job), "differences": differences, "row": asdict(_row(loaded, made, before))}
        text = json.dumps(told, ensure_ascii=False) + "\n"
        write_all({home / STAMP: text.encode("utf-8", "replace")})
    lines = (*differences, *(line.strip() for line in made.lines[1:] if "conflict" in line.partition(":")[0]))
    return KeeperMade(keeper.folder, made.lines[0], tuple(lines), (), made.no_pdf)


def _before(job: _Job, loaded: Loaded) -> Ledger:
    """The ledger before this run, or before the one that was stopped and made the same: what changed is told by it."""
    path, ledger = job.order.out / job.keeper.folder / BEFORE, loaded.ledger
    inputs = _stamp(job, ("*.yaml", "*.csv", "rules/*"))
    try:
        told = json.loads(path.read_bytes())
        if told["inputs"] == inputs:
            return (
                parse_ledger(told["ledger"], BEFORE, loaded.outfit.id) if told["ledger"] else Ledger(loaded.outfit.id)
            )
    except (OSError, ValueError, RecursionError, TypeError, LookupError):
        pass  # LedgerError is a ValueError
    text = read_text(ledger, ledger.name, MAX_LIST) if exists(ledger, ledger.name) else ""
    write_all({path: json.dumps({"inputs": inputs, "ledger": text}).encode()})
    return read_ledger(ledger, loaded.outfit.id)


def _row(loaded: Loaded, made: OutfitMade, before: Ledger) -> MentorRow:
    """What the mentor has to know of a keeper."""
    assert made.plan is not None  # it is made anew
    words = frozenset(word for word, rule in loaded.book.events.items() if rule.value == "count")
    heard = max((one.day for one in loaded.outfit.journal or () if one.day <= made.plan.as_of), default=0)
    changed = list(change_lines(before, made.plan, changes(before, made.plan)))
    return mentor_row(made.plan, words, heard, changed)


def mentor_pages(order: ClubOrder) -> tuple[int, str]:
    """Writes the mentor's page of all keepers that are made: how many, and why there is no PDF ("" where there is).

    Raises BadInput and OSError.
    """
    rows = []
    for folder, keeper in read_club(order.out / CLUB).items():
        try:
            told = json.loads((order.out / folder / STAMP).read_bytes())["row"]
            rows.append(replace(MentorRow(**told), phone=keeper.phone, mentor=keeper.mentor))
        except (OSError, ValueError, RecursionError, TypeError, LookupError):
            continue  # not made yet, or by a run that is under way
    html = mentor_html(rows)
    pages = {"mentor.html": html, "mentor.csv": mentor_csv(rows), "mentor.txt": mentor_text(rows)}
    files = {order.out / name: page.encode("utf-8", "replace") for name, page in pages.items()}
    page, pdf = order.out / "mentor.html", order.out / "mentor.pdf"
    stands = page.exists() and pdf.exists() and page.read_bytes() == files[page]
    no_pdf = "" if stands else engine() or ""
    if not stands and not no_pdf:
        files = {pdf: render_many([html])[0]} | files  # first: a page that stands means that its PDF does
    write_all(files)
    if no_pdf:
        pdf.unlink(missing_ok=True)  # an old PDF beside a new page would be believed
    return len(rows), no_pdf


def _begin(home: Path, keeper: ListedKeeper) -> list[str]:
    """Writes the yard file where there is none; else says where it differs from the list, and keeps it."""
    yard, outfit = home / f"{keeper.folder}.yaml", home / "outfit.yaml"
    shown = f"{keeper.folder}/{yard.name}"
    files = {
        path: text.encode() for path, text in ((outfit, outfit_text(keeper.folder, keeper.name)), (yard, keeper.yard))
    }
    write_all({path: content for path, content in files.items() if not exists(path, shown)})
    theirs, listed = parse_yaml(read_text(yard, shown), shown).data, parse_yaml(keeper.yard, shown).data
    return [f"{shown} says {what}; the file is kept" for what in _differences(theirs, listed, "")]


def _differences(theirs: Any, listed: Any, key: str) -> Iterator[str]:
    """What the list says otherwise than the file; what only the file says is the keeper's own."""
    if isinstance(listed, dict) and isinstance(theirs, dict):
        for name, value in listed.items():
            yield from _differences(theirs.get(name), value, f"{key}.{name}" if key else name)
    elif isinstance(listed, list) and isinstance(theirs, list) and any(isinstance(one, dict) for one in listed):
        if len(listed) != len(theirs):
            yield f"{len(theirs)} {key}, the list {len(listed)}"
        for mine, other in zip(theirs, listed, strict=False):
            yield from _differences(mine, other, key)
    elif theirs != listed:
        yield f"{key}: {_shown(theirs)}, the list {_shown(listed)}"


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_shown, value))}]"
    return "nothing" if value is None else one_line(str(value))


# What is done ---------------------------------------------------------------------------------------------------------


def _standing(job: _Job) -> KeeperMade | None:
    """A keeper whose folder is as it was left, and was made from the same; None where there is something to make."""
    home = job.order.out / job.keeper.folder
    try:
        told = json.loads((home / STAMP).read_bytes())
        if told["stamp"] == _stamp(job):
            return KeeperMade(job.keeper.folder, "", tuple(map(str, told["differences"])))
    except (OSError, ValueError, RecursionError, TypeError, LookupError):
        pass
    return None


def _stamp(job: _Job, patterns: Sequence[str] = ("*",)) -> str:
    """A digest of what a folder is made from, and of what stands in it but for hidden files."""
    digest = hashlib.sha256()
    keeper = job.keeper
    for text in (job.program, keeper.yard, keeper.name, job.mark, str(job.order.day), ",".join(job.order.kinds)):
        digest.update(f"{len(text)}:{text}".encode("utf-8", "replace"))
    for path, name in files_below(job.order.out / keeper.folder):
        if not any(fnmatchcase(name, pattern) for pattern in patterns):
            continue
        content = path.read_bytes()
        digest.update(f"{name}:{len(content)}:".encode("utf-8", "surrogateescape") + content)
    return digest.hexdigest()


@lru_cache(maxsize=1)
def _book() -> Rulebook:
    """The shipped rules, read once a process."""
    return shipped_rules()


def _marks(keepers: Sequence[ListedKeeper], order: ClubOrder) -> dict[str, str]:
    """What each keeper's sheet codes begin with, given out once and for all: ``club.json`` remembers, also who left.

    Every share of a list gives out the marks of the whole list, so that all come to the same.
    """
    path = order.out / CLUB
    order.out.mkdir(parents=True, exist_ok=True)
    with alone([path]):
        club = read_club(path)
        taken = {one.mark for one in club.values()}
        for one in keepers:
            mark = club[one.folder].mark if one.folder in club else free_mark(taken)
            taken.add(mark)
            club[one.folder] = ClubKeeper(one.name, one.mentor, one.phone, mark)
        write_all({path: club_text(club).encode("utf-8", "replace")})
    return {one.folder: club[one.folder].mark for one in keepers}


def share_of(text: str) -> tuple[int, int]:
    """``3/8`` as the third of eight shares. Raises BadInput."""
    k, slash, n = text.partition("/")
    if slash and k.isdigit() and n.isdigit() and 1 <= int(k) <= int(n):
        return int(k), int(n)
    raise BadInput(
        [Complaint("--part", 0, 0, f"'{one_line(text)}' is not a share; write '3/8' for the third of eight")]
    )


EXAMPLE_LIST = """keeper,town,latitude,longitude,elevation,start,kind,hives,days,program,mentor,phone
Ada Example,,43.02,-76.30,190 m,2027-05-01,package,2,sat,first_year,Mo Mentor,555 0101
Bo Example,,42.44,-76.50,620 ft,2026,overwintered,3,sat sun,few_drives,Mo Mentor,555 0102
"""
"""A list to begin with."""
