"""Files as text: small, UTF-8, nothing invisible in them, or a complaint in words.

In: a path, and the name that complaints use for it (never the machine's own path). Out: text. Nothing here raises
OSError: what the file system has to say becomes a complaint.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

from ipmcal.model.values.text import FORBIDDEN
from ipmcal.reading.source.complaints import BadInput, Complaint

MAX_BYTES = 1_000_000
_SEEN: ContextVar[dict[str, str] | None] = ContextVar("seen", default=None)


@contextmanager
def noting() -> Iterator[dict[str, str]]:
    """Notes each file that is read as long as the context lasts, with a digest of it; "" for one that is not there."""
    seen: dict[str, str] = {}
    before = _SEEN.set(seen)
    try:
        yield seen
    finally:
        _SEEN.reset(before)


def _note(path: Path, raw: bytes | None) -> None:
    seen = _SEEN.get()
    if seen is not None:
        seen[str(path)] = "" if raw is None else hashlib.sha256(raw).hexdigest()


def bad(file: str, what: str) -> BadInput:
    """One complaint about a whole file."""
    return BadInput([Complaint(file, 0, 0, what)])


def is_folder(path: Path, file: str) -> bool:
    """Whether there is a folder. Raises BadInput where that can't be told."""
    try:
        return path.is_dir()
    except (OSError, ValueError) as error:
        raise bad(file, _why(error)) from None


def exists(path: Path, file: str) -> bool:
    """Whether there is anything of this name. Raises BadInput where that can't be told."""
    try:
        there = path.exists()
        if not there:
            _note(path, None)
        return there
    except (OSError, ValueError) as error:
        raise bad(file, _why(error)) from None


def listed(folder: Path, file: str) -> list[Path]:
    """What stands in a folder, by name. Raises BadInput where it can't be listed."""
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        raise bad(file, _why(error)) from None


def yaml_files(folder: Path, pattern: str, file: str) -> tuple[list[Path], list[Complaint]]:
    """The ``*.yaml`` files that match, in order of their names, and complaints about names that only look like it.

    Hidden files are left out: some systems and editors leave their own notes in them.
    """
    try:
        found = sorted(p for p in folder.glob(pattern) if not p.name.startswith("."))
    except OSError as error:
        raise bad(file, _why(error)) from None
    alike = [p for p in found if p.suffix != ".yaml" and p.suffix.lower() in (".yaml", ".yml")]
    what = "is not read: a file's name has to end in '.yaml'"
    names = (f"{file}/{p.relative_to(folder).as_posix()}" for p in alike)
    return [p for p in found if p.suffix == ".yaml"], [Complaint(name, 0, 0, what) for name in names]


def read_bytes(path: Path, file: str, most: int = MAX_BYTES) -> bytes:
    """A file of ``most`` bytes as it stands. Raises BadInput."""
    try:
        size = path.stat().st_size
        if size <= most and (path.is_file() or path.is_dir()):
            raw = path.read_bytes()
            _note(path, raw)
        else:
            raise bad(file, _unfit(size, most))
    except (OSError, ValueError) as error:
        raise bad(file, _why(error)) from None
    return raw


def read_text(path: Path, file: str, most: int = MAX_BYTES) -> str:
    """A UTF-8 text file of ``most`` bytes; a byte order mark at its start is left out. Raises BadInput."""
    raw = read_bytes(path, file, most)
    text = _decoded(raw, file)
    hidden = FORBIDDEN.search(text)
    if hidden:
        before = text[: hidden.start()]
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        what = f"holds a hidden character (U+{ord(hidden[0]):04X}); delete it, or save the file as plain UTF-8 text"
        raise BadInput([Complaint(file, line, column, what)])
    return text


def _unfit(size: int, most: int) -> str:
    return f"is {size:,} bytes long; at most {most:,} are read" if size > most else "is not a file"


def _decoded(raw: bytes, file: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadInput([Complaint(file, 1, 1, "is UTF-16, not UTF-8; save the file as UTF-8")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = raw.rfind(b"\n", 0, error.start) + 1
        line, column = (
            raw.count(b"\n", 0, error.start) + 1,
            len(raw[start : error.start].decode("utf-8", "replace")) + 1,
        )
        what = f"is not UTF-8 text here (byte {raw[error.start]:#04x}); save the file as UTF-8"
        raise BadInput([Complaint(file, line, column, what)]) from None


def _why(error: OSError | ValueError) -> str:
    """The system's words, without the path that they end in."""
    words = (error.strerror or "") if isinstance(error, OSError) else "its name can't be"
    return f"can't be read: {words.lower() or 'unknown error'}"


def refuse_if_any(complaints: Iterable[Complaint]) -> None:
    """Raises BadInput where there is anything to complain about."""
    found = list(complaints)
    if found:
        raise BadInput(found)
