"""Closed: what a yard with brood that looks sick keeps out of its hives, and what goes on in the sick hive itself.

In: a colony's errands, the hives of the yard that look sick. Out: errands that are still owed, and what is refused with
its reason. Pure. Figures and lists of words stand in ``planning.yaml``; whom to call, in the jurisdictions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.outfit.outfit import Event
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.plan import Conflict, Refusal
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.owed.errand import NOTHING, Errand, subject
from ipmcal.planning.owed.ground import Ground

BRINGS = ("made", "moves", "begins")
"""Effects of lines by which bees come into a yard, or leave it."""


@dataclass(frozen=True)
class Sick:
    """The hives of a yard that look sick, each with the day since when; the first of them closes the yard."""

    since: Mapping[str, int]

    @property
    def first(self) -> tuple[str, int] | None:
        """The hive that has looked sick longest, and since when; None where all look well."""
        return min(self.since.items(), key=lambda item: item[1], default=None)


def sick_of(states: Iterable[ColonyState]) -> Sick:
    """The hives that look sick, dead ones too: their combs are there until somebody looked."""
    return Sick({s.colony.key: s.sick_since for s in states if s.sick_since is not None})


def kept_closed(ground: Ground, sick: Sick, errands: Sequence[Errand]) -> tuple[list[Errand], list[Refusal]]:
    """The errands of one colony that are still owed in a yard with these sick hives, and what is refused.

    What was done stays done. What has to come out of a hive does, and stays in the yard.
    """
    if sick.first is None:
        return list(errands), []
    kept: list[Errand] = []
    refused: list[Refusal] = []
    for errand in errands:
        against = _against(ground.book, sick, errand)
        if against is None:
            kept.append(_stays_here(ground.book, _cut_off(ground, sick, errand)))
            continue
        whys, helps = (against,), (Because(Code.UNTIL_HEALTHY),)
        title = errand.frame.method.title
        refused.append(Refusal(ground.yard.key, subject(errand), errand.method, title, whys, helps, ()))
        if errand.past:
            kept.append(replace(errand, chain=NOTHING, stuck=False))
    return kept, refused


def _against(book: Rulebook, sick: Sick, errand: Errand) -> Because | None:
    """Why the step that is owed is not done now."""
    assert sick.first is not None  # asked only where a hive looks sick
    planning, logs = book.planning, errand.frame.method.steps[errand.cursor.step].logs
    own = errand.colony.colony.key if errand.colony is not None else ""
    if not errand.chain.nodes and not errand.stuck:
        return None
    if own in sick.since and not errand.course and logs not in planning.goes_on_sick:
        return Because(Code.BROOD_SICK)
    if logs in planning.exchange and not errand.stuck:
        return Because(Code.YARD_IS_CLOSED, (sick.first[0], sick.first[1]))
    return None


def _cut_off(ground: Ground, sick: Sick, errand: Errand) -> Errand:
    """An errand of a sick hive without later steps that do not go on in it: she is let out, and not looked for."""
    own = errand.colony.colony.key if errand.colony is not None else ""
    method, goes_on = errand.frame.method, ground.book.planning.goes_on_sick
    if own not in sick.since or errand.course or not errand.chain.nodes:
        return errand
    before = list(method.steps).index(errand.cursor.step)
    steps = {name: s for i, (name, s) in enumerate(method.steps.items()) if i <= before or s.logs in goes_on}
    if len(steps) == len(method.steps):
        return errand
    frame = ground.frame(f"{errand.frame.name},sick{before}", method.model_copy(update={"steps": steps}))
    chain = ground.chain(frame, errand.cursor)
    return errand if chain is None else replace(errand, frame=frame, chain=chain)


def _stays_here(book: Rulebook, errand: Errand) -> Errand:
    """An errand with a word on what comes out of the hive, where its step takes anything out."""
    logs = errand.frame.method.steps[errand.cursor.step].logs
    if logs not in book.planning.comes_out or not errand.chain.nodes:
        return errand
    return replace(errand, advice=(because_words(Because(Code.STAYS_HERE)), *errand.advice))


def brought(ground: Ground, sick: Sick, states: Iterable[ColonyState], lines: Iterable[Event]) -> Iterator[Conflict]:
    """What was written of a closed yard and is no good there; and the bees that are still to come."""
    if sick.first is None:
        return
    key, since = sick.first
    book, helps = ground.book, Because(Code.TELL_INSPECTOR)
    for event in lines:
        rule = book.events[event.word]
        moves = event.word in book.planning.exchange or rule.effect in BRINGS
        if event.day > since and moves and not event.assumed:
            what = Because(Code.WRITTEN_WHILE_CLOSED, (str(event.place), rule.title, key, since))
            yield Conflict(ground.yard.key, event.colony or "", what, helps)
    for state in states:
        if state.alive and state.colony.began > ground.as_of:
            what = Because(Code.TO_COME_WHILE_CLOSED, (state.colony.began, key, since))
            yield Conflict(ground.yard.key, state.colony.key, what, Because(Code.UNTIL_HEALTHY))
