"""The pipeline on one page: an outfit and a rulebook become a plan.

In: what was read, and ``as_of``. Out: a ``Plan``. Pure: no files, no clock, no randomness.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.plan import Conflict, Plan, Refusal, YardWorth
from ipmcal.model.plan.tasks import Task, Visit
from ipmcal.model.plan.views import Choosing, CourseView, YardCall, YardView
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.words import counted, short_day
from ipmcal.planning.choose.told import choosing
from ipmcal.planning.choose.treat import ROUNDS, Treated, breaking, broken, treat
from ipmcal.planning.pack.hours import Fitted, fit
from ipmcal.planning.pack.pack import Memo, Placing, pack_drives
from ipmcal.planning.ready import Ready, by_subject, ready
from ipmcal.planning.recall.courses import renamed
from ipmcal.planning.recall.roster import roster
from ipmcal.planning.recall.situate import keeper_days, season_of
from ipmcal.planning.settle.calls import course_views, yard_call
from ipmcal.planning.settle.drives import drives, groups
from ipmcal.planning.settle.settle import settle
from ipmcal.planning.settle.views import yard_view
from ipmcal.planning.unfold.apart import Quiet, disturbed, kept_apart
from ipmcal.planning.unfold.unfold import Unfolded, unfold

__all__ = ["keeper_days", "make_plan", "season_of"]


@dataclass(frozen=True, slots=True)
class _Part:
    """One yard's part of the plan."""

    view: YardView
    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    conflicts: tuple[Conflict, ...]
    refusals: tuple[Refusal, ...]
    call: YardCall | None
    courses: tuple[CourseView, ...]
    worth: YardWorth
    choosing: Choosing | None


def make_plan(
    outfit: Outfit,
    book: Rulebook,
    as_of: int,
    season: int | None = None,
    tell: Callable[[str], None] = lambda yard: None,
    only: str | None = None,
    explain: bool = False,
) -> Plan:
    """The plan of an outfit on the morning of ``as_of``, for the season named by the year it begins in.

    Without ``season``: the one that holds ``as_of``, or the next where little of it is left. ``tell`` is called with
    each yard's name as its turn comes; with ``only``, no yard is planned but that one and those on its drive. Raises
    ``place.season.TooFar`` for a yard too far from its region's reference. With ``explain`` it says too which courses
    came second, and what excluded the rest.
    """
    if outfit.products and outfit.journal:
        outfit = replace(outfit, journal=tuple(renamed(event, outfit, book) for event in outfit.journal))
    about = by_subject(outfit.journal or ())
    every = roster(outfit, book, as_of).yards
    wanted = [group for group in groups(every) if only in (None, *(yard.key for yard in group))]
    yards = [yard for yard in every if any(yard in group for group in wanted)]
    memo: Memo = {}
    parts: dict[str, _Part] = {}
    for group in wanted:
        for yard in group:
            tell(yard.name)
        there = [ready(yard, about, outfit, book, as_of, season) for yard in group]
        parts.update(_placed(there, outfit, memo, explain=explain))
    return _whole(outfit, book, as_of, [parts[yard.key] for yard in yards])


def _placed(group: Sequence[Ready], outfit: Outfit, memo: Memo, *, explain: bool) -> Iterator[tuple[str, _Part]]:
    """Choose, unfold, pack and settle the yards of one drive.

    The one loop of the house: where a label's limits break on the days that packing chose, that day is banned, and
    where other work falls into a course's quiet days, the hive is shut on them; all goes round again. Bans only grow;
    after ``ROUNDS`` what still breaks is a conflict.
    """
    bans: list[dict[tuple[str, int], str]] = [{} for _ in group]
    quiet: list[dict[str, Quiet]] = [{} for _ in group]
    known: dict[tuple[int, int], Treated] = {}  # by the yard and how many bans it has: they only grow
    for last in (*[False] * (ROUNDS - 1), True):
        for i, (one, banned) in enumerate(zip(group, bans, strict=True)):
            if (i, len(banned)) not in known:
                known[i, len(banned)] = treat(one, outfit, banned)
        treated = [known[i, len(banned)] for i, banned in enumerate(bans)]
        unfolded = [_unfolded(*three) for three in zip(group, treated, quiet, strict=True)]
        strands = [[errand.strand for errand in some.errands if errand.chain.nodes] for some in unfolded]
        packed = pack_drives(list(zip(strands, [one.ground.days for one in group], strict=True)), memo=memo)
        fitted = [
            fit(one.ground, some.errands, placing.paths)
            for one, some, placing in zip(group, unfolded, packed.placings, strict=True)
        ]
        breaches = [
            broken(one, courses, some.errands, fits.paths, banned)
            for one, courses, some, fits, banned in zip(group, treated, unfolded, fitted, bans, strict=True)
        ]
        unrest = [
            disturbed(one.ground, some.errands, fits.paths)
            for one, some, fits in zip(group, unfolded, fitted, strict=True)
        ]
        if last or not (any(breaches) or any(unrest)):
            break
        for banned, found, shut, opened in zip(bans, breaches, quiet, unrest, strict=True):
            banned.update(found)
            shut.update((key, shut[key].with_more(more) if key in shut else more) for key, more in opened.items())
    for one, courses, some, placing, fits, found, opened in zip(
        group, treated, unfolded, packed.placings, fitted, breaches, unrest, strict=True
    ):
        told = (*courses.conflicts, *breaking(one, found), *(c for more in opened.values() for c in more.told))
        yield one.ground.yard.key, _settled(one, courses, some, placing, fits, told, explain=explain)


