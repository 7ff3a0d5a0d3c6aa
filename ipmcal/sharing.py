"""What ``ipmcal publish`` does: a folder that any web host serves, a keeper's page under an address nobody guesses.

In: a club's folder, or an outfit's documents, and the folder to publish to. Out: pages, calendars and PDFs below names
of 128 random bits, which a private file beside the documents keeps. An address that was taken back shows one event that
says so. What has not changed is not written.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid5

from icalendar import Calendar, Event

from ipmcal.model.values.forms import iso_date
from ipmcal.model.values.words import short_day
from ipmcal.publishing.calendar.identity import NAMESPACE
from ipmcal.publishing.calendar.writing import PRODID
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.publishing.disk.lock import alone
from ipmcal.publishing.paper.page import filled
from ipmcal.publishing.places import ALL_YARDS, ANSWERS, PLAN, SEASONS, SHEETS, answers_place
from ipmcal.reading.club.clubfile import CLUB, read_club
from ipmcal.reading.source.files import bad, exists, read_text

PRIVATE = ("*.yaml", "*.csv", "*ledger.json")
"""What a keeper's own folder is known by: yard files, journals and lists, ledgers."""
ADDRESSES, MAX_FILE = ".addresses.json", 20_000_000
BYTES = 16
"""Of chance in an address: 128 bits."""
CALENDAR = "calendar.ics"
PAGE_AHEAD = 14
"""Days ahead whose last good days stand on a keeper's page; a matter of reading."""
HOST = "AddType 'text/calendar; charset=utf-8' .ics\nOptions -Indexes\n"
"""For hosts that read such a file: the type of calendars, and no lists of what stands in a folder."""


@dataclass(frozen=True)
class ShareOrder:
    """What to publish where: ``address`` is that of the folder ("" where it is not known yet), ``revoke`` whose address
    is taken back, ``day`` today."""

    source: Path
    to: Path
    address: str
    revoke: str
    day: int


@dataclass(frozen=True)
class Shared:
    """Whose page stands at which name, and how many files were written."""

    names: Mapping[str, str]
    written: int


def share(order: ShareOrder) -> Shared:
    """Publishes all keepers that have documents. Raises BadInput and OSError."""
    keepers = _keepers(order.source)
    _refuse_private(order)
    private = order.source / ADDRESSES
    with alone([private]):
        book = _addressed(_read(private), keepers, order)
        files: dict[Path, bytes] = {private: (json.dumps(book, indent=1, sort_keys=True) + "\n").encode()}
        files[order.to / ".htaccess"] = HOST.encode()
        kept: set[Path] = set()
        for folder, (home, name) in keepers.items():
            mine = _page(home, name, order.to / book[folder]["name"], order)
            kept |= set(mine)
            files |= mine
        for one in book.values():
            for old, since in one["revoked"].items():
                gone = _gone(order.to / old, old, iso_date(since))
                kept |= set(gone)
                files |= gone
        written = write_all(files)
        private.chmod(0o600)  # whoever reads it knows every address
        for name in {one["name"] for one in book.values()} | {old for one in book.values() for old in one["revoked"]}:
            for path in (order.to / name).glob("*"):
                if path not in kept and path.is_file():
                    path.unlink()
    return Shared({folder: book[folder]["name"] for folder in keepers}, len(written))


def _refuse_private(order: ShareOrder) -> None:
    """Whether the folder is one to be seen: what stands in it is served. Raises BadInput."""
    to, source = order.to.resolve(), order.source.resolve()
    shown = order.to.name or str(order.to)
    mend = "name a folder of its own, such as --to public"
    if source.is_relative_to(to):
        raise bad(shown, f"holds {source.name}, which nobody is to see but its keeper; {mend}")
    mine = [path.name for pattern in PRIVATE for path in order.to.glob(pattern)]
    if mine:
        raise bad(shown, f"holds a keeper's own files ({min(mine)}), which nobody is to see; {mend}")


def _keepers(source: Path) -> dict[str, tuple[Path, str]]:
    """By folder, where the documents stand and whose they are."""
    if exists(source / CLUB, CLUB):
        club = read_club(source / CLUB)
        found = {folder: (source / folder, one.keeper) for folder, one in club.items()}
    else:
        found = {source.resolve().name: (source, "")}
    found = {folder: one for folder, one in found.items() if (one[0] / PLAN).is_file()}
    if not found:
        raise bad(source.name, "holds no documents; make them first, with ipmcal plan or ipmcal roster")
    return found


def _read(path: Path) -> dict[str, Any]:
    if not exists(path, ADDRESSES):
        return {}
    try:
        book = json.loads(read_text(path, ADDRESSES, MAX_FILE))
        if all(isinstance(one["name"], str) and isinstance(one["revoked"], dict) for one in book.values()):
            return dict(book)
    except (ValueError, RecursionError, AttributeError, LookupError, TypeError):
        pass
    raise bad(ADDRESSES, "is damaged; put back the last good copy: without it every keeper gets another address")


