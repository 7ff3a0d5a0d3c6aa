"""Needs: what a method asks of a colony, each refusal with its reason and what would help."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from planning.yards import colony, drawn, lines, on, rules, short, told, yard

from ipmcal.model.outfit.outfit import Colony, Queen, TrapFrame
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.values.days import Span
from ipmcal.planning.owed.fitness import Fitness, comb_below, fitness, gap_mm
from ipmcal.planning.plan import season_of
from ipmcal.planning.recall.state import recall

CUT, FROZEN = "trap_comb_cut", "trap_comb_frozen"


def fit(
    method: str,
    of: Colony | None = None,
    trap: TrapFrame | None = None,
    texts: Sequence[str] = (),
    region: str = "us_northeast",
) -> Fitness:
    """Whether a method fits a colony after lines of the journal."""
    kept = of or colony(traps=(trap,) if trap else ())
    season = season_of(yard(region=region), rules(), on("12-31"), 2027)
    state = recall(kept, lines(*texts), season, on("12-31"), rules())
    return fitness(rules().methods[method], state, trap, season, rules())


def whys(found: Fitness) -> list[str]:
    return [why.what for why in found.against]


# For whom a method is meant -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "trap", "meant"),
    [(CUT, short(), True), (CUT, drawn(), False), (FROZEN, drawn(), True), (FROZEN, short(), False)],
)
def test_short_frames_are_cut_and_drawn_ones_frozen(method: str, trap: TrapFrame, meant: bool) -> None:
    assert fit(method, trap=trap).meant == meant


@pytest.mark.parametrize("kind", ["package", "nucleus", "swarm", "split", "overwintered"])
def test_first_weeks_are_for_colonies_in_their_first_season(kind: str) -> None:
    new = fit("new_colony", colony("1", "2027-05-02", kind))
    assert new.meant == (kind != "overwintered")
    assert not fit("new_colony", colony("1", "2026-05-02", kind)).meant, "next year it came through winter"


@pytest.mark.parametrize(
    ("kind", "checked"),
    [("package", False), ("nucleus", False), ("swarm", False), ("split", True), ("overwintered", True)],
)
def test_swarm_checks_are_for_colonies_that_may_swarm(kind: str, checked: bool) -> None:
    assert fit("swarm_check", colony("1", "2027-05-02", kind)).meant == checked


@pytest.mark.parametrize("clipped", [True, False])
def test_a_clipped_queen_has_the_method_for_clipped_queens_and_only_that(clipped: bool) -> None:
    of = colony(queen=Queen(clipped=clipped))
    assert fit("swarm_check_clipped", of).meant == clipped
    assert fit("swarm_check", of).meant != clipped


# What speaks against --------------------------------------------------------------------------------------------------


def test_a_strong_colony_with_a_laying_queen_may_have_a_trap() -> None:
    found = fit(CUT, colony(traps=(short(),), strength=6.0), short())
    assert (found.meant, found.against, found.advice, found.not_before) == (True, (), (), None)


def test_where_the_strength_is_not_known_it_is_said_and_not_forbidden() -> None:
    found = fit(CUT, trap=short())
    assert found.against == ()
    assert found.advice == ("Only with 4 frames of brood or more.",)


@pytest.mark.parametrize(("frames", "against"), [(3.0, True), (4.0, False), (8.0, False)])
def test_fewer_than_four_frames_of_brood_are_too_few(frames: float, against: bool) -> None:
    """Ontario leaflet: strong colonies only, at least four frames of brood."""
    found = fit(CUT, colony(traps=(short(),), strength=frames), short())
    assert bool(found.against) == against
    if against:
        assert whys(found) == ["3 frames of brood, and 4 are needed"]
        (why,) = found.against
        assert why.helps
        assert why.reason is not None
        assert why.reason.rule is Rule.NEED
        assert all(value.cites for value in why.reason.values)


@pytest.mark.parametrize(
    ("texts", "what"),
    [
        (["05-08 queen missing"], "the queen is missing"),
        (["05-08 queen virgin"], "the queen is virgin"),
        (["05-08 queen drone_mother"], "the queen is drone mother"),
        (["07-01 caged"], "the queen is caged"),
        (["05-08 suspect sunken cappings"], "its brood looks sick"),
    ],
)
def test_no_trap_without_a_laying_queen_nor_in_a_drone_mothers_hive_nor_with_sick_brood(
    texts: list[str], what: str
) -> None:
    for method, trap in ((CUT, short()), (FROZEN, drawn())):
        found = fit(method, trap=trap, texts=texts)
        assert whys(found) == [what]
        assert all(why.helps for why in found.against)


def test_every_reason_is_given_not_only_the_first() -> None:
    found = fit(CUT, colony(traps=(short(),), strength=2.0), short(), ["05-08 queen missing", "05-09 suspect"])
    assert len(found.against) == 3


@pytest.mark.parametrize(
    ("frame", "box", "hive", "against"),
    [
        ("medium", "deep", "langstroth_10", False),  # 232 - 159 = 73 mm
        ("three_quarter", "deep", "langstroth_10", False),  # 232 - 184 = 48 mm
        ("deep", "deep", "langstroth_10", True),  # nothing below it
        ("shallow", "medium", "langstroth_10", True),  # 159 - 137 = 22 mm: comb, but hardly a trap
        ("bs_shallow", "bs_brood", "national", False),  # 216 - 140 = 76 mm
        ("dadant_super", "dadant_brood", "dadant_10", False),  # 300 - 160 = 140 mm
    ],
)
def test_the_gap_below_a_short_frame_must_be_wide_enough_for_a_trap(
    frame: str, box: str, hive: str, against: bool
) -> None:
    trap = short(frame=frame)
    found = fit(CUT, colony(traps=(trap,), boxes=(box,), hive=hive), trap)
    assert bool(found.against) == against
    if against:
        assert "gap" in whys(found)[0]
        assert "drawn" in found.against[0].helps


def test_a_frame_as_tall_as_its_box_leaves_no_gap_and_no_comb() -> None:
    assert gap_mm(short(frame="deep"), "deep", rules().hives) == 0
    assert comb_below(short(frame="deep"), "deep", rules()) is None


def test_a_medium_frame_in_a_deep_box_bears_about_1200_to_1500_drone_cells() -> None:
    """73 mm less a bee space of 6 to 9.5 mm, 430 mm wide, 2.3 to 2.6 cells/cm2 on each side (COLOSS BEEBOOK 2013)."""
    found = comb_below(short(), "deep", rules())
    assert found is not None
    assert found.cells.low == pytest.approx((73 - 9.5) / 10 * 43.0 * 2.3 * 2)
    assert found.cells.high == pytest.approx((73 - 6) / 10 * 43.0 * 2.6 * 2)


@pytest.mark.parametrize(("frames", "against"), [(1, True), (2, False)])
def test_a_place_for_drawn_frames_needs_two_of_them(frames: int, against: bool) -> None:
    trap = drawn(frames=frames)
    found = fit(FROZEN, trap=trap)
    assert bool(found.against) == against
    assert not against or "one hangs, one freezes" in whys(found)[0]


# When -----------------------------------------------------------------------------------------------------------------


def test_a_package_waits_until_its_box_is_full() -> None:
    """Common practice, and for swarms Lee & Winston 1985: no drone comb in the first weeks."""
    found = fit(CUT, colony("1", "2027-04-20", "package", (short(),)), short())
    assert found.not_before is not None
    assert found.not_before.span == Span.exact(on("06-15")), "20 April + 56 d"


def test_no_trap_is_hung_in_a_dearth() -> None:
    (period,) = fit(CUT, trap=short()).not_during
    assert [told(period[0]), told(period[1]), period[2]] == ["07-20", "08-15", "dearth"]
    assert fit(CUT, trap=short(), region="scotland_north_england").not_during == (), "a region without one"
