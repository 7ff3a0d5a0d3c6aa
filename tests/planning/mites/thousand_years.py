"""A thousand small random years: the search against plain brute force.

Run from the root of a checkout: ``PYTHONPATH=.:tests python tests/planning/mites/thousand_years.py``.
"""

from __future__ import annotations

from planning.mites.test_small_years import compare

if __name__ == "__main__":
    print(f"1000 years, {sum(compare(seed) for seed in range(1000))} sets compared, no difference")
