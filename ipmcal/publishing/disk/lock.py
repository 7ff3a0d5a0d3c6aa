"""One writer at a time: a lock beside each file that more than one run may want to write.

In: paths. Out: a context in which nobody else is inside for the same paths. The lock is a hidden file beside the
target, since the target itself is replaced at each write; it stays there, empty, so that all who wait wait for the same
one. What holds it is the system's lock on that file, which goes with the process, also when that is killed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

PATIENCE = 10.0
"""Seconds to wait for another writer."""
PAUSE = 0.005
"""Seconds between two tries."""


class LockedError(OSError):
    """Another program holds a file for longer than one waits. ``filename`` is the file, not the lock."""


@contextmanager
def alone(targets: Iterable[Path], patience: float = PATIENCE) -> Iterator[None]:
    """Nobody else is in here for any of these files. Raises LockedError after ``patience`` seconds, and OSError."""
    with ExitStack() as held:
        # In one order for all: two runs that want the same two files can't each hold one and wait for the other.
        for target in sorted({target.resolve() for target in targets}):
            held.enter_context(_held(target, patience))
        yield


@contextmanager
def _held(target: Path, patience: float) -> Iterator[None]:
    lock = FileLock(lock_path(target), timeout=patience, poll_interval=PAUSE)
    try:
        lock.acquire()
    except Timeout:
        what = "another program is writing it; try again when that is done"
        raise LockedError(None, what, str(target)) from None
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(target)) from None
    try:
        yield
    finally:
        lock.release()


def lock_path(target: Path) -> Path:
    """The lock of a file."""
    return target.with_name(f".{target.name}.lock")
