"""What ``mites.yaml`` says of mites in a colony: how they enter cells, breed, die, come in; how brood and bees run.

In: mappings of ``Text`` from the reader. Out: frozen values. The model that uses them is ``biology/mites``.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from ipmcal.model.values.cited import Cited
from ipmcal.model.values.fields import Closed, DaysSpan, RuleFile, measured
from ipmcal.model.values.forms import Amount

Percent = Annotated[Cited[Amount], *measured("%", "0.4..0.4..0.5 % @practice")]
Plain = Annotated[Cited[Amount], *measured("1", "0.9 @practice")]
Grams = Annotated[Cited[Amount], *measured("g", "0.12 g @practice")]
GramsPerCell = Annotated[Cited[Amount], *measured("g/cell", "0.56 g/cell @practice")]
Eggs = Annotated[Cited[Amount], *measured("eggs/d", "1100..1400..1800 eggs/d @practice")]
Bees = Annotated[Cited[Amount], *measured("bees", "2000 bees @practice")]
Mites = Annotated[Cited[Amount], *measured("mites", "60 mites @practice")]
MitesPerDay = Annotated[Cited[Amount], *measured("mites/d", "2.5 mites/d @practice")]


class Entering(Closed):
    """Mites going into cells: share a day = 1 - exp(-(worker × w + drone × d) / g), w and d cells capped, g of bees."""

    worker: GramsPerCell
    drone: GramsPerCell
    bee_weight: Grams
    in_trap_comb: Percent


class Breeding(Closed):
    """What comes out of a cell, and how mites die on bees (a day)."""

    mothers_survive: Percent
    daughters_survive: Percent
    daughters_in_worker: Plain
    daughters_in_drone: Plain
    young_wait: DaysSpan
    die_with_brood: Percent
    die_broodless: Percent


class CellDays(Closed):
    """Days from egg to capping, and capped; the share of eggs that is capped."""

    worker_open: DaysSpan
    worker_capped: DaysSpan
    worker_survive: Percent
    drone_open: DaysSpan
    drone_capped: DaysSpan
    drone_survive: Percent


class LayingCurve(Closed):
    """Laying a day as shares of the peak, at days that the marks of the season give."""

    peak: Eggs
    ramp: DaysSpan
    after_ramp: Percent
    at_first_pollen: Percent
    first_pollen_after_pause: DaysSpan
    at_drones_begin: Percent
    peak_after_swarms_begin: DaysSpan
    at_swarm_end: Percent
    at_winter_bees: Percent
    half_way_down: Percent
    three_quarters_down: Percent


class Least(Closed):
    """The pause: when it begins and ends, and laying in it as shares of the peak; the dearth."""

    pause_before: DaysSpan
    over_before_end: DaysSpan
    rarely_broodless: Percent
    elsewhere: Percent
    draws_with_some: Percent
    less_in_dearth: Percent
    dearth_ramp: DaysSpan


class DroneShare(Closed):
    """The share of eggs that are drones, over the season."""

    full: Percent
    when_begun: Percent
    full_after: DaysSpan
    when_waning: Percent
    not_below: Bees


class BeeLives(Closed):
    """How bees die, a day, and which become winter bees: those that emerge so long after their rearing begins."""

    summer_die: Percent
    winter_die: Percent
    winter_die_more: Percent
    winter_die_more_after: DaysSpan
    winter_from: DaysSpan
    winter_all: DaysSpan
    never_below: Bees
    eggs_a_bee: Percent


class ComingIn(Closed):
    """Mites from elsewhere, a day: medians by neighbours, and the standard deviation of their logarithm."""

    sparse: MitesPerDay
    usual: MitesPerDay
    dense: MitesPerDay
    sd_of_log: Plain


class Starts(Closed):
    """Mites of an uncounted colony: medians by what is known, and the standard deviation of their logarithm."""

    after_acid: Mites
    unknown: Mites
    untreated: Mites
    rarely_broodless: Mites
    package: Mites
    swarm_or_nucleus: Mites
    sd_of_log: Plain
    days_into_least: DaysSpan


class Beginnings(Closed):
    """Colonies made this season: their bees, their brood as a share of a full colony's, and what leaves the parent."""

    package_bees: Bees
    swarm_bees: Bees
    nucleus_bees: Bees
    nucleus_brood: Percent
    swarm_takes: Percent
    split_takes: Percent


class Counted(Closed):
    """What a count says of the colony: how a wash reads, and how a count is weighed against what was drawn."""

    wash_reads: Plain
    widened: Plain
    pooled_sd_of_log: Plain
    grid: Plain
    disagrees_below: Percent


class Acting(Closed):
    """How courses act: shares of the log kill by day where cells are reached; the highest kill a day on bees."""

    in_cells_by_day: Annotated[tuple[Percent, ...], Field(min_length=1)]
    most_a_day: Percent


class Harm(Closed):
    """Days that a bee lives, by its season: what a mite in its cell costs."""

    summer_bee: DaysSpan
    winter_bee: DaysSpan


class Draws(Closed):
    """How many draws choose, and how many others accept."""

    choose: Plain
    accept: Plain


class MitesFile(RuleFile):
    """``mites.yaml``."""

    entering: Entering
    breeding: Breeding
    cells: CellDays
    laying: LayingCurve
    least: Least
    drones: DroneShare
    bees: BeeLives
    coming_in: ComingIn
    starts: Starts
    beginnings: Beginnings
    counted: Counted
    acting: Acting
    harm: Harm
    draws: Draws
