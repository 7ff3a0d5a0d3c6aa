"""A small club for tests: keepers with two hives each, made as ``ipmcal roster`` makes them, but for PDFs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path

import pytest

from ipmcal import enrolling
from ipmcal.enrolling import ClubOrder, club_list, enrol, mentor_pages
from ipmcal.model.values.days import day
from ipmcal.publishing import publish as publishing
from ipmcal.publishing.memory.ledger import LedgerSheet, read_ledger

HEAD = "keeper,latitude,longitude,elevation,start,kind,hives,days,program,mentor,phone\n"
ROW = "{0},43.02,-76.30,190 m,2026,overwintered,2,sat,counting_only,Mo,555 {1:04}\n"


def made_club(folder: Path, names: list[str], as_of: int) -> Path:
    """A club of these keepers below a folder, planned as on a day."""
    rows = (ROW.format(name, number) for number, name in enumerate(names, 1))
    (folder / "list.csv").write_text(HEAD + "".join(rows))
    return planned(folder, as_of)


def planned(folder: Path, as_of: int) -> Path:
    """The club planned again, as on another day."""
    order = ClubOrder(folder / "list.csv", folder / "club", as_of, ("sheet", "feed", "plan"), 1)
    with pytest.MonkeyPatch.context() as patch:
        for room in (publishing, enrolling):
            patch.setattr(room, "engine", lambda: None)
        patch.setattr(enrolling, "render_many", pretended)
        patch.setattr(publishing, "render_job", lambda pages, job, cover: (pretended(pages), b"".join(pretended(job))))
        made = list(enrol(club_list(order), order, lambda what: nullcontext(lambda number: None)))
        mentor_pages(order)
    assert [one.complaints for one in made if one.complaints] == []
    return folder / "club"


def pretended(pages: Sequence[str]) -> list[bytes]:
    """Stand-ins for PDFs."""
    return [b"%PDF of " + page.encode() for page in pages]


def sheets(club: Path, keeper: str) -> list[LedgerSheet]:
    """The sheets of a keeper by their days, without those that are superseded."""
    ledger = read_ledger(club / keeper / "ledger.json", keeper)
    return sorted((one for one in ledger.sheets if not one.superseded_by), key=lambda one: one.day)


def spoken_day(ordinal: int) -> str:
    """A day as a message says it."""
    return day(ordinal).strftime("%-d %B")


def journal(club: Path, keeper: str) -> list[str]:
    """The lines of a keeper's journal, without the headings."""
    path = club / keeper / "journal.csv"
    return path.read_text().splitlines()[1:] if path.exists() else []


def marks(club: Path) -> dict[str, str]:
    return {folder: one["mark"] for folder, one in json.loads((club / "club.json").read_text()).items()}
