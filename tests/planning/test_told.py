"""What a plan says of its own days is so: why a step is late, and whether the keeper could have come."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from planning.invariants import check_plan
from planning.yards import YEAR, colony, drawn, lines, on, outfit, shipped, short, told, yard

from ipmcal.model.outfit.outfit import Outfit, Queen
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Status
from ipmcal.planning.plan import make_plan, season_of
from ipmcal.planning.recall.state import recall

WED, SAT, SUN = 2, 5, 6


def made(kept: Outfit, as_of: str) -> Plan:
    """A plan by the shipped rules, with everything that holds for any plan."""
    found = make_plan(kept, shipped(), on(as_of), YEAR)
    check_plan(found, kept, shipped())
    return found


def one_hive(*texts: str, weekdays: tuple[int, ...] = (WED, SAT), program: str = "full") -> Outfit:
    """A hive in the north-east of the United States, and what was written of it."""
    kept = replace(yard(colony("1", strength=8), program=program, weekdays=weekdays), jurisdiction="us")
    return outfit(kept, journal=lines(*texts))


def words(of: Plan) -> str:
    return "\n".join(because_words(c.what) for c in of.conflicts)


def planned(of: Plan, step: str) -> list[str]:
    """The days on which steps of a name are planned."""
    return [told(t.planned) for t in of.tasks if t.status is Status.PLANNED and t.step == step and t.planned]


# What goes along ------------------------------------------------------------------------------------------------------

MISSING = ("05-22 strips_in formic_strips_pair 2 lot F by AB", "06-05 queen missing", "06-05 no_eggs")


def test_the_look_for_eggs_after_formic_acid_does_not_wait_for_a_wash_that_a_virgin_puts_off() -> None:
    """The registrant's page: look for eggs four weeks after it went in; a wash may wait, a look costs no virgin."""
    found = made(one_hive(*MISSING, "06-05 strips_out formic_strips_pair 2 by AB"), "06-06")
    steps = (found.task(f"1/formic_strips_pair/2027/{step}/1") for step in ("queen_look", "count_after"))
    look, wash = (told(step.planned or 0) for step in steps)
    assert "06-19" <= look <= "07-03" < wash
    assert "queen_look" not in " ".join(task for c in found.conflicts for task in c.tasks)


def test_a_look_that_was_done_before_its_count_passes_over_nothing() -> None:
    """The count is owed still, though the look that goes along with it was done first."""
    lines_ = (*MISSING, "06-05 strips_out formic_strips_pair 2 by AB", "06-23 egg_look eggs", "06-23 queen laying")
    found = made(one_hive(*lines_), "06-24")
    assert found.task("1/formic_strips_pair/2027/count_after/1").status is Status.PLANNED
    looked = found.task("1/formic_strips_pair/2027/queen_look/1")
    assert (looked.status, told(looked.done or 0)) == (Status.DONE, "06-23")


LOST = ("05-19 swarmed", "06-16 queen laying")


# Why it is late -------------------------------------------------------------------------------------------------------


def test_who_comes_once_a_week_shuts_a_dead_hive_and_looks_at_its_combs_on_one_visit() -> None:
    found = made(one_hive("11-05 died", weekdays=(SUN,)), "11-10")
    assert planned(found, "shut_it") == planned(found, "combs") == ["11-14"]
    assert "comes late" not in words(found)


# Swarmed --------------------------------------------------------------------------------------------------------------


def test_the_hive_of_a_clipped_queen_that_swarmed_is_left_shut_until_the_look_for_eggs() -> None:
    """Common practice: after the cells are down to one nobody goes through the hive before the young queen may lay."""
    hive = colony("1", queen=Queen(2025, clipped=True), strength=8)
    kept = outfit(yard(hive, program="full", weekdays=(WED, SAT)), journal=lines("05-12 inspected", "05-19 swarmed"))
    found = made(kept, "05-21")
    assert not [t.id for t in found.tasks if t.status is Status.PLANNED and t.logs == "inspected"]
    assert planned(found, "cells")
    assert [r.subject for r in found.refusals if r.method == "swarm_check_clipped"] == ["1"]


