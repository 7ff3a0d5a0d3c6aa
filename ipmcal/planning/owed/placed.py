"""Placed: where packing put steps, as labels and courses have to know it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.planning.labels.standing import Stay
from ipmcal.planning.owed.errand import Errand
from ipmcal.planning.owed.ground import Ground, effects_of

Paths = Mapping[str, Sequence[int]]


def supers_as_placed(
    ground: Ground, hive: str, stays: Sequence[Stay], errands: Sequence[Errand], paths: Paths
) -> tuple[Stay, ...]:
    """When supers are on a hive, by the days on which packing placed them; those of the next season as they were."""
    on, off = (sorted(_days_of(ground, hive, errands, paths, effect)) for effect in ("supers_on", "supers_off"))
    found = []
    for stay in stays:
        if stay.on > ground.season.last:
            found.append(stay)
        elif not stay.planned or on:
            began = on[0] if stay.planned else stay.on
            ended = next((day for day in off if day >= began), None if stay.planned else stay.off)
            found.append(Stay(began, ended, stay.planned))
    return tuple(found)


def _days_of(ground: Ground, hive: str, errands: Sequence[Errand], paths: Paths, effect: str) -> Iterator[int]:
    for errand in errands:
        if errand.colony is not None and errand.colony.colony.key == hive:
            effects = effects_of(ground, errand.frame.method)
            for node in paths.get(errand.key, ()):
                if effects[errand.chain.steps[node][0]] == effect:
                    yield ground.days.ordinals[errand.chain.nodes[node].at]
