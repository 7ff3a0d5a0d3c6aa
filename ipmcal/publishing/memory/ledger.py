"""The ledger: what was last published, kept beside the outfit as ``ledger.json``.

In: the text of that file, and a Plan. Out: frozen values, changes as data, and the canonical text to write back.
One memory for three uses: calendar entries (``feed.py``), what changed, printed sheets.
Order of use: ``changes``, then ``remember``, then feeds and sheets. Write the ledger before the documents, so that no
sequence number and no sheet code can be given out twice. Days are ordinals; in the file they are ISO dates.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

from pydantic import BeforeValidator, ConfigDict, Field, PlainSerializer, TypeAdapter, ValidationError

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.model.values.forms import YEARS, iso_date

VERSION: Final = 4
"""3 knew of marks, 4 knows of what was taken out what it was. Older ones are read, and written as this one."""
BIRTH_SIGNS: Final = 12
KEEP_DAYS: Final = 731
"""How long the past is kept: two years, so that this season and the one before are always whole."""


class LedgerError(ValueError):
    """The ledger can't be used. The message names the file and says what to do."""


def stored_day(value: object) -> int:
    """A day of the file as an ordinal; raises ValueError for anything but YYYY-MM-DD."""
    if not isinstance(value, str):
        raise ValueError("should be a date, written YYYY-MM-DD")
    return iso_date(value).toordinal()


def day_text(value: int) -> str:
    """An ordinal as YYYY-MM-DD."""
    return date.fromordinal(value).isoformat()


StoredDay = Annotated[int, BeforeValidator(stored_day), PlainSerializer(day_text)]
Natural = Annotated[int, Field(ge=0)]
StoredSeason = Annotated[int, Field(ge=YEARS[0], le=YEARS[1])]
"""The year in which a season begins."""
_CLOSED = ConfigDict(extra="forbid", defer_build=True)


class EntryKind(StrEnum):
    """What a calendar entry is."""

    VISIT = "visit"
    """A day at a yard."""
    STOP = "stop"
    """The last good day of a task."""
    RANGE = "range"
    """The days within which a visit could be moved."""
    EMPTY = "empty"
    """Nothing is planned; said, since a calendar has at least one component (RFC 5545 3.6)."""


@dataclass(frozen=True, slots=True)
class FeedEntry:
    """A calendar entry as last published, with all that is needed to write it again. ``first..last`` is inclusive.

    ``season`` is that of the plan which published it. ``tasks`` are the ids that it is about; a visit is known by them.
    ``stamp`` is the instant (UTC) at which anything in it last changed.
    """

    __pydantic_config__ = _CLOSED

    uid: str
    kind: EntryKind
    yard: str
    season: StoredSeason
    first: StoredDay
    last: StoredDay
    summary: str
    description: str
    location: str
    tasks: tuple[str, ...]
    sequence: Natural
    stamp: datetime

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"entry {self.uid} ends before it begins")
        if self.stamp.utcoffset() != timedelta(0):
            raise ValueError(f"entry {self.uid} has a stamp that is not in UTC")


@dataclass(frozen=True, slots=True)
class Gone:
    """A calendar entry that was taken out; should it come back, its sequence and stamp go on from here.

    ``stamp`` is the instant at which it was taken out. A ledger before version 4 does not know what it was: then
    ``summary`` is "".
    """

    __pydantic_config__ = _CLOSED

    uid: str
    last: StoredDay
    sequence: Natural
    stamp: datetime
    yard: str = ""
    first: StoredDay | None = None
    summary: str = ""


@dataclass(frozen=True, slots=True)
class KnownTask:
    """A task as last planned. ``word`` and ``value`` are what a line of the journal would say, were it done as printed;
    ``done`` is the day that it is taken to have been done on, where nothing was heard of it; ``look``: what is found
    decides, so that a tick says nothing of what was done.
    """

    __pydantic_config__ = _CLOSED

    id: str
    yard: str
    season: StoredSeason
    status: Status
    planned: StoredDay | None
    opens: StoredDay | None = None
    closes: StoredDay | None = None
    word: str = ""
    value: str = ""
    done: StoredDay | None = None
    look: bool = False


@dataclass(frozen=True, slots=True)
class LedgerSheet:
    """A printed sheet: ``lines[i]`` is the task of printed line i + 1.

    ``serial`` counts the sheets of an outfit from 1. ``superseded_by`` is the serial of the sheet that took its place,
    0 where it is current. ``formerly`` says what the code stood for where it had to be used again.
    """

    __pydantic_config__ = _CLOSED

    code: str
    serial: Annotated[int, Field(ge=1)]
    yard: str
    visit: str
    day: StoredDay
    lines: tuple[str, ...]
    superseded_by: Natural = 0
    formerly: str = ""


@dataclass(frozen=True, slots=True)
class Document:
    """A published document as ledgers kept it before ``documents.py``: read, so that an old ledger stays good."""

    __pydantic_config__ = _CLOSED

    name: str
    digest: str


@dataclass(frozen=True, slots=True)
class Ledger:
    """All that is remembered for an outfit. ``as_of`` is that of the last plan, ``since`` that of the first one (None:
    there was none). ``born`` tells it from others of the same name: of which yards its first plan was ("": not known).
    ``mark`` is what all its sheet codes begin with, so that they are unique in a club ("" outside of one).
    """

    __pydantic_config__ = _CLOSED

    outfit: str
    as_of: StoredDay | None = None
    entries: tuple[FeedEntry, ...] = ()
    gone: tuple[Gone, ...] = ()
    tasks: tuple[KnownTask, ...] = ()
    sheets: tuple[LedgerSheet, ...] = ()
    printed: Natural = 0
    documents: tuple[Document, ...] = ()
    since: StoredDay | None = None
    born: str = ""
    mark: str = ""
    version: int = VERSION