@pytest.mark.parametrize(("texts", "clipped"), [((), True), (("05-10 caged", "05-14 released"), True), (LOST, False)])
def test_the_young_queen_that_follows_is_not_clipped(texts: tuple[str, ...], clipped: bool) -> None:
    """The mark and the clip are those of the queen that went; one that was caged is the same queen."""
    hive = colony("1", queen=Queen(2025, clipped=True, marked=True), history=lines(*texts))
    there = yard(hive)
    state = recall(hive, (), season_of(there, shipped(), on("06-20"), YEAR), on("06-20"), shipped())
    assert ("clipped" in state.queen, "marked" in state.queen) == (clipped, clipped)
    assert "laying" in state.queen


# Swarm checks over what lies in the hive ------------------------------------------------------------------------------


def test_swarm_checks_go_on_over_strips_but_for_the_days_that_the_label_wants_quiet() -> None:
    """A queen cell is sealed eight days after its egg (teaching pages), and a swarm goes then: no gap of weeks.

    Paired strips in the United States: nobody opens the hive on the day before, nor for three days after.
    """
    told_ = ("05-12 inspected", "05-19 inspected", "05-19 count 12/300")
    kept = one_hive(*told_)
    kept = replace(kept, yards=(replace(kept.yards[0], treatments=("formic_strips_pair",)),))
    found = made(kept, "05-21")
    given = found.task("1/formic_strips_pair/2027/apply/1").planned
    out = found.task("1/formic_strips_pair/2027/take_out/1").planned
    assert given is not None
    assert out is not None
    checks = [on("05-19"), *(on(day) for day in planned(found, "check"))]
    assert [day for day in checks if given < day < out], "some fall between the laying and the taking out"
    assert max(b - a for a, b in pairwise(checks)) <= 8
    assert not [day for day in checks if given - 1 <= day <= given + 3]
    over = next(t for t in found.tasks if t.step == "check" and t.planned and given < t.planned < out)
    assert any(note.startswith("First lift") for note in over.notes)


# An egg in a cup ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("weekdays", [(WED, SAT), (0, 3, 5), (SAT, SUN), (1, 4)])
def test_the_sheet_and_the_plan_give_one_day_to_be_back_for_an_egg_in_a_cup(weekdays: tuple[int, ...]) -> None:
    """Sealed eight days after its egg, which may be three days old when seen (a club's page of 2024)."""
    sheet = make_plan(one_hive(weekdays=weekdays), shipped(), on("05-01"), YEAR)
    check = next(t for t in sheet.tasks if t.step == "check" and t.planned is not None)
    first = check.planned or 0
    assert check.choices is not None
    (back,) = (row.back for row in check.choices.rows if row.found == "Egg in a cup")
    assert back is not None
    found = made(one_hive(f"{told(first)} inspected", f"{told(first)} cups_laid", weekdays=weekdays), told(first + 1))
    assert found.task("1/eggs_in_cups/2027/again/1").planned == back[0]


def test_one_look_through_a_hive_answers_all_that_ask_for_one_on_a_visit() -> None:
    found = made(one_hive("05-12 inspected", "05-13 cells_found"), "05-14")
    looks = [(t.planned, t.id) for t in found.tasks if t.logs == "inspected" and t.planned is not None]
    assert len({day for day, _ in looks}) == len(looks), looks
    assert "1/cells_found/2027/again/1" in {task for _, task in looks}


def test_a_look_at_strips_is_no_look_for_cells() -> None:
    """Strips are moved to the bees halfway through their time, on a visit that looks for cells too: neither is lost."""
    lain = "05-01 strips_in amitraz_strip 4 lot K by AB"
    for plan_ in (made(one_hive(lain, weekdays=(SAT,)), day) for day in ("05-02", "05-12", "05-19")):
        moved = plan_.task("1/amitraz_strip/2027/respace/1")
        assert moved.planned is not None
        checks = [t for t in plan_.tasks if t.method == "swarm_check" and t.planned == moved.planned]
        assert checks, "on a day of its own it would prove nothing"


