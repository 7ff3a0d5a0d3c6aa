"""The example outfits, each with all documents of its year: made once a run, in one process, whoever asks for them."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from command import ipmcal

from ipmcal.publishing import publish
from ipmcal.publishing.job import PrintJob, job_of

SOURCE = Path(__file__).resolve().parent.parent / "example_yards"
AS_OF = "2027-05-10"
KINDS = "sheet,season,feed,plan,handout"
IN_JOB = 2
"""So many documents of a print job are laid out in it: as part of the job each is laid out once more."""
PATIENCE = 900.0
"""Seconds to wait for the process that makes an example."""


def run_folder(factory: pytest.TempPathFactory) -> Path:
    """A folder that all processes of a run share."""
    base = factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


@contextmanager
def short_jobs() -> Iterator[None]:
    """Print jobs of few documents: what a job is like is tried in ``test_job.py`` and ``test_pdf.py``."""

    def few(*asked: object) -> PrintJob:
        return PrintJob(job_of(*asked).places[:IN_JOB])  # type: ignore[arg-type]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(publish, "job_of", few)
        yield


def example(name: str, factory: pytest.TempPathFactory) -> Path:
    """The folder with a year's documents of one example, ``out``, beside a copy of all examples, ``yards``: to read."""
    home = run_folder(factory) / f"example_{name.partition('.')[0]}"
    done, mine = home / "done", _first(home)
    until = time.monotonic() + PATIENCE
    while not mine and not done.exists():
        assert time.monotonic() < until, f"nobody made {home}"
        time.sleep(0.2)
    if mine:
        try:
            _make(name, home)
        finally:
            done.touch()  # though it failed: nobody is to wait for what will not be
    return home


def _first(home: Path) -> bool:
    """Whether nobody made this folder before."""
    try:
        home.mkdir()
    except FileExistsError:
        return False
    return True


def _make(name: str, home: Path) -> None:
    shutil.copytree(SOURCE, home / "yards", ignore=shutil.ignore_patterns("*ledger*"))
    with short_jobs():
        order = ("--as-of", AS_OF, "--all", "--print", KINDS, "--out", home / "out")
        made = ipmcal("plan", home / "yards" / name, *order)
    assert made.returncode in (0, 1), made.stderr
