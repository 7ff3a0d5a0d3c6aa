"""Causes in words: the one table of what each code is called in print.

In: a ``Because``. Out: English. A blank is the place of a value, and says how the value is written: ``{0:day}``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from string import Formatter
from typing import Any

from ipmcal.model.plan.reasons import Because, Code
from ipmcal.model.values.words import day_range, joined, short_day

CAUSE_WORDS: dict[Code, str] = {
    Code.MIND: "Mind: {0:cause}.",
    Code.MEANT_FOR: "it is meant for a {0:plain} that is {1:or}",
    Code.NOT_MEANT_FOR: "it is not meant for a {0:plain} that is {1:or}",
    Code.QUEEN_IS: "the queen is {0:plain}",
    Code.WRITE_LAYING: "write it down when she lays again",
    Code.TOO_FEW_FRAMES: "{0:.0f} frames of brood, and {1:.0f} are needed",
    Code.TOO_MANY_FRAMES: "{0:.0f} frames of brood, and {1:.0f} at most are wanted",
    Code.STRENGTHEN: "strengthen it, or wait",
    Code.ONLY_FROM: "Only with {0:.0f} frames of brood or more.",
    Code.ONLY_TO: "Only with {0:.0f} frames of brood or fewer.",
    Code.ONLY_BETWEEN: "Only with {0:ends} frames of brood.",
    Code.MEANT_FOR_SICK: "it is meant for brood that looks sick",
    Code.BROOD_SICK: "its brood looks sick",
    Code.CALL_INSPECTOR: "call the inspector; no comb leaves the hive until it is cleared",
    Code.PLACE_TOO_FEW: ("{0} has {1} drawn frame for its place, and {2:.0f} are needed: one hangs, one freezes"),
    Code.PLACE_TOO_MANY: "{0} has {1} drawn frames for its place, and {2:.0f} at most are wanted",
    Code.DRAW_ANOTHER: "draw another drone frame, and write 'frames: {0:.0f}'",
    Code.WRITE_FRAMES: "write 'frames: {0:.0f}'",
    Code.BOX_FULL_FROM: "Its box counts as full from {0:day}.",
    Code.NO_FLOW: "there is no {0:flows} here",
    Code.OTHER_METHOD: "another method",
    Code.NOT_IN_FLOW: "Not in the {0:flow}: {1:days}.",
    Code.ONLY_IN_FLOW: "Only in the {0:flows}: {1:periods}.",
    Code.GAP_PROPOLISED: (
        "a {0} frame in a {1} box leaves a gap of {2:.0f} mm below it: bees propolise it; a trap needs {3:.0f} mm"
    ),
    Code.GAP_TOO_LITTLE: (
        "a {0} frame in a {1} box leaves a gap of {2:.0f} mm below it: too little comb; a trap needs {3:.0f} mm"
    ),
    Code.USE_DRAWN: "use drawn drone frames: write '{0}: {{kind: drawn, frames: 2}}'",
    Code.NO_DAY_TO_EMPTY: "no day of yours is in time to empty it",
    Code.DAY_IN: "a day in {0:days}",
    Code.OTHER_WEEKDAY: "another weekday",
    Code.FULL_TOO_LATE: "{0} ({1:day}), and a trap is hung by {2:day}",
    Code.BOX_FULL_TOO_LATE: "its box is full ({0:day}), and a trap is hung by {1:day}",
    Code.HANG_PAST: "it is too late to hang it: that was to be done in {0:days}",
    Code.HANG_IN_DEARTH: "the time to hang it ({0:days}) is a dearth here",
    Code.NO_DAY_TO_HANG: "no day of yours lies between {0:days} to hang it",
    Code.NEXT_SEASON: "hang one next season",
    Code.FEED: "feed, or hang one next season",
    Code.DAY_OR_NEXT_SEASON: "a day in that time, or next season",
    Code.COMES_OUT: "No method of this colony uses it: it comes out.",
}


def because_words(because: Because) -> str:
    """A cause in words. Raises ValueError where it has more values or fewer than its words have blanks."""
    words = CAUSE_WORDS[because.code]
    if len(because.values) != len(blanks(words)):
        raise ValueError(f"{because.code} has {len(blanks(words))} blanks, and {len(because.values)} values")
    return _WRITER.vformat(words, because.values, {})


def causes_words(causes: Iterable[Because]) -> tuple[str, ...]:
    """Each of several causes in words."""
    return tuple(map(because_words, causes))


def blanks(words: str) -> set[str]:
    """The blanks of words, each once."""
    return {name for _, name, _, _ in Formatter().parse(words) if name is not None}


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _flow(word: str) -> str:
    return word if word == "dearth" else f"{word} flow"


HOW_WRITTEN: dict[str, Callable[[Any], str]] = {
    "cause": because_words,
    "day": short_day,
    "days": lambda period: day_range(*period),
    "periods": lambda periods: joined(day_range(*period) for period in periods),
    "plain": _plain,
    "or": lambda words: joined(map(_plain, words), "or"),
    "flow": _flow,
    "flows": lambda words: joined((_plain(_flow(word)) for word in words), "or"),
    "ends": lambda ends: joined(dict.fromkeys(f"{end:.0f}" for end in ends), "to"),
}
"""How a value is written, by the word behind its blank's colon; any other word is one of ``format``."""


class _Writer(Formatter):
    """Writes values as their blanks say."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """A value, by ``HOW_WRITTEN`` or as ``format`` does it."""
        how = HOW_WRITTEN.get(format_spec)
        return how(value) if how else format(value, format_spec)


_WRITER = _Writer()
