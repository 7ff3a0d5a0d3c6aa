"""Packing against proved optima: yards, yards with any day of the year, outfits of several yards."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from planning.pack.by_rules import pack, pack_drives
from planning.pack.strand_checks import drives_worth, worth
from planning.pack.strand_samples import fingerprint, outfit_fingerprint, random_outfit, random_yard
from sweeps import some

from ipmcal.planning.pack import search

OPTIMA = json.loads((Path(__file__).parent / "packing_optima.json").read_text(encoding="utf-8"))
"""How they were made stands in the file."""
FRESH = json.loads((Path(__file__).parent / "packing_fresh.json").read_text(encoding="utf-8"))
"""The same of seeds that packing was never tuned on, with what it found when they were solved."""


def mean(numbers: Sequence[float]) -> float:
    return sum(numbers) / len(numbers)


def test_as_few_visits_as_were_proved_to_be_the_fewest() -> None:
    """260 yards against optima that OR-tools CP-SAT proved."""
    over, deviations = [], []
    for seed, mark, visits, deviation in OPTIMA["yards"]:
        strands, days = random_yard(seed)
        assert fingerprint(strands, days) == mark, "strand_samples.py makes other yards than it did: solve them again"
        placing = pack(strands, days)
        found, total, _ = worth(strands, days, placing)
        assert placing.lower_bound <= visits <= found
        over.append(found - visits)
        if found == visits:
            assert total >= deviation
            deviations.append(total / deviation if deviation else 1 + total)
    assert len(over) >= 200
    assert sum(over) == 0
    assert mean(deviations) <= 1.01


def test_on_any_day_of_the_year_a_visit_too_many_is_rare() -> None:
    """With every day of a year to choose from: the hardest kind."""
    ratios, over = [], []
    for seed, mark, visits, bound, _ in some(OPTIMA["any_day"]):
        strands, days = random_yard(seed, 7)
        assert fingerprint(strands, days) == mark, "strand_samples.py makes other yards than it did: solve them again"
        placing = pack(strands, days)
        found = worth(strands, days, placing)[0]
        assert placing.lower_bound <= visits
        assert found >= bound
        ratios.append(found / visits)
        over.append(found - visits)
    assert mean(ratios) <= 1.015
    assert max(over) <= 1


def test_as_few_drives_and_visits_as_were_proved_to_be_the_fewest() -> None:
    """90 outfits of several yards on one keeper's days against optima that OR-tools CP-SAT proved."""
    ratios, over = [], []
    for seed, mark, drives, visits, deviation in some(OPTIMA["outfits"]):
        yards = random_outfit(seed)
        assert outfit_fingerprint(yards) == mark, "strand_samples.py makes other outfits than it did: solve them again"
        placed = pack_drives(yards)
        found, stops, total, _ = drives_worth(yards, placed)
        assert placed.least_drives <= drives == found
        assert placed.least_visits <= visits <= stops
        assert stops > visits or total >= deviation
        ratios.append(stops / visits)
        over.append(stops - visits)
    assert mean(ratios) <= 1.005
    assert over.count(0) >= 0.9 * len(over)
    assert max(over) <= 1


def test_yards_that_packing_was_not_tuned_on_are_as_good_as_was_proved() -> None:
    """120 weekday yards against optima that OR-tools CP-SAT proved, of visits and of deviation."""
    for seed, mark, visits, deviation in some(FRESH["yards"]):
        strands, days = random_yard(seed)
        assert fingerprint(strands, days) == mark, "strand_samples.py makes other yards than it did: solve them again"
        placing = pack(strands, days)
        assert placing.lower_bound <= visits
        assert worth(strands, days, placing)[:2] == (visits, deviation)


def test_any_day_that_packing_was_not_tuned_on_gets_no_worse() -> None:
    """No more visits than were found before, of which the file says how many are known to be too many."""
    for seed, mark, visits, bound, found in some(FRESH["any_day"]):
        strands, days = random_yard(seed, 7)
        assert fingerprint(strands, days) == mark, "strand_samples.py makes other yards than it did: solve them again"
        placing = pack(strands, days)
        assert placing.lower_bound <= visits
        assert bound <= worth(strands, days, placing)[0] <= found


def test_outfits_that_packing_was_not_tuned_on_get_no_worse() -> None:
    """As above, of drives and visits."""
    for seed, mark, drives, visits, *found in some(FRESH["outfits"]):
        yards = random_outfit(seed)
        assert outfit_fingerprint(yards) == mark, "strand_samples.py makes other outfits than it did: solve them again"
        placed = pack_drives(yards)
        worth_now = drives_worth(yards, placed)[:2]
        assert placed.least_drives <= drives
        assert worth_now[0] > drives or placed.least_visits <= visits
        assert [drives, visits] <= list(worth_now) <= found


def test_what_a_narrow_sweep_has_not_proved_it_does_not_claim(monkeypatch: pytest.MonkeyPatch) -> None:
    """One state kept and no second sweep: often a visit too many, but never a bound above the optimum."""
    monkeypatch.setattr(search, "EFFORT", 0)
    over = 0
    for seed, _, visits, _ in OPTIMA["yards"][:30]:
        strands, days = random_yard(seed)
        placing = pack(strands, days, width=1)
        found = worth(strands, days, placing)[0]
        assert placing.lower_bound <= visits <= found
        over += found > visits
    assert over > 0


@pytest.mark.parametrize(("seed", "distinct"), [(0, 6), (1, 6), (2, 6), (108, 8)])
def test_any_day_of_the_year_is_packed_within_the_bounds(seed: int, distinct: int) -> None:
    strands, days = random_yard(seed, 7, distinct)
    placing = pack(strands, days)
    assert placing.lower_bound <= worth(strands, days, placing)[0]
