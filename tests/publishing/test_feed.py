"""The feed against the standards (RFC 5545, RFC 7986, RFC 5546) and against parsers that we didn't write.

Each check names the section that asks for it; those on octets and parsers stand in ``ics_checks.py``.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from publishing.feed_plan import (
    ALDER,
    AS_OF,
    AWAY,
    COUNT_1,
    COUNT_2,
    CUT,
    PLAN,
    STRIPS,
    TASKS,
    VISITS,
    changed,
    day,
    moved,
    visit,
    without,
)
from publishing.ics_checks import check_octets, check_parsers, ics, lines_of, on_day

from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.model.plan.views import AlarmsView
from ipmcal.model.values.words import short_day
from ipmcal.publishing.calendar.feed import feed, feeds, imports, with_entries
from ipmcal.publishing.calendar.writing import calendar
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.ledger import KEEP_DAYS, EntryKind, FeedEntry, Ledger, ledger_text, parse_ledger
from ipmcal.publishing.paper.sheet import sheet_lines

EMPTY = Ledger(PLAN.outfit)
NASTY = (
    "a,b;c\\n\\ d\r\nBEGIN:VALARM\rx\x00\x07\x0b\x85\u2028<b>&amp;</b> \N{HONEYBEE}\N{ZERO WIDTH JOINER}é"
    + "w" * 500
    + "\ud800"
)


def entry_of(ledger: Ledger, kind: EntryKind, task_id: str) -> FeedEntry:
    """The one entry of a kind that is about a task."""
    (entry,) = [e for e in ledger.entries if e.kind is kind and task_id in e.tasks]
    return entry


def published(*plans: Plan) -> Ledger:
    """The ledger after these plans were published one after the other, each time written and read back."""
    ledger = EMPTY
    for plan in plans:
        ledger = parse_ledger(ledger_text(with_entries(plan, ledger)), "ledger.json", plan.outfit)
    return ledger


@pytest.mark.parametrize("yard", [None, "alder", "quarry"])
def test_feed_is_what_the_standard_asks_for(yard: str | None) -> None:
    content, _ = feed(PLAN, EMPTY, yard)
    check_octets(content)
    check_parsers(content)


def test_each_yard_has_its_calendar_and_one_has_all() -> None:
    written, ledger = feeds(PLAN, EMPTY)
    assert list(written) == [None, "alder", "quarry"]
    names = {key: str(icalendar.Calendar.from_ical(written[key])["NAME"]) for key in written}
    assert names == {None: "Invented Club", "alder": "Alder Yard", "quarry": "Quarry"}  # RFC 7986 5.1
    uids = {key: set(re.findall(rb"UID:(\S+)", written[key])) for key in written}
    assert uids[None] == uids["alder"] | uids["quarry"]
    assert uids["alder"].isdisjoint(uids["quarry"])
    assert written["alder"] == feed(PLAN, ledger, "alder")[0]
    with pytest.raises(KeyError):
        feed(PLAN, EMPTY, "nowhere")


def test_days_on_which_a_reader_sees_the_events() -> None:
    """RFC 5545 3.6.1: DTEND is the day after."""
    both, _ = feed(PLAN, EMPTY)
    assert on_day(both, day(5, 7)) == ["Quarry: visit of Sun 9 May could be moved"]
    assert on_day(both, day(5, 8)) == [
        "Count mites 1, 2; Cut 1 T1: Alder Yard",
        "Quarry: visit of Sun 9 May could be moved",
    ]
    assert on_day(both, day(5, 11)) == ["Quarry: visit of Sun 9 May could be moved"]
    assert on_day(both, day(5, 12)) == []
    assert on_day(both, day(5, 13)) == ["Last good day: Cut 1 T1: Alder Yard"]
    assert on_day(both, day(5, 14)) == []


def test_visit_lists_its_tasks_in_walking_order() -> None:
    text = entry_of(with_entries(PLAN, EMPTY), EntryKind.VISIT, CUT).description
    assert text.split("\n\n")[1:] == [
        "Hive 1\n- Trap T1: Cut the comb off. CUT BY Thu 13 May\n- Count mites.",
        "Hive 2 (Blue door)\n- Count mites.",
    ]
    assert "Rain date: Sun 9 May." in text
    strips = entry_of(with_entries(PLAN, EMPTY), EntryKind.VISIT, STRIPS).description
    assert strips.index("Whole yard") < strips.index("Hive 2")
    assert "Take the strips out. LAST GOOD DAY Fri 20 Aug" in strips
    named = with_entries(changed(PLAN, CUT, do="T1: look, then cut."), EMPTY)
    assert "- T1: look, then cut. CUT BY" in entry_of(named, EntryKind.VISIT, CUT).description
    frozen = with_entries(changed(PLAN, CUT, lid="OUT BY"), EMPTY)
    assert "- Trap T1: Cut the comb off. OUT BY Thu 13 May" in entry_of(frozen, EntryKind.VISIT, CUT).description
    assert strips.endswith("Mind: Read the label in your hand.")


def test_task_of_a_colony_that_the_yard_no_longer_shows_is_still_said() -> None:
    plan = replace(PLAN, yards=(replace(ALDER, colonies=ALDER.colonies[1:]), PLAN.yards[1]))
    text = entry_of(with_entries(plan, EMPTY), EntryKind.VISIT, CUT).description
    assert text.split("\n\n")[-1].startswith("Hive 1\n- Trap T1")


def test_done_and_declined_tasks_have_no_last_good_day() -> None:
    for status in (Status.DONE, Status.MISSED):
        ledger = with_entries(changed(PLAN, CUT, status=status, planned=None, done=None), EMPTY)
        assert not [e for e in ledger.entries if e.kind is EntryKind.STOP and CUT in e.tasks]
        assert f"({status})" in entry_of(ledger, EntryKind.VISIT, CUT).description


def test_impossible_task_keeps_its_last_good_day() -> None:
    plan = changed(PLAN, CUT, status=Status.IMPOSSIBLE, planned=None, rain_date=None)
    assert "No visit falls into its days." in entry_of(with_entries(plan, EMPTY), EntryKind.STOP, CUT).description


def test_the_last_good_day_of_a_course_names_what_has_to_come_out() -> None:
    """Two courses may be under way in one hive; a trap frame says its own name."""
    plan = changed(PLAN, CUT, trap=None, method="amitraz_strip", step="take_out")
    stop = entry_of(with_entries(plan, EMPTY), EntryKind.STOP, CUT)
    assert stop.summary == "Last good day: Cut the comb off 1: Alder Yard"
    assert stop.description.startswith("1: Cut the comb off. (amitraz strip)")


def test_what_has_one_last_good_day_in_a_yard_stands_together_and_keeps_its_uid() -> None:
    """Two hives, one day: one entry; once one of them is done, the entry goes on with the other."""
    due = replace(next(t for t in PLAN.tasks if t.id == CUT).window)
    plan = changed(PLAN, COUNT_2, window=due, trap="T9", step="cut", do="Cut the comb off.")
    both = with_entries(plan, EMPTY)
    stop = entry_of(both, EntryKind.STOP, CUT)
    assert (stop.tasks, stop.summary) == ((COUNT_2, CUT), "Last good day: Cut 2 T9, 1 T1: Alder Yard")
    assert stop.description.startswith("2 T9, 1 T1: Cut the comb off.\nPlanned for Sat 8 May.")
    after = with_entries(changed(plan, CUT, status=Status.DONE, planned=None, done=day(5, 8)), both)
    left = entry_of(after, EntryKind.STOP, COUNT_2)
    assert (left.uid, left.sequence, left.tasks) == (stop.uid, stop.sequence, (COUNT_2,))
    assert not [e for e in after.entries if e.kind is EntryKind.STOP and CUT in e.tasks]


def alarms_of(plan: Plan) -> dict[str, object]:
    """The triggers by the title of their event, as a reader of another make finds them."""
    content, _ = feed(plan, EMPTY)
    check_octets(content)
    check_parsers(content)
    read = ics.Calendar(content.decode())
    assert [e.name for e in read.events if e.alarms and any(a.display_text != e.name for a in e.alarms)] == []
    return {e.name: alarm.trigger for e in read.events for alarm in e.alarms}


def test_the_phone_rings_the_evening_before_a_visit_and_before_a_last_good_day_without_one() -> None:
    """RFC 5545 3.8.6.3: of an all-day event a trigger counts from midnight of its day."""
    assert alarms_of(PLAN) == {}
    ringing = replace(PLAN, yards=tuple(replace(view, alarms=AlarmsView(6, 64)) for view in PLAN.yards))
    visits = {e.summary: timedelta(hours=-6) for e in with_entries(PLAN, EMPTY).entries if e.kind is EntryKind.VISIT}
    assert alarms_of(ringing) == visits
    lost = changed(ringing, CUT, status=Status.IMPOSSIBLE, planned=None, rain_date=None)
    assert alarms_of(lost)["Last good day: Cut 1 T1: Alder Yard"] == timedelta(hours=-64)  # Mon 10 May, 8 o'clock
    over = replace(lost, as_of=day(5, 14))
    assert not [title for title in alarms_of(over) if "Cut 1 T1: Alder" in title and "due" in title]


def test_a_title_says_the_work_what_can_t_wait_first_and_the_code_of_its_sheet() -> None:
    visited = next(one for one in PLAN.visits if CUT in one.tasks)
    plan = replace(PLAN, visits=tuple(replace(v, must=(CUT,)) if v is visited else v for v in PLAN.visits))
    visited = next(one for one in plan.visits if CUT in one.tasks)
    stop = next(task.window.hard_stop for task in plan.tasks if task.id == CUT)
    bare = entry_of(with_entries(plan, EMPTY), EntryKind.VISIT, CUT)
    assert stop is not None
    assert bare.summary.partition(";")[0].endswith(f"by {short_day(stop)}") or f"by {short_day(stop)}:" in bare.summary
    assert bare.summary.startswith("Cut 1 T1")
    assert bare.description.startswith("Must today: 1 T1")
    code, ledger = assign_code(EMPTY, visited.yard, visited.id, visited.day, sheet_lines(plan, visited))
    coded = entry_of(with_entries(plan, ledger), EntryKind.VISIT, CUT)
    assert coded.summary == f"{bare.summary} · {code}"
    assert coded.sequence == bare.sequence


def test_yard_with_nothing_planned_still_has_a_valid_calendar() -> None:
    """RFC 5545 3.6: at least one component."""
    content, ledger = feed(replace(PLAN, tasks=(), visits=()), EMPTY, "quarry")
    check_octets(content)
    assert check_parsers(content) == [("Quarry: no visit planned",) * 2]
    content, _ = feed(PLAN, ledger, "quarry")
    assert b"no visit planned" not in content


def test_calendar_name_is_escaped() -> None:
    """RFC 5545 3.3.11 for NAME, and 3.8.8.2 for X- properties, which are text as well."""
    plan = replace(PLAN, outfit_name=NASTY)
    lines = lines_of(feed(plan, EMPTY)[0])
    (name,) = [line for line in lines if line.startswith(b"NAME:")]
    (other,) = [line for line in lines if line.startswith(b"X-WR-CALNAME:")]
    assert name.removeprefix(b"NAME:").startswith(rb"a\,b\;c/n/ d BEGIN:VALARM x")
    assert other.removeprefix(b"X-WR-CALNAME:") == name.removeprefix(b"NAME:")


# --- publishing again ---


def test_same_plan_gives_the_same_bytes() -> None:
    first, ledger = feeds(PLAN, EMPTY)
    again, same = feeds(PLAN, ledger)
    assert (again, same) == (first, ledger)
    later, after = feeds(replace(PLAN, as_of=AS_OF + 20), ledger)
    assert (later, after) == (first, ledger)


def test_moved_visit_keeps_its_uid_and_its_sequence_rises() -> None:
    """RFC 5545 3.8.4.7 and 3.8.7.4; RFC 5546 2.1.4: SEQUENCE rises when DTSTART or DTEND changes."""
    for days in (7, -7):
        before, after = published(PLAN), published(PLAN, replace(moved(PLAN, "alder/1", days), as_of=AS_OF + 9))
        old, new = entry_of(before, EntryKind.VISIT, CUT), entry_of(after, EntryKind.VISIT, CUT)
        assert (new.uid, new.first, new.sequence) == (old.uid, old.first + days, old.sequence + 1)
        assert new.stamp == datetime(2027, 4, 10, tzinfo=UTC) > old.stamp
        stop = entry_of(after, EntryKind.STOP, CUT)  # says another visit, on the same last good day
        assert (stop.sequence, stop.stamp) == (0, new.stamp)
        assert entry_of(before, EntryKind.VISIT, STRIPS) == entry_of(after, EntryKind.VISIT, STRIPS)
        content = calendar(PLAN, after, "alder")
        check_octets(content)
        assert len(re.findall(rb"SEQUENCE:1", content)) == 1


def test_moved_range_rises_with_its_visit() -> None:
    after = published(PLAN, moved(PLAN, "quarry/1", 3))
    assert entry_of(after, EntryKind.RANGE, AWAY).sequence == entry_of(after, EntryKind.VISIT, AWAY).sequence == 1


@pytest.mark.parametrize(("latest", "shown"), [(day(5, 7), 0), (day(5, 8), 1), (day(5, 20), 1), (day(5, 21), 0)])
def test_range_is_shown_where_it_is_more_than_a_day_and_no_bar_across_the_month(latest: int, shown: int) -> None:
    plan = replace(PLAN, visits=(replace(VISITS[1], day=day(5, 7), earliest=day(5, 7), latest=latest),))
    assert len([e for e in with_entries(plan, EMPTY).entries if e.kind is EntryKind.RANGE]) == shown


def test_range_that_has_begun_is_no_news_every_day() -> None:
    def on(as_of: int) -> Plan:
        left = (replace(v, earliest=max(v.earliest, as_of)) for v in PLAN.visits)
        return replace(PLAN, as_of=as_of, visits=tuple(left))

    before, begun = published(PLAN), published(PLAN, on(day(5, 7)))
    assert entry_of(begun, EntryKind.RANGE, AWAY) == entry_of(before, EntryKind.RANGE, AWAY)
    assert "Could be moved until Tue 11 May." in entry_of(begun, EntryKind.VISIT, AWAY).description
    assert with_entries(on(day(5, 8)), begun) == begun
    last = replace(on(day(5, 8)), visits=(replace(on(day(5, 8)).visits[1], latest=day(5, 9)),))
    assert "Could be moved" not in entry_of(with_entries(last, begun), EntryKind.VISIT, AWAY).description


def test_wording_alone_changes_the_stamp_and_not_the_sequence() -> None:
    """RFC 5546 2.1.4 leaves SUMMARY and DESCRIPTION out; RFC 5545 3.8.7.3 for LAST-MODIFIED."""
    worded = replace(changed(PLAN, COUNT_1, do="Count the mites."), as_of=AS_OF + 1)
    old, new = (entry_of(ledger, EntryKind.VISIT, CUT) for ledger in (published(PLAN), published(PLAN, worded)))
    assert (new.uid, new.sequence) == (old.uid, old.sequence)
    assert new.stamp == old.stamp + timedelta(days=1)


def test_stamps_rise_within_a_day_and_when_the_day_goes_back() -> None:
    plans = [changed(PLAN, COUNT_1, do=f"Count {n}.") for n in range(3)]
    stamp = entry_of(published(*plans), EntryKind.VISIT, COUNT_1).stamp
    assert stamp == datetime(2027, 4, 1, 0, 0, 2, tzinfo=UTC)
    earlier = replace(plans[0], as_of=AS_OF - 30)
    assert entry_of(published(*plans, earlier), EntryKind.VISIT, COUNT_1).stamp == stamp + timedelta(seconds=1)


def test_vanished_entry_is_left_out_and_comes_back_with_a_higher_sequence() -> None:
    """RFC 5546 2.1.4: what is sent for a UID must not go back."""
    first = entry_of(published(PLAN), EntryKind.VISIT, AWAY)
    dropped = published(PLAN, without(PLAN, "quarry/1"))
    assert [e.kind for e in dropped.entries if e.yard == "quarry"] == [EntryKind.EMPTY]
    back = entry_of(published(PLAN, without(PLAN, "quarry/1"), PLAN), EntryKind.VISIT, AWAY)
    assert (back.uid, back.sequence, back.stamp > first.stamp) == (first.uid, 1, True)


def test_what_fell_away_is_cancelled_in_what_is_imported_by_hand_and_only_there() -> None:
    """RFC 5545 3.8.1.11, RFC 5546 2.1.4: cancelled, one change later; back again, not earlier."""
    first = entry_of(published(PLAN), EntryKind.VISIT, AWAY)
    dropped = without(PLAN, "quarry/1")
    content, ledger = imports(dropped, published(PLAN))
    check_octets(content[None])
    told = {str(e["uid"]): e for e in icalendar.Calendar.from_ical(content[None]).walk("VEVENT")}
    off = [uid for uid, event in told.items() if event.get("status") == "CANCELLED"]
    assert first.uid in off
    assert told[first.uid]["sequence"] == first.sequence + 1
    assert told[first.uid]["summary"] == first.summary
    assert first.uid.encode() in content["quarry"]
    assert first.uid.encode() not in content["alder"]
    assert b"CANCELLED" not in feeds(dropped, published(PLAN))[0][None]
    back, _ = imports(PLAN, ledger)
    again = {str(e["uid"]): e for e in icalendar.Calendar.from_ical(back[None]).walk("VEVENT")}
    assert not [e for e in again.values() if e.get("status") == "CANCELLED"]
    assert again[first.uid]["sequence"] >= told[first.uid]["sequence"]
    assert again[first.uid]["dtstamp"].dt > told[first.uid]["dtstamp"].dt
    over, _ = imports(replace(dropped, as_of=first.last + 1), ledger)
    assert first.uid.encode() not in over[None]


# --- whose UID ---


def visits_of(*groups: tuple[int, str, tuple[str, ...]]) -> Plan:
    """The plan with these visits to Alder Yard only."""
    return replace(PLAN, visits=tuple(visit(name, "alder", on, tasks) for on, name, tasks in groups))


A, B, C, D = (TASKS[i].id for i in (0, 1, 2, 5))


def test_visit_inherits_from_the_one_that_shares_most_tasks() -> None:
    old = visits_of((day(5, 8), "x", (A, B, C)), (day(6, 5), "y", (D,)))
    new = visits_of((day(5, 15), "y", (A,)), (day(6, 12), "z", (B, C, D)))
    uids = {e.tasks: e.uid for e in published(old).entries if e.kind is EntryKind.VISIT}
    after = {e.tasks: e.uid for e in published(old, new).entries if e.kind is EntryKind.VISIT}
    assert after[B, C, D] == uids[A, B, C]
    assert after[A,] not in uids.values()


def test_ties_go_to_the_earliest_day_then_to_the_id() -> None:
    old = visits_of((day(5, 8), "x", (A, B)), (day(6, 5), "y", (C, D)))
    swapped = visits_of((day(5, 9), "q", (C, A)), (day(6, 6), "p", (B, D)))
    uids = {e.first: e.uid for e in published(old).entries if e.kind is EntryKind.VISIT}
    after = {e.first: e.uid for e in published(old, swapped).entries if e.kind is EntryKind.VISIT}
    assert after == {day(5, 9): uids[day(5, 8)], day(6, 6): uids[day(6, 5)]}
    same_day = visits_of((day(5, 9), "q", (A,)), (day(5, 9), "p", (B,)))
    after_ids = {e.tasks: e.uid for e in published(old, same_day).entries if e.kind is EntryKind.VISIT}
    assert after_ids[B,] == uids[day(5, 8)]


def test_new_visit_does_not_take_a_uid_that_is_in_use() -> None:
    """A visit of A and B grew, and then split: the smaller half may not be given the first name again."""
    plans = (
        visits_of((day(5, 8), "x", (A, B))),
        visits_of((day(5, 8), "x", (A, B, C, D, STRIPS))),
        visits_of((day(5, 8), "x", (C, D, STRIPS)), (day(5, 15), "y", (A, B))),
    )
    ledger = published(*plans)
    assert entry_of(ledger, EntryKind.VISIT, C).uid == entry_of(published(plans[0]), EntryKind.VISIT, A).uid
    assert entry_of(ledger, EntryKind.VISIT, A).uid != entry_of(ledger, EntryKind.VISIT, C).uid
    check_octets(calendar(plans[2], ledger, None))


def test_unchanged_visit_keeps_its_uid_whatever_lies_in_the_past() -> None:
    """A task put off twice stands in two past entries; the second publication of one plan must still change nothing."""
    plans = (
        visits_of((day(5, 8), "x", (A,)), (day(5, 15), "y", (B, C))),
        replace(visits_of((day(5, 22), "z", (A, B, C))), as_of=day(5, 16)),
        replace(visits_of((day(5, 30), "w", (A,))), as_of=day(5, 23)),
    )
    once = published(*plans)
    assert len([e for e in once.entries if e.kind is EntryKind.VISIT and A in e.tasks]) == 2
    assert with_entries(plans[-1], once) == once


def test_visit_does_not_inherit_from_another_yard() -> None:
    elsewhere = replace(PLAN, visits=(replace(VISITS[0], yard="quarry"), *VISITS[1:]))
    after = published(PLAN, elsewhere)
    assert entry_of(after, EntryKind.VISIT, CUT).uid != entry_of(published(PLAN), EntryKind.VISIT, CUT).uid


def test_another_outfit_has_other_uids() -> None:
    other = replace(PLAN, outfit="other_club")
    mine, theirs = ({e.uid for e in with_entries(plan, Ledger(plan.outfit)).entries} for plan in (PLAN, other))
    assert mine.isdisjoint(theirs)


def test_task_held_twice_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a task comes twice: 1\.T1/trap_comb_cut"):
        with_entries(replace(PLAN, tasks=(*TASKS, TASKS[2])), EMPTY)


# --- the past ---


def test_past_entries_stay_as_published_then_go() -> None:
    """Common practice: a subscribed calendar that leaves the past out takes it out of the reader's calendar."""
    before = published(PLAN)
    empty = replace(without(without(PLAN, "alder/1"), "quarry/1"), as_of=day(6, 1))
    after = published(PLAN, empty)
    assert [e for e in after.entries if e.first < day(6, 1) and e.kind is not EntryKind.EMPTY] == [
        e for e in before.entries if e.first < day(6, 1)
    ]
    check_octets(calendar(empty, after, "alder"))
    seasons = tuple(replace(view, season=2029) for view in PLAN.yards)
    last = replace(empty, yards=seasons, as_of=day(5, 8) + KEEP_DAYS)
    assert entry_of(published(PLAN, last), EntryKind.VISIT, CUT) == entry_of(before, EntryKind.VISIT, CUT)
    over = published(PLAN, last, replace(last, as_of=last.as_of + 1))
    assert not [e for e in over.entries if e.kind is EntryKind.VISIT and CUT in e.tasks]


