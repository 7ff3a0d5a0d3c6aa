"""What a case may ask of treatments: the verdict on a course, its reasons, the days of its steps, supers back.

Where a case does not say otherwise, the colony came through winter, with 10 frames of bees in one box, a laying queen,
brood, no supers, no flow, a closed floor and a full entrance; of the weather only what it says is known.
"""

from __future__ import annotations

from datetime import date

from handbook.registry import YEAR, Given, ask, ordinal, rulebook

from ipmcal.model.outfit.outfit import Box, Colony, Event, Queen
from ipmcal.model.plan.verdict import Use, Verdict
from ipmcal.model.rules.labels import label_for
from ipmcal.model.values.text import NOWHERE
from ipmcal.place.season import Season
from ipmcal.planning.choose.known import brood_spells
from ipmcal.planning.labels.standing import BroodSpell, Past, Standing, Stay, use_of, wait_after
from ipmcal.planning.labels.verdict import verdict
from ipmcal.planning.labels.weather import Weather
from ipmcal.planning.recall.state import recall

NO_SEASON = Season(YEAR, date(YEAR, 1, 1).toordinal(), date(YEAR, 12, 31).toordinal(), {}, ())


def day(text: str) -> int:
    """A month and day of the cases' year, or a whole date."""
    return ordinal(text) if len(text) == 5 else date.fromisoformat(text).toordinal()


def standing(given: Given) -> Standing:
    """The colony as a case gives it."""
    broodless = [BroodSpell("none", day(first), day(last), "") for first, last in given.get("broodless", ())]
    past = (Past(name, rulebook().treatments[name].class_, day(a), day(b)) for name, a, b in given.get("before", ()))
    years = [(f"{YEAR + n}-01-01", f"{YEAR + n}-12-31") for n in (-1, 0, 1)] + given.get("winters", [])
    return Standing(
        kind=given.get("kind", "overwintered"),
        bee_frames=given.get("frames", 10),
        chambers=given.get("chambers", 1),
        queen=frozenset({given.get("queen", "laying")}),
        supers=tuple(Stay(day(on), None if off == "open" else day(off)) for on, off in given.get("supers", ())),
        brood=tuple(broodless),
        flows={word: ((day(a), day(b)),) for word, (a, b) in given.get("flow", {}).items()},
        courses=tuple(past),
        years=tuple((day(a), day(b)) for a, b in years),
        entrance=given.get("entrance", "full"),
        floor="closed",
        comb_honey=given.get("comb_honey", False),
        in_hand=given.get("label_in_hand", {}),
    )


def use(given: Given) -> Use | int:
    """The course's days: of each application, and the last, as a case gives them; else the label's best days."""
    first = day(given["begun"]) if "begun" in given else day(given["applied"][0])
    if "applied" in given:
        return Use(tuple(map(day, given["applied"])), day(given["out"]))
    label = label_for(rulebook().treatments[given["treatment"]], given["in"], rulebook())
    if label is None or "out" not in given:
        return first
    return Use(use_of(label, first, rulebook()).applications, day(given["out"]))


def weather(given: Given) -> Weather:
    """Highs by day after the first application, in °F or °C."""
    first = day(given["begun"]) if "begun" in given else day(given["applied"][0])
    scale = {"F": lambda t: (t - 32) / 1.8, "C": float}[given.get("degrees", "C")]
    return Weather({first + n: (scale(t), 0.0) for n, t in given.get("highs", {}).items()})


def judged(given: Given) -> Verdict:
    name, where = given["treatment"], given["in"]
    days = use(given) if name in rulebook().treatments else day(given["begun"])
    return verdict(name, where, standing(given), days, weather(given), rulebook())


@ask
def course_verdict(given: Given) -> str:
    return judged(given).verdict.value


@ask
def course_reasons(given: Given) -> list[str]:
    """The limits that stand against it, each once."""
    return sorted({reason.limit for reason in judged(given).reasons})


@ask
def course_forbidden_until(given: Given) -> str | None:
    until = judged(given).until
    return None if until is None else date.fromordinal(until).isoformat()


def step(given: Given, edge: str) -> int:
    label = label_for(rulebook().treatments[given["treatment"]], given["in"], rulebook())
    assert label is not None
    found = next(s for s in use_of(label, day(given["begun"]), rulebook()).steps if s.step == given["step"])
    days: dict[str, int] = {"opens": found.opens, "best": found.best, "closes": found.closes}
    return days[edge]


@ask
def step_not_before(given: Given) -> int:
    return step(given, "opens")


@ask
def step_by(given: Given) -> int:
    return step(given, "closes")


@ask
def supers_back(given: Given) -> int:
    """The first day on which supers may come back, the last of the product out on a day."""
    label = label_for(rulebook().treatments[given["treatment"]], given["in"], rulebook())
    assert label is not None
    wait = wait_after(label)
    return day(given["out"]) + (0 if wait is None else int(wait.value.high))


@ask
def written_break_from(given: Given) -> int:
    """The first day on which nothing is capped any more, for sure, after a line of the journal."""
    word, when = given["line"]
    history = (Event(day(when), "yard", "1", word),)
    boxes, began = (Box("deep", 10),), day("2024-01-01")
    colony = Colony(
        "1", "", "", 1, began, "overwintered", "", "langstroth_10", boxes, 0, (), Queen(), None, history, (), (), "",
        NOWHERE,
    )  # fmt: skip
    state = recall(colony, (), NO_SEASON, NO_SEASON.last, rulebook())
    return next(s.first for s in brood_spells(state, NO_SEASON, rulebook(), winters=False) if s.state == "none")
