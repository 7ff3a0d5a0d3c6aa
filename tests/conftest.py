"""Shared by all tests: copies of the example yards, the shipped rulebook, and silence from the PDF engine."""

from __future__ import annotations

import logging
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.rules.rulebook import load_rulebook

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def book() -> Rulebook:
    return load_rulebook(folder("rules"))


@pytest.fixture
def yards(tmp_path: Path) -> Path:
    """A copy of the example yards, since a ledger is written beside each."""
    target = tmp_path / "example_yards"
    shutil.copytree(ROOT / "example_yards", target, ignore=shutil.ignore_patterns("*ledger.json"))
    return target


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
