"""What a case may ask of mites through a year: growth, traps, doses; by the draw of usual values.

``at``: a region of the rules, or ``finland``. No mite comes in unless a case says so (``coming``, a day).
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from biology.mite_places import YEAR, figures, marks_at
from biology.mite_places import day as day_in
from handbook.registry import Given, ask

from ipmcal.biology.mites import draws
from ipmcal.biology.mites.colony import OVERWINTERED, Colony, History, colony
from ipmcal.biology.mites.courses import by_day, handled, hazard
from ipmcal.biology.mites.draws import Draw
from ipmcal.biology.mites.handling import NOTHING, Course, Handling, Reach, Trap
from ipmcal.biology.mites.run import Begin, Trace, run

YEARS = 6
MONTH = 365 / 12


def day(text: str | date) -> int:
    """A month and day of the cases' year, or a whole date."""
    return text.toordinal() if isinstance(text, date) else day_in(text)


def draw_at(given: Given) -> Draw:
    return draws.usual(figures(), marks_at(given["at"]).rarely_broodless)


def colony_at(given: Given, history: History = OVERWINTERED) -> Colony:
    days = (day("01-01"), day_in("12-31", YEAR + YEARS - 1))
    return colony(marks_at(given["at"]), history, figures(), draw_at(given), days)


def mites(given: Given, handling: Handling = NOTHING) -> Trace:
    """From ``start`` mites (100) on ``from`` (1 January) to ``to``."""
    begin = Begin(day(given.get("from", "01-01")), given.get("start", 100), day(given.get("to", "12-31")))
    return run(figures().nest, colony_at(given), draw_at(given).lives, begin, given.get("coming", 0.0), handling)


# Growth ---------------------------------------------------------------------------------------------------------------


@ask
def mites_grow(given: Given) -> float:
    """How many times as many."""
    trace = mites(given)
    return trace.all[-1] / trace.all[0]


@ask
def mites_grow_from_most_to_most(given: Given) -> float:
    """From the most of one year to the most of the next."""
    trace = mites({**given, "to": date(YEAR + 1, 12, 31)})
    return max(trace.all[365:]) / max(trace.all[:365])


@ask
def mites_lost(given: Given) -> float:
    """Percent, from one day to another."""
    trace = mites(given)
    return 100 * (1 - trace.all[-1] / trace.all[0])


@ask
def mites_dead_of_all(given: Given) -> float:
    """Percent of the mites of the span that died: what a control of a trial counts."""
    books = mites(given).books
    return 100 * books.died / (books.died + books.alive)


@ask
def months_to_collapse(given: Given) -> float:
    """Months until there are as many mites as a colony is said to die of."""
    trace = mites({**given, "to": date(YEAR + YEARS - 1, 12, 31)})
    return next(t for t, x in enumerate(trace.all) if x >= given["mites"]) / MONTH


@ask
def days_to_make_good(given: Given) -> int:
    """Days until a kill of ``kills`` percent is made good."""
    trace = mites(given)
    return next(t for t, x in enumerate(trace.all) if x * (1 - given["kills"] / 100) >= trace.all[0])


@ask
def months_to_regrow(given: Given) -> float:
    """Months from one load to another, in mites on 100 bees as a wash reads them."""
    here, begin = colony_at(given), day(given["from"])
    at = begin - here.first
    factor = figures().weighing.wash_reads

    def wash(trace: Trace, t: int) -> float:
        return 100 * trace.on_bees[t] / here.bees[at + t] * (factor if here.brood[at + t] else 1.0)

    last = date(YEAR + 2, 12, 31)
    one = mites({**given, "start": 1, "to": last, "coming": 0})
    start = given["load"] / wash(one, 0)
    trace = mites({**given, "start": start, "to": last})
    return next(t for t in range(len(trace.all)) if wash(trace, t) >= given["reaches"]) / MONTH


@ask
def mites_in_all(given: Given) -> float:
    return mites(given).all[-1]


# Where they sit -------------------------------------------------------------------------------------------------------


@ask
def share_in_cells(given: Given) -> float:
    """Percent of all mites in capped cells, on a day."""
    trace = mites({**given, "to": given["day"]})
    return 100 * (1 - trace.on_bees[-1] / trace.all[-1])


def _with_brood_to_on_bees(given: Given) -> float:
    """How many times the density on bees is that on bees and capped brood together, in mites to 100 of each."""
    trace, here = mites({**given, "to": given["day"]}), colony_at(given)
    i = day(given["day"]) - here.first
    capped = sum(here.worker_cells[i - 11 : i + 1]) + sum(here.drone_cells[i - 13 : i + 1])
    return (trace.all[-1] / (here.bees[i] + capped)) / (trace.on_bees[-1] / here.bees[i])


@ask
def caught_by_drone_cells(given: Given) -> float:
    """Percent of mites on bees that enter so many drone cells a kg of bees, capped at once, with no other brood."""
    return 100 * -math.expm1(-figures().nest.enters_drone * given["cells_per_kg"] / 1000)


