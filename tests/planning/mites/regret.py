"""What the search's four numbers a stretch cost against the full model: regret in harm of the base, before any order.

Run from the root of a checkout: ``PYTHONPATH=.:tests python tests/planning/mites/regret.py`` (all regions and programs
take minutes), or with names of regions behind it. On all 72, November 2026: median 0.0 %, worst 2.1 %; of twelve there
is one base only, and no regret.
"""

from __future__ import annotations

import sys
from itertools import product

import numpy as np
from planning.mites.year_yards import PROGRAMS, kept
from planning.yards import SHIPPED_REGIONS

from ipmcal.planning.mites.accept import years
from ipmcal.planning.mites.asking.known import YearKnown, year_known
from ipmcal.planning.mites.plan import until
from ipmcal.planning.mites.search import harms_of, row_of

MOST = 60
"""Sets that are put to the full model, evenly of all in the order of their harm: the best of the search among them."""


def full_harm(one: YearKnown, courses: tuple[int, ...]) -> float:
    """The mean harm of a set by the full model, the cure's own toll with it."""
    made = years(one.choose, one.givens(courses), one.hazards)
    mean = sum(year.harm(year.lived.start, until(one.asked)) for year in made) / len(made)
    return mean + float(2.0 * one.field.maps.toll[list(courses)].sum())


def regret(region: str, program: str) -> tuple[float, int]:
    """How much more harm the search's best base does than the full model's own best, as a share; of how many sets."""
    one = year_known(kept(region, program).question)
    slots = [[int(i) for i in slot] for slot in one.field.slots]
    sets = [s for s in product(*slots) if all(one.field.apart[a, b] for a in s for b in s if a != b)]
    if len(sets) < 2:
        return 0.0, len(sets)
    harms = np.array([harms_of(one.field, row_of(one.field, s))[0] for s in sets])
    order = np.argsort(harms, kind="stable")
    tried = order[np.unique(np.linspace(0, len(order) - 1, min(MOST, len(order))).round().astype(int))]
    full = [full_harm(one, sets[int(i)]) for i in tried]
    return full[0] / min(full) - 1.0, len(tried)


if __name__ == "__main__":
    found = []
    for region in sys.argv[1:] or SHIPPED_REGIONS:
        for program in PROGRAMS:
            made = regret(region, program)
            found.append(made[0])
            print(f"{region} {program}: {100 * made[0]:.1f} % of {made[1]} sets", flush=True)
    print(f"median {100 * float(np.median(found)):.1f} %, worst {100 * max(found):.1f} % on {len(found)} yards")
