"""Advise: what is said beside a year of courses: second choices, rounds by count, counts, what is missing."""
