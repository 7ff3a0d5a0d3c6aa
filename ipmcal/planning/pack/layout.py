"""How a sweep's states are laid out in bits, and what is left at each bit. In: a Weave. Out: a Layout, estimates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from operator import or_

from ipmcal.planning.pack.weave import END, Weave

VISIT_PRICE = 1 << 20
"""The price of a visit where it is shared out: shares are whole numbers."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The bits of a state: one for each knot of each bundle, by day and bundle; the ``END`` of each bundle comes last.

    On a day's morning, no bit of an earlier day is set in a state.
    ``knots``: each bit's bundle and knot;
    ``today[day]``: all bits of that day; ``later[day]``: all bits of the days after it;
    ``gains[day]``: what each bit of that day opens after it (everything, for a bundle that is over), by its bit;
    ``parts[day]``: for each yard with something to do on that day, its bits of that day;
    ``whole``: for each bundle, all its bits;
    ``shut[day]``: the same, for the bundles that have a stop closing on that day.
    """

    start: int
    knots: list[tuple[int, int]]
    day_of: list[int]
    today: list[int]
    later: list[int]
    gains: list[dict[int, int]]
    parts: list[dict[int, int]]
    whole: list[int]
    shut: list[list[int]]


def lay_out(weave: Weave) -> Layout:
    """The layout of a weave's states."""
    spots = sorted((weave.at[knot], c, -knot) for c, knots in enumerate(weave.reached) for knot in knots)
    bit_of: list[dict[int, int]] = [{} for _ in weave.bundles]
    today = [0] * (weave.length + 1)
    for i, (day, c, knot) in enumerate(spots):
        bit_of[c][-knot] = 1 << i
        today[day] |= 1 << i
    every = (1 << len(spots)) - 1
    later = [every & -1 << bits.bit_length() for bits in accumulate(today[:-1], or_)]
    whole = [sum(bits.values()) for bits in bit_of]
    gains: list[dict[int, int]] = [{} for _ in range(weave.length)]
    parts: list[dict[int, int]] = [{} for _ in range(weave.length)]
    closing: list[set[int]] = [set() for _ in range(weave.length + 1)]
    for c, bundle in enumerate(weave.bundles):
        closing[weave.at[bundle.first[-1]]].add(c)
    for day, c, knot in spots[: len(spots) - len(weave.bundles)]:
        then, yard, bits = weave.then[-knot], weave.bundles[c].yard, bit_of[c]
        closing[weave.at[then[-1]]].add(c)
        # a bundle that is over holds all its bits open, so that it never counts as lost
        over = then[0] == END
        parts[day][yard] = parts[day].get(yard, 0) | bits[-knot]
        gains[day][bits[-knot]] = whole[c] & later[day] if over else sum([bits[knot] for knot in then])
    return Layout(
        start=sum(bits[knot] for bundle, bits in zip(weave.bundles, bit_of, strict=True) for knot in bundle.first),
        knots=[(c, -knot) for _, c, knot in spots],
        day_of=[day for day, _, _ in spots],
        today=today,
        later=later,
        gains=gains,
        parts=parts,
        whole=whole,
        shut=[[whole[c] for c in sorted(bundles)] for bundles in closing[:-1]],
    )


def reaches_to(weave: Weave) -> list[int]:
    """For each day, the latest next visit that any bundle allows if the last one was before it; ``length`` for none."""
    latest = [weave.length] * (weave.length + 1)
    for bundle, reached in zip(weave.bundles, weave.reached, strict=True):
        lasts = [0] * (weave.length + 1)
        lasts[0] = weave.at[bundle.first[-1]]
        for knot in reached - {END}:
            after = weave.at[knot] + 1
            lasts[after] = max(lasts[after], weave.at[weave.then[knot][-1]])
        latest = list(map(min, latest, accumulate(lasts, max)))
    return latest


class Left(dict[int, int]):
    """What a bundle has left to pay, by its open knots as bits: the least of them. Worked out when first asked for.

    Its earliest knots go first, as days go by: what is left without them is asked for next, and is learnt on the way.
    """

    def __init__(self, paid: Sequence[int]) -> None:
        super().__init__()
        self._paid = paid

    def __missing__(self, opened: int) -> int:
        fresh, later = [opened], opened & opened - 1
        while later and later not in self:
            fresh.append(later)
            later &= later - 1
        least = self[later] if later else self._paid[opened.bit_length() - 1]
        for left in reversed(fresh):
            least = self[left] = min(least, self._paid[(left & -left).bit_length() - 1])
        return least


def shares(weave: Weave, layout: Layout, drive: int) -> tuple[list[int], int]:
    """An estimate of what is left to pay from each bit on, its own day included, and of what all pay in the end.

    The price of a visit is shared evenly by all bundles of its yard that may use the day, the price of a drive (so many
    visits) by all bundles; each bundle pays for its cheapest path.
    """
    reached = [sorted(knots) for knots in weave.reached]
    able: dict[tuple[int, int], int] = {}
    for bundle, knots in zip(weave.bundles, reached, strict=True):
        for day in {weave.at[knot] for knot in knots}:
            for yard in (bundle.yard, -1):
                able[yard, day] = able.get((yard, day), 0) + 1
    paid: list[dict[int, int]] = []
    for bundle, knots in zip(weave.bundles, reached, strict=True):
        mine = {END: 0}
        for knot in knots[1:]:
            day = weave.at[knot]
            price = VISIT_PRICE // able[bundle.yard, day] + drive * VISIT_PRICE // able[-1, day]
            mine[knot] = price + min([mine[after] for after in weave.then[knot]])
        paid.append(mine)
    total = sum(min(mine[knot] for knot in b.first) for b, mine in zip(weave.bundles, paid, strict=True))
    return [paid[c][knot] for c, knot in layout.knots], total
