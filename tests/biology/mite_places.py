"""Places whose year mites are tried in: the regions of the rules, and others made from what a trial says of itself."""

from __future__ import annotations

from datetime import date
from functools import cache

from ipmcal.biology.mites.figures import Figures, figures_of
from ipmcal.biology.mites.year import Marks
from ipmcal.data import folder
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.reading.rules.rulebook import load_rulebook

YEAR = 2026


@cache
def rules() -> Rulebook:
    return load_rulebook(folder("rules"))


@cache
def figures() -> Figures:
    return figures_of(rules().mites)


def day(month_day: str, year: int = YEAR) -> int:
    return date.fromisoformat(f"{year}-{month_day}").toordinal()


# A Finnish year, isolated: brood from mid April to the end of August, as the trial has it.
FINLAND = Marks(
    first_pollen=day("04-25"),
    drones_begin=day("05-15"),
    swarms=(day("06-05"), day("07-15")),
    flow_ends=day("07-31"),
    drones_wane=day("07-10"),
    drones_end=day("08-20"),
    winter_bees=day("08-01"),
    least_brood=(day("09-20"), day("04-20")),
)


def marks_of(region: Region) -> Marks:
    """A region's usual days."""

    def begins(name: str) -> int:
        found = region.marks[name].value.begins
        assert found is not None
        return found.in_year(YEAR)

    def ends(name: str) -> int:
        found = region.marks[name].value.ends
        assert found is not None
        return found.in_year(YEAR)

    has_dearth = region.marks["summer_dearth"].value.begins is not None
    return Marks(
        first_pollen=begins("first_pollen"),
        drones_begin=begins("drone_rearing_start"),
        swarms=(begins("swarm_start"), begins("swarm_end")),
        flow_ends=ends("flow_main"),
        drones_wane=begins("drone_rearing_end"),
        drones_end=ends("drone_season_end"),
        winter_bees=begins("winter_bee_rearing_start"),
        least_brood=(begins("brood_minimum"), ends("brood_minimum")),
        dearth=(begins("summer_dearth"), ends("summer_dearth")) if has_dearth else None,
        rarely_broodless=region.rarely_broodless,
    )


def marks_at(place: str) -> Marks:
    return FINLAND if place == "finland" else marks_of(rules().regions[place])
