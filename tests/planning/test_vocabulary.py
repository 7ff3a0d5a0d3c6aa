"""The vocabulary walked: every key that a rule may say changes a plan, a sheet or a verdict, or it is not a key.

Each key is altered wherever the shipped rules say it, and what is published is made anew. The keys come from the
models, so that a new one is walked too.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from planning.labels.test_verdict import ALL, BEGIN, BREAKS, FINE, PASTS, WARM
from planning.labels.test_verdict import book as every_limit
from planning.yards import colony, drawn, lines, outfit, plan, shipped, short, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.model.rules import treatments
from ipmcal.model.rules.effects import Efficacy
from ipmcal.model.rules.methods import Act, Again, FindingRule, Late, Method, Needs, Step
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import SamplingPlan, sampling_words
from ipmcal.model.rules.treatments import CourseStep, Dose, Label, Limit, Limits, Recipe
from ipmcal.model.values.cited import Cited
from ipmcal.model.values.count import Unit
from ipmcal.model.values.days import Span
from ipmcal.model.values.fields import Closed
from ipmcal.model.values.forms import Amount, Bound, bound
from ipmcal.model.values.text import NOWHERE, Text
from ipmcal.planning.labels.amounts import active_in, asks_for, batch, portion, size_of
from ipmcal.planning.labels.verdict import Where, verdict
from ipmcal.planning.labels.weather import Weather
from ipmcal.publishing.asdata.plan_json import plan_json
from ipmcal.publishing.paper.page import season_html, sheet_html

LIMITS = sorted(
    (one for one in vars(treatments).values() if isinstance(one, type) and issubclass(one, Limit) and one is not Limit),
    key=lambda one: one.__name__,
)
WALKED: tuple[type[Closed], ...] = (
    Method, Step, CourseStep, Again, Late, FindingRule, Label, Dose, Recipe, SamplingPlan, *LIMITS,
)  # fmt: skip
KEYS = [(model, name) for model in WALKED for name in model.model_fields if model is not CourseStep or name == "swaps"]

ELSEWHERE = {
    "cite": "sources: what every value below is cited by, filled in at load",
    "checked": "the day on which a file was held against its sources: ipmcal check",
    "note": "prose for whoever reads the file, and what its author could not say in words of the vocabulary",
    "advice": "tests/planning/labels: forbids or warns",
    "asked": "reading/rules: a method that no program may name",
    "rhythm": "tests/planning/counting: counts around what packing chose; tests/broken: of one step",
    "like": "reading/rules: filled in from another label at load",
    "registration": "tests/planning/test_record.py: a column of the record",
    "at_once": "tests/planning/test_found.py: a dead hive is shut on the day, whatever the weather",
    "late_until": "tests/planning/test_two_traps.py: until when a frame is hung that nobody hung in time",
    "lines_from": "tests/planning/test_harvest.py: lines of a flow before are another method's",
    "lines_until": "tests/planning/test_harvest.py: lines of a flow after are another method's",
    "worth_until": "tests/planning/test_harvest.py: for less than a fortnight of flow no supers go back on",
    "swaps": "tests/reading/entering/test_sheetwords.py: what comes out with what goes in",
}
"""Keys that work at load, in the record or in what a keeper enters, with where they are tested."""

ONE = Cited(Amount(1, 1, 1, "1"), (), NOWHERE, "", "1")


def little() -> Efficacy:
    """What hardly kills."""
    known = shipped().treatments["oxalic_trickle"].common.efficacy
    return known.model_copy(update={"any_": ONE, "broodless": None, "with_brood": None})


def warmth() -> Cited[Amount] | None:
    """A range of warmth, as a label of every limit says it."""
    return every_limit().treatments[ALL].labels["us"].limits.temperature[0].high


NEW: dict[str, Callable[[Any], Any]] = {
    "Method.per": lambda old: "yard" if old == "colony" else old,
    "Method.clock": lambda clock: {day: parts[:1] for day, parts in clock.items()},
    "Method.found": lambda found: {name: one.model_copy(update={"do": "Otherwise."}) for name, one in found.items()},
    "Method.needs": lambda _: Needs(),
    "Method.steps": lambda steps: {name: one.model_copy(update={"do": "Otherwise."}) for name, one in steps.items()},
    "Step.logs": lambda old: "hefted" if old in ("room_look", "egg_look", "cell_look") else old,
    "Dose.per": lambda old: dataclasses.replace(old, value="seam" if old.value == "chamber" else "chamber"),
    "Label.dose": lambda dose: dose.model_copy(update={"amount": altered(dose.amount)}),
    "SamplingPlan.colonies": lambda rows: (rows[-1].model_copy(update={"sample": ONE, "all_": False, "up_to": None}),),
    "Again.at_most": lambda _: 1,
    "Again.hard_stop": lambda _: (bound(Text("usually season.first_frost @practice"), shipped().sources),),
    "Label.needs": lambda old: dataclasses.replace(old, value="licence" if old.value != "licence" else "prescription"),
    "Label.efficacy": lambda _: little(),
    "Label.limits": lambda _: Limits(),
    "Label.steps": lambda steps: {name: one.model_copy(update={"do": "Otherwise."}) for name, one in steps.items()},
    "ClassLimit.again": lambda old: dataclasses.replace(old, value="any"),
    "BroodLimit.state": lambda old: dataclasses.replace(old, value="some" if old.value == "none" else "none"),
    "BroodLimit.best": lambda old: None,
    "CourseLimit.days": lambda old: dataclasses.replace(old, value=Amount(1, None, 2, "d")),
    "CourseLimit.a_year": lambda old: dataclasses.replace(old, value=Amount(1, 1, 1, "1")),
    "StrengthLimit.value": lambda old: dataclasses.replace(old, value=Amount(20, None, None, "bee_frames")),
    "ChambersLimit.value": lambda old: dataclasses.replace(old, value=Amount(3, 3, 3, "1")),
    "TemperatureLimit.low": lambda _: warmth(),
    "TemperatureLimit.mean": lambda _: warmth(),
}
"""How a key is altered whose value can't be just another of its form. Optional keys are taken out."""
UNSAID = ("TemperatureLimit.low", "TemperatureLimit.mean", "Again.hard_stop", "Label.efficacy")
"""Keys that are given where no rule says them."""
TAKEN_OUT = (
    "again", "if_late", "recipe", "seen", "bring", "cautions", "findings", "circle", "blanks", "table",
)  # fmt: skip


