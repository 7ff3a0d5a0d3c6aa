"""Asking: what is asked for the hives of a yard, and what labels and walls leave of it, in words and in numbers.

In: a hive's standing, a season, days, products, what is known of its mites. Out: ``YearKnown``. Pure; needs no packing.
"""
