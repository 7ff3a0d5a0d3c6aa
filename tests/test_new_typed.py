"""``ipmcal new`` through a terminal, by somebody who types as people do: what is odd is asked, the file passes."""

from __future__ import annotations

import os
import pty
import select
import sys
import time
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.yards.yards import load

PATIENCE = 240.0
"""Seconds for one answer on a busy machine."""
FIRST = [
    ("call this yard", "Mum's garden"),
    ("latitude", "42.45, 76.50"),  # the sign is forgotten
    ("latitude", "42.45, -76.50"),
    ("height", "190"),  # of what?
    ("height", "620ft"),
    ("region", ""),
    ("country", "US of A"),
    ("country", ""),
    ("days", "weekends"),
    ("program", "full"),
    ("How many hives", "three"),
    ("How many hives", "3"),
    ("painted", "A"),
    ("when and how", "a nuc, 8 May 2027"),
    ("kind of hive", ""),
    ("brood boxes", "2 deeps"),
    ("trap frames", "0"),
    ("painted", "A"),  # taken
    ("painted", "B"),
    ("when and how", "same as the last"),
    ("painted", "C"),
    ("when and how", "2026 overwintered"),
    ("kind of hive", ""),
    ("brood boxes", "deep and a medium"),
    ("trap frames", "2"),
]
SECOND = [
    ("belong together", "y"),
    ("all your yards", "Our bees"),
    ("call this yard", "Field"),
    ("latitude", "42.5 N, 76.4 W"),
    ("height", "200 m"),
    *[("region", ""), ("country", ""), ("days", "Saturday"), ("program", ""), ("How many hives", "1")],
    *[("painted", "C"), ("painted", "D"), ("when and how", "package 1 May 2027"), ("kind of hive", "")],
    ("brood boxes", "deep"),
]


def typed(folder_: Path, name: str, answers: list[tuple[str, str]]) -> str:
    """What the screen showed. Each answer is typed once its question stands there."""
    child, screen = pty.fork()
    if child == 0:  # pragma: no cover (another process)
        os.chdir(folder_)
        os.environ.update(TERM="dumb", COLUMNS="200")
        os.execv(sys.executable, [sys.executable, "-m", "ipmcal", "new", name])
    shown, seen = "", 0
    for question, answer in answers:
        until = time.monotonic() + PATIENCE
        while not (question in shown[seen:] and shown.rstrip(" ").endswith(":")):
            shown += read(screen, until)
            assert time.monotonic() < until, f"no question with {question!r} after: {shown[seen:]!r}"
        seen = len(shown)
        os.write(screen, f"{answer}\n".encode())
    while more := read(screen, time.monotonic() + PATIENCE):
        shown += more
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 0, shown
    return shown


def read(screen: int, until: float) -> str:
    """What has come meanwhile; "" at the end."""
    ready, _, _ = select.select([screen], [], [], max(0.0, until - time.monotonic()))
    try:
        return os.read(screen, 65536).decode(errors="replace") if ready else ""
    except OSError:  # the other side of a terminal is gone
        return ""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no pseudo-terminal")
def test_clumsy_answers_make_two_yards_of_one_outfit(tmp_path: Path, book: Rulebook) -> None:
    shown = typed(tmp_path, "garden.yaml", FIRST)
    for words in ("is a sign wrong?", "190 of what?", "there is no 'US of A'", "is not a number of hives", "is taken"):
        assert words in shown
    again = typed(tmp_path, "field.yaml", SECOND)
    assert "'C' is taken" in again
    outfit = load(tmp_path, folder("rules"), book).outfit
    assert (outfit.name, sorted(y.name for y in outfit.yards)) == ("Our bees", ["Field", "Mum's garden"])
    hives = {c.key: (c.kind, [b.kind for b in c.boxes], len(c.traps)) for y in outfit.yards for c in y.colonies}
    assert hives == {
        "A": ("nucleus", ["deep", "deep"], 0),
        "B": ("nucleus", ["deep", "deep"], 0),
        "C": ("overwintered", ["deep", "medium"], 2),
        "D": ("package", ["deep"], 0),
    }
