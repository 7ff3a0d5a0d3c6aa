"""What is to be read beside the work of a day: which entrances stay wide though all are made small, who is not fed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning.yards import SAT, colony, lines, plan, shipped, told, yard

from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.tasks import Task


def small(made: Plan) -> Task:
    return next(task for task in made.tasks if task.logs == "entrances_small")


def test_entrances_stay_wide_where_formic_acid_lies() -> None:
    """Labels of formic strips ask for the entrance over its whole width: a narrow one keeps the fumes in."""
    hives = (colony("1"), colony("2"))
    made = plan(yard(*hives, region="germany_central_europe", program="full", weekdays=(SAT,)), book=shipped())
    task, strips = small(made), [t for t in made.tasks if t.logs == "strips_in" and "formic" in t.method]
    assert {t.colony for t in strips if t.planned == task.planned} == {"1", "2"}
    assert [note for note in task.notes if "whole width there" in note] == [
        "Not 1 and 2: open over the whole width there, for formic acid, paired strips."
    ]


def test_nothing_is_said_where_nothing_wants_them_wide() -> None:
    made = plan(yard(colony("1"), region="us_northeast", program="full", weekdays=(SAT,)), book=shipped())
    assert not any("whole width there" in note for note in small(made).notes)


@pytest.mark.parametrize(("region", "weekday"), [("us_mid_atlantic", 2), ("canada_ontario", 2), ("us_northeast", SAT)])
def test_a_hive_is_fed_before_formic_acid_with_days_to_eat_it_or_once_it_is_out(region: str, weekday: int) -> None:
    """Labels of formic strips forbid feeding while they lie (uk_formic): weighings are planned around them, and none
    has to be told of them; where both are done on one visit, the strips come out first."""
    made = plan(yard(colony("1"), region=region, program="full", weekdays=(weekday,)), book=shipped())
    strips = {t.logs: t.planned or 0 for t in made.tasks if t.method == "formic_strips_pair" and t.logs != "inspected"}
    fed = [t for t in made.tasks if t.logs == "winter_fed"]
    assert len(fed) == 2
    for task in fed:
        assert task.planned is not None
        assert not strips["strips_in"] - 4 <= task.planned < strips["strips_out"]
        assert not any("No feed while" in note for note in task.notes)
        first = "First take formic acid, paired strips out." in task.notes
        assert first == (task.planned == strips["strips_out"])
    assert strips["strips_out"] in {t.planned for t in fed}


def strips_in_before(word: str) -> tuple[Plan, Task]:
    """The plan two days before a task of this word, with formic strips that went in on the day before that."""
    there = yard(colony("1"), region="us_northeast", program="full", weekdays=(SAT,))
    of = next(t for t in plan(there, book=shipped()).tasks if t.logs == word)
    gave = lines(f"{told(of.planned - 3)} strips_in formic_strips_pair 2")  # type: ignore[operator]
    there = replace(there, colonies=(colony("1", history=gave),))
    made = plan(there, of.planned - 2, book=shipped())  # type: ignore[operator]
    return made, next(t for t in made.tasks if t.id == of.id)


def test_a_hive_in_which_strips_lie_is_weighed_and_fed_once_they_are_out() -> None:
    made, weighed = strips_in_before("winter_fed")
    out = next(t for t in made.tasks if t.logs == "strips_out")
    assert out.planned is not None
    assert weighed.planned is not None
    assert weighed.planned >= out.planned


def test_where_food_tempts_over_strips_that_lie_it_is_said_beside_the_work() -> None:
    """A hive that is hefted is not fed by that, so that this goes on; who finds it light reads what to do."""
    _, hefted = strips_in_before("hefted")
    (note,) = [note for note in hefted.notes if note.startswith("No feed")]
    assert note.endswith("paired strips is in. Light? Feed it once that is out. Starving? Take it out and feed.")


def test_the_day_of_a_count_over_the_line_is_that_of_the_hive_that_had_it() -> None:
    """A hive counted below it three days later decides nothing, and lends its day to nothing."""
    over, below = lines("06-02 count 18/300"), lines("06-05 count 1/300", colony="2")
    there = yard(colony("1", history=over), colony("2", history=below), region="us_northeast", weekdays=(2, SAT))
    made = plan(replace(there, program="acids_and_handwork"), "06-06", book=shipped())
    told_of = {note for t in made.tasks for note in t.notes if "counted over the line" in note}
    assert told_of, [t.id for t in made.tasks]
    assert all("counted over the line in 1 on Wed 2 June" in note for note in told_of), told_of


def found_light(day: str, *more: str) -> tuple[Plan, Task, list[Task]]:
    """The plan of a hive that was found light on a day: its feeding, and the strips of formic acid to come."""
    history = lines(*more, f"{day} found_light")
    there = yard(colony("1", history=history), region="us_northeast", program="full", weekdays=(2, SAT))
    made = plan(there, day, book=shipped())
    fed = next(t for t in made.tasks if t.method == "found_light" and t.logs == "fed")
    return made, fed, [t for t in made.tasks if t.method == "formic_strips_pair" and t.logs == "strips_in"]


def test_a_course_makes_way_for_the_food_of_a_hive_that_was_found_light() -> None:
    """It is fed within days (practice: a light hive starves), and the strips go in when that is eaten."""
    _, _, (before,) = found_light("03-20")
    assert before.planned is not None
    made, fed, courses = found_light(told(before.planned - 1))
    assert fed.planned is not None
    assert fed.planned <= fed.window.closes
    assert all(t.planned is None or t.planned - 4 > fed.planned or t.planned > fed.planned + 20 for t in courses)
    assert not any(fed.id in c.tasks for c in made.conflicts)


def test_who_feeds_a_light_hive_over_strips_that_lie_is_told_what_the_label_says() -> None:
    made, fed, _ = found_light("09-01", "08-25 strips_in formic_strips_pair 2")
    assert fed.planned is not None
    assert fed.planned <= fed.window.closes
    assert any("Starving? Take it out and feed." in note for note in fed.notes)
    (conflict,) = [c for c in made.conflicts if fed.id in c.tasks]
    assert "paired strips: its label wants no feeding while it is in" in because_words(conflict.what)
