"""The search against plain brute force on small random years: 100 here, 1,000 by ``thousand_years.py`` beside this."""

from __future__ import annotations

import pytest
from planning.mites.small_years import harm_of, plain_bases, plain_beside, share_over, small_year

from ipmcal.planning.mites.search import bases, beside, over_line_first, row_of


def compare(seed: int) -> int:
    """How many sets were compared; raises AssertionError where the two ways differ."""
    small = small_year(seed)
    found, plain = bases(small.field), plain_bases(small)
    assert [sorted(one.courses) for one in found] == [sorted(one) for one in plain], seed
    compared = len(found)
    for one in found[:1]:
        assert one.harm == pytest.approx(harm_of(small, one.courses), abs=2e-6)
        assert one.over == pytest.approx(share_over(small, one.courses))
        this_year = float(over_line_first(small.field, row_of(small.field, one.courses))[0])
        assert this_year == pytest.approx(share_over(small, one.courses, in_settled=False))
        base = next(p for p in plain if sorted(p) == sorted(one.courses))
        for many in (0, 1, 2):
            best = beside(small.field, one, many)
            simple = list(plain_beside(small, base, many))
            assert [sorted(b.courses) for b in best[:1]] == [sorted(s) for s in simple[:1]], (seed, many)
            compared += len(best)
            if best:
                assert best[0].over == pytest.approx(share_over(small, best[0].courses))
    return compared


@pytest.mark.parametrize("first", range(0, 100, 20))
def test_the_search_finds_what_plain_brute_force_finds(first: int) -> None:
    assert sum(compare(seed) for seed in range(first, first + 20)) > 50