def _unfolded(one: Ready, courses: Treated, quiet: Mapping[str, Quiet]) -> Unfolded:
    keys = {*one.under_way, *courses.errands}
    treatments = {key: (*one.under_way.get(key, ()), *courses.errands.get(key, ())) for key in keys}
    made = unfold(one.ground, one.states, one.asks, treatments)
    return replace(made, errands=kept_apart(one.ground, made.errands, courses.off_by, quiet))


def _settled(
    one: Ready,
    courses: Treated,
    unfolded: Unfolded,
    placing: Placing,
    fitted: Fitted,
    told: Sequence[Conflict],
    *,
    explain: bool,
) -> _Part:
    ground = one.ground
    settled = settle(ground, unfolded.errands, fitted.paths, fitted.overlong)
    over = sum(ground.days.ordinals[at] < ground.as_of for at in placing.visits)  # done, where there is no journal
    return _Part(
        view=yard_view(ground, one.states, fitted.moved),
        tasks=settled.tasks,
        visits=settled.visits,
        conflicts=(*told, *settled.conflicts),
        refusals=unfolded.refusals,
        call=yard_call(ground, one.decision, one.decided, one.courses),
        courses=tuple(course_views(ground, one.courses)),
        choosing=choosing(one, courses.ask, courses.made, settled.uses, explain=explain),
        worth=YardWorth(ground.yard.key, len(settled.visits), max(0, placing.lower_bound - over)),
    )


def _whole(outfit: Outfit, book: Rulebook, as_of: int, parts: Sequence[_Part]) -> Plan:
    walk = {(p.view.key, c.key): i for p in parts for i, c in enumerate(p.view.colonies)}
    tasks = [task for part in parts for task in part.tasks]
    visits = sorted((v for p in parts for v in p.visits), key=lambda v: (v.day, v.yard))
    return Plan(
        outfit=outfit.id,
        outfit_name=outfit.name,
        as_of=as_of,
        yards=tuple(p.view for p in parts),
        tasks=tuple(sorted(tasks, key=lambda t: (_day(t), t.yard, walk.get((t.yard, t.colony or ""), -1), t.id))),
        visits=tuple(visits),
        conflicts=tuple(c for p in parts for c in p.conflicts),
        refusals=tuple(r for p in parts for r in p.refusals),
        notes=tuple(_notes(outfit, tasks, as_of)),
        rules_checked=tuple(_checked(book, key, as_of) for key in _used(outfit, tasks, book)),
        calls=tuple(p.call for p in parts if p.call is not None),
        courses=tuple(c for p in parts for c in p.courses),
        worth=tuple(p.worth for p in parts),
        choosing=tuple(p.choosing for p in parts if p.choosing is not None),
        drives=tuple(drives(outfit.yards, [p.view for p in parts], visits, book.planning.cautions["between_yards"])),
    )


def _day(task: Task) -> int:
    return next(day for day in (task.planned, task.done, task.window.best) if day is not None)


def _notes(outfit: Outfit, tasks: Sequence[Task], as_of: int) -> Iterator[str]:
    if outfit.journal is None and any(task.done is not None for task in tasks):
        yield f"There is no journal: what was due before {short_day(as_of)} is taken as done as planned."
    later = sum(event.day > as_of for event in outfit.journal or ())
    if later:
        yield f"Left out of the journal: {counted(later, 'line')} of days after {short_day(as_of)}."


def _used(outfit: Outfit, tasks: Sequence[Task], book: Rulebook) -> list[str]:
    """The rule files that this plan rests on, by key."""
    keys = {"biology", "hives", "marks", "planning", *(f"methods/{task.method}" for task in tasks)}
    used = {task.method.rstrip("_0123456789") for task in tasks} | {task.method for task in tasks}
    keys |= {f"treatments/{name}" for name in book.treatments if name in used}
    for yard in outfit.yards:
        keys |= {f"regions/{yard.region}", f"jurisdictions/{yard.jurisdiction}", f"programs/{yard.program}"}
        keys |= {"counting", *(f"thresholds/{name}" for name in book.jurisdictions[yard.jurisdiction].thresholds)}
    return sorted(keys & set(book.files))


def _checked(book: Rulebook, key: str, as_of: int) -> str:
    checked = book.files[key].checked.toordinal()
    old = as_of - checked > book.planning.review_after.value.middle
    return f"{date.fromordinal(checked).isoformat()} {key}" + (
        " (not checked for long: check your label)" if old else ""
    )
