"""The figures of ``mites.yaml`` as plain numbers: shares as 0 to 1, days as whole days, spreads to be drawn from.

In: the rule file. Out: frozen numbers, made once and used by every draw.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from ipmcal.model.rules.mites import MitesFile
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount

NEIGHBOURS = ("sparse", "usual", "dense")
"""How many hives are near, as a yard file says it."""
STARTS = ("after_acid", "unknown", "untreated", "rarely_broodless", "package", "swarm_or_nucleus")
"""What may be known of a colony that nobody counted."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure that is not known exactly: half of its draws lie below ``usual``, evenly on either side of it."""

    low: float
    usual: float
    high: float

    def at(self, quantile: float) -> float:
        """The figure at a quantile, 0 to 1.

        >>> Spread(1.0, 2.0, 4.0).at(0.75)
        3.0
        """
        if quantile < 0.5:
            return self.low + (self.usual - self.low) * 2 * quantile
        return self.usual + (self.high - self.usual) * (2 * quantile - 1)


@dataclass(frozen=True, slots=True)
class Shape:
    """The laying curve: shares of the peak, and days before or after the marks that they belong to."""

    over_before_end: int
    ramp: int
    after_ramp: float
    at_pollen: float
    pollen_after_pause: int
    at_drones: float
    peak_after: int
    at_swarm_end: float
    at_winter_bees: float
    half_way: float
    three_quarters: float
    before_least: int


@dataclass(frozen=True, slots=True)
class Seasonal:
    """How laying thins out in dearth and pause, and the drones' share of it over the season."""

    least_rarely: float
    least_elsewhere: float
    draws_with_some: float
    dearth_ramp: int
    drones_begun: float
    drones_full_after: int
    drones_waning: float


@dataclass(frozen=True, slots=True)
class Nest:
    """Cells, bees, and how mites go into cells: what is the same in every draw."""

    worker_open: int
    worker_capped: int
    drone_open: int
    drone_capped: int
    drone_survive: float
    enters_worker: float
    enters_drone: float
    bee_weight: float
    young_wait: int


