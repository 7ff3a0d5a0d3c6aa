"""The search for the best visits: which sweeps, how wide, in which order. In: a Weave. Out: visits, what is proved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import NamedTuple

from ipmcal.planning.pack.deviation import Deviation
from ipmcal.planning.pack.nearest import Nearest
from ipmcal.planning.pack.steps import OutOfSteps, Steps
from ipmcal.planning.pack.sweep import Fewest
from ipmcal.planning.pack.weave import Weave

EFFORT = 15000
"""How much a sweep may handle for each unit of width: states, times days, times bundles. It bounds the time."""

PARTS = 6
"""Parts of the season at whose beginnings the bound on the rest is tightened: more prove more, but take longer."""

ASIDE = (-1, 1, -2, 2, -3, 3, -4, 4)
"""How far a drive is moved, by possible days, to see whether it saves a visit."""

BOTH = (-1, 1, -2, 2)
"""How far each of two drives in a row is moved, to the same end."""


SLIDE = 3
"""How many drives on end slide together to come nearer to the best days."""


class Packed(NamedTuple):
    """Visits, and proven least numbers: of drives, of visits on so few drives, of visits of each yard alone."""

    visits: int
    least_drives: int
    least_visits: int
    least_alone: tuple[int, ...]


def search(woven: Weave, width: int, most: int) -> Packed:
    """The best visits found, with sweeps that keep ``width`` states, and more where that proves nothing.

    Sets of yards are gone through, and drives moved by trial, for as long as that takes no more than ``most`` steps,
    and once more.
    """
    steps = Steps(most)
    if woven.yards > 1:
        return _several(woven, width, steps)
    fewest = Fewest(woven)
    visits, bound = _fewest(fewest, width)
    return Packed(_nearest(fewest, visits, width, steps), bound, bound, (bound,))


def _several(woven: Weave, width: int, steps: Steps) -> Packed:
    """Several yards: all as if they were one, and each by itself, give the bounds, and drives to begin with."""
    together = Fewest(woven.together())
    drives, least_drives = _fewest(together, width)
    alone = [Fewest(woven.alone(yard)) for yard in range(woven.yards)]
    least_alone = tuple([_fewest(fewest, width)[1] for fewest in alone])
    joint = Fewest(woven, [fewest.rest for fewest in alone], together.rest, steps)
    visits, bound = _widened(joint, _on_drives(joint, alone, together.weave.days(drives), width), width)
    if woven.toll(visits) > bound:
        visits = _shifted(joint, alone, visits, width, steps)
    # what the bound leaves when the drives are paid is owed in visits
    least_visits = max(sum(least_alone), bound - woven.drive * len(_driven(woven, visits)))
    return Packed(_nearest(joint, visits, width, steps), least_drives, least_visits, least_alone)


def _driven(woven: Weave, visits: int) -> set[int]:
    """The days of the drives."""
    return {day for yard in range(woven.yards) for day in woven.days(visits, yard)}


def _on_drives(joint: Fewest, alone: Sequence[Fewest], drives: Iterable[int], width: int) -> int:
    """The fewest visits found to each yard on these drives, which carry all."""
    days, visits = sorted(drives), 0
    for yard, fewest in enumerate(alone):
        found = fewest.within(days, 8 * width, len(days) + 1)
        # the drives carry every yard, so that all of them do where a sweep finds no fewer
        on = days if found is None else fewest.weave.days(found)
        visits |= sum([joint.weave.bit(day, yard) for day in on])
    return joint.thinned(visits)


def _shifted(joint: Fewest, alone: Sequence[Fewest], visits: int, width: int, steps: Steps) -> int:
    """Visits for no greater toll: one drive, or two in a row, move aside as long as that saves a visit."""
    woven = joint.weave
    better: int | None = visits
    while better is not None:
        visits, better = better, None
        for moved in _aside(_driven(woven, visits), woven.length):
            if not steps.take(woven.ways):
                return visits
            if _carry(alone, moved):
                steps.take(8 * width * len(moved) * len(woven.bundles))  # each sweep keeps eight times as many states
                found = _on_drives(joint, alone, moved, width)
                if woven.toll(found) < woven.toll(visits):
                    better = found
                    break
    return visits


def _aside(drives: set[int], length: int) -> Iterator[set[int]]:
    """As many drives, with one or two in a row of them on other days; each set once."""
    order = sorted(drives)
    ones = ((drives - {day}) | {day + by} for day in order for by in ASIDE)
    twos = ((drives - {a, b}) | {a + x, b + y} for a, b in pairwise(order) for x in BOTH for y in BOTH)
    seen: set[frozenset[int]] = set()
    for moved in chain(ones, twos):
        if len(moved) == len(drives) and min(moved) >= 0 and max(moved) < length and frozenset(moved) not in seen:
            seen.add(frozenset(moved))
            yield moved


def _carry(alone: Sequence[Fewest], days: set[int]) -> bool:
    """Whether each yard can be done on these days."""
    return all(fewest.carries(sum([fewest.weave.bit(day) for day in days])) for fewest in alone)


def _fewest(fewest: Fewest, width: int) -> tuple[int, int]:
    """The fewest visits found for one yard, and a proven bound: a quick sweep, then thorough ones if need be."""
    visits, bound = fewest.run(width, fewest.weave.length + 1)
    assert visits is not None
    # most yards are proved at once: only the others are worth a slow look
    if max(bound, fewest.bound) < visits.bit_count():
        fewest.tighten(PARTS, 2 * width)
        visits, proved = _widened(fewest, visits, width)
        bound = max(bound, proved)
    return fewest.thinned(visits), max(bound, fewest.bound)


def _widened(fewest: Fewest, visits: int, width: int) -> tuple[int, int]:
    """Visits for no greater toll, and a proven bound: sweeps by estimate, with more and more states kept."""
    below, bound = fewest.weave.toll(visits), fewest.bound
    for kept in _widths(width, fewest.weave):
        if bound == below:
            break
        fewest.estimate()
        try:
            found, proved = fewest.run(kept, below)
        except OutOfSteps:
            break
        if found is not None:
            visits, below = found, fewest.weave.toll(found)
        bound = max(bound, proved)
    return visits, bound


def _nearest(fewest: Fewest, visits: int, width: int, steps: Steps) -> int:
    """Visits, for no greater toll than those given, with the least deviation found."""
    woven = fewest.weave
    nearest, deviation = Nearest(fewest), Deviation(woven)
    cap = deviation.of(visits)
    assert cap is not None
    try:
        (_, cap, minus), whole = nearest.run(_widths(width, woven)[-1], visits, cap)
    except OutOfSteps:
        return _slid(deviation, woven, visits, cap, steps)
    return -minus if whole else _slid(deviation, woven, -minus, cap, steps)


def _slid(deviation: Deviation, woven: Weave, visits: int, cap: int, steps: Steps) -> int:
    """Visits with no more deviation: up to three drives on end slide aside by a day, as long as that makes it less."""
    better: int | None = visits
    ways = woven.ways
    while better is not None:
        visits, better = better, None
        deviation.of(visits)  # what is asked of moved visits counts from these
        drives = sorted(_driven(woven, visits))
        runs = [drives[i:end] for end in range(1, len(drives) + 1) for i in range(max(0, end - SLIDE), end)]
        for run in runs:
            for by in (-1, 1):
                moved = _moved(woven, visits, run, by)
                if moved is not None and not steps.take(ways):
                    return better or visits
                total = None if moved is None else deviation.beside(moved, cap)
                # of equals the earlier visits: a greater set of bits
                if moved is not None and total is not None and (total, -moved) < (cap, -(better or visits)):
                    better, cap = moved, total
    return visits


def _moved(woven: Weave, visits: int, drives: Sequence[int], by: int) -> int | None:
    """Visits with some drives a day earlier or later; None where there are visits already, or no such day."""
    # whoever is in front moves first, or one would run into the next
    for day in drives if by < 0 else reversed(drives):
        if not 0 <= day + by < woven.length:
            return None
        for yard in range(woven.yards):
            here, there = woven.bit(day, yard), woven.bit(day + by, yard)
            if visits & here and visits & there:
                return None
            if visits & here:
                visits ^= here | there
    return visits


def _widths(width: int, woven: Weave) -> list[int]:
    """How many states the sweeps keep, one after the other: the width asked for, and the most."""
    most = max(width, width * EFFORT // max(1, woven.length * len(woven.bundles)))
    return sorted({width, most})
