"""The forms of values: what a journal line says behind its word, checked as ``rules/events.yaml`` has it.

In: a word, the text behind it, the rulebook, and what a line may refer to. Out: the trap frame's name and the value, or
what is wrong and how to write it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from ipmcal.model.outfit.outfit import OWN, QUEEN_WORDS, Event
from ipmcal.model.rules.files import EventRule
from ipmcal.model.rules.labels import treatment_of
from ipmcal.model.rules.methods import Step
from ipmcal.model.rules.needs import BEGINNINGS
from ipmcal.model.rules.retired import RETIRED_STEPS
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.values.count import Unit
from ipmcal.model.values.lines import DoseLine, Hived, dose_line, hived_of, other_colony, sample_of, wash_way
from ipmcal.model.values.text import nearest, quoted

OTHER_WAYS = ("co2",)
"""Ways to bring mites off bees of which no share is known."""

_STEP = re.compile(r"([a-z][a-z0-9_]*)/([a-z][a-z0-9_]*)/([1-9][0-9]{0,2})")
_TAKEN_FOR_A_DATE = re.compile(r"[0-9]{1,2}[-. ][A-Za-z]{3,}\.?|[A-Za-z]{3,}[-. ][0-9]{2,4}|[0-9]{4}-[0-9]{2}-[0-9]{2}")
_PRODUCT = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True, slots=True)
class Keys:
    """What a journal line may refer to: yards by key, their colonies, each with its trap frames and their widest box.

    ``yards`` is None where the yard files are not in order: then lines are read without looking anything up.
    ``treatments`` are the keeper's own names for products.
    """

    yards: Mapping[str, Mapping[str, Mapping[str, int]]] | None
    treatments: Collection[str] = ()

    def colonies(self) -> dict[str, Mapping[str, int]]:
        """All colonies of the yard files: a key holds for life, whatever yard the colony stands in today."""
        return {key: traps for yard in (self.yards or {}).values() for key, traps in yard.items()}


ANY = Keys(None)
"""Nothing is looked up."""


def event_rule(word: str, book: Rulebook) -> EventRule:
    """What a word of the journal means. Raises ValueError."""
    if word not in book.events:
        raise ValueError(f"{quoted(word)} is not a word of the journal{nearest(word, sorted(book.events))}")
    return book.events[word]


def event_value(word: str, text: str, book: Rulebook, keys: Keys = ANY) -> tuple[str | None, str]:
    """The trap frame's name, where a line is about one, and the value behind it. Raises ValueError.

    Whether there is such a colony on that day, and such a frame in it, is for the reader of the whole journal.
    """
    rule = event_rule(word, book)
    trap, value = None, text.strip()
    if rule.about == "trap" or (rule.value == "step" and len(value.split()) > 1):
        trap, _, value = value.partition(" ")
        if not trap:
            raise ValueError(f"'{word}' needs the trap frame's name, such as '{rule.example}'")
    problem = _CHECKS[rule.value](value.strip(), rule, book, keys)
    if problem:
        raise ValueError(f"'{word}': {problem}; write it as in '{rule.example}'")
    return trap, value.strip()


def check_trap(event: Event, traps: Mapping[str, int], book: Rulebook) -> None:
    """An event about a trap frame names one of the hive's, and a slot that its widest box has. Raises ValueError."""
    if event.trap is None:
        return
    if event.trap not in traps:
        what = f"hive {quoted(event.colony or '')} has no trap frame {quoted(event.trap)}"
        raise ValueError(f"{what}{nearest(event.trap, sorted(traps))}")
    if book.events[event.word].value == "trap_slot" and not 1 <= int(event.value) <= traps[event.trap]:
        raise ValueError(f"there is no slot {event.value} in this hive; its boxes take {traps[event.trap]} frames")


def value_text(event: Event) -> str:
    """The value cell of a journal line: the trap frame's name, and what stands behind it."""
    return " ".join(part for part in (event.trap, event.value) if part)


def other_of(event: Event, book: Rulebook) -> str:
    """The other colony that a line names, in a value that was checked; "" where it names none."""
    form = book.events[event.word].value
    if form == "colony":
        return other_colony(event.value)
    return hived_of(event.value, form).parent if form == "made_from" else ""


_MEASURES = {
    "weight": frozenset(("g", "kg", "mg", "oz", "lb", "lbs")),
    "volume": frozenset(("mL", "ml", "L", "l", "cl", "dl", "fl oz", "pt", "qt", "gal")),
}

# The forms: each says what is wrong, or nothing. ----------------------------------------------------------------------


