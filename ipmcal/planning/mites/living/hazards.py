"""Hazards: courses as each draw of a class has them, contact products by their daily hazard. Pure; numpy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ipmcal.biology.mites.courses import hazard, kept_of_dose
from ipmcal.biology.mites.handling import MiteCourse, MiteReach
from ipmcal.biology.mites.year import YEAR_DAYS
from ipmcal.planning.many.runs import ManyHandlings, total
from ipmcal.planning.mites.living.lived import Lived, columns_of


@dataclass(frozen=True)
class Hazards:
    """The daily hazards of contact products in a class, read off the full model's in a usual colony.

    Solved there for five kills of a course's range and read between them; a colony with more of its mites in cells
    takes so much more. Solving them in each draw comes to the same, and takes forty times as long.
    """

    usual: Lived

    def of(self, one: MiteCourse, kills: Sequence[float], here: Sequence[Lived]) -> list[float]:
        """The daily hazard on bees at which a course kills so much of all mites in each colony."""
        most, nodes = self.usual.stock.figures.acting.most_a_day, self._nodes(one)
        (whole,), rows = loose([self.usual], one), zip(kills, loose(here, one), strict=True)
        return [min(_read_between(nodes, one, kill) * whole / sits, most) for kill, sits in rows]

    def _nodes(self, one: MiteCourse) -> tuple[float, ...]:
        stock, colony_ = self.usual.stock, self.usual.colony
        known, key = stock.memory.hazards, (stock.history, one)
        if key not in known:
            kills = (one.low + (one.high - one.low) * n / KILL_NODES for n in range(KILL_NODES + 1))
            known[key] = tuple(hazard(one, k, stock.figures, colony_, self.usual.draw) for k in kills)
        return known[key]


def _read_between(nodes: Sequence[float], one: MiteCourse, kill: float) -> float:
    """The hazard at which a course kills so much in the usual colony, on a line between two that were solved for."""
    where = 0.0 if one.high <= one.low else (kill - one.low) / (one.high - one.low) * KILL_NODES
    left = min(int(where), KILL_NODES - 1)
    return nodes[left] + (nodes[left + 1] - nodes[left]) * (where - left)


KILL_NODES = 4
"""Parts of the range of a course's kill, between which its hazard is read off a straight line."""


def handled_at_once(lives: Sequence[Lived], courses: Sequence[MiteCourse], hazards: Hazards) -> ManyHandlings:
    """Traps and courses, as each draw of a class has them."""
    stock = lives[0].stock
    made, shares = ManyHandlings(stock.traps), stock.figures.acting.in_cells_by_day
    contact = [one for one in courses if one.reach is MiteReach.CONTACT]
    for one in (*(one for one in courses if one not in contact), *contact):
        kills = [life.draw.kill(one.low, one.high, one.luck) for life in lives]
        if one.reach is MiteReach.CELLS:
            rows = [kept_of_dose(one.first, kill, shares) for kill in kills]
            for day in rows[0]:
                kept = np.array([row[day] for row in rows])
                made.keep(day, kept, kept)
        elif one.reach is MiteReach.DOSE:
            made.keep(one.first, 1.0 - np.array(kills))
        else:
            cut = within(one, stock.first + YEAR_DAYS)
            kept = 1.0 - np.array(hazards.of(cut, kills, lives))
            for day in range(cut.first, cut.first + cut.days):
                made.keep(day, kept)
    return made


def loose(lives: Sequence[Lived], course: MiteCourse) -> list[float]:
    """The share of mites that sits on bees over a course, were it to stay as it is, by draw: by how many enter cells a
    day."""
    stock, nest = lives[0].stock, lives[0].stock.figures.nest
    made = columns_of(lives, stock.history)
    at = course.first - made.first
    worker, drone = (total(made.arrays[name][at:], course.days) / course.days for name in ("into_worker", "into_drone"))
    found: list[float] = (1.0 / (1.0 + worker * nest.worker_capped + drone * nest.drone_capped)).tolist()
    return found


def within(part: MiteCourse, last: int) -> MiteCourse:
    """A course, cut off where the year ends."""
    if part.reach is not MiteReach.CONTACT or part.first + part.days <= last:
        return part
    return MiteCourse(part.reach, part.first, max(last - part.first, 1), part.low, part.high, part.luck)
