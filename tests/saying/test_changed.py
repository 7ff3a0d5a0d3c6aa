"""Changed: what became of the plan since the last one, told with its cause; sheets that are out of date."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import SAT, SUN, colony, line, outfit, plan, shipped, short, told, yard

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.words import short_day
from ipmcal.publishing.memory.changes import changes
from ipmcal.publishing.memory.codes import assign_code
from ipmcal.publishing.memory.ledger import Ledger, remember
from ipmcal.publishing.paper.sheet import sheet_lines
from ipmcal.saying.changed import MOST_LINES, NAMED_AHEAD, change_lines, superseded_lines

HUNG = "04-10 trap_hung T1 2"
CUT = "1.T1/trap_comb_cut/2027/cut/1"


def one(*texts: str) -> Outfit:
    journal = [line(text, "1", "yard", number) for number, text in enumerate(texts, 1)]
    return outfit(yard(colony("1", traps=[short()])), journal=journal)


def lines(before: Plan, after: Plan) -> list[str]:
    ledger = remember(Ledger("outfit"), before)
    return list(change_lines(ledger, after, changes(ledger, after)))


def codes_of(ledger: Ledger) -> set[str]:
    """As if a page had been made of each sheet."""
    return {sheet.code for sheet in ledger.sheets}


def printed(made: Plan, ledger: Ledger) -> Ledger:
    """The ledger after a plan and all of its sheets."""
    ledger = remember(ledger, made)
    for visit in made.visits:
        _, ledger = assign_code(ledger, visit.yard, visit.id, visit.day, sheet_lines(made, visit))
    return ledger


# Changes --------------------------------------------------------------------------------------------------------------


def test_before_the_first_plan_nothing_has_changed() -> None:
    made = plan(one(HUNG), "05-01")
    assert list(change_lines(Ledger("outfit"), made, changes(Ledger("outfit"), made))) == []


def test_the_same_plan_again_has_nothing_to_tell() -> None:
    made = plan(one(HUNG), "05-01")
    assert lines(made, made) == []


def test_a_board_that_comes_before_another_leaves_that_one_where_it_was() -> None:
    """Hive 2 is found dead in January: its neighbour's mites are counted, before the board of December."""
    hives = (colony("1"), colony("2"))
    there = yard(*hives, region="us_upper_midwest", program="full")
    before = plan(outfit(there, journal=[]), "01-15", book=shipped())
    after = plan(outfit(there, journal=[line("01-16 found_dead", "2", "yard", 1)]), "01-17", book=shipped())

    def boards(made: Plan) -> set[int]:
        return {t.planned or 0 for t in made.tasks if t.colony == "1" and t.step == "put_in"}

    assert len(boards(before)) == 1
    assert boards(after) > boards(before)
    told = [text for text in lines(before, after) if "Board in" in text]
    assert told
    assert not any("was" in text or short_day(min(boards(before))) in text for text in told), told


def test_done_as_planned_is_no_news() -> None:
    before = plan(one(HUNG), "05-01")
    day = before.task(CUT).planned or 0
    assert not [text for text in lines(before, plan(one(HUNG, f"{told(day)} trap_cut T1"), day + 1)) if "1 T1" in text]


def test_a_trap_that_was_all_open_has_moved_since_it_was_found_so() -> None:
    """The example of the keeper: "was Sat 6 June, now Sat 13 June, since it was all open"."""
    before = plan(one(HUNG), "05-01")
    seen = told(before.task(CUT).planned or 0)
    after = plan(one(HUNG, f"{seen} found T1 all_open"), (before.task(CUT).planned or 0) + 1)
    was, now = (short_day(p.task(CUT).planned or 0) for p in (before, after))
    assert was != now
    (told_of,) = [text for text in lines(before, after) if text.startswith("yard 1 T1") and was in text and now in text]
    assert f"was {was}, now {now}, since" in told_of
    assert "all_open" in told_of or "all open" in told_of.lower()


def test_what_was_not_done_has_moved_since_it_was_not_done() -> None:
    before = plan(one(HUNG), "05-01")
    day = before.task(CUT).planned or 0
    after = plan(one(HUNG), day + 1)
    assert any("since it was not done" in text for text in lines(before, after))


