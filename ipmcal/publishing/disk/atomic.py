"""Writing files so that nobody ever reads half of one.

In: a whole batch of contents, already in memory. Out: files on disk. Each is written beside its place, flushed to the
disk (fsync) and renamed over it; nothing is renamed before all are written. A file keeps its rights.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path


def write_all(files: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """Write the files that differ from what stands there, and return their paths in the order given.

    Folders are made as needed; a link is followed; a file with the same content is not touched, one that nobody may
    write is refused. Where a file can't be written (OSError), nothing has changed. Only between the renames can a crash
    leave new files beside old ones, each of them whole: they happen in the order given, so give the ledger first, and
    last what tells of files that stand. Two writers of one batch: the last wins.
    """
    targets = {path: path.resolve() for path in files}
    if len(set(targets.values())) != len(targets):
        raise ValueError("two contents for one file")
    changed = [path for path in files if not _same(targets[path], files[path])]
    rights = {path: _rights(targets[path]) for path in changed}
    for folder in {targets[path].parent for path in changed}:
        _sweep(folder)
    parts: dict[Path, Path] = {}
    try:
        for path in changed:
            part = _beside(targets[path])
            parts[path] = part
            _write(part, files[path])
            if (mode := rights[path]) is not None:
                part.chmod(mode)
        for path in changed:
            os.replace(parts[path], targets[path])
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
    for folder in sorted({targets[path].parent for path in changed}):
        _flush_folder(folder)
    return tuple(changed)


def _same(target: Path, content: bytes) -> bool:
    try:
        return target.stat().st_size == len(content) and target.read_bytes() == content
    except FileNotFoundError:
        return False


def _rights(target: Path) -> int | None:
    """The rights of a file; None where there is none yet. Raises PermissionError where nobody may write it."""
    try:
        mode = stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        return None
    if not mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
        raise PermissionError(errno.EACCES, "it is read-only; allow writing it, and try again", str(target))
    return mode


_PART = re.compile(r"\..+\.([0-9]+)\.part")


def _sweep(folder: Path) -> None:
    """Take away the parts of processes that were stopped half-way and are no more."""
    if os.name != "posix" or not folder.is_dir():
        return
    for part in folder.glob(".*.part"):
        match = _PART.fullmatch(part.name)
        if match and not _runs(int(match[1])):
            part.unlink(missing_ok=True)


def _runs(process: int) -> bool:
    """True where a process of this number runs, as far as one may know."""
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        pass
    return True


def _beside(target: Path) -> Path:
    """A hidden name in the same folder, so that the rename stays inside one file system; one a process."""
    target.parent.mkdir(parents=True, exist_ok=True)
    return target.with_name(f".{target.name}.{os.getpid()}.part")


def _write(part: Path, content: bytes) -> None:
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _flush_folder(folder: Path) -> None:
    """Make the renames themselves last; only POSIX systems can open a folder for that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
