"""Apart: what may not fall into a course's days: other work in a hive (``quiet.py``), supers while it lasts; and what
belongs on one day: a caged queen is let out, and her hive treated.

In: a yard's errands, its courses. Out: errands that keep apart. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from ipmcal.model.plan.colony import Known
from ipmcal.model.rules.anchors import ASKED
from ipmcal.model.rules.labels import applications, last_step
from ipmcal.model.rules.methods import Step
from ipmcal.planning.days.chain import Ease, pruned
from ipmcal.planning.days.frame import Frame, opening_at
from ipmcal.planning.labels.standing import supers_shut
from ipmcal.planning.owed.cursors import DAYS_A_YEAR
from ipmcal.planning.owed.errand import NOTHING, Errand
from ipmcal.planning.owed.ground import Ground, effects_of
from ipmcal.planning.owed.off import method_of_supers_off
from ipmcal.planning.owed.prescribed import prescribed
from ipmcal.planning.unfold.quiet import Quiet, shut_for


def kept_apart(
    ground: Ground,
    errands: Iterable[Errand],
    off: tuple[Mapping[str, Known], Mapping[str, int]],
    quiet: Mapping[str, Quiet],
    before: Sequence[Errand] = (),
) -> tuple[Errand, ...]:
    """The errands without the days that a course of the same hive closes to them.

    ``off`` has by hive the day by which a course wants supers off that are not on yet, and that by which the next one
    wants them off that are back on by then; ``before`` what is owed of earlier
    seasons, whose courses close days of this one. What can't keep apart stays as it was, to be told about; supers that
    can't go on at all are left out.
    """
    off_by, again = off
    some = _off_once(ground, tuple(errands), off_by)
    if not any(errand.course for errand in (*before, *some)):
        return some
    blocks: dict[str, list[tuple[int, int]]] = {}
    for errand in (*before, *some):
        block = _block(ground, errand)
        if block is not None and errand.colony is not None:
            blocks.setdefault(errand.colony.colony.key, []).append(block)
    found = []
    for errand in some:
        hive = errand.colony.colony.key if errand.colony is not None else ""
        errand = _off_again(ground, errand, again.get(hive))
        logs = errand.frame.method.steps[errand.cursor.step].logs
        puts_on = ground.book.events[logs].effect == "supers_on" and errand.chain.nodes
        closed = blocks.get(hive, ())
        kept = _supers(ground, errand, closed, off_by.get(hive)) if puts_on else _back_after(ground, errand, closed)
        if kept is not None:
            found.append(shut_for(ground, kept, quiet[hive]) if hive in quiet else kept)
    return tuple(_with_release(ground, found))


def _off_once(ground: Ground, errands: Sequence[Errand], off_by: Mapping[str, Known]) -> tuple[Errand, ...]:
    """Supers come off once: early for a course, as the last step of the method that put them on, if it can be.

    So the task stays the same one whether they are on yet or not. Where they can't come off in its time, the course's
    own errand takes them off; what was done before stays done.
    """
    wanted = {e.key.partition("/")[0]: e for e in errands if e.method == ground.book.planning.supers_off_by}
    if not wanted:
        return tuple(errands)
    found: list[Errand] = []
    early: set[str] = set()
    for errand in errands:
        hive = errand.key.partition("/")[0]
        course, by = wanted.get(hive), off_by.get(hive)
        effects = effects_of(ground, errand.frame.method)
        takes_off = errand is not course and bool(errand.chain.nodes) and "supers_off" in effects.values()
        if course is None or by is None or not takes_off:
            found.append(errand)
            continue
        soon = errand if _off_anyway(ground, errand, by.day) else _off_in_time(ground, errand, by)
        if soon is errand:
            early.add(hive)
            found.append(errand)
        elif soon is not None:
            early.add(hive)
            found.append(replace(soon, advice=(*soon.advice, *course.advice)))
        elif effects[errand.cursor.step] != "supers_off":
            found.append(errand)
        elif errand.past:
            found.append(replace(errand, chain=NOTHING))
    return tuple(
        e for e in found if not (e.method == ground.book.planning.supers_off_by and e.key.partition("/")[0] in early)
    )


def _off_anyway(ground: Ground, errand: Errand, day: int) -> bool:
    """Whether supers come off by a day in their own time, whatever begins then."""
    return max(_days_at(ground, errand, "supers_off"), default=day + 1) <= day


def _with_release(ground: Ground, errands: Sequence[Errand]) -> list[Errand]:
    """Where a queen is let out, and what works best with nothing capped is given, on days that they share, both are."""
    found = list(errands)
    doses = [i for i, errand in enumerate(errands) if _wants_broodless(ground, errand)]
    hives = {errands[i].key.partition("/")[0] for i in doses}
    for i, release in enumerate(errands):
        days = _days_at(ground, release, "starts_laying") if release.key.partition("/")[0] in hives else set()
        for j in doses if days else ():
            shared = days & _days_at(ground, errands[j], "treats") if errands[j].colony is release.colony else set()
            if shared:
                found[i] = _only_on(ground, found[i], "starts_laying", shared)
                found[j] = _only_on(ground, found[j], "treats", shared)
    return found


def _wants_broodless(ground: Ground, errand: Errand) -> bool:
    known = prescribed(ground, errand.course, {}) if errand.course else None
    brood = known.label.limits.brood if known is not None else None
    return brood is not None and brood.best is not None and brood.best.value == "none"


def _days_at(ground: Ground, errand: Errand, effect: str) -> set[int]:
    """The days on which an errand may have a step of this effect."""
    effects = effects_of(ground, errand.frame.method)
    if effect not in effects.values():
        return set()
    chain, days = errand.chain, ground.days.ordinals
    return {days[chain.nodes[i].at] for i, (step, _) in enumerate(chain.steps) if effects[step] == effect}


def _only_on(ground: Ground, errand: Errand, effect: str, days: Collection[int]) -> Errand:
    effects, ordinals = effects_of(ground, errand.frame.method), ground.days.ordinals
    steps, nodes = errand.chain.steps, errand.chain.nodes
    made = pruned(errand.chain, lambda i: effects[steps[i][0]] != effect or ordinals[nodes[i].at] in days)
    return errand if made is None else replace(errand, chain=made)


def _block(ground: Ground, errand: Errand) -> tuple[int, int] | None:
    """The days (both inclusive) on which no supers may be put on for a course; None where they may stay on.

    They end when the wait is over after the last day on which packing may still place its end.
    """
    known = prescribed(ground, errand.course, {}) if errand.course else None
    if known is None:
        return None
    given, end = tuple(applications(known.label, ground.book)), last_step(known.label, ground.book)
    days = [(errand.chain.steps[i][0], ground.days.ordinals[n.at]) for i, n in enumerate(errand.chain.nodes)]
    days += [(step, errand.cursor.facts[step].day) for step in (*given, end) if step in errand.cursor.facts]
    first = min((day for step, day in days if step in given), default=ground.season.first)
    last = max((day for step, day in days if step == end), default=ground.season.last)
    return supers_shut(known.label, first, last)


def _supers(ground: Ground, errand: Errand, blocks: Sequence[tuple[int, int]], by: Known | None) -> Errand | None:
    """Supers that are still to be put on keep away from courses that want them off; None where no day is left.

    They come off in time for a course by whose first day they are wanted off; where they can't, they go on after it. A
    course before their own time is over first.
    """
    found = opening_at(errand.frame, errand.cursor)
    by = None if by is not None and _off_anyway(ground, errand, by.day) else by
    early = None if by is None else _off_in_time(ground, errand, by)
    due = 0 if found is None else found.days.best
    if early is None and by is not None:
        due = max(due, by.day)
    closed = tuple((ground.season.first if first <= due else first, last) for first, last in blocks)
    one = early or errand
    cursor = replace(one.cursor, closed=(*one.cursor.closed, *closed))
    chain = ground.chain(one.frame, cursor) if closed else one.chain
    return None if chain is None else replace(one, cursor=cursor, chain=chain)


def _back_after(ground: Ground, errand: Errand, blocks: Sequence[tuple[int, int]]) -> Errand:
    """Supers that come off and go on again keep off a course that wants them off; where it lasts too long, for good."""
    names, effects = list(errand.frame.method.steps), effects_of(ground, errand.frame.method)
    behind = [name for name in names[names.index(errand.cursor.step) + 1 :] if effects[name] == "supers_on"]
    if not blocks or not behind or not errand.chain.nodes:
        return errand
    frame = errand.frame.kept_from(behind, blocks, "back")
    frame = replace(frame, spared=frame.spared | {*behind})
    chain = ground.chain(frame, errand.cursor)
    return errand if chain is None else replace(errand, frame=frame, chain=chain)


def _off_again(ground: Ground, errand: Errand, day: int | None) -> Errand:
    """Supers that go back on after a course are off by the day on which the next one begins; where they can't be, they
    stay off till then.
    """
    names, effects = list(errand.frame.method.steps), effects_of(ground, errand.frame.method)
    ahead = names[names.index(errand.cursor.step) :]
    off = [name for name in ahead if effects[name] == "supers_off"]
    back = [name for name in ahead if off and effects[name] == "supers_on" and ahead.index(name) > ahead.index(off[0])]
    if day is None or not back or not errand.chain.nodes:
        return errand
    ways = (off[1:], (day + 1, ground.season.last + DAYS_A_YEAR)), (back, (ground.season.first, day))
    made = (_barred(ground, errand, steps, days) for steps, days in ways)
    return next((one for one in made if one is not None), errand)


def _barred(ground: Ground, errand: Errand, steps: Sequence[str], days: tuple[int, int]) -> Errand | None:
    """The errand with days (inclusive) that are barred to steps; None where it can't be done to its end then."""
    frame = errand.frame.kept_from(steps, (days,), "again")
    chain = ground.chain(frame, errand.cursor)
    in_time = chain is not None and chain.ease < Ease.CUT_SHORT
    return replace(errand, frame=frame, chain=chain) if chain is not None and in_time else None


