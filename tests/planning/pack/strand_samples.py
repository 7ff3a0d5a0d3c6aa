"""Random yards for the tests and the bench of packing. In: a seed. Out: strands of realistic shape, and keeper's days.

The shapes are common practice: a drone trap cut 17 to 24 days after the cut before, swarm inspections at 6 or 7 days,
counts every three to five weeks, courses of two or three applications, single windows of one to five weeks. The dates
are random. Only ``random.Random.random`` is drawn from: it gives the same for a seed in every version of Python.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from random import Random
from zlib import crc32

from ipmcal.model.plan.strand import Node, Stop, Strand
from ipmcal.model.values.days import KeeperDays, positions

SEASON = date(2026, 1, 1).toordinal()
LENGTH = 365

Reach = tuple[int, int, int]
"""First, last and best day: ordinals of a window, or days after the step before."""


@dataclass(frozen=True, slots=True)
class Dice:
    """Random whole numbers from ``random`` alone."""

    source: Random

    def between(self, low: int, high: int) -> int:
        """A whole number in ``[low, high]``."""
        return low + int(self.source.random() * (high - low + 1))

    def chance(self, p: float) -> bool:
        """True with probability p."""
        return self.source.random() < p


def keeper_days(dice: Dice, weekdays: int, length: int = LENGTH) -> KeeperDays:
    """Days of a season on the given number of weekdays (7: any day), some of them blocked, one holiday in two years."""
    chosen: set[int] = set()
    while len(chosen) < weekdays:
        chosen.add(dice.between(0, 6))
    away = dice.between(0, length) if dice.chance(0.5) else length
    kept = [
        SEASON + i
        for i in range(length)
        if (SEASON + i) % 7 in chosen and not dice.chance(0.03) and not away <= i < away + 9
    ]
    return KeeperDays(tuple(kept))


def chain(key: str, days: KeeperDays, first: Reach, gaps: tuple[Reach, ...], until: int | None = None) -> Strand | None:
    """A strand of one step in the window ``first`` and one more for each gap; None where no path is left.

    With ``until``, the last gap repeats until its window would open after that day, and the strand ends there.
    """
    made: dict[tuple[int, int], Stop | bool | None] = {}

    def then(n: int, at: int) -> Stop | bool | None:
        """What is owed after step n on a day: a stop, None at the end, False at a dead end."""
        if (n, at) not in made:
            gap = gaps[min(n, len(gaps) - 1)] if gaps else (0, 0, 0)
            today = days.ordinals[at]
            over = n == len(gaps) if until is None else today + gap[0] > until
            made[n, at] = None if over else owed(min(n + 1, LENGTH if until is None else 1), gap, today) or False
        return made[n, at]

    index: dict[tuple[int, int], int] = {}

    def owed(n: int, reach: Reach, today: int) -> Stop | None:
        """The stop that leads to step n on the keeper's days in reach of a day; None where there is none."""
        able = [at for at in positions(days.between(today + reach[0], today + reach[1])) if then(n, at) is not False]
        if not able:
            return None
        nodes = tuple(index.setdefault((n, at), len(index)) for at in able)
        return Stop(sum(1 << at for at in able), nodes, today + reach[2])

    start = owed(0, first, 0)
    if start is None:
        return None
    nodes: list[Node] = []
    for n, at in index:
        stop = then(n, at)
        assert stop is None or isinstance(stop, Stop)
        nodes.append(Node(f"step {n}", at, stop))
    return Strand(key, start, tuple(nodes))


def window(dice: Dice, low: int, high: int, shortest: int, longest: int) -> Reach:
    """A window that opens on a day of the season in ``[low, high]``, with its best day anywhere in it."""
    opens = SEASON + dice.between(low, high)
    length = dice.between(shortest, longest)
    return opens, opens + length, opens + dice.between(0, length)


