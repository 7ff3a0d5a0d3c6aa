"""Sixty days of a year: yards as they stand on each of them, what was done, counted and found before it written.

Half are the examples; half are yards of all regions, kept as planned, to each of which something happens. Invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from planning.mites.year_yards import PROGRAMS, the_yard
from planning.yards import SHIPPED_REGIONS, kept_as_planned, outfit, season_begins, shipped

from ipmcal.data import folder
from ipmcal.model.outfit.outfit import Event, Outfit
from ipmcal.model.plan.plan import Plan
from ipmcal.model.values.cited import Place
from ipmcal.planning.plan import make_plan
from ipmcal.reading.yards.yards import load

EXAMPLES = ("allotment.yaml", "first_season.yaml", "hollow_lane", "long_meadow", "quarry_end", "ridge_road.yaml")
BEGINS = "2027-01-04"
DAYS, APART = 5, 71
"""So many days of each example's year, so far apart."""
HAPPENS = (
    "", "count 0/300", "count 30/300", "swarmed", "no_eggs seen", "suspect", "count 7/300",
    "strips_in amitraz_strip 2 lot K by AB", "queen virgin", "frames_covered 4", "supers_on 1", "caged",
)  # fmt: skip
"""What happens to a yard on the day before it is planned, each in its turn; nothing to the first."""
TURNS = (33, 88, 121, 144, 167, 190, 213, 236, 259, 282)
"""Days of a season on which yards of regions are planned, by turns."""


@dataclass(frozen=True, slots=True)
class Day:
    """A day of a yard: a name, the outfit with its journal, the day of planning."""

    name: str
    kept: Outfit
    as_of: int


def days() -> list[Day]:
    """The sixty days."""
    return [*_of_examples(), *_of_regions(60 - len(EXAMPLES) * DAYS)]


def _of_examples() -> list[Day]:
    from datetime import date

    first = date.fromisoformat(BEGINS).toordinal()
    found = []
    for place, name in enumerate(EXAMPLES):
        for n in range(DAYS):
            as_of = first + 11 * place + APART * n
            found.append(Day(f"{name} on {date.fromordinal(as_of)}", _example(name), as_of))
    return found


@cache
def _example(name: str) -> Outfit:
    return load(Path(__file__).parents[3] / "example_yards" / name, folder("rules"), shipped()).outfit


def _of_regions(number: int) -> list[Day]:
    regions = sorted(SHIPPED_REGIONS)
    programs = (*PROGRAMS, "first_year", "counting_only")
    made = []
    for n in range(number):
        region, program = regions[n % len(regions)], programs[(n + n // len(regions)) % len(programs)]
        as_of = season_begins(region) + TURNS[n % len(TURNS)]
        happens = HAPPENS[n % len(HAPPENS)]
        name = f"{region}, {program}, day {TURNS[n % len(TURNS)]} of its season, {happens or 'as planned'}"
        made.append(Day(name, _lived(outfit(the_yard(region, program)), season_begins(region), as_of, happens), as_of))
    return made


def _lived(kept: Outfit, first: int, as_of: int, happens: str) -> Outfit:
    """An outfit whose keeper did all as planned since the season's first day, and wrote what happened last."""
    made: Plan = make_plan(kept, shipped(), first)
    done: Sequence[Event] = kept_as_planned(made, as_of - 1)
    there, hive = kept.yards[0].key, kept.yards[0].colonies[0].key
    word, _, value = happens.partition(" ")
    last = [Event(as_of - 1, there, hive, word, None, value, "", Place("journal.csv", 1, 1))] if word else []
    return replace(kept, journal=(*done, *last), since=first)
