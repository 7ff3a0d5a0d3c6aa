"""How a sweep's states are laid out in bits, and what is left at each bit. In: a Weave. Out: a Layout, estimates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
    ``first[day]``: which is the first bit of that day; ``today[day]``: all its bits; ``later[day]``: all bits of the
    days after it; ``from_on[day]``: both together;
    ``gains[day]``: what each bit of that day opens after it (everything, for a bundle that is over), in their order;
    ``parts[day]``: for each yard with something to do on that day, its bits of that day;
    ``whole``: for each bundle, all its bits;
    ``shut[day]``: the same, for the bundles that have a stop closing on that day.
    """

    start: int
    knots: list[tuple[int, int]]
    day_of: list[int]
    first: list[int]
    today: list[int]
    later: list[int]
    from_on: list[int]
    gains: list[list[int]]
    parts: list[dict[int, int]]
    whole: list[int]
    shut: list[list[int]]


def lay_out(weave: Weave) -> Layout:
    """The layout of a weave's states."""
    spots = sorted((weave.at[knot], c, -knot) for c, knots in enumerate(weave.reached) for knot in knots)
    bit_of: list[dict[int, int]] = [{} for _ in weave.bundles]
    today, first = [0] * (weave.length + 1), [len(spots)] * (weave.length + 1)
    for i, (day, c, knot) in enumerate(spots):
        bit_of[c][-knot] = 1 << i
        today[day] |= 1 << i
        first[day] = min(first[day], i)
    every = (1 << len(spots)) - 1
    later = [every & -1 << bits.bit_length() for bits in accumulate(today[:-1], or_)]
    ranges = [_Range(bits) for bits in bit_of]
    whole = [some.whole for some in ranges]
    gains: list[list[int]] = [[] for _ in range(weave.length)]
    parts: list[dict[int, int]] = [{} for _ in range(weave.length)]
    closing: list[set[int]] = [set() for _ in range(weave.length + 1)]
    for c, bundle in enumerate(weave.bundles):
        closing[weave.at[bundle.first[-1]]].add(c)
    for day, c, knot in spots[: len(spots) - len(weave.bundles)]:
        then, yard = weave.then[-knot], weave.bundles[c].yard
        closing[weave.at[then[-1]]].add(c)
        # a bundle that is over holds all its bits open, so that it never counts as lost
        over = then[0] == END
        parts[day][yard] = parts[day].get(yard, 0) | bit_of[c][-knot]
        gains[day].append(whole[c] & later[day] if over else ranges[c].of(then))
    return Layout(
        start=sum(some.of(bundle.first) for bundle, some in zip(weave.bundles, ranges, strict=True)),
        knots=[(c, -knot) for _, c, knot in spots],
        day_of=[day for day, _, _ in spots],
        first=first,
        today=today,
        later=later,
        from_on=[every, *later],
        gains=gains,
        parts=parts,
        whole=whole,
        shut=[[whole[c] for c in sorted(bundles)] for bundles in closing[:-1]],
    )


class _Range:
    """The bits of a bundle's knots, and of runs of them: most often one knot a day, on one day after the other."""

    def __init__(self, bits: Mapping[int, int]) -> None:
        self._bits = bits
        self._place = {knot: i for i, knot in enumerate(bits)}
        self._up_to = list(accumulate(bits.values(), or_, initial=0))
        self.whole = self._up_to[-1]

    def of(self, knots: Sequence[int]) -> int:
        """The bits of knots, given by day."""
        first, last = self._place[knots[0]], self._place[knots[-1]]
        if last - first + 1 == len(knots):
            return self._up_to[last + 1] ^ self._up_to[first]
        return sum([self._bits[knot] for knot in knots])


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
