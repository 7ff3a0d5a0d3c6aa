"""Left: what labels and walls leave of a question, by round and beside them. In: candidates. Out: ``LeftOver``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ipmcal.model.rules.labels import label_for
from ipmcal.planning.labels.standing import use_of
from ipmcal.planning.mites.answers import AllowedCourse
from ipmcal.planning.mites.asking.given import no_brood
from ipmcal.planning.mites.asking.let import late_in_flow
from ipmcal.planning.mites.asking.question import YearQuestion
from ipmcal.planning.mites.base import BaseRound, Served, rounds_of, rounds_of_breaks, served
from ipmcal.planning.mites.walls import (
    Candidate,
    WallSetting,
    broken_wall,
    candidate,
    is_blind,
)


@dataclass(frozen=True)
class LeftOver:
    """What labels and walls leave: candidates, by place the rounds that they serve and what stands free beside them.

    ``seen`` come after counts that decide, ``blind`` before them. ``walled``: how often a wall took what a label let,
    by product. ``fixed`` are courses that are in every set.
    """

    candidates: tuple[Candidate, ...]
    rounds: tuple[Served, ...]
    seen: tuple[int, ...]
    blind: tuple[int, ...]
    walled: dict[str, dict[str, int]]
    fixed: tuple[int, ...]


def left_over(asked: YearQuestion, setting: WallSetting, every: Sequence[Candidate]) -> LeftOver:
    """Holds the walls, and deals the candidates out to the rounds."""
    breaks = rounds_of_breaks(asked.standing.brood, asked.season, asked.package)
    fixed = tuple(_fixed(asked, setting))
    slots = [slot for slot in (*rounds_of(asked.region, asked.season), *breaks) if not _is_served(asked, slot, fixed)]
    rounds = [served(setting, slot, every) for slot in slots]
    walls = [broken_wall(setting, one) or late_in_flow(asked, setting, one) for one in every]
    off = asked.over or any(one.supers_off for one in rounds)  # over the line harvest may be given up
    free = [i for i, wall in enumerate(walls) if wall is None and (off or not every[i].answer.lost)]
    used = sorted({*free, *(i for one in rounds for i in (*one.candidates, *one.wide))})
    place = {i: n for n, i in enumerate(used)}
    walled: dict[str, dict[str, int]] = {}
    for one, wall in zip(every, walls, strict=True):
        if wall is not None:
            counts = walled.setdefault(one.answer.product, {})
            counts[wall] = counts.get(wall, 0) + 1
    return LeftOver(
        (*(every[i] for i in used), *fixed),
        tuple(
            replace(one, candidates=tuple(place[i] for i in one.candidates), wide=tuple(place[i] for i in one.wide))
            for one in rounds
        ),
        tuple(place[i] for i in free if not is_blind(setting, every[i])),
        tuple(place[i] for i in free if is_blind(setting, every[i])),
        walled,
        tuple(range(len(used), len(used) + len(fixed))),
    )


def _fixed(asked: YearQuestion, setting: WallSetting) -> Iterator[Candidate]:
    """The courses that are in every set, as far as they have a label here."""
    for past in asked.fixed:
        treatment = asked.book.treatments.get(past.treatment)
        label = None if treatment is None else label_for(treatment, asked.jurisdiction, asked.book)
        if treatment is not None and label is not None:
            use = use_of(label, past.began, asked.book)
            yield candidate(setting, AllowedCourse(past.treatment, treatment.class_, use))


def _is_served(asked: YearQuestion, slot: BaseRound, fixed: Sequence[Candidate]) -> bool:
    """Whether a course that is in every set does a round's work: begun in its days, and no dose over brood."""
    return any(
        slot.first <= one.day <= slot.last and (slot.dose or slot.either or not one.quick or no_brood(asked, one))
        for one in fixed
    )