def new_for(model: type, name: str) -> Callable[[Any], Any]:
    """How to alter a key."""
    if f"{model.__name__}.{name}" in NEW:
        return NEW[f"{model.__name__}.{name}"]
    default = model.model_fields[name].get_default(call_default_factory=True)  # type: ignore[attr-defined]
    return (lambda _: default) if name in TAKEN_OUT and not model.model_fields[name].is_required() else altered  # type: ignore[attr-defined]


# Altering a key everywhere --------------------------------------------------------------------------------------------


def altered(value: Any) -> Any:
    """Another value of the same form."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, Act):
        return Act.WAIT if value is not Act.WAIT else Act.CLOSE
    if isinstance(value, str):
        return f"{value} otherwise"
    if isinstance(value, int):
        return value + 1
    if isinstance(value, Cited):
        return dataclasses.replace(
            value, value=None if value.value is None else altered(value.value), text=f"other {value.text}"
        )
    if isinstance(value, Amount):
        more = {n: None if (x := getattr(value, n)) is None else x + 9 for n in ("low", "usual", "high")}
        return dataclasses.replace(value, **more)
    if isinstance(value, Span):
        return Span(value.low, value.usual + 9, value.high + 9)
    if isinstance(value, Bound):
        return dataclasses.replace(value, shift=value.shift + 9)
    if isinstance(value, dict):
        return {key: altered(one) for key, one in value.items()}
    if isinstance(value, tuple):
        return tuple(altered(one) for one in value)
    return "for a reason" if value is None else value


def changed(value: Any, model: type, name: str, new: Callable[[Any], Any]) -> Any:
    """A rule value with a key altered wherever it is said below; the same object where it is not."""
    if isinstance(value, Closed):
        old = {field: getattr(value, field) for field in type(value).model_fields}
        made = {field: changed(one, model, name, new) for field, one in old.items()}
        if isinstance(value, model) and (
            old[name] not in (None, (), {}) or f"{model.__name__}.{name}" in UNSAID or name == "why"
        ):
            made[name] = new(made[name])
        update = {field: one for field, one in made.items() if one is not old[field]}
        return value.model_copy(update=update) if update else value
    if isinstance(value, dict):
        items = {key: changed(one, model, name, new) for key, one in value.items()}
        return items if any(items[key] is not value[key] for key in value) else value
    if isinstance(value, tuple):
        many = tuple(changed(one, model, name, new) for one in value)
        return many if any(a is not b for a, b in zip(many, value, strict=True)) else value
    return value


def with_key(book: Rulebook, model: type, name: str, new: Callable[[Any], Any]) -> Rulebook:
    parts = {part: changed(getattr(book, part), model, name, new) for part in ("methods", "treatments", "thresholds")}
    return dataclasses.replace(book, **parts)


# What is published ----------------------------------------------------------------------------------------------------


def documents(made: Plan) -> str:
    sheets = (sheet_html(made, visit, "A2") for visit in made.visits)
    return "".join([plan_json(made), season_html(made, made.yards[0].key), *sheets])


def spring(book: Rulebook) -> str:
    """Two hives with traps and a new package, mites counted over the line, on 1 May."""
    hives = (colony("1", traps=(short(),)), colony("2", traps=(drawn(),)), colony("3", "2027-04-20", "package"))
    journal = (*lines("03-20 trap_hung T1 2", "04-30 count 9/300"), *lines("03-20 trap_hung T1 2", colony="2"))
    return documents(plan(outfit(yard(*hives), journal=journal), "05-01", book=book))


def counted(book: Rulebook) -> str:
    """Four hives, of which one was counted, far below the line."""
    hives = [colony(str(n)) for n in range(1, 5)]
    return documents(plan(outfit(yard(*hives), journal=lines("05-08 count 0/300")), "05-10", book=book))


def late(book: Rulebook) -> str:
    """A trap that nobody could come to in time."""
    hive = colony("1", traps=(short(),))
    method = "trap_comb_cut"
    there = yard(hive, away=(("2027-04-20", "2027-06-11"),), program="counting_only", added=(method,))
    return documents(
        plan(outfit(there, journal=lines("04-03 trap_hung T1 2", "04-12 count 0/300")), "06-10", book=book)
    )


def strips(book: Rulebook) -> str:
    """Strips in the hive since June, in a country whose authority says much of sampling."""
    journal = lines("06-20 strips_in amitraz_strip 2 lot K1 by AB")
    return documents(plan(outfit(yard(colony("1")), journal=journal), "06-26", book=book))


def winter(book: Rulebook) -> str:
    """A trickle in winter: a full hive and a nucleus."""
    hives = (colony("1"), colony("2", "2027-06-01", "nucleus", boxes=("deep",)))
    return documents(plan(outfit(yard(*hives, program="acids_and_handwork")), "11-15", book=book))


def vapour(book: Rulebook) -> str:
    """A winter of a keeper who has nothing but crystals of acid."""
    only = tuple(one for one in book.programs["acids_and_handwork"].treatments if one == "oxalic_vapour")
    program = book.programs["acids_and_handwork"].model_copy(update={"treatments": only})
    programs = {**book.programs, "acids_and_handwork": program}
    return winter(dataclasses.replace(book, programs=programs))


def sampling(book: Rulebook) -> str:
    """How each authority wants each unit sampled (on the sheet: ``spring``), and how many bees and colonies."""
    plans = {name: one.sampling for name, one in book.thresholds.items() if one.sampling}
    return "\n".join(f"{name} {sampling_words(one, unit, 'swarm')}" for name, one in plans.items() for unit in Unit)


def labels(book: Rulebook) -> str:
    """The verdicts on a label of every limit: with all well, and with each limit broken; and on every label."""
    said = []
    for word in ("", *BREAKS, *PASTS):
        standing = dataclasses.replace(FINE, courses=PASTS.get(word, ()), **BREAKS.get(word, {}))  # type: ignore[arg-type]
        said.append(repr(verdict(ALL, Where("us", WARM, book), standing, BEGIN, search=False)))
    here = dataclasses.replace(
        FINE, supers=BREAKS["supers"]["supers"], brood=(), openings=(BEGIN + 2,), comb_honey=True
    )  # type: ignore[arg-type]
    for name, treatment in book.treatments.items():
        for place in treatment.labels:
            said.append(repr(verdict(name, Where(place, COOL, book), here, BEGIN, search=False)))
    return "\n".join(said)


def amounts(book: Rulebook) -> str:
    """What each label gives to colonies of some sizes, the active in it, and a batch of its recipe."""
    said = []
    for label in (label for treatment in book.treatments.values() for label in treatment.labels.values()):
        given = [portion(label.dose, size) for size in SIZES] if label.dose else []
        said += [f"{one} {active_in(one, label.dose)}" for one in given if label.dose]
        said += [asks_for(label.dose)] if label.dose and label.dose.packs else []
        said += [repr(batch(label.recipe, Fraction(2)))] if label.recipe else []
    return "\n".join(said)


SIZES = (size_of(colony("1"), 6.0), size_of(colony("1", boxes=("deep",)), 3.0, nucleus=True))
COOL = Weather(readings=dict.fromkeys(WARM.readings, (11.0, 4.0)), enough=0.6)

SCENES: tuple[tuple[Callable[[], Rulebook], Callable[[Rulebook], str]], ...] = (
    *((every_limit, one) for one in (labels, sampling, amounts)),
    *((shipped, one) for one in (late, winter, vapour, counted, strips, spring)),
)
"""What takes least time stands first: a key that shows there is shown, and the others are not asked."""


@cache
def usual(i: int) -> str:
    book, scene = SCENES[i]
    return scene(book())


def scenes_of(model: type) -> Iterator[int]:
    if issubclass(model, (Limit, Label, Dose)):
        yield 0
    if model is SamplingPlan:
        yield 1
    if issubclass(model, (Label, Dose, Recipe)):
        yield 2
    if not issubclass(model, Limit):
        yield from range(3, len(SCENES))


def shows(model: type, name: str, new: Callable[[Any], Any]) -> bool:
    """Whether any scene comes out otherwise."""
    for i in scenes_of(model):
        book, scene = SCENES[i]
        other = with_key(book(), model, name, new)
        if other != book() and scene(other) != usual(i):
            return True
    return False


@pytest.mark.parametrize(("model", "name"), KEYS, ids=[f"{model.__name__}.{name}" for model, name in KEYS])
def test_every_key_changes_what_is_published(model: type[Closed], name: str) -> None:
    if name not in ELSEWHERE:
        assert shows(model, name, new_for(model, name))
