"""What a course does to mites by day: a handling that the daily run takes.

In: a course, its kill in this draw, the colony in which it lies. Out: shares kept, by day. A contact product is a daily
hazard on bees, solved so that its kill over its days, in this colony at this time, is its efficacy; where mites in
cells make that more than any hazard does, the highest hazard of the rules is taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Mapping, Sequence
from types import MappingProxyType

from ipmcal.biology.mites.colony import ColonyDays
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.handling import UNHANDLED, Handling, MiteCourse, MiteReach
from ipmcal.biology.mites.run import Begin, run

_STEPS = 30
"""Steps of the search for a hazard, at most; six are usual."""
_NONE = 1e-300
"""What is left of mites where it is too little for a number: it still has a logarithm."""
_NEAR = 1e-6
"""How near the logarithm of the kill has to come to what is asked."""


def handled(
    handling: Handling,
    courses: Sequence[MiteCourse],
    figures: MiteFigures,
    colony: ColonyDays,
    draw: Draw,
    known: Mapping[MiteCourse, float] = MappingProxyType({}),
) -> Handling:
    """A handling with courses added, each with its kill in this draw; ``known`` are hazards that were solved for.

    Courses, or what is left of them, that lie outside the colony's days do nothing.
    """
    for course in courses:
        kill = draw.kill(course.low, course.high, course.luck)
        if course.reach is MiteReach.CELLS:
            kept = kept_of_dose(course.first, kill, figures.acting.in_cells_by_day)
            handling = handling.with_kept(kept, kept)
        elif course.reach is MiteReach.DOSE:
            handling = handling.with_kept({course.first: 1 - kill})
        else:
            daily = known[course] if course in known else hazard(course, kill, figures, colony, draw)
            days = range(course.first, course.first + course.days)
            handling = handling.with_kept(dict.fromkeys(days, 1 - daily))
    return handling


def kept_of_dose(first: int, kill: float, shares: Sequence[float]) -> dict[int, float]:
    """Shares kept on the days from ``first`` on, ``shares`` being those of the logarithm of the whole kill.

    >>> {day: round(kept, 3) for day, kept in kept_of_dose(10, 0.75, [0.5, 0.5]).items()}
    {10: 0.5, 11: 0.5}
    """
    total = math.log1p(-kill) / sum(shares)
    return {first + t: math.exp(share * total) for t, share in enumerate(shares)}


def hazard(course: MiteCourse, kill: float, figures: MiteFigures, colony: ColonyDays, draw: Draw) -> float:
    """The share of mites on bees that a contact product kills each day, so that it kills ``kill`` of all that it meets.

    As trials reckon it (European Medicines Agency, EMA/CVMP/EWP/459883/2008; Dietemann and others 2013, section 4.5.4):
    killed in its days, over those and what lives on the day after its last, which a second product tells. No mite comes
    in. Nothing where the colony has not all its days.
    """
    begin = Begin(course.first, 1.0, course.first + course.days)
    if not is_felt(course, kill, colony):
        return 0.0

    def left(daily: float) -> float:
        days = dict.fromkeys(range(begin.day, begin.last), 1 - daily)
        trace = run(figures.nest, colony, draw.lives, begin, 0.0, UNHANDLED.with_kept(days))
        return trace.all[-1] / (trace.all[-1] + trace.books.killed)

    return solved(left, 1 - kill, figures.acting.most_a_day, course.days)


def is_felt(course: MiteCourse, kill: float, colony: ColonyDays) -> bool:
    """Whether a contact product kills anything, and the colony has all its days and the one after."""
    return kill > 0 and colony.runs_from <= course.first <= course.first + course.days <= colony.last


def solved(left: Callable[[float], float], wanted: float, most: float, days: int) -> float:
    """The daily hazard, 0 to ``most``, at which ``left(hazard)``, a falling function, is ``wanted`` (0 to 1)."""
    search = solving(wanted, most, days)
    tried = next(search)
    while True:
        try:
            tried = search.send(left(tried))
        except StopIteration as found:
            return float(found.value)


def solving(wanted: float, most: float, days: int) -> Generator[float, float, float]:
    """The search of ``solved``, for whoever has many of them: yields hazards, is sent what each of them leaves.

    By regula falsi on logarithms (the Illinois form), from above and below: a day's share that lives, as often as there
    are days, is nearly all that lives, so that the logarithms lie nearly on a line.
    """
    target = math.log(wanted)
    low, at_low = 0.0, -target
    high, at_high = _log(1 - most), _log((yield most)) - target
    if at_high >= 0:
        return most
    guess, moved = max(target * 2 / days, high), 0.0  # half of the mites on bees, as a first guess
    for _ in range(_STEPS):
        off = _log((yield -math.expm1(guess))) - target
        if abs(off) < _NEAR:
            break
        # where the same end moves twice, the other has stood too long
        if off > 0:
            low, at_low, at_high = guess, off, at_high / 2 if moved > 0 else at_high
        else:
            high, at_high, at_low = guess, off, at_low / 2 if moved < 0 else at_low
        moved = off
        guess = low + (high - low) * at_low / (at_low - at_high)
    return -math.expm1(guess)


def _log(share: float) -> float:
    """The logarithm of what is left; where rounding leaves nothing, or less, of the smallest share there is."""
    return math.log(max(share, _NONE))
