"""The plan never forgets: one season beside the next, and a past that is what was printed, never invented anew.

Invented yards; the year of a keeper who never writes a line is lived through day by day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning.invariants import check_plan
from planning.yards import YEAR, colony, line, on, outfit, outfits, plan, rules, shipped, statuses, told, yard
from sweeps import some_of

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.plan.verdict import Use
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.choose import held
from ipmcal.planning.choose.held import _use
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.plan import make_plan
from ipmcal.planning.ready import Ready
from ipmcal.publishing.memory.assumed import with_assumed
from ipmcal.publishing.memory.ledger import Ledger, ledger_text, parse_ledger, remember

FIRST = on("01-01")
FULL = yard(colony("1"), colony("2"), program="full")


def next_plan(kept: Outfit, ledger: Ledger, as_of: int, book: Rulebook) -> tuple[Plan, Ledger]:
    """The plan of a day with what the ledger remembers, and the ledger after it was printed; all invariants hold."""
    known = with_assumed(kept, ledger, book, as_of)
    made = make_plan(known, book, as_of)
    check_plan(made, replace(known, journal=known.past), book)
    after = remember(ledger, made)
    assert parse_ledger(ledger_text(after), "ledger.json", kept.id) == after
    return made, after


def lived(kept: Outfit, days: list[int], book: Rulebook) -> list[Plan]:
    """The plans of a keeper who prints on these days, and never writes a line."""
    ledger, plans = Ledger(kept.id), []
    for day in days:
        made, ledger = next_plan(kept, ledger, day, book)
        plans.append(made)
    return plans


@given(outfits(), st.booleans())
@settings(max_examples=some_of(15))
def test_a_second_run_on_the_first_day_says_the_same(made: tuple[Outfit, int], kept: bool) -> None:
    """What the ledger remembers of a run changes nothing in a second one on its day."""
    there, as_of = made
    colonies = there.yards[0].colonies
    written = (replace(line("01-01 fed", colonies[0].key), day=as_of - 30),) if kept else None
    there = replace(there, journal=written)
    first, ledger = next_plan(there, Ledger(there.id), as_of, shipped())
    assert next_plan(there, ledger, as_of, shipped())[0] == first


# One season beside the next -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("as_of", "seasons"),
    [("11-02", {2027}), ("11-03", {2027, 2028}), ("12-31", {2027, 2028}), ("2028-01-01", {2027, 2028}),
     ("2028-02-29", {2027, 2028}), ("2028-03-01", {2028})],
)  # fmt: skip
def test_a_season_that_ends_is_planned_beside_the_next(as_of: str, seasons: set[int]) -> None:
    made = make_plan(outfit(FULL), shipped(), on(as_of))
    assert {view.season for view in made.yards} == seasons


def test_a_winter_s_hefting_in_january_is_no_hefting_of_next_winter() -> None:
    """A winter that runs over the turn of the year: what was lifted in January asks for no mouse guard of December."""
    kept = yard(colony("1"), region="england_south_midlands", program="full")
    there = outfit(kept, journal=[line("01-13 hefted heavy")])
    made = make_plan(there, shipped(), on("01-14"))
    check_plan(made, there, shipped())
    mine = [t for t in made.tasks if t.method == "winter_preparation"]
    assert [t.season for t in mine if t.status is Status.DONE] == [2026]
    assert {t.season for t in mine if t.status is Status.UNKNOWN} <= {2026}
    assert {t.step for t in mine if t.status is Status.PLANNED} == {"close_up", "heft"}


def test_a_caging_that_nobody_wrote_of_is_none_of_the_next_season() -> None:
    """Printed for summer, and never heard of: next spring she is looked for like any queen, and not waited for."""
    there, ledger = outfit(yard(colony("1"), program="drones_spared")), Ledger("outfit")
    for as_of in ("06-15", "09-01", "2028-03-10"):
        made, ledger = next_plan(there, ledger, on(as_of), shipped())
    assert {t.season for t in made.tasks if t.method == "swarm_check" and t.planned is not None} == {2028}
    assert not [r for r in made.refusals if any("the queen is caged" in because_words(why) for why in r.whys)]


def test_strips_that_lie_in_november_come_out_in_november() -> None:
    kept = outfit(yard(colony("1"), program="full"), journal=[line("10-01 strips_in amitraz_strip 2 lot K by AB")])
    made = make_plan(kept, shipped(), on("11-06"))
    check_plan(made, kept, shipped())
    (out,) = [t for t in made.tasks if t.step == "take_out" and t.method == "amitraz_strip"]
    assert (out.status, out.season) == (Status.PLANNED, 2027)
    assert out.planned is not None
    assert out.planned <= on("11-30")


def test_a_yard_over_its_line_in_october_is_still_to_be_treated_in_november() -> None:
    kept = outfit(yard(colony("1"), program="full"), journal=[line("10-30 count 30/300")])
    made = make_plan(kept, shipped(), on("11-06"))
    assert [call.call for call in made.calls] == ["treat"]


def test_the_courses_of_each_season_are_held_against_days_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same product in the same hive in both seasons: each is looked at, on the days that its own path gives."""
    seen: dict[int, set[int]] = {}

    def noted(one: Ready, errand: Errand, paths: Mapping[str, Sequence[int]]) -> Use | None:
        use = _use(one, errand, paths)
        if use is not None:
            assert errand.season == one.ground.season.year
            seen.setdefault(errand.season, set()).update(use.applications)
        return use

    monkeypatch.setattr(held, "_use", noted)
    single = replace(yard(colony("1"), region="england_south_midlands", program="full"), jurisdiction="uk")
    made = make_plan(outfit(single), shipped(), on("11-27"))
    check_plan(made, outfit(single), shipped())
    assert seen.keys() == {2027, 2028}
    for season, days in seen.items():
        planned = {t.planned for t in made.tasks if t.season == season and t.method in shipped().treatments}
        assert planned & days, f"{season}: {sorted(map(told, days))}"


