"""Errands: a method that somebody is owed, as a chain of steps. What unfolding makes, and settling reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from ipmcal.model.plan.colony import ColonyState, TrapState
from ipmcal.model.plan.strand import Stop, Strand
from ipmcal.model.rules.files import Planning
from ipmcal.planning.days.chain import Chain, Ease, pruned
from ipmcal.planning.days.frame import Cursor, Frame
from ipmcal.planning.owed.cursors import DoneStep


@dataclass(frozen=True)
class Errand:
    """A chain for somebody: a colony, one of its trap frames, or (colony None) the yard.

    ``past`` are steps whose time is over, with what became of them. ``stuck``: a trap frame hangs, and no day of the
    keeper's is left for the step at ``cursor``. Where nothing is left to plan, the chain has no nodes. ``like`` is the
    key of an earlier errand that is the same but for its name ("" for none): what is told of one holds for the other.
    ``season`` is the year that its season begins in; where two are planned beside each other, keys of the later end
    with it. ``till_counted``: a course that stands until a count excuses it. ``soon``: its step that is done on the
    first day on which it may be ("" for none), however its chain is compiled. ``advice`` is read before its first step,
    ``beside`` at a step (and number), since something else lies in the hive then.
    """

    key: str
    method: str
    colony: ColonyState | None
    trap: TrapState | None
    frame: Frame
    cursor: Cursor
    chain: Chain
    advice: tuple[str, ...] = ()
    past: tuple[DoneStep, ...] = ()
    stuck: bool = False
    course: str = ""
    left: str = ""
    like: str = ""
    season: int = 0
    till_counted: bool = False
    soon: str = ""
    beside: Mapping[tuple[str, int], tuple[str, ...]] = field(default_factory=dict)

    def of_season(self, year: int, mark: str) -> Errand:
        """The errand as one of a season; ``mark`` makes its key one of its own ("" for the only season)."""
        return self.altered(key=self.key + mark, like=self.like and self.like + mark, season=year)

    def altered(self, **changes: object) -> Errand:
        """As ``dataclasses.replace``, but quick: there are thousands, alike but for whose they are."""
        made = object.__new__(Errand)
        made.__dict__.update(self.__dict__, **changes)
        return made

    @property
    def unmarked(self) -> str:
        """The key that it had before it was marked as one of a later season."""
        return self.key.removesuffix(f"@{self.season}")

    @property
    def strand(self) -> Strand:
        """The chain as packing sees it."""
        return Strand(self.key, self.chain.first, self.chain.nodes)


def ended_soon(errand: Errand) -> Errand:
    """An errand whose ``soon`` step is done on the first day on which it may be, whenever it began."""
    chain = errand.chain
    stops = (chain.first, *(node.then for node in chain.nodes if node.then is not None))
    soonest = {min(stop.nodes, key=lambda i: chain.nodes[i].at) for stop in stops if stop.nodes}
    made = pruned(chain, lambda i: chain.steps[i][0] != errand.soon or i in soonest) if errand.soon else None
    return errand if made is None else replace(errand, chain=made)


NOTHING = Chain(Stop(0, (), 0), (), (), Ease.STRICT, {})
"""The chain of an errand that owes nothing more."""


def who(state: ColonyState, trap: TrapState | None) -> str:
    """Whom an errand is for, as the beginning of its key: the colony, and the trap frame."""
    return ".".join([state.colony.key, *([trap.frame.name] if trap else [])])


def subject(errand: Errand) -> str:
    """Whom an errand is for in words: the colony's key and the trap frame's name, or nothing for the yard."""
    if errand.colony is None:
        return ""
    return errand.colony.colony.key + (f" {errand.trap.frame.name}" if errand.trap else "")


def task_id(errand: Errand, step: str, n: int) -> str:
    """The identity of a task: whose, which method, season, step and number; never a date."""
    who = errand.key.partition("/")[0]
    return f"{who}/{errand.method}/{errand.season}/{step}/{n}"


def trap_words(errand: Errand) -> dict[str, object]:
    """The words of a step that stand for its trap frame: its name, the slot that it is meant for, and its own."""
    trap = errand.trap
    return {"trap": trap.frame.name, "home": trap.frame.home, "slot": trap.slot} if trap else {}


def one_with(errand: Errand, step: str, planning: Planning) -> tuple[str, str] | None:
    """What a step is one with on a visit: one count of a hive answers all that ask for one, one look at all of its
    combs those for the same thing. None: it stands for itself.

    What a course asks for itself, such as strips moved to the bees, is no look for cells.
    """
    logs = errand.frame.method.steps[step].logs
    if logs in planning.counts:
        return logs, ""
    return (logs, errand.course) if logs in planning.not_put_off else None
