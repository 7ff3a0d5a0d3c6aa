"""The ledger: what it remembers, what it says has changed, how it takes damage, and the codes of printed sheets."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from publishing.feed_plan import (
    AS_OF,
    AWAY,
    COUNT_1,
    CUT,
    PLAN,
    STRIPS,
    STRIPS_OUT,
    VISITS,
    changed,
    day,
    moved,
    without,
)

from ipmcal.model.plan.tasks import Status
from ipmcal.publishing.calendar.feed import with_entries
from ipmcal.publishing.memory.changes import Change, ChangeKind, changes
from ipmcal.publishing.memory.codes import DIGITS, LETTERS, assign_code, find_sheet, successor
from ipmcal.publishing.memory.ledger import (
    KEEP_DAYS,
    Document,
    Ledger,
    LedgerError,
    LedgerSheet,
    ledger_text,
    parse_ledger,
    read_ledger,
    remember,
)

EMPTY = Ledger(PLAN.outfit)
LINES = (CUT, COUNT_1)


def full() -> Ledger:
    """A ledger that holds something of everything."""
    ledger = remember(with_entries(without(PLAN, "quarry/1"), with_entries(PLAN, EMPTY)), PLAN)
    _, ledger = assign_code(ledger, "alder", "alder/1", day(5, 8), LINES)
    _, ledger = assign_code(ledger, "alder", "alder/1", day(5, 15), LINES)
    return replace(ledger, documents=(Document("a.pdf", "aa"), Document("b.pdf", "bb")))


# --- the file ---


def test_what_is_written_is_read_back() -> None:
    ledger = full()
    assert ledger.entries
    assert ledger.gone
    assert parse_ledger(ledger_text(ledger), "ledger.json", PLAN.outfit) == ledger


def test_text_is_canonical() -> None:
    ledger = full()
    text = ledger_text(ledger)
    turned = replace(
        ledger,
        entries=ledger.entries[::-1],
        tasks=ledger.tasks[::-1],
        sheets=ledger.sheets[::-1],
        gone=ledger.gone[::-1],
        documents=ledger.documents[::-1],
    )
    assert ledger_text(turned) == text
    assert text == json.dumps(json.loads(text), sort_keys=True, ensure_ascii=False, indent=1) + "\n"
    assert json.loads(text)["version"] == 4


def test_text_in_any_script_is_written_as_it_stands() -> None:
    _, ledger = assign_code(EMPTY, "höhe", "v", AS_OF, ("é/\ud800",))
    text = ledger_text(ledger)
    assert "höhe" in text
    assert parse_ledger(text, "x", PLAN.outfit).sheets[0].lines == ("é/?",)


def test_no_file_is_an_empty_ledger(tmp_path: Path) -> None:
    assert read_ledger(tmp_path / "ledger.json", PLAN.outfit) == EMPTY
    (tmp_path / "ledger.json").write_text(ledger_text(full()), encoding="utf-8")
    assert read_ledger(tmp_path / "ledger.json", PLAN.outfit) == full()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"tasks": [', '"tasks": ', "ledger.json: damaged: "),
        ('"tasks": [', '"extra": 1, "tasks": [', "extra: Unexpected keyword argument"),
        ('"sequence": 0', '"sequence": "0"', "entries.0.sequence: Input should be a valid integer"),
        ('"sequence": 0', '"sequence": -1', "entries.0.sequence: Input should be greater"),
        ('"first": "2027-05-08"', '"first": "2027-05-38"', "entries.1.first: "),
        ('"first": "2027-05-08"', '"first": 7', "should be a date, written YYYY-MM-DD"),
        ('"last": "2027-05-08"', '"last": "2027-05-01"', "ends before it begins"),
        ('T00:00:00Z"', 'T00:00:00+01:00"', "not in UTC"),
        ('T00:00:00Z"', 'T00:00:00"', "not in UTC"),
        ('"kind": "visit"', '"kind": "feast"', "entries.1.kind: "),
        ('"code": "C3"', '"code": "A2"', "the sheet code A2 stands in it twice"),
        ('"name": "b.pdf"', '"name": "a.pdf"', "the document a.pdf stands in it twice"),
        ('"outfit": "invented_club",', "", "outfit: Field required"),
        ('"version": 4', '"version": 0', "version 0 was never written"),
    ],
)
def test_damage_is_said_once_with_the_file_and_what_to_do(old: str, new: str, said: str) -> None:
    text = ledger_text(full())
    assert old in text
    with pytest.raises(LedgerError) as caught:
        parse_ledger(text.replace(old, new, 1), "ledger.json", PLAN.outfit)
    message = str(caught.value)
    assert message.startswith("ledger.json: damaged: ")
    assert said in message
    assert "Put back the last good copy" in message
    assert message.count("\n") == 0


@pytest.mark.parametrize("text", ["", "[]", "null", "7", "{", "[" * 100_000, '{"version": true}'])
def test_what_is_no_ledger_at_all_is_damage(text: str) -> None:
    with pytest.raises(LedgerError, match="damaged"):
        parse_ledger(text, "ledger.json", PLAN.outfit)


def test_bytes_that_are_no_text_are_damage(tmp_path: Path) -> None:
    (tmp_path / "ledger.json").write_bytes(b'{"a": "\xff"}')
    with pytest.raises(LedgerError, match=r"ledger\.json: damaged: byte 8 is not UTF-8"):
        read_ledger(tmp_path / "ledger.json", PLAN.outfit)


def test_newer_version_and_other_outfit_are_told_apart_from_damage() -> None:
    text = ledger_text(full())
    with pytest.raises(LedgerError, match=r"newer ipmcal.*Update"):
        parse_ledger(text.replace('"version": 4', '"version": 5, "more": 1'), "ledger.json", PLAN.outfit)
    with pytest.raises(LedgerError, match="belongs to the outfit 'invented_club', not to 'other'"):
        parse_ledger(text, "ledger.json", "other")


def test_a_mark_stands_before_every_code() -> None:
    code, marked = assign_code(replace(EMPTY, mark="K7"), "alder", "alder/1", day(5, 8), LINES)
    assert code.startswith("K7")
    assert find_sheet(marked, code.lower()) is not None
    text = ledger_text(marked)
    assert parse_ledger(text, "ledger.json", marked.outfit).mark == "K7"


# --- what changed ---


def test_first_plan_is_all_new_and_the_same_plan_again_is_no_news() -> None:
    assert {c.kind for c in changes(EMPTY, PLAN)} == {ChangeKind.NEW}
    assert len(changes(EMPTY, PLAN)) == len(PLAN.tasks)
    assert changes(remember(EMPTY, PLAN), replace(PLAN, as_of=AS_OF + 7)) == ()


def test_moved_gone_done_and_new_tasks_are_told() -> None:
    plan = moved(PLAN, "alder/1", 7)
    plan = changed(plan, COUNT_1, status=Status.DONE, planned=None, done=day(5, 6))
    before = replace(without(PLAN, "quarry/1"), as_of=AS_OF - 1)
    ledger = remember(EMPTY, before)
    plan = replace(plan, tasks=tuple(t for t in plan.tasks if t.id != STRIPS))
    found = {c.task: c for c in changes(ledger, plan)}
    planned, done = Status.PLANNED, Status.DONE
    assert found[CUT] == Change(ChangeKind.MOVED, CUT, "alder", day(5, 8), day(5, 15), planned, planned)
    assert found[COUNT_1] == Change(ChangeKind.STATUS, COUNT_1, "alder", day(5, 8), day(5, 6), planned, done)
    assert found[AWAY] == Change(ChangeKind.NEW, AWAY, "quarry", None, day(5, 9), None, planned)
    assert found[STRIPS] == Change(ChangeKind.GONE, STRIPS, "alder", day(8, 14), None, planned, None)
    assert STRIPS_OUT not in found
    days = [c.now or c.was or 0 for c in changes(ledger, plan)]
    assert days == sorted(days)
    assert changes(remember(ledger, plan), plan) == ()


def test_closed_tasks_that_go_are_no_news() -> None:
    ledger = remember(EMPTY, changed(PLAN, STRIPS, status=Status.MISSED, planned=None))
    assert STRIPS not in [c.task for c in changes(ledger, without(PLAN, "alder/2"))]


def test_plan_of_the_next_season_takes_nothing_away() -> None:
    following = replace(PLAN, yards=tuple(replace(view, season=2028) for view in PLAN.yards), tasks=())
    ledger = remember(EMPTY, PLAN)
    assert changes(ledger, following) == ()
    assert len(changes(ledger, replace(PLAN, tasks=()))) == len(PLAN.tasks)
    assert changes(remember(ledger, following), PLAN) == ()  # and still knows this one
    assert remember(ledger, replace(following, as_of=day(1, 1, 2032))).tasks == ()


# --- sheets ---


def test_codes_are_two_signs_that_can_not_be_mistaken() -> None:
    """Common practice: of each pair that looks alike at most one stands in the alphabet."""
    for one, other in ("I1", "O0", "B8", "S5", "Z2", "G6", "L1", "Q0", "UV"):
        assert not (one in LETTERS + DIGITS and other in LETTERS + DIGITS)
    ledger, codes = EMPTY, []
    for n in range(len(LETTERS) * len(DIGITS)):
        code, ledger = assign_code(ledger, "alder", f"v{n}", AS_OF + n, (f"t{n}",))
        codes.append(code)
    assert len(set(codes)) == 136
    assert all(len(code) == 2 and code[0] in LETTERS and code[1] in DIGITS for code in codes)
    assert all(a[0] != b[0] and a[1] != b[1] for a, b in pairwise(codes))
    assert not any(sheet.formerly or sheet.superseded_by for sheet in ledger.sheets)


def test_same_sheet_printed_again_keeps_its_code() -> None:
    code, ledger = assign_code(EMPTY, "alder", "alder/1", day(5, 8), LINES)
    again, same = assign_code(ledger, "alder", "alder/1", day(5, 8), LINES)
    assert (again, same) == (code, ledger)
    renamed, after = assign_code(ledger, "alder", "alder/2", day(5, 8), LINES)
    assert renamed == code
    assert [sheet.visit for sheet in after.sheets] == ["alder/2"]


@pytest.mark.parametrize(
    ("on", "lines"),
    [(day(5, 15), LINES), (day(5, 8), LINES[::-1]), (day(5, 8), (*LINES, STRIPS)), (day(5, 8), (STRIPS,))],
    ids=["another day", "another order", "one task more", "all other tasks"],
)
def test_changed_sheet_has_a_new_code_and_takes_the_place_of_the_old(on: int, lines: tuple[str, ...]) -> None:
    old, ledger = assign_code(EMPTY, "alder", "alder/1", day(5, 8), LINES)
    other, ledger = assign_code(ledger, "quarry", "quarry/1", day(5, 8), (AWAY,))
    new, ledger = assign_code(ledger, "alder", "alder/1", on, lines)
    assert len({old, other, new}) == 3
    was, now, untouched = (find_sheet(ledger, code) for code in (old, new, other))
    assert was is not None
    assert was.lines == LINES  # the old paper can still be read
    assert successor(ledger, was) == now
    assert untouched is not None
    assert successor(ledger, untouched) is None


def test_going_back_to_an_old_sheet_brings_its_code_back() -> None:
    first, ledger = assign_code(EMPTY, "alder", "v", day(5, 8), LINES)
    second, ledger = assign_code(ledger, "alder", "v", day(5, 15), LINES)
    back, ledger = assign_code(ledger, "alder", "v", day(5, 8), LINES)
    assert back == first
    sheets = {sheet.code: sheet for sheet in ledger.sheets}
    assert sheets[first].superseded_by == 0
    assert successor(ledger, sheets[second]) == sheets[first]


def crowded(as_of: int | None = None) -> Ledger:
    """A ledger with every code of two signs in use, days ascending."""
    ledger = replace(EMPTY, as_of=as_of)
    for n in range(136):
        _, ledger = assign_code(ledger, "alder", f"v{n}", AS_OF + n, (f"t{n}",))
    return ledger


def test_with_all_codes_used_the_oldest_superseded_one_is_used_again_and_that_is_said() -> None:
    ledger = crowded()
    by_serial = {sheet.serial: sheet for sheet in ledger.sheets}
    third, ninth = by_serial[3], by_serial[9]
    sheets = tuple(replace(s, superseded_by=136) if s.serial in (3, 9) else s for s in ledger.sheets)
    ledger = replace(ledger, sheets=sheets)
    code, ledger = assign_code(ledger, "quarry", "new", AS_OF + 500, ("new",))
    assert code == third.code
    assert find_sheet(ledger, code) == LedgerSheet(
        code, 137, "quarry", "new", AS_OF + 500, ("new",), formerly="alder 2027-04-03"
    )
    code, ledger = assign_code(ledger, "quarry", "newer", AS_OF + 501, ("newer",))
    assert code == ninth.code
    assert len(ledger.sheets) == 136


def test_with_none_superseded_the_oldest_past_one_goes_and_else_codes_grow() -> None:
    code, _ = assign_code(crowded(AS_OF + 1), "quarry", "new", AS_OF + 500, ("new",))
    assert code == crowded().sheets[0].code == "A2"
    ledger = crowded(AS_OF)
    for n in (1, 2):
        code, ledger = assign_code(ledger, "quarry", "new", AS_OF + 500 + n, (f"new{n}",))
        assert len(code) == 3
    assert len({sheet.code for sheet in ledger.sheets}) == 138


def test_sheet_is_found_by_its_code_however_it_is_typed() -> None:
    code, ledger = assign_code(EMPTY, "alder", "v", day(5, 8), LINES)
    assert find_sheet(ledger, f" {code.lower()} ") == ledger.sheets[0]
    assert find_sheet(ledger, "I1") is None


def test_sheets_older_than_two_years_are_forgotten() -> None:
    _, ledger = assign_code(EMPTY, "alder", "v", day(5, 8), LINES)
    assert remember(ledger, replace(PLAN, as_of=day(5, 8) + KEEP_DAYS)).sheets == ledger.sheets
    after = remember(ledger, replace(PLAN, as_of=day(5, 8) + KEEP_DAYS + 1))
    assert after.sheets == ()
    _, after = assign_code(after, "alder", "v", day(5, 9), LINES)
    assert after.sheets[0].serial == 2  # serials are never given out twice


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.permutations(range(4)), st.integers(1, 4)), max_size=30))
def test_last_sheet_of_a_task_is_the_one_that_stands(prints: list[tuple[int, list[int], int]]) -> None:
    ledger = EMPTY
    latest: dict[str, str] = {}
    for on, order, count in prints:
        lines = tuple(f"t{i}" for i in order[:count])
        code, ledger = assign_code(ledger, "alder", f"v{on}", AS_OF + on, lines)
        latest |= dict.fromkeys(lines, code)
        sheet = find_sheet(ledger, code)
        assert sheet is not None
        assert (sheet.day, sheet.lines, sheet.superseded_by) == (AS_OF + on, lines, 0)
    current = [sheet for sheet in ledger.sheets if not sheet.superseded_by]
    assert len({sheet.code for sheet in ledger.sheets}) == len(ledger.sheets)
    held = [task for sheet in current for task in sheet.lines]
    assert len(held) == len(set(held))
    assert all(latest[task] == sheet.code for sheet in current for task in sheet.lines)


# --- all of it ---


def test_whole_publication_twice_changes_no_byte() -> None:
    def publish(ledger: Ledger) -> Ledger:
        ledger = remember(ledger, PLAN)
        for v in VISITS:
            _, ledger = assign_code(ledger, v.yard, v.id, v.day, v.tasks)
        return with_entries(PLAN, ledger)

    once = publish(EMPTY)
    assert ledger_text(publish(parse_ledger(ledger_text(once), "x", PLAN.outfit))) == ledger_text(once)
