"""How much of the rules rests on memory: the share that `ipmcal rules` prints may fall, and not rise again."""

from __future__ import annotations

from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.cited import Basis
from ipmcal.saying.inventory import basis_counts

MOST = 0.20
"""Of all cited values; 739 of 2,619 (28.2 %) on 25 November 2026."""
MOST_VALUES = 575
"""So many, so that new values of other bases do not make room for more from memory."""


def test_less_than_a_fifth_of_all_values_is_from_memory(book: Rulebook) -> None:
    counts = basis_counts(book)
    assert counts[Basis.MEMORY] < MOST * sum(counts.values())
    assert counts[Basis.MEMORY] <= MOST_VALUES