def test_a_visit_in_january_serves_two_seasons_and_is_one_visit() -> None:
    made = make_plan(outfit(FULL), shipped(), on("2027-12-01"))
    check_plan(made, outfit(FULL), shipped())
    assert {task.season for task in made.tasks} == {2027, 2028}
    assert len({(visit.yard, visit.day) for visit in made.visits}) == len(made.visits)


# Hives to come --------------------------------------------------------------------------------------------------------


def test_a_package_that_comes_in_may_has_its_courses_and_counts_in_january() -> None:
    there = outfit(yard(colony("1", "2027-05-01", "package"), program="full"))
    made = make_plan(there, shipped(), FIRST)
    check_plan(made, there, shipped())
    assert made.choosing
    given_ = [t for t in made.tasks if t.product]
    assert given_
    assert any(t.logs == "count" for t in made.tasks)
    for task in made.tasks:
        if task.colony == "1":
            assert task.planned is not None
            assert task.planned >= on("2027-05-01")
            assert not any(note.startswith("Once they are in") for note in task.notes), f"{task.id}: hiving says so"


def test_a_swarm_to_come_which_no_sheet_puts_in_says_so_on_each() -> None:
    there = outfit(yard(colony("1", "2027-05-29", "swarm"), program="full"))
    mine = [task for task in make_plan(there, shipped(), FIRST).tasks if task.colony == "1"]
    assert mine
    for task in mine:
        assert any(note.startswith("Once they are in: Sat 29 May") for note in task.notes), task.id


def test_a_mixed_yard_treats_the_newcomer_with_the_rest_or_says_why_not() -> None:
    there = outfit(yard(colony("1"), colony("2", "2027-05-01", "package"), program="full"))
    made = make_plan(there, shipped(), FIRST)
    given_ = {t.colony for t in made.tasks if t.product}
    said = " ".join(w for one in made.choosing for w in (*one.chosen, *one.left))
    assert given_ == {"1", "2"} or "2" in said


# The past is what was printed -----------------------------------------------------------------------------------------


def test_what_was_printed_and_not_heard_of_is_assumed_on_its_day() -> None:
    first, later = lived(outfit(yard(colony())), [FIRST, on("05-20")], rules())
    printed = {t.id: t.planned for t in first.tasks if t.planned is not None and t.planned < on("05-20")}
    silent = {t.id: t.done for t in later.tasks if t.status is Status.ASSUMED}
    assert silent
    assert all(printed[name] == day for name, day in silent.items())


def test_a_count_is_never_done_without_a_result() -> None:
    _, later = lived(outfit(yard(colony())), [FIRST, on("06-20")], rules())
    counts = [t for t in later.tasks if t.logs == "count"]
    assert counts
    assert not [t.id for t in counts if t.status in (Status.DONE, Status.ASSUMED)]


def test_of_the_time_before_the_first_plan_treatments_and_counts_are_asked_for() -> None:
    made, _ = next_plan(outfit(FULL), Ledger("outfit"), on("08-01"), shipped())
    asked = [t for t in made.tasks if t.status is Status.UNKNOWN]
    assert asked
    assert {
        shipped().events[t.logs].value in ("count", "treatment") or t.window.hard_stop is not None for t in asked
    } == {True}
    assert any("Nothing is known of the time before" in note for note in made.notes)


