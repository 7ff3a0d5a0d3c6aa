"""Counting mites: what a sample says, how sure it is, and on which side of a threshold it falls.

In: samples and thresholds (``values/count.py``), numbers of the trade as arguments. Out: exact rates, intervals, whole
mites, verdicts with their causes. The point count decides; an interval stands beside it and never decides.

Mites on bees are counted as if each bee were drawn by itself. They clump, so that the true interval is wider: a design
effect (``deff``) of 2 makes 300 bees worth 150 (Pirk et al. 2013, "Statistical guidelines for Apis mellifera research",
J. Apic. Res. 52(4), section 2.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from statistics import NormalDist

from ipmcal.biology.comb import Measure
from ipmcal.model.values.count import Sample, Threshold, Unit

SHARES = (Unit.BEES, Unit.DRONE_CELLS)
"""Units of which a sample holds a whole number, so that a share of them can be meant; the others are rates."""
MOST_EXACT = 1000
"""Bees up to which a tie is told by fractions; beyond, none is possible with shares of a few digits."""


@dataclass(frozen=True, slots=True)
class Interval:
    """The values that a sample does not speak against, at some confidence."""

    low: float
    high: float


class CountVerdict(StrEnum):
    """What a sample says about a threshold."""

    OVER = "over"
    UNDER = "under"
    BAD_SAMPLE = "bad sample"
    NOT_JUDGED = "not judged"


class Cause(StrEnum):
    """Why a verdict is what it is, or what is to be said beside it."""

    REACHES = "reaches the threshold"
    BELOW = "stays below the threshold"
    NOTHING_SAMPLED = "the sample holds nothing"
    MORE_THAN_OPENED = "more cells with mites than were opened"
    TOO_SMALL = "the sample is too small"
    ENOUGH_FOR_A_WHOLE = "the sample is small, but holds the mites that a whole one would need"
    BROODLESS = "all mites sit on the bees while there is no brood, and for some time after"
    OTHER_UNIT = "the threshold is in another unit"
    MORE_MITES_THAN_BEES = "more mites than bees: it can be, and is worth a second look at the numbers"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict, its causes (the deciding one first), the whole mites at which it turns, and the interval beside it.

    ``least`` is None where the sample holds nothing or is in another unit. ``interval`` is in mites to one bee (gram,
    day, cell) and None where the sample holds nothing.
    """

    verdict: CountVerdict
    causes: tuple[Cause, ...]
    least: int | None
    interval: Interval | None


@dataclass(frozen=True, slots=True)
class FoundEfficacy:
    """The share of mites gone between two counts, 1 being all; below 0 where there are more than before."""

    share: Fraction
    interval: Interval


# What a sample says --------------------------------------------------------------------------------------------------


def rate(sample: Sample, per: int = 100) -> Fraction:
    """Mites per 100 bees (or per 100 of another unit; ``per=1`` for a day), exactly. Raises ValueError for no bees.

    >>> round(float(rate(Sample(43, 310))), 2)
    13.87
    """
    if not sample.size:
        raise ValueError("a sample of nothing has no rate")
    return Fraction(sample.mites) * per / sample.size


def board(mites: int, hours: Fraction | int) -> Sample:
    """Mites fallen on a board in so many hours, as a sample of days: ``rate(..., per=1)`` is the fall per day."""
    return Sample(mites, Fraction(hours) / 24, Unit.DAYS)


def pooled(samples: Sequence[Sample]) -> Sample:
    """Several colonies as one sample, which leaves out how they differ. Raises ValueError for none or mixed units."""
    units = {sample.unit for sample in samples}
    if len(units) != 1:
        raise ValueError("only samples of one unit can be pooled" if units else "there is no sample to pool")
    return Sample(sum(s.mites for s in samples), sum((Fraction(s.size) for s in samples), Fraction(0)), units.pop())


def corrected(sample: Sample, recovery: Measure) -> Measure:
    """Mites per 100 bees if the method brings off only a share of them, ``recovery`` (above 0, at most 1).

    For a second thought, not for a threshold: those are counts as they come off. Raises ValueError.
    """
    if not 0 < recovery.low <= recovery.high <= 1:
        raise ValueError(f"a recovery is a share above 0 and at most 1, not {recovery.low}..{recovery.high}")
    found = float(rate(sample))
    return Measure(found / recovery.high, found / recovery.low)


def in_colony(fall_per_day: float, factor: Measure) -> Measure:
    """Mites in the whole colony from the fall per day. Published factors differ by 20 times: use one and its range."""
    return factor * fall_per_day


