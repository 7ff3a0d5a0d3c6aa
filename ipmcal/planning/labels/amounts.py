"""Supplies: how much of a product a colony, a visit and a season need, and what to buy or mix for it.

In: labels, what is known of a colony's size, the uses planned. Out: portions with their unit, batches, totals. Pure.
What isn't known before the hive is opened makes a range, and ``asks_for`` says what to count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil

from ipmcal.biology.counts import exactly
from ipmcal.model.outfit.outfit import Colony
from ipmcal.model.plan.because import Because, Code
from ipmcal.model.plan.causes import because_words
from ipmcal.model.plan.colony import ColonyState
from ipmcal.model.rules.files import Biology
from ipmcal.model.rules.labels import applications, label_for
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.treatments import Dose, Label, Recipe, Treatment
from ipmcal.model.values.forms import Amount
from ipmcal.model.values.words import counted, joined, with_unit
from ipmcal.planning.recall.state import full_on

STEP = Fraction(1, 20)
"""Litres: syrup is mixed in whole twentieths, the lines of a jug. What is over stays in the syringe, or is waste."""
ML = 1000
"""Millilitres in a litre."""

PER_WORDS = {
    "colony": ("a hive", ""),
    "chamber": ("a brood chamber", "count the brood chambers"),
    "seam": ("a seam", "count the seams"),
    "bee_frames": ("a frame of bees", "count the frames of bees"),
    "thousand_bees": ("for 1,000 bees", "weigh or count the bees"),
}
"""What a dose is counted by: in words, and what has to be counted where it isn't known."""


@dataclass(frozen=True, slots=True)
class Bracket:
    """A number known to lie between two bounds, inclusive; an exact fraction, so that doses add up."""

    low: Fraction
    high: Fraction

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high:
            raise ValueError(f"a range needs 0 <= low <= high, not {self.low}, {self.high}")

    def __add__(self, other: Bracket) -> Bracket:
        return Bracket(self.low + other.low, self.high + other.high)

    def __mul__(self, by: Bracket) -> Bracket:
        return Bracket(self.low * by.low, self.high * by.high)

    @classmethod
    def of(cls, amount: Amount) -> Bracket:
        """An amount of a rule file. Raises ValueError where an end is open."""
        if amount.low is None or amount.high is None:
            raise ValueError(f"no dose can be worked out from an open range: {amount}")
        return cls(exactly(amount.low), exactly(amount.high))

    @classmethod
    def exact(cls, value: Fraction | int) -> Bracket:
        """A number that is known."""
        return cls(Fraction(value), Fraction(value))

    @property
    def known(self) -> bool:
        """True where there is one number only."""
        return self.low == self.high


NONE = Bracket(Fraction(0), Fraction(0))


# The colony -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Size:
    """How big a colony is, as far as a dose asks. ``bees`` are thousands; None: nothing is known of it."""

    chambers: int
    seams: Bracket
    bee_frames: Bracket
    nucleus: bool = False
    bees: Bracket | None = None


def size_of(colony: Colony, brood_frames: float | None = None, nucleus: bool = False) -> Size:
    """A colony's size from its boxes and its frames of brood when last seen, before the hive is opened.

    Each brood box is a chamber. Frames with bees are at least the frames with brood (1 where nothing is known), at most
    all frames. Seams with bees: with f frames covered in one box at least f - 1, and 1; at most one more than a box has
    frames (the gap at either wall counts), in each box.
    """
    return _size(len(colony.boxes), sum(box.frames for box in colony.boxes), brood_frames, nucleus)


@lru_cache(maxsize=1024)
def _size(boxes: int, frames: int, brood_frames: float | None, nucleus: bool) -> Size:
    least = min(exactly(max(brood_frames or 1, 1)), Fraction(frames))
    seams = Bracket(max(Fraction(1), least - boxes), Fraction(frames + boxes))
    return Size(boxes, seams, Bracket(least, Fraction(frames)), nucleus)


def size_on(state: ColonyState, day: int, biology: Biology) -> Size:
    """The size on a day: a colony begun as a nucleus counts as one until its box is taken to be full."""
    full = full_on(state, biology)
    small = state.kind == "nucleus" and full is not None and full.span is not None and day < full.span.usual
    return size_of(state.colony, state.strength, small)


def counted_size(*, chambers: int = 1, seams: float = 1, frames: float = 1, bees: float | None = None) -> Size:
    """A colony that was opened and counted: seams, frames covered with bees, thousands of bees."""
    exact = (Fraction(str(seams)), Fraction(str(frames)))
    thousands = None if bees is None else Bracket.exact(Fraction(str(bees)))
    return Size(chambers, Bracket.exact(exact[0]), Bracket.exact(exact[1]), bees=thousands)