def _addressed(book: dict[str, Any], keepers: Mapping[str, object], order: ShareOrder) -> dict[str, Any]:
    """The addresses, with new ones where there is none, or where one is taken back."""
    if order.revoke and order.revoke not in book:
        raise bad(order.revoke, f"has no address; known: {', '.join(sorted(book)) or 'none yet'}")
    if order.revoke:
        one = book[order.revoke]
        revoked = one["revoked"] | {one["name"]: date.fromordinal(order.day).isoformat()}
        book[order.revoke] = {"name": secrets.token_hex(BYTES), "revoked": revoked}
    for folder in keepers:
        book.setdefault(folder, {"name": secrets.token_hex(BYTES), "revoked": {}})
    return book


@dataclass(frozen=True, slots=True)
class _Planned:
    """What a keeper's page says of a plan: whose, of which day, visits and last good days with their yards."""

    name: str
    as_of: int
    yards: Mapping[str, str]
    visits: tuple[tuple[int, str], ...]
    stops: tuple[tuple[int, str, str], ...]


def _planned(home: Path) -> _Planned:
    """The plan that stands there. Raises BadInput."""
    try:
        plan = json.loads((home / PLAN).read_bytes())
        yards = {one["key"]: one["name"] for one in plan["yards"]}
        visits = tuple((iso_date(one["day"]).toordinal(), yards[one["yard"]]) for one in plan["visits"])
        stops = tuple(
            (iso_date(one["window"]["hard_stop"]).toordinal(), one["do"], yards[one["yard"]])
            for one in plan["tasks"]
            if one["window"]["hard_stop"] and one["status"] == "planned"
        )
        return _Planned(plan["outfit_name"], iso_date(plan["as_of"]).toordinal(), yards, visits, stops)
    except (ValueError, RecursionError, LookupError, TypeError):
        raise bad(f"{home.name}/{PLAN}", "can't be read; make it anew") from None


def _page(home: Path, name: str, to: Path, order: ShareOrder) -> dict[Path, bytes]:
    """A keeper's page with what it leads to."""
    plan = _planned(home)
    found = [path for room in (".", SEASONS, SHEETS) for path in sorted((home / room).glob("*.pdf"))]
    answers = _answers(home, plan.yards)
    files = {to / path.name: path.read_bytes() for path in found}
    files |= {to / page: (home / ANSWERS / page).read_bytes() for page in answers}
    calendar = home / ALL_YARDS
    if calendar.is_file():
        files[to / CALENDAR] = calendar.read_bytes()
    until = plan.as_of + PAGE_AHEAD
    page = f"{order.address.rstrip('/')}/{to.name}/" if order.address else ""
    html = filled(
        "share.html.j2",
        plan.as_of,
        "a4",
        name=name or plan.name,
        planned=plan.as_of,
        visits=[(short_day(day), yard) for day, yard in plan.visits if day >= plan.as_of],
        stops=[(short_day(day), do, yard) for day, do, yard in sorted(plan.stops) if plan.as_of <= day <= until],
        pdfs=[path.name for path in found],
        answers=answers,
        calendar=CALENDAR if calendar.is_file() else "",
        subscribe=f"webcal:{page.partition(':')[2]}{CALENDAR}" if page else "",
        address=f"{page}{CALENDAR}" if page else "",
        page=page,
    )
    files[to / "index.html"] = html.encode()
    return files


def _answers(home: Path, yards: Mapping[str, str]) -> dict[str, str]:
    """The pages on which a phone answers sheets, by file, each with its yard's name."""
    pages = {f"{answers_place(key)}.html": yard for key, yard in yards.items()}
    return {Path(place).name: yard for place, yard in pages.items() if (home / place).is_file()}


def _gone(to: Path, name: str, since: date) -> dict[Path, bytes]:
    """What stands at an address that was taken back: one event that says so."""
    words = "This calendar has another address now: ask for it"
    stamp = datetime.combine(since, time(), UTC)
    uid, ends = str(uuid5(NAMESPACE, f"revoked/{name}")), since + timedelta(1)
    event = Event.new(uid=uid, stamp=stamp, summary=words, start=since, end=ends)
    calendar = Calendar.new(prodid=PRODID, uid=str(uuid5(NAMESPACE, f"gone/{name}")), name=words)
    calendar.add_component(event)
    html = f"<!doctype html><html lang=en><meta charset=utf-8><title>Gone</title><p>{words}.</p></html>\n"
    return {to / CALENDAR: calendar.to_ical(), to / "index.html": html.encode()}
