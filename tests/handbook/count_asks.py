"""What a case may ask of counts: rates and intervals, whole mites at a shipped line, decisions, sampling plans."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from handbook.registry import YEAR, Given, ask, ordinal, rulebook

from ipmcal.biology import counts
from ipmcal.biology.comb import Range
from ipmcal.model.values.count import Sample, Unit
from ipmcal.place.hopkins import Site
from ipmcal.place.season import Season, season_at
from ipmcal.planning.decide import decide, tally

SIZES = {"bees": Unit.BEES, "grams": Unit.GRAMS, "days": Unit.DAYS, "cells": Unit.DRONE_CELLS}


def sample(given: Given) -> Sample:
    """``mites`` on so many ``bees`` (or ``grams``, ``days``, ``cells``)."""
    (size,) = SIZES.keys() & given.keys()
    return Sample(given["mites"], Fraction(str(given[size])), SIZES[size])


@cache
def season(region: str) -> Season:
    """The season at a region's own reference."""
    book = rulebook()
    place = book.regions[region].place
    site = Site(place.latitude, place.longitude, place.elevation)
    return season_at(book.regions[region], book.marks, book.planning, site, YEAR, {})


def stick(given: Given) -> tally.Yardstick:
    book = rulebook()
    name = given["authority"]
    here = season(given.get("region", "us_northeast"))
    return tally.Yardstick(here, book.counting, ((name, book.thresholds[name]),))


def decision(given: Given) -> decide.Decision:
    kind, treated = given.get("kind", "overwintered"), given.get("treated", False)
    count = tally.Count("1", ordinal(given["day"]), sample(given), kind, given.get("broodless", False), treated)
    return decide.decide(count, stick(given))


@ask
def mites_per_100(given: Given) -> float:
    return float(counts.rate(sample(given)))


@ask
def fall_per_day(given: Given) -> float:
    return float(counts.rate(counts.board(given["mites"], given["hours"]), per=1))


@ask
def wilson_percent(given: Given) -> Range:
    level, deff = given.get("confidence", 0.95), given.get("deff", 1.0)
    got = counts.wilson(given["found"], given["of"], level, deff)
    return Range(100 * got.low, 100 * got.high)


@ask
def pooled_percent(given: Given) -> Range:
    whole = counts.pooled([Sample(mites, given["bees"]) for mites in given["mites"]])
    got = counts.interval(whole)
    return Range(100 * got.low, 100 * got.high)


@ask
def efficacy_percent(given: Given) -> float:
    before, after = (Sample(mites, given["bees"]) for mites in given["mites"])
    return 100 * float(counts.efficacy(before, after).share)


@ask
def recovered_per_100(given: Given) -> Range:
    share = rulebook().counting.recovery[given["method"]].value
    assert share.low is not None
    return counts.corrected(sample(given), Range(share.low / 100, (share.high or 100) / 100))


@ask
def chance_to_find_percent(given: Given) -> float:
    return 100 * counts.chance_to_find(given["percent"] / 100, given["bees"], given.get("sensitivity", 1.0))


@ask
def bees_needed(given: Given) -> int:
    return counts.bees_needed(Fraction(str(given["percent"])) / 100, Fraction(str(given["chance"])))  # type: ignore[arg-type]


@ask
def detectable_percent(given: Given) -> float:
    return 100 * counts.detectable(given["bees"], given["chance"])


@ask
def whole_mites(given: Given) -> int | None:
    (size,) = SIZES.keys() & given.keys()
    unit, kind = SIZES[size], given.get("kind", "overwintered")
    got = tally.announced(ordinal(given["day"]), stick(given), kind, given[size], unit)
    return got and got[1]


@ask
def decides(given: Given) -> str:
    return str(decision(given).call)


@ask
def level(given: Given) -> str | None:
    return decision(given).level


@ask
def mites_in_colony(given: Given) -> Range:
    """From the fall per day, by the authority's factor for that day (or for any day)."""
    day = ordinal(given["day"])
    factors = rulebook().thresholds[given["authority"]].fall_factors
    factor = next(f.factor.value for f in factors if f.days is None or tally.holds(f.days, day))
    assert factor.low is not None
    assert factor.high is not None
    return counts.in_colony(given["fall"], Range(factor.low, factor.high))


@ask
def colonies_sampled(given: Given) -> int:
    return decide.colonies_to_sample(stick(given).plan, given["colonies"])
