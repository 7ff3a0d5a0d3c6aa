"""Drives: yards that are visited on one drive, drives counted first; and the order in which. In: small yards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st
from planning.yards import SAT, SUN, colony, line, lines, on, outfit, own_task, plan, rules, yard

from ipmcal.model.outfit.outfit import Yard
from ipmcal.model.values.days import day
from ipmcal.planning.settle.drives import AS_FILED, groups

QUIET = ("new_colony", "swarm_check", "swarm_check_clipped", "mite_count", "supers", "winter_preparation")


def chores(key: str, *windows: tuple[str, str], drive: str = "round", weekdays: tuple[int, ...] = (SAT,)) -> Yard:
    """A yard with a task of the keeper's own in each of these windows, and nothing else."""
    tasks = [own_task(f"t{i}", first, last) for i, (first, last) in enumerate(windows)]
    return replace(yard(colony(key), weekdays=weekdays, tasks=tasks, declined=QUIET, key=key), drive=drive)


def test_yards_are_grouped_by_drive_in_their_own_order() -> None:
    a, b, c, d = chores("a"), chores("b", drive=""), chores("c", drive="other"), chores("d")
    assert groups([a, b, c, d]) == [[a, d], [b], [c]]
    assert groups([]) == []


def test_two_yards_without_a_drive_are_each_by_itself() -> None:
    a, b = chores("a", drive=""), chores("b", drive="")
    assert groups([a, b]) == [[a], [b]]


def test_a_yard_is_visited_when_the_other_has_to_be() -> None:
    """Alone, each does its task on its first Saturday; the second has only 15 May, and takes the first with it."""
    a = chores("a", ("05-08", "05-22"))
    b = chores("b", ("05-15", "05-20"))
    made = plan(outfit(a, b))
    assert {v.day for v in made.visits} == {on("05-15")}
    (drive,) = made.drives
    assert (drive.name, drive.day) == ("round", on("05-15"))
    assert drive.visits == ("a/2027-05-15", "b/2027-05-15")
    assert drive.minutes == sum(v.minutes for v in made.visits)
    assert drive.reason == AS_FILED
    assert drive.mind == rules().planning.cautions["between_yards"]
    apart = plan(outfit(replace(a, drive=""), b))
    assert {v.day for v in apart.visits} == {on("05-08"), on("05-15")}
    assert apart.drives == ()


def test_a_yard_with_a_hive_that_looks_sick_comes_last() -> None:
    a, b = chores("a", ("05-08", "05-12")), chores("b", ("05-08", "05-12"))
    made = plan(outfit(a, b, journal=[line("05-01 suspect sunken cappings", "a", "a")]), "05-02")
    (drive,) = made.drives
    assert drive.visits == ("b/2027-05-08", "a/2027-05-08")
    assert drive.reason == "A last: a hive there looks sick"


def least_drives(yards: Sequence[Sequence[tuple[int, int]]]) -> tuple[int, int]:
    """The fewest days, then visits, that do every task, by trying all. Windows are weeks, the last held for rain."""
    open_ = [[(i, range(first, max(first + 1, last))) for first, last in some] for i, some in enumerate(yards)]
    every = [one for some in open_ for one in some]
    found = []
    for where in product(*(weeks for _, weeks in every)):
        visits = {(i, week) for (i, _), week in zip(every, where, strict=True)}
        found.append((len({week for _, week in visits}), len(visits)))
    return min(found)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 2)), min_size=1, max_size=3), min_size=2, max_size=3)
)
def test_drives_then_visits_are_the_fewest_there_can_be(drawn: list[list[tuple[int, int]]]) -> None:
    """Against brute force: Saturdays from 1 May on."""
    weeks = [[(first, first + more) for first, more in some] for some in drawn]

    def saturday(week: int) -> str:
        return day(on("05-01") + 7 * week).strftime("%m-%d")

    yards = [
        chores(str(i), *[(saturday(first), saturday(last)) for first, last in some]) for i, some in enumerate(weeks)
    ]
    made = plan(outfit(*yards))
    assert (len({v.day for v in made.visits}), len(made.visits)) == least_drives(weeks)


def test_yards_of_one_drive_keep_their_own_days() -> None:
    """One yard is open on Saturdays, the other on Sundays: there is no day for both."""
    made = plan(outfit(chores("a", ("05-03", "05-16")), chores("b", ("05-03", "05-16"), weekdays=(SUN,))))
    assert len(made.visits) == 2
    assert made.drives == ()


def test_suspects_are_opened_last_in_their_yard() -> None:
    both = yard(colony("1"), colony("2"), program="first_year")
    made = plan(outfit(both, journal=lines("04-01 suspect sunken cappings", colony="1")), "04-02")
    assert [c.key for c in made.yards[0].colonies] == ["2", "1"]