def test_a_line_written_later_takes_the_place_of_what_was_assumed() -> None:
    kept = outfit(FULL)
    first, ledger = next_plan(kept, Ledger(kept.id), FIRST, shipped())
    course = min((t for t in first.tasks if t.product and t.colony == "1"), key=lambda t: t.planned or 0)
    assert course.planned is not None
    day = course.planned + 1
    wrote = Event(day, "yard", "1", course.logs, None, course.value + " lot K by AB")
    made, _ = next_plan(replace(kept, journal=(wrote,)), ledger, day + 1, shipped())
    assert (made.task(course.id).status, made.task(course.id).done) == (Status.DONE, day)


def test_what_a_line_says_was_not_done_is_not_assumed() -> None:
    kept = outfit(FULL)
    first, ledger = next_plan(kept, Ledger(kept.id), FIRST, shipped())
    course = min((t for t in first.tasks if t.product and t.colony == "1"), key=lambda t: t.planned or 0)
    assert course.planned is not None
    told_ = Event(course.planned, "yard", "1", "skipped", None, f"{course.method}/{course.step}/{course.n}")
    known = with_assumed(replace(kept, journal=(told_,)), ledger, shipped(), course.planned + 1)
    assert not [e for e in known.assumed if e.colony == "1" and e.word == course.logs]


# A year without a line ------------------------------------------------------------------------------------------------


def strips(made: Plan) -> dict[str, Task]:
    return {t.id: t for t in made.tasks if t.logs == "strips_out"}


@pytest.mark.parametrize("program", ["full", "acids_and_handwork", "few_drives"])
def test_a_year_without_a_line_loses_no_taking_out_and_begins_nothing_over_another(program: str) -> None:
    kept = outfit(yard(colony("1"), colony("2"), program=program))
    plans = lived(kept, list(range(FIRST, on("2028-01-20"), 19)), shipped())
    history_only_grows(plans)
    takings_out_stay(plans)
    nothing_begins_over_another(plans)


def history_only_grows(plans: list[Plan]) -> None:
    """What was printed stays what it was: the same day, in every later plan of its season."""
    known: dict[str, int | None] = {}
    for made in plans:
        seasons = {view.season for view in made.yards}
        now = {t.id: t.done for t in made.tasks if t.status is Status.ASSUMED}
        for name, day in known.items():
            if int(name.split("/")[2]) in seasons:
                assert now.get(name) == day, f"{name}, assumed on {told(day or 0)}, is gone as of {told(made.as_of)}"
        known |= now


def takings_out_stay(plans: list[Plan]) -> None:
    """What lies in a hive is to be taken out, in each plan, until somebody says that it was."""
    for made in plans:
        for put_in in silent_strips(made):
            name = put_in.colony, put_in.method, put_in.season
            out = [t for t in strips(made).values() if (t.colony, t.method, t.season) == name]
            assert out, f"nobody takes out what {put_in.id} put in, as of {told(made.as_of)}"
            assert {t.status for t in out} <= {Status.PLANNED, Status.IMPOSSIBLE}


def silent_strips(made: Plan) -> list[Task]:
    """What was printed to be put in, and not heard of."""
    return [t for t in made.tasks if t.logs == "strips_in" and t.status is Status.ASSUMED]


def nothing_begins_over_another(plans: list[Plan]) -> None:
    """No course is planned to begin in a hive before what lies in it is planned to come out."""
    for made in plans:
        lies = {(t.colony, t.method, t.season) for t in silent_strips(made)}
        outs = {t.colony: t for t in strips(made).values() if (t.colony, t.method, t.season) in lies and t.planned}
        for task in made.tasks:
            out = outs.get(task.colony)
            if task.product and task.planned is not None and out is not None and out.method != task.method:
                assert (out.planned or 0) <= task.planned, f"{task.id} over {out.id}, {told(made.as_of)}"


@settings(max_examples=some_of(12), deadline=None)
@given(outfits(), st.lists(st.integers(1, 40), min_size=3, max_size=8))
def test_one_day_later_history_has_not_gone(case: tuple[Outfit, int], gaps: list[int]) -> None:
    kept = replace(case[0], journal=None)
    first = rules().regions[kept.yards[0].region].season[0].in_year(YEAR)
    days = [first]
    for gap in gaps:
        days += [days[-1] + gap, days[-1] + gap + 1]
    history_only_grows(lived(kept, days, rules()))


def test_statuses_of_a_silent_keeper_are_named() -> None:
    _, later = lived(outfit(yard(colony())), [FIRST, on("09-01")], rules())
    assert Status.ASSUMED in set(statuses(later).values())
    assert any("Not heard of" in note for note in later.notes)
    assert plan(outfit(yard(colony())), "01-01").notes == ()
