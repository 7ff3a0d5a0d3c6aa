"""What a case may ask of trap combs: the clocks, needs and findings of the shipped methods, and brood as recalled."""

from __future__ import annotations

from handbook.registry import YEAR, Given, ask, ordinal, rulebook

from ipmcal.model.outfit.outfit import Box, Colony, Event, Queen, TrapFrame
from ipmcal.model.plan.colony import ColonyState, Known, Sighting
from ipmcal.model.plan.reasons import Reason, Rule, Window
from ipmcal.model.values.cited import Place
from ipmcal.model.values.days import Span
from ipmcal.place.season import Season, SeasonMark
from ipmcal.planning.days.bounds import Clockwork, Edges, opening, span_of
from ipmcal.planning.owed.fitness import fitness
from ipmcal.planning.owed.ground import development
from ipmcal.planning.recall.state import full_on, recall


def _seen(words: str) -> Sighting:
    """A finding as a case gives it: ``05-22 all_open``."""
    day, finding = words.split()
    return Sighting(ordinal(day), finding, Event(ordinal(day), "yard", "1", "found", "T1", finding))


def _known(word: str, month_day: str) -> dict[str, Known]:
    day = ordinal(month_day)
    return {word: Known(day, Reason(Rule.EVENT, word, Span.exact(day)))}


def _trap_clock(given: Given) -> tuple[Clockwork, dict[str, Known], Edges]:
    """The clock of a trap frame that was ``emptied`` (hung or cut) on a day, or laid in from ``laid`` on.

    Drones are reared from ``drones`` on (1 January unless said); ``seen`` are findings since.
    """
    method = rulebook().methods[given.get("method", "trap_comb_cut")]
    begins = Span.exact(ordinal(given.get("drones", "01-01")))
    mark = SeasonMark(begins, None, Reason(Rule.REGION_MARK, "drone_rearing_start", begins), None)
    season = Season(YEAR, ordinal("01-01"), ordinal("12-31"), {"drone_rearing_start": mark}, ())
    clock = {name: days for name, days in method.clock.items() if not ("laid" in given and name == "first_egg")}
    work = Clockwork(season, clock, development(rulebook().biology), method.seen)
    facts = _known("first_egg", given["laid"]) if "laid" in given else _known("emptied", given["emptied"])
    return work, facts, work.edges([_seen(words) for words in given.get("seen", [])])


def _trap_window(given: Given) -> Window:
    """The window of the step behind hanging: the first cut, or the first swap."""
    method = rulebook().methods[given.get("method", "trap_comb_cut")]
    work, facts, edges = _trap_clock(given)
    found = opening(work, list(method.steps.values())[1], facts, edges)
    assert found is not None
    return found.window


@ask
def trap_useful_from(given: Given) -> int:
    return _trap_window(given).opens


@ask
def trap_best(given: Given) -> int:
    return _trap_window(given).best


@ask
def trap_cut_by(given: Given) -> int:
    return _trap_window(given).closes


@ask
def trap_cut_is_useful_and_in_time(given: Given) -> bool:
    window = _trap_window(given)
    return window.opens <= ordinal(given["cut"]) <= window.closes


@ask
def trap_cut_is_in_time(given: Given) -> bool:
    return ordinal(given["cut"]) <= _trap_window(given).closes


@ask
def trap_all_capped_at_latest(given: Given) -> int:
    work, facts, edges = _trap_clock(given)
    return span_of(work.day("first_capped", facts, edges)).high


@ask
def trap_finding_means(given: Given) -> str:
    return str(rulebook().methods[given.get("method", "trap_comb_cut")].found[given["finding"]].act)


def _state(given: Given, trap: TrapFrame | None = None) -> ColonyState:
    """A colony with what a case gives of it: how it began, its brood frames, lines of the journal."""
    kind, began = given.get("kind", "overwintered"), ordinal(given.get("began", "01-01"))
    place, traps = Place("", 0, 0), (trap,) if trap else ()
    hive = Colony("1", "", "", 1, began, kind, kind, "langstroth_10", (Box("deep", 10),), 0, traps, Queen(),
                  given.get("strength"), (), (), (), "", place)  # fmt: skip
    lines = [Event(ordinal(day), "yard", "1", word) for day, word in (text.split() for text in given.get("lines", []))]
    season = Season(YEAR, ordinal("01-01"), ordinal("12-31"), {}, ())
    return recall(hive, lines, season, ordinal("12-31"), rulebook())


@ask
def trap_is_offered(given: Given) -> bool:
    frame = TrapFrame("T1", "short", given.get("frame", "medium"), 1, 2)
    season = Season(YEAR, ordinal("01-01"), ordinal("12-31"), {}, ())
    method = rulebook().methods["trap_comb_cut"]
    return not fitness(method, _state(given, frame), frame, season, rulebook()).against


@ask
def box_is_full_for_drone_comb(given: Given) -> int:
    why = full_on(_state(given), rulebook().biology)
    assert why is not None
    return span_of(why).usual


@ask
def brood_day_at_latest(given: Given) -> int:
    return span_of(_state(given).days[f"brood.{given['day']}"].why).high


@ask
def brood_day_at_earliest(given: Given) -> int:
    return span_of(_state(given).days[f"brood.{given['day']}"].why).low


@ask
def next_swarm_check_by(given: Given) -> int:
    check = rulebook().methods[given["method"]].steps["check"]
    season = Season(YEAR, ordinal("01-01"), ordinal("12-31"), {}, ())
    assert check.again is not None
    found = opening(Clockwork(season, {}, {}, {}), check.again, _known("inspected", given["inspected"]), {})
    assert found is not None
    return found.window.closes
