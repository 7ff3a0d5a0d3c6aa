"""What holds where a count is over the line: what it asks for begins at once. In: a plan, and what made it.

The labels are asked anew, with supers off: who is over the line may give up harvest for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planning.hive_invariants import NOT_PUT_OFF
from planning.year_invariants import products_of

from ipmcal.model.outfit.outfit import Outfit, Yard
from ipmcal.model.plan.plan import Plan
from ipmcal.model.plan.verdict import Use, Weight
from ipmcal.model.rules.labels import label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.planning.choose.offer import excludes
from ipmcal.planning.labels.standing import Standing, use_of
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import weather_of
from ipmcal.planning.options import standings
from ipmcal.planning.plan import keeper_days
from ipmcal.planning.recall.courses import renamed

STAY = 14
"""So many days supers stay on once they went on (``rules/methods/supers.yaml``): none are off sooner for a course."""
GIVEN = ("strips_in", "treated")
"""Words of the journal for what is given."""
OVER = "What for: counted over the line"
"""How the first step of a course says that a count over the line asks for it."""


def over_begins_at_once(plan: Plan, outfit: Outfit, yard: Yard, book: Rulebook) -> None:
    """What a count over the line asks for opens within the days of grace, from the count or the day of planning on; or
    nothing of the keeper's that works in cells may be given to all of its hives on their first day of these. A look
    that can't be put off, within these days, goes first: for cells, for a queen, for a swarm.
    """
    grace = int(book.planning.year_plans.offered.at_once.value.upper_end)
    counted = max((call.day or 0 for call in plan.calls if call.yard == yard.key and call.call == "treat"), default=0)
    last = max(plan.as_of, counted) + grace
    late = [t for t in plan.tasks if t.yard == yard.key and t.planned is not None and t.window.opens > last]
    late = [t for t in late if any(note.startswith(OVER) for note in t.notes)]
    days = keeper_days(yard, max(plan.as_of, counted), last, book.planning.no_visits)
    mine = list(days.of(days.between(max(plan.as_of, counted), last)))
    keys = {t.colony for t in late}
    looks = (t.planned for t in plan.tasks if t.colony in keys and t.planned is not None and t.logs in NOT_PUT_OFF)
    if not late or not mine or any(day <= last for day in looks):
        return
    let = sorted(_let(plan, outfit, yard, [t.colony or "" for t in late], (mine[0], book)))
    assert not let, f"{late[0].id}: waits until after {grace} days, and {let[0]} might begin at once"


def over_is_not_forgotten(plan: Plan, yard: Yard, book: Rulebook) -> None:
    """As long as the plan says to treat a yard, nothing was given there since, and the count is not too old: something
    is to be given within the fortnight, or what is in its way is told.
    """
    within = int(book.planning.treat_within.value.upper_end)
    old = int(book.planning.year_plans.counts.apart.value.upper_end)
    for call in (one for one in plan.calls if one.yard == yard.key and one.call == "treat" and one.day is not None):
        since = [c for c in plan.courses if c.yard == yard.key and c.began >= (call.day or 0)]
        if since or plan.as_of > (call.day or 0) + old - within or not products_of(yard, book):
            continue
        given = [t for t in plan.tasks if t.yard == yard.key and t.logs in GIVEN and t.planned is not None]
        soon = any(task.planned <= plan.as_of + within for task in given if task.planned is not None)
        told = any(one.yard == yard.key for one in plan.conflicts) or any(
            one.left for one in plan.choosing if one.yard == yard.key
        )
        assert soon or told, f"{yard.key}: over the line since {call.day}, and nothing is planned"


def _let(plan: Plan, outfit: Outfit, yard: Yard, keys: Sequence[str], on: tuple[int, Rulebook]) -> Iterator[str]:
    """The keeper's products that work in cells, and that no label refuses any of the hives on a day."""
    day, book = on
    journal = None if outfit.journal is None else tuple(renamed(e, outfit, book) for e in outfit.journal)
    stood = standings(replace(outfit, journal=journal), yard, book, plan.as_of)
    hives = [one.standing for one in stood if one.state.colony.key in keys]
    for name in products_of(yard, book):
        label = label_for(book.treatments[name], yard.jurisdiction, book)
        brood = label.limits.brood if label is not None else None
        of_brood = brood is not None and brood.best is not None and brood.best.value == "none"
        if label is None or _cold(yard, book.treatments[name].class_, use_of(label, day, book), book):
            continue
        if not of_brood and all(_may(name, yard, at, day, book) for at in hives):
            yield name


def _cold(yard: Yard, class_: str, use: Use, book: Rulebook) -> bool:
    """Whether it is too cold, by the walls of a year, for what lies as long as a worker's cell is capped."""
    worker, normals = book.biology.castes.worker, weather_of(yard, book).normals
    if normals is None or use.last - use.first < worker.emerges.value.usual - worker.capped.value.usual:
        return False
    floors = [one for one in book.planning.year_plans.walls.floors if class_ in one.classes]
    lows = [one.value.low or 0.0 for floor in floors if (one := floor.published or floor.after_flow) is not None]
    return normals["high"].mean(use.first) < max(lows, default=-99.0)


def _may(name: str, yard: Yard, at: Standing, day: int, book: Rulebook) -> bool:
    label = label_for(book.treatments[name], yard.jurisdiction, book)
    assert label is not None
    asked = verdict(
        name,
        Where(yard.jurisdiction, weather_of(yard, book), book),
        replace(at, supers=tuple(stay for stay in at.supers if stay.on > day - STAY)),
        use_of(label, day, book),
        search=False,
    )
    return not any(reason.weight is Weight.FORBIDS or excludes(reason) for reason in asked.reasons)
