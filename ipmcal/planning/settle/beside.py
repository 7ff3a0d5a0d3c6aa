"""Beside: what a task's line has room for besides its own blanks: a count where a trap was late, the frames of bees.

In: placed tasks, a yard's ground. Out: the same, with the labels of what to write beside a word or a count. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ipmcal.model.altered import altered
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import prescribed
from ipmcal.planning.settle.visits import Placed


def with_blanks(ground: Ground, placed: Sequence[Placed]) -> list[Placed]:
    """The placed tasks, each with what may be written beside it.

    A finding that asks for a count has its blanks on the trap's own line, unless bees are washed in that hive on that
    day anyway. Frames of bees are asked for with a product whose label wants so many, with the count before it, and
    with the counts of a colony that may be too small to be washed.
    """
    washed = {(one.task.colony, one.day) for one in placed if one.task.logs in ground.book.washes}
    wanted = {one.task.colony: one.day for one in reversed(placed) if _wants_frames(ground, one)}
    of_bees, found = _frames_of_bees(ground), list[Placed]()
    for one in placed:
        beside = [] if (one.task.colony, one.day) in washed else list(_counts(ground, one))
        if _wants_frames(ground, one) or _frames_tell(ground, one, wanted.get(one.task.colony)):
            beside += of_bees
        found.append(altered(one, task=altered(one.task, beside=tuple(beside))) if beside else one)
    return found


def _counts(ground: Ground, one: Placed) -> Iterator[str]:
    """The blanks of a count that a finding asks for, the first with the word to circle before it."""
    findings = (ground.book.findings[name] for name in one.errand.frame.method.steps[one.task.step].findings)
    for finding in findings:
        if finding.logs is not None:
            first, *others = ground.book.events[finding.logs].blanks
            yield f"{finding.circle}: {first}"
            yield from others


def _frames_of_bees(ground: Ground) -> tuple[str, ...]:
    """What stands before the blank for the frames that bees cover."""
    return next((rule.blanks for rule in ground.book.events.values() if rule.effect == "bees"), ())


def _wants_frames(ground: Ground, one: Placed) -> bool:
    """Whether a product is given whose label asks how many frames bees cover."""
    known = prescribed(ground, one.errand.course, {}) if one.task.product else None
    return known is not None and known.label.limits.strength is not None


def _frames_tell(ground: Ground, one: Placed, given: int | None) -> bool:
    """Whether a count is the place to write frames of bees: before such a product, or in a colony that is young."""
    if one.task.logs not in ground.book.washes or one.errand.colony is None:
        return False
    young = bool(ground.book.biology.box_full.get(one.errand.colony.kind)) and one.errand.colony.kind != "overwintered"
    return young or (given is not None and one.day < given)
