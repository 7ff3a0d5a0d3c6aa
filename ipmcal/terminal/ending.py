"""How a command ends: exit codes, complaints, trouble with files; and what shows while it takes its time."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

DONE, CONFLICTS, BAD_INPUT, NO_ENGINE, OUR_FAULT = 0, 1, 2, 3, 4
"""Exit codes; what each means stands at the end of --help."""


@contextmanager
def trouble() -> Iterator[None]:
    """Trouble with the ledger or the disk, as a complaint."""
    from ipmcal.publishing.memory.ledger import LedgerError

    try:
        yield
    except LedgerError as error:
        complain("ledger", str(error))
    except BrokenPipeError:
        raise
    except OSError as error:
        name = Path(str(error.filename or "out")).name
        complain(name, f"can't be written: {(error.strerror or 'unknown error').lower()}")


def complain(file: str, what: str) -> NoReturn:
    """Ends the command with one complaint; ``file`` is the name of a file, or the option that was wrong."""
    from ipmcal.reading.source.complaints import BadInput, Complaint

    raise BadInput([Complaint(file, 0, 0, what)])


@contextmanager
def progress(what: str) -> Iterator[Callable[[int], None]]:
    """A spinner while something takes its time; nothing at all where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda number: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as status:
        yield lambda number: status.update(f"{what} ({number})") if number else None


def our_fault(error: Exception) -> str:
    """An error that nobody foresaw, on one line, with the place in our own code at which it arose."""
    from traceback import extract_tb

    from ipmcal.model.values.text import one_line

    frames = [frame for frame in extract_tb(error.__traceback__) if "ipmcal" in Path(frame.filename).parts]
    where = f" ({Path(frames[-1].filename).name}:{frames[-1].lineno})" if frames else ""
    what = one_line(f"{type(error).__name__}: {error}", 200)
    return f"a fault of ipmcal, not of your files{where}: {what}; no file is half-written. Please report this line."
