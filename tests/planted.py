"""Planted bugs: each has to break an invariant in the years of random outfits, or in a scene.

``python tests/planted.py [YEARS [WORDS ...]]``: all of them, or those whose family holds one of the words. In:
``planted.yaml``. Out: a table of family, whether it was seen, and in which words. Each bug is planted in a copy of the
tree; one that nobody sees is an invariant that can't fail. What years hardly ever hold is planted in a scene.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import yaml

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("ipmcal", "rules", "templates", "tests")


def seen(bug: dict[str, str], years: str, copy: Path) -> tuple[bool, str]:
    """Whether years, or its scene, break with a bug, and the first words of how.

    Raises ValueError for a bug that has no place.
    """
    file = copy / bug["file"]
    text = file.read_text(encoding="utf-8")
    if text.count(bug["old"]) != 1:
        raise ValueError(f"{bug['file']} holds {text.count(bug['old'])} times: {bug['old']}")
    file.write_text(text.replace(bug["old"], bug["new"]), encoding="utf-8")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(copy), str(copy / "tests")))}
    lived = ["years.py", years] if "scene" not in bug else ["scenes.py", bug["scene"]]
    command = [sys.executable, str(copy / "tests" / lived[0]), *lived[1:]]
    ran = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    file.write_text(text, encoding="utf-8")
    if ran.returncode < 0:
        raise InterruptedError(f"years were stopped from outside, by signal {-ran.returncode}: {bug['family']}")
    told = re.findall(r"^  \+\w+ [a-z ]+: (.*)$", ran.stdout, re.MULTILINE)
    last = (ran.stderr.strip().splitlines() or ["nothing"])[-1]
    where = bug.get("scene", f"{len(told)} years")
    return ran.returncode != 0, f"{where}: {told[0]}" if told else last


def main(years: str, words: Sequence[str]) -> int:
    """Plant those whose family holds one of the words (all, without any); the number that nobody saw."""
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in COPIED:
            shutil.copytree(ROOT / name, copy / name)
        bugs = yaml.safe_load((ROOT / "tests" / "planted.yaml").read_text(encoding="utf-8"))
        for bug in (one for one in bugs if not words or any(word in one["family"] for word in words)):
            found, told = seen(bug, bug.get("years", years), copy)
            missed += not found
            print(f"{'seen  ' if found else 'MISSED'} {bug['family']}: {told}", flush=True)
    return missed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "18", sys.argv[2:]))
