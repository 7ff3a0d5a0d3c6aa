"""The days on which mites are counted: a law asks for counts all year, and the keeper begins late or ends early."""

from __future__ import annotations

from dataclasses import replace

from planning.count_gaps import longest
from planning.mites.year_yards import kept

from ipmcal.planning.advise.counts import count_setting
from ipmcal.planning.decide.rhythm import count_days
from ipmcal.planning.mites.plan import year_plan

BY_LAW = 112
"""Days between two counts at most in New South Wales: the Biosecurity (Varroa Mite) order of 2024, as its rule file has
it (``rules/regions/au_nsw.yaml``)."""


def test_counts_by_law_go_on_to_the_keepers_last_day_and_end_there_whenever_they_begin() -> None:
    """A year that is asked late has its first count late: the next year's is far away as the season ends."""
    setting = count_setting(year_plan(kept("au_nsw", "counting_only").question))
    assert longest(setting, count_days(setting, [])) <= BY_LAW
    for first in range(0, len(setting.days) - 2, 3):
        for fewer in (0, 1, 2):
            days = setting.days[first : len(setting.days) - fewer]
            found = count_days(replace(setting, days=days), [])
            assert set(found) <= set(days)
            assert max(found) + BY_LAW >= days[-1]