# One application ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Portion:
    """What one colony gets at one application; ``amount`` None where it can't be told before something is counted."""

    amount: Bracket | None
    unit: str

    def times(self, number: int) -> Portion:
        """So many portions."""
        return Portion(None if self.amount is None else self.amount * Bracket.exact(number), self.unit)


def portion(dose: Dose, size: Size) -> Portion:
    """One application for a colony, by the label's dose: a nucleus' own amount where it has one, never above its cap.

    By frames of bees a part of ``each`` counts whole (6 frames at 1 strip each 5 are 2 strips). Where packs differ,
    nobody can tell but the pack.
    """
    unit, amount = dose.amount.value.unit, Bracket.of(dose.amount.value)
    if dose.packs:
        return Portion(None, unit)
    if size.nucleus and dose.nucleus is not None:
        return Portion(Bracket.of(dose.nucleus.value), dose.nucleus.value.unit)
    number = _number(dose, size)
    if number is None:
        return Portion(None, unit)
    given = amount * number
    if dose.most is not None:
        most = Bracket.of(dose.most.value).high
        given = Bracket(min(given.low, most), min(given.high, most))
    return Portion(given, unit)


def _number(dose: Dose, size: Size) -> Bracket | None:
    """How many times a colony gets the dose's amount."""
    per = dose.per.value
    if per == "chamber":
        return Bracket.exact(size.chambers)
    if per == "seam":
        return size.seams
    if per == "bee_frames":
        each = Bracket.of(dose.each.value).high if dose.each else Fraction(1)
        return Bracket(Fraction(ceil(size.bee_frames.low / each)), Fraction(ceil(size.bee_frames.high / each)))
    return size.bees if per == "thousand_bees" else Bracket.exact(1)


def course_portion(label: Label, size: Size, book: Rulebook) -> Portion:
    """All applications of a course together."""
    assert label.dose is not None  # checked at load
    return portion(label.dose, size).times(len(list(applications(label, book))))


def active_in(given: Portion, dose: Dose) -> Bracket | None:
    """Grams of the active substance in a portion, where the label says what one unit holds."""
    if dose.holds is None or given.amount is None:
        return None
    return given.amount * Bracket.of(dose.holds.value)


def asks_for(dose: Dose) -> str:
    """What to count at the hive, and what it gets for each: ``count the seams: 5 mL a seam, most 50 mL``."""
    by, count = PER_WORDS[dose.per.value]
    if dose.each:
        by = f"for each {number_words(Bracket.exact(Bracket.of(dose.each.value).high))} frames of bees or part of them"
    said = dict.fromkeys(amount_words(Bracket.of(one.value), one.value.unit) for one in (*dose.packs, dose.amount))
    told = f"{joined(said, 'or')} {by}"
    if dose.packs:
        return because_words(Because(Code.AS_PACK_SAYS, (told,)))
    if dose.most is not None:
        told += f", most {amount_words(Bracket.of(dose.most.value), dose.most.value.unit)}"
    return f"{count}: {told}" if count else told


# Batches --------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch of syrup: litres, and the grams of each ingredient in it."""

    litres: Fraction
    grams: Mapping[str, Fraction]


def batch(recipe: Recipe, litres: Fraction) -> Batch:
    """The recipe for at least so many litres: parts by mass per litre, the volume rounded up to whole twentieths.

    Raises ValueError below 0 litres.
    """
    if litres < 0:
        raise ValueError(f"no batch is smaller than nothing (found {float(litres):g} L)")
    volume = ceil(litres / STEP) * STEP
    makes = Bracket.of(recipe.makes.value).high
    return Batch(volume, {part: Bracket.of(g.value).high / makes * volume for part, g in recipe.parts.items()})


# Totals ---------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Application:
    """One application planned: a colony of a size, in a yard under a jurisdiction, a treatment, the day (ordinal)."""

    yard: str
    colony: str
    jurisdiction: str
    treatment: str
    day: int
    size: Size


@dataclass(frozen=True, slots=True)
class Purchase:
    """What some uses of one product need together. ``open_`` colonies are not in ``amount``: to be counted first.

    ``day`` is when it is needed first; ``batches`` are one for each day on which syrup is mixed (it does not keep).
    """

    treatment: str
    title: str
    day: int
    yards: tuple[str, ...]
    colonies: int
    applications: int
    amount: Bracket
    unit: str
    asks: tuple[str, ...]
    open_: int = 0
    batches: tuple[tuple[int, Batch], ...] = ()