@dataclass(frozen=True, slots=True)
class Bees:
    """How bees die, a day, and when they are winter bees; the fewest bees; what begun colonies can nurse."""

    summer_die: float
    winter_die: float
    winter_die_more: float
    more_after: int
    winter_from: int
    winter_all: int
    never_below: float
    eggs_a_bee: float
    drones_from: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn of brood and mites."""

    peak: Spread
    less_in_dearth: Spread
    drones: Spread
    worker_survive: Spread
    in_trap_comb: Spread
    mothers_survive: Spread
    daughters_survive: Spread
    daughters_in_worker: Spread
    daughters_in_drone: Spread
    die_with_brood: Spread
    die_broodless: Spread


@dataclass(frozen=True, slots=True)
class Weighing:
    """How counts are read and weighed: see ``counting.py``."""

    wash_reads: float
    widened: float
    pooled_sd: float
    grid: int
    disagrees_below: float


@dataclass(frozen=True, slots=True)
class Starts:
    """Mites of a colony that nobody counted: medians by what is known (``STARTS``), and their spread."""

    medians: dict[str, float]
    sd_of_log: float
    days_into_least: int


@dataclass(frozen=True, slots=True)
class Coming:
    """Mites a day from elsewhere: medians by neighbours (``NEIGHBOURS``), and their spread."""

    medians: dict[str, float]
    sd_of_log: float


@dataclass(frozen=True, slots=True)
class Beginnings:
    """Bees and brood of colonies made this season; what leaves with a swarm or a split, as shares."""

    package_bees: float
    swarm_bees: float
    nucleus_bees: float
    nucleus_brood: float
    swarm_takes: float
    split_takes: float


@dataclass(frozen=True, slots=True)
class Acting:
    """How courses act: shares of the log kill by day where cells are reached; the highest kill a day on bees."""

    in_cells_by_day: tuple[float, ...]
    most_a_day: float


@dataclass(frozen=True, slots=True)
class Figures:
    """Everything that ``mites.yaml`` says, as numbers.

    ``lives``: days of a summer and a winter bee; ``draws``: how many choose, how many others accept.
    """

    shape: Shape
    seasonal: Seasonal
    nest: Nest
    bees: Bees
    drawn: Drawn
    weighing: Weighing
    starts: Starts
    coming: Coming
    beginnings: Beginnings
    acting: Acting
    lives: tuple[int, int]
    draws: tuple[int, int]


def figures_of(file: MitesFile) -> Figures:
    """The figures of a rule file. A spread without a usual value takes the middle."""
    return Figures(
        shape=_shape(file),
        seasonal=_seasonal(file),
        nest=_nest(file),
        bees=_bees(file),
        drawn=_drawn(file),
        weighing=_weighing(file),
        starts=Starts(
            {name: _one(getattr(file.starts, name)) for name in STARTS},
            _one(file.starts.sd_of_log),
            _days(file.starts.days_into_least),
        ),
        coming=Coming(
            {name: _one(getattr(file.coming_in, name)) for name in NEIGHBOURS}, _one(file.coming_in.sd_of_log)
        ),
        beginnings=Beginnings(**{one.name: _one(getattr(file.beginnings, one.name)) for one in fields(Beginnings)}),
        acting=Acting(tuple(_one(share) for share in file.acting.in_cells_by_day), _one(file.acting.most_a_day)),
        lives=(_days(file.harm.summer_bee), _days(file.harm.winter_bee)),
        draws=(round(_one(file.draws.choose)), round(_one(file.draws.accept))),
    )


def _one(cited: Cited[Amount]) -> float:
    """A figure that is not drawn; a percentage as a share."""
    return cited.value.middle / (100 if cited.value.unit == "%" else 1)


def _days(cited: Cited[Span]) -> int:
    return cited.value.usual


def _spread(cited: Cited[Amount]) -> Spread:
    value, scale = cited.value, 100 if cited.value.unit == "%" else 1
    assert value.low is not None
    assert value.high is not None
    return Spread(value.low / scale, value.middle / scale, value.high / scale)


def _shape(file: MitesFile) -> Shape:
    laying = file.laying
    return Shape(
        over_before_end=_days(file.least.over_before_end),
        ramp=_days(laying.ramp),
        after_ramp=_one(laying.after_ramp),
        at_pollen=_one(laying.at_first_pollen),
        pollen_after_pause=_days(laying.first_pollen_after_pause),
        at_drones=_one(laying.at_drones_begin),
        peak_after=_days(laying.peak_after_swarms_begin),
        at_swarm_end=_one(laying.at_swarm_end),
        at_winter_bees=_one(laying.at_winter_bees),
        half_way=_one(laying.half_way_down),
        three_quarters=_one(laying.three_quarters_down),
        before_least=_days(file.least.pause_before),
    )


def _seasonal(file: MitesFile) -> Seasonal:
    return Seasonal(
        least_rarely=_one(file.least.rarely_broodless),
        least_elsewhere=_one(file.least.elsewhere),
        draws_with_some=_one(file.least.draws_with_some),
        dearth_ramp=_days(file.least.dearth_ramp),
        drones_begun=_one(file.drones.when_begun),
        drones_full_after=_days(file.drones.full_after),
        drones_waning=_one(file.drones.when_waning),
    )


def _nest(file: MitesFile) -> Nest:
    return Nest(
        worker_open=_days(file.cells.worker_open),
        worker_capped=_days(file.cells.worker_capped),
        drone_open=_days(file.cells.drone_open),
        drone_capped=_days(file.cells.drone_capped),
        drone_survive=_one(file.cells.drone_survive),
        enters_worker=_one(file.entering.worker),
        enters_drone=_one(file.entering.drone),
        bee_weight=_one(file.entering.bee_weight),
        young_wait=_days(file.breeding.young_wait),
    )


def _bees(file: MitesFile) -> Bees:
    bees = file.bees
    return Bees(
        summer_die=_one(bees.summer_die),
        winter_die=_one(bees.winter_die),
        winter_die_more=_one(bees.winter_die_more),
        more_after=_days(bees.winter_die_more_after),
        winter_from=_days(bees.winter_from),
        winter_all=_days(bees.winter_all),
        never_below=_one(bees.never_below),
        eggs_a_bee=_one(bees.eggs_a_bee),
        drones_from=_one(file.drones.not_below),
    )


def _drawn(file: MitesFile) -> Drawn:
    breeding = file.breeding
    return Drawn(
        peak=_spread(file.laying.peak),
        less_in_dearth=_spread(file.least.less_in_dearth),
        drones=_spread(file.drones.full),
        worker_survive=_spread(file.cells.worker_survive),
        in_trap_comb=_spread(file.entering.in_trap_comb),
        mothers_survive=_spread(breeding.mothers_survive),
        daughters_survive=_spread(breeding.daughters_survive),
        daughters_in_worker=_spread(breeding.daughters_in_worker),
        daughters_in_drone=_spread(breeding.daughters_in_drone),
        die_with_brood=_spread(breeding.die_with_brood),
        die_broodless=_spread(breeding.die_broodless),
    )


def _weighing(file: MitesFile) -> Weighing:
    counted = file.counted
    return Weighing(
        wash_reads=_one(counted.wash_reads),
        widened=_one(counted.widened),
        pooled_sd=_one(counted.pooled_sd_of_log),
        grid=round(_one(counted.grid)),
        disagrees_below=_one(counted.disagrees_below),
    )
