"""Where the data folders are, and what the program is made of.

In: a name (``rules``, ``templates``). Out: its path, installed or in a checkout; a digest of all that travels.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

_HERE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder that was packed into the wheel (``ipmcal/_data/NAME``), else the checkout's top-level one.

    Raises FileNotFoundError where there is neither: the installation is then incomplete.
    """
    for path in (_HERE / "_data" / name, _HERE.parent / name):
        if path.is_dir():
            return path
    raise FileNotFoundError(f"the folder '{name}' is missing: it belongs beside ipmcal, or into its _data folder")


@lru_cache(maxsize=1)
def program_digest() -> str:
    """A digest of the program, its rules and its templates: with any of them changed, all is made again."""
    return _digest_below(_HERE, folder("rules"), folder("templates"))


@lru_cache(maxsize=1)
def rules_digest() -> str:
    """A digest of the rules, and of what reads them: with any of it changed, they are read again."""
    return _digest_below(folder("rules"), _HERE / "model", _HERE / "reading", _HERE / "publishing" / "disk")


def _digest_below(*roots: Path) -> str:
    found = hashlib.sha256()
    for path, name in (one for root in roots for one in files_below(root)):
        if "__pycache__" not in name:
            found.update(f"{name}:".encode() + path.read_bytes())
    return found.hexdigest()


def files_below(root: Path) -> list[tuple[Path, str]]:
    """The files below a folder with their names, in order; hidden ones are left out."""
    found = ((path, path.relative_to(root).as_posix()) for path in root.rglob("*") if path.is_file())
    return sorted(
        ((path, name) for path, name in found if not any(part.startswith(".") for part in name.split("/"))),
        key=lambda one: one[1],
    )
