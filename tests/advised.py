"""A second opinion on PDFs: what the checker of the extra ``advise`` finds in them, by its rules for PDF/UA-1.

``python tests/advised.py PDF ...``, by hand: a line for each PDF that it finds fault with, and how many it passed. The
gate is ours, ``tests/publishing/paper/test_structure.py``: this one is young, and no test rests on it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from importlib import import_module
from pathlib import Path
from typing import Any

MOST_TOLD = 3


def faults(files: Iterable[Path]) -> Iterable[str]:
    """For each PDF with faults its name, how many rules failed, and the first of these in the checker's words."""
    checker: Any = import_module("page")
    for file in files:
        report = checker.validate_pdf(file, profile="ua1")
        if not report.is_compliant:
            told = "; ".join(f"{one.rule_id}: {one.message}" for one in report.failures[:MOST_TOLD])
            yield f"{file}: {report.rules.failed} of {report.rules.total} rules: {told}"


def main(names: list[str]) -> int:
    """Tells of the PDFs named; 1 where one has faults, 2 where none is named."""
    files = [Path(name) for name in names]
    found = list(faults(files))
    print("\n".join([*found, f"{len(files) - len(found)} of {len(files)} pass"]))
    return 2 if not files else 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
