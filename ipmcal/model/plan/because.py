"""Because: a cause as data, a code and its values. Its words are in ``causes.py``, beside."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum, auto
from typing import TypeAlias


class Code(StrEnum):
    """What speaks against a method, what gives way in a plan, what a task has to be told of, and what would help.

    Closed; each has words in ``causes.py``.
    """

    MIND = auto()
    MEANT_FOR = auto()
    NOT_MEANT_FOR = auto()
    QUEEN_IS = auto()
    WRITE_LAYING = auto()
    TOO_FEW_FRAMES = auto()
    TOO_MANY_FRAMES = auto()
    STRENGTHEN = auto()
    ONLY_FROM = auto()
    ONLY_TO = auto()
    ONLY_BETWEEN = auto()
    MEANT_FOR_SICK = auto()
    BROOD_SICK = auto()
    CALL_INSPECTOR = auto()
    PLACE_TOO_FEW = auto()
    PLACE_TOO_MANY = auto()
    DRAW_ANOTHER = auto()
    WRITE_FRAMES = auto()
    BOX_FULL_FROM = auto()
    NO_FLOW = auto()
    OTHER_METHOD = auto()
    NOT_IN_FLOW = auto()
    ONLY_IN_FLOW = auto()
    GAP_PROPOLISED = auto()
    GAP_TOO_LITTLE = auto()
    USE_DRAWN = auto()
    NO_DAY_TO_EMPTY = auto()
    DAY_IN = auto()
    OTHER_WEEKDAY = auto()
    FULL_TOO_LATE = auto()
    BOX_FULL_TOO_LATE = auto()
    HANG_PAST = auto()
    HANG_IN_DEARTH = auto()
    NO_DAY_TO_HANG = auto()
    NEXT_SEASON = auto()
    FEED = auto()
    DAY_OR_NEXT_SEASON = auto()
    COMES_OUT = auto()


Value: TypeAlias = "str | int | float | tuple[Value, ...] | Because"
"""What fills a blank: a word of the vocabulary, a text of keeper or rules, a number, a day (ordinal), several of them,
or another cause."""


@dataclass(frozen=True, slots=True)
class Because:
    """A cause as data: what it is, and the values for the blanks of its words, in their order (``causes.py``)."""

    code: Code
    values: tuple[Value, ...] = ()
