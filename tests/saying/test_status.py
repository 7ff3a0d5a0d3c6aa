"""Status: who is due to count, over the line, has strips to take out, has not reported; a line a yard for a mentor."""

from __future__ import annotations

from dataclasses import replace

from planning.yards import SUN, colony, line, outfit, plan, rules, shipped, short, yard

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.plan import Conflict, Plan
from ipmcal.model.values.words import short_day
from ipmcal.saying.status import roster_lines, status_lines

COUNTS = frozenset(word for word, rule in rules().events.items() if rule.value == "count")
HUNG = "04-10 trap_hung T1 2"


def made(as_of: str, *texts: str) -> Plan:
    """Two hives in one yard; a line begins with the hive's key."""
    lines = [line(text.partition(" ")[2], text.partition(" ")[0], "yard", n) for n, text in enumerate(texts, 1)]
    return plan(outfit(yard(colony("1", traps=[short()]), colony("2")), journal=lines), as_of)


def matters(as_of: str, *texts: str) -> dict[str, str]:
    """What matters in the yard, by its heading."""
    _, visit, *rest = status_lines(made(as_of, *texts), COUNTS)
    assert visit.startswith("  Yard: ")
    return dict(text.strip().split(": ", 1) for text in rest)


def test_the_first_line_is_the_keepers_and_the_day_then_each_yard_with_its_next_visit() -> None:
    one = made("05-02")
    first, second, *_ = status_lines(one, COUNTS)
    assert first == f"Outfit, {short_day(one.as_of)}"
    assert short_day(one.visits[0].day) in second


def test_without_anything_left_that_is_said() -> None:
    done = plan(outfit(yard(), journal=()), "05-02")
    assert "no visit is planned" in list(status_lines(done, COUNTS))[1]


def test_who_is_due_to_count_within_two_weeks_and_when() -> None:
    one = made("05-02")
    due = [t for t in one.tasks if t.logs == "count" and t.planned is not None and t.planned <= one.as_of + 14]
    assert due
    found = matters("05-02")["count mites"]
    assert all((t.colony or "") in found and short_day(t.planned or 0) in found for t in due)
    assert "count mites" not in matters("01-05")


def test_who_is_over_the_line_and_since_when_it_was_treated() -> None:
    assert matters("08-22", "1 08-20 count 20/300")["over the line"] == "1"
    treated = matters("08-25", "1 08-20 count 20/300", "1 08-24 strips_in own_mix 2")["over the line"]
    assert treated.startswith("1 (treated since")


def test_what_was_treated_and_not_counted_since_is_said_however_long_ago() -> None:
    """So that nobody goes into a winter without knowing that it worked."""
    told = ("1 08-05 count 18/300", "1 08-19 strips_in own_mix 2", "1 08-28 strips_out own_mix 2")
    assert matters("11-10", *told)["counted"] == (
        "over the line in 1 on Thu 5 Aug, treated since Thu 19 Aug: the next count tells"
    )
    assert "not in the journal" in matters("11-10", *told)


def test_who_is_to_count_again() -> None:
    assert matters("08-22", "1 08-20 count 0/100", "2 08-20 count 0/300")["count again"] == "1"


def test_strips_that_are_in() -> None:
    found = matters("09-01", "1 08-20 strips_in own_mix 2")["take out"]
    assert found.startswith("2 own mix in 1 since")
    half = matters("09-20", "1 08-20 strips_in own_mix 2", "1 09-10 strips_out own_mix 1")["take out"]
    assert half.startswith("1 own mix in 1")
    assert "take out" not in matters("09-20", "1 08-20 strips_in own_mix 2", "1 09-10 strips_out own_mix 2")


def test_last_good_days_that_are_near() -> None:
    found = matters("04-30", f"1 {HUNG}")["last good days"]
    stop = made("04-30", f"1 {HUNG}").task("1.T1/trap_comb_cut/2027/cut/1").window.hard_stop
    assert found.startswith("1 T1")
    assert short_day(stop or 0) in found


def test_what_was_missed_and_what_nobody_wrote_about() -> None:
    found = matters("06-20", "1 05-08 skipped mite_count/spring/1", "1 05-08 inspected")
    assert found["missed"] == "1"
    assert "2" in found["not in the journal"]


def test_long_after_it_is_not_told_any_more() -> None:
    assert "missed" not in matters("09-20", "1 05-08 skipped mite_count/spring/1")


def test_who_has_not_reported() -> None:
    assert matters("06-20", "1 05-08 inspected")["nothing heard of"] == "2"
    assert "nothing heard of" not in matters("06-20", "1 05-08 inspected", "2 05-08 inspected")


# A line a yard --------------------------------------------------------------------------------------------------------


