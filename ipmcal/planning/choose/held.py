"""Held: the limits of labels against the days that packing chose.

In: the courses of a yard, its errands as placed. Out: the courses on their real days, those whose limits break, with
words. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.altered import altered
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.plan import Conflict
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.labels import applications, last_step
from ipmcal.planning.choose.asked import END_SOON, Bans, until_out
from ipmcal.planning.choose.offer import excludes
from ipmcal.planning.choose.treat import Treated
from ipmcal.planning.labels.of_courses import too_near
from ipmcal.planning.labels.standing import CourseSpell, Standing
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.placed import cagings_as_placed, out_as_placed, supers_as_placed
from ipmcal.planning.owed.prescribed import prescribed
from ipmcal.planning.ready import Ready


@dataclass(frozen=True, slots=True)
class Laid:
    """A course of a hive on the days that packing chose, and the hive as it stands then; ``use`` None: cut short."""

    hive: str
    errand: Errand
    standing: Standing
    use: Use | None


def as_placed(
    one: Ready, treated: Treated, errands: Iterable[Errand], paths: Mapping[str, Sequence[int]]
) -> Iterator[Laid]:
    """The courses to come on the days really planned, with the real days of supers, other work and other courses."""
    if treated.ask is None or not treated.errands:
        return
    by_hive: dict[str, list[Errand]] = {}
    for errand in errands:
        if errand.colony is not None and errand.key in paths:
            by_hive.setdefault(errand.colony.colony.key, []).append(errand)
    for hive in treated.ask.hives:
        mine, here = {errand.key for errand in treated.errands.get(hive.key, ())}, by_hive.get(hive.key, ())
        # Those that were packed: their days were narrowed, and their nodes numbered anew, after they were chosen.
        packed = (e for e in here if e.unmarked in mine and paths[e.key])
        uses = {e.key: (e, _use(one, e, paths)) for e in packed}
        if not uses:
            continue
        out = out_as_placed(one.ground, here, paths).get(hive.key, {})
        had = until_out(hive.standing.courses, out, one.ground.as_of)
        supers = supers_as_placed(one.ground, hive.key, hive.standing.supers, here, paths)
        cagings = cagings_as_placed(one.ground, hive.key, hive.standing.cagings, here, paths)
        placed = altered(hive.standing, supers=supers, courses=had, cagings=cagings)
        days = {e.key: _days(one, e, paths) for e in here}
        for errand, use in uses.values():
            others = [(e, at) for e, at in uses.values() if e is not errand and at is not None]
            opened = {d for e in here if e.key != errand.key for d in days[e.key]}
            opened -= set(use.applications) if use is not None else set()
            standing = altered(placed, openings=tuple(sorted(opened)))
            yield Laid(hive.key, errand, standing.with_course(*(_past(one, e, at) for e, at in others)), use)


def broken(
    one: Ready, treated: Treated, errands: Iterable[Errand], paths: Mapping[str, Sequence[int]], bans: Bans
) -> dict[tuple[str, int], str]:
    """Courses whose limits break on the days really planned: treatment and first day, with the limits' words.

    Where it has not been tried yet to end the course sooner, that comes before another day to begin.
    Other work in the hive on its quiet days counts, and the real days of supers, renewals and other courses.
    ``errands`` are those of the season of ``treated``, as placed: paths run through their chains.
    """
    found: dict[tuple[str, int], str] = {}
    for laid in as_placed(one, treated, errands, paths):
        if laid.use is None or treated.ask is None:
            continue
        errand = laid.errand
        words = _breach(treated, errand, laid.standing, laid.use)
        if words:
            soon = (errand.course, END_SOON)
            again = soon in bans or len(errand.chain.steps) == 1
            found[(errand.course, laid.use.first) if again else soon] = words
    return found


def _breach(treated: Treated, errand: Errand, standing: Standing, use: Use) -> str:
    ask = treated.ask
    assert ask is not None
    made = ask.verdict_on(errand.course, standing, use)
    near = too_near(errand.course, use, standing.courses, ask.book)
    # A day is not given up for other work: the hive stays shut for it (unfold/quiet.py), or that is told.
    against = [
        r
        for r in (*made.reasons, *near)
        if (r.weight is Weight.FORBIDS and not r.by_hand and r.limit != "quiet") or (r.limit == "queen" and excludes(r))
    ]
    return "; ".join(dict.fromkeys(f"{r.limit}: {r.says}" for r in against))


def _days(one: Ready, errand: Errand, paths: Mapping[str, Sequence[int]]) -> list[int]:
    return [one.ground.days.ordinals[errand.chain.nodes[node].at] for node in paths.get(errand.key, ())]


def _use(one: Ready, errand: Errand, paths: Mapping[str, Sequence[int]]) -> Use | None:
    """The days of a course as planned; None where it is none, or cut short."""
    known = prescribed(one.ground, errand.course, {}) if errand.course else None
    if known is None:
        return None
    given, end = set(applications(known.label, one.ground.book)), last_step(known.label, one.ground.book)
    steps = [errand.chain.steps[node][0] for node in paths.get(errand.key, ())]
    on = dict(zip(steps, _days(one, errand, paths), strict=True))
    days = tuple(day for step, day in on.items() if step in given)
    return Use(days, on[end]) if days and end in on else None


def _past(one: Ready, errand: Errand, use: Use) -> CourseSpell:
    return CourseSpell(errand.course, one.ground.book.treatments[errand.course].class_, use.first, use.last)


def breaking(one: Ready, breaches: Bans) -> Iterator[Conflict]:
    """Limits that break on the days of this plan: never worked around, always told."""
    for (name, day), words in breaches.items():
        title = one.ground.book.treatments[name].title
        what = Because(Code.LIMITS_BREAK_ON, (title, day, words))
        if day == END_SOON:
            what = Because(Code.LIMITS_BREAK, (title, words))
        yield Conflict(one.ground.yard.key, "", what, Because(Code.DO_NOT_TREAT))