def test_visit_that_took_place_is_not_moved_by_what_was_left_undone() -> None:
    done = changed(PLAN, CUT, status=Status.DONE, planned=None, done=day(5, 8))
    left = replace(done, as_of=day(5, 8), visits=(visit("later", "alder", day(5, 15), (COUNT_1,)), *VISITS[1:]))
    after = published(PLAN, left)
    old = entry_of(published(PLAN), EntryKind.VISIT, CUT)
    assert [e.uid == old.uid for e in after.entries if e.first == day(5, 15)] == [False]
    rained_off = replace(moved(PLAN, "alder/1", 7), as_of=day(5, 9))
    assert entry_of(published(PLAN, rained_off), EntryKind.VISIT, CUT).uid == old.uid


def test_plan_of_the_next_season_leaves_this_one_alone() -> None:
    next_season = replace(PLAN, yards=tuple(replace(view, season=2028) for view in PLAN.yards), tasks=(), visits=())
    after = published(PLAN, next_season)
    assert entry_of(after, EntryKind.VISIT, STRIPS) == entry_of(published(PLAN), EntryKind.VISIT, STRIPS)
    same_season = replace(PLAN, tasks=(), visits=())
    assert not [e for e in published(PLAN, same_season).entries if e.kind is not EntryKind.EMPTY]


