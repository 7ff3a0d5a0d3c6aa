"""Appending to the journal: whole rows or none, on the disk before the call returns, one writer at a time.

In: a path, and a function that says what to append to the text that stands there now. Out: the file. It is written
beside its place, synced and renamed over it, so that neither a crash nor a reader ever meets half a line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from ipmcal.model.values.rows import appended
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.disk.lock import PATIENCE, alone

BOM = "\ufeff"

JournalRows = Sequence[Sequence[str]]


def append_rows(path: Path, rows_for: Callable[[str], JournalRows], patience: float = PATIENCE) -> int:
    """Append the rows that ``rows_for`` gives for the text of the file as it is now ("" where there is none yet).

    What stands in the file is kept, with its byte order mark, delimiter and line ends; a new file begins with the
    headings. Returns the number of rows. While ``rows_for`` runs nobody else can append; what it raises leaves the file
    as it was. Raises LockedError after ``patience`` seconds, OSError, and ValueError for a file that is not UTF-8.
    """
    target = path.resolve()
    with alone([target], patience):
        _sweep(target)
        raw = target.read_bytes().decode("utf-8") if target.exists() else ""
        text = raw.removeprefix(BOM)
        rows = rows_for(text)
        if rows:
            write_all({target: (raw[: len(raw) - len(text)] + appended(text, rows)).encode("utf-8")})
    return len(rows)


def _sweep(target: Path) -> None:
    """Parts that writers left who were stopped half-way; nobody else is writing now."""
    for part in target.parent.glob(f".{target.name}.*.part"):
        part.unlink(missing_ok=True)