def _shares_in_drone_cells(given: Given) -> tuple[float, float]:
    """Of mites in cells and of all, those in drone cells that are ``drones`` percent of the capped cells."""
    draw = draw_at(given)
    laid = given["drones"] / 100 * figures().nest.worker_capped / figures().nest.drone_capped
    more = replace(draw, brood=replace(draw.brood, drones=laid))
    here = colony(marks_at(given["at"]), OVERWINTERED, figures(), more, (day("01-01"), day("12-31")))
    begin, last = Begin(day("01-01"), 100, day(given["day"])), day(given["day"])
    trap = NOTHING.with_traps([Trap(last - 23, last)])  # every drone cell that is capped on that day
    all_in = replace(more.lives, in_trap_comb=1.0)
    trace = run(figures().nest, here, all_in, begin, 0.0, trap)
    in_cells = trace.books.cut / (trace.books.cut + trace.books.alive)
    share_on_bees = trace.on_bees[-1] / trace.all[-1]
    return in_cells / (1 - share_on_bees), in_cells


@ask
def of_mites_in_cells_in_drone_cells(given: Given) -> float:
    return 100 * _shares_in_drone_cells(given)[0]


@ask
def of_all_mites_in_drone_cells(given: Given) -> float:
    return 100 * _shares_in_drone_cells(given)[1]


# Traps ----------------------------------------------------------------------------------------------------------------


def _combs(given: Given) -> Handling:
    """Combs laid in from ``first`` on, a new one ``every`` so many days, each cut at an ``age``, until ``last``."""
    first, last = day(given["first"]), day(given["last"])
    return NOTHING.with_traps(
        Trap(laid, laid + given["age"]) for laid in range(first, last - given["age"] + 1, given["every"])
    )


@ask
def without_to_with_traps(given: Given) -> float:
    """How many times as many mites there are without cutting as with it."""
    return mites(given).all[-1] / mites(given, _combs(given)).all[-1]


@ask
def mites_cut_out(given: Given) -> float:
    return mites(given, _combs(given)).books.cut


# Courses --------------------------------------------------------------------------------------------------------------


def _doses(given: Given) -> list[Course]:
    kills = given["kills"] / 100
    return [
        Course(Reach.DOSE, day(given["first"]) + i * given.get("every", 1), 1, kills, kills)
        for i in range(given.get("doses", 1))
    ]


def _killed(here: Colony, given: Given, handling: Handling, last: int) -> float:
    """Percent of mites of the span that are killed, as a trial counts it: dead of dead and living."""
    begin = Begin(day(given["first"]), 1000, last)
    books = run(figures().nest, here, draw_at(given).lives, begin, 0.0, handling).books
    dead = books.killed + (books.died if given.get("all_dead") else 0)
    return 100 * dead / (dead + books.alive)


@ask
def doses_kill(given: Given) -> float:
    """Percent of all mites, by doses that kill ``kills`` percent of those on bees."""
    here = colony_at(given)
    courses = _doses(given)
    handling = handled(NOTHING, courses, figures(), here, draw_at(given))
    return _killed(here, given, handling, courses[-1].first + 1)


def _caged(given: Given) -> tuple[Colony, int]:
    """The colony with its queen caged on ``first`` for ``caged`` days; the last day of the cage."""
    first = day(given["first"])
    return colony_at(given, History(pauses=((first, first + given["caged"]),))), first + given["caged"]


@ask
def cage_kills(given: Given) -> float:
    """Percent of mites that die while the queen is caged."""
    here, last = _caged(given)
    return _killed(here, {**given, "all_dead": True}, NOTHING, last)


@ask
def cage_and_dose_kill(given: Given) -> float:
    """Percent of mites that a dose on the last day of a cage kills, of those alive then."""
    here, last = _caged(given)
    kills = given["kills"] / 100
    handling = handled(NOTHING, [Course(Reach.DOSE, last, 1, kills, kills)], figures(), here, draw_at(given))
    trace = run(figures().nest, here, draw_at(given).lives, Begin(day(given["first"]), 1000, last), 0.0, handling)
    return 100 * trace.books.killed / trace.all[-1]


@ask
def cage_and_contact_kill(given: Given) -> float:
    """Percent of mites that die, by a cage and the daily hazard that kills ``kills`` percent without it."""
    kills, days = given["kills"] / 100, given["days"]
    course = Course(Reach.CONTACT, day(given["first"]), days, kills, kills)
    daily = hazard(course, kills, figures(), colony_at(given), draw_at(given))
    here, last = _caged(given)
    lies = dict.fromkeys(range(course.first, course.first + days), 1 - daily)
    return _killed(here, {**given, "all_dead": True}, NOTHING.with_kept(lies), max(last, course.first + days))


@ask
def killed_in_cells_by_formic_acid(given: Given) -> float:
    """Percent of the mites killed that sat in cells."""
    share = given["kills"] / 100
    first = day(given["first"])
    kept = by_day(first, share, figures().acting.in_cells_by_day)
    here, draw = colony_at(given), draw_at(given)
    begin = Begin(first, 1000, max(kept))
    both = run(figures().nest, here, draw.lives, begin, 0.0, NOTHING.with_kept(kept, kept))
    cells = sum(
        (1 - kept[first + t]) * (x - loose) for t, (x, loose) in enumerate(zip(both.all, both.on_bees, strict=True))
    )
    return 100 * cells / both.books.killed


@ask
def colony_to_wash(given: Given) -> float:
    """How many times what a wash reads is the density on bees and capped brood together."""
    return _with_brood_to_on_bees(given) / figures().weighing.wash_reads
