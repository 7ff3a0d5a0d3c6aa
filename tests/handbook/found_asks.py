"""What a case may ask of a hive whose lines are given: when eggs, capped cells and old brood are there, or gone.

``began`` and ``kind`` where it is no old colony; lines as in the journal, without their year. Of a season only
the winter, where a case gives one.
"""

from __future__ import annotations

from datetime import date

from handbook.registry import YEAR, Given, ask, ordinal, rulebook
from handbook.treatment_asks import NO_SEASON

from ipmcal.model.outfit.outfit import Box, Colony, Event, Queen
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.plan.reasons import Reason, Rule
from ipmcal.model.values.days import Span
from ipmcal.model.values.text import NOWHERE
from ipmcal.place.season import Season, SeasonMark
from ipmcal.planning.choose.known import brood_spells
from ipmcal.planning.recall.broodless import breaks, nothing_capped
from ipmcal.planning.recall.state import recall
from ipmcal.planning.recall.tender import tender_days

WINTER = {"winter_bee_rearing_start": ("08-14", None), "drone_rearing_end": ("07-10", None)}


def state(given: Given) -> ColonyState:
    """The hive, recalled from its lines at the end of the year."""
    kind = given.get("kind", "overwintered")
    began = ordinal(given["began"]) if "began" in given else NO_SEASON.first - 200
    hive = Colony(
        "1", "", "", 1, began, kind, kind, "langstroth_10", (Box("deep", 10),), 0, (),
        Queen(state=given.get("queen", "laying")), None, (), (), (), "", NOWHERE,
    )  # fmt: skip
    return recall(hive, [_line(text) for text in given.get("lines", ())], _season(given), NO_SEASON.last, rulebook())


def _line(text: str) -> Event:
    when, word, *value = text.split()
    return Event(ordinal(when), "yard", "1", word, None, " ".join(value))


def _season(given: Given) -> Season:
    """A season without marks, or with a winter of little brood, as a case gives it."""
    if "least_brood" not in given:
        return NO_SEASON
    first, last = (date.fromisoformat(text).toordinal() for text in given["least_brood"])
    why = Reason(Rule.DEVELOPMENT, "brood_minimum", Span.exact(first))
    ended = Reason(Rule.DEVELOPMENT, "brood_minimum", Span.exact(last))
    marks = {name: SeasonMark(Span.exact(ordinal(on)), None, why, None) for name, (on, _) in WINTER.items()}
    marks["brood_minimum"] = SeasonMark(Span.exact(first), Span.exact(last), why, ended)
    return Season(YEAR, NO_SEASON.first, NO_SEASON.last, marks, ())


def _day(given: Given, name: str, edge: str = "usual") -> int:
    found = state(given).days[f"brood.{name}"].why.span
    assert found is not None
    day: int = getattr(found, edge)
    return day


@ask
def own_first_egg(given: Given) -> object:
    return _day(given, "first_egg")


@ask
def own_first_egg_at_latest(given: Given) -> object:
    return _day(given, "first_egg", "high")


@ask
def own_first_capped_at_earliest(given: Given) -> object:
    return _day(given, "first_capped", "low")


@ask
def own_first_capped(given: Given) -> object:
    return _day(given, "first_capped")


@ask
def own_last_worker(given: Given) -> object:
    return _day(given, "last_worker")


@ask
def own_last_worker_at_latest(given: Given) -> object:
    return _day(given, "last_worker", "high")


@ask
def own_last_drone_at_latest(given: Given) -> object:
    return _day(given, "last_drone", "high")


@ask
def own_first_young_worker_at_earliest(given: Given) -> object:
    return _day(given, "first_egg", "low") + rulebook().biology.castes.worker.emerges.value.low


@ask
def sure_to_have_nothing_capped(given: Given) -> object:
    """Whether acid that wants nothing capped may be planned for a day without a look."""
    spells = brood_spells(state(given), NO_SEASON, rulebook(), winters=False)
    day = ordinal(given["day"])
    return any(s.state == "none" and s.first <= day and (s.last is None or day <= s.last) for s in spells)


@ask
def nothing_capped_at_the_earliest(given: Given) -> object:
    """The first day on which nothing may be capped, by what was found."""
    return nothing_capped(breaks(state(given), rulebook())[-1], rulebook().biology).opens.low


@ask
def left_alone(given: Given) -> object:
    """Whether a hive is neither shaken nor washed on a day, for a virgin or cells that may be in it."""
    return any(one.holds(ordinal(given["day"])) for one in tender_days(state(given), rulebook()))
