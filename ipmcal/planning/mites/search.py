"""Search: every set of courses that the walls leave, composed at once: the base first, then the fewest further ones.

In: the maps of all candidates, which go together, what each costs the keeper, the authority's lines. Out: sets in the
order in which they are to be taken. Pure. Exact by enumeration; numpy for products and sums in fixed order.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ipmcal.planning.many.columns import Array
from ipmcal.planning.mites.maps import Maps, Positions, composed, loads
from ipmcal.planning.mites.order import KeeperCosts, in_bands, preferred

Flags = npt.NDArray[np.bool_]
AT_ONCE = 400
"""Sets whose loads are worked out at once: a matter of speed and memory."""


@dataclass(frozen=True)
class Measures:
    """The figures of choosing: shares, and mites. See ``planning.yaml``, ``year_plans``."""

    over: float
    band: float
    same_harm: float
    settled_most: float
    as_washed: float


@dataclass(frozen=True)
class SearchField:
    """The question in numbers. Candidates are counted as in ``maps``.

    ``slots`` are the candidates of each round of the base on its best days, ``wide`` on all of them; ``further`` those
    that may stand beside it, ``blind`` those that do so only where no others are enough: no count has told anything
    before them. ``apart``: both may be in one year. ``caps``: of these candidates at most so many. ``judged`` are the
    looks at which loads are held against ``lines``, in mites a bee, but for days less than ``excused`` before a course.
    ``last_class`` is that of the hives' last course. ``fixed`` are in every set, and every base. ``needed``: of these
    one at least is in every set; None: no matter.
    """

    maps: Maps
    slots: tuple[Positions, ...]
    wide: tuple[Positions, ...]
    further: Positions
    blind: Positions
    apart: Flags
    caps: tuple[tuple[Flags, int], ...]
    costs: tuple[KeeperCosts, ...]
    judged: Positions
    lines: Array
    measures: Measures
    excused: int = 0
    last_class: str = ""
    fixed: Positions = dataclasses.field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    needed: Flags | None = None


@dataclass(frozen=True, slots=True)
class Set:
    """Courses of a year, by candidate in the order of their days; ``base`` says which of them are the base.

    ``harm`` is the mean of this year and the next from the start that is known, ``over`` the share of draws over the
    line in the settled year, both of the draws that choose.
    """

    courses: tuple[int, ...]
    base: frozenset[int]
    harm: float
    over: float


def bases(field: SearchField) -> list[Set]:
    """The base by itself, each choice of products on its days of least harm, best first by the keeper's order.

    Rounds stand in the order of their weight; where no course of one goes with those before, it is put on other days,
    and where there are none, left out.
    """
    slots: list[Positions] = []
    rows = np.zeros((1, 0), dtype=np.intp)
    for best, wide in zip(field.slots, field.wide, strict=True):
        for slot in (best, wide):
            more = _joined(field, [*slots, slot])
            if len(more):
                slots, rows = [*slots, slot], more
                break
    rows = np.column_stack([rows, np.tile(field.fixed, (len(rows), 1))])
    return _ranked(field, rows, [frozenset(map(int, row)) for row in rows], None)


def beside(field: SearchField, base: Set, many: int, *, enough_only: bool = True, blind: bool = False) -> list[Set]:
    """The base with so many further courses, ``blind`` ones too if told, best first: sets that are enough, or all."""
    mine = np.array(base.courses, dtype=np.intp)
    there = np.concatenate([field.further, field.blind]) if blind else field.further
    free = there[field.apart[there][:, mine].all(axis=1)]
    rows = _combined(field, mine, free, many)
    rows = rows[_within_caps(field, rows)] if len(rows) else rows
    if field.needed is not None and len(rows):
        rows = rows[field.needed[rows].any(axis=1)]
    if not len(rows):
        return []
    return _ranked(field, rows, [base.base] * len(rows), field.measures.over if enough_only else None)


def harms_of(field: SearchField, rows: Sequence[Positions] | Positions) -> Array:
    """The mean harm of sets, each with its courses in the order of their days."""
    return composed(field.maps, np.asarray(rows, dtype=np.intp)).harms(field.maps.draws.start)


def over_line(field: SearchField, rows: Sequence[Positions] | Positions) -> Array:
    """The share of draws over the line on the worst judged day of the settled year, by set."""
    return _over(field, np.asarray(rows, dtype=np.intp), settled=True)


def over_line_first(field: SearchField, rows: Sequence[Positions] | Positions) -> Array:
    """The same in this year, from the start that is known."""
    return _over(field, np.asarray(rows, dtype=np.intp), settled=False)


def _over(field: SearchField, rows: Positions, *, settled: bool) -> Array:
    shares = np.empty(len(rows))
    for first in range(0, len(rows), AT_ONCE):
        some = rows[first : first + AT_ONCE]
        start = np.tile(field.maps.draws.start, (len(some), 1))
        if settled:
            start = composed(field.maps, some).settled(field.measures.settled_most)
        read = loads(field.maps, some, start)[:, field.judged] * field.measures.as_washed
        over = (read > field.lines[field.judged][None, :, None]).mean(axis=2)
        shares[first : first + AT_ONCE] = np.where(_excused(field, some), 0.0, over).max(axis=1)
    return shares


def _excused(field: SearchField, rows: Positions) -> Flags:
    """Judged days so shortly before a course of the set that a count over the line would lead to no other."""
    days = field.maps.looks[field.judged]
    ahead = (field.maps.begins[rows][:, :, None] - days[None, None]) % field.maps.draws.days
    return np.asarray((ahead < field.excused).any(axis=1), dtype=np.bool_)


def row_of(field: SearchField, courses: Sequence[int]) -> Positions:
    """A set as the one row of an array, its courses in the order of their days."""
    order = sorted(courses, key=lambda i: (int(field.maps.begins[i]), i))
    return np.array([order], dtype=np.intp).reshape(1, len(order))


def free(field: SearchField) -> list[int]:
    """Candidates that may stand beside the base."""
    return [int(i) for i in (*field.further, *field.blind)]


def needing(field: SearchField, places: Sequence[int]) -> SearchField:
    """The same question, one of some candidates in every set."""
    flags = np.zeros(len(field.costs), dtype=np.bool_)
    flags[list(places)] = True
    return dataclasses.replace(field, needed=flags)


def fits(field: SearchField, place: int, others: Sequence[int], firm: Sequence[int] | None = None) -> bool:
    """Whether a candidate goes with other courses; of these only what is ``firm`` counts, where some may be excused."""
    together = all(bool(field.apart[a, b]) for a, b in combinations([*others, place], 2))
    counted = [*(others if firm is None else firm), place]
    return together and all(sum(bool(flags[i]) for i in counted) <= most for flags, most in field.caps)


# Which sets there are -------------------------------------------------------------------------------------------------


def _joined(field: SearchField, slots: Sequence[Positions]) -> Positions:
    """One candidate of each slot, where all go together; rows in the order of the slots."""
    rows = np.zeros((1, 0), dtype=np.intp)
    for slot in slots:
        left, right = np.repeat(np.arange(len(rows)), len(slot)), np.tile(slot, len(rows))
        fits = np.ones(len(left), dtype=bool)
        for column in range(rows.shape[1]):
            fits &= field.apart[rows[left, column], right]
        rows = np.column_stack([rows[left[fits]], right[fits]])
    whole = np.column_stack([rows, np.tile(field.fixed, (len(rows), 1))])
    return rows[_within_caps(field, whole)] if len(rows) else rows


def _combined(field: SearchField, mine: Positions, free: Positions, many: int) -> Positions:
    """Every ``many`` of the free candidates that go together, behind the base."""
    if many == 0:
        return mine[None]
    picks = np.array(list(combinations(range(len(free)), 1)), dtype=np.intp).reshape(-1, 1)
    for _ in range(many - 1):
        picks = _extended(field, free, picks)
    return np.column_stack([np.tile(mine, (len(picks), 1)), free[picks]]) if len(picks) else np.zeros((0, 1), np.intp)


def _extended(field: SearchField, free: Positions, picks: Positions) -> Positions:
    """Each pick with one more candidate behind its last, where they go together."""
    count = len(free)
    left, right = np.repeat(np.arange(len(picks)), count), np.tile(np.arange(count), len(picks))
    fits = right > picks[left, -1]
    for column in range(picks.shape[1]):
        fits &= field.apart[free[picks[left, column]], free[right]]
    return np.column_stack([picks[left[fits]], right[fits]])


def _within_caps(field: SearchField, rows: Positions) -> Flags:
    keep = np.ones(len(rows), dtype=bool)
    for flags, most in field.caps:
        keep &= flags[rows].sum(axis=1) <= most
    return keep


# In which order -------------------------------------------------------------------------------------------------------


def _ranked(field: SearchField, rows: Positions, base: Sequence[frozenset[int]], over: float | None) -> list[Set]:
    """Sets in the order in which they are to be taken; with ``over``, only those that are enough.

    Loads take most of the time: sets are judged from the least harm up, and no further than the first band reaches.
    """
    days = field.maps.begins[rows]
    ordered = np.take_along_axis(rows, np.argsort(days, axis=1, kind="stable"), axis=1)
    years = composed(field.maps, ordered)
    harms = years.harms(field.maps.draws.start)
    by_harm = np.argsort(harms, kind="stable")
    kept = list(_judged(field, ordered, harms, by_harm, over))
    if not kept:
        return []
    where = np.array([i for i, _ in kept], dtype=np.intp)
    shares = dict(kept)
    products = [tuple(field.costs[c].product for c in rows[i]) for i in where]
    chosen = preferred(
        [
            (float(harms[i]), products[n], sum(field.costs[c].lost for c in rows[i]), tuple(int(d) for d in days[i]))
            for n, i in enumerate(where)
        ],
        field.measures.same_harm,
        len(base[0]),
    )
    picked = [where[n] for n in chosen]
    costs = [[field.costs[c] for c in ordered[i]] for i in picked]
    order = in_bands([float(harms[i]) for i in picked], costs, field.measures.band, field.last_class)
    if over is None:
        told = over_line(field, ordered[np.array(picked, dtype=np.intp)])
        shares = {int(i): float(share) for i, share in zip(picked, told, strict=True)}
    taken = [int(picked[n]) for n in order]
    return [Set(tuple(map(int, ordered[i])), base[i], float(harms[i]), shares[i]) for i in taken]


def _judged(
    field: SearchField, rows: Positions, harms: Array, by_harm: npt.NDArray[np.intp], over: float | None
) -> Iterator[tuple[int, float]]:
    """The sets to be ranked, with their share over the line where that was asked for."""
    if over is None:
        yield from ((int(i), 0.0) for i in by_harm)
        return
    least: float | None = None
    for first in range(0, len(by_harm), AT_ONCE):
        some = by_harm[first : first + AT_ONCE]
        if least is not None and harms[some[0]] > least * (1.0 + field.measures.band) ** 2:
            return
        shares = over_line(field, rows[some])
        for i, share in zip(some, shares, strict=True):
            if share <= over + 1e-12:
                least = float(harms[i]) if least is None else least
                yield int(i), float(share)
