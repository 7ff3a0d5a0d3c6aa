"""Kept: what an unchanged run would say again, and values that were worked out before.

In: a stamp of all that a run or a value rests on. Out: the lines of the last run, the value, where nothing has changed
since. It stands in the user's cache folder as JSON; whatever is wrong with it, all is made anew. Only speed hangs on
it.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TypeVar

from ipmcal.data import files_below
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.disk.frozen import freeze, thaw

V = TypeVar("V")

MOST_BYTES = 1_000_000
MOST_BYTES_OF_A_VALUE = 10_000_000


@dataclass(frozen=True)
class KeptRun:
    """What a run would say again, whether there are conflicts, and a digest of the documents as it left them."""

    stamp: str
    stands: str
    lines: tuple[str, ...]
    conflicts: bool


def digest_of(parts: Iterable[str]) -> str:
    """A digest of texts, each told apart from the next."""
    found = hashlib.sha256()
    for text in parts:
        raw = text.encode("utf-8", "surrogateescape")
        found.update(f"{len(raw)}:".encode() + raw)
    return found.hexdigest()


def documents_digest(folder: Path) -> str:
    """A digest of all documents in a folder. Raises OSError."""
    inside = ((name, hashlib.sha256(path.read_bytes()).hexdigest()) for path, name in files_below(folder))
    return digest_of(text for one in inside for text in one)


def read_kept(folder: Path, stamp: str) -> KeptRun | None:
    """What was kept of the documents in a folder; None where anything has changed, or can't be read."""
    try:
        place = _place(folder)
        if place.stat().st_size > MOST_BYTES:
            return None
        loose = json.loads(place.read_bytes())
        kept = KeptRun(loose["stamp"], loose["stands"], tuple(loose["lines"]), loose["conflicts"])
        well = isinstance(kept.conflicts, bool) and all(isinstance(line, str) for line in kept.lines)
        return kept if well and kept.stamp == stamp and kept.stands == documents_digest(folder) else None
    except (OSError, ValueError, RecursionError, TypeError, LookupError):
        return None


def keep(folder: Path, kept: KeptRun) -> None:
    """Keep it, if that can be done."""
    try:
        write_all({_place(folder): json.dumps(asdict(kept), sort_keys=True).encode()})
    except (OSError, ValueError):
        return


def read_value(name: str, stamp: str, kind: type[V]) -> V | None:
    """A value that was kept under a name; None where it rests on something else, is damaged, or can't be read."""
    try:
        place = _place_of_value(name)
        if place.stat().st_size > MOST_BYTES_OF_A_VALUE:
            return None
        head, _, text = place.read_bytes().decode().partition("\n")
        value = thaw(text) if head == _head(stamp, text) else None
        return value if isinstance(value, kind) else None
    except (OSError, ValueError):
        return None


def keep_value(name: str, stamp: str, value: object) -> None:
    """Keep a value, if that can be done."""
    text = freeze(value)
    try:
        write_all({_place_of_value(name): f"{_head(stamp, text)}\n{text}".encode()})
    except (OSError, ValueError):
        return


def _head(stamp: str, text: str) -> str:
    """The first line of a kept value: what it rests on, and a digest of what follows, to see damage by."""
    return f"{stamp} {digest_of([text])}"


def _place_of_value(name: str) -> Path:
    return cache_folder() / f"{name}.frozen"


def _place(folder: Path) -> Path:
    return cache_folder() / f"{place_digest(folder)}.json"


def place_digest(path: Path) -> str:
    """A digest of where a file or folder is: what is kept of it goes by that name."""
    return digest_of([str(path.resolve())])[:32]


def cache_folder() -> Path:
    """The user's cache folder, as the system's custom has it (on others than Windows and macOS, the XDG base directory
    specification 0.8)."""
    if sys.platform == "win32":
        root = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    elif sys.platform == "darwin":
        root = Path.home() / "Library" / "Caches"
    else:
        root = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(root) / "ipmcal"
