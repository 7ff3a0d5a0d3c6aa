"""Appending to the journal: whole rows or none, on the disk before the call returns, one writer at a time.

In: a path, and a function that says what to append to the text that stands there now. Out: the file. It is written
beside its place, synced and renamed over it, so that neither a crash nor a reader ever meets half a line.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ipmcal.model.values.rows import appended
from ipmcal.publishing.atomic import write_all

try:
    import fcntl
except ImportError:  # not a POSIX system: there, two writers at once are on their own
    fcntl = None  # type: ignore[assignment]

PATIENCE = 10.0
"""Seconds to wait for another writer."""
PAUSE = 0.005
"""Seconds between two tries."""
BOM = "\ufeff"

Rows = Sequence[Sequence[str]]


class JournalLocked(OSError):
    """Another program holds the journal for longer than one waits."""


def append_rows(path: Path, rows_for: Callable[[str], Rows], patience: float = PATIENCE) -> int:
    """Append the rows that ``rows_for`` gives for the text of the file as it is now ("" where there is none yet).

    What stands in the file is kept, with its byte order mark, delimiter and line ends; a new file begins with the
    headings. Returns the number of rows. While ``rows_for`` runs nobody else can append; what it raises leaves the file
    as it was. Raises JournalLocked after ``patience`` seconds, OSError, and ValueError for a file that is not UTF-8.
    """
    target = path.resolve()
    with _alone(target, patience):
        raw = target.read_bytes().decode("utf-8") if target.exists() else ""
        text = raw.removeprefix(BOM)
        rows = rows_for(text)
        if rows:
            write_all({target: (raw[: len(raw) - len(text)] + appended(text, rows)).encode("utf-8")})
    return len(rows)


@contextmanager
def _alone(target: Path, patience: float) -> Iterator[None]:
    """No other ``append_rows`` writes in this folder meanwhile. The system frees the lock of a process that dies."""
    if fcntl is None:
        yield
        return
    handle = os.open(target.parent, os.O_RDONLY)
    try:
        _lock(handle, target, time.monotonic() + patience)
        _sweep(target)
        yield
    finally:
        os.close(handle)


def _lock(handle: int, target: Path, until: float) -> None:
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except BlockingIOError:
            if time.monotonic() >= until:
                what = "another program is writing it; try again when that is done"
                raise JournalLocked(None, what, str(target)) from None
            time.sleep(PAUSE)


def _sweep(target: Path) -> None:
    """Parts that writers left who were stopped half-way; nobody else is writing now."""
    for part in target.parent.glob(f".{target.name}.*.part"):
        part.unlink(missing_ok=True)
