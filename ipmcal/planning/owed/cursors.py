"""Stand: where a method stands with a colony or trap frame: the step owed, from what was done.

In: what is known of the colony, a method's needs. Out: cursors, and the steps of which nothing is known. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.colony import ColonyState, Known, Sighting, TrapState
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.plan.tasks import Status
from ipmcal.place.season import Season
from ipmcal.planning.days.bounds import BROOD, Opening, event_reason
from ipmcal.planning.days.chain import Chain
from ipmcal.planning.days.frame import Cursor, Frame, opening_at, step_after
from ipmcal.planning.owed.fitness import Fitness
from ipmcal.planning.owed.ground import Ground

FIRST_EGG, LAST_WORKER = f"{BROOD}first_egg", f"{BROOD}last_worker"
"""Days of the brood model: when laying came back, and when what was laid before it stopped is out."""
DAYS_A_YEAR = 365
"""From a window to that of a year later."""


@dataclass(frozen=True)
class DoneStep:
    """A step whose time is over: what became of it, on which day it was done (None: it was not, or nobody knows).

    ``opening`` is when it might have been done; ``cursor`` is where the method stood then.
    """

    cursor: Cursor
    opening: Opening
    status: Status
    day: int | None = None


def start(frame: Frame, state: ColonyState, trap: TrapState | None, fit: Fitness, season: Season) -> Cursor:
    """A method at its beginning, with what is known of the colony and the trap frame."""
    days = {**state.days, **(trap.days if trap else {})}
    facts = {name: known for name, known in days.items() if name in frame.names and frame.tells(known.day)}
    if trap is not None and trap.emptied is not None and not _empty_without_layer(trap, state):
        facts.pop(FIRST_EGG, None)
    closed = tuple((begin, end) for begin, end, _ in fit.not_during)
    first = next(iter(frame.method.steps))
    return Cursor(first, 1, facts, trap.sightings if trap else (), False, _held(state, fit, season), closed)


def _empty_without_layer(trap: TrapState, state: ColonyState) -> bool:
    """Whether nobody laid already when a frame was emptied: its clock then waits for the first egg. What was laid in it
    before laying stopped keeps its own days.
    """
    stopped = state.days.get(LAST_WORKER)
    since = None if stopped is None or not stopped.why.under else stopped.why.under[0].span
    return trap.emptied is not None and (since is None or since.usual <= trap.emptied.day)


def _held(state: ColonyState, fit: Fitness, season: Season) -> Reason | None:
    """A colony that begins in this season has no task before it is there, nor before its box is full if need be."""
    began = state.began
    if fit.not_before is not None:
        return fit.not_before
    return began.why if began.day >= season.first else None


def trap_cursor(ground: Ground, beginning: Cursor, frame: Frame, trap: TrapState) -> Cursor | None:
    """A trap frame that hangs owes its cut; its number counts the cycles begun. One taken out this season stays out."""
    if trap.emptied is None:
        out = trap.days.get(ground.book.word("takes_trap_out"))
        # taken out in an earlier season, it may be hung anew
        away = trap.slot is None and (out is None or out.day < ground.season.first)
        return beginning if away else None
    following = step_after(frame.method, beginning.step)
    assert following is not None
    return replace(beginning, step=following, n=trap.cycles + 1, begun=True)


def next_cursor(
    ground: Ground, frame: Frame, beginning: Cursor, events: Sequence[Event]
) -> tuple[Cursor | None, tuple[DoneStep, ...]]:
    """The step behind the last one that was done, and what became of those before it.

    Steps whose time is over and of which nothing was written are unknown: missed only where a line says so.

    Steps that were never owed are passed over: the colony began too late for them, or what they count from happened so
    long ago that their time was over before this season began.
    """
    done = _done(frame, beginning, events, ground)
    last = max(done, default=-1)
    since = max(known.day for known in done[last]) if done else None
    steps = list(frame.method.steps.items())
    told = {steps[i][0]: days[-1] for i, days in done.items() if steps[i][0] in frame.names}
    past = list(_was_done(frame, beginning, done))
    beginning = replace(beginning, facts={**beginning.facts, **told})
    for i, (name, step) in enumerate(steps):
        # done, and not to be done again: what repeats is owed anew only where nothing behind it was done
        if i in done and (i < last or step.again is None):
            continue
        here = replace(beginning, step=name, n=len(done.get(i, ())) + 1, begun=i == last)
        found = opening_at(frame, here)
        if found is None or found.days.closes < ground.season.first or frame.worthless(name, found.days):
            continue
        if last < 0 and found.days.opens > ground.season.last:
            continue  # a day of the next season's
        over = step.again is None and not step.at_once and ground.gone_by(found.days, since)
        # what comes before the last thing done is not owed any more, whatever its window says
        if i >= last and not over:
            return here, tuple(past)
        status = not_done(ground, frame, here, events)
        if status is Status.UNKNOWN and found.window.opens > ground.as_of:
            continue  # passed over before its time: nobody is asked for what could not be done yet
        past.append(DoneStep(replace(here, begun=False), found, status))
    return None, tuple(past)


def gone_for_good(
    ground: Ground, frame: Frame, cursor: Cursor, chain: Chain | None, events: Sequence[Event]
) -> tuple[DoneStep, ...]:
    """A step that repeats, whose time went by, and which comes too late for this season: nobody knows, or missed."""
    if (cursor.step, cursor.n) in (chain.steps if chain else ()):
        return ()
    found = opening_at(frame, cursor)
    if found is None or frame.over(cursor, found.days) or not ground.gone_by(found.days, cursor.since):
        return ()
    could = ground.past.between(max(found.days.opens, cursor.since + 1), ground.as_of - 1)
    if frame.too_late(cursor.step, ground.past.of(could)[0]):
        return ()  # the first day on which the keeper could come was too late: it was never planned
    return (DoneStep(replace(cursor, begun=False), found, not_done(ground, frame, cursor, events)),)


def not_done(ground: Ground, frame: Frame, cursor: Cursor, events: Sequence[Event]) -> Status:
    """Missed where a line says that it was not done; else nobody knows."""
    said = {e.value for e in events if ground.book.events[e.word].effect == "not_done"}
    method = frame.name.partition("/")[0]  # the frame of a task of the keeper's own has its name behind
    return Status.MISSED if f"{method}/{cursor.step}/{cursor.n}" in said else Status.UNKNOWN


def _was_done(frame: Frame, beginning: Cursor, done: Mapping[int, Sequence[Known]]) -> Iterator[DoneStep]:
    """What was done this season, each with the window that it had, as far as one can tell afterwards."""
    steps = list(frame.method.steps)
    facts = dict(beginning.facts)
    acts = [(known, i, n) for i, days in done.items() for n, known in enumerate(days, 1)]
    for known, i, n in sorted(acts, key=lambda act: (act[0].day, *act[1:])):
        here = replace(beginning, step=steps[i], n=n, facts=dict(facts), begun=n > 1)
        # done in a way that the rule does not foresee: then the window that the step would have had at first
        found = opening_at(frame, here) or opening_at(frame, replace(beginning, step=steps[i], n=1, not_before=None))
        if found is not None:
            yield DoneStep(here, found, became(found.window, known), known.day)
        facts |= dict.fromkeys(frame.sets[steps[i]], known)


def became(window: Window, known: Known) -> Status:
    """Done, or taken as done; or, after the last good day, done too late to count."""
    if known.why.rule is Rule.ASSUMED:
        return Status.ASSUMED
    return Status.MISSED if window.hard_stop is not None and known.day > window.hard_stop else Status.DONE


def trap_past(
    frame: Frame, beginning: Cursor, trap: TrapState, events: Sequence[Event], ground: Ground
) -> Iterator[DoneStep]:
    """What was done with a trap frame this season: hung, emptied, taken out, each with the window that it had."""
    facts = {name: known for name, known in beginning.facts.items() if name not in trap.days}
    counts: dict[str, int] = {}
    seen: list[Sighting] = []
    steps = frame.method.steps
    for event in events:
        if event.trap != trap.frame.name:
            continue
        known = Known(event.day, event_reason(event))
        if ground.book.events[event.word].effect == "narrows_clock":
            seen.append(Sighting(event.day, event.value, event))
        step = next((name for name in steps if steps[name].logs == event.word), None)
        if step is None:
            continue
        if event.day >= ground.season.first:
            n = counts[step] = counts.get(step, 0) + 1
            # what was found on the day itself was found by the act, and narrowed no clock before it
            before = tuple(s for s in seen if s.day < event.day)
            # nor does a queen who lays later keep back what was laid by then
            then = {name: fact for name, fact in facts.items() if name != FIRST_EGG or fact.day <= event.day}
            here = replace(beginning, step=step, n=n, facts=then, sightings=before, begun=step != beginning.step)
            found = opening_at(frame, here)
            if found is not None:
                yield DoneStep(here, found, became(found.window, known), event.day)
        facts |= dict.fromkeys(frame.sets[step], known)
        seen = []


def _done(frame: Frame, beginning: Cursor, events: Sequence[Event], ground: Ground) -> dict[int, list[Known]]:
    """The days on which each step was done this season, by its place in the method.

    What was done goes to the step nearest in time, of equals to one not done yet; a step that repeats does not begin
    before its time, nor does a count: mites counted before are not those of its time. A step that counts from
    something that happened can't have been done before it, and one that was passed over, for a later step was done
    first, is not done any more: such a line is another task's. Lines of one day with one word are one act.
    """
    season, counts = ground.season, ground.book.planning.counts
    acts = {(e.day, e.word): e for e in reversed(events) if season.first - DAYS_A_YEAR < e.day}
    done: dict[int, list[Known]] = {}
    facts = dict(beginning.facts)
    for (day, word), event in sorted(acts.items(), key=lambda item: item[0]):
        near = []
        for i, (name, step) in enumerate(frame.method.steps.items()):
            if step.logs != word:
                continue
            found = opening_at(frame, replace(beginning, step=name, n=1, facts=facts, not_before=None))
            if found is None or not _of_season(day, found.window, season):
                continue
            found_by = _found_by_looking(ground, word, found.window)
            if day >= max(found_by, _earliest(found.window, in_time=step.again is not None or word in counts)):
                # nearest first; of equals one not done yet (False sorts before True), then the method's own order
                near.append((_distance(day, found.window), i in done, i, name))
        if near:
            _, _, i, name = min(near)
            if i not in done and any(later > i and days[0].day < day for later, days in done.items()):
                continue
            done.setdefault(i, []).append(Known(day, event_reason(event)))
            facts = {**facts, **dict.fromkeys(frame.sets[name], done[i][-1])}
    for i, (name, step) in enumerate(frame.method.steps.items()):
        if ground.book.effect(step.logs) == "begins" and i not in done:
            done |= _are_in(ground, frame, replace(beginning, step=name), events, i)
    last = max(done, default=0)  # what comes before the last thing done is not owed any more: it stays done
    return {i: days for i, days in done.items() if i < last or not _undone(ground, frame, beginning, i, days[-1].day)}


def _are_in(ground: Ground, frame: Frame, here: Cursor, events: Sequence[Event], i: int) -> dict[int, list[Known]]:
    """Bees whose day is over are in, as the yard file has it: nobody has to write so, but a line may say that not."""
    began = here.facts.get(ground.book.word("begins"))
    if began is None or not ground.season.first <= began.day <= min(ground.season.last, ground.as_of - 1):
        return {}  # still to come, or of another season
    if not_done(ground, frame, here, events) is Status.MISSED:
        return {}
    return {i: [began]}


def _of_season(day: int, window: Window, season: Season) -> bool:
    """Whether an act may be this season's: nearer to the window than to that of a year before or later; where something
    that happened opens the window, and it is the same in every season, that in which it opens.
    """
    if any(_happened(_decisive(window.why_opens))):
        return season.first <= window.opens <= season.last
    before, after = window.closes - DAYS_A_YEAR, window.opens + DAYS_A_YEAR
    return window.opens - day <= max(day - before, 0) and day - window.closes <= max(after - day, 0)


def _undone(ground: Ground, frame: Frame, beginning: Cursor, i: int, day: int) -> bool:
    """True for a step that what it counts from has made owed again since: supers taken off, and put on once more."""
    name, step = list(frame.method.steps.items())[i]
    found = opening_at(frame, replace(beginning, step=name, n=1, not_before=None)) if step.again is None else None
    if found is None:
        return False
    happened = max(_happened(found.window.why_opens), default=0)
    return happened > day or _found_by_looking(ground, step.logs, found.window) > day


def _found_by_looking(ground: Ground, word: str, window: Window) -> int:
    """The first day on which a look that answers a finding can have been made, 0 for any other step: the look of the
    day itself is the one that found it."""
    book = ground.book
    if not book.events[word].look:
        return 0
    findings = {one.logs.partition(" ")[0] for one in book.circled.values() if one.logs}
    days = [day for subject, day in _events_of(window.why_opens) if subject in findings and day < window.opens]
    return max(days, default=-1) + 1


def _events_of(reason: Reason) -> Iterator[tuple[str, int]]:
    """The lines that a reason rests on: word and day."""
    if reason.rule is Rule.EVENT and reason.span is not None:
        yield reason.subject, reason.span.usual
    for under in reason.under:
        yield from _events_of(under)


def _earliest(window: Window, *, in_time: bool) -> int:
    """The first day on which a step can have been done; ``in_time``: not before its window opens."""
    happened = max(_happened(window.why_opens), default=0)
    return max(happened, window.opens) if in_time else happened


def _decisive(reason: Reason) -> Reason:
    """Of the latest of several days, the one that is the latest; else the reason itself."""
    if reason.rule is not Rule.LATEST_OF:
        return reason
    return _decisive(max(reason.under, key=lambda one: one.span.usual if one.span is not None else 0))


def _happened(reason: Reason) -> Iterator[int]:
    """The days of the events that a reason rests on."""
    if reason.rule in (Rule.EVENT, Rule.ASSUMED, Rule.COLONY) and reason.span is not None:
        yield reason.span.usual
    for under in reason.under:
        yield from _happened(under)


def _distance(day: int, window: Window) -> int:
    return max(window.opens - day, day - window.closes, 0)
