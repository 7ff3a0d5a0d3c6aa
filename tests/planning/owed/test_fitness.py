"""Needs: what a method asks of a colony, each refusal with its reason and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from planning.yards import colony, drawn, lines, on, rules, shipped, short, told, yard

from ipmcal.model.outfit.outfit import Colony, Queen, TrapFrame
from ipmcal.model.plan.causes import because_words, causes_words
from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.methods import Needs
from ipmcal.model.rules.needs import BEGINNINGS, NEED_RULES, NeedRule
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.days import Span
from ipmcal.model.values.text import Text
from ipmcal.planning.owed.fitness import NEED_CHECKS, Fitness, comb_below, fitness, gap_mm
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
    return [because_words(why.what) for why in found.against]


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
    assert causes_words(found.advice) == ("Only with 4 frames of brood or more.",)


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
        assert found.against[0].helps is not None
        assert "drawn" in because_words(found.against[0].helps)


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


# Each word of needs does something ------------------------------------------------------------------------------------


def asked(needs: dict[str, object], of: Colony | None = None, trap: TrapFrame | None = None, *texts: str) -> Fitness:
    """How a colony fits a method that asks for nothing but ``needs``, written as in a file."""
    sources = {"practice": Basis.PRACTICE}
    words = Needs.model_validate(_said(needs), context={"sources": sources})
    kept = of or colony(traps=(trap,) if trap else ())
    season = season_of(yard(), rules(), on("12-31"), 2027)
    state = recall(kept, lines(*texts), season, on("12-31"), rules())
    return fitness(rules().methods[CUT].model_copy(update={"needs": words}), state, trap, season, rules())


def _said(value: object) -> object:
    if isinstance(value, dict):
        return {key: _said(one) for key, one in value.items()}
    return [Text(one) for one in value] if isinstance(value, list) else Text(str(value))


WEAK, PACKAGE = colony(strength=2.0), colony("1", "2027-04-20", "package")
NARROW = colony(traps=(short(frame="deep"),))
UNFIT: dict[str, tuple[object, Colony, TrapFrame | None, tuple[str, ...]]] = {
    "kind": ({"not": ["package"]}, PACKAGE, None, ()),
    "traps": ("short", colony(), drawn(), ()),
    "queen": ({"not": ["missing"]}, colony(), None, ("05-08 queen missing",)),
    "strength": ({"value": "5.. brood_frames @practice"}, WEAK, None, ()),
    "brood": ({"not": ["suspect"]}, colony(), None, ("05-09 suspect",)),
    "gap": ("comb", NARROW, short(frame="deep"), ()),
    "frames_a_place": ({"value": "2.. frames @practice"}, colony(), drawn(frames=1), ()),
    "box": ("full", PACKAGE, None, ()),
    "flow": ({"not": ["dearth"]}, colony(), None, ()),
}
"""For each need a way to say it, and a colony that does not fit. Warmth is read on the sheet: see below."""


def test_every_need_has_a_row_in_the_vocabulary_a_check_and_a_case() -> None:
    words = set(Needs.model_fields)
    assert words == set(NEED_RULES) == set(NEED_CHECKS)
    assert words == {*UNFIT, "temperature"}


@pytest.mark.parametrize("word", UNFIT)
def test_each_need_forbids_or_holds_back_and_as_advice_only_warns(word: str) -> None:
    said, of, trap, texts = UNFIT[word]
    found = asked({word: said}, of, trap, *texts)
    assert not found.meant or found.against or found.not_before or found.not_during
    assert found.advice == ()
    long = said if isinstance(said, dict) else {"is": said}
    warned = asked({word: {**long, "advice": "yes"}}, of, trap, *texts)
    assert (warned.meant, warned.against, warned.not_before, warned.not_during) == (True, (), None, ())
    assert len(warned.advice) == 1


@pytest.mark.parametrize(("need", "rule"), [(n, r) for n, r in NEED_RULES.items() if r.words])
def test_each_word_of_a_need_makes_a_difference(need: str, rule: NeedRule) -> None:
    """Said alone, and barred alone: one of some colonies fits otherwise than it does where nothing is asked."""
    for key, words in (("is", rule.words), ("not", rule.not_)):
        for word in words:
            made = [asked({need: {key: [word]}}, *who) for who in CROWD]
            assert any(one != asked({}, *who) for one, who in zip(made, CROWD, strict=True)), f"{need}.{key}: {word}"


CROWD: list[tuple[Any, ...]] = [
    *((colony("1", "2027-04-20", kind),) for kind in BEGINNINGS),
    *((None, trap) for trap in (short(), drawn(), short(frame="deep"))),
    *((None, None, f"05-08 queen {word}") for word in ("virgin", "cells", "caged", "missing", "drone_mother")),
    *((colony(queen=queen),) for queen in (Queen(clipped=True), Queen(marked=True))),
    (None, None, "05-09 suspect"),
]


def test_a_range_of_a_need_is_read_at_both_ends() -> None:
    few, many = {"value": "5..7 brood_frames @practice"}, {"value": "..1 frames @practice"}
    assert whys(asked({"strength": few}, colony(strength=9.0))) == ["9 frames of brood, and 7 at most are wanted"]
    assert whys(asked({"strength": few}, WEAK)) == ["2 frames of brood, and 5 are needed"]
    assert causes_words(asked({"strength": few}).advice) == ("Only with 5 to 7 frames of brood.",)
    (why,) = whys(asked({"frames_a_place": many}, None, drawn(frames=2)))
    assert why == "T1 has 2 drawn frames for its place, and 1 at most are wanted"


def test_a_flow_that_is_asked_for_closes_the_rest_of_the_season() -> None:
    """us_northeast: the main flow is 25 May to 15 July, the dearth 20 July to 15 August."""
    season = season_of(yard(), rules(), on("12-31"), 2027)
    mark = season.marks["flow_main"]
    assert mark.ends is not None
    before, after = asked({"flow": "main"}).not_during
    assert (before[0], before[1] + 1) == (season.first, mark.begins.usual)
    assert (after[0] - 1, after[1]) == (mark.ends.usual, season.last)


def test_a_colony_too_weak_for_caging_is_told_so() -> None:
    """The shipped rule asks for five frames of brood as advice: with two it is planned, and said."""
    season = season_of(yard(), shipped(), on("12-31"), 2027)
    state = recall(WEAK, (), season, on("12-31"), shipped())
    found = fitness(shipped().methods["brood_break_caging"], state, None, season, shipped())
    assert found.against == ()
    assert causes_words(found.advice) == ("Mind: 2 frames of brood, and 5 are needed.",)