def test_what_comes_every_week_is_told_by_its_days_once() -> None:
    """One check not done moves all that follow by a week: the keeper hears which day fell away, and which came."""
    kept = outfit(yard(colony("1")), journal=())
    before, after = plan(kept, "06-01", book=shipped()), plan(kept, "06-06", book=shipped())
    (text,) = [one for one in lines(before, after) if ": Swarm check: every brood frame: " in one]
    checks = [{t.planned for t in made.tasks if t.logs == "inspected"} for made in (before, after)]
    (gone,), come = checks[0] - checks[1], checks[1] - checks[0]
    assert not come
    assert f"every brood frame: not on {short_day(gone or 0)}, since it was not done" in text


def test_a_day_on_which_it_was_done_fell_away_under_no_number() -> None:
    """Spring came late, and the check done first is before the first that is owed: the third is the second now."""
    there = yard(colony("1"))
    before = plan(outfit(there, journal=()), "03-01", book=shipped())
    checks = sorted(t.planned or 0 for t in before.tasks if t.logs == "inspected")[:3]
    written = [f"{told(day)} inspected" for day in checks]
    late = [line("04-13 bloom first_pollen", None, "yard", 1)]
    journal = late + [line(text, "1", "yard", number) for number, text in enumerate(written, 2)]
    after = plan(outfit(there, journal=journal), checks[-1] + 2, book=shipped())
    assert len([t for t in after.tasks if t.logs == "inspected" and t.done is not None]) < len(checks)
    told_of = [text for text in lines(before, after) if "Swarm check" in text]
    assert not [text for text in told_of if any(short_day(day) in text.partition("since")[0] for day in checks)]


def test_missed_and_unknown_are_told() -> None:
    before = plan(one(), "04-20")
    gone = plan(one(), "06-20")
    assert any("was it done" in text for text in lines(before, gone))
    missed = plan(one("05-08 skipped mite_count/spring/1"), "06-20")
    assert any(text.endswith("missed") and "Mite count" in text for text in lines(before, missed))


def test_a_cut_that_was_too_late_is_missed_and_its_count_is_new() -> None:
    before = plan(one(HUNG, "06-20 count 0/300"), "06-21")
    after = plan(one(HUNG, "06-20 count 0/300", "07-03 trap_cut T1"), "07-04")
    texts = lines(before, after)
    assert any("1 T1" in text and "missed" in text for text in texts)


def test_hives_with_the_same_news_stand_in_one_line() -> None:
    kept = outfit(yard(*[colony(key) for key in "123"]), journal=())
    texts = lines(plan(kept, "04-20"), plan(kept, "06-20"))
    assert any(text.startswith("yard 1, 2 and 3: ") for text in texts)


def test_a_colony_that_ended_takes_its_tasks_along_in_one_line() -> None:
    before, after = plan(one(), "05-01"), plan(one("05-01 died"), "05-02")
    *new, text = lines(before, after)
    assert all("Dead hive" in one for one in new)
    assert "no longer planned" in text
    assert str(len([t for t in before.tasks if t.planned is not None])) in text


def test_what_can_do_harm_comes_first_and_many_are_counted() -> None:
    names = [str(i) for i in range(1, 30)]
    hives = [colony(key, traps=[short()]) for key in names]
    hung = [line(HUNG, key, "yard", int(key)) for key in names]
    seen = [Event(e.day + 25 + n % 5, "yard", e.colony, "found", "T1", "all_open") for n, e in enumerate(hung)]
    before = plan(outfit(yard(*hives), journal=hung), "04-20")
    after = plan(outfit(yard(*hives), journal=(*hung, *seen)), "07-01")
    texts = lines(before, after)
    assert len(texts) <= MOST_LINES + 1
    assert any(f" {key} T1" in texts[0] for key in names)


@pytest.mark.parametrize("day", [SAT, SUN])
def test_a_colony_that_moved_is_told_of(day: int) -> None:
    def two(*journal: Event) -> Outfit:
        return outfit(yard(colony("1"), key="home"), yard(colony("2"), key="mill", weekdays=(day,)), journal=journal)

    before, after = plan(two(), "05-01"), plan(two(line("05-01 moved mill", "1", "home")), "05-02")
    assert any(text.startswith("mill 1: ") for text in lines(before, after))


# Sheets ---------------------------------------------------------------------------------------------------------------


