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
    OVERDUE = auto()
    LAST_DAY_OVER = auto()
    WAITS = auto()
    LATE_OVER = auto()
    LATE_NO_DAY = auto()
    EARLY_NO_DAY = auto()
    A_DAY_SOON = auto()
    DAY_BUT_FOR_HOLIDAY = auto()
    ENDS_EARLY = auto()
    TAKES_LONGER = auto()
    ANOTHER_DAY_NEAR = auto()
    HANGS_FOR_GOOD = auto()
    AS_LABEL_SAYS = auto()
    MEND_LINE = auto()
    SEEN_MISFITS = auto()
    SEEN_STANDS = auto()
    BEFORE_IT_BEGAN = auto()
    NOT_HUNG_BEFORE = auto()
    MORE_OUT_THAN_IN = auto()
    OUT_AND_NEVER_IN = auto()
    NO_COURSE = auto()
    NO_COURSE_IN = auto()
    OTHER_PRODUCT = auto()
    WAYS_OUT = auto()
    LIMITS_BREAK = auto()
    LIMITS_BREAK_ON = auto()
    DO_NOT_TREAT = auto()
    NOT_QUIET = auto()
    PUT_OFF = auto()
    COMBS_LIFTED = auto()
    GLOVES_OR_PUT_OFF = auto()
    WORK_ON = auto()
    SUPERS_TOO_EARLY = auto()
    SUPERS_ARE_ON = auto()
    UNITED_WITH = auto()
    SET_OVER_SET = auto()
    TWO_AT_ONCE = auto()
    TOO_MUCH = auto()
    TOO_MUCH_FOR_NUCLEUS = auto()
    QUIET_DAY = auto()
    BEFORE_IT_GOES_IN = auto()
    TAKE_OUT_FIRST = auto()
    LIFT_OFF_FIRST = auto()
    ON_A_HOLIDAY = auto()
    HANGS_ELSEWHERE = auto()
    ONCE_THEY_ARE_IN = auto()
    COUNT_OUT = auto()
    COUNT_ALL_OUT = auto()
    EARLY_SINCE = auto()
    WAS_DUE = auto()
    OUT_EARLY = auto()
    SUPERS_FROM = auto()
    OVER_WINTER_BEES = auto()
    AS_PACK_SAYS = auto()
    FOR_THIS_HIVE = auto()
    WHY_NOW = auto()
    NOTHING_KNOWN = auto()
    NOT_HEARD_OF = auto()
    LINES_TO_COME = auto()


Value: TypeAlias = "str | int | float | tuple[Value, ...] | Because"
"""What fills a blank: a word of the vocabulary, a text of keeper or rules, a number, a day (ordinal), several of them,
or another cause."""


@dataclass(frozen=True, slots=True)
class Because:
    """A cause as data: what it is, and the values for the blanks of its words, in their order (``causes.py``)."""

    code: Code
    values: tuple[Value, ...] = ()