def test_yard_that_was_given_up_has_no_future() -> None:
    after = published(PLAN, replace(PLAN, yards=PLAN.yards[:1], tasks=PLAN.tasks[:3], visits=PLAN.visits[:1]))
    assert {e.yard for e in after.entries} == {"alder"}


# --- other people's text ---


def hostile(text: str) -> Plan:
    """The plan with a text wherever the keeper or a rule can write one."""
    plan = replace(PLAN, outfit_name=text, yards=tuple(replace(view, name=text) for view in PLAN.yards))
    for name in (CUT, STRIPS):
        plan = changed(plan, name, do=text, harm=text, cautions=(text,), step=text)
    return replace(plan, visits=tuple(replace(v, prepare=(text,)) for v in plan.visits))


def test_hostile_text_stays_text() -> None:
    """RFC 5545 3.3.11: semicolon, comma and newline escaped; controls are not text (3.1)."""
    content, ledger = feed(hostile(NASTY), EMPTY)
    check_octets(content)
    for summary, description in check_parsers(content):
        assert "\n" not in summary
        assert "\x00" not in summary + description
    titles = [s for s, _ in check_parsers(content)]
    assert [s for s in titles if s.startswith("Last good day: A,b;c/n/ d begin:valarm x")]
    assert rb"a\,b\;c/n/ d BEGIN:VALARM x" in b"".join(lines_of(content))
    assert parse_ledger(ledger_text(ledger), "x", PLAN.outfit) == ledger