def test_a_look_that_finds_cells_anew_does_not_answer_for_them() -> None:
    """The look of 18 May answers the cells of the 12th; what it found is looked at again."""
    lines_ = ("05-12 inspected", "05-12 cells_found", "05-19 inspected", "05-19 cells_found")
    found = made(one_hive(*lines_), "05-20")
    assert found.task("1/cells_found/2027/again/1").planned in range(on("05-24"), on("05-27"))


# Trap combs where no queen was found ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("seen", "barred"), [("", False), ("queen virgin", True), ("queen cells", True)])
def test_a_trap_comb_comes_out_where_no_queen_was_found_and_waits_where_a_virgin_was(
    seen: tuple[str, ...], barred: bool
) -> None:
    """One comb is lifted for the test comb, too, and shakes nobody; combs of drones let out more mites each day."""
    texts = ("04-24 trap_hung D1 2", "05-12 trap_swapped D1", "06-04 queen missing", "06-04 no_eggs")
    texts = (*texts, f"06-05 {seen}") if seen else texts
    hive = colony("1", strength=8, traps=(drawn("D1"),))
    kept = replace(yard(hive, program="full", weekdays=(WED, SAT)), jurisdiction="us", treatments=())
    found = made(outfit(kept, journal=lines(*texts)), "06-06")
    swap = found.task("1.D1/trap_comb_frozen/2027/swap/2")
    assert ((swap.planned or 0) > on("06-20")) if barred else (swap.planned in range(on("06-06"), on("06-13")))
    assert ("a virgin or queen cells may be in it" in words(found)) == barred


# Words ----------------------------------------------------------------------------------------------------------------


def test_what_a_sheet_prints_as_an_answer_is_no_conflict() -> None:
    """OPEN is one of the words to circle: the comb was built later than usual, and is looked at again."""
    trap = colony("1", strength=8, traps=(short(),))
    kept = replace(yard(trap, program="full", weekdays=(WED, SAT)), jurisdiction="us")
    found = made(outfit(kept, journal=lines("04-24 trap_hung T1 2", "05-12 found T1 all_open")), "05-13")
    assert "does not fit" not in words(found)
    assert any(t.trap == "T1" and t.look and t.status is Status.PLANNED for t in found.tasks)


def test_the_last_line_of_a_hive_tells_what_was_found_and_no_code_of_a_sheet() -> None:
    trap = colony("1", strength=8, traps=(short(),))
    texts = lines("04-24 trap_hung T1 2", "05-12 cups_laid", "05-12 skipped T1 trap_comb_cut/cut/1")
    noted = [replace(event, note="sheet A4 line 6") if event.word == "cups_laid" else event for event in texts]
    found = made(outfit(yard(trap, program="full"), journal=noted), "05-13")
    (view,) = found.yards
    (hive,) = view.colonies
    assert "sheet" not in hive.last
    assert "/" not in hive.last
    assert "eggs found in queen cups" in hive.last


def test_the_last_line_of_a_hive_says_of_a_number_what_it_is_of() -> None:
    (view,) = made(one_hive("05-16 supers_on 1"), "05-17").yards
    assert view.colonies[0].last == "Sun 16 May: supers on 1"


def test_each_count_that_falls_away_for_the_cold_has_a_board_of_its_own() -> None:
    """A neighbour's death asks for a count in March, and autumn's count keeps its own board."""
    hives = (colony("1", strength=8), colony("2", history=lines("03-10 found_dead", colony="2")))
    kept = replace(yard(*hives, program="full", weekdays=(WED, SAT)), jurisdiction="us")
    found = made(outfit(kept, journal=()), "03-11")
    boards = [told(t.planned) for t in found.tasks if t.logs == "board_in" and t.colony == "1" and t.planned]
    assert [day for day in boards if day < "05-01"]
    assert [day for day in boards if day > "10-01"]


