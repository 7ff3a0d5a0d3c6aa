"""What happened to a colony, as its brood knows it: from days (ordinals) to a ``History``.

In: the day, and the day of the first eggs where a new queen or a release decides it; figures. Out: a ``History``, or a
part of one; ``both`` joins two. The sizes are those of the rules, unless the keeper's own are given.
"""

from __future__ import annotations

from ipmcal.biology.mites.colony import Beginning, History, Leaving
from ipmcal.biology.mites.figures import Beginnings


def package(day: int, first_egg: int, sizes: Beginnings, bees: float | None = None) -> History:
    """A package, hived on ``day``: no brood, so that its mites are all on bees until its first cells are capped."""
    return History(Beginning(day, bees or sizes.package_bees, 0.0, first_egg))


def swarm(day: int, first_egg: int, sizes: Beginnings, bees: float | None = None) -> History:
    """A swarm, hived on ``day``: no brood either."""
    return History(Beginning(day, bees or sizes.swarm_bees, 0.0, first_egg))


def nucleus(day: int, sizes: Beginnings, bees: float | None = None) -> History:
    """A nucleus with a laying queen and brood of all ages, bought or made up on ``day``."""
    return History(Beginning(day, bees or sizes.nucleus_bees, sizes.nucleus_brood, day))


def queenless_half(day: int, first_egg: int, sizes: Beginnings, parent_bees: float) -> History:
    """The half of a split that waits for its own queen: her first eggs on ``first_egg``."""
    share = sizes.split_takes
    return History(Beginning(day, parent_bees * share, share, first_egg))


def gave_a_split(day: int, sizes: Beginnings) -> History:
    """The half with the queen: bees and brood go, laying goes on."""
    return History(left=(Leaving(day, sizes.split_takes, sizes.split_takes),))


def swarmed(day: int, first_egg: int, sizes: Beginnings) -> History:
    """A colony whose swarm left on ``day`` with the old queen: bees go, brood stays, laying waits for the new one."""
    return History(pauses=((day, first_egg),), left=(Leaving(day, sizes.swarm_takes, 0.0),))


def without_eggs(day: int, first_egg: int) -> History:
    """A queen caged, lost or taken away on ``day``: no eggs until ``first_egg``. Raises ValueError for no days."""
    if first_egg <= day:
        raise ValueError(f"a pause in laying ends after it begins, not on {first_egg} after {day}")
    return History(pauses=((day, first_egg),))


def both(one: History, other: History) -> History:
    """What happened in two histories of one colony, of which one at most says how it began (ValueError)."""
    if one.began and other.began:
        raise ValueError("a colony begins once")
    return History(one.began or other.began, (*one.pauses, *other.pauses), (*one.left, *other.left))
