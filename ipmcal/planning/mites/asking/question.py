"""Question: what is asked for the hives of a yard, as a value. In: a season, a region. Out: ``YearQuestion``. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ipmcal.biology.mites.figures import MiteFigures
from ipmcal.biology.mites.year import Marks
from ipmcal.model.plan.mites import CagedBreak
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.place.season import Season
from ipmcal.planning.labels.standing import BroodSpell, CourseSpell, Standing
from ipmcal.planning.mites.living.lived import Stock

BreaksIf = Literal["always", "better", "needed"]
"""When a year takes its breaks in laying."""


@dataclass(frozen=True, kw_only=True)
class YearQuestion:
    """What is asked for hives of one brood history. ``days`` are the keeper's, from the day of asking on.

    ``products``: the program's or the yard's, liked best first; ``named``: the keeper wrote them. ``begins``: the first
    day on which the hives are there. ``counting``: mites are counted between courses. ``over``: a count says to treat.
    ``breaks``: breaks in laying that are work of the year; a dose may rest on them. ``breaks_if``: they are taken
    ``always`` where a dose rests on them, ``better`` where that does less harm, ``needed`` where without them it is
    not enough. ``few``: the keeper drives out little. ``fixed`` are courses of this season, given or planned already:
    they are in every set, and the rounds that they serve are served. ``banned`` products begin on no such day.
    ``packed``: the year is packed: however late a course comes out, it lies in no flow, and the record tells it from
    the next of its product. ``own_breaks`` are spells without capped brood of the hives' own, in which doses are
    chosen apart from the year's; ``own_doses`` are the products of those to come, which count for their labels' caps.
    """

    book: Rulebook
    region: Region
    season: Season
    jurisdiction: str
    standing: Standing
    stock: Stock
    days: tuple[int, ...]
    products: tuple[str, ...]
    named: bool = False
    counting: bool = True
    over: bool = False
    package: bool = False
    breaks: tuple[CagedBreak, ...] = ()
    breaks_if: BreaksIf = "always"
    few: bool = False
    fixed: tuple[CourseSpell, ...] = ()
    banned: frozenset[tuple[str, int]] = frozenset()
    own_breaks: tuple[BroodSpell, ...] = ()
    own_doses: tuple[str, ...] = ()
    packed: bool = False


def marks_of(season: Season, region: Region) -> Marks:
    """The season's usual days as the model of mites takes them."""

    def day(name: str) -> int:
        return season.marks[name].begins.usual

    def period(name: str) -> tuple[int, int]:
        ends = season.marks[name].ends
        assert ends is not None, f"{name} is a period in every region that has it"
        return day(name), ends.usual

    return Marks(
        first_pollen=day("first_pollen"),
        drones_begin=day("drone_rearing_start"),
        swarms=(day("swarm_start"), day("swarm_end")),
        flow_ends=period("flow_main")[1],
        drones_wane=day("drone_rearing_end"),
        drones_end=period("drone_season_end")[1],
        winter_bees=day("winter_bee_rearing_start"),
        least_brood=period("brood_minimum"),
        dearth=period("summer_dearth") if "summer_dearth" in season.marks else None,
        rarely_broodless=region.rarely_broodless,
    )


START_KEYS = {"dosed": "after_acid", "undosed": "untreated", "unknown": "unknown"}
"""What may be known of the last least-brood weeks, with its key in ``mites.yaml``."""


def start_of(region: Region, figures: MiteFigures, known: str) -> float:
    """The median of mites of an uncounted colony: ``dosed``, ``undosed`` or ``unknown``; a region's own goes before."""
    own = None if region.base.starts is None else getattr(region.base.starts, known)
    if own is not None:
        return float(own.value.middle)
    if known == "unknown" and region.rarely_broodless:
        return figures.starts.medians["rarely_broodless"]
    return figures.starts.medians[START_KEYS[known]]