def _anything(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return ""


def _nothing(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return f"takes no value (found {quoted(value)})" if value else ""


def _slot(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return "" if re.fullmatch(r"[0-9]{1,2}", value) else f"needs the slot in which it hangs (found {quoted(value)})"


def _finding(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return "" if value in book.findings else f"{quoted(value)} is not a finding{nearest(value, list(book.findings))}"


def _count(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    unit, ways = Unit(rule.unit), (*book.counting.recovery, *OTHER_WAYS)
    try:
        sample_of(value, unit)
    except ValueError as error:
        hint = "; a spreadsheet took it for a date" if _TAKEN_FOR_A_DATE.fullmatch(value) else ""
        return f"{error}{hint}"
    way = wash_way(value)
    return "" if not way or way in ways else f"{quoted(way)} is not a way to count{nearest(way, ways)}"


def _queen(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return "" if value in QUEEN_WORDS else f"{quoted(value)} is not known of a queen{nearest(value, QUEEN_WORDS)}"


def _frames(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return "" if re.fullmatch(r"[0-9]{1,2}", value) else f"needs a number of frames (found {quoted(value)})"


def _mark(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    seen = sorted(name for name, rule in book.marks.items() if not rule.by_yard)
    return "" if value in seen else f"{quoted(value)} is not a mark that can be seen{nearest(value, seen)}"


def _beginning(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return "" if value in BEGINNINGS else f"{quoted(value)} is not a way to begin{nearest(value, BEGINNINGS)}"


def _treatment(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    try:
        dose = dose_line(value)
    except ValueError as error:
        return str(error)
    if not dose.amount:
        return f"needs an amount above 0 (found {quoted(value)})"
    known = (*book.treatments, *keys.treatments)
    if book.treatments and dose.product not in known:
        return f"{quoted(dose.product)} is not a treatment that is known{nearest(dose.product, sorted(known))}"
    if wrong := _other_measure(dose, book):
        return wrong
    right = dose.product in known or _PRODUCT.fullmatch(dose.product)
    return "" if right else f"{quoted(dose.product)} can't name a product: small letters, digits and '_'"


def _other_measure(dose: DoseLine, book: Rulebook) -> str:
    """What is wrong with an amount in a weight where the product's labels measure it by volume, or the other way round:
    a slip in a record of treatments."""
    treatment = book.treatments.get(dose.product)
    doses = [] if treatment is None else [one.dose for one in treatment.labels.values() if one.dose is not None]
    units = {one.amount.value.unit for one in doses}
    kinds = {kind for kind, words in _MEASURES.items() if units & words}
    mine = {kind for kind, words in _MEASURES.items() if {dose.unit, dose.unit.lower()} & words}
    if not mine or not kinds or mine & kinds or not units <= set().union(*_MEASURES.values()):
        return ""
    return f"{quoted(dose.unit)} is a {mine.pop()}, and {dose.product} is given in {' or '.join(sorted(units))}"


def _colony(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    return _trouble(lambda: other_colony(value))


def _hived(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    try:
        told = hived_of(value, rule.value)
    except ValueError as error:
        return str(error)
    return _hive(told, book)


def _hive(told: Hived, book: Rulebook) -> str:
    hives = book.hives.hives
    if not told.hive:
        return ""
    if told.hive not in hives:
        return f"{quoted(told.hive)} is not a kind of hive{nearest(told.hive, sorted(hives))}"
    wrong = next((box for box in told.boxes if box not in hives[told.hive].boxes), None)
    return "" if wrong is None else f"this hive has no box {quoted(wrong)}{nearest(wrong, hives[told.hive].boxes)}"


def _yard(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    if not value:
        return "needs the yard to which it was moved"
    if keys.yards is None or value in keys.yards:
        return ""
    return f"there is no yard {quoted(value)}{nearest(value, sorted(keys.yards))}"


def _step(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    match = _STEP.fullmatch(value)
    if not match:
        return f"needs the step that was not done (found {quoted(value)})"
    method, step, _ = match.groups()
    if method == OWN:
        return ""
    steps = steps_of(method, book)
    if not steps:
        return f"there is no method {quoted(method)}{nearest(method, sorted([*book.methods, *book.treatments]))}"
    now = [name for name in steps if name not in RETIRED_STEPS.get(method, {})]
    return "" if step in steps else f"'{method}' has no step {quoted(step)}{nearest(step, now)}"


def steps_of(method: str, book: Rulebook) -> Mapping[str, Step]:
    """The steps of a method, or of a treatment on any of its labels, by name; none where there is no such method.

    Steps that stand in old ledgers and journals are those that have taken their place.
    """
    retired = {
        name: book.methods[now].steps[step]
        for name, (now, step) in RETIRED_STEPS.get(method, {}).items()
        if now in book.methods and step in book.methods[now].steps
    }
    if method in book.methods:
        return {**retired, **book.methods[method].steps}
    if retired:
        return retired
    product = treatment_of(method, book)
    labels = book.treatments[product].labels.values() if product else ()
    return {name: step for label in labels for name, step in label.steps.items()}


def _line(value: str, rule: EventRule, book: Rulebook, keys: Keys) -> str:
    word = value.partition(" ")[0]
    if not word:
        return "needs the event and the value of the line that it takes back"
    return _trouble(lambda: event_rule(word, book))


def _trouble(read: Callable[[], object]) -> str:
    try:
        read()
    except ValueError as error:
        return str(error)
    return ""


_CHECKS: Mapping[str, Callable[[str, EventRule, Rulebook, Keys], str]] = {
    "none": _nothing,
    "text": _anything,
    "trap": _anything,
    "trap_slot": _slot,
    "trap_finding": _finding,
    "count": _count,
    "queen": _queen,
    "frames": _frames,
    "mark": _mark,
    "beginning": _beginning,
    "treatment": _treatment,
    "colony": _colony,
    "made_from": _hived,
    "made": _hived,
    "yard": _yard,
    "hive": _hived,
    "step": _step,
    "line": _line,
}
