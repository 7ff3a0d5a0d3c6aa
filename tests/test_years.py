"""Years of random outfits, planned on twenty days each (``tests/years.py``): nothing is forgotten."""

from __future__ import annotations

import pytest
from sweeps import some_of
from years import MANNERS, Year

YEARS = some_of(18)
"""As many of each manner; ``tests/years.py`` lives as many as it is told."""


@pytest.mark.parametrize("number", range(YEARS))
def test_a_year_is_lived_and_all_invariants_hold(number: int) -> None:
    lived = Year(number).live()
    assert lived.broke == ""
    assert lived.plans == 20


def test_the_three_manners_are_lived() -> None:
    assert {Year(number).lived.manner for number in range(YEARS)} == set(MANNERS)
