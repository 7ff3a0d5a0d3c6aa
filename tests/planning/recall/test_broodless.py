"""Broodless: when laying stopped and came back; labels, counts and ``brood.*`` tell one story of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ipmcal.model.outfit.outfit import Queen
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season
from ipmcal.planning.choose.known import brood_spells
from ipmcal.planning.labels.standing import BroodSpell
from ipmcal.planning.recall.broodless import breaks, nothing_capped, spells
from ipmcal.planning.recall.state import recall
from tests.planning.yards import colony, line, on, rules, told

SEASON = Season(2027, on("01-01"), on("12-31"), {}, ())
STOPS, STARTS = ("caged", "swarmed", "dequeened"), ("released", "introduced", "queen laying", "queen seen")


def state(*texts: str, kind: str = "overwintered", began: str = "2026-01-01") -> ColonyState:
    return recall(colony("1", began, kind), [line(text) for text in texts], SEASON, SEASON.last, rules())


def labels_of(of: ColonyState) -> list[BroodSpell]:
    return list(brood_spells(of, SEASON, rules(), winters=False))


@st.composite
def histories(draw: st.DrawFn) -> ColonyState:
    """A colony with up to six lines about its laying, in any order, on any days from April to October."""
    days = sorted(draw(st.lists(st.integers(90, 300), max_size=6)))
    texts = [f"{date.fromordinal(on('01-01') + d):%m-%d} {draw(st.sampled_from(STOPS + STARTS))}" for d in days]
    kind = draw(st.sampled_from(("overwintered", "package", "nucleus", "split", "swarm")))
    return state(*texts, kind=kind, began="2027-04-01" if kind != "overwintered" else "2026-01-01")


@given(histories())
def test_labels_counts_and_anchors_tell_one_story(of: ColonyState) -> None:
    """The first day without capped brood, whether there is an end, and the first eggs are the same for all three."""
    ours, counts, label = breaks(of, rules()), spells(of, rules()), labels_of(of)
    perhaps = [s for s in label if not s.pays]
    assert [(s.first, s.last is None) for s in counts] == [(s.first, s.last is None) for s in perhaps]
    for spell in label:
        assert any(one.holds(spell.first) and (spell.last is None or one.holds(spell.last)) for one in counts)
    if not ours or ours[-1].eggs is None:
        assert "brood.first_egg" not in of.days
        return
    eggs, capped = (of.days[f"brood.{name}"].why.span for name in ("first_egg", "first_capped"))
    assert eggs == ours[-1].eggs.span
    assert capped is not None
    sure = [s.last for s in label if s.state == "none" and s.last is not None]
    assert not sure or ours[-1].bare or max(sure) < capped.low or max(sure) < ours[-1].since


PACKAGE = {"kind": "package", "began": "2027-04-01"}


@given(histories())
@example(state("04-01 released", "04-01 caged", **PACKAGE))
@example(state("04-01 queen laying", "04-01 caged", **PACKAGE))
@example(state("04-01 caged", "04-20 introduced", "04-21 dequeened"))
def test_breaks_follow_on_each_other(of: ColonyState) -> None:
    """A break begins once the eggs of the one before could be there; only the last may have no end."""
    found = breaks(of, rules())
    for before, after in pairwise(found):
        assert before.eggs is not None
        assert before.since < after.since
        assert before.eggs.span.low <= after.since


def test_a_queen_let_out_and_caged_before_her_first_egg_was_never_back() -> None:
    """She lays two days after she is let out (biology.yaml): caged on the next, there is no egg between."""
    texts = ("06-01 caged", "06-20 released", "06-21 caged")
    (one,) = breaks(state(*texts), rules())
    assert (told(one.since), one.eggs) == ("06-01", None)
    later = breaks(state(*texts[:2], "06-22 caged"), rules())
    assert [told(one.since) for one in later] == ["06-01", "06-22"], "on her first day she may have laid"


def capped_on(day: int, laid: range) -> bool:
    """Whether a cell may be capped on a day, laid on any of these days: each age that the tables leave open."""
    castes = rules().biology.castes
    return any(
        egg + c.capped.value.low <= day < egg + c.emerges.value.high
        for c in (castes.worker, castes.drone)
        for egg in laid
    )


@given(st.integers(100, 200), st.integers(1, 60))
def test_on_no_sure_day_is_anything_capped_and_the_day_before_and_after_something_may_be(
    caged: int, later: int
) -> None:
    """Brood followed egg by egg, beside the formulas: laid daily to the day of caging, and again from 2 days after."""
    first = on("01-01") + caged
    out = first + later
    texts = [f"{date.fromordinal(day):%m-%d} {word}" for day, word in ((first, "caged"), (out, "released"))]
    sure = [s for s in labels_of(state(*texts)) if s.state == "none"]
    lays = out + rules().biology.queen["lays_after_release"].value.low
    laid = [range(first - 60, first + 1), range(lays, lays + 60)]
    free = [d for d in range(first, lays + 9) if not any(capped_on(d, days) for days in laid)]
    days = [d for s in sure for d in range(s.first, (s.last or 0) + 1)]
    assert days == free


def test_a_caged_queen_who_is_not_let_out_has_no_end_for_anybody() -> None:
    of = state("06-01 caged")
    assert [s.last for s in spells(of, rules())] == [None]
    assert [s.last for s in labels_of(of)] == [None, None]
    assert "brood.first_egg" not in of.days


@pytest.mark.parametrize(
    ("texts", "queen"),
    [(("05-22 swarmed",), "missing"), (("05-22 dequeened",), "missing"), (("05-22 caged",), "caged")],
)
def test_only_a_queen_that_was_shut_in_is_caged(texts: Sequence[str], queen: str) -> None:
    assert queen in state(*texts).queen


def test_a_hive_caged_and_then_without_queen_has_one_break() -> None:
    """Nothing was laid between: the last eggs are those of the first day; the cells are drawn from the second."""
    (one,) = breaks(state("06-01 caged", "06-10 dequeened"), rules())
    (later,) = breaks(state("06-10 dequeened"), rules())
    assert (told(one.since), one.eggs and one.eggs.span) == ("06-01", later.eggs and later.eggs.span)


def test_a_queen_seen_laying_long_after_tells_nothing_of_the_first_eggs() -> None:
    """Swarmed in May, seen laying in September: laying began in its time and went on."""
    plain, seen = (breaks(state("05-22 swarmed", *more), rules())[0] for more in ((), ("09-04 queen laying",)))
    assert plain.eggs == seen.eggs
    assert plain.eggs is not None
    assert not plain.eggs.written


def test_a_package_whose_queen_is_let_out_later_has_brood_later() -> None:
    days = nothing_capped(
        breaks(state("04-03 released", kind="package", began="2027-04-01"), rules())[0], rules().biology
    )
    assert days.closes is not None
    assert days.closes.low == on("04-03") + 2 + 8 - 1
    assert days.opens == Span.exact(on("04-01"))


def test_a_half_left_without_the_queen_has_the_days_of_a_queen_taken_away() -> None:
    """Told in the yard file, or by a line of the day on which it was made: the same as `dequeened` on that day."""
    file = replace(colony("1", "2027-05-15", "split"), queen=Queen(state="missing"))
    told_there = recall(file, [], SEASON, SEASON.last, rules())
    by_line = state("05-15 queen missing", kind="split", began="2027-05-15")
    taken = state("05-15 dequeened", kind="split", began="2027-05-15")
    for half in (told_there, by_line):
        (one,), (other,) = breaks(half, rules()), breaks(taken, rules())
        assert (one.since, one.eggs and one.eggs.span) == (other.since, other.eggs and other.eggs.span)
        assert [(s.first, s.last) for s in spells(half, rules())] == [(s.first, s.last) for s in spells(taken, rules())]
        assert [(s.state, s.first, s.last) for s in labels_of(half)] == [
            (s.state, s.first, s.last) for s in labels_of(taken)
        ]
        assert nothing_capped(one, rules().biology).opens.low == on("05-15") + 20  # it has brood
    assert breaks(state(kind="split", began="2027-05-15"), rules()) == ()
    (later,) = breaks(state("05-20 queen missing", kind="split", began="2027-05-15"), rules())
    assert told(later.since) == "05-20", "she was there before, and may have laid up to that day"


def test_a_half_without_the_queen_that_lays_after_all_has_no_break_from_then_on() -> None:
    one, *rest = breaks(state("05-15 queen missing", "06-12 queen laying", kind="split", began="2027-05-15"), rules())
    assert rest == []
    assert one.eggs is not None
    assert (one.eggs.written, told(one.eggs.span.high)) == (True, "06-12")
