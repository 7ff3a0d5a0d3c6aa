"""Frozen: ledgers that an earlier version wrote are read, and ids, UIDs and sheet codes go on from them.

Each folder holds an invented outfit as it was, the ledger of its plans up to a day, and, by the day of a plan after
them, what that version itself gave out: task ids, UIDs of the calendar, codes of the sheets. None is ever made anew:
what differs is a mistake, or is told in ``explained.yaml``. PDFs are left out; nothing here hangs on them.
"""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml
from icalendar import Calendar

from ipmcal.data import folder
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.plan import Scope, make_plan
from ipmcal.publishing import publish as publishing
from ipmcal.publishing.memory.ledger import EntryKind, ledger_text, parse_ledger
from ipmcal.publishing.publish import publish
from ipmcal.reading.rules.rulebook import load_rulebook
from ipmcal.reading.yards.yards import load

HERE = Path(__file__).resolve().parent
OUTFITS = sorted(path.parent.name for path in HERE.glob("*/told.json"))
GIVEN = [(outfit, day) for outfit in OUTFITS for day in json.loads((HERE / outfit / "told.json").read_text())]
EXPLAINED: dict[str, str] = yaml.safe_load((HERE / "explained.yaml").read_text())

Told = dict[str, dict[str, str]]


@cache
def shipped() -> Rulebook:
    return load_rulebook(folder("rules"))


@cache
def before(outfit: str, day: str) -> Told:
    """What the earlier version gave out: by task id, UID and code, what it stands for."""
    told = json.loads((HERE / outfit / "told.json").read_text())[day]
    return {**told, "tasks": dict.fromkeys(told["tasks"], "")}


@cache
def today(outfit: str, day: str) -> Told:
    """What today's version gives out from the same ledger on the same day."""
    kept = parse_ledger((HERE / outfit / "ledger_before.json").read_text(), "ledger.json", outfit)
    loaded = load(HERE / outfit / "yards", folder("rules"), shipped())
    plan = make_plan(loaded.outfit, loaded.book, date.fromisoformat(day).toordinal(), scope=Scope(explain=True))
    with pytest.MonkeyPatch.context() as patch, TemporaryDirectory() as place:
        patch.setattr(publishing, "engine", lambda: "no PDFs in this test")
        done = publish(plan, kept, Path(place) / "ledger.json", Path(place) / "out")
        events = Calendar.from_ical((Path(place) / "out" / "all-yards.ics").read_bytes()).walk("VEVENT")
    visits = {(visit.yard, visit.day) for visit in plan.visits}
    return {
        "tasks": dict.fromkeys((task.id for task in plan.tasks), ""),
        "uids": {str(e["UID"]): f"{e['DTSTART'].dt.isoformat()} {e['CATEGORIES'].to_ical().decode()}" for e in events},
        "codes": {
            sheet.code: f"{sheet.yard} {date.fromordinal(sheet.day).isoformat()}"
            for sheet in done.ledger.sheets
            if not sheet.superseded_by and (sheet.yard, sheet.day) in visits
        },
    }


def differing(outfit: str, day: str, what: str) -> set[str]:
    """What came, went, or stands for something else: a UID for another kind of entry, a code for another sheet.

    An entry may move to another day and keep its UID: that is what a UID is for.
    """
    then, now = before(outfit, day)[what], today(outfit, day)[what]
    if what == "uids":
        then, now = ({uid: text.partition(" ")[2] for uid, text in told.items()} for told in (then, now))
    return {key for key in {*then, *now} if then.get(key) != now.get(key)}


@pytest.mark.parametrize("outfit", OUTFITS)
def test_an_old_ledger_is_read_and_written_back_as_it_was(outfit: str) -> None:
    text = (HERE / outfit / "ledger_before.json").read_text()
    kept = parse_ledger(text, "ledger.json", outfit)
    assert kept.tasks
    assert kept.sheets
    assert {EntryKind.VISIT, EntryKind.STOP} <= {entry.kind for entry in kept.entries}
    assert ledger_text(kept) == text


@pytest.mark.parametrize("what", ["tasks", "uids", "codes"])
@pytest.mark.parametrize(("outfit", "day"), GIVEN)
def test_ids_uids_and_codes_stay_as_they_were(outfit: str, day: str, what: str) -> None:
    assert differing(outfit, day, what) - set(EXPLAINED) == set()


@pytest.mark.parametrize("outfit", OUTFITS)
def test_what_was_given_out_before_is_among_it(outfit: str) -> None:
    """The later plan of each outfit keeps UIDs and codes of the ledger: else the tests above would show nothing."""
    kept = parse_ledger((HERE / outfit / "ledger_before.json").read_text(), "ledger.json", outfit)
    told = before(outfit, max(day for name, day in GIVEN if name == outfit))
    assert len(set(told["uids"]) & {entry.uid for entry in kept.entries}) > len(told["uids"]) / 2
    assert len(set(told["codes"]) & {sheet.code for sheet in kept.sheets}) > len(told["codes"]) / 2


def test_every_explanation_explains_a_difference() -> None:
    some = {key for outfit, day in GIVEN for what in ("tasks", "uids", "codes") for key in differing(outfit, day, what)}
    assert set(EXPLAINED) - some == set()
    assert all(str(why).strip() for why in EXPLAINED.values())