# How sure it is ------------------------------------------------------------------------------------------------------


def normal_quantile(confidence: float) -> float:
    """Standard deviations on each side of the mean that hold ``confidence`` (0 to 1) of a normal distribution."""
    if not 0 < confidence < 1:
        raise ValueError(f"a confidence lies between 0 and 1, not {confidence}")
    return NormalDist().inv_cdf((1 + confidence) / 2)


def wilson(found: float, of: float, confidence: float = 0.95, deff: float = 1.0) -> Interval:
    """The score interval for a share, 0 to 1: ``found`` in a sample of ``of``, which counts as ``of / deff``.

    Wilson 1927, J. Am. Stat. Assoc. 22:209-212; recommended among seven by Newcombe 1998, Statist. Med. 17:857-872,
    and for bees by Pirk et al. 2013. Raises ValueError unless 0 <= found <= of, of > 0 and deff >= 1.
    """
    if not 0 <= found <= of or of <= 0 or deff < 1:
        raise ValueError(f"no share: {found} in {of}, design effect {deff}")
    z, n, share = normal_quantile(confidence), of / deff, found / of
    centre, scale = share + z * z / (2 * n), 1 + z * z / n
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    low = 0.0 if found == 0 else max(0.0, (centre - half) / scale)
    high = 1.0 if found == of else min(1.0, (centre + half) / scale)
    return Interval(low, high)


def poisson_score(found: float, size: float, confidence: float = 0.95, deff: float = 1.0) -> Interval:
    """The score interval for a rate that may pass 1: mites to a day, a gram, or a bee that carries several.

    The same idea as Wilson's, for a Poisson count (Rao's score; Barker 2002, Am. Stat. 56:85-89). Raises ValueError.
    """
    if found < 0 or size <= 0 or deff < 1:
        raise ValueError(f"no rate: {found} in {size}, design effect {deff}")
    z, n, mean = normal_quantile(confidence), size / deff, found / size
    half = z * math.sqrt(mean / n + z * z / (4 * n * n))
    centre = mean + z * z / (2 * n)
    return Interval(0.0 if found == 0 else max(0.0, centre - half), centre + half)


def interval(sample: Sample, confidence: float = 0.95, deff: float = 1.0) -> Interval:
    """The interval of a sample's rate, in mites to one bee (gram, day, cell). Raises ValueError for no bees.

    Wilson's for bees and cells; where mites outnumber bees there is no share any more, and it is the Poisson one.
    """
    share = sample.unit in SHARES and sample.mites <= sample.size
    return (wilson if share else poisson_score)(sample.mites, float(sample.size), confidence, deff)


def efficacy(before: Sample, after: Sample, confidence: float = 0.95, deff: float = 1.0) -> FoundEfficacy:
    """What a treatment did, from a count before and one after: 1 - (rate after / rate before).

    The interval takes both counts as Poisson: of all mites found, the share found after is a binomial one whatever
    the level was, and Wilson's interval for it turns into one for the ratio (score limits of Graham, Mengersen & Morton
    2003, Statist. Med. 22:2071-2083, from memory). It leaves out what bred or came in meanwhile. Raises ValueError
    where nothing was found before, or the units differ.
    """
    if before.unit is not after.unit:
        raise ValueError("before and after have to be counted in the same unit")
    if not before.mites:
        raise ValueError("no mite was found before: there is nothing to compare with")
    sizes = Fraction(before.size) / Fraction(after.size)
    share = 1 - Fraction(after.mites, before.mites) * sizes
    later = wilson(after.mites, before.mites + after.mites, confidence, deff)

    def left(part: float) -> float:
        return part / (1 - part) * float(sizes)

    return FoundEfficacy(share, Interval(1 - left(later.high), 1 - left(later.low)))


# Finding any at all --------------------------------------------------------------------------------------------------


def chance_to_find(prevalence: float, bees: int, sensitivity: float = 1.0) -> float:
    """The chance that a sample holds at least one infested bee: 1 - (1 - p)^n (Pirk et al. 2013, section 2.2).

    ``prevalence`` is the share of infested bees, ``sensitivity`` the chance that one is found out. Raises ValueError.
    """
    if not (0 <= prevalence <= 1 and 0 <= sensitivity <= 1) or bees < 0:
        raise ValueError(f"no chance can be given: share {prevalence}, sensitivity {sensitivity}, {bees} bees")
    return 1 - (1 - prevalence * sensitivity) ** bees


