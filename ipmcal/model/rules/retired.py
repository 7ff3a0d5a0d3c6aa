"""Keys and words that rules could once be written with, each with what to write instead.

In: nothing. Out: two tables, for complaints about rules that somebody wrote for an older release. A key stays here for
as long as such files may be about.
"""

from __future__ import annotations

RETIRED_KEYS: dict[tuple[str, str], str] = {
    ("Needs", "supers"): "bind a step to their day instead, as in 'opens: supers.off' or 'opens: supers.on'",
    ("Program", "courses_by"): "leave it out: courses are chosen by what the mites will do",
    ("Planning", "preference"): "name products in the order of liking, under 'treatments' of a program or a yard",
    ("Planning", "winter_bees_within"): "write the days of its late summer round under 'base' of a region",
    ("Planning", "course_moves"): "leave it out: a course may begin on any day on which it does as good by the mites",
    ("Recipe", "pure"): "nothing is worked out from it; say it in the recipe's 'note'",
}
"""By the class of the mapping that held the key, and the key."""

_BROOD = "bind a step to the day instead, as in 'opens: latest brood.last_{}' or 'usually brood.first_capped'"
RETIRED_WORDS: dict[tuple[str, str], str] = {
    ("needs.brood", "none"): _BROOD.format("worker"),
    ("needs.brood", "worker"): _BROOD.format("worker"),
    ("needs.brood", "drone"): _BROOD.format("drone"),
    ("needs.box", "full"): "write 'box: full' for a colony that has to fill its box first",
    ("needs.gap", "comb"): "write 'gap: comb' for a frame with room for comb below it",
}
"""By the dotted key below which the word stood (under ``is`` or ``not``), and the word."""


_COUNTS = ("mite_count", "regular")
RETIRED_STEPS: dict[str, dict[str, tuple[str, str]]] = {
    "mite_count": dict.fromkeys(("spring", "early_summer", "before_winter_bees", "autumn"), _COUNTS),
    "late_counts": {"late": _COUNTS},
}
"""By method, the steps that stand in old ledgers and journals, each with the method and step in its place."""
RETIRED_METHODS: dict[str, str] = {
    "late_counts": "leave it out: mite_count counts on until there is least brood",
}
"""Methods that are no more, each with what to do instead."""


def instead_of_method(name: str) -> str:
    """What to do instead of a method that is no more, in words; "" for one that never was."""
    successor = RETIRED_METHODS.get(name, "")
    return f" any more: {successor}" if successor else ""


def instead_of_key(owner: str, key: str) -> str:
    """What to write instead of a key that is no more, in words; "" for a key that never was."""
    successor = RETIRED_KEYS.get((owner, key), "")
    return f"'{key}' is no longer a key: {successor}" if successor else ""


def instead_of_word(key: str, word: str) -> str:
    """What to write instead of a word that is no more, in words; "" for a word that never was."""
    successor = RETIRED_WORDS.get((key, word), "")
    return f"; {successor}" if successor else ""
