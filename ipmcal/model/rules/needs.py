"""The vocabulary of a method's needs: which words each may be said with, in which unit, and for which methods.

In: nothing. Out: ``NEED_RULES``, a row for each key of ``Needs``. Reading refuses what is not here; planning has a
check for each row (``planning/owed/fitness.py``).
"""

from __future__ import annotations

from dataclasses import dataclass

BEGINNINGS = ("overwintered", "package", "nucleus", "split", "swarm")
"""How a colony may have begun."""
FORETOLD = ("package", "nucleus")
"""Those that come on a day which is told beforehand."""
QUEEN_STATES = ("laying", "virgin", "caged", "missing", "drone_mother", "clipped", "unclipped", "marked")
FLOWS = {"dearth": "summer_dearth", "main": "flow_main", "autumn": "flow_autumn"}
"""The words for flow and dearth, each with the mark of the season that it is dated by."""
FLOW_DONE = "flow_done"
"""The mark of the last day of as much of the main flow as is harvested: what grows on after it is the bees'."""


@dataclass(frozen=True, slots=True)
class NeedRule:
    """How a need may be said: by ``words`` (``barred``: other ones under ``not``), or in a ``unit``.

    ``trap``: only in methods per trap frame, for it asks about the frame; ``of_yard``: in those per yard too, which are
    then for yards with such a frame in some hive. ``warns``: planning can't know it, so that it
    has to be said as advice, and with a lower end alone.
    """

    words: tuple[str, ...] = ()
    barred: tuple[str, ...] | None = None
    unit: str = ""
    trap: bool = False
    of_yard: bool = False
    warns: bool = False

    @property
    def not_(self) -> tuple[str, ...]:
        """The words that may stand under ``not``."""
        return self.words if self.barred is None else self.barred


NEED_RULES: dict[str, NeedRule] = {
    "kind": NeedRule(BEGINNINGS),
    "traps": NeedRule(("short", "drawn"), trap=True, of_yard=True),
    "queen": NeedRule(QUEEN_STATES),
    "strength": NeedRule(unit="brood_frames"),
    "brood": NeedRule(("suspect",)),
    "gap": NeedRule(("comb",), (), trap=True),
    "frames_a_place": NeedRule(unit="frames", trap=True),
    "box": NeedRule(("full",), ()),
    "flow": NeedRule(tuple(FLOWS)),
    "temperature": NeedRule(unit="°C", warns=True),
}
