"""Placed: where packing put steps, as labels and courses have to know it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ipmcal.model.rules.labels import applications, last_step
from ipmcal.planning.labels.standing import Stay, Stretch, as_heard
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground
from ipmcal.planning.owed.prescribed import prescribed

Path = tuple[int, ...]
"""The nodes of an errand's chain that packing chose."""
Paths = Mapping[str, Sequence[int]]
"""The same by the errand's key."""


@dataclass(frozen=True, slots=True)
class Felling:
    """A course as packing had it: the day of each step by its number, and from when to before when mites fall by it."""

    on: Mapping[tuple[str, int], int]
    first: int
    until: int


Dosed = Mapping[str, Felling]
"""The courses that a board lay over, by their errands' keys without the mark of a season."""


def supers_as_placed(
    ground: Ground, hive: str, stays: Sequence[Stay], errands: Sequence[Errand], paths: Paths
) -> tuple[Stay, ...]:
    """When supers are on a hive, by the days on which packing placed them; those of the next season as they were, and
    those that were to go on and nobody wrote of."""
    on, off = (sorted(_days_of(ground, hive, errands, paths, effect)) for effect in ("supers_on", "supers_off"))
    found = []
    for stay in stays:
        if stay.on > ground.season.last:
            found.append(stay)
        elif not on and as_heard(stay, ground.as_of).unheard:
            found.append(as_heard(stay, ground.as_of))
        elif not stay.planned or on:
            began = on[0] if stay.planned else stay.on
            ended = next((day for day in off if day >= began), None if stay.planned else stay.off)
            found.append(Stay(began, ended, stay.planned))
    # Put on once more, after they were taken off early: the season's marks do not know of it.
    later = (day for day in on if not any(s.on <= day and (s.off is None or day < s.off) for s in found))
    found += [Stay(day, next((end for end in off if end >= day), None), planned=True) for day in later]
    return tuple(found)


def out_as_placed(ground: Ground, errands: Iterable[Errand], paths: Paths) -> dict[str, dict[str, int]]:
    """By hive and treatment, the day on which packing has the last of what lies in the hive already come out."""
    found: dict[str, dict[str, int]] = {}
    for errand in errands:
        known = prescribed(ground, errand.course, {}) if errand.course else None
        if known is None or errand.colony is None:
            continue
        if not any(step in errand.cursor.facts for step in applications(known.label, ground.book)):
            continue  # nothing of it is in the hive yet
        end, steps = last_step(known.label, ground.book), errand.chain.done(paths.get(errand.key, ()))
        for (step, _), at in steps:
            if step == end:
                found.setdefault(errand.colony.colony.key, {})[errand.course] = ground.days.ordinals[at]
    return found


def cagings_as_placed(
    ground: Ground, hive: str, had: Sequence[Stretch], errands: Sequence[Errand], paths: Paths
) -> tuple[Stretch, ...]:
    """The days of cagings to come, by where packing put them; to the eggs of the queen who is let out."""
    cage = sorted(_days_of(ground, hive, errands, paths, "stops_laying"))
    out = sorted(_days_of(ground, hive, errands, paths, "starts_laying"))
    if not had or not cage:
        return ()
    lag = ground.book.biology.queen["lays_after_release"].value.high
    return tuple((day, end + lag) for day in cage[:1] for end in out[-1:] if end > day) or tuple(had)


def _days_of(ground: Ground, hive: str, errands: Sequence[Errand], paths: Paths, effect: str) -> Iterator[int]:
    for errand in errands:
        if errand.colony is not None and errand.colony.colony.key == hive:
            steps = errand.frame.method.steps
            for node in paths.get(errand.key, ()):
                if ground.book.effect(steps[errand.chain.steps[node][0]].logs) == effect:
                    yield ground.days.ordinals[errand.chain.nodes[node].at]
