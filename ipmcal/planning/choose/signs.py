"""Signs of many mites that nobody counted on: from midsummer on they are reason enough to treat.

In: a yard as it is known. Out: the day from which it is to be treated, and why. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.planning.ready import Ready


def uncounted_signs(one: Ready) -> Iterator[tuple[int, str]]:
    """For each hive in which the signs were seen, and no mites counted in the days after: when that time was over.

    Before the last day on which drone comb is filled (midsummer, or a little later) a count is asked for and no more.
    """
    book, season, as_of = one.ground.book, one.ground.season, one.ground.as_of
    within, midsummer = int(book.planning.signs_within.value.upper_end), season.marks.get("drone_rearing_end")
    if midsummer is None:
        return
    for state in one.here:
        seen = state.days.get(book.planning.signs)
        if seen is None or not midsummer.begins.usual <= seen.day < as_of - within:
            continue
        counted = any(e.day >= seen.day for e in state.events if book.events[e.word].value == "count")
        if not counted and seen.day >= season.first:
            words = because_words(Because(Code.SIGNS_UNCOUNTED, (state.colony.key, seen.day)))
            yield seen.day + within, words
