"""Published cases, from the YAML files beside this one, answered with the numbers of the shipped rules.

Each case: a sentence, its source and basis, what is asked with what is given, and what it gives, ``within`` how much
(days, or the unit of the answer; nothing where words or yes and no are compared), or how many ``times`` as much or as
little. A case with ``model`` is one that the model misses: it holds that the model gives what it says there, and that
this is still a miss.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from handbook import base_year_asks, count_asks, found_asks, mite_asks, supplies_asks, trap_asks, treatment_asks  # noqa: F401 - their asks are registered by the import
from handbook.registry import ASKS, Given, ask, on, ordinal, rulebook

from ipmcal.biology import brood, comb
from ipmcal.model.rules.files import Caste
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.days import Span
from ipmcal.model.values.forms import Amount
from ipmcal.place.climate import Climate, chance_of_run, degree_days
from ipmcal.place.hopkins import Rates, Site, reach, shift_days

SAME = 0.02
"""How near a miss stays to what its case says of it: figures of three digits."""
KEYS = {"case", "source", "basis", "ask", "given", "gives"}


# Numbers of the rules -------------------------------------------------------------------------------------------------

HATCHES = Span(3, 3, 4)  # days; teaching pages. Not among the rules so far.


def castes() -> brood.BroodClocks:
    known = rulebook().biology.castes

    def development(caste: Caste) -> brood.Development:
        return brood.Development(caste.capped.value, caste.emerges.value)

    return brood.BroodClocks(HATCHES, development(known.worker), development(known.drone), development(known.queen))


def caste_of(name: str) -> brood.Development:
    found: brood.Development = getattr(castes(), name)
    return found


def mating() -> brood.Mating:
    queen = rulebook().biology.queen
    return brood.Mating(flies=queen["mature_after_emerging"].value, lays=queen["lays_after_mating"].value)


def rates() -> Rates:
    planning = rulebook().planning
    return Rates(
        poleward=planning.days_per_degree_latitude.value.middle,
        east=planning.days_per_degree_longitude.value.middle,
        up=planning.days_per_metre.value.middle,
    )


def range_of(amount: Amount) -> comb.Measure:
    assert amount.low is not None
    assert amount.high is not None
    return comb.Measure(amount.low, amount.high)


def bee_space() -> comb.BeeSpace:
    known = rulebook().biology.comb
    assert known.bee_space.value.low is not None
    assert known.comb_gap.value.low is not None
    return comb.BeeSpace(known.bee_space.value.low, known.comb_gap.value.low)


def density() -> comb.Measure:
    return range_of(rulebook().biology.comb.drone_cells.value)


def wax_rate() -> comb.Measure:
    return range_of(rulebook().biology.comb.wax.value)


# What may be asked: season --------------------------------------------------------------------------------------------


@ask
def hopkins_shift(given: Given) -> float:
    counts = given.get("longitude", True)
    return shift_days(Site(*given["from"]), Site(*given["to"]), rates(), longitude_counts=counts)


@ask
def autumn_shift(given: Given) -> float:
    return -hopkins_shift(given)


@ask
def hopkins_date(given: Given) -> float:
    sign = -1 if given.get("autumn") else 1
    return ordinal(given["day"]) + sign * hopkins_shift(given)


@ask
def beyond(given: Given) -> bool:
    distance = reach(Site(*given["from"]), Site(*given["to"]))
    limits = [given["degrees"]] + ([given["metres"]] if "metres" in given else [])
    return distance.beyond(*limits)


@ask
def degree_day(given: Given) -> float:
    (day,) = degree_days([given["high"]], [given["low"]], given["base"], given.get("upper"), clip=given["clip"])
    return day


@ask
def mean_high(given: Given) -> float:
    return Climate(tuple(given["highs"]), (1.0,) * 12).mean(ordinal(given["day"]))


@ask
def chance_of_a_run(given: Given) -> float:
    climate = Climate((given["mean"],) * 12, (given["spread"],) * 12)
    limits = given.get("low"), given.get("high")
    return chance_of_run(climate, ordinal(given["day"]), given["days"], *limits, given["lag"])


# What may be asked: brood ---------------------------------------------------------------------------------------------


@ask
def capped(given: Given) -> Span:
    return caste_of(given["caste"]).capped_on(on(given["laid"]))


@ask
def capped_at_earliest(given: Given) -> int:
    return capped(given).low


@ask
def capped_at_latest(given: Given) -> int:
    return capped(given).high


@ask
def emerges(given: Given) -> Span:
    return caste_of(given["caste"]).emerges_on(on(given["laid"]))


@ask
def emerges_at_earliest(given: Given) -> int:
    return emerges(given).low


@ask
def emerges_at_latest(given: Given) -> int:
    return emerges(given).high


@ask
def last_good_day(given: Given) -> int:
    return caste_of(given["caste"]).last_good_day(on(given["laid"]))


@ask
def cut_in_time(given: Given) -> bool:
    return ordinal(given["cut"]) <= last_good_day(given)


@ask
def brood_gone(given: Given) -> Span:
    gone: Span = getattr(brood.brood_after(on(given["stopped"]), castes()), given["caste"])
    return gone


@ask
def brood_gone_at_latest(given: Given) -> int:
    return brood_gone(given).high


@ask
def first_capped_at_earliest(given: Given) -> int:
    return brood.brood_from(on(given["laying"]), castes()).capped.low


def _surely(given: Given) -> tuple[int, int] | None:
    return brood.broodless(on(given["stopped"]), on(given["laying"]), castes()).surely


@ask
def nothing_capped_from(given: Given) -> int | None:
    days = _surely(given)
    return days and days[0]


@ask
def nothing_capped_until(given: Given) -> int | None:
    days = _surely(given)
    return days and days[1]


def _walk_away(given: Given) -> brood.WalkAway:
    age = rulebook().biology.queen["larva_age_when_chosen"].value
    return brood.walk_away(on(given["split"]), age, castes(), mating())


@ask
def walk_away_queen_emerges(given: Given) -> Span:
    return _walk_away(given).queen.emerges


@ask
def walk_away_queen_emerges_at_latest(given: Given) -> int:
    return _walk_away(given).queen.emerges.high


@ask
def walk_away_drones_out(given: Given) -> Span:
    return _walk_away(given).old_brood.drone


@ask
def walk_away_first_egg(given: Given) -> Span:
    return _walk_away(given).queen.first_egg


@ask
def walk_away_usually_nothing_capped(given: Given) -> bool:
    days = _walk_away(given).broodless
    assert days.closes is not None
    return days.opens.usual <= ordinal(given["day"]) <= days.closes.usual


@ask
def queens_first_egg(given: Given) -> Span:
    return brood.new_queen(on(given["laid"]), castes(), mating()).first_egg


# What may be asked: comb ----------------------------------------------------------------------------------------------


@ask
def cells_per_dm2(given: Given) -> float:
    area = comb.Measure(100.0, 100.0)
    one = comb.density_of(given["row"])
    return comb.cells_on(area, comb.Measure(one, one)).low


@ask
def drone_cells(given: Given) -> comb.Measure:
    return comb.cells_on(comb.Measure(given["area"], given["area"]), density())


@ask
def drone_cells_one_side(given: Given) -> comb.Measure:
    return drone_cells(given) * 0.5


@ask
def gap(given: Given) -> float:
    return comb.gap_below(given["box"], given["frame"], given["above"], given["below"])


@ask
def gap_of_frames(given: Given) -> float:
    full, short = (rulebook().hives.frames[given[which]].height.value.middle for which in ("full", "short"))
    return comb.gap_below(full, short, above=0.0, below=0.0)


@ask
def bees_make_of(given: Given) -> str:
    return str(comb.filling(given["gap"], bee_space()))


@ask
def bees_make_of_frames(given: Given) -> str:
    return bees_make_of({"gap": gap_of_frames(given)})


@ask
def comb_depth(given: Given) -> comb.Measure | None:
    hung = comb.trap_comb(given["gap"], 430.0, bee_space(), density=density(), wax=wax_rate())
    return hung.depth if hung else None


@ask
def comb_cells(given: Given) -> comb.Measure | None:
    hung = comb.trap_comb(given["gap"], given["length"], bee_space(), density=density(), wax=wax_rate())
    return hung.cells if hung else None


@ask
def wax_at_least(given: Given) -> float:
    return comb.wax_in(comb.Measure(given["cells"], given["cells"]), wax_rate()).low


@ask
def wax_at_most(given: Given) -> float:
    return comb.wax_in(comb.Measure(given["cells"], given["cells"]), wax_rate()).high


# The cases ------------------------------------------------------------------------------------------------------------


def cases() -> list[Any]:
    found = []
    for path in sorted(Path(__file__).parent.glob("*.yaml")):
        for item in yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader):
            found.append(pytest.param(item, id=f"{path.stem}: {item['case']}"))
    return found


def value_of(text: object) -> object:
    """A month-day as an ordinal, anything else as it is."""
    return ordinal(text) if isinstance(text, str) and text[:2].isdigit() else text


def miss(got: object, expected: object) -> float:
    """How far an answer lies from what a case gives; a range of days is met anywhere within."""
    if isinstance(got, comb.Measure):
        assert isinstance(expected, list)
        return max(abs(got.low - float(expected[0])), abs(got.high - float(expected[1])))
    point = got.usual if isinstance(got, Span) else got
    assert isinstance(point, (int, float))
    assert not isinstance(point, bool)
    first, last = ends_of(expected)
    return max(first - point, point - last, 0)


def ends_of(expected: object) -> tuple[float, float]:
    """Both ends of what a case gives: a range of days or of numbers, or twice the one that it is."""
    low, _, high = str(expected).partition("..")
    if high and "-" in low:
        return ordinal(low), ordinal(high)
    if high:
        return float(low), float(high)
    number = value_of(expected)
    assert isinstance(number, (int, float))
    return number, number


def met(item: Given, got: object) -> bool:
    """Whether an answer lies as near to what the source gives as the case asks for."""
    if "within" in item:
        return miss(got, item["gives"]) <= item["within"]
    assert isinstance(got, (int, float))
    low, high = ends_of(item["gives"])
    return low / item["times"] <= got <= high * item["times"]


@pytest.mark.parametrize("item", cases())
def test_handbook(item: Given) -> None:
    assert KEYS <= item.keys() <= KEYS | {"within", "times", "model"}
    assert Basis(item["basis"])
    assert item["ask"] in ASKS, f"no such ask; allowed: {', '.join(sorted(ASKS))}"
    got, expected = ASKS[item["ask"]](item["given"]), item["gives"]
    if "model" in item:
        assert got == pytest.approx(item["model"], rel=SAME), f"the case says that the model gives {item['model']}"
        assert not met(item, got), f"got {got}: no miss any more; take 'model' out"
    elif item.keys() & {"within", "times"}:
        assert met(item, got), f"got {got}, the source gives {expected}"
    else:
        assert got == (None if expected == "none" else expected)


def test_every_ask_is_asked() -> None:
    assert {case.values[0]["ask"] for case in cases()} == set(ASKS)
