"""Off: by which rule supers come off for a course. In: a yard's ground, the day by which they are wanted off. Pure."""

from __future__ import annotations

from ipmcal.model.plan.reasons import Rule
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.methods import Method
from ipmcal.planning.days.bounds import Clockwork, Footing, bound_days, span_of
from ipmcal.planning.owed.ground import Ground


def method_of_supers_off(ground: Ground, day: int) -> tuple[str, Method]:
    """The method by which supers come off by a day, with its name; what keeps them on until later does not hold.

    A course that begins in the main flow, for a count over the line, does not wait for its end.
    """
    name = ground.book.planning.supers_off_by
    method = ground.book.methods[name]
    ((step, rule),) = method.steps.items()
    others = tuple(one for one in rule.opens if one.anchor != ASKED)
    found = bound_days(Clockwork(ground.season, {}, {}, {}), others, Footing({}, {}), Rule.LATEST_OF)
    if found is None or span_of(found).usual <= day:
        return name, method
    soon = rule.model_copy(update={"opens": tuple(one for one in rule.opens if one.anchor == ASKED)})
    return f"{name}+soon", method.model_copy(update={"steps": {step: soon}})
