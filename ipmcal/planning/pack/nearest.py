"""The best days, by a sweep over the keeper's days. In: a Weave, visits that carry it. Out: visits that are no more.

Of all visits with no greater toll, those with the least deviation are looked for, then the earliest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ipmcal.planning.pack.sweep import Fewest, Outing, choices, sets_of, slices
from ipmcal.planning.pack.weave import END, Weave

_Open = tuple[tuple[int, ...], tuple[int, ...]]
"""The knots open to a bundle, from the last day back, and the days that each costs more than the cheapest of them."""

_Skip = tuple[int, int]
"""The number of what is open after skipping a day, and the days that skipping adds."""

_Key = tuple[int, ...]
"""For each bundle, the number of what is open to it."""

_Worth = tuple[int, int, int]
"""The toll, the least deviation that can still be reached, and minus the visits as bits: the less the better."""

_LOST = 0
"""The number of a bundle to which nothing is open."""


class Nearest:
    """The sweep for the least deviation for no more than a given toll, by the bounds of a sweep for the least toll.

    What is open to a bundle is known by a number, so that a step of the sweep is looked up and seldom worked out. Costs
    count from the least that is possible with every day visited: what a state costs is a bound on what it will.
    """

    def __init__(self, fewest: Fewest) -> None:
        self._weave = weave = fewest.weave
        self._work = fewest.steps
        self._yards = list(zip(slices(weave), fewest.rests, strict=True))
        self._drives = fewest.drives
        self._yard = [bundle.yard for bundle in weave.bundles]
        self._weights = [bundle.weight for bundle in weave.bundles]
        self._chosen: dict[tuple[int, frozenset[int]], list[Outing]] = {}
        self._opens: list[_Open] = [((), ())]
        self._number: dict[_Open, int] = {((), ()): _LOST}
        self._next_day, self._last_day = [-1], [-1]
        self._skips: list[_Skip | None] = [None]
        self._goes: list[int | None] = [None]
        self._by: list[int] = []
        least, self._excess = _least(weave)
        start, self._ideal = [], 0
        for bundle in weave.bundles:
            costs = {knot: cost + least[knot] for knot, cost in zip(bundle.first, bundle.costs, strict=True)}
            cheapest = min(costs.values())
            start.append(self._known(_sorted({knot: cost - cheapest for knot, cost in costs.items()})))
            self._ideal += bundle.weight * cheapest
        self._start = tuple(start)
        self._due: list[list[int]] = [[] for _ in range(weave.length + 1)]
        for c, reached in enumerate(weave.reached):
            for day in {weave.at[knot] for knot in reached}:
                self._due[day].append(c)

    def run(self, width: int, guide: int, cap: int) -> tuple[_Worth, bool]:
        """The best visits found, and whether they are proved to be the best for their toll.

        ``guide`` are visits that carry all bundles with a deviation of ``cap``: one state always follows them, so that
        the outcome is never worse. Where it joins a state that got there with fewer visits, so many are not needed.
        Raises OutOfSteps where there are too many sets of yards to go through.
        """
        states: dict[_Key, _Worth] = {self._start: (0, self._ideal, 0)}
        on_guide, whole, most = self._start, True, self._weave.toll(guide)
        branch = self._branch if self._weave.drive else self._branch_of_one
        for day in range(self._weave.length):
            if self._due[day]:
                states, on_guide = branch(day, states, on_guide, guide, most, cap)
                if len(states) > width:
                    states, kept_all = _best(states, width, on_guide)
                    whole = whole and kept_all
        return min(states.values()), whole

    def _branch(
        self, day: int, states: dict[_Key, _Worth], on_guide: _Key, guide: int, most: int, cap: int
    ) -> tuple[dict[_Key, _Worth], _Key]:
        """Each state with the day skipped and with each choice of yards, and the state that follows the guide."""
        out: dict[_Key, _Worth] = {}
        followed, room = on_guide, most - self._owed(day + 1)
        for key, (toll, cost, made) in states.items():
            ways = self._ways(day, key)
            if key == on_guide:
                # the guide may visit yards to which the day means nothing: these are left out
                every = sum([visits for *_, visits in ways[-1:]])
                followed = next(after for after, _, _, visits in ways if visits == guide & every)
            for after, lag, more, visits in ways:
                worth = toll + more, cost + lag, made - visits
                fits = worth[0] <= room and self._within(after, worth, most, cap)
                if (fits or (key == on_guide and after == followed)) and (after not in out or worth < out[after]):
                    out[after] = worth
        return out, followed

    def _branch_of_one(
        self, day: int, states: dict[_Key, _Worth], on_guide: _Key, guide: int, most: int, cap: int
    ) -> tuple[dict[_Key, _Worth], _Key]:
        """The same for a single yard, which is visited or not.

        A visit that nobody can pay for is not worked out: most of the time goes into what is open after one.
        """
        visit, due, weights = self._weave.bit(day), self._due[day], self._weights
        next_day, skips, goes, last_day = self._next_day, self._skips, self._goes, self._last_day.__getitem__
        room, by = most - self._drives[day + 1], self._must_reach(most)
        out: dict[_Key, _Worth] = {}
        followed = on_guide
        for key, (toll, cost, made) in states.items():
            guided = key == on_guide
            here = [c for c in due if next_day[key[c]] == day]
            stay, lag = list(key), 0
            for c in here:
                stay[c], more = skips[key[c]] or self._skip(key[c])
                lag += more * weights[c]
            skipped, visits = tuple(stay), False
            if toll < room or guided:
                for c in here:
                    stay[c] = goes[key[c]] or self._go(key[c])
                went = tuple(stay)
                visits = bool(lag) or went != skipped
            follows = guided and visits and bool(guide & visit)
            if guided:
                followed = went if follows else skipped
            # a skipped day leaves nobody less time, unless nothing is left to do it on
            if (guided and not follows) or (toll <= room and cost + lag <= cap and _LOST not in skipped):
                worth = toll, cost + lag, made
                if skipped not in out or worth < out[skipped]:
                    out[skipped] = worth
            if visits and (follows or (toll < room and cost <= cap and min(map(last_day, went)) >= by[toll + 1])):
                worth = toll + 1, cost, made - visit
                if went not in out or worth < out[went]:
                    out[went] = worth
        return out, followed

    def _must_reach(self, most: int) -> list[int]:
        """By toll, the first day up to which all must have time where no more than ``most`` is to be paid."""
        if len(self._by) != most + 2:
            day, self._by = 0, []
            for toll in range(most + 2):
                while day <= self._weave.length and toll + 1 + self._drives[day + 1] > most:
                    day += 1
                self._by.append(day)
        return self._by

    def _owed(self, day: int) -> int:
        """The least toll that is proved to be paid from a day on, whatever was visited before."""
        return self._weave.drive * self._drives[day] + sum([rest[day] for _, rest in self._yards])

    def _within(self, key: _Key, worth: _Worth, most: int, cap: int) -> bool:
        """Whether a state may still end for so much toll and so many days of deviation."""
        if worth[1] > cap:
            return False
        last_day = self._last_day
        lasts = [last_day[number] for number in key]
        # a bundle that has nothing open any more is lost: its last day is -1
        due = min(lasts)
        if due < 0:
            return False
        toll = worth[0] + self._weave.drive * (1 + self._drives[due + 1])
        for where, rest in self._yards:
            toll += 1 + rest[min(lasts[where]) + 1]
        return toll <= most

    def _ways(self, day: int, key: _Key) -> list[tuple[_Key, int, int, int]]:
        """What is open after skipping a day and after each choice of yards that matters: the days added, toll, visits.

        The last choice is of all these yards.
        """
        stay, lag = list(key), 0
        moved: list[tuple[int, int, int]] = []
        next_day, skips, bundles = self._next_day, self._skips, self._weave.bundles
        for c in self._due[day]:
            number = key[c]
            if next_day[number] == day:
                skip, more = skips[number] or self._skip(number)
                go = self._go(number)
                stay[c] = skip
                if go != skip or more:
                    more *= bundles[c].weight
                    lag += more
                    moved.append((c, go, more))
        found = [(tuple(stay), lag, 0, 0)]
        yards = frozenset([self._yard[c] for c, _, _ in moved])
        if self._work is not None:
            self._work.spend(sets_of(yards) * len(bundles))
        for _, chosen, toll, visits in self._choices(day, yards):
            after, less = stay.copy(), lag
            for c, go, more in moved:
                if chosen >> self._yard[c] & 1:
                    after[c] = go
                    less -= more
            found.append((tuple(after), less, toll, visits))
        return found

    def _choices(self, day: int, yards: frozenset[int]) -> list[Outing]:
        """The choices among some yards on a day."""
        if (day, yards) not in self._chosen:
            self._chosen[day, yards] = choices(self._weave, day, {yard: 1 << yard for yard in yards})
        return self._chosen[day, yards]

    def _skip(self, number: int) -> _Skip:
        """What is open to a bundle once the next day that matters to it is skipped."""
        kept = self._later(number)
        knots, costs = self._opens[number]
        left = costs[:kept]
        lag = min(left, default=0)
        opens = knots[:kept], tuple([cost - lag for cost in left]) if lag else left
        skip = self._skips[number] = self._known(opens), lag
        return skip

    def _go(self, number: int) -> int:
        """What is open to a bundle once it is visited on the next day that matters to it."""
        go = self._goes[number]
        if go is None:
            go = self._goes[number] = self._known(self._visited(number))
        return go

    def _later(self, number: int) -> int:
        """How many of the knots that are open lie behind the next day that matters."""
        knots, at, today = self._opens[number][0], self._weave.at, self._next_day[number]
        kept = len(knots) - 1
        while kept and at[knots[kept - 1]] == today:
            kept -= 1
        return kept

    def _visited(self, number: int) -> _Open:
        knots, costs = self._opens[number]
        kept = self._later(number)
        left, left_costs = knots[:kept], costs[:kept]
        after, after_costs = self._excess[knots[kept]]
        more = costs[kept]
        if kept + 1 < len(knots) or (kept and after[-1] >= left[0]):
            return self._merged(knots, costs, kept)
        # most often what follows lies behind all else that is open
        if after == (END,):
            # who may be over for so much never goes on for as much
            cheaper = [i for i, cost in enumerate(left_costs) if cost < more]
            left, left_costs = tuple([left[i] for i in cheaper]), tuple([left_costs[i] for i in cheaper])
        return after + left, (tuple([cost + more for cost in after_costs]) if more else after_costs) + left_costs

    def _merged(self, knots: Sequence[int], costs: Sequence[int], kept: int) -> _Open:
        """What is open after a visit on the day of all knots but the first, of which so many are kept."""
        found = dict(zip(knots[:kept], costs[:kept], strict=True))
        for knot, more in zip(knots[kept:], costs[kept:], strict=True):
            for after, excess in zip(*self._excess[knot], strict=True):
                if after not in found or more + excess < found[after]:
                    found[after] = more + excess
        if END in found:
            over = found[END]
            # who may be over for so much never goes on for as much
            found = {knot: cost for knot, cost in found.items() if cost < over or knot == END}
        return _sorted(found)

    def _known(self, opens: _Open) -> int:
        """The number of what is open."""
        number = self._number.get(opens)
        if number is None:
            number = self._number[opens] = len(self._opens)
            self._opens.append(opens)
            self._next_day.append(self._weave.at[opens[0][-1]])
            self._last_day.append(self._weave.at[opens[0][0]])
            self._skips.append(None)
            self._goes.append(None)
        return number


def _least(weave: Weave) -> tuple[list[int], list[_Open]]:
    """For each knot the least deviation of all that follows it, and its next knots with what they cost beyond that."""
    least: list[int] = [0]
    excess: list[_Open] = [((), ())]
    for then, costs in zip(weave.then[1:], weave.costs[1:], strict=True):
        sums = [cost + least[knot] for knot, cost in zip(then, costs, strict=True)]
        least.append(min(sums, default=0))
        excess.append((then[::-1], tuple([total - least[-1] for total in reversed(sums)])))
    return least, excess


def _sorted(costs: Mapping[int, int]) -> _Open:
    """Knots and costs, from the last day back."""
    knots = tuple(sorted(costs))
    return knots, tuple([costs[knot] for knot in knots])


def _best(states: dict[_Key, _Worth], width: int, on_guide: _Key) -> tuple[dict[_Key, _Worth], bool]:
    """The best states, as many for each toll, and the one on the guide; and whether these are all."""
    by_toll: dict[int, list[tuple[_Worth, _Key]]] = {}
    for key, worth in states.items():
        by_toll.setdefault(worth[0], []).append((worth, key))
    # a cheaper toll says nothing of the days: each toll keeps its share of the room
    each = max(1, width // len(by_toll))
    out = {on_guide: states[on_guide]}
    for ranked in by_toll.values():
        ranked.sort()
        out.update({key: worth for worth, key in ranked[:each]})
    return out, all(len(ranked) <= each for ranked in by_toll.values())