def test_days_that_went_by_unused_are_not_said_to_be_none() -> None:
    """Who comes on Wednesdays and did not check in time is late; no day of the past would help."""
    first = made(one_hive(weekdays=(WED,)), "01-01")
    check = next(t for t in first.tasks if t.method == "swarm_check" and t.n == 1)
    last = max(d for d in range(check.window.opens, check.window.closes + 1) if (d - 1) % 7 == WED)
    assert check.window.closes > last, "no Wednesday is left on its last day"
    late = made(replace(one_hive(weekdays=(WED,)), since=on("01-01")), told(check.window.closes))
    (told_,) = (c for c in late.conflicts if check.id in c.tasks)
    assert "no day of yours" not in because_words(told_.what)
    assert "it was not done on your days in its time" in because_words(told_.what)
    assert because_words(told_.helps).startswith(("a day on", "a day in", "a day as soon")), because_words(told_.helps)


# Over the line --------------------------------------------------------------------------------------------------------


def test_a_hive_over_the_line_is_treated_once_what_lies_in_it_comes_out() -> None:
    """Strips that are to come out on the next visit leave no hive without: mites go out from one left untreated."""
    hives = [colony(key, strength=8) for key in ("1", "2")]
    there = replace(yard(*hives, region="us_florida", program="trap_combs", weekdays=(WED, SAT)), jurisdiction="us")
    texts = ("01-16 strips_in oxalic_slow_strip 8 lot V by AB", "02-17 count 12/300")
    journal = (
        *lines(*texts, colony="1"),
        *lines("01-16 strips_in oxalic_slow_strip 8 lot V by AB", colony="2"),
        *lines("02-20 count 2/300", "02-27 strips_out oxalic_slow_strip 8 by AB", colony="2"),
    )
    found = made(outfit(there, journal=journal), "02-28")
    out = next(t for t in found.tasks if t.colony == "1" and t.logs == "strips_out" and t.planned is not None)
    given = [t for t in found.tasks if t.colony == "1" and t.product and (t.planned or 0) >= (out.planned or 0)]
    assert given
    assert min(t.planned or 0 for t in given) - on("02-28") <= 14
    told_ = [w for one in found.choosing for w in one.chosen if "counted over the line" in w]
    assert told_
    assert all("in 1 on Wed 17 Feb" in w for w in told_), "the day of its own count"


def test_a_course_given_in_part_is_not_said_to_be_over_before_the_day_that_was_planned_for_the_rest() -> None:
    """Saturdays alone, in New Zealand: given in one hive on 12 February, and planned for the other on the next."""
    hives = [colony(key, "2025-09-01", strength=8) for key in ("1", "2")]
    kept = yard(*hives, region="nz_north_island", program="full", weekdays=(SAT,))
    there = replace(kept, jurisdiction="nz", treatments=("amitraz_strip", "flumethrin_strip"))
    given = ("2028-02-12 supers_off", "2028-02-12 count 11/300", "2028-02-12 strips_in amitraz_strip 4 lot Z by AB")
    journal = lines(*given)
    before, after = (made(outfit(there, journal=journal), day) for day in ("2028-02-13", "2028-04-28"))
    rest = [t for t in before.tasks if t.colony == "2" and t.method == "amitraz_strip" and t.logs == "strips_in"]
    assert [told(t.planned or 0) for t in rest] == ["2028-02-19"]
    (said,) = (w for one in after.choosing for w in one.left if "was given in this yard and not in 2" in w)
    last = said.partition("over on ")[2].partition(":")[0]
    assert last not in ("Thu 17 Feb", "Fri 18 Feb"), said


def test_bees_that_come_in_weeks_are_not_called_left_untreated_by_a_count_of_today() -> None:
    """A count over the line in April is acted on within the fortnight; a package of late May is no neighbour yet."""
    over = colony("1", history=lines("04-24 count 40/300", colony="1"))
    there = outfit(yard(over, colony("2", "2027-05-29", "package", boxes=["deep"]), program="full"), journal=())
    of = made(there, "04-25")
    left = [*(because_words(c.what) for c in of.conflicts), *(words for one in of.choosing for words in one.left)]
    assert not [words for words in left if "a course in 2 for: counted over the line" in words]
    soon = [t for t in of.tasks if t.product and t.colony == "1" and t.planned is not None]
    assert min(t.planned or 0 for t in soon) < on("05-09")
