"""The same colony as four numbers a stretch: what the search of courses counts with.

In: one untreated run a draw. Out: an ``Untreated``: growth, share on bees, what comes in, harm and reading a mite, by
day; of any stretch between two days of it x -> a·x + b and harm -> c·x + d, in constant time. A course is a map of the
same kind. Exact for the untreated run itself; after a course it takes the share on bees for what it was without one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.courses import kept_of_dose, solved
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import MiteCourse, MiteReach
from ipmcal.biology.mites.harm import weights
from ipmcal.biology.mites.run import Trace


@dataclass(frozen=True, slots=True)
class MiteStretch:
    """From x mites at noon of one day: ``a * x + b`` at noon of another, and harm of ``c * x + d`` bee-days between."""

    a: float
    b: float
    c: float = 0.0
    d: float = 0.0

    def then(self, later: MiteStretch) -> MiteStretch:
        """This stretch and the one that begins where it ends."""
        return MiteStretch(
            later.a * self.a,
            later.a * self.b + later.b,
            self.c + later.c * self.a,
            self.d + later.d + later.c * self.b,
        )

    def mites(self, x: float) -> float:
        """Mites at its end."""
        return self.a * x + self.b

    def harm(self, x: float) -> float:
        """Bee-days of harm within it, linear in mites."""
        return self.c * x + self.d


@dataclass(frozen=True, slots=True)
class Untreated:
    """One untreated run, by day, index 0 being ordinal ``first``.

    ``growth[t]``: mites at noon of the next day from one at noon of day t, after what is done on it; ``came[t]``: mites
    that came in since noon before; ``on_bees[t]``: the share on bees at noon; ``harm[t]``: bee-days of harm that day by
    one mite at noon (after what is done); ``reared[t]``: bee-days of all cells capped that day; ``reads[t]``: mites a
    bee as a wash would read, of one mite in the colony. The last day of ``growth`` and ``came`` has no meaning.
    """

    first: int
    growth: list[float]
    came: list[float]
    on_bees: list[float]
    harm: list[float]
    reared: list[float]
    reads: list[float]
    sums: Sums

    @property
    def last(self) -> int:
        """Its last day (ordinal)."""
        return self.first + len(self.on_bees) - 1

    def between(self, start: int, end: int) -> MiteStretch:
        """From noon of ``start``, after what is done on it, to noon of ``end``, before; harm of days before ``end``.

        Raises ValueError unless first <= start <= end <= last.
        """
        if not self.first <= start <= end <= self.last:
            raise ValueError(f"{start} to {end} does not lie within {self.first} to {self.last}")
        return self.sums.between(start - self.first, end - self.first)


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums since the first day: mites from one mite and none, and the harm of both, before each day's noon."""

    one: list[float]
    none: list[float]
    harm_of_one: list[float]
    harm_of_none: list[float]

    def between(self, s: int, e: int) -> MiteStretch:
        """The stretch between two indices."""
        a = self.one[e] / self.one[s]
        c = (self.harm_of_one[e] - self.harm_of_one[s]) / self.one[s]
        d = self.harm_of_none[e] - self.harm_of_none[s] - c * self.none[s]
        return MiteStretch(a, self.none[e] - a * self.none[s], c, d)


def untreated(colony: ColonyDays, trace: Trace, coming: float, figures: MiteFigures) -> Untreated:
    """What the search needs of an untreated run; ``coming`` is what the run had come in, mites a day."""
    at, days = trace.first - colony.first, len(trace.all)
    came = [0.0, *(coming * is_open for is_open in colony.open_to_others[at + 1 : at + days])]
    growth = [(after - new) / now for now, after, new in zip(trace.all, trace.all[1:], came[1:], strict=False)]
    growth.append(1.0)
    span = (trace.first, trace.first + days - 1)
    weight = weights(colony, figures.lives, span)
    harm = [w * m / x for w, m, x in zip(weight, trace.entered, trace.all, strict=True)]
    wash = figures.weighing.wash_reads
    shares = [loose / x for loose, x in zip(trace.on_bees, trace.all, strict=True)]
    reads = [
        share * (wash if brood else 1.0) / bees
        for share, brood, bees in zip(shares, colony.brood[at:], colony.bees[at:], strict=False)
    ]
    reared = [w * c for w, c in zip(weight, colony.worker_cells[at:], strict=False)]
    return Untreated(trace.first, growth, came, shares, harm, reared, reads, _sums(growth, came, harm))


def _sums(growth: list[float], came: list[float], harm: list[float]) -> Sums:
    one, none = [1.0], [0.0]
    for g, new in zip(growth, came[1:], strict=False):
        one.append(one[-1] * g)
        none.append(none[-1] * g + new)
    of_one = accumulate((h * x for h, x in zip(harm, one, strict=True)), initial=0.0)
    of_none = accumulate((h * x for h, x in zip(harm, none, strict=True)), initial=0.0)
    return Sums(one, none, list(of_one)[:-1], list(of_none)[:-1])


def works(run: Untreated, course: MiteCourse, kill: float, figures: MiteFigures) -> MiteStretch:
    """A course as a map: from noon of its first day, before it, to noon of its last day, after it.

    The last day is ``first`` for a dose, the fifth (as the rules have it) where cells are reached, else ``first`` +
    ``days`` - 1. Raises ValueError where the run does not hold it.
    """
    whole = MiteStretch(1.0, 0.0)
    day = course.first
    for then, kept in kept_by_day(run, course, kill, figures).items():
        whole = whole.then(run.between(day, then)).then(MiteStretch(kept, 0.0))
        day = then
    return whole


def kept_by_day(run: Untreated, course: MiteCourse, kill: float, figures: MiteFigures) -> dict[int, float]:
    """The share of all mites that a course leaves, by day, with the share on bees of the untreated run."""
    if course.reach is MiteReach.CELLS:
        return kept_of_dose(course.first, kill, figures.acting.in_cells_by_day)
    days = 1 if course.reach is MiteReach.DOSE else course.days
    at = course.first - run.first
    shares = run.on_bees[at : at + days]
    if course.reach is MiteReach.DOSE:
        daily = kill
    else:

        def left(hazard: float) -> float:
            """Of all that the course meets, what is left the day after its last: killed and left are all."""
            mites, killed = 1.0, 0.0
            for share, growth in zip(shares, run.growth[at : at + days], strict=True):
                killed += mites * hazard * share
                mites *= (1 - hazard * share) * growth
            return mites / (mites + killed)

        daily = solved(left, 1 - kill, figures.acting.most_a_day, days) if kill > 0 else 0.0
    return {course.first + t: 1 - daily * share for t, share in enumerate(shares)}
