"""The command line in this process: what a process of its own says, without the second that it takes to begin.

That a process of its own says the same is tried in ``test_cli.py`` and by the kills, which need one.
"""

from __future__ import annotations

import io
import os
import sys
import warnings
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from subprocess import CompletedProcess
from unittest.mock import patch

from ipmcal import cli


def ipmcal(*words: object, cwd: Path | None = None, answers: str = "", columns: int = 80) -> CompletedProcess[str]:
    """``ipmcal WORDS`` run in a folder, with ``answers`` typed in: exit code, output, errors. Warnings are errors."""
    arguments = list(map(str, words))
    out, errors, typed = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(3))
    typed.write(answers)
    typed.seek(0)
    environment = {"COLUMNS": str(columns), "TERM": "dumb"}
    before = Path.cwd()
    with patch.dict(os.environ, environment), patch.object(sys, "argv", ["ipmcal", *arguments]):
        try:
            os.chdir(cwd or before)
            with patch.object(sys, "stdin", typed), redirect_stdout(out), redirect_stderr(errors), _strict():
                code = _code()
        finally:
            os.chdir(before)
    return CompletedProcess(["ipmcal", *arguments], code, _text(out), _text(errors))


def _strict() -> warnings.catch_warnings:  # type: ignore[type-arg]
    return warnings.catch_warnings(action="error")


def _code() -> int:
    try:
        cli.main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    return 0


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    stream.seek(0)
    return stream.read()
