"""The pipeline on one page: an outfit and a rulebook become a plan.

In: what was read, and ``as_of``. Out: a ``Plan``. Pure: no files, no clock, no randomness.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import causes_words
from ipmcal.model.plan.plan import Conflict, Plan, Refusal, YardWorth
from ipmcal.model.plan.tasks import Status, Task
from ipmcal.model.plan.views import Choosing, CourseView, YardCall, YardView
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import full_day
from ipmcal.planning.choose.asked import failed
from ipmcal.planning.choose.told import choosing
from ipmcal.planning.decide.tally import lines_asked
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.pack.pack import Memo
from ipmcal.planning.ready import by_subject, ready, warned_of
from ipmcal.planning.recall.courses import Course, renamed
from ipmcal.planning.recall.roster import roster
from ipmcal.planning.recall.situate import keeper_days, season_of
from ipmcal.planning.rounds import YardRound, go_round
from ipmcal.planning.settle.calls import course_views, yard_call
from ipmcal.planning.settle.conflicts import in_hive
from ipmcal.planning.settle.drives import drives, groups
from ipmcal.planning.settle.settle import Settled, settle, told_of
from ipmcal.planning.settle.views import yard_view
from ipmcal.planning.yearly.remembered import NOTHING_KEPT, KeptYears

__all__ = ["keeper_days", "make_plan", "season_of"]


@dataclass(frozen=True, slots=True)
class _Part:
    """One yard's part of the plan; ``views`` are one a season."""

    views: tuple[YardView, ...]
    settled: Settled
    conflicts: tuple[Conflict, ...]
    refusals: tuple[Refusal, ...]
    calls: tuple[YardCall, ...]
    courses: tuple[CourseView, ...]
    worth: YardWorth
    choosing: tuple[Choosing, ...]


@dataclass(frozen=True)
class Scope:
    """How much is asked for. ``only``: no yard is planned but that one and those on its drive. ``explain``: it says too
    which courses came second, and what excluded the rest. ``kept``: what runs before worked out with the same rules.
    """

    only: str | None = None
    explain: bool = False
    kept: KeptYears = NOTHING_KEPT


EVERYTHING = Scope()


def make_plan(
    outfit: Outfit,
    book: Rulebook,
    as_of: int,
    season: int | None = None,
    tell: Callable[[str], None] = lambda yard: None,
    scope: Scope = EVERYTHING,
) -> Plan:
    """The plan of an outfit on the morning of ``as_of``, for the season named by the year it begins in.

    Without ``season``: the one that holds ``as_of``, the one before while its last tasks may still be done, and the
    next where little of it is left. ``tell`` is called with each yard's name as its turn comes. Raises
    ``place.season.TooFar`` for a yard too far from its region's reference.
    """
    if outfit.products and outfit.journal:
        outfit = replace(outfit, journal=tuple(renamed(event, outfit, book) for event in outfit.journal))
    about = by_subject(outfit.past)
    every = roster(outfit, book, as_of).yards
    wanted = [group for group in groups(every) if scope.only in (None, *(yard.key for yard in group))]
    yards = [yard for yard in every if any(yard in group for group in wanted)]
    memo: Memo = {}
    parts: dict[str, _Part] = {}
    for group in wanted:
        for yard in group:
            tell(yard.name)
        there = [ready(yard, about, outfit, book, as_of, season) for yard in group]
        for made in go_round(there, outfit, memo, scope.kept):
            parts[made.ground.yard.key] = _settled(made, explain=scope.explain)
    return _whole(outfit, book, as_of, [parts[yard.key] for yard in yards])


def _settled(made: YardRound, *, explain: bool) -> _Part:
    ground, paths, had = made.ground, made.fitted.paths, made.seasons[0].courses
    warned, closed = warned_of(made.seasons[0]), made.seasons[0].closed
    settled = settle(ground, made.noted(), paths, made.fitted.overlong, made.paths, had)
    settled = replace(settled, tasks=tuple(t for t in settled.tasks if _asked_for(t, made.outfit, ground, had)))
    dead = {t.colony for t in settled.tasks if t.status is Status.PLANNED and t.colony is not None}
    calls = (yard_call(one.ground, one.decision, one.decided, one.courses) for one in made.seasons)
    there = {task.id for task in settled.tasks}
    return _Part(
        views=tuple(yard_view(one.ground, one.states, made.fitted.moved, warned, dead) for one in made.seasons),
        settled=settled,
        conflicts=(*told_of(made.told(), there), *in_hive(ground, warned), *closed, *settled.conflicts),
        # a season that ends offers nothing any more
        refusals=(*made.unfolded[-1].refusals, *failed(made.seasons[-1])),
        calls=tuple(call for call in calls if call is not None),
        courses=tuple(course_views(ground, had)),
        choosing=tuple(_chosen(made, settled, explain=explain)),
        worth=YardWorth(ground.yard.key, len(settled.visits), made.least, made.spared),
    )


