"""Barred: the days on which a step is not done in a hive, whatever it costs: rough work where a virgin or cells may be,
counts where there is no brood to judge them by, or too few bees.

In: an errand, its colony's state. Out: an errand that keeps off such days, or why there is none. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Refusal
from ipmcal.model.plan.tasks import Status
from ipmcal.planning.days.chain import one_way, replay
from ipmcal.planning.days.frame import Cursor, Frame, opening_at
from ipmcal.planning.owed.cursors import DoneStep
from ipmcal.planning.owed.errand import NOTHING, Errand, subject
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.recall.broodless import spells
from ipmcal.planning.recall.tender import tender_days

Barred = tuple[int, int, Because]
"""Days, both inclusive, and why nothing of the kind is done on them."""
Rough = tuple[tuple[Barred, ...], tuple[Barred, ...]]
"""The days that are barred to rough work, and those of them that are to what comes out of a hive frame by frame."""


def kept_off(
    ground: Ground, state: ColonyState, errands: Sequence[Errand], others: Sequence[Errand] = ()
) -> tuple[list[Errand], list[Refusal]]:
    """The errands of a colony without the days that are barred to their steps, and what no day is left for.

    What was done stays done. ``others`` are owed in the hive as well, and may let its queen out.
    """
    rough, counts = _barred_days(ground, state, _let_out(ground, [*others, *errands]))
    if not rough[0] and not counts:
        return list(errands), []
    kept: list[Errand] = []
    refused: list[Refusal] = []
    for errand in errands:
        made = _kept_off(ground, errand, rough, counts)
        if isinstance(made, Errand):
            kept += [made] if made.chain.nodes or made.past or made.stuck else []
            continue
        refused.append(made)
        if errand.past:
            kept.append(replace(errand, chain=NOTHING))
    return kept, refused


def _kept_off(ground: Ground, errand: Errand, rough: Rough, counts: tuple[Barred, ...]) -> Errand | Refusal:
    key = ("barred", errand.frame.name, rough, counts)
    frame = ground.once(key, lambda: _barred_frame(ground, errand.frame, rough, counts))
    if frame is None or frame.why is None:
        return errand
    past = tuple([one for one in errand.past if not _was_barred(frame, one)])
    errand = replace(errand, past=past) if len(past) < len(errand.past) else errand
    if not errand.chain.nodes:
        return errand
    chain = ground.chain(frame, errand.cursor)
    if chain is not None:
        return _looks_in_time(ground, replace(errand, frame=frame, chain=chain))
    helps = (Because(Code.WRITE_LAYING),)
    return Refusal(ground.yard.key, subject(errand), errand.method, frame.method.title, (frame.why,), helps, ())


def _barred_frame(ground: Ground, frame: Frame, rough: Rough, counts: Sequence[Barred]) -> Frame | None:
    """A frame whose steps keep off the days that are barred to them; None where none has to."""
    planning = ground.book.planning
    barred: dict[str, tuple[tuple[int, int], ...]] = {}
    why: Because | None = None
    for name, step in frame.method.steps.items():
        shakes = rough[step.logs in planning.comes_out] if step.logs in planning.rough_work else ()
        some = [*shakes, *(counts if step.logs in planning.counts else ())]
        if some:
            barred[name], why = tuple((first, last) for first, last, _ in some), why or some[0][2]
    if why is None:
        return None
    name = f"{frame.name},barred{barred}"
    return replace(frame, name=name, barred=barred, why=why, memo=frame.memo.off(name))


def _looks_in_time(ground: Ground, errand: Errand) -> Errand:
    """An errand whose looks don't wait for a barred step that they go along with: in front of it they are in time."""
    frame, method = errand.frame, errand.frame.method
    names = list(method.steps)
    for i in range(names.index(errand.cursor.step), len(names) - 1):
        step, look = names[i : i + 2]
        if step not in frame.barred or not method.steps[look].along or look in frame.barred:
            continue
        if not _late(errand, look):
            continue
        order = [*names[:i], look, step, *names[i + 2 :]]
        turned = method.model_copy(update={"steps": {name: method.steps[name] for name in order}})
        base = ground.frame(f"{frame.name}, {look} first", turned)
        new = replace(base, barred=frame.barred, why=frame.why, memo=base.memo)
        cursor = errand.cursor.at(look, 1) if errand.cursor.step == step else errand.cursor
        chain = ground.chain(new, cursor)
        made = None if chain is None else replace(errand, frame=new, cursor=cursor, chain=chain)
        if made is not None and not _late(made, look):
            return made
    return errand