_ADAPTER: Final = TypeAdapter(Ledger)


def read_ledger(path: Path, outfit: str) -> Ledger:
    """The ledger in this file, or an empty one where there is no file yet. Raises LedgerError, and OSError."""
    try:
        text = path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return Ledger(outfit)
    except UnicodeDecodeError as error:
        raise _damaged(path.name, f"byte {error.start + 1} is not UTF-8") from None
    return parse_ledger(text, path.name, outfit)


def parse_ledger(text: str, name: str, outfit: str) -> Ledger:
    """The ledger in this text; ``name`` is the file for the complaint. Raises LedgerError."""
    try:
        loose = json.loads(text)
    except ValueError as error:
        raise _damaged(name, str(error)) from None
    except RecursionError:
        raise _damaged(name, "nested too deep") from None
    version = loose.get("version") if isinstance(loose, dict) else None
    if isinstance(version, int) and version > VERSION:
        raise LedgerError(
            f"{name}: written by a newer ipmcal (version {version}; this one reads {VERSION}). Update ipmcal."
        )
    try:
        ledger = _ADAPTER.validate_json(text, strict=True)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"])) or "the whole"
        raise _damaged(name, f"{where}: {first['msg']}") from None
    _check(ledger, name, outfit)
    return ledger


def _check(ledger: Ledger, name: str, outfit: str) -> None:
    """What the form alone can't say: version, outfit, no name twice. Raises LedgerError."""
    if not 1 <= ledger.version <= VERSION:
        raise _damaged(name, f"version {ledger.version} was never written")
    if ledger.outfit != outfit:
        raise LedgerError(
            f"{name}: belongs to the outfit '{ledger.outfit}', not to '{outfit}'. "
            "Put each outfit's ledger into its own folder; if the outfit was renamed, give it its old id again."
        )
    for what, names in (
        ("entry", [entry.uid for entry in ledger.entries]),
        ("sheet code", [sheet.code for sheet in ledger.sheets]),
        ("task", [task.id for task in ledger.tasks]),
        ("document", [document.name for document in ledger.documents]),
    ):
        if len(set(names)) != len(names):
            twice = next(n for n in names if names.count(n) > 1)
            raise _damaged(name, f"the {what} {twice} stands in it twice")


def _damaged(name: str, what: str) -> LedgerError:
    return LedgerError(
        f"{name}: damaged: {what}. Put back the last good copy. If there is none, delete the file: printed sheet codes "
        "can then no longer be read back, and subscribed calendars may be slow to take up moved days."
    )


def ledger_text(ledger: Ledger) -> str:
    """The ledger as canonical JSON: keys sorted, lists in a fixed order, a newline at the end."""
    ordered = replace(
        ledger,
        version=VERSION,
        entries=tuple(sorted(ledger.entries, key=lambda e: (e.first, e.kind, e.uid))),
        gone=tuple(sorted(ledger.gone, key=lambda g: (g.last, g.uid))),
        tasks=tuple(sorted(ledger.tasks, key=lambda t: t.id)),
        sheets=tuple(sorted(ledger.sheets, key=lambda s: s.serial)),
        documents=tuple(sorted(ledger.documents, key=lambda d: d.name)),
    )
    text = json.dumps(_ADAPTER.dump_python(ordered, mode="json"), sort_keys=True, ensure_ascii=False, indent=1) + "\n"
    return text.encode("utf-8", "replace").decode("utf-8")


# --- what changed ---


def birth(plan: Plan) -> str:
    """What tells an outfit from another of its name: twelve signs that follow from its yards and hives."""
    yards = [(y.key, y.name, y.latitude, y.longitude, [hive.key for hive in y.colonies]) for y in plan.yards]
    return hashlib.sha256(json.dumps(yards).encode()).hexdigest()[:BIRTH_SIGNS]


def remember(ledger: Ledger, plan: Plan) -> Ledger:
    """The ledger with this plan's tasks and ``as_of``; what is older than two years is forgotten."""
    tasks = {
        task.id: KnownTask(
            task.id,
            task.yard,
            task.season,
            task.status,
            task.planned,
            task.window.opens,
            task.window.closes,
            task.logs,
            task.value,
            task.done if task.status is Status.ASSUMED else None,
            task.look and task.trap is not None,
        )
        for task in plan.tasks
    }
    oldest = plan.as_of - KEEP_DAYS
    for task in ledger.tasks:
        recent = date(task.season + 1, 12, 31).toordinal() >= oldest
        if task.id in tasks or not recent:
            continue
        if not speaks_for(plan, task.yard, task.season):
            tasks[task.id] = task
        elif task.done is not None or (task.planned is not None and task.planned < plan.as_of):
            done = task.planned if task.done is None else task.done  # printed, and still not heard of
            tasks[task.id] = replace(task, status=Status.ASSUMED, planned=None, done=done)
    return replace(
        ledger,
        as_of=plan.as_of,
        born=birth(plan) if ledger.as_of is None else ledger.born,
        since=min(day for day in (ledger.since, ledger.as_of, plan.as_of) if day is not None),
        tasks=tuple(tasks[key] for key in sorted(tasks)),
        sheets=tuple(sheet for sheet in ledger.sheets if sheet.day >= oldest),
    )


def speaks_for(plan: Plan, yard: str, season: int) -> bool:
    """True where the plan has the last word on what was published for this yard and season.

    A plan of next season does not take this season's visits away; a yard that is no longer in the outfit has none.
    """
    seasons = {view.season for view in plan.yards if view.key == yard}
    return not seasons or season in seasons
