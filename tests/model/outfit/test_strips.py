"""Strips: one replay of what went into hives and what came out, the same for plan, record and log."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning.yards import colony, line, on, outfit, plan, shipped, told, yard

from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.outfit.strips import Naming, Strips, strips_of
from ipmcal.planning.record import make_record
from ipmcal.reading.entering.entries import Facts, left_in
from ipmcal.reading.journal.keys import Keys

HIVES = ("1", "2", "3")


def keeper(*journal: Event) -> Outfit:
    """Three hives, and a keeper who has a name of their own for amitraz strips."""
    made = outfit(yard(*map(colony, HIVES)), journal=journal)
    return replace(made, products={"Streifen": "amitraz_strip"})


def journal(*texts: str) -> tuple[Event, ...]:
    """Lines such as ``2 08-14 strips_in amitraz_strip 2``: the hive first."""
    parts = [text.partition(" ") for text in texts]
    return tuple(line(rest, hive, number=number) for number, (hive, _, rest) in enumerate(parts, 1))


def replay(*texts: str) -> Strips:
    lines = journal(*texts)
    return strips_of(lines, Naming(shipped(), keeper(*lines)))


def test_what_was_in_a_hive_that_is_united_is_in_the_other_from_then_on() -> None:
    found = replay("2 08-14 strips_in amitraz_strip 2", "2 09-04 united 1", "1 09-25 strips_out amitraz_strip 1")
    assert found.left_in("1", "amitraz_strip") == 1
    assert found.left_in("2", "amitraz_strip") == 0
    assert found.too_much == []


def test_what_had_come_out_before_stays_told_of_the_hive_that_went() -> None:
    found = replay("2 08-01 strips_in amitraz_strip 2", "2 09-12 strips_out amitraz_strip 2", "2 09-20 united 1")
    assert [run.treatment for run in found.runs["2"]] == ["amitraz_strip"]
    assert found.runs["1"] == []


def test_a_keepers_own_name_and_the_rule_files_are_one_treatment() -> None:
    found = replay("1 08-14 strips_in Streifen 2", "1 09-25 strips_out amitraz_strip 2")
    assert (found.left_in("1", "amitraz_strip"), found.too_much) == (0, [])


def test_strips_of_last_year_that_nobody_took_out_come_out_after_the_new_ones() -> None:
    """Two new ones, and two forgotten: the first two out are the new ones, the next two the old."""
    put_in = ("1 2026-08-14 strips_in amitraz_strip 2", "1 2027-08-14 strips_in amitraz_strip 2")
    found = replay(*put_in, "1 2027-09-25 strips_out amitraz_strip 2")
    assert [(told(run.began), run.open) for run in found.runs["1"]] == [("2026-08-14", True), ("08-14", False)]
    found = replay(*put_in, "1 2027-09-25 strips_out amitraz_strip 4")
    assert [run.open for run in found.runs["1"]] == [False, False]
    (over,) = replay(*put_in, "1 2027-09-25 strips_out amitraz_strip 5").too_much
    assert (over.over, over.inside, len(over.put_in)) == (1, 4, 2)


@pytest.mark.parametrize("out", ["1", "40 mL"])
def test_what_was_poured_comes_out_as_a_whole(out: str) -> None:
    found = replay("1 08-14 strips_in formic_pads_65 40 mL", f"1 08-20 strips_out formic_pads_65 {out}")
    assert (found.left_in("1", "formic_pads_65"), found.too_much) == (0, [])


def test_the_plan_takes_what_came_with_a_united_hive_for_in_and_not_for_a_line_too_much() -> None:
    lines = journal("2 08-14 strips_in amitraz_strip 2", "2 09-04 united 1", "1 09-25 strips_out amitraz_strip 2")
    made = plan(keeper(*lines), "09-26")
    assert [(c.colony, c.left, c.ended) for c in made.courses if c.colony == "1"] == [("1", "", on("09-25"))]
    assert not [c for c in made.conflicts if "taken out" in str(c.what)]


WORDS = st.sampled_from(["strips_in amitraz_strip 2", "strips_in Streifen 1", "strips_out amitraz_strip 1",
                         "strips_out amitraz_strip 3", "treated oxalic_trickle 35 mL", "strips_in thymol_gel 1",
                         "strips_out thymol_gel 1", "united 1", "united 2"])  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 300), st.sampled_from(HIVES), WORDS), max_size=14))
def test_nothing_is_made_or_lost(told_: list[tuple[int, str, str]]) -> None:
    """In all hives together: what went in is what is in, and what came out of it; and log and record say so, too."""
    texts = [f"{hive} {told(on('2027-03-01') + gap)} {word}" for gap, hive, word in told_]
    lines = tuple(sorted(journal(*texts), key=lambda e: e.day))
    book, of = shipped(), keeper(*lines)
    found = strips_of(lines, Naming(book, of))
    put_in = sum((one.dose.amount for one in found.given if one.to_remove and not one.measured), Fraction(0))
    out = sum((part for one in found.given if not one.measured for _, part in one.taken), Fraction(0))
    inside = sum((one.left for one in found.given), Fraction(0))
    assert put_in == out + inside
    by_hive = sum(
        (found.left_in(hive, name) for hive in HIVES for name in ("amitraz_strip", "thymol_gel")), Fraction(0)
    )
    assert by_hive == inside
    facts = Facts(of, book, Keys(of.yards, {}), on("2028-06-01"), lines)
    assert found.left_in("1", "amitraz_strip") == left_in(facts, "1", "Streifen", on("2028-06-01"))
    record = make_record(of, book, on("2028-06-01"))
    assert sum((entry.left for entry in record.entries), Fraction(0)) == inside
    assert len(record.contradictions) == len(found.too_much)
