"""Limits of the colony: strength, brood boxes, how it began, its queen. A function each, giving every reason it has.

In: a limit, a ``Case``. Out: ``Limited`` values. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator

from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.verdict import Limited, Weight
from ipmcal.model.rules.treatments import ChambersLimit, StrengthLimit, WordLimit
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.words import counted, joined, month_day
from ipmcal.planning.labels.case import LOOK, Case, How, plain_word, reason, words_for

IN_CAGE, QUEEN_CELLS, NO_QUEEN = "caged", "cells", "missing"
"""What a label calls a queen in a cage, one who is to come out of a cell, and none."""


def strength(limit: StrengthLimit, case: Case) -> Iterator[Limited]:
    """Frames covered with bees: as counted; else frames of brood, which are never more; else frames in the boxes."""
    at, value = case.standing, limit.value
    low = 0.0 if value.value.low is None else value.value.low
    high = float("inf") if value.value.high is None else value.value.high
    if at.bee_frames is not None:
        if not value.value.contains(at.bee_frames):
            yield reason("strength", limit, value, f"{counted_frames(at.bee_frames)} of bees", how=How(stays=True))
        return
    # nobody counted the bees: their frames lie between those of brood and those in the boxes, and only
    # where both ends agree is anything known
    least, most = at.brood_frames or 0.0, at.frames if at.frames is not None else float("inf")
    if most < low:
        yield reason("strength", limit, value, f"its boxes take {counted_frames(most)}", how=How(stays=True))
    elif least > high:
        yield reason("strength", limit, value, f"{counted_frames(least)} of brood", how=How(stays=True))
    elif least < low or most > high:
        seen = "" if at.brood_frames is None else f"{counted_frames(least)} of brood when last seen; "
        yield reason("strength", limit, value, f"{seen}frames of bees {LOOK}", how=How(stays=True, look=True))


def counted_frames(number: float) -> str:
    """A number of frames in words."""
    return f"{number:g} {'frame' if number == 1 else 'frames'}"


def chambers(limit: ChambersLimit, case: Case) -> Iterator[Limited]:
    """Brood boxes."""
    has, value = case.standing.chambers, limit.value
    if has is None:
        yield reason("chambers", limit, value, f"brood boxes {LOOK}", how=How(stays=True, look=True))
    elif not value.value.contains(has):
        yield reason("chambers", limit, value, counted(has, "brood box", "brood boxes"), how=How(stays=True))


def kind(limit: WordLimit, case: Case) -> Iterator[Limited]:
    """How the colony began, until its box is full."""
    at = case.standing
    if not at.kind:
        for value in limit.is_ or limit.not_[:1]:
            yield reason(
                "kind", limit, value, f"how it began {LOOK}", says=words_for(limit), how=How(stays=True, look=True)
            )
            return
    # a package is one until its box is full; from then on it is a colony like others
    grown = at.full is not None and case.use.first >= at.full
    word = "" if grown else at.kind
    since = f", box full by {month_day(at.full)}" if at.full is not None and not grown else ""
    for value in limit.not_:
        if value.value == word:
            yield reason("kind", limit, value, f"a {at.kind.replace('_', ' ')}{since}", says=words_for(limit))
    if limit.is_ and word not in {value.value for value in limit.is_}:
        yield reason("kind", limit, limit.is_[0], f"it counts as {plain_word(at.kind)}", says=words_for(limit))


def queen(limit: WordLimit, case: Case) -> Iterator[Limited]:
    """What is known of the queen."""
    known = case.standing.queen
    if known is None:
        value = (*limit.is_, *limit.not_)[0]
        yield reason("queen", limit, value, f"the queen {LOOK}", says=words_for(limit), how=How(stays=True, look=True))
        return
    for value in limit.not_:
        if value.value in known and not (value.value == QUEEN_CELLS and NO_QUEEN in known):
            yield _no_eggs_yet(limit, value, case)
        elif value.value == IN_CAGE:
            for first, last in case.standing.cagings:
                if case.use.first <= last and first < case.use.last:
                    told = because_words(Because(Code.TO_BE_CAGED, (first, last)))
                    yield reason("queen", limit, value, told, says=words_for(limit))
    if limit.is_ and not known & {value.value for value in limit.is_}:
        told = f"the queen is {joined(sorted(map(plain_word, known)))}"
        yield reason("queen", limit, limit.is_[0], told, says=words_for(limit), how=How(stays=True))


def _no_eggs_yet(limit: WordLimit, value: Cited[str], case: Case) -> Limited:
    """A queen who does not lay, as far as is written; from the day on which she should, her eggs are looked for."""
    by, told = case.standing.lays_by, f"the queen is {plain_word(value.value)}"
    if by is None:
        return reason("queen", limit, value, told, says=words_for(limit), how=How(stays=True))
    cells = value.value == QUEEN_CELLS
    told = because_words(Because(Code.CELLS_FOUND, (by,)) if cells else Because(Code.HER_EGGS_BY, (told, by)))
    if case.use.first <= by:
        return reason("queen", limit, value, told, says=words_for(limit))
    plain = because_words(Because(Code.CELLS_FIRST) if cells else Because(Code.EGGS_FIRST, (by,)))
    says = because_words(Because(Code.A_LAYING_QUEEN))
    return reason("queen", limit, value, told, says=says, how=How(look=True, plain=plain))


def hand_checks(case: Case) -> Iterator[Limited]:
    """What no rule file can know: the label in the hand, and brood that looks sick."""
    for word, text in case.standing.in_hand.items():
        told = "so says the label in the hand, which decides"
        yield Limited("in_hand", Weight.FORBIDS, f"{word}: {text}", told, stays=True)
    if case.standing.suspect:
        told = "its brood looks sick: call the inspector first"
        yield Limited("suspect", Weight.ADVISES, "healthy brood", told, stays=True)