def row(plans: list[Plan], number: int) -> str:
    return list(roster_lines(plans, COUNTS))[number]


def test_a_mentor_sees_a_line_a_yard_below_the_headings() -> None:
    first = made("08-25", "1 08-20 count 20/300", "2 08-20 strips_in own_mix 2")
    home, mill = yard(colony("1"), key="home"), yard(colony("2"), key="mill", weekdays=(SUN,))
    second = plan(outfit(home, mill, journal=()), "08-25")
    table = list(roster_lines([first, second], COUNTS))
    assert len(table) == 4
    assert table[1].startswith("Outfit  ")
    assert [text.split("  ")[0] for text in table[2:]] == ["Outfit, Home", "Outfit, Mill"]
    assert "2 own mix in 2" in table[1]
    assert short_day(first.visits[0].day) in table[1]


def test_columns_stand_below_their_headings() -> None:
    table = list(roster_lines([made("08-25", "1 08-20 count 20/300"), made("05-02")], COUNTS))
    at = table[0].index("over the line")
    assert table[1][at:].startswith("1")
    assert table[2][at : at + 3].strip() == ""


def test_who_was_heard_of() -> None:
    assert row([made("06-20", "1 05-08 inspected")], 1).endswith("1 of 2 hives")
    assert row([made("06-20", "1 05-08 inspected", "2 05-08 inspected")], 1).endswith("all hives")


def test_no_outfits_no_rows() -> None:
    assert len(list(roster_lines([], COUNTS))) == 1


def test_a_line_about_the_yard_alone_is_no_word_of_its_hives() -> None:
    journal = [Event(made("05-02").as_of, "yard", None, "done", None, "mow")]
    one = plan(outfit(yard(colony("1")), journal=journal), "06-20")
    assert "0 of 1 hives" in row([one], 1)


def test_what_is_over_stands_first_and_not_among_the_good_days() -> None:
    """Cut by a day on which nobody comes; the next visit is after it: no good day to come, but not over."""
    one = late()
    (task,) = [t for t in one.tasks if t.window.hard_stop is not None and t.window.hard_stop < (t.planned or 0)]
    lines = [text.strip() for text in status_lines(one, COUNTS)]
    was, on_day = short_day(task.window.hard_stop or 0), short_day(task.planned or 0)
    what = f"{task.colony} {task.trap} {task.step}"
    assert (task.window.hard_stop or 0) >= one.as_of
    assert lines[2] == f"comes too late: {what} on {on_day}, its last good day is {was}"
    assert not any(was in text for text in lines if text.startswith("last good days"))
    assert lines[3].startswith("conflicts: ")


def test_what_was_due_is_late_once_its_last_good_day_is_over() -> None:
    one = late()
    (task,) = [t for t in one.tasks if t.window.hard_stop is not None and t.window.hard_stop < (t.planned or 0)]
    lines = [text.strip() for text in status_lines(replace(one, as_of=task.planned or 0), COUNTS)]
    assert lines[2] == f"LATE, was due: {short_day((task.planned or 0) - 1)}: {task.colony} {task.trap} {task.step}"


def test_a_dead_hive_that_is_still_to_be_shut_stands_in_the_status() -> None:
    dead = colony("1", history=[line("05-01 found_dead")])
    one = plan(outfit(yard(dead, colony("2")), journal=()), "05-02", book=shipped())
    assert any(text.strip().startswith("at once: 1: dead hive: shut tight") for text in status_lines(one, COUNTS))


def late() -> Plan:
    """A plan with a cut on a visit after its last good day."""
    one = made("05-02", "1 04-10 trap_hung T1 2")
    task = next(t for t in one.tasks if t.window.hard_stop is not None and t.planned is not None and t.trap)
    window = replace(task.window, hard_stop=(task.planned or 0) - 1)
    tasks = tuple(replace(t, window=window) if t is task else t for t in one.tasks)
    others = tuple(t for t in tasks if t.id == task.id or t.window.hard_stop is None)
    said = Conflict("yard", task.colony or "", Because(Code.NO_DAY_TO_EMPTY), Because(Code.A_DAY_SOON), (task.id,))
    return replace(one, tasks=others, as_of=(task.planned or 0) - 3, conflicts=(said,))


def test_hives_with_the_same_work_are_named_once_and_products_by_their_title() -> None:
    put_in = [f"{hive} 08-07 strips_in formic_strips_pair 2" for hive in ("1", "2")]
    found = matters("08-08", *put_in)
    assert found["take out"] == "2 formic acid, paired strips in 1 and 2 since Sat 7 Aug"
    assert "1 and 2 take the spent strips out by" in found.get("last good days", "")