def _off_in_time(ground: Ground, errand: Errand, by: Known) -> Errand | None:
    """Supers that come off by a day; None where that is too soon after they went on.

    Who names a day for the harvest has them on until about then, where that is before the course.
    """
    named, method = method_of_supers_off(ground, by.day)
    rule, mark = next(iter(method.steps.values())), named.removeprefix(ground.book.planning.supers_off_by)
    effects = effects_of(ground, errand.frame.method)
    names = list(effects)
    ahead = names[names.index(errand.cursor.step) :]
    step = next((name for name in ahead if effects[name] == "supers_off"), None)
    own = None if step is None or ground.yard.harvest is None else errand.frame.method.steps[step]
    kept = None
    if own is not None:
        bounds = {name: (*(getattr(rule, name) or ()), *(getattr(own, name) or ())) for name in ("opens", "closes")}
        kept = _off_by(ground, errand, by, (step, rule.model_copy(update=bounds), TILL_HARVEST + mark))
    return kept or _off_by(ground, errand, by, (step, rule, EARLY + mark))


def _off_by(ground: Ground, errand: Errand, by: Known, how: tuple[str | None, Step, str]) -> Errand | None:
    """Supers that come off by a day, by another rule than their method's; None where that can't be."""
    name, rule, mark = how
    steps = {step: rule if step == name else old for step, old in errand.frame.method.steps.items()}
    frame = ground.frame(errand.frame.name + mark, errand.frame.method.model_copy(update={"steps": steps}))
    frame = _on_for_long(ground, frame, by.day)
    cursor = replace(errand.cursor, facts={**errand.cursor.facts, ASKED: by})
    chain = ground.chain(frame, cursor)
    in_time = chain is not None and chain.ease < Ease.CUT_SHORT
    return replace(errand, frame=frame, cursor=cursor, chain=chain) if chain is not None and in_time else None


def _on_for_long(ground: Ground, frame: Frame, by: int) -> Frame:
    """The frame without days on which supers would go on that come off for a course soon after, on day ``by``: sooner
    than their own method takes them off. Nobody carries them there for a week."""
    bounds = (bound for step in frame.method.steps.values() for bound in step.opens or ())
    least = max((bound.shift for bound in bounds if bound.anchor == ON_THEM), default=0)
    puts_on = [name for name, effect in effects_of(ground, frame.method).items() if effect == "supers_on"]
    if not least:
        return frame
    return frame.kept_from(puts_on, ((by - least + 1, by),), "long")


ON_THEM = "supers.on"
"""What supers that are on are counted from, in a bound."""
EARLY = ", off for a course"
"""Marks the frame of a method whose supers come off early."""
TILL_HARVEST = EARLY + "+"
"""The same, where they stay on to about the harvest."""
