"""How the words of any plan read: a day is told as everywhere else on paper, never as files write it (2027-05-12)."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Collection
from enum import Enum
from functools import cache

from ipmcal.model.plan.because import Because
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.reasons import Reason

NOT_PRINTED = {"id", "outfit", "visit", "visits", "tasks", "must", "short", "unwaiting", "forced_by", "began"}
"""Fields that name a task, a visit or a beginning to programs."""
ISO = re.compile(r"\b\d{4}-\d\d-\d\d\b")


def wording_holds(plan: Plan) -> None:
    """No printed word of a plan holds a date as files write it."""
    for words in printed(plan):
        assert not ISO.search(words), f"'{words}' is printed, with a date as files write it"


def printed(plan: Plan) -> set[str]:
    """Every text of a plan that some page or screen may print, also of the reasons that ``why`` tells."""
    found, seen = set[str](), set[int]()
    left: list[object] = [plan]
    while left:
        value = left.pop()
        if isinstance(value, (str, Enum)):
            found.add(str(value.value) if isinstance(value, Enum) else value)
        elif isinstance(value, Because):
            found.add(because_words(value))
        elif id(value) not in seen:  # what stands in the plan outlives the walk, and keeps its identity
            seen.add(id(value))
            left += _parts(value)
    return found


def _parts(value: object) -> Collection[object]:
    if isinstance(value, Reason):
        return value.note, value.subject, *value.under
    if dataclasses.is_dataclass(value):
        return [getattr(value, name) for name in _fields(type(value)) if name not in NOT_PRINTED or type(value) is Plan]
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, (list, tuple, set, frozenset)) else ()


@cache
def _fields(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))
