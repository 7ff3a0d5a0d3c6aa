"""Frozen: ledgers that an earlier version wrote are read, and ids, UIDs and sheet codes go on from them.

Each folder holds an invented outfit as it was, the ledger of its plans up to a day, and, by the day of a plan after
them, what that version itself gave out: task ids, UIDs of the calendar, codes of the sheets. None is ever made anew: a
task's id that comes or goes is a mistake, or is told in ``explained.yaml``. PDFs are left out; nothing here hangs on
them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
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
from ipmcal.publishing.memory.assumed import with_assumed
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
    as_of = date.fromisoformat(day).toordinal()
    told = with_assumed(loaded.outfit, kept, loaded.book, as_of)
    plan = make_plan(told, loaded.book, as_of, scope=Scope(explain=True))
    with pytest.MonkeyPatch.context() as patch, TemporaryDirectory() as place:
        patch.setattr(publishing, "engine", lambda: "no PDFs in this test")
        done = publish(plan, kept, Path(place) / "ledger.json", Path(place) / "out")
        events = Calendar.from_ical((Path(place) / "out" / "feeds" / "all-yards.ics").read_bytes()).walk("VEVENT")
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


def by_what(told: Mapping[str, str]) -> dict[str, set[str]]:
    """UIDs by the day and kind of the entry that they stand for."""
    found: dict[str, set[str]] = {}
    for uid, what in told.items():
        found.setdefault(what, set()).add(uid)
    return found


def differing(outfit: str, day: str) -> set[str]:
    """The ids of tasks that came or went."""
    return before(outfit, day)["tasks"].keys() ^ today(outfit, day)["tasks"].keys()


@pytest.mark.parametrize("outfit", OUTFITS)
def test_an_old_ledger_is_read_and_all_of_it_is_written_back(outfit: str) -> None:
    text = (HERE / outfit / "ledger_before.json").read_text()
    kept = parse_ledger(text, "ledger.json", outfit)
    assert kept.tasks
    assert kept.sheets
    assert {EntryKind.VISIT, EntryKind.STOP} <= {entry.kind for entry in kept.entries}
    old, new = json.loads(text), json.loads(ledger_text(kept))
    for task in new["tasks"]:  # what version 1 did not know
        assert [task.pop(key) for key in ("word", "value", "done", "look")] == ["", "", None, False]
    assert (new.pop("version"), old.pop("version")) == (4, 1)
    assert [new.pop(key) for key in ("since", "born", "mark")] == [None, "", ""]
    assert all([item.pop(key) for key in ("yard", "first", "summary")] == ["", None, ""] for item in new["gone"])
    assert new == old


@pytest.mark.parametrize(("outfit", "day"), GIVEN)
def test_ids_stay_as_they_were_and_what_came_or_went_is_explained(outfit: str, day: str) -> None:
    assert {key for key in differing(outfit, day) if not any(re.fullmatch(some, key) for some in EXPLAINED)} == set()


@pytest.mark.parametrize(("outfit", "day"), GIVEN)
def test_what_still_stands_on_a_day_keeps_its_uid(outfit: str, day: str) -> None:
    """Nearly every entry that the old ledger knew is the same entry where one of its kind stands on its day; another
    that was moved to that day may have brought its own UID. No UID changes kind.
    """
    kept = parse_ledger((HERE / outfit / "ledger_before.json").read_text(), "ledger.json", outfit)
    known = {entry.uid for entry in kept.entries}
    then, now = before(outfit, day)["uids"], today(outfit, day)["uids"]
    still = {what: uids for what, uids in by_what(then).items() if uids <= known and what in by_what(now)}
    held = sum(len(uids & by_what(now)[what]) for what, uids in still.items())
    assert held >= 0.5 * sum(map(len, still.values())) > 5
    assert all(then[uid].partition(" ")[2] == now[uid].partition(" ")[2] for uid in then.keys() & now.keys())


@pytest.mark.parametrize(("outfit", "day"), GIVEN)
def test_a_code_goes_on_meaning_its_sheet(outfit: str, day: str) -> None:
    """A code that the old ledger gave out stands for that sheet, or for none."""
    given, now = codes_given(outfit), today(outfit, day)["codes"]
    assert {code: now[code] for code in given.keys() & now.keys()} == {
        code: given[code] for code in given.keys() & now.keys()
    }


def test_a_sheet_that_did_not_change_keeps_its_code() -> None:
    """On one of the days at least some are as they were: else the test above would show nothing."""
    assert any(codes_given(outfit).keys() & today(outfit, day)["codes"].keys() for outfit, day in GIVEN)


def codes_given(outfit: str) -> dict[str, str]:
    """The codes of an old ledger, with the sheets that they stand for."""
    kept = parse_ledger((HERE / outfit / "ledger_before.json").read_text(), "ledger.json", outfit)
    return {sheet.code: f"{sheet.yard} {date.fromordinal(sheet.day).isoformat()}" for sheet in kept.sheets}


@pytest.mark.parametrize("outfit", OUTFITS)
def test_what_was_given_out_before_is_among_it(outfit: str) -> None:
    """The later plan of each outfit keeps UIDs and codes of the ledger: else the tests above would show nothing."""
    kept = parse_ledger((HERE / outfit / "ledger_before.json").read_text(), "ledger.json", outfit)
    told = before(outfit, max(day for name, day in GIVEN if name == outfit))
    assert len(set(told["uids"]) & {entry.uid for entry in kept.entries}) > len(told["uids"]) / 2
    assert len(set(told["codes"]) & {sheet.code for sheet in kept.sheets}) > len(told["codes"]) / 2


def test_every_explanation_explains_a_difference() -> None:
    some = {key for outfit, day in GIVEN for key in differing(outfit, day)}
    assert [pattern for pattern in EXPLAINED if not any(re.fullmatch(pattern, key) for key in some)] == []
    assert all(str(why).strip() for why in EXPLAINED.values())