def test_sheets_that_still_stand_are_not_named() -> None:
    made = plan(one(HUNG), "05-01")
    before = printed(made, Ledger("outfit"))
    assert list(superseded_lines(before, printed(made, before), made, codes_of(before))) == []


def test_a_sheet_whose_tasks_have_moved_is_named_with_the_one_to_take() -> None:
    made = plan(one(HUNG), "05-01")
    before = printed(made, Ledger("outfit"))
    day = made.task(CUT).planned or 0
    seen = plan(one(HUNG, f"{told(day)} found T1 all_open"), day + 1)
    after = printed(seen, before)
    texts = list(superseded_lines(before, after, seen, codes_of(before)))
    old = next(s for s in before.sheets if CUT in s.lines)
    new = next(s for s in after.sheets if CUT in s.lines and not s.superseded_by)
    assert any(old.code in text and new.code in text and "out of date" in text for text in texts)
    assert list(superseded_lines(after, printed(seen, after), seen, codes_of(after))) == [], "it is said once"


def test_a_sheet_with_nothing_left_to_do_is_out_of_date_too() -> None:
    made = plan(one(), "05-01")
    before = printed(made, Ledger("outfit"))
    gone = plan(one("05-01 died"), "05-02")
    soon = [s for s in before.sheets if gone.as_of <= s.day <= gone.as_of + NAMED_AHEAD]
    assert soon
    texts = list(superseded_lines(before, printed(gone, before), gone, codes_of(before)))
    assert all(any(s.code in text for text in texts) for s in soon)
    again = printed(gone, before)
    assert list(superseded_lines(again, printed(gone, again), gone, codes_of(again))) == [], "it is said once"


def test_the_plan_of_the_next_season_puts_no_sheet_of_this_one_out_of_date() -> None:
    made = plan(one(), "10-20")
    before = printed(made, Ledger("outfit"))
    ahead = plan(one(), "10-21", 2028)
    assert list(superseded_lines(before, printed(ahead, before), ahead, codes_of(before))) == []


def test_sheets_far_off_are_counted() -> None:
    made = plan(one(), "01-02")
    before = printed(made, Ledger("outfit"))
    later = plan(outfit(yard(colony("1"), weekdays=(SAT - 2,)), journal=()), "01-03")
    after = printed(later, before)
    texts = list(superseded_lines(before, after, later, codes_of(before)))
    far = [s for s in after.sheets if s.superseded_by and s.day > later.as_of + NAMED_AHEAD]
    assert far
    assert texts[-1].startswith(str(len(far)))
    assert len(texts) == 1 + len([s for s in after.sheets if s.superseded_by]) - len(far)


def test_a_course_of_the_year_that_moved_says_why_its_printed_day_is_none_and_not_what_it_is_for() -> None:
    """Out of its days; in them, where the rest of the work has no room for it, or where it spares drives."""
    kept = yard(colony("1"), program="few_drives", region="us_northeast", weekdays=(SAT,))
    after = plan(kept, "06-01", book=shipped())
    (dose, *_) = [t for t in after.tasks if t.product and t.planned is not None]
    was = replace(dose, planned=(dose.planned or 0) - 7, window=replace(dose.window, opens=dose.window.opens - 7))
    before = replace(after, tasks=tuple(was if t is dose else t for t in after.tasks))
    (said,) = [text for text in lines(before, after) if ": was " in text]
    assert said.endswith(f"since {short_day(dose.window.opens)} is its only day now")
    was = replace(dose, planned=dose.window.closes + 7)
    before = replace(after, tasks=tuple(was if t is dose else t for t in after.tasks))
    (said,) = [text for text in lines(before, after) if ": was " in text]
    assert "since later it would come too near to the next course" in said, "what ends its days ends them before that"
    wide = replace(dose, window=replace(dose.window, opens=dose.window.opens - 7))
    was = replace(dose, planned=wide.window.opens)
    before = replace(after, tasks=tuple(was if t is dose else t for t in after.tasks))
    after = replace(after, tasks=tuple(wide if t is dose else t for t in after.tasks))
    (said,) = [text for text in lines(before, after) if ": was " in text]
    assert said.endswith("since other work leaves it no room there")
    spared = replace(after, worth=tuple(replace(one, spared=2) for one in after.worth))
    (said,) = [text for text in lines(before, spared) if ": was " in text]
    assert said.endswith("since that spares 2 drives")