def _chosen(made: YardRound, settled: Settled, *, explain: bool) -> Iterator[Choosing]:
    """What was chosen for each season, with the day on which each course begins."""
    days, paths = made.ground.days.ordinals, made.fitted.paths
    for one, courses, some in zip(made.seasons, made.treated, made.unfolded, strict=True):
        firsts = ((errand, paths[errand.key][0]) for errand in some.errands if paths.get(errand.key))
        begun = {errand.unmarked: days[errand.chain.nodes[node].at] for errand, node in firsts}
        uses = settled.of_season(one.ground.season.year)
        chosen = choosing(one, courses, uses, begun, explain=explain)
        if chosen is not None:
            yield chosen


def _asked_for(task: Task, outfit: Outfit, ground: Ground, had: Mapping[str, Sequence[Course]]) -> bool:
    """False for a look of which nobody knows and on which nothing hangs any more: of the time before the first plan,
    where no journal was kept, or while strips lay on the combs. Treatments, counts and what has to come out of a hive
    are asked for.
    """
    rule = ground.book.events[task.logs]
    if task.status is not Status.UNKNOWN or rule.value in ("count", "treatment") or task.window.hard_stop is not None:
        return True
    since = ground.as_of if outfit.since is None else outfit.since
    before = outfit.journal is None and task.window.closes < since
    return not before and not _lay_shut(task, ground.book, had.get(task.colony or "", ()))


def _lay_shut(task: Task, book: Rulebook, had: Sequence[Course]) -> bool:
    """Whether something lay on the bars in the time of a task that lifts combs of the nest: it had to wait."""
    if task.logs not in book.planning.nest_work:
        return False
    known = {name for name, one in book.treatments.items() if one.lies is not None and one.lies.value == "on_bars"}
    lay = (c for c in had if c.product in known)  # of what is not in the rules nobody knows where it lies
    return any(c.began <= task.window.closes and task.window.opens <= (c.ended or task.window.opens) for c in lay)


def _whole(outfit: Outfit, book: Rulebook, as_of: int, parts: Sequence[_Part]) -> Plan:
    views = [view for part in parts for view in part.views]
    walk = {(view.key, c.key): i for view in views for i, c in enumerate(view.colonies)}
    tasks = [task for part in parts for task in part.settled.tasks]
    visits = sorted((v for p in parts for v in p.settled.visits), key=lambda v: (v.day, v.yard))
    return Plan(
        outfit=outfit.id,
        outfit_name=outfit.name,
        as_of=as_of,
        yards=tuple(views),
        tasks=tuple(sorted(tasks, key=lambda t: (_day(t), t.yard, walk.get((t.yard, t.colony or ""), -1), t.id))),
        visits=tuple(visits),
        conflicts=tuple(c for p in parts for c in p.conflicts),
        refusals=tuple(r for p in parts for r in p.refusals),
        notes=causes_words([*_notes(outfit, tasks, as_of), *(note for p in parts for note in _waiting(p))]),
        rules_checked=tuple(_checked(book, key, as_of) for key in _used(outfit, tasks, book)),
        calls=tuple(call for p in parts for call in p.calls),
        courses=tuple(c for p in parts for c in p.courses),
        lying=tuple(one for p in parts for one in p.settled.lying),
        worth=tuple(p.worth for p in parts),
        choosing=tuple(one for p in parts for one in p.choosing),
        drives=tuple(drives(outfit.yards, views, visits, book.planning.cautions["between_yards"])),
    )


def _day(task: Task) -> int:
    return next(day for day in (task.planned, task.done, task.window.best) if day is not None)


def _waiting(part: _Part) -> Iterator[Because]:
    """What waits for a course: nothing is wrong with it, and it should be known."""
    for (title, day, why), hives in part.settled.waiting.items():
        yield Because(Code.WAITS, (part.views[0].key, tuple(dict.fromkeys(hives)), title, day, why))


def _notes(outfit: Outfit, tasks: Sequence[Task], as_of: int) -> Iterator[Because]:
    since = as_of if outfit.since is None else outfit.since
    if outfit.journal is None and any(task.status is Status.UNKNOWN and task.window.closes < since for task in tasks):
        yield Because(Code.NOTHING_KNOWN, (since,))
    silent = sum(task.status is Status.ASSUMED for task in tasks)
    if silent:
        yield Because(Code.NOT_HEARD_OF, (silent, as_of))
    later = sum(event.day > as_of for event in outfit.past)
    if later:
        yield Because(Code.LINES_TO_COME, (later, as_of))


def _used(outfit: Outfit, tasks: Sequence[Task], book: Rulebook) -> list[str]:
    """The rule files that this plan rests on, by key."""
    keys = {"biology", "hives", "marks", "planning", *(f"methods/{task.method}" for task in tasks)}
    used = {task.method.rstrip("_0123456789") for task in tasks} | {task.method for task in tasks}
    keys |= {f"treatments/{name}" for name in book.treatments if name in used}
    for yard in outfit.yards:
        keys |= {f"regions/{yard.region}", f"jurisdictions/{yard.jurisdiction}", f"programs/{yard.program}"}
        keys |= {
            "counting",
            *(f"thresholds/{name}" for name in lines_asked(book.regions[yard.region], yard.jurisdiction, book)),
        }
    return sorted(keys & set(book.files))


def _checked(book: Rulebook, key: str, as_of: int) -> str:
    checked = book.files[key].checked.toordinal()
    old = as_of - checked > book.planning.review_after.value.middle
    return f"{full_day(checked)} {key}" + (" (not checked for long: check your label)" if old else "")