def _late(errand: Errand, step: str) -> bool:
    """Whether a step comes late in a chain, on the first day that it has for it."""
    chain, days = errand.chain, errand.frame.days.ordinals
    path = list(chain.done(one_way(chain)))
    made = replay(errand.frame, errand.cursor, [one for one, _ in path], [days[at] for _, at in path])
    return any(one.step == step and one.bent == "late" for one in made)


def _was_barred(frame: Frame, one: DoneStep) -> bool:
    """True for a step of which nothing was written, and which was not to be done in its time: nobody is asked."""
    return one.status is Status.UNKNOWN and frame.barred_till(one.cursor.step, one.opening.window)


def _barred_days(ground: Ground, state: ColonyState, let_out: int | None) -> tuple[Rough, tuple[Barred, ...]]:
    """The days that are barred to rough work, and to counts; worked out once for a state, which is held, so that no
    other takes its identity."""

    def made() -> tuple[ColonyState, Rough, tuple[Barred, ...]]:
        return state, _rough(ground, state), tuple(_no_counts(ground, state, let_out))

    _, rough, counts = ground.once(("barred_days", id(state), let_out), made)
    return rough, counts


def _rough(ground: Ground, state: ColonyState) -> Rough:
    """The days on which a virgin or cells may be in the hive. Where that is a guess, one comb may come out of it."""
    found = tender_days(state, ground.book)
    rows = [(one, (one.first, _end(ground, one.first, one.last), Because(Code.FOR_A_VIRGIN))) for one in found]
    return tuple(row for _, row in rows), tuple(row for one, row in rows if not one.guessed)


def _let_out(ground: Ground, errands: Sequence[Errand]) -> int | None:
    """The last day on which a step that is owed lets a queen out; None where none does."""
    days = ground.days.ordinals
    words = {word for word, rule in ground.book.events.items() if rule.effect == "starts_laying"}
    found: list[int] = []
    for errand in errands:
        letting = [name for name, step in errand.frame.method.steps.items() if step.logs in words]
        if letting:
            at = zip(errand.chain.nodes, errand.chain.steps, strict=True)
            found += [days[node.at] for node, (step, _) in at if step in letting]
    return max(found, default=None)


def _no_counts(ground: Ground, state: ColonyState, let_out: int | None) -> Iterator[Barred]:
    """The days on which a count could not be judged, for want of brood, or would cost a small colony too many bees."""
    for spell in spells(state, ground.book, let_out):
        yield spell.first, _end(ground, spell.first, spell.last), Because(Code.FOR_WANT_OF_BROOD)
    least, bees = ground.book.counting.least_bees.value.low or 0.0, state.bees
    grows = ground.book.biology.box_full.get(state.kind)
    if bees is not None and bees[1] < least:
        yield bees[0], bees[0] + int(ground.book.counting.after_broodless.value.usual), Because(Code.FOR_FEW_BEES)
    elif bees is None and grows is not None and grows.value.low:
        young = round(ground.book.planning.year_plans.counts.young.value.low or 0)  # its own bees are out by then
        yield state.colony.began, state.colony.began + min(grows.value.low, young) - 1, Because(Code.FOR_FEW_BEES)


def _end(ground: Ground, first: int, last: int | None) -> int:
    """The last day of a stretch; of one without an end that is known, some days on: then somebody looks."""
    return first + int(ground.book.planning.open_break.value.middle) if last is None else last


# Counts that do not serve ---------------------------------------------------------------------------------------------


def lines_that_judge(ground: Ground, state: ColonyState, lines: Sequence[Event]) -> tuple[Event, ...]:
    """The lines without counts that could not be judged, for want of brood: what they were for stays open."""
    counts = ground.book.planning.counts
    days = spells(state, ground.book) if any(event.word in counts for event in lines) else ()
    return tuple([e for e in lines if e.word not in counts or not any(spell.holds(e.day) for spell in days)])


def counted_before(ground: Ground, state: ColonyState, frame: Frame, cursor: Cursor) -> tuple[Because, ...]:
    """Why a count is owed though mites were counted not long ago: too early for it, or without brood."""
    counts = ground.book.planning.counts
    if frame.method.steps[cursor.step].logs not in counts:
        return ()
    found = opening_at(frame, cursor)
    near = int(ground.book.counting.together.value.upper_end)
    if found is None:
        return ()
    opens, closes = found.days.opens, found.days.closes
    bare = spells(state, ground.book)
    for event in reversed(state.events):
        if event.word not in counts or event.day > closes:
            continue
        if any(spell.holds(event.day) for spell in bare):
            return (Because(Code.COUNTED_WITHOUT_BROOD, (event.day,)),) if event.day >= opens - near else ()
        return (Because(Code.COUNTED_TOO_EARLY, (event.day, opens)),) if opens - near <= event.day < opens else ()
    return ()