def shopping(uses: Iterable[Application], book: Rulebook) -> tuple[Purchase, ...]:
    """What to have for these uses, over colonies and yards: each product with the day it is needed first, by that day.

    Raises ValueError where a treatment has no label in the jurisdiction (it is not allowed there), or is not known.
    """
    groups: dict[tuple[str, str], list[tuple[Application, Label]]] = {}
    for use in uses:
        label = _label(use, book)
        assert label.dose is not None  # checked at load
        groups.setdefault((use.treatment, label.dose.amount.value.unit), []).append((use, label))
    needs = [_need(book.treatments[name], name, unit, group) for (name, unit), group in groups.items()]
    return tuple(sorted(needs, key=lambda n: (n.day, n.title)))


def ingredients(needs: Iterable[Purchase]) -> tuple[tuple[str, Fraction, int], ...]:
    """Grams of each ingredient for all batches, with the day it is needed first; by that day, then by name."""
    found: dict[str, tuple[Fraction, int]] = {}
    for day, mixed in (pair for need in needs for pair in need.batches):
        for part, grams in mixed.grams.items():
            before, first = found.get(part, (Fraction(0), day))
            found[part] = before + grams, min(first, day)
    return tuple(sorted(((p, g, d) for p, (g, d) in found.items()), key=lambda item: (item[2], item[0])))


def _label(use: Application, book: Rulebook) -> Label:
    treatment = book.treatments.get(use.treatment)
    label = label_for(treatment, use.jurisdiction, book) if treatment else None
    if label is None:
        raise ValueError(f"'{use.treatment}' has no label in '{use.jurisdiction}': nothing of it can be measured out")
    return label


def _need(treatment: Treatment, name: str, unit: str, group: Sequence[tuple[Application, Label]]) -> Purchase:
    portions: dict[tuple[int, Size], Portion] = {}  # many colonies are as big as each other
    for use, label in group:
        if (id(label), use.size) not in portions:
            portions[id(label), use.size] = portion(_dose(label), use.size)
    given = [(use, label, portions[id(label), use.size]) for use, label in group]
    total = NONE
    times = Counter((id(label), use.size) for use, label, _ in given)
    for key, one in portions.items():
        total = total + (one.amount or NONE) * Bracket.exact(times[key])
    unsure = [label for _, label, one in given if one.amount is None or not one.amount.known]
    return Purchase(
        treatment=name,
        title=treatment.title,
        day=min(use.day for use, _ in group),
        yards=tuple(sorted({use.yard for use, _ in group})),
        colonies=len({use.colony for use, _ in group}),
        applications=len(group),
        amount=total,
        unit=unit,
        asks=tuple(dict.fromkeys(asks_for(_dose(label)) for label in unsure)),
        open_=sum(one.amount is None for _, _, one in given),
        batches=tuple(_batches(given)),
    )


def _dose(label: Label) -> Dose:
    assert label.dose is not None  # checked at load
    return label.dose


def _batches(given: Sequence[tuple[Application, Label, Portion]]) -> Iterable[tuple[int, Batch]]:
    """A batch a day and recipe, for the most that the colonies of that day may need."""
    groups: dict[tuple[int, str], tuple[Recipe, Fraction]] = {}
    for use, label, one in given:
        if label.recipe is None or one.amount is None or one.unit != "mL":
            continue
        key = use.day, str(label.recipe.makes.place)
        _, before = groups.get(key, (label.recipe, Fraction(0)))
        groups[key] = label.recipe, before + one.amount.high / ML
    for (day, _), (recipe, litres) in sorted(groups.items(), key=lambda item: item[0]):
        yield day, batch(recipe, litres)


# Words ----------------------------------------------------------------------------------------------------------------


def need_words(need: Purchase) -> str:
    """What is needed, for how many hives, and what has to be counted first.

    ``Oxalic acid, trickled: 15 to 150 mL for 3 hives (count the seams: 5 mL a seam, most 50 mL)``
    """
    told = amount_words(need.amount, need.unit) if need.open_ < need.applications else "amount not known yet"
    asks = f" ({'; '.join(need.asks)})" if need.asks else ""
    return f"{need.title}: {told} for {counted(need.colonies, 'hive')}{asks}"


def number_words(value: Bracket) -> str:
    """A number, or both ends of a range: ``2``, ``5 to 50``; at most three decimals."""
    low, high = (f"{round(float(end), 3):.10g}" for end in (value.low, value.high))
    return low if value.known else f"{low} to {high}"


def amount_words(value: Bracket, unit: str) -> str:
    """A number with its unit: ``1 strip``, ``2 strips``, ``5 to 50 mL``."""
    return with_unit(number_words(value), unit)