def bees_needed(prevalence: float, chance: float, sensitivity: float = 1.0) -> int:
    """The fewest bees that hold an infested one with at least this chance. Shares as written, so that ties are exact.

    >>> bees_needed(0.05, 0.95), bees_needed(0.01, 0.99), bees_needed(0.5, 0.75)
    (59, 459, 2)

    Raises ValueError unless 0 < prevalence * sensitivity <= 1 and 0 < chance < 1.
    """
    miss, allowed = 1 - exactly(prevalence) * exactly(sensitivity), 1 - exactly(chance)
    if not (0 <= miss < 1 and 0 < allowed < 1):
        raise ValueError(f"no number of bees can be given: share {prevalence}, chance {chance}")
    if not miss:
        return 1
    bees = math.log(allowed) / math.log(miss)
    near = round(bees)
    if 0 < near <= MOST_EXACT and abs(bees - near) < 1e-6:  # a tie, or all but one: only fractions can tell
        return near if miss**near <= allowed else near + 1
    return max(1, math.ceil(bees))


def detectable(bees: int, chance: float) -> float:
    """The smallest share of infested bees that a sample finds with this chance; what none found still allows."""
    if bees < 1 or not 0 < chance < 1:
        raise ValueError(f"no share can be given: {bees} bees, chance {chance}")
    return float(1 - (1 - chance) ** (1 / bees))


@cache
def exactly(number: float | Fraction) -> Fraction:
    """A number as it is written: 0.1 is a tenth, not the nearest double."""
    return number if isinstance(number, Fraction) else Fraction(str(number))


# The threshold -------------------------------------------------------------------------------------------------------


def least_mites(threshold: Threshold, size: Fraction | int) -> int:
    """The fewest whole mites that make a sample of this size reach the threshold: "treat at 6 or more in 300".

    >>> two = Threshold(Fraction(2), Fraction(100), Unit.BEES)
    >>> least_mites(two, 300), least_mites(two, 310)
    (6, 7)
    """
    exact = threshold.rate * size
    return math.floor(exact) + 1 if threshold.above else math.ceil(exact)


def reaches(sample: Sample, threshold: Threshold) -> bool:
    """Whether the point count reaches the threshold. Raises ValueError for another unit: those are never compared."""
    if sample.unit is not threshold.unit:
        raise ValueError(f"mites in {sample.unit} are not compared with a threshold in {threshold.unit}")
    return bool(sample.size) and sample.mites >= least_mites(threshold, sample.size)


def judge(
    sample: Sample,
    threshold: Threshold,
    *,
    enough: Fraction | int,
    broodless: bool = False,
    confidence: float = 0.95,
    deff: float = 1.0,
) -> Judgement:
    """A sample against a threshold of its own unit, by its point count; ``enough`` is the smallest proper sample.

    A sample that is too small is a bad one, unless it holds the mites by which a proper one would be over: more bees
    could not bring it below. With ``broodless`` (no brood, or not for long) nothing is judged, and nothing repeated.
    """
    sure = interval(sample, confidence, deff) if sample.size else None
    many = (Cause.MORE_MITES_THAN_BEES,) if sample.unit is Unit.BEES and sample.mites > sample.size > 0 else ()
    if sample.unit is not threshold.unit:
        return Judgement(CountVerdict.NOT_JUDGED, (Cause.OTHER_UNIT, *many), None, sure)
    least = least_mites(threshold, sample.size) if sample.size else None
    verdict, cause = _verdict(sample, threshold, enough)
    if broodless:
        bad = (cause,) if verdict is CountVerdict.BAD_SAMPLE else ()
        return Judgement(CountVerdict.NOT_JUDGED, (Cause.BROODLESS, *bad, *many), least, sure)
    return Judgement(verdict, (cause, *many), least, sure)


def _verdict(sample: Sample, threshold: Threshold, enough: Fraction | int) -> tuple[CountVerdict, Cause]:
    if not sample.size:
        return CountVerdict.BAD_SAMPLE, Cause.NOTHING_SAMPLED
    if sample.unit is Unit.DRONE_CELLS and sample.mites > sample.size:
        return CountVerdict.BAD_SAMPLE, Cause.MORE_THAN_OPENED
    if sample.size < enough:
        if sample.mites >= max(1, least_mites(threshold, enough)):
            return CountVerdict.OVER, Cause.ENOUGH_FOR_A_WHOLE
        return CountVerdict.BAD_SAMPLE, Cause.TOO_SMALL
    over = reaches(sample, threshold)
    return (CountVerdict.OVER, Cause.REACHES) if over else (CountVerdict.UNDER, Cause.BELOW)