def random_strand(dice: Dice, key: str, days: KeeperDays) -> Strand | None:
    """A strand of a kind drawn at random; None where the keeper's days don't carry it."""
    kind = dice.source.random()
    if kind < 0.45:
        gap = (17, dice.between(21, 24), dice.between(19, 21))
        return chain(key, days, window(dice, 95, 150, 6, 14), (gap,), SEASON + dice.between(195, 230))
    if kind < 0.60:
        weeks = dice.between(3, 9)
        return chain(key, days, window(dice, 100, 140, 6, 12), ((6, 7, 7),) * weeks)
    if kind < 0.75:
        low = dice.between(19, 26)
        gap = (low, low + dice.between(5, 12), low + dice.between(0, 5))
        return chain(key, days, window(dice, 80, 150, 10, 24), (gap,) * dice.between(2, 5))
    if kind < 0.85:
        gaps = ((14, 21, 14), (14, 28, 28)) if dice.chance(0.5) else ((5, 8, 6),) * 2
        return chain(key, days, window(dice, 200, 260, 10, 35), gaps)
    return chain(key, days, window(dice, 30, 320, 7, 35), ())


def random_yard(
    seed: int, weekdays: int | None = None, distinct: int | None = None
) -> tuple[tuple[Strand, ...], KeeperDays]:
    """Strands of a yard and the keeper's days. Unless given: 1 to 3 weekdays, 5 to 12 strands."""
    dice = Dice(Random(seed))
    days = keeper_days(dice, weekdays or dice.between(1, 3))
    wanted = distinct or dice.between(5, 12)
    strands: list[Strand] = []
    while len(strands) < wanted:
        strand = random_strand(dice, f"strand {len(strands) + 1}", days)
        if strand is not None:
            strands.append(strand)
    return tuple(strands), days


def fingerprint(strands: tuple[Strand, ...], days: KeeperDays) -> int:
    """A checksum of what packing sees of a yard, to notice a seed that no longer makes the yard it made."""

    def plain(stop: Stop | None) -> object:
        return stop and (stop.days, stop.nodes, stop.best_day)

    seen = [(plain(s.first), [(node.at, plain(node.then)) for node in s.nodes]) for s in strands]
    return crc32(repr((days.ordinals, seen)).encode())


Outing = tuple[tuple[tuple[Strand, ...], KeeperDays], ...]
"""Yards that are visited on the same drives: the strands of each, and the keeper's days there."""


def random_outfit(seed: int) -> Outing:
    """Two to four yards on one keeper's 1 to 3 weekdays: mostly the same rules, in each yard some days later.

    Each yard has 3 to 7 strands of the common rules, some left out, and up to two of its own; a day in ten is not
    possible at one yard or another.
    """
    dice = Dice(Random(1_000_000 + seed))
    days = keeper_days(dice, dice.between(1, 3))
    rules = [int(dice.source.random() * 2**32) for _ in range(dice.between(3, 7))]
    yards = []
    for _ in range(dice.between(2, 4)):
        late = dice.between(0, 9)
        here = KeeperDays(tuple(day for day in days if not dice.chance(0.1)))
        common = [rule for rule in rules if dice.chance(0.85)]
        own = [int(dice.source.random() * 2**32) for _ in range(dice.between(0 if common else 1, 2))]
        strands = [
            later_strand(Dice(Random(rule)), f"strand {i}", here, late) for i, rule in enumerate([*common, *own])
        ]
        yards.append((tuple(strand for strand in strands if strand is not None), here))
    return tuple(yards)


def yards_alike(number: int) -> Outing:
    """So many yards on one keeper's two weekdays, each with two strands of the same rules, some days later."""
    dice = Dice(Random(1))
    days = keeper_days(dice, 2)
    rules = [int(dice.source.random() * 2**32) for _ in range(2)]
    yards = []
    for _ in range(number):
        late = dice.between(0, 9)
        strands = [later_strand(Dice(Random(rule)), f"strand {i}", days, late) for i, rule in enumerate(rules)]
        yards.append((tuple([strand for strand in strands if strand is not None]), days))
    return tuple(yards)


def later_strand(dice: Dice, key: str, days: KeeperDays, late: int) -> Strand | None:
    """A random strand of which all dates are so many days later."""
    strand = random_strand(dice, key, KeeperDays(tuple(day - late for day in days)))

    def moved(stop: Stop) -> Stop:
        return replace(stop, best_day=stop.best_day + late)

    if strand is None:
        return None
    nodes = tuple(replace(node, then=node.then and moved(node.then)) for node in strand.nodes)
    return replace(strand, first=moved(strand.first), nodes=nodes)


def outfit_fingerprint(yards: Outing) -> int:
    """A checksum as ``fingerprint``, of all yards."""
    return crc32(repr([fingerprint(*yard) for yard in yards]).encode())
