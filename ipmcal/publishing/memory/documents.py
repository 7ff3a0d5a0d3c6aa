"""What stands in a folder of documents: of each PDF, from which page it was made, and the PDF's own digest.

In: the folder's ``.documents.json``, pages, PDFs. Out: which PDFs need not be made again; the text to write.
The file is renamed last, and a PDF counts only while its bytes are those it tells of: whatever is killed between, or
changed by hand, is made again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

NAME = ".documents.json"
OWNER = "outfit"

PdfDigests = Mapping[str, tuple[str, ...]]
"""By a PDF's name: the digest of its page, its own, and that of the page but for the day on which it was made (which
older programs did not write)."""


def digest(content: bytes) -> str:
    """SHA-256 as lower-case hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def read_made(folder: Path) -> PdfDigests:
    """What the folder's file tells; nothing where there is none, or where it can't be read: all is made anew then."""
    loose = _loose(folder)
    return {name: tuple(one) for name, one in loose.items() if isinstance(one, list) and len(one) in (2, 3)}


def _loose(folder: Path) -> dict[str, object]:
    try:
        loose = json.loads((folder / NAME).read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    return loose if isinstance(loose, dict) else {}


def stands(folder: Path, name: str, page: bytes, made: PdfDigests) -> bool:
    """True where a PDF stands that was made from this page, and is as it was made. Raises OSError."""
    told = made.get(name)
    if told is None or told[0] != digest(page):
        return False
    try:
        return digest((folder / name).read_bytes()) == told[1]
    except FileNotFoundError:
        return False


def owner(folder: Path) -> str:
    """Whose documents stand in a folder: the birth of their outfit; "" where nobody can tell."""
    return str(_loose(folder).get(OWNER, ""))


def made_text(made: PdfDigests, born: str = "") -> str:
    """The file's text: names in order, a line each, and whose documents they are."""
    lines = [f"{json.dumps(OWNER)}: {json.dumps(born)}"] if born else []
    lines += [f"{json.dumps(name)}: {json.dumps(list(made[name]))}" for name in sorted(made)]
    return "{\n" + ",\n".join(lines) + "\n}\n"