awkward = st.text(
    st.sampled_from("\\,;:\"'nN \t\r\n\x00\x0b\x0c\x1c\x7f\x85\xa0\u2028é\u0301\N{HONEYBEE}aA^%&<"), max_size=90
)
anything = st.text(st.characters(exclude_categories=()), max_size=90)


@settings(max_examples=60, deadline=None)
@given(awkward | anything)
def test_any_text_survives_writing_and_reading(text: str) -> None:
    """RFC 5545 3.1 (folding) and 3.3.11 (escaping), there and back through three parsers."""
    content, ledger = feed(hostile(text), EMPTY)
    check_octets(content)
    assert check_parsers(content) == sorted((e.summary, e.description or e.summary) for e in ledger.entries)


plans = st.lists(
    st.tuples(
        st.lists(st.tuples(st.integers(0, 60), st.sets(st.sampled_from(range(6)), min_size=1)), max_size=5),
        st.integers(0, 90),
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=150, deadline=None)
@given(plans)
def test_any_history_of_plans_keeps_the_promises(history: list[tuple[list[tuple[int, set[int]]], int]]) -> None:
    """UIDs unique (RFC 5545 3.8.4.7); sequence and stamp never go back (RFC 5546 2.1.4); no news, no change."""
    ledger = EMPTY
    high: dict[str, tuple[int, datetime]] = {}
    dates: dict[str, tuple[int, int, int]] = {}
    for groups, gone_by in history:
        free = set(range(6))
        visits = []
        for n, (when, members) in enumerate(groups):
            if mine := sorted(members & free):
                visits.append(visit(f"v{n}", "alder", day(5, 1) + when, tuple(TASKS[i].id for i in mine)))
                free -= set(mine)
        plan = replace(PLAN, visits=tuple(visits), as_of=AS_OF + gone_by)
        ledger = with_entries(plan, ledger)
        assert with_entries(plan, ledger) == ledger
        assert len({e.uid for e in ledger.entries}) == len(ledger.entries)
        current: dict[str, Any] = {e.uid: e for e in ledger.entries}
        for v in visits:
            assert [e for e in current.values() if e.kind is EntryKind.VISIT and (e.first, e.tasks) == (v.day, v.tasks)]
        for uid, entry in current.items():
            sequence, stamp = high.get(uid, (0, entry.stamp))
            assert entry.sequence >= sequence
            assert entry.stamp >= stamp
            if uid in dates and dates[uid][:2] != (entry.first, entry.last):
                assert entry.sequence > dates[uid][2]
            high[uid] = entry.sequence, entry.stamp
            dates[uid] = entry.first, entry.last, entry.sequence
