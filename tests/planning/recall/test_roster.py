"""Roster: history follows the bees, wherever they go, and whoever made them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from planning.yards import SUN, ahead, colony, days, line, on, outfit, plan, rules, short, statuses, told, yard

from ipmcal.model.outfit.outfit import Colony, Event, Outfit, Queen
from ipmcal.model.plan.tasks import Status
from ipmcal.planning.recall.roster import roster
from ipmcal.publishing.calendar.feed import with_entries
from ipmcal.publishing.memory.changes import ChangeKind, changes
from ipmcal.publishing.memory.ledger import Ledger, remember

HUNG = "04-10 trap_hung T1 2"


def two(*journal: Event, traps: Sequence[str] = ("T1",)) -> Outfit:
    """Colony 1 with trap frames at home (Saturdays), colony 2 at the mill (Sundays)."""
    home = yard(colony("1", traps=[short(name) for name in traps]), key="home")
    mill = yard(colony("2"), key="mill", weekdays=(SUN,))
    return outfit(home, mill, journal=journal)


def at_home(*texts: str, key: str = "1") -> tuple[Event, ...]:
    return tuple(line(text, key, "home", number) for number, text in enumerate(texts, 1))


def standing(kept: Outfit, day: str = "12-31") -> dict[str, list[str]]:
    return {y.key: [c.key for c in y.colonies] for y in roster(kept, rules(), on(day)).yards}


def one(kept: Outfit, key: str, day: str = "12-31") -> Colony:
    return next(c for y in roster(kept, rules(), on(day)).yards for c in y.colonies if c.key == key)


# Moved ----------------------------------------------------------------------------------------------------------------


def test_without_lines_every_yard_is_as_its_file_says() -> None:
    kept = two()
    assert roster(kept, rules(), on("06-01")).yards == kept.yards
    assert roster(replace(kept, journal=None), rules(), on("06-01")).yards == kept.yards


def test_a_colony_stands_where_it_was_moved_from_that_day_on() -> None:
    kept = two(*at_home("05-20 moved mill"))
    assert standing(kept, "05-19") == {"home": ["1"], "mill": ["2"]}
    assert standing(kept, "05-20") == {"home": [], "mill": ["2", "1"]}


def test_moved_there_and_back_it_stands_where_it_stood() -> None:
    kept = two(*at_home("05-20 moved mill"), line("08-01 moved home", "1", "mill", 9))
    assert standing(kept, "06-01") == {"home": [], "mill": ["2", "1"]}
    assert standing(kept) == {"home": ["1"], "mill": ["2"]}


def test_moved_to_where_it_stands_nothing_changes() -> None:
    assert standing(two(*at_home("05-20 moved home"))) == {"home": ["1"], "mill": ["2"]}


def test_a_colony_that_came_is_walked_to_last() -> None:
    kept = two(*at_home("05-20 moved mill"))
    (mill,) = [y for y in roster(kept, rules(), on("06-01")).yards if y.key == "mill"]
    walk = [c.walk for c in mill.colonies]
    assert walk == sorted(set(walk))


def test_after_a_move_nothing_is_left_planned_at_the_old_yard_and_the_trap_clock_goes_on() -> None:
    lines = at_home(HUNG, "05-20 moved mill")
    made = plan(two(*lines), "05-21")
    mine = [t for t in ahead(made) if t.colony == "1"]
    assert mine
    assert {t.yard for t in mine} == {"mill"}
    assert not [v for v in made.visits if v.yard == "home"]
    stayed = plan(two(*lines[:1]), "05-21")
    cut, same = (next(t for t in p.tasks if t.id == "1.T1/trap_comb_cut/2027/cut/1") for p in (made, stayed))
    assert cut.window == same.window, "the clock counts from the day on which it was hung, wherever"
    assert on(told(cut.planned or 0)) >= cut.window.opens


def test_what_was_done_before_the_move_stays_done_and_keeps_its_id() -> None:
    before = plan(two(*at_home(HUNG)), "05-01")
    after = plan(two(*at_home(HUNG, "05-20 moved mill")), "05-21")
    done = {i for i, status in statuses(before).items() if status is Status.DONE}
    assert done
    assert done <= {i for i, status in statuses(after).items() if status is Status.DONE}


def test_due_strips_go_along() -> None:
    made = plan(two(*at_home("08-10 strips_in amitraz_strip 2", "08-20 moved mill")), "08-21")
    assert [(c.yard, c.colony, c.left) for c in made.courses] == [("mill", "1", "2")]
    assert not [t for t in ahead(made) if t.colony == "1" and t.yard != "mill"]


def test_lines_written_at_either_yard_are_about_the_colony() -> None:
    lines = at_home(HUNG, "05-01 moved mill")
    due = plan(two(*lines), "05-02").task("1.T1/trap_comb_cut/2027/cut/1").planned or 0
    made = plan(two(*lines, line(f"{told(due)} trap_cut T1", "1", "mill", 7)), due + 1)
    assert statuses(made)["1.T1/trap_comb_cut/2027/cut/1"] is Status.DONE


def test_a_count_of_a_colony_that_moved_counts_where_it_stands() -> None:
    made = plan(two(*at_home("05-08 count 20/300", "05-20 moved mill")), "05-21")
    assert [(c.yard, c.over) for c in made.calls] == [("mill", ("1",))]


def test_the_ledger_sees_the_tasks_of_a_moved_colony_as_the_same_tasks() -> None:
    before, after = plan(two(*at_home(HUNG)), "05-20"), plan(two(*at_home(HUNG, "05-20 moved mill")), "05-21")
    found = changes(remember(Ledger("outfit"), before), after)
    mine = [c for c in found if c.task.startswith(("1/", "1.")) and c.task.endswith("/1")]  # others may repeat less
    assert mine
    assert {c.kind for c in mine} <= {ChangeKind.MOVED, ChangeKind.STATUS}


def test_calendar_entries_of_a_moved_colonys_hard_stops_keep_their_uid() -> None:
    """The UID comes from the task, and the task goes along (RFC 5545 3.8.4.7: it is persistent)."""
    uids = []
    ledger = Ledger("outfit")
    for at, journal in (("05-20", at_home(HUNG)), ("05-21", at_home(HUNG, "05-20 moved mill"))):
        made = plan(two(*journal), at)
        ledger = with_entries(made, remember(ledger, made))
        stops = [e for e in ledger.entries if e.kind == "stop" and e.tasks == ("1.T1/trap_comb_cut/2027/cut/1",)]
        uids.append([(e.uid, e.yard) for e in stops])
    assert [yard_ for _, yard_ in (*uids[0], *uids[1])] == ["home", "mill"]
    assert uids[0][0][0] == uids[1][0][0]


# Made by a line -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "hive", "boxes"),
    [
        ("05-15 split_from 1", "split", "langstroth_10", 1),
        ("05-15 split_from 1 langstroth_8 deep", "split", "langstroth_8", 1),
        ("05-15 caught", "swarm", "langstroth_10", 1),
        ("05-15 caught langstroth_10 deep deep", "swarm", "langstroth_10", 2),
        ("05-15 began package", "package", "langstroth_10", 1),
    ],
)
def test_a_colony_made_by_a_line_is_there_from_that_day_on(text: str, kind: str, hive: str, boxes: int) -> None:
    kept = two(line(text, "3", "mill", 5))
    assert standing(kept, "05-14") == {"home": ["1"], "mill": ["2"]}
    assert standing(kept, "05-15") == {"home": ["1"], "mill": ["2", "3"]}
    made = one(kept, "3")
    assert (made.kind, made.hive, len(made.boxes), told(made.began)) == (kind, hive, boxes, "05-15")
    assert set(roster(kept, rules(), on("06-01")).made) == {"3"}


def test_it_appears_in_the_plan_with_tasks_of_its_kind() -> None:
    made = plan(two(line("05-15 split_from 1", "3", "mill", 5)), "05-16")
    assert [c.key for y in made.yards if y.key == "mill" for c in y.colonies] == ["2", "3"]
    assert days(made, "new_colony", "3")
    assert not [t for t in made.tasks if t.colony == "3" and t.yard != "mill"]
    assert not [t for t in plan(two(), "05-16").tasks if t.colony == "3"]


def test_made_and_moved_it_stands_where_it_was_moved() -> None:
    kept = two(line("05-15 split_from 1", "3", "home", 5), line("05-20 moved mill", "3", "home", 6))
    assert standing(kept, "05-16") == {"home": ["1", "3"], "mill": ["2"]}
    assert standing(kept) == {"home": ["1"], "mill": ["2", "3"]}


def test_a_split_of_a_split_is_in_a_hive_like_its_own() -> None:
    kept = two(line("05-15 split_from 1 langstroth_8 deep", "3", "mill", 5), line("06-20 split_from 3", "4", "mill", 6))
    assert one(kept, "4").hive == "langstroth_8"


def test_once_it_stands_in_the_yard_file_the_file_speaks() -> None:
    """The line that was offered has been added: the colony is not made twice, and has its frames from the file."""
    kept = two(line("05-15 split_from 1", "3", "mill", 5))
    home, mill = kept.yards
    own = colony("3", "2027-05-15", "split", [short("T9")])
    kept = replace(kept, yards=(home, replace(mill, colonies=(*mill.colonies, own))))
    assert standing(kept) == {"home": ["1"], "mill": ["2", "3"]}
    assert one(kept, "3") == own
    assert roster(kept, rules(), on("06-01")).made == {}


# Ended, requeened, rehived --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["died", "sold", "absconded", "united 2"])
def test_a_colony_that_ended_has_nothing_planned_and_its_traps_do_not_nag(text: str) -> None:
    made = plan(two(*at_home(HUNG, f"05-20 {text}")), "05-21")
    assert not [t for t in made.tasks if t.colony == "1" and (t.method != "dead_out" or text != "died")]
    assert not [c for c in made.conflicts if c.subject.startswith("1")]
    assert [t for t in made.tasks if t.colony == "2"], "the other goes on"


def test_an_ended_colony_is_no_longer_counted_for_its_yard() -> None:
    made = plan(two(*at_home("05-08 count 20/300", "05-20 died")), "05-21")
    assert made.calls == ()


def test_a_new_queen_is_the_one_on_the_sheet() -> None:
    kept = two(*at_home("06-12 requeened 2027 marked clipped"))
    assert one(kept, "1", "06-11").queen == Queen()
    assert one(kept, "1").queen == Queen(2027, marked=True, clipped=True)
    assert one(two(*at_home("06-12 requeened")), "1").queen == Queen(2027)
    (view,) = [c for y in plan(kept, "06-13").yards for c in y.colonies if c.key == "1"]
    assert view.queen == "2027, marked, clipped"


def test_in_a_new_hive_it_has_new_boxes_and_its_trap_frames_hang_in_one_of_them() -> None:
    home = yard(colony("1", traps=[short(box=2)]), key="home")
    kept = outfit(home, journal=at_home("05-08 hive_changed langstroth_8 deep"))
    made = one(kept, "1")
    assert (made.hive, [(b.kind, b.frames) for b in made.boxes]) == ("langstroth_8", [("deep", 8)])
    assert [t.box for t in made.traps] == [1]
    plan(kept, "05-09")
