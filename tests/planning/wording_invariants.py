"""How the words of any plan read: a day is told as everywhere else on paper, never as files write it (2027-05-12)."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from enum import Enum

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason

NOT_PRINTED = {"id", "outfit", "visit", "visits", "tasks", "must", "short", "unwaiting", "forced_by", "began"}
"""Fields that name a task, a visit or a beginning to programs."""
ISO = re.compile(r"\b\d{4}-\d\d-\d\d\b")


def wording_holds(plan: Plan) -> None:
    """No printed word of a plan holds a date as files write it."""
    for words in printed(plan, set()):
        assert not ISO.search(words), f"'{words}' is printed, with a date as files write it"


def printed(value: object, told: set[int]) -> Iterator[str]:
    """Every text of a plan that some page or screen may print, also of the reasons that ``why`` tells."""
    if isinstance(value, Because):
        yield because_words(value)
    elif isinstance(value, Reason):
        if id(value) not in told:
            told.add(id(value))
            yield from (value.note, value.subject)
            for under in value.under:
                yield from printed(under, told)
    elif isinstance(value, str):
        yield str(value)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            if field.name not in NOT_PRINTED or isinstance(value, Plan):
                yield from printed(getattr(value, field.name), told)
    elif isinstance(value, dict):
        yield from (words for one in value.values() for words in printed(one, told))
    elif isinstance(value, (list, tuple, set, frozenset)):
        yield from (words for one in value for words in printed(one, told))
    elif isinstance(value, Enum):
        yield str(value.value)
