"""Points: what was counted in a yard's season, as points of a picture and as what moves the draws of each hive.

In: counts, the figures of counting. Out: anchors by hive, ``MiteCount`` values. Pure. Mites on bees by number or by
weight say the same of a colony; what fell on a board, or sat in cells, is another thing and moves nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.biology.counts import interval
from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.model.plan.mites import MiteCount
from ipmcal.model.rules.thresholds import Counting
from ipmcal.model.values.count import Sample, Unit
from ipmcal.planning.ahead.lived import Anchor
from ipmcal.planning.decide.tally import Count


def on_bees(sample: Sample, figures: MiteFigures) -> Sample | None:
    """A count as mites among bees; None for one of another kind, or of nothing."""
    if sample.unit is Unit.BEES and sample.size:
        return sample
    if sample.unit is Unit.GRAMS and sample.size:
        return Sample(sample.mites, round(float(sample.size) / figures.nest.bee_weight), Unit.BEES)
    return None


def anchors_of(
    own: Sequence[Count], others: Sequence[Count], together: int, figures: MiteFigures
) -> tuple[Anchor, ...]:
    """What moves the draws of a hive: its own counts, and where it has none so near, those of its neighbours pooled."""
    found = [Anchor(one.day, s.mites, float(s.size)) for one in own if (s := on_bees(one.sample, figures)) is not None]
    near = {day for one in found for day in range(one.day - together, one.day + together + 1)}
    by_day: dict[int, list[Sample]] = {}
    for one in others:
        sample = on_bees(one.sample, figures)
        if sample is not None and one.day not in near:
            by_day.setdefault(one.day, []).append(sample)
    pooled = (
        Anchor(day, sum(s.mites for s in some), float(sum(s.size for s in some)), pooled=True)
        for day, some in by_day.items()
    )
    return tuple(sorted((*found, *pooled), key=lambda one: one.day))


def count_points(
    counts: Sequence[Count], far: Mapping[tuple[str, int], str], counting: Counting, figures: MiteFigures
) -> Iterator[MiteCount]:
    """Counts as points with their intervals, in mites in 100 bees."""
    for one in sorted(counts, key=lambda one: (one.day, one.colony)):
        sample = on_bees(one.sample, figures)
        if sample is None:
            continue
        sure = interval(sample, counting.confidence.value.middle, counting.design_effect.value.middle)
        load = 100.0 * sample.mites / float(sample.size)
        told = far.get((one.colony, one.day), "")
        yield MiteCount(one.colony, one.day, load, 100.0 * sure.low, 100.0 * sure.high, told)
